"""Is it the right sheet? Rows that read, one after the other, like those of another sheet give it away.

Zeros and ones agree everywhere, so it is not how many rows agree that counts but how unlikely it is that they do.

A paper sheet keyed twice, the second time without sight of the first: where the two disagree, and what holds.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import date
from fractions import Fraction

from roundtui.domain.entries import ID, SAID, YES, Draft, Recorded, fact, said
from roundtui.domain.programme.farm import grouped
from roundtui.domain.records import Frozen

CHANCE = Fraction(1, 20_000)
"""Rows that agree with the same traps of another day by chance less often than this are asked about."""
NEIGHBOUR_CHANCE = Fraction(1, 1_000_000)
"""The same for another sheet, whose rows can be laid beside these in a hundred ways."""
LEAST_ROWS = 4
"""Fewer rows are never asked about."""

Counts = Sequence[int | None]


class Alike(Frozen):
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


_LABELS = ("lure", "lure_found")
_BLANK = Draft()


class SheetOrder(Recorded, kw_only=True):
    """The order in which the paper of a route has its traps."""

    route: str = field(metadata=fact("Name of the route."))
    traps: str = field(metadata=fact("Labels of its traps in the order of the paper, a JSON array."))


class DoubleEntry(Recorded, kw_only=True):
    """One row of a paper sheet as it was entered the second time. It is no visit, and never a second catch."""

    route: str = field(metadata=fact("Name of the sheet's route."))
    sheet_on: date = field(metadata=fact("Day at the head of the sheet."))
    trap: str = field(metadata=fact("Label of the trap."))
    read_on: date = field(metadata=fact("Day of the visit."))
    said: str = field(metadata=fact("What was entered, in the tally notation."))
    keys: int = field(metadata=fact("Keys pressed for it, Enter included.", least=1))


class SheetSettled(Recorded, kw_only=True):
    """That somebody looked at the paper where two entries of a row differ, and what it shows."""

    route: str = field(metadata=fact("Name of the sheet's route."))
    sheet_on: date = field(metadata=fact("Day at the head of the sheet."))
    trap: str = field(metadata=fact("Label of the trap."))
    read_on: date = field(metadata=fact("Day of the visit."))
    kept: str = field(metadata=fact("Which of the two the paper shows.", pattern="first|second|neither|none"))
    entry: str | None = said("Id of the visit that stands from then on; blank: none.", None, pattern=ID)
    second: str | None = said("Id of the row entered second; blank: there is none.", None, pattern=ID)


class KeyedRow(Frozen, kw_only=True):
    """One row of a sheet as somebody keyed it."""

    trap: str
    """Label of the trap as keyed."""
    read_on: date
    """Day of the visit."""
    draft: Draft = _BLANK
    """What was keyed; an empty draft for a row left blank, which is not a zero."""
    stage: str = ""
    """Fruit stage of the block, two-digit code; empty where none was keyed."""
    recount: bool = False
    """Marked as a second look at a catch already counted."""
    id: str = ""
    """Id of what it was read from on record; empty for a row that is on none."""

    @property
    def place(self) -> tuple[str, date]:
        """What tells it from other rows; letter case and blanks around a label tell no traps apart."""
        return (" ".join(self.trap.casefold().split()), self.read_on)

    def value(self, what: str) -> object:
        """Its value for one of the things a row can say."""
        return getattr(self if what in ("stage", "recount") else self.draft, what)

    def says(self, what: str) -> object:
        """The same, with what makes no difference left out."""
        value = self.value(what)
        if isinstance(value, str):
            value = " ".join(value.split())
            return value.casefold() if what in _LABELS else value
        return value


class Difference(Frozen):
    """One row on which double entry disagree."""

    first: KeyedRow | None
    """As keyed first; None where the first entry has no such row."""
    second: KeyedRow | None
    """As keyed second; None where the second entry has no such row."""
    fields: tuple[str, ...]
    """What they say differently; empty where one of them is missing."""

    @property
    def row(self) -> KeyedRow:
        """Either of the two, for trap and day."""
        row = self.first or self.second
        if row is None:
            raise ValueError("a difference has a row on one side at least")
        return row

    def values(self, field: str) -> tuple[str, str]:
        """What both say of a field, in words.

        Args:
            field: One of ``fields``; empty: whether there is such a row.
        """
        return (_words(self.first, field), _words(self.second, field))


class Comparison(Frozen):
    """Double entry of one sheet, held against each other."""

    same: tuple[KeyedRow, ...]
    """Rows on which both agree, as keyed first and in that order."""
    differences: tuple[Difference, ...]
    """Rows on which they do not, in the order of the first entry; rows of the second alone at the end."""

    @property
    def rows(self) -> int:
        """How many rows there are in either entry."""
        return len(self.same) + len(self.differences)


def compare(first: Sequence[KeyedRow], second: Sequence[KeyedRow]) -> Comparison:
    """Hold double entry of one sheet against each other.

    Args:
        first: Rows as keyed first.
        second: Rows as keyed second.

    Returns:
        Every row once. Of several rows about one trap and day those that agree are matched first, the rest in order.
    """
    waiting = grouped((row.place, row) for row in second)
    partners: dict[int, KeyedRow] = {}
    for agreeing in (True, False):
        for at, row in enumerate(first):
            others = waiting.get(row.place, [])
            found = next((other for other in others if not agreeing or not _fields(row, other)), None)
            if at not in partners and found is not None:
                partners[at] = found
                others.remove(found)
    same: list[KeyedRow] = []
    differences: list[Difference] = []
    for at, row in enumerate(first):
        other = partners.get(at)
        fields = _fields(row, other) if other is not None else ()
        if other is not None and not fields:
            same.append(row)
        else:
            differences.append(Difference(row, other, fields))
    left = {id(row) for rows in waiting.values() for row in rows}
    differences += [Difference(None, row, ()) for row in second if id(row) in left]
    return Comparison(tuple(same), tuple(differences))


def _fields(one: KeyedRow, other: KeyedRow) -> tuple[str, ...]:
    return tuple(what for what in (*SAID, "recount", "stage") if one.says(what) != other.says(what))


def _words(row: KeyedRow | None, field: str) -> str:
    if row is None:
        return "no such row"
    return value_words(row.value(field) if field else "keyed")


def value_words(value: object) -> str:
    """What a field of an entry says, in words; a blank is said."""
    if isinstance(value, bool):
        return YES if value else "no"
    return "blank" if value is None or value == "" else str(value)
