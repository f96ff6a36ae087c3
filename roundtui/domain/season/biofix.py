"""Rules that set a biofix, held as data with their sources; ``biofix`` looks for what they ask in the readings.

A biofix proposal in words: what a rule asks, and what was found.
The evenings that a reading covers, and whether it was warm enough at sunset on one of them.
Biofix: the date from which a generation's degree-days are counted, proposed from the readings of a block.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction
from itertools import groupby, pairwise
from operator import attrgetter

from roundtui.domain.figures.figures import Reading
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.records import Frozen
from roundtui.domain.text import ruled
from roundtui.domain.units import TempUnit
from roundtui.published import read


class BiofixKind(StrEnum):
    """What a rule looks for."""

    RUN = "run"
    """So many moths, on so many readings running."""
    TOTAL = "total"
    """So many moths in all since the season, or the wait for a later generation, began."""
    TRAPS_OF = "traps-of"
    """So many moths in so many of so many traps, on so many readings running."""
    MEAN = "mean"
    """So many moths a trap on the average of the block, on so many readings running."""


BLOCK = "block"
"""``BiofixRule.scope``: the moths of all traps of a block together."""
TRAP = "trap"
"""``BiofixRule.scope``: the moths of one and the same trap."""


class BiofixRule(Frozen, kw_only=True):
    """What has to be caught before a date is proposed as biofix."""

    id: str
    """Short name."""
    species: str
    """Abbreviation of the species."""
    kind: BiofixKind
    """What it looks for."""
    moths: Fraction
    """Moths needed, net of those left in: on each reading, or in all."""
    more_than: bool = False
    """More than ``moths`` are needed, and not just as many."""
    readings: int = 1
    """On so many readings running."""
    scope: str = BLOCK
    """Run: whether the traps of a block count together or each for itself."""
    traps: int | None = None
    """Traps-of: in so many traps."""
    of: int | None = None
    """Traps-of: of so many traps; a block with another number keeps the share, and never needs fewer than ``traps``."""
    sunset: float | None = None
    """Temperature at sunset that an evening of the first reading must have reached. [``sunset_unit``]"""
    sunset_unit: TempUnit = TempUnit.F
    """Unit of ``sunset``."""
    generation: int = 1
    """1: the first of the season; 2: the second and every later one."""
    after_degree_days: Fraction | None = None
    """Later generations: readings count from so many degree-days after the biofix before. [unit of the model]"""
    source: str
    """Who published it, or that nobody did."""
    date: date | None = None
    """Day of the source, or on which the office took it up."""
    office: bool = False
    """Whether the office wrote it; the office's rules come before those that ship."""

    def enough(self, moths: Fraction | int) -> bool:
        """Whether a catch reaches what is needed."""
        return moths > self.moths if self.more_than else moths >= self.moths


def rule_for(rules: Iterable[BiofixRule], species: str, generation: int = 1) -> BiofixRule | None:
    """The rule that sets a biofix.

    Args:
        rules: Rules in order of rank: the office's, then those that ship.
        species: Abbreviation of the species.
        generation: Generation of the season, counted from 1.

    Returns:
        The first rule of the species for that generation; for later ones the rule of the newest generation that has
        one, from the second on. None where nobody has a rule.
    """
    fitting = [rule for rule in rules if rule.species == species]
    if generation == 1:
        return next((rule for rule in fitting if rule.generation == 1), None)
    later = [rule for rule in fitting if 1 < rule.generation <= generation]
    return max(later, key=lambda rule: (rule.office, rule.generation), default=None)


_TABLES = read("models")
SOURCES = dict(ruled(_TABLES["sources"]))
"""Who published models and rules, by a short name."""


def _as_printed(row: list[str]) -> BiofixRule:
    name, species, moths, readings, share, after, dated, source = row
    traps, of = map(int, share.split(" of ")) if share else (None, None)
    return BiofixRule(
        id=f"shipped-{species.lower()}-{name}",
        species=species,
        kind=BiofixKind.TRAPS_OF if share else BiofixKind.RUN,
        moths=Fraction(moths),
        readings=int(readings),
        traps=traps,
        of=of,
        generation=2 if after else 1,
        after_degree_days=Fraction(after) if after else None,
        source=source.format_map(SOURCES),
        date=date.fromisoformat(dated) if dated else None,
    )


SHIPPED_BIOFIX_RULES: tuple[BiofixRule, ...] = tuple(map(_as_printed, ruled(_TABLES["biofix"])))
"""Rules that ship, one a species and generation."""


_COUNTS = ("no", "one", "two", "three", "four", "five", "six")
_SINGULAR = {"moths": "moth", "flies": "fly", "males": "male"}
_MOST_NAMED = 6


class RuleReading(Frozen):
    """One look at what a rule counts: a round of the block, or one reading of one trap."""

    on: date
    starts: tuple[date | None, ...]
    ends: tuple[date, ...]
    moths: Fraction
    traps: int
    caught_in: int
    """Traps with as many moths as a rule of traps asks of each; 0 where the rule is another one."""
    first_catch: date
    unknown: bool
    """Nothing in it may be counted."""


def wanted(rule: BiofixRule) -> str:
    """What a rule asks on each reading of its run."""
    where = ""
    if rule.kind is BiofixKind.TRAPS_OF:
        where = f" in {rule.traps} of {rule.of or rule.traps} traps"
    elif rule.kind is BiofixKind.MEAN:
        where = " a trap on the average"
    elif rule.scope == TRAP:
        where = " in one trap"
    return amount(rule) + where


def running(rule: BiofixRule) -> str:
    """How many readings a rule asks: reading, two readings running …"""
    if rule.readings == 1:
        return "reading"
    count = _COUNTS[rule.readings] if rule.readings < len(_COUNTS) else str(rule.readings)
    return f"{count} readings running"


def amount(rule: BiofixRule) -> str:
    """The catch a rule asks: 2 moths or more, more than 1 moth."""
    asked = insects(rule, rule.moths)
    return f"more than {asked}" if rule.more_than else f"{asked} or more"


def named(rule: BiofixRule, run: Sequence[RuleReading]) -> str:
    """The readings of a run with their dates and catches."""

    def said(reading: RuleReading) -> str:
        if rule.kind is BiofixKind.TRAPS_OF:
            return f"{reading.first_catch} ({reading.caught_in} of {reading.traps} traps)"
        if rule.kind is BiofixKind.MEAN:
            return f"{reading.first_catch} ({number(reading.moths / reading.traps)} a trap)"
        return f"{reading.first_catch} ({insects(rule, reading.moths)})"

    return ", ".join(said(reading) for reading in run[:_MOST_NAMED]) + (" …" if len(run) > _MOST_NAMED else "")


def insects(rule: BiofixRule, count: Fraction) -> str:
    """A number of what is counted in the species' trap: 1 moth, 3 flies."""
    species = SPECIES.get(rule.species)
    many = species.insects if species else "moths"
    return f"{number(count)} {_SINGULAR.get(many, many) if count == 1 else many}"


def number(value: Fraction) -> str:
    """A catch as people write it: whole, or with three digits."""
    return str(value) if value.denominator == 1 else f"{float(value):.3g}"


class Sunsets(Frozen):
    """Temperatures at sunset of one station."""

    temp: Callable[[date, TempUnit], float | None]
    """Temperature at sunset of a day; None where it is not known. [the unit asked for]"""
    why_not: str = ""
    """In words, why none is known at all; empty where some are."""


class Evenings:
    """Whether it was warm enough at sunset, and on which evenings nobody knows.

    Args:
        rule: What is asked of an evening, if anything is.
        sunsets: Temperatures at sunset; None: none is known.
    """

    def __init__(self, rule: BiofixRule, sunsets: Sunsets | None) -> None:
        self._rule = rule
        self._sunsets = sunsets

    def warm(self, reading: RuleReading) -> bool:
        """Whether an evening of the sample reached the temperature, or one that nobody knows may have."""
        return self._rule.sunset is None or self._reached(reading) is not False

    def doubts(self, reading: RuleReading) -> list[str]:
        """In words, that the evenings of a sample are not known."""
        if self._rule.sunset is None or self._reached(reading):
            return []
        why = f": {self._sunsets.why_not}" if self._sunsets is not None and self._sunsets.why_not else ""
        return [f"the temperature at sunset is not known for the reading of {reading.on}{why}"]

    def _reached(self, reading: RuleReading) -> bool | None:
        """Whether one of the evenings reached the temperature; None where those that are known do not tell."""
        temps = self._temps(reading)
        known = [temp for temp in temps if temp is not None]
        if self._rule.sunset is not None and known and max(known) >= self._rule.sunset:
            return True
        return False if len(known) == len(temps) else None

    def _temps(self, reading: RuleReading) -> list[float | None]:
        temps: list[float | None] = []
        for start, end in zip(reading.starts, reading.ends, strict=True):
            # A reading of one day covers the evenings from the day it began to the day before it was read.
            first = start if start is not None and start < end else end - timedelta(days=1)
            days = [first + timedelta(days=at) for at in range((end - first).days)]
            temps += [self._sunsets.temp(day, self._rule.sunset_unit) if self._sunsets else None for day in days]
        return temps


ROUND_DAYS = 6
"""Longest time between the first and the last trap of one round of a block. [d]"""


class BiofixProposal(Frozen):
    """What a rule finds in a block's readings."""

    rule: BiofixRule
    """The rule."""
    generation: int
    """Generation of the season, counted from 1."""
    on: date | None
    """Proposed date; None where the rule is not met yet."""
    why: str
    """In words, what was found, or what is still missing."""
    doubts: tuple[str, ...] = ()
    """In words, what speaks against it."""
    since: date | None = None
    """Day on which the exposure of its reading began: the flight may have begun on any day since; None: not known."""

    @property
    def span(self) -> str:
        """In words, what its reading covers; empty where nobody knows."""
        if self.on is None or self.since is None or self.since >= self.on:
            return ""
        days = (self.on - self.since).days
        return f"read {self.on} over {days} day{'' if days == 1 else 's'}: the flight began after {self.since}"

    @property
    def doubtful(self) -> bool:
        """Whether something speaks against it."""
        return bool(self.doubts)


def propose(
    rule: BiofixRule,
    readings: Iterable[Reading],
    *,
    generation: int = 1,
    not_before: date | None = None,
    sunsets: Sunsets | None = None,
) -> BiofixProposal:
    """Propose a biofix for one block and species.

    Args:
        rule: What has to be caught.
        readings: All readings of the block's traps of the species in this season, in any order.
        generation: Generation of the season, counted from 1.
        not_before: For a later generation: first day whose readings count.
        sunsets: Temperatures at sunset, for a rule that asks for them.

    Returns:
        The proposal: the first reading of the run, or the reading that reaches the total.
    """
    known = sorted(readings, key=lambda reading: (reading.read_on, reading.trap))
    rounds: list[RuleReading] = []
    counted = (one for one in _rounds(known, rule, rounds) if not_before is None or one.on >= not_before)
    evenings = Evenings(rule, sunsets)
    if rule.kind is BiofixKind.TOTAL:
        found, why = _total(rule, counted, evenings)
        holes: list[str] = []
    elif rule.kind is BiofixKind.RUN and rule.scope == TRAP:
        list(counted)
        found, why, holes = _trap_runs(rule, known, not_before, evenings)
    else:
        found, why, holes = _run_biofix(rule, counted, evenings)
    if found is None:
        return BiofixProposal(rule, generation, None, why)
    doubts = [*_before(rule, rounds, generation, not_before), *holes, *evenings.doubts(found)]
    if rule.sunset is not None:
        met = "asked, but not known" if evenings.doubts(found) else "reached"
        why += f"; sunset temperature {rule.sunset:g} {rule.sunset_unit.sign} {met}"
    began = [s for s, end in zip(found.starts, found.ends, strict=True) if s is not None and end == found.first_catch]
    return BiofixProposal(rule, generation, found.first_catch, why, tuple(doubts), min(began, default=None))


def _rounds(readings: Sequence[Reading], rule: BiofixRule, seen: list[RuleReading]) -> Iterator[RuleReading]:
    """Readings by round, also put into ``seen`` as they are come to: a flight is found long before the season ends.

    A round ends where a trap is read again, or after six days.
    """
    current: list[Reading] = []
    read: set[str] = set()
    for end, same_day in groupby(readings, key=attrgetter("read_on")):
        day = list(same_day)
        traps = {reading.trap for reading in day}
        if current and ((end - current[0].read_on).days > ROUND_DAYS or not read.isdisjoint(traps)):
            seen.append(_rule_reading(current, rule))
            yield seen[-1]
            current, read = [], set()
        current += day
        read |= traps
    if current:
        seen.append(_rule_reading(current, rule))
        yield seen[-1]


def _rule_reading(readings: Sequence[Reading], rule: BiofixRule) -> RuleReading:
    valid = [reading for reading in readings if reading.net is not None and not reading.suspect]
    nets = [reading.net or 0 for reading in valid]
    caught = [reading.read_on for reading, net in zip(valid, nets, strict=True) if net > 0]
    ends = [reading.read_on for reading in valid or readings]
    return RuleReading(
        on=ends[0],
        starts=tuple(reading.start for reading in valid or readings),
        ends=tuple(ends),
        moths=Fraction(sum(nets)),
        traps=len(valid),
        caught_in=sum(map(rule.enough, nets)) if rule.kind is BiofixKind.TRAPS_OF else 0,
        first_catch=min(caught, default=ends[0]),
        unknown=not valid,
    )


def _qualifies(rule: BiofixRule, reading: RuleReading) -> bool:
    if reading.unknown:
        return False
    if rule.kind is BiofixKind.MEAN:
        return rule.enough(reading.moths / reading.traps)
    if rule.kind is BiofixKind.TRAPS_OF:
        return reading.caught_in >= _traps_needed(rule, reading.traps)
    return rule.enough(reading.moths)


def _traps_needed(rule: BiofixRule, traps: int) -> int:
    """So many of so many traps as a share of those read, rounded up, and never fewer than the rule names."""
    least = rule.traps or 1
    return max(least, -(-traps * least // (rule.of or least)))


def _run_biofix(
    rule: BiofixRule, readings: Iterable[RuleReading], evenings: Evenings
) -> tuple[RuleReading | None, str, list[str]]:
    """The first of so many looks running that qualify; a sample of which nothing is known is stepped over, in doubt."""
    run: list[RuleReading] = []
    stepped_over: list[str] = []
    for reading in readings:
        if reading.unknown:
            if run:
                stepped_over.append(f"the reading of {reading.on} is suspect or unknown and was left out of the run")
            continue
        if not _qualifies(rule, reading) or (not run and not evenings.warm(reading)):
            run, stepped_over = [], []
            continue
        run.append(reading)
        if len(run) == rule.readings:
            first = "first reading" if rule.readings == 1 else f"first of {running(rule)}"
            return run[0], f"{first} with {wanted(rule)}: {named(rule, run)}", [*stepped_over, *_holes(run)]
    so_far = f"; so far {len(run)}: {named(rule, run)}" if run else ""
    return None, f"no {running(rule)} with {wanted(rule)}{so_far}", []


def _trap_runs(
    rule: BiofixRule, readings: Sequence[Reading], not_before: date | None, evenings: Evenings
) -> tuple[RuleReading | None, str, list[str]]:
    """The earliest run in any one trap."""
    best: tuple[RuleReading, str, list[str]] | None = None
    waiting = ""
    for trap in dict.fromkeys(reading.trap for reading in readings):
        own = [_rule_reading([reading], rule) for reading in readings if reading.trap == trap]
        counted = [reading for reading in own if not_before is None or reading.on >= not_before]
        found, why, holes = _run_biofix(rule, counted, evenings)
        if found is None:
            waiting = waiting or why
        elif best is None or found.on < best[0].on:
            best = found, f"trap {trap}, {why}", holes
    return best or (None, waiting or "no readings yet", [])


def _total(rule: BiofixRule, readings: Iterable[RuleReading], evenings: Evenings) -> tuple[RuleReading | None, str]:
    total = Fraction(0)
    for reading in readings:
        total += reading.moths
        if reading.moths and rule.enough(total) and evenings.warm(reading):
            return reading, f"reading that reached {amount(rule)} in all: {number(total)} by {reading.first_catch}"
    return None, f"{amount(rule)} in all not reached: {number(total)} so far"


def _holes(run: Sequence[RuleReading]) -> list[str]:
    """Time between two readings of a run that no trap was watching."""
    words = []
    for before, after in pairwise(run):
        starts = [start for start in after.starts if start is not None]
        if starts and min(starts) > max(before.ends):
            words.append(f"no trap was watching from {max(before.ends)} to {min(starts)}, within the run")
    return words


def _before(rule: BiofixRule, readings: Sequence[RuleReading], generation: int, not_before: date | None) -> list[str]:
    """Whether the readings before the flight show that there was none yet."""
    known = [reading for reading in readings if not reading.unknown]
    if generation == 1:
        if known and known[0].moths:
            held = insects(rule, known[0].moths)
            reading = f"the first reading of the season, {known[0].first_catch}, already held {held}"
            return [f"{reading}: the flight may have begun before it"]
        return []
    earlier = [reading for reading in known if not_before is not None and reading.on < not_before]
    if earlier and earlier[-1].moths:
        held = insects(rule, earlier[-1].moths)
        return [f"the reading of {earlier[-1].on} before it still held {held}: the flight before may not have ended"]
    return []
