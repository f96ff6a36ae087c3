"""Threshold rules: those that ship, an office's own, and which of them could tie.

Choosing the rule that fits a block, and comparing, is the business of ``threshold``.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from roundtui.domain.rule import BAITED, BIOFIX, HANGING, HOLD, RESTART, UNBAITED, Rule, RuleKind, kind_word
from roundtui.domain.rule_table import parse_rule
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

_VERMONT = "University of Vermont Extension, 19 June 2022, blog.uvm.edu/fruit, apple maggot fly traps"
_RESTART = (
    "the sum begins anew after a treatment: University of Maine, "
    "extension.umaine.edu/ipm/apple-maggot-monitoring-and-spray-interval-background"
)

SHIPPED_RULES: tuple[Rule, ...] = (
    Rule(
        id="shipped-cm-mean",
        species="CM",
        kind=RuleKind.MEAN,
        low=Fraction(3),
        high=Fraction(5),
        source=(
            "5 a trap and week: NIAB, Monitoring codling moth, niab.com/monitoring-codling-moth; Virginia Tech, "
            "virginiafruit.ento.vt.edu/CodlingPear.html (period cut off); Wisconsin DATCP, 13 June 2013, "
            "datcpservices.wisconsin.gov/pb/pests.jsp?categoryid=37&issueid=204; 3 as the lower edge: common practice, "
            "no source"
        ),
        date=None,
        load_mg=(Fraction(1), Fraction(1)),
        disrupted=False,
    ),
    *(
        Rule(
            id=f"shipped-am-{kind}-sphere",
            species="AM",
            kind=RuleKind.CUMULATIVE,
            low=Fraction(flies),
            high=Fraction(flies),
            source=f"average of {flies} a{'n' if kind == UNBAITED else ''} {kind} red sphere: {_VERMONT}; {_RESTART}",
            date=date(2022, 6, 19),
            since=HANGING,
            lure_kind=(kind,),
            style=("sphere",),
            # Spheres hang at the perimeter, so a figure without edge traps would be a figure of nothing.
            edge=True,
            after_treatment=RESTART,
        )
        for kind, flies in ((BAITED, 5), (UNBAITED, 1))
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
    return (
        one.species == other.species
        and one.office == other.office
        and one.specificity == other.specificity
        and all(_meet(a, b) for a, b in ((one.load_mg, other.load_mg), (one.ha_per_trap, other.ha_per_trap)))
        and all(_share(a, b) for a, b in ((one.months, other.months), (one.style, other.style)))
        and (_share(one.lure_kind, other.lure_kind) or _baited_too(one, other) or _baited_too(other, one))
        and (not one.market or not other.market or kind_word(one.market) == kind_word(other.market))
        and (one.disrupted is None or other.disrupted is None or one.disrupted == other.disrupted)
    )


def _meet(one: tuple[Fraction, Fraction] | None, other: tuple[Fraction, Fraction] | None) -> bool:
    return one is None or other is None or (one[0] <= other[1] and other[0] <= one[1])


def _share(one: Collection[object], other: Collection[object]) -> bool:
    return not one or not other or not set(one).isdisjoint(other)


def _baited_too(one: Rule, other: Rule) -> bool:
    return BAITED in one.lure_kind and set(other.lure_kind) != {UNBAITED}


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
