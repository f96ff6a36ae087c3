"""Exposure and figures a second time, night by night and in exact fractions, as slow as it is plain.

A trap is followed one night after another. Nights pile up until a count takes them; whatever begins the days anew
throws them away. Every figure is then made of such heaps of nights.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from roundtui.domain.entries import Visit
    from roundtui.domain.programme.farm import Trap

DAY = timedelta(days=1)
RESTARTS = ("missing", "down", "damaged")


@dataclass
class Heap:
    """A count and the nights it covers."""

    read_on: date
    net: int | None
    nights: list[date] | None
    conflict: bool = False
    suspect: bool = False
    count: int = 0

    @property
    def usable(self) -> bool:
        """Whether it may stand in a sum."""
        return self.net is not None and bool(self.nights) and not self.conflict

    @property
    def weekly(self) -> bool:
        """Whether it may stand in a mean: four weeks of nights at most."""
        return self.usable and len(self.nights or ()) <= 28


def heaps(hanging: Trap, visits: Sequence[Visit], last: date, bad_nights: Iterable[date] = ()) -> list[Heap]:
    """Follow one hanging of a trap to a day.

    Args:
        hanging: The hanging.
        visits: Its visits, in any order.
        last: Last night looked at.
        bad_nights: Nights on which its lure or body was wrong.
    """
    bad = set(bad_nights)
    hung, down = hanging.hung_on or date.min, hanging.down_on or date.max
    mine = sorted((v for v in visits if hung <= v.read_on <= down), key=lambda v: (v.read_on, v.recorded_at, v.id))
    if not mine:
        return []
    nights: list[date] | None = None if hanging.hung_on is None else []
    left_in: int | None = 0  # None: two scouts left it in with different counts
    found = []
    day = min(hanging.hung_on or mine[0].read_on, mine[0].read_on)
    while day <= last:
        if nights is not None and day != hanging.hung_on:
            nights.append(day)
        today = [visit for visit in mine if visit.read_on == day]
        counts = [visit for visit in today if visit.count is not None and not visit.recount]
        if counts:
            net: int | None = None if left_in is None else (counts[0].count or 0) - left_in
            if len(counts) > 1 or (net is not None and net < 0):
                net = None
            suspect = nights is not None and bool(bad & set(nights))
            found.append(Heap(day, net, nights, len(counts) > 1, suspect, counts[-1].count or 0))
            nights = []
            left_in = 0
            if not all(visit.cleared for visit in counts):
                left_in = counts[0].count if len(counts) == 1 else None
        for visit in today:
            if visit.liner or visit.body is not None or visit.no_reading in RESTARTS:
                left_in = 0
                nights = []
        if today and nights is None:
            nights = []
        day += DAY
    return found


def figure(trap: Sequence[Heap], on: date, *, suspect: bool) -> tuple[Fraction, list[Heap]] | None:
    """A trap's catch per week for a day, and the heaps in it."""
    window = {on - DAY * back for back in range(7)}
    if any(heap.conflict for heap in trap if heap.read_on in window):
        return None
    valid = [heap for heap in trap if heap.read_on in window and heap.weekly and (suspect or not heap.suspect)]
    joined = [heap for heap in valid if heap is valid[-1] or began(heap) >= on - 7 * DAY]
    if not joined:
        return None
    moths = sum(heap.net or 0 for heap in joined)
    nights = sum(len(heap.nights or ()) for heap in joined)
    return Fraction(7 * moths, nights), joined


def began(heap: Heap) -> date:
    """Day on which an exposure began; long ago where nobody knows."""
    if heap.nights is None:
        return date.min
    return min(heap.nights) - DAY if heap.nights else heap.read_on


def block(
    traps: Mapping[str, Sequence[Heap]], on: date, *, suspect: bool = False
) -> tuple[Fraction | None, Fraction | None, int, date | None]:
    """Mean, highest, how many traps, and the day on which the earliest exposure used ended.

    A trap that was moved within the block has a name for each place, "day label": the newest with a figure counts.
    """
    newest: dict[str, tuple[Fraction, list[Heap]]] = {}
    for name, trap in sorted(traps.items()):
        if one := figure(trap, on, suspect=suspect):
            newest[name.split()[-1]] = one
    figures = list(newest.values())
    if not figures:
        return None, None, 0, None
    rates = [rate for rate, _ in figures]
    return (
        sum(rates, Fraction()) / len(rates),
        max(rates),
        len(rates),
        min(h.read_on for _, used in figures for h in used),
    )


def exposures(traps: Mapping[str, Sequence[Heap]], on: date) -> list[int]:
    """Nights of each heap behind a block's figure, the shortest first."""
    newest = {name.split()[-1]: one for name, trap in sorted(traps.items()) if (one := figure(trap, on, suspect=False))}
    return sorted(len(heap.nights or ()) for _, used in newest.values() for heap in used)


def before(traps: Mapping[str, Sequence[Heap]], on: date) -> Fraction | None:
    """The previous figure: for the newest day with a count before the earliest exposure used now ended."""
    *_, ended = block(traps, on)
    earlier = [h.read_on for trap in traps.values() for h in trap if h.read_on < (ended or on - 6 * DAY)]
    return block(traps, max(earlier))[0] if earlier else None


def cumulative(
    traps: Mapping[str, Sequence[Heap]], first: date, last: date, held: Iterable[date] = ()
) -> Fraction | None:
    """Each night's mean daily catch over the traps whose valid reading covers it, summed; held nights are left out."""
    out, caught = set(held), dict[date, list[Fraction]]()
    for heap in (heap for trap in traps.values() for heap in trap if heap.usable and not heap.suspect):
        nights = [night for night in heap.nights or () if first <= night <= last and night not in out]
        for night in nights:
            caught.setdefault(night, []).append(Fraction(heap.net or 0, len(heap.nights or ())))
    return sum((sum(rates, Fraction()) / len(rates) for rates in caught.values()), Fraction()) if caught else None
