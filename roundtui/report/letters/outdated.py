"""Letters that were written and that a change of the record makes out of date."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Collection
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.history import season_last
from roundtui.domain.plain import plain
from roundtui.report.letters.compose import compose
from roundtui.report.letters.letter import digest
from roundtui.report.letters.material import read_material
from roundtui.report.words import NAME_WIDTH, Names
from roundtui.store.letters import Written, letters_written
from roundtui.store.preview import preview
from roundtui.store.read import programme

if TYPE_CHECKING:
    from roundtui.domain.rules import Office

MOST_DAYS = 40
"""Days, the newest first, whose letters are held against the record: each takes about as long as two summaries, and a
season of weekly letters has fewer."""


def letters_outdated(
    conn: sqlite3.Connection,
    folder: Path,
    office: Office,
    change: Callable[[], object],
    *,
    farms: Collection[str],
    since: date,
    on: date,
) -> tuple[tuple[Written, bool], ...]:
    """Letters that a change of the record makes out of date; nothing is recorded.

    Args:
        conn: The store.
        folder: The scouting folder.
        office: Rules, and when the season starts.
        change: Writes through ``conn``.
        farms: Codes of the farms it is about.
        since: First day it is about.
        on: Last day whose letters are looked at; those of a later season than ``since`` are not.

    Returns:
        For each farm and day the letter written last, where it no longer holds after the change, the newest first, and
        whether it had still held before.

    Raises:
        RoundtuiError: The change would be refused, or a file of the office cannot be used.
    """
    found = letters_written(conn, min(on, season_last(since, office.season_starts_on)), since)
    last = {(one.farm, one.round_on): one for farm in farms for one in found.get(farm, ())}
    days = sorted({day for _, day in last}, reverse=True)[:MOST_DAYS]
    if not days:
        return ()

    def look() -> dict[tuple[str, date], str]:
        materials = {day: read_material(conn, folder, day, office, farms=farms) for day in days}
        return {
            (farm, day): digest(compose(materials[day], farm))
            for farm, day in last
            if day in materials and farm in materials[day].farms
        }

    before, after = preview(conn, change, look)
    return tuple(
        (last[key], before.get(key) == last[key].digest)
        for key in sorted(after, key=lambda key: (-key[1].toordinal(), key[0]))
        if after[key] != last[key].digest
    )


def outdated_words(conn: sqlite3.Connection, letters: Collection[tuple[Written, bool]]) -> tuple[str, ...]:
    """A sentence for each letter that no longer holds.

    Args:
        conn: The store, for the farms' names.
        letters: As ``letters_outdated`` has them.
    """
    names = Names(programme(conn)) if letters else None
    return tuple(
        f"{plain(names.farm(one.farm), NAME_WIDTH)}, {one.round_on}: the letter written on {one.at:%Y-%m-%d} "
        f"{'is out of date with this' if held else 'was out of date before'}; write it anew"
        for one, held in letters
        if names is not None
    )
