"""What is on record beside the weekly counts, read by ranges of days, and the biofixes that were settled."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from roundtui.domain.entries import BiofixSettled
from roundtui.domain.figures.history import NewerSaid, Observations, season_start
from roundtui.domain.figures.rules import Office
from roundtui.store.failures import plainly
from roundtui.store.record.rows import BIOFIXES, SAMPLES, SPECIMENS, TREATMENTS, Table, standing
from roundtui.store.traps.assembled import override


def read_observations(conn: sqlite3.Connection, first: date, on: date) -> Observations:
    """Samples, treatments and specimens of a span of days.

    Args:
        conn: The store.
        first: First day, as the start of the season.
        on: Last day, included.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        return Observations(
            samples=tuple(present(conn, SAMPLES, first, on)),
            treatments=tuple(present(conn, TREATMENTS, first, on)),
            specimens=tuple(present(conn, SPECIMENS, first, on)),
            override=override(conn, on, on),
            newer=_newer(conn, first),
        )


def _newer(conn: sqlite3.Connection, first: date) -> tuple[NewerSaid, ...]:
    rows = conn.execute(
        "SELECT kind, coalesce(json_extract(extra, '$.trap'), '') AS trap,"
        " coalesce(json_extract(extra, '$.block'), '') AS block, count(*)"
        " FROM other_entries AS entry WHERE recorded_at >= ?"
        " AND NOT EXISTS (SELECT 1 FROM other_entries AS later WHERE later.replaces = entry.id)"
        " AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id)"
        " GROUP BY kind, trap, block ORDER BY kind, trap, block",
        (first.isoformat(),),
    )
    return tuple(NewerSaid(str(kind), str(trap), str(block), number) for kind, trap, block, number in rows)


def present(conn: sqlite3.Connection, table: Table, first: date, on: date, columns: Sequence[str] = ()) -> list[Any]:
    """Present entries of one kind about a span of days, in the order of days, then of recording.

    Args:
        conn: The store.
        table: Table of the kind.
        first: First day.
        on: Last day, included.
        columns: Columns that are wanted; what the others hold is at its default. None: all.
    """
    with plainly(conn):
        return standing(conn, table, f"{table.day} BETWEEN ? AND ?", first, on, columns=columns)


def newest_day(conn: sqlite3.Connection, tables: Iterable[Table], until: date) -> date | None:
    """The newest day that a present entry of some kinds is about; None where there is none.

    Args:
        conn: The store.
        tables: Tables of the kinds.
        until: Last day that is looked at.
    """
    with plainly(conn):
        newest = [
            conn.execute(
                f"SELECT max({table.day}) FROM present_{table.name} WHERE {table.day} <= ?",  # noqa: S608
                (until.isoformat(),),
            ).fetchone()[0]
            for table in tables
        ]
    return max((date.fromisoformat(day) for day in newest if day), default=None)


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
        entries: list[BiofixSettled] = standing(
            conn, BIOFIXES, "season = ? AND day <= ?", season, on, order="recorded_at DESC, id DESC"
        )
    found: dict[Key, dict[int, tuple[BiofixSettled, ...]]] = {}
    for entry in entries:
        of_key = found.setdefault((entry.block, entry.species), {})
        of_key[entry.generation] = (*of_key.get(entry.generation, ()), entry)
    return found
