"""Small pictures made of characters: columns by the week, the way through a round, a figure at its threshold.

Characters are one cell wide each; ``app.themes`` says what stands for them on a console whose font lacks them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from math import ceil

NARROW, WIDE = 78, 119
"""Columns below and over which there is room for less and for more. [columns]"""
TREND = "▁▂▃▅▆▇"


def columns(
    values: Sequence[Fraction | None], band: tuple[Fraction, Fraction] | None, height: int, width: int
) -> list[tuple[str, Fraction | None]]:
    """Values as columns from zero up, with a line for each of the two thresholds.

    Args:
        values: One a column; None is a gap, never a zero.
        band: Lower and upper threshold; None: there is none.
        height: Rows.
        width: Cells of a column, the space beside it among them.

    Returns:
        Rows from the top down, each with the threshold that it stands for. A column that is higher than the picture
        ends in ``^``.
    """
    top = max((value for value in values if value is not None), default=Fraction(0))
    if band is not None and band[1] > 0:
        top = max(band[1], min(top, band[1] * 2))
    steps = [None if value is None else ceil(value * 2 * height / top) if top else 0 for value in values]
    lines = {max(1, ceil(edge * height / top)): edge for edge in band or () if top}
    rows = []
    for row in range(height, 0, -1):
        ground = "╌" if row in lines else " "
        drawn = []
        for step in steps:
            cell = ground
            if step is not None and step >= 2 * row - 1:
                cell = "^" if row == height and step > 2 * height else "█" if step >= 2 * row else "▄"
            drawn.append(ground * (width - 2) + cell + ground)
        rows.append(("".join(drawn), lines.get(row)))
    return rows


def way(places: Sequence[bool], ends: Callable[[int], bool], at: int | None, width: int) -> str:
    """A round as a bar: ``█`` what is done, ``░`` what is not, ``▒`` where one stands, ``│`` where a block ends.

    Args:
        places: Whether each trap of the round is done.
        ends: Whether a block ends with the trap of that place.
        at: Place of the trap on the screen; None: past the last.
        width: Cells there are. [cells]
    """
    if not places:
        return "─" * width
    each = max(1, min(3, (width - sum(map(ends, range(len(places))))) // len(places)))
    drawn = ""
    for place, done in enumerate(places):
        drawn += ("▒" if place == at else "█" if done else "░") * each
        drawn += "│" if ends(place) and place + 1 < len(places) else ""
    return drawn if len(drawn) <= width else drawn[:: ceil(len(drawn) / width)]


def bar(value: Fraction | None, band: tuple[Fraction, Fraction] | None, width: int = 8) -> str:
    """A figure held against its threshold, whose upper number always stands at the same cell.

    Args:
        value: The figure that the rule looks at; None: there is none.
        band: Lower and upper threshold; None: there is none.
        width: Cells up to the upper threshold.

    Returns:
        ``█`` what there is, ``░`` what is left to the threshold ``|``, ``»`` what goes past it.
    """
    if value is None or band is None or band[1] <= 0:
        return " " * (width + 2)
    halves = min(2 * width, int(value * 2 * width / band[1]))
    drawn = "█" * (halves // 2) + "▌" * (halves % 2)
    return f"{drawn:░<{width}}|{'»' if value > band[1] else ' '}"


def trend(values: Sequence[Fraction | None]) -> str:
    """Values as small columns from zero up; a gap is ``·``, never a zero.

    Args:
        values: The oldest first.
    """
    top = max((value for value in values if value is not None), default=Fraction(0))
    return "".join("·" if value is None else TREND[min(5, ceil(value * 5 / top)) if top else 0] for value in values)
