"""Traps moved, added, taken down or hung again this season, in a letter: every day stands in ``register --json``."""

from __future__ import annotations

from collections.abc import Iterable

from roundtui.domain.kit.new_series import Happened, SeriesChange
from roundtui.domain.plain import plain
from roundtui.domain.verdicts import BlockRow
from roundtui.report.letters.letter import Figure, Line, line
from roundtui.report.letters.material import Material
from roundtui.report.letters.words import day_figure
from roundtui.report.words import NAME_WIDTH, Names


def series_lines(material: Material, names: Names, row: BlockRow) -> Iterable[Line]:
    """A sentence for each trap of a block whose series of readings began or ended in mid-season.

    A block of another farm is not named: a letter is about one farm.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        row: The block in the summary.
    """
    for change in material.series_changes.get((row.block, row.species), ()):
        yield line(f"Trap {plain(change.trap, NAME_WIDTH)} ", *_words(material, names, row, change))


def _words(material: Material, names: Names, row: BlockRow, change: SeriesChange) -> Iterable[str | Figure]:
    def known(block: str, words: str) -> str:
        return f" {words} {names.block(block)}" if material.programme.farm_of(block) == row.farm else ""

    end = change.went_to is not None or change.what is Happened.DOWN
    hung_on = change.hanging.hung_on.isoformat() if change.hanging.hung_on else ""
    on = day_figure(change.on, ("register", change.trap, hung_on, "down_on" if end else "hung_on"))
    if change.went_to is not None:
        where = known(change.went_to.block, "to") or " away"
        return (f"was moved{where} on ", on, ": its series here ends.")
    if change.what is Happened.DOWN:
        return ("was taken down on ", on, ".")
    if change.what is Happened.MOVED and change.came_from is not None:
        if change.came_from.block == row.block:
            return ("was moved within the block on ", on, ": a new series begins.")
        return (f"was moved here{known(change.came_from.block, 'from')} on ", on, ": a new series begins.")
    if change.what is Happened.AGAIN:
        return ("was hung again on ", on, ": a new series begins.")
    return ("was added on ", on, ": its series begins.")
