"""A block's season as it is drawn and told: catches, degree-days, biofixes, events, and what the next days bring."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.farm import natural_key
from roundtui.domain.model_records import LifeEvent, SpeciesModel
from roundtui.domain.outlook import EventOutlook, Outlook
from roundtui.domain.season import Biofix
from roundtui.domain.season_entries import BiofixSettled
from roundtui.domain.units import TempUnit
from roundtui.domain.verdicts import Status
from roundtui.domain.weather.days import DegreeDaySum
from roundtui.errors import Problem

NEXT_DAYS = 10
"""How far ahead the Desk looks. [d]"""


@dataclass(frozen=True, slots=True)
class BiofixRow:
    """The biofix of one block, species and generation, with who settled it."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    season: int
    """Year in which the season started."""
    biofix: Biofix
    """What is proposed, and what is confirmed."""
    settled: tuple[BiofixSettled, ...] = ()
    """What stands on record, newest first; more than one day is a question to settle."""

    @property
    def doubts(self) -> tuple[str, ...]:
        """In words, what speaks against it."""
        days = sorted({one.day for one in self.settled})
        two = f"settled twice: {' and '.join(str(day) for day in days)}" if len(days) > 1 else ""
        return ((two,) if two else ()) + (self.biofix.proposal.doubts if self.biofix.proposal else ())


@dataclass(frozen=True, slots=True)
class OutlookRow:
    """One event of one block and species."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    event: EventOutlook
    """The event: reached, expected, or neither."""
    outlook: Outlook
    """The look ahead it is part of."""
    confirmed: bool
    """Whether the biofix it is reckoned from is confirmed, or its model needs none."""


@dataclass(frozen=True, slots=True)
class SeasonReading:
    """What one trap caught between two days."""

    start: date | None
    """Day the exposure began; None where nobody knows."""
    end: date
    """Day it was read."""
    net: int | None
    """Moths caught; None where that cannot be told."""
    days: int | None
    """Days of exposure; None where unknown. [d]"""
    per_week: Fraction | None
    """None where there is no rate. [moths/trap/week]"""
    suspect: bool
    """Whether lure or body was wrong on a day it covers."""
    conflict: bool
    """Whether two scouts read it on this day."""


@dataclass(frozen=True, slots=True)
class TrapSeason:
    """One trap's readings of a season."""

    trap: str
    """Label of the trap."""
    edge: bool
    """Whether it hangs at the edge of the block, beside the mean."""
    readings: tuple[SeasonReading, ...]
    """Readings, oldest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockSeason:
    """All that the Season screen and a letter draw of one block and species."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    season: int
    """Year in which it started."""
    first: date
    """First day of the season."""
    on: date
    """Day up to which it is looked at."""
    traps: tuple[TrapSeason, ...]
    """Readings by trap."""
    means: tuple[tuple[date, Fraction | None], ...]
    """The block's figure for each day on which a trap was read. [moths/trap/week]"""
    band: tuple[Fraction, Fraction] | None
    """Low and high of the rule on the last of these days."""
    rule: str
    """Rule of the band; empty where there is none."""
    status: Status | None
    """Where the block stands on that day."""
    biofixes: tuple[BiofixRow, ...]
    """Biofix of each generation; empty where nobody has a rule."""
    outlooks: tuple[Outlook, ...]
    """Events, from each biofix."""
    model: SpeciesModel | None
    """How its degree-days are counted; None where nobody has a model, and then there are no sums."""
    station: str
    """Code of the station; empty where the block has none."""
    from_start: DegreeDaySum | None
    """Degree-days from the first day of the season on."""
    from_biofix: tuple[tuple[int, DegreeDaySum], ...]
    """Degree-days from each generation's biofix on, by generation."""
    remarks: tuple[Problem, ...]
    """What is odd in the season's temperatures: gaps, a changed hour of observation."""

    @property
    def unit(self) -> TempUnit | None:
        """Unit of temperatures and degree-days."""
        return self.model.development.unit if self.model else None

    @property
    def events(self) -> tuple[EventOutlook, ...]:
        """Every event, by generation and degree-days."""
        every = [event for view in self.outlooks for event in view.events]
        return tuple(sorted(every, key=lambda one: (one.generation, one.event.degree_days)))


@dataclass(frozen=True, slots=True)
class Coming:
    """An event that the next days bring, with the blocks it comes to."""

    species: str
    """Abbreviation of the species."""
    event: LifeEvent
    """The event."""
    generation: int
    """Generation of the season."""
    expected_on: date
    """Day it is expected."""
    earliest: date | None
    """First day of the range; None where there is none."""
    latest: date | None
    """Last day of the range; None where there is none."""
    confirmed: bool
    """Whether the biofix behind it is confirmed, or none is needed."""
    provisional: bool
    """Whether no biofix is set at all and degree-days of the year stand in."""
    blocks: tuple[str, ...]
    """Codes of the blocks."""
    by_normal: bool = False
    """Whether the day is reckoned from stated normals, for want of past years."""


def coming(rows: Iterable[OutlookRow], on: date, days: int = NEXT_DAYS) -> tuple[Coming, ...]:
    """What the next days bring.

    Args:
        rows: Events of all blocks.
        on: The day from which one looks.
        days: How far ahead. [d]

    Returns:
        Events expected from tomorrow on, the nearest first; those that come to several blocks alike are told once.
    """
    last = on + timedelta(days=days)
    grouped: dict[tuple[object, ...], list[OutlookRow]] = {}
    for row in rows:
        event = row.event
        if event.expected_on is not None and on < event.expected_on <= last:
            key = (
                *(event.expected_on, row.species, event.generation, event.event, event.earliest, event.latest),
                *(row.confirmed, row.outlook.provisional, event.by_normal),
            )
            grouped.setdefault(key, []).append(row)
    found = [_coming(group) for group in grouped.values()]
    return tuple(sorted(found, key=lambda one: (one.expected_on, one.species, one.generation, one.event.degree_days)))


def _coming(group: Sequence[OutlookRow]) -> Coming:
    first = group[0]
    event = first.event
    return Coming(
        species=first.species,
        event=event.event,
        generation=event.generation,
        expected_on=event.expected_on or date.max,
        earliest=event.earliest,
        latest=event.latest,
        confirmed=first.confirmed,
        provisional=first.outlook.provisional,
        blocks=tuple(sorted({row.block for row in group}, key=natural_key)),
        by_normal=event.by_normal,
    )
