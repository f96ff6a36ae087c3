"""A TOML file that a person wrote: its table, or the fault in it."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from roundtui.domain.text import plain
from roundtui.errors import Problem
from roundtui.store.csv_file import read_bytes
from roundtui.store.set_up.office import files_here, office_content


def read_toml(path: Path, hint: str) -> tuple[dict[str, object] | None, Problem | None]:
    """Read a TOML file of the office, its decimal numbers kept exact; see ``office_content``.

    Args:
        path: The file.
        hint: What to look at where it is no TOML.

    Returns:
        Its table; or None and the fault; or None twice where there is no such file.
    """
    there: Path | None = path
    if not path.exists() and not path.is_symlink():
        others = files_here(path.parent, (path.name,)).get(path.name, [])
        if len(others) > 1:
            names = " and ".join(plain(other.name, 60) for other in others)
            return None, Problem(path.name, f"{names} both go by that name", "keep one of them")
        there = others[0] if others else None
    if there is not None:
        _, problem = read_bytes(there)
        if problem is not None:
            return None, Problem(there.name, problem.message, problem.hint)
    content = office_content(path.parent, path.name, there)
    if content is None:
        return None, None
    # Loaded on first use: most folders have no such file.
    import tomllib

    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        return None, Problem(f"{path.name}, line {line}", "is not UTF-8 text", "save the file as plain text, UTF-8")
    try:
        return tomllib.loads(text, parse_float=Decimal), None
    except (ValueError, ArithmeticError, RecursionError) as error:
        return None, Problem(path.name, f"is no TOML: {plain(str(error), 160)}", hint)
