"""How far back the figure before reaches, where a block has not been read in the season yet.

Early in a season the newest day on which a block was read lies in the season before. Its traps alone are then read from
that day's window on; every other trap is read from the season's start.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from roundtui.domain.farm import Programme, Trap
from roundtui.domain.figures import window_start
from roundtui.domain.visits import Visit

_NEWEST = (
    "SELECT json_extract(value, '$[0]'), (SELECT read_on FROM present_visits WHERE trap = json_extract(value, '$[1]')"
    " AND read_on BETWEEN json_extract(value, '$[2]') AND json_extract(value, '$[3]')"
    " AND count IS NOT NULL AND recount = 0 ORDER BY read_on DESC LIMIT 1) FROM json_each(?)"
)


def figures_before(
    conn: sqlite3.Connection, programme: Programme, visits: Mapping[str, Sequence[Visit]], first: date, on: date
) -> dict[str, date]:
    """Day from which a trap's visits are needed for its block's figure before, where that is before ``first``.

    Args:
        conn: The store.
        programme: What is set up.
        visits: Present visits per trap from ``first`` to ``on``.
        first: Day from which everything is at hand.
        on: Day of the summary.

    Returns:
        The days of the traps of those blocks and species that have no count between ``first`` and the window.
    """
    groups: dict[tuple[str, str], list[Trap]] = {}
    hung_now: set[tuple[str, str]] = set()
    read: set[tuple[str, str]] = set()
    window = window_start(on)
    for trap, hangings in programme.hangings.items():
        counted = [
            v.read_on for v in visits.get(trap, ()) if v.count is not None and not v.recount and v.read_on < window
        ]
        for row in hangings:
            key = (row.block, row.species)
            groups.setdefault(key, []).append(row)
            if row.hung_a_night_in(window, on):
                hung_now.add(key)
            if any(row.hangs_on(day) for day in counted):
                read.add(key)
    sought = [
        (at, row)
        for at, key in enumerate(groups)
        if key in hung_now and key not in read
        for row in groups[key]
        if row.hung_on is None or row.hung_on < first
    ]
    newest: dict[int, date] = {}
    for at, day in conn.execute(_NEWEST, (json.dumps([_seek(at, row, first) for at, row in sought]),)):
        if day is not None:
            newest[at] = max(newest.get(at, date.min), date.fromisoformat(day))
    days: dict[str, date] = {}
    for at, row in sought:
        if at in newest and row.hung_a_night_in(window_start(newest[at]), newest[at]):
            days[row.trap] = min(days.get(row.trap, first), window_start(newest[at]))
    return days


def _seek(at: int, row: Trap, first: date) -> tuple[int, str, str, str]:
    """Where the newest count of one hanging before ``first`` is to be found."""
    last = first - timedelta(days=1)
    until = last if row.down_on is None else min(row.down_on, last)
    return at, row.trap, (row.hung_on or date.min).isoformat(), until.isoformat()
