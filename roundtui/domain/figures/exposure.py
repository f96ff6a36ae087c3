"""From visits to readings: how many moths, over how many days.

Days run from the last reading, or from hanging. They run on over a trap that was skipped or found closed; they begin
anew where it was missing, down or damaged, or where liner or body was replaced without a count. Moths left in the trap
are carried and taken off the next count; where two scouts left different counts in, nobody knows what to take off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import groupby

from roundtui.domain.programme.farm import Trap
from roundtui.domain.visits import Visit

DAYS_A_WEEK = 7
LONGEST_DAYS = 28
"""A reading over more days than this has no weekly rate: four rounds were missed. Common practice, no source. [d]"""


@dataclass(frozen=True, slots=True)
class Reading:
    """A count with what stands behind it."""

    trap: str
    read_on: date
    """Day of the count."""
    start: date | None
    """Day the exposure began; None where nobody knows."""
    count: int
    """Moths in the trap as counted."""
    net: int | None
    """Moths caught in the exposure; None where the count lies below what was left in, or hangs on an open conflict."""
    entries: tuple[Visit, ...]
    """The visit behind it; two or more are a conflict not yet settled."""
    suspect: bool = False
    """Whether lure or body was wrong on any day it covers."""

    @property
    def days(self) -> int | None:
        """Days of exposure; None where unknown. [d]"""
        return None if self.start is None else (self.read_on - self.start).days

    @property
    def conflict(self) -> bool:
        """Whether two scouts read the trap on this day."""
        return len(self.entries) > 1

    @property
    def known(self) -> bool:
        """Whether moths and days are both known, at least one day; such a reading stands in sums."""
        days = self.days
        return self.net is not None and days is not None and days > 0

    @property
    def long(self) -> bool:
        """Whether it covers too many days to have a weekly rate."""
        days = self.days
        return days is not None and days > LONGEST_DAYS

    @property
    def rated(self) -> bool:
        """Whether it has a weekly rate."""
        return self.known and not self.long

    @property
    def pace(self) -> Fraction | None:
        """Mean catch over its days, however many they are; None where moths or days are unknown. [moths/trap/week]"""
        days = self.days
        if self.net is None or not days:
            return None
        return Fraction(self.net * DAYS_A_WEEK, days)

    @property
    def per_week(self) -> Fraction | None:
        """Catch per trap per week; None where there is no rate. [moths/trap/week]"""
        return None if self.long else self.pace


def rate(readings: Iterable[Reading]) -> Fraction | None:
    """Catch per week of readings joined: moths over days, both summed.

    Args:
        readings: Readings of one trap; those without a rate are passed over.

    Returns:
        None where no reading has a rate. [moths/trap/week]
    """
    moths = days = 0
    for reading in readings:
        if reading.rated:
            moths += reading.net or 0
            days += reading.days or 0
    return Fraction(moths * DAYS_A_WEEK, days) if days else None


def readings(hanging: Trap, visits: Sequence[Visit]) -> list[Reading]:
    """Readings of one hanging of a trap, in order of time.

    Args:
        hanging: The hanging; visits outside its days are passed over.
        visits: Present visits of the trap, sorted by ``Visit.order``.

    Returns:
        One reading for each day with a count. A second look at a catch is not one, but what was replaced on it is.
    """
    found: list[Reading] = []
    start = hanging.hung_on
    carried: int | None = 0
    for day, group in groupby((v for v in visits if hanging.hangs_on(v.read_on)), key=lambda visit: visit.read_on):
        today = tuple(group)
        counted = tuple(visit for visit in today if visit.count is not None and not visit.recount)
        if counted:
            reading = _reading(hanging.trap, day, start, carried, counted)
            found.append(reading)
            start, carried = day, _left_in(counted)
        for visit in today:
            start, carried = _without_count(visit, start, carried)
        if start is None:
            start = day
    return found


def _reading(trap: str, day: date, start: date | None, carried: int | None, counted: tuple[Visit, ...]) -> Reading:
    count = counted[-1].count or 0
    net = None if carried is None or len(counted) > 1 or count < carried else count - carried
    return Reading(trap=trap, read_on=day, start=start, count=count, net=net, entries=counted)


def _left_in(counted: tuple[Visit, ...]) -> int | None:
    """Moths that stay in the trap after its count; None where two counts disagree and any of them was left in."""
    left = [visit.count or 0 for visit in counted if not visit.cleared]
    if not left:
        return 0
    return left[0] if len(counted) == 1 else None


def _without_count(visit: Visit, start: date | None, carried: int | None) -> tuple[date | None, int | None]:
    """Exposure and carry after what a visit did besides counting."""
    if visit.liner or visit.body is not None or (visit.no_reading is not None and visit.no_reading.restarts_exposure):
        return visit.read_on, 0
    return start, carried


def is_clean_restart(visit: Visit) -> bool:
    """Whether nothing before a visit can matter to a reading after it."""
    if visit.recount:
        return False
    if visit.liner or visit.body is not None:
        return True
    if visit.no_reading is not None:
        return visit.no_reading.restarts_exposure
    return visit.count is not None and visit.cleared
