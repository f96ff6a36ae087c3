"""An office's thresholds, from ``thresholds.toml`` in its folder."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from roundtui.domain.plain import plain
from roundtui.domain.rules import SHIPPED_RULES, Office, parse_office
from roundtui.errors import Problem, ProblemsError
from roundtui.store.csv_file import read_bytes

THRESHOLDS = "thresholds.toml"
"""Name of the file inside the scouting folder."""


def read_office(folder: Path) -> Office:
    """The rules of the office, those that ship where it has none of its own.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: The file cannot be read or says something wrong; every fault is in it.
    """
    path = folder / THRESHOLDS
    if not path.exists() and not path.is_symlink():
        return Office(rules=SHIPPED_RULES)
    content, problem = read_bytes(path)
    if problem is not None:
        raise _refused(Problem(THRESHOLDS, problem.message, problem.hint))
    office, problems = parse_office(_table(content), THRESHOLDS)
    if office is None:
        raise _refused(*problems)
    return office


def _table(content: bytes) -> dict[str, object]:
    import tomllib

    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise _refused(
            Problem(f"{THRESHOLDS}, line {line}", "is not UTF-8 text", "save the file as plain text, UTF-8")
        ) from error
    try:
        return tomllib.loads(text, parse_float=Decimal)
    except (ValueError, ArithmeticError, RecursionError) as error:
        hint = "look at the line it names; each rule begins with [[rule]], and texts stand in quotes"
        raise _refused(Problem(THRESHOLDS, f"is no TOML: {plain(str(error), 160)}", hint)) from error


def _refused(*problems: Problem) -> ProblemsError:
    return ProblemsError(f"{THRESHOLDS} cannot be used; no verdict is given without it", problems, "mend the file")
