"""What a programme's own rounds teach of a species: scatter, usual levels, heights of traps, timing of blocks.

A round is a calendar week, Monday to Sunday, by the day of reading. What is learned up to a week holds the weeks before
it alone, so that a figure of any day can be worked out again later to the last digit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from math import inf, log
from types import MappingProxyType
from typing import Any

from roundtui.domain.figures.certainty import (
    LONGEST_DAYS,
    NO_EVIDENCE,
    OWN_SPREAD,
    Certainty,
    Evidence,
    Usual,
    certainty,
    evidence,
    figures_alone,
    level,
    scatter,
    usual,
)
from roundtui.domain.figures.exposure import Reading
from roundtui.domain.figures.figures import Series
from roundtui.domain.figures.unlikely import STALE_WEEKS, Marks, Past, Seen, after_round, expected, slip, with_marks
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Block

NEWEST_ROUNDS = 2
"""Rounds before the present one that tell, with it, what is usual now."""
SEASONS_BACK = 2
"""Seasons before the present one that are learned from: k is right within a tenth from twenty blocks of one season, and
an older hanging is another. [season]"""
PLAIN_SLIPS = Marks(more=log(2000), fewer=inf, tail=1e-6)
"""Counts beyond these are no part of scatter and usual levels: so far out that few honest ones are lost."""


@dataclass(frozen=True, slots=True)
class Read:
    """A trap's valid catch of a round, readings of one week joined."""

    trap: str
    block: str
    moths: int
    """Net moths."""
    days: int
    """Exposure. [d]"""
    plain: bool
    """Whether it can speak for other blocks: inside an undisrupted block, counted and not estimated."""

    @property
    def seen(self) -> Seen:
        """The same, for what is expected of a trap where it hangs."""
        return Seen(f"{self.trap} {self.block}", self.moths, self.days / 7)


def week_of(on: date) -> int:
    """Number of the calendar week that a day lies in: weeks since Monday, 1 January of the year 1."""
    return (on.toordinal() - 1) // 7


def rounds_of(
    every: Iterable[Series], blocks: Mapping[str, Block], first: int, last: int
) -> dict[str, dict[int, list[Read]]]:
    """Valid catches of all traps by species and week, each week in the order read.

    Args:
        every: Series of the traps.
        blocks: Blocks by code, for mating disruption.
        first: First week.
        last: Last week, included.
    """
    found: dict[str, dict[int, list[tuple[tuple[Any, ...], Read]]]] = {}
    for one in every:
        hanging = one.hanging
        block = blocks.get(hanging.block)
        inside = not hanging.edge and not (block is not None and block.disrupted)
        joined: dict[int, list[Reading]] = {}
        for reading in one.readings:
            week = week_of(reading.read_on)
            if first <= week <= last and _speaks(reading):
                joined.setdefault(week, []).append(reading)
        for week, readings in joined.items():
            read = Read(
                hanging.trap,
                hanging.block,
                sum(reading.net or 0 for reading in readings),
                sum(reading.days or 0 for reading in readings),
                inside and not any(reading.entries and reading.entries[-1].estimated for reading in readings),
            )
            entry = readings[-1].entries
            order = (readings[-1].read_on, entry[-1].order if entry else (), hanging.trap)
            found.setdefault(hanging.species, {}).setdefault(week, []).append((order, read))
    return {
        species: {week: [read for _, read in sorted(rows, key=lambda row: row[0])] for week, rows in weeks.items()}
        for species, weeks in found.items()
    }


def _speaks(reading: Reading) -> bool:
    return reading.known and not reading.suspect and not reading.conflict and 0 < (reading.days or 0) <= LONGEST_DAYS


@dataclass(frozen=True, slots=True)
class Learned:
    """What the rounds of a species teach, up to a week."""

    whole: Evidence = NO_EVIDENCE
    """Evidence of all rounds."""
    newest: tuple[tuple[int, Evidence], ...] = ()
    """Week and evidence of the last rounds."""
    own: Mapping[str, tuple[float, ...]] = field(default_factory=lambda: MappingProxyType({}))
    """Per block, its own evidence of scatter."""
    past: Past = field(default_factory=Past)
    """What to expect of a trap."""

    @property
    def k(self) -> float:
        """Scatter of the species. [1]"""
        return scatter(self.whole.scatter)

    @property
    def assumed(self) -> bool:
        """Whether the scatter is the one to start with: nothing on record says anything of it."""
        return self.whole.groups == 0

    def k_of(self, block: str) -> float:
        """Scatter of a block, by its own rounds and those of the species.

        Args:
            block: Code of the block.
        """
        own = self.own.get(block)
        return self.k if own is None else scatter(own, start=self.k, spread=OWN_SPREAD)

    def usual(self, week: int, now: Sequence[Read]) -> Usual | None:
        """Levels that are usual in a round; None where there are too few figures.

        Args:
            week: Number of its week.
            now: What is read in it so far.
        """
        recent = NO_EVIDENCE
        for before, found in self.newest:
            if week - before <= STALE_WEEKS:
                recent += found
        earlier = replace(
            NO_EVIDENCE,
            figures=self.whole.figures - recent.figures,
            total=self.whole.total - recent.total,
            squares=self.whole.squares - recent.squares,
        )
        plain = by_block(one for one in now if one.plain)
        return usual(recent + figures_alone(_group(rows) for rows in plain.values()), earlier)


NOTHING = Learned()
"""Before a species was read."""


def after_week(before: Learned, week: int, read: Sequence[Read]) -> Learned:
    """What is learned with one round more; the marks on unlikely counts are as they were.

    Args:
        before: What was learned before.
        week: Number of its week.
        read: Its catches, in the order read.
    """
    likely = []
    for at, one in enumerate(read):
        mean, _ = expected(before.past, one.seen, [other.seen for other in read[:at]], week)
        if one.plain and slip(one.moths, mean, PLAIN_SLIPS) is None:
            likely.append(one)
    groups = by_block(likely)
    own = dict(before.own)
    whole = NO_EVIDENCE
    for block, rows in groups.items():
        found = evidence([_group(rows)])
        whole += found
        if found.groups:
            had = own.get(block, NO_EVIDENCE.scatter)
            own[block] = tuple(one + other for one, other in zip(had, found.scatter, strict=True))
    newest = (*before.newest[1 - NEWEST_ROUNDS :], (week, whole))
    return Learned(before.whole + whole, newest, own, after_round(before.past, week, [one.seen for one in read]))


def learn_weeks(weeks: Mapping[int, Sequence[Read]], until: int, begun: Learned = NOTHING) -> Learned:
    """What the rounds before a week teach.

    Args:
        weeks: Catches by week.
        until: First week that is left out.
        begun: What was learned from the weeks before these.
    """
    for week in sorted(weeks):
        if week < until:
            begun = after_week(begun, week, weeks[week])
    return replace(begun, past=with_marks(begun.past))


@dataclass(frozen=True, slots=True)
class Sureness:
    """How sure it is that a block's level lies on the side that its status names."""

    low: float
    """Lower limit of its 80 % interval; 0 where no moth was caught. [moths/trap/week]"""
    high: float
    """Upper limit. [moths/trap/week]"""
    over: float
    """Chance that it is at or over the threshold's high. [1]"""
    below: float
    """Chance that it is below the threshold's low. [1]"""
    chance: float
    """Chance that it lies on the status's side. [1]"""
    certainty: Certainty | None
    """The word for that; None within, where three traps can never be sure."""
    k: float
    """Scatter of the block's traps. [1]"""
    usual: Usual
    """Levels that are usual."""


def sureness(
    caught: Sequence[tuple[int, int]], k: float, before: Usual, band: tuple[float, float], status: Status
) -> Sureness | None:
    """How sure a block's status is.

    Args:
        caught: Net moths and days of each trap of the mean. [moths], [d]
        k: Scatter of the block. [1]
        before: Levels that are usual.
        band: Low and high of its rule. [moths/trap/week]
        status: Where the rule sees it.

    Returns:
        None where the status is no comparison.
    """
    if status not in {Status.BELOW, Status.WITHIN, Status.OVER}:
        return None
    counts, days = [x for x, _ in caught], [d for _, d in caught]
    found = level(counts, days, k, before)
    low, high = found.interval
    over, below = found.chance(band[1]), 1 - found.chance(band[0])
    chance = {Status.OVER: over, Status.BELOW: below}.get(status, max(0.0, 1 - over - below))
    return Sureness(
        low=low if any(counts) else 0.0,
        high=high,
        over=over,
        below=below,
        chance=chance,
        certainty=None if status is Status.WITHIN else certainty(chance),
        k=k,
        usual=before,
    )


def by_block(read: Iterable[Read]) -> dict[str, list[Read]]:
    """Catches by block."""
    found: dict[str, list[Read]] = {}
    for one in read:
        found.setdefault(one.block, []).append(one)
    return found


def _group(read: Sequence[Read]) -> tuple[list[int], list[int]]:
    return [one.moths for one in read], [one.days for one in read]
