"""An office's thresholds, from ``thresholds.toml`` in its folder."""

from __future__ import annotations

from pathlib import Path

from roundtui.domain.rules import SHIPPED_RULES, Office, parse_office
from roundtui.errors import Problem, ProblemsError
from roundtui.store.toml_file import read_toml

THRESHOLDS = "thresholds.toml"
"""Name of the file inside the scouting folder."""


def read_office(folder: Path) -> Office:
    """The rules of the office, those that ship where it has none of its own.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: The file cannot be read or says something wrong; every fault is in it.
    """
    hint = "look at the line it names; each rule begins with [[rule]], and texts stand in quotes"
    table, problem = read_toml(folder / THRESHOLDS, hint)
    if problem is not None:
        raise _refused(problem)
    if table is None:
        return Office(rules=SHIPPED_RULES)
    office, problems = parse_office(table, THRESHOLDS)
    if office is None:
        raise _refused(*problems)
    return office


def _refused(*problems: Problem) -> ProblemsError:
    return ProblemsError(f"{THRESHOLDS} cannot be used; no verdict is given without it", problems, "mend the file")
