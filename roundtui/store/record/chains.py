"""The past of the record: what belongs to an entry, and the record as it stood at an earlier instant.

Inside ``as_recorded`` the ``present_…`` views of a connection are covered by temporary ones that know only what was
recorded up to a mark. Whatever reads the views then reads the past, through the same indexes and at the same cost. The
set-up is not journaled: traps, blocks, lots and temperatures are those of today.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Hashable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from datetime import datetime

from roundtui.domain.entries import NoReading, Notified, Visit, Withdrawal
from roundtui.domain.programme.farm import Programme
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import RefusedError, RoundtuiError
from roundtui.store.failures import plainly
from roundtui.store.record.read import CHAIN, JournalRow, chain_rows, journal_row
from roundtui.store.record.rows import SHOWN, STANDING, WITHDRAWALS, Table, holding, instant


def chain(conn: sqlite3.Connection, entry_id: str) -> tuple[JournalRow, ...]:
    """Every row that belongs to an entry, each with who, when and why.

    Args:
        conn: The store.
        entry_id: Id of any of the chain's entries, or of a withdrawal of one.

    Returns:
        All of them in the order recorded. Where two laptops corrected one entry, both corrections are in it.

    Raises:
        RefusedError: There is no such entry.
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        withdrawn = conn.execute("SELECT entry FROM withdrawals WHERE id = ?", (entry_id,)).fetchone()
        found_id = withdrawn[0] if withdrawn else entry_id
        table = table_of(conn, found_id)
        rows = chain_rows(conn, table, "SELECT ?1", found_id)
        about = {row.id: row for row in rows}
        for values in conn.execute(
            f"{CHAIN.format(table.name, 'SELECT ?1')} SELECT {WITHDRAWALS.listed} FROM withdrawals"  # noqa: S608
            " WHERE entry IN (SELECT id FROM chain)",
            (found_id,),
        ):
            withdrawal = WITHDRAWALS.entry(values)
            entry = about[withdrawal.entry]
            rows.append(JournalRow(WITHDRAWALS.kind, withdrawal, True, entry.trap, entry.block, entry.read_on))
    return tuple(sorted(rows, key=lambda row: (row.recorded_at, row.id)))


def table_of(conn: sqlite3.Connection, entry_id: str) -> Table:
    """Where an entry is kept.

    Args:
        conn: The store.
        entry_id: Its id.

    Raises:
        RefusedError: There is no such entry.
    """
    if table := holding(conn, entry_id, SHOWN):
        return table
    raise RefusedError(f"there is no entry {sanitize(entry_id, 60)}", "look it up with roundtui replay --json")


def act_of(row: JournalRow, programme: Programme) -> Hashable:
    """What the entries of one act have in common.

    One act is that the rest of a farm was closed, a call about several blocks, and whatever withdraws such an act.

    Args:
        row: An entry.
        programme: For the farm of its trap or block.

    Returns:
        None where the entry is an act of its own.
    """
    entry, block = row.entry, row.block
    if entry.replaces is not None:
        return None
    if isinstance(entry, Visit) and entry.no_reading is NoReading.CLOSED:
        hanging = programme.hanging(entry.trap, entry.read_on)
        block = hanging.block if hanging is not None else None
    elif not isinstance(entry, Notified | Withdrawal):
        return None
    farm = "" if isinstance(entry, Withdrawal) else programme.farm_of(block or "")
    return row.kind, entry.recorded_at, entry.scout, entry.device, row.read_on, farm


def together(conn: sqlite3.Connection, entry_id: str, programme: Programme) -> tuple[JournalRow, ...]:
    """The entries of one act that still stand, the one asked for first.

    Args:
        conn: The store.
        entry_id: Id of one of them.
        programme: What is set up.

    Raises:
        RefusedError: There is no such entry.
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        table = table_of(conn, entry_id)
        columns = ", ".join(table.columns)
        (values,) = conn.execute(f"SELECT {columns} FROM {table.name} WHERE id = ?", (entry_id,))  # noqa: S608
        asked = journal_row(table, values, present=True)
        act = act_of(asked, programme)
        if act is None:
            return (asked,)
        rows = conn.execute(
            f"SELECT {columns} FROM present_{table.name} WHERE recorded_at = ? AND id <> ? ORDER BY id",  # noqa: S608
            (values[table.columns.index("recorded_at")], entry_id),
        )
        others = [journal_row(table, one, present=True) for one in rows.fetchall()]
    return asked, *(one for one in others if act_of(one, programme) == act)


_LAST_ID = "~"
"""Sorts after every id, so that a mark takes in all that was recorded at its instant."""
_UP_TO_MARK = "({0}.recorded_at, {0}.id) <= (SELECT at, id FROM temp.past_mark)"


class Mark(Frozen):
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
