"""The watch after a treatment a second time, night by night: which nights lie before, which after, and what fell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import product

from .naive_figures import DAY, Heap, began


@dataclass
class Seen:
    """What the catch says."""

    early: bool
    before: Fraction | None
    after: Fraction | None
    moths: tuple[int, int]
    nights: tuple[int, int]
    traps: list[str]
    awaited: int
    fell_before: bool


def sample(traps: Mapping[str, Sequence[Heap]], treated: Sequence[date], day: date, on: date) -> Seen:
    """Look at one treatment of a block.

    Args:
        traps: Heaps of nights of each trap, in order of days.
        treated: Days of all treatments.
        day: The one looked at.
        on: From when.
    """
    later = sorted(one for one in treated if day < one <= on)
    last = min([day + 28 * DAY, *later])
    sides: dict[str, tuple[list[list[Heap]], list[list[Heap]]]] = {}
    for name, heaps in traps.items():
        good = [heap for heap in heaps if heap.usable and not heap.suspect and heap.nights and heap.read_on <= on]
        before = [h for h in good if h.read_on <= day and began(h) >= day - 28 * DAY]
        after = [h for h in good if min(h.nights or ()) > day and h.read_on <= last]
        # Of the days before, short ones are put together from the end; of those after, from the beginning.
        pairs = [side[::-1] for side in together(before[::-1])[:3]][::-1], together(after)[:3]
        if all(pairs) and len(pairs[0]) > 1:
            sides[name] = pairs
    ended = on > last or bool(later)
    if not sides:
        return Seen(True, None, None, (0, 0), (0, 0), [], 0 if ended else 3, False)
    rates: list[list[Fraction]] = [[], []]
    moths, nights = [0, 0], [0, 0]
    for name, at in product(sides, (0, 1)):
        # The last week before set the treatment off: nothing is measured by it.
        heap_of = [heap for week in (sides[name][at] if at else sides[name][at][:-1]) for heap in week]
        caught, long = sum(h.net or 0 for h in heap_of), sum(len(h.nights or ()) for h in heap_of)
        rates[at].append(Fraction(7 * caught, long))
        moths[at] += caught
        nights[at] += long
    was, now = (sum(side) / len(side) for side in rates)
    weeks = max(k for k in range(4) if 2 * sum(len(after) >= k for _, after in sides.values()) > len(sides))
    ended = ended or weeks >= 3
    return Seen(
        weeks < 2,
        was,
        now,
        (moths[0], moths[1]),
        (nights[0], nights[1]),
        sorted(sides),
        0 if ended else 3 - weeks,
        fell([before for before, _ in sides.values()]),
    )


def together(heaps: Sequence[Heap]) -> list[list[Heap]]:
    """Readings with those under four nights put to the next."""
    found: list[list[Heap]] = [[]]
    for heap in heaps:
        if sum(len(one.nights or ()) for one in found[-1]) >= 4:
            found.append([])
        found[-1].append(heap)
    return [one for one in found if sum(len(h.nights or ()) for h in one) >= 4]


def fell(traps: Sequence[Sequence[Sequence[Heap]]]) -> bool:
    """Whether the last week before was lower than what came before it."""
    last, earlier = [], []
    for weeks in traps:
        if len(weeks) > 1:
            last.append(pooled(weeks[-1]))
            earlier.append(pooled([heap for week in weeks[:-1] for heap in week]))
    return bool(last) and sum(last) / len(last) < sum(earlier) / len(earlier)


def pooled(heaps: Sequence[Heap]) -> Fraction:
    """Moths a night."""
    return Fraction(sum(h.net or 0 for h in heaps), sum(len(h.nights or ()) for h in heaps))
