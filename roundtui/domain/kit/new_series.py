"""Traps that were added, moved, taken down or hung again in a span of days: where series of readings begin and end."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundtui.domain.farm import Programme, Trap, natural_key

Near = dict[tuple[str, str], list[Trap]]
"""Hangings by block and species."""


class Happened(StrEnum):
    """What happened to a trap."""

    ADDED = "added"
    """Hung for the first time in the span, after other traps of its block and species hung there already."""
    MOVED = "moved"
    """Taken from one place and hung in another."""
    AGAIN = "hung again"
    """Hung again after it was down."""
    DOWN = "taken down"
    """Taken down, and not hung again by the last day."""


@dataclass(frozen=True, slots=True)
class SeriesChange:
    """A trap of a block whose series of readings begins or ends on a day."""

    trap: str
    """Its label."""
    block: str
    """Block that this is about: where it hangs from then on, or hung until then."""
    species: str
    """Its species."""
    what: Happened
    """What happened."""
    on: date
    """The day."""
    hanging: Trap
    """The hanging that begins on it, or ends."""
    came_from: Trap | None = None
    """Its hanging before, where there was one."""
    went_to: Trap | None = None
    """Its hanging after, where it left the block for another."""


def series_changes(programme: Programme, first: date, on: date) -> tuple[SeriesChange, ...]:
    """What happened to traps in a span of days.

    A trap that is hung while none of its species hangs in the block yet is the season's beginning, and no change; nor
    is the end of the season, when a block has none left.

    Args:
        programme: What is set up.
        first: First day.
        on: Last day, included.

    Returns:
        In the order of days, then of labels. A trap that left one block for another is told of in both.
    """
    found: list[SeriesChange] = []
    near: Near = {}
    about = [rows for rows in programme.hangings.values() if any(_within(row, first, on) for row in rows)]
    if about:
        for rows in programme.hangings.values():
            for row in rows:
                near.setdefault((row.block, row.species), []).append(row)
    for rows in about:
        for at, row in enumerate(rows):
            before = rows[at - 1] if at else None
            after = rows[at + 1] if at + 1 < len(rows) else None
            found += _hung(near, row, before, first, on)
            found += _down(near, row, after, first, on)
    return tuple(sorted(found, key=lambda one: (one.on, natural_key(one.trap), one.block)))


def _within(row: Trap, first: date, on: date) -> bool:
    """Whether it was hung or taken down in a span of days."""
    return any(day is not None and first <= day <= on for day in (row.hung_on, row.down_on))


def _hung(near: Near, row: Trap, before: Trap | None, first: date, on: date) -> Iterable[SeriesChange]:
    if row.hung_on is None or not first <= row.hung_on <= on or row.down_on == row.hung_on:
        return
    moved = before is not None and before.down_on is not None and before.down_on == row.hung_on
    if moved:
        what = Happened.MOVED
    elif before is not None and before.down_on is not None and before.down_on >= first:
        what = Happened.AGAIN
    elif _others_hang(near, row, row.hung_on):
        what, before = Happened.ADDED, None
    else:
        return
    yield SeriesChange(row.trap, row.block, row.species, what, row.hung_on, row, before)


def _down(near: Near, row: Trap, after: Trap | None, first: date, on: date) -> Iterable[SeriesChange]:
    if row.down_on is None or not first <= row.down_on <= on or row.down_on == row.hung_on:
        return
    hung_next = after is not None and after.hung_on is not None and after.hung_on <= on
    if hung_next and after is not None and after.hung_on == row.down_on:
        if after.block != row.block:
            yield SeriesChange(row.trap, row.block, row.species, Happened.MOVED, row.down_on, row, went_to=after)
    elif not hung_next and _others_hang(near, row, row.down_on, after=True):
        yield SeriesChange(row.trap, row.block, row.species, Happened.DOWN, row.down_on, row)


def _others_hang(near: Near, row: Trap, day: date, *, after: bool = False) -> bool:
    """Whether another trap of the block and species hung before a day, or hangs on after it."""
    for other in near[row.block, row.species]:
        if other.trap == row.trap:
            continue
        hung = other.hung_on is None or (other.hung_on <= day if after else other.hung_on < day)
        if hung and (other.down_on is None or other.down_on > day):
            return True
    return False
