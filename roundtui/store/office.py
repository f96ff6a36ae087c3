"""An office's thresholds and plans, from ``thresholds.toml`` and ``looks.toml`` in its folder."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from roundtui.domain.figures.rules import SHIPPED_RULES, Office, RuleInPrint, parse_office, rules_in_print
from roundtui.errors import Problem, ProblemsError
from roundtui.store.toml_file import read_toml

THRESHOLDS = "thresholds.toml"
"""Name of the file inside the scouting folder."""
LOOKS = "looks.toml"
"""Name of the file of the office's own looks and plans."""
IN_PRINT = "rules_in_print.toml"
"""Name of the file of rules that were seen in print, beside this module."""


def read_office(folder: Path) -> Office:
    """The rules and plans of the office, those that ship where it has none of its own.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: A file cannot be read or says something wrong; every fault is in it.
    """
    office = _rules(folder)
    table, problem = read_toml(folder / LOOKS, "look at the line it names; each look begins with [[look]]")
    if problem is not None:
        raise _refused(problem, name=LOOKS)
    if table is None:
        return office
    # Loaded on first use: most folders have no such file.
    from roundtui.domain.sampling.office import parse_looks

    looks, problems = parse_looks(table, LOOKS)
    if looks is None:
        raise _refused(*problems, name=LOOKS)
    return replace(office, looks=looks)


def read_rules_in_print() -> tuple[RuleInPrint, ...]:
    """The rules that were seen in print; none of them judges until an office takes it up."""
    import tomllib
    from decimal import Decimal

    path = Path(__file__).with_name(IN_PRINT)
    return rules_in_print(tomllib.loads(path.read_text("utf-8"), parse_float=Decimal), IN_PRINT)


def _rules(folder: Path) -> Office:
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


def _refused(*problems: Problem, name: str = THRESHOLDS) -> ProblemsError:
    return ProblemsError(f"{name} cannot be used; no verdict is given without it", problems, "correct the file")
