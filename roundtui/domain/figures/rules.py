"""One threshold rule: the figure it judges, its band, where it holds and where it is from.

A threshold rule out of the table that an office wrote, or the problems in it.
Threshold rules: those that ship, an office's own, and which of them could tie.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from roundtui.domain.programme.species import COMMON_PRACTICE, SPECIES, species_code
from roundtui.domain.programme.stages import ANY_CROP
from roundtui.domain.text import plain
from roundtui.domain.toml_table import TableReader, shown
from roundtui.errors import Problem

if TYPE_CHECKING:
    from roundtui.domain.sampling.records import Sought


class RuleKind(StrEnum):
    """Which figure a rule looks at."""

    MEAN = "mean"
    """Mean of the block's traps, per trap per week."""
    SINGLE_TRAP = "single-trap"
    """The highest single trap, per week."""
    RUNNING = "running"
    """The least weekly mean of the last so many weeks: the block stood there in each of them."""
    CUMULATIVE = "cumulative"
    """Mean catch per trap added up over days."""


HANGING = "hanging"
"""``Rule.since``: from the day the trap was hung."""
BIOFIX = "biofix"
"""``Rule.since``: from the biofix."""
HOLD = "hold"
"""``Rule.after_treatment``: catches of the time after a treatment are not added."""
RESTART = "restart"
"""``Rule.after_treatment``: the sum starts anew after a treatment."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A band for one species, the figure it judges, and where it holds."""

    id: str
    """Short name, as a summary shows it."""
    species: str
    """Abbreviation of the species."""
    kind: RuleKind
    """Figure that is compared."""
    low: Fraction
    """Below it: ``below``. [moths per trap per week; cumulative: moths per trap]"""
    high: Fraction
    """At or over it: ``over``; in between: ``within``. Same unit."""
    source: str
    """Who published it, or that nobody did."""
    date: date | None
    """Day of the source, or on which the office took it up."""
    weeks: int | None = None
    """Running: so many weeks."""
    since: str | None = None
    """Cumulative: ``hanging``, ``biofix`` or a two-digit stage; None: from the start of the season."""
    months: tuple[int, ...] = ()
    """Months in which it holds; empty: all."""
    load_mg: tuple[Fraction, Fraction] | None = None
    """Lure loads for which it holds, both ends included. [mg]"""
    disrupted: bool | None = None
    """Holds only with, or only without, mating disruption; None: for both."""
    edge: bool = False
    """Whether edge traps are taken into its figure."""
    after_treatment: str | None = None
    """Cumulative: ``hold`` or ``restart`` after a treatment."""
    days: int | None = None
    """How long a treatment holds the sum, or after how long it restarts. [d]"""
    degree_days: Fraction | None = None
    """The same in degree-days of the species."""
    office: bool = False
    """Whether the office wrote it; the office's rules come before those that ship."""

    @property
    def specificity(self) -> int:
        """How many of months, lure load and disruption it states; the most specific fitting rule wins."""
        return bool(self.months) + (self.load_mg is not None) + (self.disrupted is not None)


def parse_rule(table: Mapping[str, object], number: int, where: str) -> tuple[Rule | None, list[Problem]]:
    """Read one rule.

    Args:
        table: The rule as written.
        number: Its place in the file, counted from 1.
        where: File name as problems show it.

    Returns:
        The rule and no problems; or None and every problem found.
    """
    name = table.get("id")
    where = f"{where}, rule {number}" + (f" ({plain(name, 40)})" if isinstance(name, str) else "")
    reader = TableReader(table, where)
    id_ = reader.text("id", needed="give the rule a short name of its own")
    species = _species(reader)
    kind = reader.choice("kind", list(RuleKind), needed=True)
    band = _band(reader)
    source = reader.text("source", needed="say who published it, or that it is the office's own practice")
    dated = reader.day("date", needed="day of the source, or on which the office took it up, as date = 2025-03-01")
    rule = Rule(
        id=id_ or "",
        species=species or "",
        kind=RuleKind(kind) if kind else RuleKind.MEAN,
        low=band[0],
        high=band[1],
        source=source or "",
        date=dated,
        weeks=reader.whole("weeks", 1, 52),
        since=_since(reader),
        months=reader.wholes("months", 1, 12),
        load_mg=reader.numbers("load_mg"),
        disrupted=reader.yes_no("disrupted"),
        edge=reader.yes_no("edge") or False,
        after_treatment=reader.choice("after_treatment", (HOLD, RESTART)),
        days=reader.whole("days", 0, 366),
        degree_days=reader.number("degree_days"),
        office=True,
    )
    if kind:
        _check_kind(reader, rule)
    reader.refuse_unknown()
    return (None if reader.problems else rule), reader.problems


def _species(reader: TableReader) -> str | None:
    listed = ", ".join(SPECIES)
    text = reader.text("species", needed=f"one of {listed}")
    if text is None or text in SPECIES:
        return text
    meant = species_code(text)
    reader.problem("species", f"{shown(text)} is unknown", f"write {meant}" if meant else f"one of {listed}")
    return None


def _band(reader: TableReader) -> tuple[Fraction, Fraction]:
    low, high = reader.number("low"), reader.number("high")
    if not reader.has("low") and not reader.has("high"):
        reader.problem("low, high", "are both missing", "write low and high, or one of them for a single number")
    if low is not None and high is not None and low > high:
        reader.problem("low", "is above high", "below low is below, at or over high is over: the smaller one is low")
    either = low if low is not None else high if high is not None else Fraction(0)
    return (low if low is not None else either), (high if high is not None else either)


def _since(reader: TableReader) -> str | None:
    written = reader.value("since")
    if written is None:
        return None
    text = f"{written:02d}" if isinstance(written, int) and not isinstance(written, bool) else str(written).strip()
    if text in (HANGING, BIOFIX) or text in {stage.code for stage in ANY_CROP}:
        return text
    reader.problem("since", f"{shown(text)} is no beginning", 'write "hanging", "biofix" or a stage code, as "57"')
    return None


def _check_kind(reader: TableReader, rule: Rule) -> None:
    running, cumulative = rule.kind is RuleKind.RUNNING, rule.kind is RuleKind.CUMULATIVE
    if running and not reader.has("weeks"):
        reader.problem("weeks", "is missing", "a running rule says over how many weeks, as weeks = 2")
    for key, belongs, to in (
        ("weeks", running, RuleKind.RUNNING),
        ("since", cumulative, RuleKind.CUMULATIVE),
        ("after_treatment", cumulative, RuleKind.CUMULATIVE),
    ):
        if reader.has(key) and not belongs:
            reader.problem(key, f"has no meaning in a {rule.kind} rule", f"leave it out, or make the rule {to}")
    timed = reader.has("days") + reader.has("degree_days")
    if timed and not reader.has("after_treatment"):
        reader.problem("days, degree_days", "belong to after_treatment", 'add after_treatment = "hold" or "restart"')
    if timed == 2:
        reader.problem("days, degree_days", "are both given", "keep one of them")
    if rule.after_treatment == HOLD and not timed:
        reader.problem("after_treatment", "does not say how long", "add days or degree_days, as days = 12")


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
