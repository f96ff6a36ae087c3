"""Threshold rules: those that ship, an office's own, and which of them could tie.

Choosing the rule that fits a block, and comparing, is the business of ``threshold``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from roundtui.domain.rule import BIOFIX, HANGING, HOLD, RESTART, Rule, RuleKind
from roundtui.domain.rule_table import parse_rule
from roundtui.domain.species import COMMON_PRACTICE
from roundtui.domain.table import TableReader, shown
from roundtui.errors import Problem

if TYPE_CHECKING:
    from roundtui.domain.looks.records import Sought

__all__ = [
    "BIOFIX",
    "HANGING",
    "HOLD",
    "RESTART",
    "SHIPPED_RULES",
    "Office",
    "Rule",
    "RuleKind",
    "may_tie",
    "parse_office",
]

SHIPPED_RULES: tuple[Rule, ...] = (
    Rule(
        id="shipped-cm-mean",
        species="CM",
        kind=RuleKind.MEAN,
        low=Fraction(3),
        high=Fraction(5),
        source=COMMON_PRACTICE,
        date=None,
        disrupted=False,
    ),
    Rule(
        id="shipped-am-baited-sphere",
        species="AM",
        kind=RuleKind.CUMULATIVE,
        low=Fraction(5),
        high=Fraction(5),
        source=(
            "average of 5 flies a baited red sphere: University of Vermont Extension, 19 June 2022, blog.uvm.edu/fruit"
            "; nothing counted for 12 days after a treatment: New York trials 1986-88, abstract"
        ),
        date=date(2022, 6, 19),
        since=HANGING,
        # Spheres hang at the perimeter, so a figure without edge traps would be a figure of nothing.
        edge=True,
        after_treatment=HOLD,
        days=12,
    ),
)
"""Rules that ship. Where no trap threshold was found in print none ships, and the block stands at ``no-rule``."""


@dataclass(frozen=True, slots=True)
class Office:
    """What an office has settled for itself."""

    rules: tuple[Rule, ...] = SHIPPED_RULES
    """The office's rules, then those that ship."""
    season_starts_on: tuple[int, int] = (1, 1)
    """Month and day from which a season is counted."""
    looks: tuple[Sought, ...] = ()
    """What the office looks for on leaf and fruit by plans of its own; see ``looks.look_table``."""


def may_tie(rules: Iterable[Rule]) -> tuple[tuple[str, str], ...]:
    """Pairs of rules that could both be the most specific one for some block on some day.

    Args:
        rules: Rules to compare, the office's and those that ship together.

    Returns:
        Ids of each pair. A pair is only a warning: no block may ever meet both.
    """
    return tuple((one.id, other.id) for one, other in combinations(rules, 2) if _could_tie(one, other))


def _could_tie(one: Rule, other: Rule) -> bool:
    loads_meet = (
        one.load_mg is None
        or other.load_mg is None
        or (one.load_mg[0] <= other.load_mg[1] and other.load_mg[0] <= one.load_mg[1])
    )
    return (
        one.species == other.species
        and one.office == other.office
        and one.specificity == other.specificity
        and loads_meet
        and (not one.months or not other.months or not set(one.months).isdisjoint(other.months))
        and (one.disrupted is None or other.disrupted is None or one.disrupted == other.disrupted)
    )


def parse_office(
    table: Mapping[str, object], where: str = "thresholds.toml"
) -> tuple[Office | None, tuple[Problem, ...]]:
    """Read an office's thresholds.

    Args:
        table: The parsed TOML file, its decimal numbers as ``Decimal`` so that they stay exact.
        where: File name as problems show it.

    Returns:
        The office, its rules before those that ship, and no problems; or None and every problem found, each naming
        the rule and the key.
    """
    reader = TableReader(table, where)
    problems = reader.problems
    rules: list[Rule] = []
    seen: set[str] = set()
    for number, written in enumerate(_tables(reader, "rule"), start=1):
        rule, found = parse_rule(written, number, where)
        problems.extend(found)
        if rule is None:
            continue
        if rule.id in seen:
            problems.append(
                Problem(f"{where}, rule {number}", f"id: {shown(rule.id)} is taken", "give each its own id")
            )
        seen.add(rule.id)
        rules.append(rule)
    season = _season(reader, where)
    reader.refuse_unknown()
    if problems or season is None:
        return None, tuple(problems)
    return Office((*rules, *SHIPPED_RULES), season), ()


def _tables(reader: TableReader, key: str) -> list[Mapping[str, object]]:
    written = reader.value(key)
    if written is None:
        return []
    if isinstance(written, list) and all(isinstance(part, dict) for part in written):
        return written
    reader.problem(key, "is no list of tables", f"head each one with [[{key}]]")
    return []


def _season(reader: TableReader, where: str) -> tuple[int, int] | None:
    written = reader.value("season")
    if written is None:
        return (1, 1)
    if not isinstance(written, dict):
        reader.problem("season", "is no table", 'head it with [season], then starts_on = "03-01"')
        return None
    inner = TableReader(written, f"{where}, season")
    text = inner.text("starts_on", needed='month and day, starts_on = "03-01"')
    inner.refuse_unknown()
    reader.problems.extend(inner.problems)
    if text is None:
        return None
    try:
        # Any year without a 29 February will do: a season cannot start on a day that most years lack.
        day = date.fromisoformat(f"2001-{text}")
    except ValueError:
        reader.problems.append(
            Problem(f"{where}, season", f"starts_on: {shown(text)} is no day of every year", 'as starts_on = "03-01"')
        )
        return None
    return day.month, day.day
