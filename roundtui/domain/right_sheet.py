"""Is it the right sheet? Rows that read, one after the other, like those of another sheet give it away.

Zeros and ones agree everywhere, so it is not how many rows agree that counts but how unlikely it is that they do.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

CHANCE = Fraction(1, 20_000)
"""Rows that agree with the same traps of another day by chance less often than this are asked about."""
NEIGHBOUR_CHANCE = Fraction(1, 1_000_000)
"""The same for another sheet, whose rows can be laid beside these in a hundred ways."""
LEAST_ROWS = 4
"""Fewer rows are never asked about."""

Counts = Sequence[int | None]


@dataclass(frozen=True, slots=True)
class Alike:
    """Rows that read like another sheet."""

    name: str
    """Which sheet."""
    rows: int
    """How many rows agree, the last of them the row keyed last."""
    chance: Fraction
    """How likely it is that so many agree by chance, from how often each count stands on the other sheet."""


def alike(keyed: Counts, same_rows: Mapping[str, Counts], neighbours: Mapping[str, Counts]) -> Alike | None:
    """The sheet that the rows keyed last read like.

    Args:
        keyed: Counts from the first row to the one keyed last; None where there is none.
        same_rows: Counts of the same traps on other days, row by row, by name.
        neighbours: Counts of other sheets in their own order, by name; the rows may stand anywhere on them.

    Returns:
        The least likely of them, if it is unlikely enough to ask; None where there is nothing to ask.
    """
    last = len(keyed) - 1
    same = [_run(keyed, name, counts, last) for name, counts in same_rows.items() if last < len(counts)]
    near = [_run(keyed, name, counts, at) for name, counts in neighbours.items() for at in range(len(counts))]
    asked = [one for one in same if one.chance <= CHANCE] + [one for one in near if one.chance <= NEIGHBOUR_CHANCE]
    return min((one for one in asked if one.rows >= LEAST_ROWS), key=lambda one: one.chance, default=None)


def _run(keyed: Counts, name: str, other: Counts, end: int) -> Alike:
    """How many rows agree, counted back from the row keyed last and row ``end`` of the other sheet."""
    often = Counter(count for count in other if count is not None)
    total = sum(often.values())
    rows, chance = 0, Fraction(1)
    for back in range(min(len(keyed), end + 1)):
        count = keyed[len(keyed) - 1 - back]
        if count is None or count != other[end - back]:
            break
        rows, chance = rows + 1, chance * Fraction(often[count], total)
    return Alike(name, rows, chance)
