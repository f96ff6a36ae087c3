"""The chain of an entry: what it corrected, what corrected it, and what took any of it back."""

from __future__ import annotations

import sqlite3
from collections.abc import Hashable

from roundtui.domain.entries import NoReading, Notified, Visit, Withdrawal
from roundtui.domain.programme.farm import Programme
from roundtui.domain.text import sanitize
from roundtui.errors import RefusedError
from roundtui.store.failures import plainly
from roundtui.store.record.read import JournalRow
from roundtui.store.record.rows import SHOWN, WITHDRAWALS, Table

CHAIN = (
    "WITH RECURSIVE chain(id) AS (SELECT ?1 UNION"
    " SELECT later.id FROM chain JOIN {0} AS later ON later.replaces = chain.id UNION"
    " SELECT entry.replaces FROM chain JOIN {0} AS entry ON entry.id = chain.id WHERE entry.replaces IS NOT NULL)"
)
"""Ids of an entry, of all before it and of all after it."""


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
        rows = _entries(conn, table, found_id)
        about = {row.id: row for row in rows}
        for values in conn.execute(
            f"{CHAIN.format(table.name)} SELECT {WITHDRAWALS.listed} FROM withdrawals"  # noqa: S608
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
    for table in SHOWN:
        if conn.execute(f"SELECT 1 FROM {table.name} WHERE id = ?", (entry_id,)).fetchone():  # noqa: S608
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


def _entries(conn: sqlite3.Connection, table: Table, entry_id: str) -> list[JournalRow]:
    columns = ", ".join(f"e.{column}" for column in table.columns)
    rows = conn.execute(
        f"{CHAIN.format(table.name)} SELECT {columns}, e.id IN (SELECT id FROM present_{table.name} WHERE id = e.id)"  # noqa: S608
        f" FROM chain JOIN {table.name} AS e ON e.id = chain.id",
        (entry_id,),
    )
    return [journal_row(table, values[:-1], present=values[-1] == 1) for values in rows.fetchall()]


def journal_row(table: Table, values: tuple[object, ...], *, present: bool) -> JournalRow:
    """A row of a table as one of the journal.

    Args:
        table: Its table.
        values: Its columns.
        present: Whether it still stands.
    """
    entry = table.entry(values)
    trap, block = getattr(entry, "trap", None), getattr(entry, "block", None)
    return JournalRow(table.kind, entry, present, trap, block, table.day_of(entry))
