"""Small pictures made of characters: columns by the week, the way through a round, a block with its traps.

Characters are one cell wide each; ``app.themes`` says what stands for them on a console whose font lacks them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import ceil

from roundtui.domain.figures.figures import series, trap_figure
from roundtui.domain.figures.history import History
from roundtui.domain.figures.integrity import examine
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.text import cells, sanitize
from roundtui.report.text import figure

TREND = "▁▂▃▄▅▆▇"


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
    return "".join("·" if value is None else TREND[min(6, ceil(value * 6 / top)) if top else 0] for value in values)


@dataclass(frozen=True, slots=True)
class Spot:
    """A trap on the map of its block."""

    trap: str
    """Its label."""
    species: str
    """Its species."""
    row: int | None
    """Orchard row; None where nobody wrote down a number."""
    tree: int | None
    """Tree in the row; likewise."""
    edge: bool
    """Whether it hangs at the edge of the block."""
    per_week: Fraction | None
    """Catch of the week; None where it was not read. [moths/trap/week]"""
    suspect: bool
    """Whether lure or body are wrong, so that the catch is in no mean."""

    @property
    def said(self) -> str:
        """The catch, with ``!`` where it cannot be relied on and ``·`` where there is none."""
        return ("·" if self.per_week is None else figure(self.per_week)) + ("!" if self.suspect else "")

    @property
    def placed(self) -> bool:
        """Whether row and tree are known."""
        return self.row is not None and self.tree is not None


def spots(programme: Programme, history: History, block: str, on: date) -> tuple[Spot, ...]:
    """The traps that hang in a block on a day, with the catch of the week that ends on it.

    Args:
        programme: What is set up.
        history: The record up to a day not before.
        block: Code of the block.
        on: The day.
    """
    found = examine(programme, history.scent, on, history.assembled, history.bodies)
    suspect = {one.trap for one in found.troubles}
    rows = []
    for trap in sorted(programme.hangings, key=natural_key):
        for one in series(programme.hangings[trap], history.visits.get(trap, ()), found):
            here = one.hanging
            if here.block == block and here.hangs_on(on):
                catch = trap_figure(one, on, with_suspect=True)
                rate = catch.per_week if catch is not None else None
                rows.append(
                    Spot(trap, here.species, _number(here.row), _number(here.tree), here.edge, rate, trap in suspect)
                )
    return tuple(rows)


def _number(words: str) -> int | None:
    digits = re.search(r"\d{1,5}", words)
    return int(digits.group()) if digits else None


def block_map(found: Sequence[Spot], width: int, height: int) -> list[str]:
    """A block as a grid of its rows and trees, with each trap where it stands.

    Args:
        found: Traps of the block.
        width: Columns.
        height: Lines.

    Returns:
        So many lines at most: trees down the side, rows along the foot, edge traps with ``e:`` before their label.
    """
    placed = [one for one in found if one.placed]
    others = [f"{sanitize(one.trap, 12)} {one.said}" for one in found if not one.placed]
    foot = [sanitize(f"  Without row and tree: {', '.join(others)}", width)] if others else []
    if not placed:
        return foot or ["  No trap hangs here."]
    room, across = max(3, height - 2 - len(foot)), width - 8
    first_row, last_row = _ends([one.row or 0 for one in placed])
    first_tree, last_tree = _ends([one.tree or 0 for one in placed])
    sheet = [[" "] * across for _ in range(room)]
    sides, names = [""] * room, [" "] * across
    for one in sorted(placed, key=lambda one: (one.tree or 0, one.row or 0)):
        words = f"{'e:' if one.edge else ''}{sanitize(one.trap, 8)} {sanitize(one.species, 5)} {one.said}"
        column = round(((one.row or 0) - first_row) / (last_row - first_row) * (across - 14))
        line = round(((one.tree or 0) - first_tree) / (last_tree - first_tree) * (room - 1))
        free = [at for at in (*range(line, room), *range(line - 1, -1, -1)) if _is_free(sheet[at], column, words)]
        line = free[0] if free else line
        sheet[line][column : column + cells(words)] = list(words)
        sides[line] = sides[line] or str(one.tree)
        label = str(one.row)
        if _is_free(names, column, label):
            names[column : column + len(label)] = list(label)
    lines = [f" {'tree':>4} ┌{'─' * across}┐"]
    lines += [f" {side:>4} │{''.join(row)[:across]}│" for side, row in zip(sides, sheet, strict=True)]
    return [*lines, f"  row  {''.join(names)}", *foot][:height]


def _ends(values: Sequence[int]) -> tuple[int, int]:
    """First and last of a scale, never the same."""
    return min(values), max(*values, min(values) + 1)


def _is_free(line: Sequence[str], column: int, words: str) -> bool:
    return all(one == " " for one in line[max(0, column - 1) : column + cells(words) + 1])


def means(found: Sequence[Spot]) -> str:
    """Mean catch of each species inside the block and at its edge; suspect traps are left out."""
    parts = []
    for species in dict.fromkeys(one.species for one in found):
        for name, edge in (("inside", False), ("edge", True)):
            here = [one for one in found if one.species == species and one.edge is edge and not one.suspect]
            rates = [one.per_week for one in here if one.per_week is not None]
            if rates:
                mean = figure(sum(rates, Fraction(0)) / len(rates))
                parts.append(f"{sanitize(species, 5)} {name} {mean} ({len(rates)} of {len(here)})")
    return "   ".join(parts)
