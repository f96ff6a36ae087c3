"""Pictures written into the scouting folder, for letters."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.errors import StoreError
from roundtui.report.charts_svg import png, svg

if TYPE_CHECKING:
    from roundtui.report.charts import Chart

PICTURES = "pictures"
"""Folder for them inside the scouting folder; what lies in it is never read."""
_LONGEST = 80


def write_pictures(folder: Path, name: str, chart: Chart) -> tuple[Path, Path]:
    """Write a chart as SVG and as PNG. A picture of the same name is made anew.

    Args:
        folder: The scouting folder.
        name: What the files are to be called, without an ending; anything that does not belong in a name is left out.
        chart: What to draw.

    Returns:
        The SVG file and the PNG file.

    Raises:
        StoreError: They cannot be written.
    """
    stem = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-")[:_LONGEST] or "season"
    drawing, picture = folder / PICTURES / f"{stem}.svg", folder / PICTURES / f"{stem}.png"
    words = svg(chart)
    try:
        drawing.parent.mkdir(exist_ok=True)
        drawing.write_text(words, encoding="utf-8")
        picture.write_bytes(png(words))
    except OSError as error:
        raise StoreError(
            f"the picture cannot be written to {drawing.parent}: {error.strerror or error}",
            "look whether the folder is full or may not be written to",
        ) from error
    return drawing, picture
