"""Counts that are estimates: made from a grid on the liner, and told wherever a figure rests on one."""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction

from roundtui.domain.exposure import Reading
from roundtui.domain.figures import BlockFigure
from roundtui.domain.visits import MOST_MOTHS
from roundtui.errors import Problem

MARK = "~"
"""Stands behind a figure that rests on an estimate; a word says it too."""


def from_grid(counted: int, squares: int, moths: int) -> int:
    """A count from some of the squares of a liner: moths in them, times all squares over those counted.

    Args:
        counted: Squares whose moths were counted; at least 1.
        squares: Squares on the whole liner; not fewer than those counted.
        moths: Moths in the squares counted.

    Returns:
        The estimate, rounded half up. [moths]

    Raises:
        ValueError: More squares were counted than there are, or none.

    Source: counts of that kind are published, as 1,377 leafminers estimated from a grid: leafminers in Asturias cider
    orchards, 2011, www.acemap.info/paper/53129647. The rule itself is a ratio estimate, common practice, no source.
    """
    if not 1 <= counted <= squares:
        raise ValueError(f"{counted} squares of {squares}")
    return math.floor(Fraction(moths * squares, counted) + Fraction(1, 2))


def grid_problem(counted: int | None, squares: int | None, moths: int | None) -> Problem | None:
    """What is wrong with what was typed about a grid; None where nothing is.

    Args:
        counted: Squares whose moths were counted.
        squares: Squares on the whole liner.
        moths: Moths in the squares counted.
    """
    if counted is None or squares is None or moths is None:
        return Problem("grid", "three whole numbers are needed", "squares counted, squares in all, moths in those")
    if not 1 <= counted <= squares:
        return Problem("grid", f"{counted} of {squares} squares cannot be", "count at least one, and no more than all")
    if from_grid(counted, squares, moths) > MOST_MOTHS:
        return Problem("grid", f"that is more than {MOST_MOTHS}", "look at the numbers again")
    return None


def grid_note(counted: int, squares: int, moths: int) -> str:
    """What stands in the note of an estimate, so that anybody can follow it."""
    return f"grid: {moths} in {counted} of {squares} squares"


def is_estimate(reading: Reading) -> bool:
    """Whether the count of a reading is an estimate; with two in conflict, whether either is."""
    return reading.entries[0].estimated or any(visit.estimated for visit in reading.entries)


def estimates_in(readings: Iterable[Reading]) -> int:
    """How many of some readings are estimates.

    Args:
        readings: The readings.
    """
    return sum(1 for reading in readings if is_estimate(reading))


def estimates_behind(figure: BlockFigure) -> int:
    """How many estimates a block's figure rests on.

    Args:
        figure: The figure.
    """
    return estimates_in(reading for trap in figure.traps for reading in trap.readings)
