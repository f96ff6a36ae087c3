"""Columns of the set-up files on ``docs/set-up.md``, made from the code.

``python -m tests.docs.set_up_page`` writes them between their marks; a test holds the two together.
"""

from __future__ import annotations

import re
from pathlib import Path

from roundtui.domain.season import weather_files
from roundtui.store.exchange.package import FIELDS
from roundtui.store.set_up.columns import FILES

PAGE = Path(__file__).parents[2] / "docs" / "set-up.md"
_OTHERWISE = {
    ("lures.csv", "kind"): "Kind of lure, as combination; a rule's `lure_kind` asks for it.",
    ("weather.csv", "date"): "The day.",
    ("weather.csv", "unit"): "F or C; blank: the office's.",
    ("species.csv", "species"): "Abbreviation, as PFM; one that ships keeps what its row leaves blank.",
    ("species.csv", "name"): "Common name.",
    ("stations.csv", "timezone"): "IANA time zone of its clock; blank: the office's, from models.toml.",
}


def table(name: str, required: tuple[str, ...], optional: tuple[str, ...]) -> str:
    """The columns of a file as a table."""
    rows = [
        f"<!-- columns of {name}: made by tests/docs/set_up_page.py -->",
        "| column | | holds |",
        "| --- | --- | --- |",
    ]
    for column in (*required, *optional):
        about = _OTHERWISE.get((name, column)) or FIELDS[column].about
        rows.append(f"| `{column}` | {'needed' if column in required else ''} | {about} |")
    return "\n".join([*rows, "<!-- end of columns -->"])


def page() -> str:
    """The page with its tables as they should be."""
    text = PAGE.read_text(encoding="utf-8")
    files = [(file.name, file.required, file.optional) for file in FILES]
    for name, required, optional in [*files, ("weather.csv", weather_files.REQUIRED, weather_files.OPTIONAL)]:
        mark = f"<!-- columns of {name}: made"
        pattern = re.escape(mark) + r".*?<!-- end of columns -->"
        assert mark in text, f"{name} stands not on the page"
        made = table(name, required, optional).replace("\\", r"\\")
        text = re.sub(pattern, made, text, flags=re.DOTALL)
    return text


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
