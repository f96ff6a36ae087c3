"""Traps moved, added, taken down or hung again in the seven days of a summary."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roundtui.domain.figures import window_start
from roundtui.domain.kit.new_series import Happened, SeriesChange, series_changes
from roundtui.domain.plain import plain
from roundtui.report.words import NAME_WIDTH, Names, Section, heading, paragraph

if TYPE_CHECKING:
    from roundtui.report.beside_sections import Asked


def series_section(asked: Asked) -> Section:
    """What happened to traps in the seven days, since it makes a figure another one than that of before.

    Args:
        asked: What it is made from.
    """
    blocks = {row.block for row in asked.summary.blocks}
    on = asked.summary.on
    found = [one for one in series_changes(asked.programme, window_start(on), on) if one.block in blocks]
    # A move is told once, where the trap came to.
    told = [one for one in found if one.went_to is None or one.went_to.block not in blocks]
    if not told:
        return []
    return [heading("Traps moved, added, taken down"), *(paragraph(_words(asked.names, one)) for one in told)]


def _words(names: Names, one: SeriesChange) -> str:
    trap, on = plain(one.trap, NAME_WIDTH), one.on.isoformat()
    here = names.block(one.block)
    if one.went_to is not None:
        return f"{trap} moved from {here} to {names.block(one.went_to.block)} on {on}: its series here ends"
    if one.what is Happened.DOWN:
        return f"{trap} taken down in {here} on {on}"
    if one.what is Happened.MOVED and one.came_from is not None:
        where = f"within {here}"
        if one.came_from.block != one.block:
            where = f"from {names.block(one.came_from.block)} to {here}"
        return f"{trap} moved {where} on {on}: a new series begins"
    again = "hung again" if one.what is Happened.AGAIN else "added"
    return f"{trap} {again} in {here} on {on}: a new series begins"
