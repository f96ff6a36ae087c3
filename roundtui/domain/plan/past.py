"""What last season says to this season's plan: how many traps hung, which were lost, and when the first moth came."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from roundtui.domain.exposure import Reading
from roundtui.domain.farm import natural_key
from roundtui.domain.figures import Series
from roundtui.domain.visits import NoReading, StageSeen, Visit

_STILL_READ_DAYS = 28
"""A trap not read for longer is at the end of its season, whatever the register says (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PastSeason:
    """One block and species in the season before the one that is planned."""

    season: int
    """Year in which it started."""
    traps: tuple[str, ...] = ()
    """Labels of the traps that hung."""
    lost: tuple[str, ...] = ()
    """Those found missing, and not found again."""
    hung_on: date | None = None
    """Day the first of them was hung."""
    first_read: date | None = None
    """Day of the first count."""
    first_moths: int = 0
    """Moths counted on that day, of all its traps together."""
    first_catch: date | None = None
    """Day of the first count above zero."""
    flown_since: date | None = None
    """First day of the exposure that brought it: moths flew some time from then on."""
    stages: tuple[StageSeen, ...] = ()
    """Fruit stages seen in the block, oldest first."""
    ended_on: date | None = None
    """Day the last of them was taken down, else of the last count; None while one still hangs and is read."""

    @property
    def hung_too_late(self) -> bool:
        """Whether the first check was not zero, so that nobody knows when the flight began."""
        return self.first_read is not None and self.first_moths > 0


def past_season(
    season: int,
    group: Sequence[Series],
    visits: Mapping[str, Sequence[Visit]],
    stages: Sequence[StageSeen],
    days: tuple[date, date],
) -> PastSeason:
    """Put it together from the record.

    Args:
        season: Year in which it started.
        group: Traps of one block and species that hung in it, with their readings.
        visits: Present visits by trap.
        stages: Stages seen in the block, oldest first.
        days: First and last day of the season.

    Returns:
        What it says. Readings that cannot be trusted are passed over: a wrong lure tells nothing of a flight.
    """
    first, last = days
    read = [
        reading
        for one in group
        for reading in one.readings
        if first <= reading.read_on <= last and not reading.suspect and not reading.conflict and reading.net is not None
    ]
    first_read = min((reading.read_on for reading in read), default=None)
    caught = [reading for reading in read if (reading.net or 0) > 0]
    first_catch = min((reading.read_on for reading in caught), default=None)
    flown = [reading.start for reading in caught if reading.read_on == first_catch and reading.start is not None]
    labels = sorted({one.hanging.trap for one in group}, key=natural_key)
    return PastSeason(
        season=season,
        traps=tuple(labels),
        lost=tuple(label for label in labels if _lost(visits.get(label, ()), first, last)),
        hung_on=min((one.hanging.hung_on for one in group if one.hanging.hung_on), default=None),
        first_read=first_read,
        first_moths=sum(reading.net or 0 for reading in read if reading.read_on == first_read),
        first_catch=first_catch,
        flown_since=min(flown, default=None),
        stages=tuple(stages),
        ended_on=_ended(group, read, last),
    )


def _ended(group: Sequence[Series], read: Sequence[Reading], last: date) -> date | None:
    """When the traps came down; a trap that nobody took down in the register ended with its last count."""
    down = [one.hanging.down_on for one in group if one.hanging.down_on is not None and one.hanging.down_on <= last]
    counts = [reading.read_on for reading in read]
    if not down and any(one.hanging.hangs_on(last) for one in group) and counts:
        newest = max(counts)
        return newest if (last - newest).days > _STILL_READ_DAYS else None
    return max(down or counts, default=None)


def _lost(visits: Sequence[Visit], first: date, last: date) -> bool:
    told = [v for v in visits if first <= v.read_on <= last and (v.count is not None or v.no_reading is not None)]
    return bool(told) and told[-1].no_reading is NoReading.MISSING
