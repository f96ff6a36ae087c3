"""Biofixes that stand on record."""

from __future__ import annotations

import sqlite3
from datetime import date

from roundtui.domain.history import season_start
from roundtui.domain.rules import Office
from roundtui.domain.season_entries import BiofixSettled
from roundtui.store.failures import plainly
from roundtui.store.rows import BIOFIXES

Key = tuple[str, str]
"""Block and species."""


def confirmed_biofixes(conn: sqlite3.Connection, on: date, office: Office) -> dict[Key, date]:
    """Confirmed biofix of the season's first generation, by block and species, as ``summarise`` takes it.

    Args:
        conn: The store.
        on: The day.
        office: For the start of the season.

    Raises:
        StoreError: The store cannot be read.
    """
    season = season_start(on, office.season_starts_on).year
    return {key: found[1][0].day for key, found in settled_biofixes(conn, season, on).items() if 1 in found}


def settled_biofixes(
    conn: sqlite3.Connection, season: int, on: date
) -> dict[Key, dict[int, tuple[BiofixSettled, ...]]]:
    """What was settled for a season.

    Args:
        conn: The store.
        season: Year in which it started.
        on: The day; biofixes after it are left out.

    Returns:
        By block and species and by generation, what was recorded last first.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        rows = conn.execute(
            f"SELECT {BIOFIXES.listed} FROM present_biofixes WHERE season = ? AND day <= ?"  # noqa: S608
            " ORDER BY recorded_at DESC, id DESC",
            (season, on.isoformat()),
        ).fetchall()
    found: dict[Key, dict[int, tuple[BiofixSettled, ...]]] = {}
    for row in rows:
        entry: BiofixSettled = BIOFIXES.entry(row)
        of_key = found.setdefault((entry.block, entry.species), {})
        of_key[entry.generation] = (*of_key.get(entry.generation, ()), entry)
    return found
