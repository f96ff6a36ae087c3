"""Where the traps of a block stand, with what they caught: as characters for the screen, as SVG for a letter.

A trap stands by its orchard row and tree; one without them is named beside the map, never placed by guess.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from roundtui.domain.figures.figures import series, trap_figure
from roundtui.domain.figures.integrity import examine
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.text import cells, sanitize
from roundtui.report.text import figure

if TYPE_CHECKING:
    from roundtui.domain.figures.history import History


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


def drawn(found: Sequence[Spot], width: int, height: int) -> list[str]:
    """A block as a grid of its rows and trees, with each trap where it stands.

    Args:
        found: Traps of the block.
        width: Columns.
        height: Lines.

    Returns:
        So many lines at most: trees down the side, rows along the foot, edge traps with ``|`` before their label.
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
        words = f"{'|' if one.edge else ''}{sanitize(one.trap, 8)} {sanitize(one.species, 5)} {one.said}"
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
