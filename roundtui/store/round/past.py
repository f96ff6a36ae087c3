"""The record as it stood at an earlier instant, read by the same code as the present.

Inside ``as_recorded`` the ``present_…`` views of a connection are covered by temporary ones that know only what was
recorded up to a mark. Whatever reads the views then reads the past, through the same indexes and at the same cost.

The set-up is not journaled: traps, blocks, lots and temperatures are those of today.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from datetime import datetime

from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError
from roundtui.store.failures import plainly
from roundtui.store.record.read import JournalRow
from roundtui.store.record.rows import STANDING, instant

_LAST_ID = "~"
"""Sorts after every id, so that a mark takes in all that was recorded at its instant."""
_UP_TO_MARK = "({0}.recorded_at, {0}.id) <= (SELECT at, id FROM temp.past_mark)"


@dataclass(frozen=True, slots=True)
class Mark:
    """A place in the order of recording."""

    at: datetime
    """Instant, with its time zone."""
    id: str = _LAST_ID
    """Last entry recorded at that instant that counts; all of them where none is named."""


def mark_after(row: JournalRow) -> Mark:
    """The place just after an entry.

    Args:
        row: An entry on record.
    """
    return Mark(row.recorded_at, row.id)


def parse_instant(text: str) -> datetime:
    """An instant as a person gives it.

    Args:
        text: ISO 8601 with a time of day; without a zone it is taken in the zone of this computer.

    Raises:
        RoundtuiError: It is no instant; a day alone is none, since it has many.
    """
    said = text.strip()
    try:
        at = datetime.fromisoformat(said)
        if not any(mark in said for mark in "Tt :"):
            raise ValueError(said)
        return at if at.tzinfo is not None else at.astimezone()
    except (ValueError, OverflowError) as error:
        raise RoundtuiError(
            f"{sanitize(said, 60)} is no instant", "write it as 2026-05-01T18:30, or 2026-05-01T16:30Z"
        ) from error


@contextmanager
def as_recorded(conn: sqlite3.Connection, mark: Mark) -> Iterator[None]:
    """Read the record as it stood at a mark: only entries and withdrawals recorded up to it.

    Nothing can be written through the connection meanwhile, and every reader of it sees the past: a program that reads
    the present at the same time needs a connection of its own.

    Args:
        conn: The store.
        mark: Up to where.

    Raises:
        ValueError: The past is read through this connection already.
        StoreError: The store cannot be read.
    """
    tables = tuple(table.name for table in STANDING)
    with plainly(conn):
        if conn.execute("SELECT 1 FROM sqlite_temp_master WHERE type = 'view'").fetchone():
            raise ValueError("one past at a time")
        conn.execute("CREATE TEMP TABLE IF NOT EXISTS past_mark (at TEXT NOT NULL, id TEXT NOT NULL)")
        try:
            conn.execute("DELETE FROM temp.past_mark")
            conn.execute("INSERT INTO temp.past_mark VALUES (?, ?)", (instant(mark.at), mark.id))
            for table in tables:
                conn.execute(
                    f"CREATE TEMP VIEW present_{table} AS SELECT entry.* FROM main.{table} AS entry"  # noqa: S608
                    f" WHERE {_UP_TO_MARK.format('entry')}"
                    f" AND NOT EXISTS (SELECT 1 FROM main.{table} AS later"
                    f"  WHERE later.replaces = entry.id AND {_UP_TO_MARK.format('later')})"
                    " AND NOT EXISTS (SELECT 1 FROM main.withdrawals AS undone"
                    f"  WHERE undone.entry = entry.id AND {_UP_TO_MARK.format('undone')})"
                )
            conn.execute("PRAGMA query_only = ON")
            yield
        finally:
            conn.execute("PRAGMA query_only = OFF")
            for table in tables:
                conn.execute(f"DROP VIEW IF EXISTS temp.present_{table}")


def as_recorded_or_now(conn: sqlite3.Connection, at: datetime | None) -> AbstractContextManager[None]:
    """Read the record as it stood at an instant, or the present one.

    Args:
        conn: The store.
        at: Up to when; None: all of it.
    """
    return nullcontext() if at is None else as_recorded(conn, Mark(at))
