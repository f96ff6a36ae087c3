"""The season of one block and species: the biofix of every generation, and the outlook from the newest one.

A block's season as it is drawn and told: catches, degree-days, biofixes, events, and what the next days bring.
A block's catch over a season as points of a curve: one for each round, breaking off where a new series begins.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from roundtui.domain.entries import BiofixSettled
from roundtui.domain.figures.certainty import Sureness
from roundtui.domain.figures.figures import BlockFigure, Reading, Series, block_figure
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Trap, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.season.biofix import ROUND_DAYS, BiofixProposal, BiofixRule, Sunsets, propose, rule_for
from roundtui.domain.season.models import SpeciesModel
from roundtui.domain.season.outlook import EventOutlook, Outlook, outlook
from roundtui.domain.season.weather import DegreeDaySum, StationYears
from roundtui.domain.units import TempUnit
from roundtui.errors import Problem

MOST_GENERATIONS = 9
"""More generations than any species here has in a year."""


class Biofix(Frozen):
    """The biofix of one generation: what a rule proposes, and what the coordinator settled."""

    generation: int
    """Generation of the season, counted from 1."""
    proposal: BiofixProposal | None
    """What the rule finds; None where nobody has a rule."""
    confirmed: date | None = None
    """Day the coordinator confirmed or set; None while open."""

    @property
    def on(self) -> date | None:
        """The day to reckon from: the confirmed one, else the proposed one."""
        return self.confirmed or (self.proposal.on if self.proposal else None)


def season_biofixes(
    rules: Sequence[BiofixRule],
    species: str,
    readings: Iterable[Reading],
    *,
    on: date,
    station: StationYears | None = None,
    confirmed: Mapping[int, date] | None = None,
    sunsets: Sunsets | None = None,
    generations: int = MOST_GENERATIONS,
) -> tuple[Biofix, ...]:
    """The biofix of every generation that has begun, or whose moths are being waited for.

    Args:
        rules: Rules in order of rank: the office's, then those that ship.
        species: Abbreviation of the species.
        readings: Readings of the block's traps of the species in this season.
        on: Day from which one looks; later readings are not used.
        station: The station's days, counted as the species' model counts; without it no later generation is waited for.
        confirmed: Days the coordinator settled, by generation.
        sunsets: Temperatures at sunset, for a rule that asks for them.
        generations: How many generations are asked for, at most.

    Returns:
        The first generation, and each later one once the degree-days between two flights have accumulated.
    """
    settled = confirmed or {}
    known = [reading for reading in readings if reading.read_on <= on]
    found: list[Biofix] = []
    for generation in range(1, generations + 1):
        rule = rule_for(rules, species, generation)
        before = found[-1].on if found else None
        waits_until = _next_flight(rule, station, before, on) if generation > 1 and rule and before else None
        proposal = None
        if rule is not None and (generation == 1 or waits_until is not None):
            proposal = propose(rule, known, generation=generation, not_before=waits_until, sunsets=sunsets)
        if generation > 1 and proposal is None and generation not in settled:
            break
        found.append(Biofix(generation, proposal, settled.get(generation)))
    return tuple(found)


def _next_flight(rule: BiofixRule, station: StationYears | None, before: date, on: date) -> date | None:
    """First day whose readings belong to the next flight; None while that day is still to come, or nobody can tell."""
    if rule.after_degree_days is None:
        return before + timedelta(days=1)
    if station is None:
        return None
    return station.reach(before, float(rule.after_degree_days), on).on


def season_outlook(
    model: SpeciesModel, station: StationYears, biofixes: Sequence[Biofix] = (), *, on: date, **more: Any
) -> tuple[Outlook, ...]:
    """Look ahead from every biofix, each event from the newest biofix that tells of it.

    Args:
        model: The species' model.
        station: The station's days, counted as the model counts.
        biofixes: The generations' biofixes, as ``season_biofixes`` gives them.
        on: Day from which one looks.
        more: What else ``outlook`` takes.

    Returns:
        An outlook for each biofix that has a day, in order; one without a biofix where none has.
    """
    dated: list[tuple[int, date | None]] = [
        (each.generation, each.on) for each in biofixes if each.on is not None and each.on <= on
    ]
    dated = dated or [(1, None)]
    found = []
    for at, (generation, day) in enumerate(dated):
        view = outlook(model, station, on=on, biofix=day, generation=generation, **more)
        following = dated[at + 1][0] if at + 1 < len(dated) else MOST_GENERATIONS + 1
        found.append(replace(view, events=tuple(each for each in view.events if each.generation < following)))
    return tuple(found)


NEXT_DAYS = 10
"""How far ahead the Desk looks. [d]"""


class BiofixRow(Frozen):
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


class OutlookRow(Frozen):
    """One event of one block and species."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    event: EventOutlook
    """The event: reached, expected, or neither."""
    outlook: Outlook
    """The sample ahead it is part of."""
    confirmed: bool
    """Whether the biofix it is reckoned from is confirmed, or its model needs none."""


class BlockSeason(Frozen, kw_only=True):
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
    newest: tuple[date, Fraction | None] | None
    """Last day on which a trap was read, and the block's figure for it; None before. [d, moths/trap/week]"""
    band: tuple[Fraction, Fraction] | None
    """Low and high of the rule on that day."""
    rule: str
    """Rule of the band; empty where there is none."""
    status: Status | None
    """Where the block stands on that day."""
    sure: Sureness | None
    """How sure that is; None where nothing is said of it."""
    past_peak: bool
    """Whether the flight is past its peak on that day."""
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


class Coming(Frozen):
    """An event that the next days bring, with the blocks it comes to."""

    row: OutlookRow
    """The event in the first of them."""
    blocks: tuple[str, ...]
    """Codes of the blocks."""


def coming(rows: Iterable[OutlookRow], on: date) -> list[Coming]:
    """What the next days bring.

    Args:
        rows: Events of all blocks.
        on: The day from which one looks.

    Returns:
        Events expected from tomorrow on, the nearest first; those that come to several blocks alike are told once.
    """
    alike: dict[tuple[object, ...], list[OutlookRow]] = {}
    for row in rows:
        one = row.event
        if one.expected_on is not None and on < one.expected_on <= on + timedelta(days=NEXT_DAYS):
            shared = (row.species, one.generation, one.event, one.expected_on, one.earliest, one.latest, row.confirmed)
            by = (row.outlook.provisional, one.by_normal, one.by_forecast)
            alike.setdefault((*shared, *by), []).append(row)
    found = [Coming(of[0], tuple(sorted({row.block for row in of}, key=natural_key))) for of in alike.values()]
    return sorted(found, key=_nearest)


def _nearest(one: Coming) -> tuple[date, str, int, float]:
    event = one.row.event
    return event.expected_on or date.max, one.row.species, event.generation, event.event.degree_days


class CatchPoint(Frozen):
    """What a block or a trap showed on one round."""

    on: date
    """Last day of the round; the figure is that of the summary of this day."""
    per_week: Fraction | None
    """Mean over the valid traps; None where no trap is valid. [moths/trap/week]"""
    with_suspect: Fraction | None
    """Mean over all traps, suspect ones too; None where there is no figure at all. [moths/trap/week]"""
    traps: int
    """Traps in the mean."""
    moths: int
    """Moths that the mean is made of."""
    days: tuple[int, int] | None
    """Least and most days of exposure in the mean; None where it has no trap. [d]"""
    highest: tuple[str, Fraction] | None
    """Highest valid trap, and its catch. [moths/trap/week]"""
    suspect: tuple[str, ...]
    """Traps whose reading on this round is suspect."""
    conflict: tuple[str, ...]
    """Traps that two scouts read differently."""
    begins: bool
    """Whether the curve breaks off before it: a trap was moved, or nobody was watching in between."""

    @property
    def shown(self) -> Fraction | None:
        """Where to draw it: the mean, or where every trap is suspect the mean of those. [moths/trap/week]"""
        return self.with_suspect if self.per_week is None else self.per_week


def catch_points(group: Sequence[Series], moves: Sequence[date]) -> tuple[CatchPoint, ...]:
    """Points of a season.

    Args:
        group: Series of the traps to show.
        moves: Days on which a trap of the block was moved.

    Returns:
        A point for each round, oldest first: a round ends where a trap is read again, or after six days.
    """
    found: list[CatchPoint] = []
    suspect = any(reading.suspect for one in group for reading in one.readings)
    for batch, figure, begins in _figures(group, moves):
        on = batch[-1].read_on
        every = block_figure(group, on, with_suspect=True) if suspect else figure
        spans = [trap.days for trap in figure.traps]
        found.append(
            CatchPoint(
                on=on,
                per_week=figure.mean,
                with_suspect=every.mean,
                traps=len(figure.traps),
                moths=sum(trap.moths for trap in figure.traps),
                days=(min(spans), max(spans)) if spans else None,
                highest=(figure.highest.hanging.trap, figure.highest.per_week) if figure.highest else None,
                suspect=_labels(reading for reading in batch if reading.suspect),
                conflict=_labels(reading for reading in batch if reading.conflict),
                begins=begins,
            )
        )
    return tuple(found)


def round_means(group: Sequence[Series], moves: Sequence[date]) -> tuple[tuple[date, Fraction | None, bool], ...]:
    """Last day and mean of each round, and whether the curve breaks off before it, as ``catch_points`` has them.

    Args:
        group: Series of the traps to show.
        moves: Days on which a trap of the block was moved.
    """
    return tuple((batch[-1].read_on, figure.mean, begins) for batch, figure, begins in _figures(group, moves))


def _figures(group: Sequence[Series], moves: Sequence[date]) -> Iterator[tuple[list[Reading], BlockFigure, bool]]:
    """Readings and figure of each round, and whether a trap was moved before it, or nobody was watching in between."""
    before: date | None = None
    for batch in _rounds(group):
        on = batch[-1].read_on
        figure = block_figure(group, on)
        start = (figure if figure.traps else block_figure(group, on, with_suspect=True)).first_start
        moved = before is not None and any(before <= day < on for day in moves)
        watched = before is None or start is None or start <= before
        yield batch, figure, moved or not watched
        before = on


def round_days(group: Sequence[Series]) -> tuple[date, ...]:
    """Last day of each round, oldest first, without the figures that take most of the time of ``catch_points``.

    Args:
        group: Series of the traps.
    """
    return tuple(batch[-1].read_on for batch in _rounds(group))


def moves_of(group: Sequence[Series], hangings: Mapping[str, Sequence[Trap]], first: date) -> tuple[date, ...]:
    """Days on which a trap of a block was moved within a season.

    Args:
        group: Series of the block's traps.
        hangings: Hangings of every trap.
        first: First day of the season; a trap that hung before it somewhere else was not moved but hung anew.
    """
    days = set()
    for one in group:
        now = one.hanging
        for other in hangings.get(now.trap, ()):
            if now.hung_on and other.hung_on != now.hung_on and other.down_on and first <= other.down_on <= now.hung_on:
                days.add(now.hung_on)
    return tuple(sorted(days))


def days_moved(group: Sequence[Series], hangings: Mapping[str, Sequence[Trap]], first: date) -> tuple[date, ...]:
    """Days on which a block's curve breaks off: those of ``moves_of``, and those on which a trap left it.

    A trap that left takes its catch with it: the mean over those that stayed is another mean.

    Args:
        group: Series of the block's traps.
        hangings: Hangings of every trap.
        first: First day of the season.
    """
    left = {
        other.hung_on
        for one in group
        for other in hangings.get(one.hanging.trap, ())
        if other.block != one.hanging.block
        and other.hung_on is not None
        and other.hung_on >= first
        and other.hung_on == one.hanging.down_on
    }
    return tuple(sorted({*moves_of(group, hangings, first), *left}))


def _rounds(group: Sequence[Series]) -> list[list[Reading]]:
    """Readings by round of the block."""
    every = sorted((reading for one in group for reading in one.readings), key=lambda reading: reading.read_on)
    batches: list[list[Reading]] = []
    seen: dict[str, date] = {}
    for reading in every:
        on = reading.read_on
        if not batches or seen.get(reading.trap, on) != on or (on - batches[-1][0].read_on).days > ROUND_DAYS:
            batches.append([])
            seen = {}
        batches[-1].append(reading)
        seen[reading.trap] = on
    return batches


def _labels(readings: Iterable[Reading]) -> tuple[str, ...]:
    labels = {reading.trap for reading in readings}
    return tuple(sorted(labels, key=natural_key))
