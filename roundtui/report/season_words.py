"""A block's season in words: the point under the cursor, the biofixes, the outlook."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from string import ascii_lowercase
from typing import TYPE_CHECKING

from roundtui.domain.plain import plain
from roundtui.domain.season_catch import CatchPoint
from roundtui.report.numbers import days, figure, listed, several
from roundtui.report.season_tables import when

if TYPE_CHECKING:
    from roundtui.domain.outlook import EventOutlook
    from roundtui.domain.season_view import BiofixRow, BlockSeason
    from roundtui.domain.weather.days import DegreeDaySum

_LABEL = 12
"""Longest label of a trap or block in a sentence. [columns]"""


@dataclass(frozen=True, slots=True)
class LetteredEvent:
    """An event of the outlook, and the letter it bears in the chart."""

    letter: str
    """Its letter; a blank where it has no date."""
    event: EventOutlook
    """The event."""

    @property
    def on(self) -> date | None:
        """The day it was reached or is expected."""
        return self.event.reached_on or self.event.expected_on


def lettered(events: Sequence[EventOutlook]) -> tuple[LetteredEvent, ...]:
    """Events with a letter for each that has a date, a first."""
    letters = iter(ascii_lowercase)
    return tuple(LetteredEvent(next(letters, " ") if one.reached_on or one.expected_on else " ", one) for one in events)


def event_words(one: LetteredEvent) -> str:
    """What an event is, and when it was reached or is expected."""
    event = one.event
    what = f"generation {event.generation}, {plain(event.event.name, 60)}, {event.event.degree_days:g}"
    years = f", {several(event.years, 'year')}" if event.expected_on is not None and event.years else ""
    return f"{what}: {plain(when(event), 90)}{years}"


def biofix_words(row: BiofixRow) -> str:
    """Which biofix a generation has, who settled it, or what is proposed and why."""
    head = f"Biofix {row.biofix.generation}:"
    proposal = row.biofix.proposal
    doubts = f" ! {'; '.join(plain(doubt, 160) for doubt in row.doubts)}" if row.doubts else ""
    doubtful = ", doubtful" if row.doubts else ""
    if row.biofix.confirmed is not None:
        settled = row.settled[0] if row.settled else None
        who = f" by {plain(settled.scout, 24)}" if settled and settled.scout else ""
        if proposal is None or proposal.on is None or proposal.on == row.biofix.confirmed:
            return f"{head} {row.biofix.confirmed}, confirmed{who}{doubtful}.{doubts}"
        why = f": {plain(settled.reason, 60)}" if settled and settled.reason else ""
        return f"{head} {row.biofix.confirmed}, set{who}{why}; proposed was {proposal.on}{doubtful}.{doubts}"
    if proposal is None or proposal.on is None:
        return f"{head} none yet, {plain(proposal.why, 200) if proposal else 'nobody has a rule for it'}"
    return f"{head} {proposal.on} proposed{doubtful}, not confirmed: {plain(proposal.why, 200)}.{doubts}"


def waiting(rows: Sequence[BiofixRow]) -> list[BiofixRow]:
    """Biofixes that a coordinator has still to confirm."""
    return [row for row in rows if row.biofix.confirmed is None and row.biofix.proposal and row.biofix.proposal.on]


def point_words(point: CatchPoint, season: BlockSeason) -> str:
    """All numbers of one round: date, catch, moths, traps, days, the highest trap, degree-days."""
    edges = season.band or ()
    parts = []
    if point.per_week is not None:
        parts.append(
            f"{figure(point.per_week, edges)} a trap a week: {several(point.moths, 'moth')}, "
            f"{several(point.traps, 'trap')}, {days(point.days or ())} days"
        )
        if point.highest and point.highest[1] and point.traps > 1:
            parts.append(f"highest {plain(point.highest[0], _LABEL)} {figure(point.highest[1])}")
    elif point.with_suspect is not None:
        parts.append(f"only suspect traps: {figure(point.with_suspect)} a trap a week, in no mean")
    else:
        parts.append("no figure")
    if point.suspect:
        parts.append(f"suspect {listed(plain(label, _LABEL) for label in point.suspect)}")
    if point.conflict:
        parts.append(f"two readings of {listed(plain(label, _LABEL) for label in point.conflict)} disagree")
    if point.begins:
        parts.append("a new series")
    words = f"{point.on:%a} {point.on}  {'; '.join(parts)}"
    sums = sum_words(season, point.on)
    return f"{words}. {sums}" if sums else words


def sum_words(season: BlockSeason, on: date) -> str:
    """Degree-days up to a day: from the season's start, and from the newest biofix before it."""
    if season.from_start is None:
        return ""
    unit = f"{season.from_start.unit.sign}-days"
    found = []
    total = _total(season.from_start, on)
    if total is not None:
        found.append(f"{total:.0f} {unit} from {season.first:%m-%d}")
    since = [(generation, _total(one, on)) for generation, one in season.from_biofix]
    known = [(generation, amount) for generation, amount in since if amount is not None]
    if known:
        generation, amount = known[-1]
        found.append(f"{amount:.0f}{'' if found else f' {unit}'} from biofix {generation}")
    if not found and season.from_start.why:
        return f"Degree-days not known: {season.from_start.why}"
    return ", ".join(found)


def _total(total: DegreeDaySum, on: date) -> float | None:
    return next((row.total for row in total.rows if row.on == on), None)
