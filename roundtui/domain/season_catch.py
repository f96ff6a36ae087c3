"""A block's catch over a season as points of a curve: one for each round, breaking off where a new series begins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundtui.domain.biofix import ROUND_DAYS
from roundtui.domain.exposure import Reading
from roundtui.domain.farm import Trap, natural_key
from roundtui.domain.figures import Series, block_figure


@dataclass(frozen=True, slots=True)
class CatchPoint:
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
    before: date | None = None
    suspect = any(reading.suspect for one in group for reading in one.readings)
    for batch in _rounds(group):
        on = batch[-1].read_on
        figure = block_figure(group, on)
        every = block_figure(group, on, with_suspect=True) if suspect else figure
        exposures = [reading for trap in figure.traps for reading in trap.readings]
        spans = [sum(reading.days or 0 for reading in trap.readings) for trap in figure.traps]
        start = (figure if figure.traps else every).first_start
        moved = before is not None and any(before <= day < on for day in moves)
        watched = before is None or start is None or start <= before
        found.append(
            CatchPoint(
                on=on,
                per_week=figure.mean,
                with_suspect=every.mean,
                traps=len(figure.traps),
                moths=sum(reading.net or 0 for reading in exposures),
                days=(min(spans), max(spans)) if spans else None,
                highest=(figure.highest.hanging.trap, figure.highest.per_week) if figure.highest else None,
                suspect=_labels(reading for reading in batch if reading.suspect),
                conflict=_labels(reading for reading in batch if reading.conflict),
                begins=moved or not watched,
            )
        )
        before = on
    return tuple(found)


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
    for reading in every:
        batch = batches[-1] if batches else []
        again = any(one.trap == reading.trap and one.read_on != reading.read_on for one in batch)
        if batch and not again and (reading.read_on - batch[0].read_on).days <= ROUND_DAYS:
            batch.append(reading)
        else:
            batches.append([reading])
    return batches


def _labels(readings: Iterable[Reading]) -> tuple[str, ...]:
    labels = {reading.trap for reading in readings}
    return tuple(sorted(labels, key=natural_key))
