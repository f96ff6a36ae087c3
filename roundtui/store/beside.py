"""What is on record beside the weekly counts, read by ranges of days."""

from __future__ import annotations

import sqlite3
from datetime import date
from typing import TYPE_CHECKING, Any

from roundtui.domain.figures.history import Beside
from roundtui.store.failures import plainly
from roundtui.store.rows import SAMPLES, SPECIMENS, TREATMENTS, Table
from roundtui.store.traps.assembled import in_spite

if TYPE_CHECKING:
    from roundtui.domain.figures.history import History
    from roundtui.domain.figures.rules import Office
    from roundtui.domain.inventory.stock import LotStock
    from roundtui.domain.programme.farm import Programme


def read_beside(conn: sqlite3.Connection, first: date, on: date) -> Beside:
    """Looks, treatments and specimens of a span of days.

    Args:
        conn: The store.
        first: First day, as the start of the season.
        on: Last day, included.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        return Beside(
            looks=tuple(present(conn, SAMPLES, first, on)),
            treatments=tuple(present(conn, TREATMENTS, first, on)),
            specimens=tuple(present(conn, SPECIMENS, first, on)),
            in_spite=in_spite(conn, on, on),
        )


def lots_short(
    conn: sqlite3.Connection, programme: Programme, history: History, on: date, office: Office
) -> tuple[LotStock, ...]:
    """Lots of lures that run out or expire; nothing, and at no cost, where stock was never put on record.

    Args:
        conn: The store.
        programme: What is set up, as far as it can matter.
        history: The record up to the day.
        on: The day.
        office: For the start of the season.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        (kept,) = conn.execute("SELECT EXISTS (SELECT 1 FROM stocks)").fetchone()
    if not kept:
        return ()
    # Loaded only where somebody keeps the store.
    from roundtui.store.inventory.stock import lots_to_watch

    return lots_to_watch(conn, programme, history, on, office)


def present(conn: sqlite3.Connection, table: Table, first: date, on: date) -> list[Any]:
    """Present entries of one kind about a span of days, in the order of days, then of recording.

    Args:
        conn: The store.
        table: Table of the kind.
        first: First day.
        on: Last day, included.
    """
    rows = conn.execute(
        f"SELECT {table.listed} FROM present_{table.name} WHERE {table.day} BETWEEN ? AND ?"  # noqa: S608
        f" ORDER BY {table.day}, recorded_at, id",
        (first.isoformat(), on.isoformat()),
    )
    return [table.entry(row) for row in rows.fetchall()]


def newest_day(conn: sqlite3.Connection, table: Table) -> date | None:
    """The newest day that a present entry of one kind is about; None where there is none.

    Args:
        conn: The store.
        table: Table of the kind.
    """
    with plainly(conn):
        (newest,) = conn.execute(f"SELECT max({table.day}) FROM present_{table.name}").fetchone()  # noqa: S608
    return date.fromisoformat(newest) if newest else None
