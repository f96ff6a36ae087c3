"""The only writer of what people enter. Entries are added and never changed: a correction is a further entry."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from roundtui.errors import RefusedError
from roundtui.store.connect import transaction
from roundtui.store.device import new_id
from roundtui.store.rows import ROUND, WITHDRAWALS, Entry, Row, Table, Withdrawal

E = TypeVar("E", bound=Entry)

UNSAID = "corrected"
"""Reason kept with a correction for which nobody gave one."""

MOST_TEXT = 20_000
"""Longest text in an entry. [characters]"""


@dataclass(frozen=True, slots=True)
class Author:
    """Who enters, and on which laptop."""

    scout: str
    """Name of the person; not blank."""
    device: str
    """Name of the laptop."""


def record(conn: sqlite3.Connection, entries: Sequence[E], author: Author, now: datetime) -> tuple[E, ...]:
    """Put entries on record, all or none. When this returns they are on the disk.

    Args:
        conn: The store.
        entries: What was entered, checked before by ``check_visit``.
        author: Who and where.
        now: Instant of recording, with its time zone.

    Returns:
        The entries with id, author and instant.

    Raises:
        RefusedError: An entry breaks a limit of its table, or corrects one that was corrected or taken back before.
        StoreError: The store cannot be written.
    """
    if not author.scout.strip():
        raise RefusedError("an entry needs the name of its scout", "give it with --scout, or when the app asks")
    stamped = tuple(
        replace(
            entry,
            id=new_id(now),
            scout=author.scout,
            device=author.device,
            recorded_at=now,
            reason=entry.reason or (UNSAID if entry.replaces else ""),
        )
        for entry in entries
    )
    with transaction(conn):
        for entry in stamped:
            table = _table_of(type(entry))
            if entry.replaces is not None:
                _refuse_unless_present(conn, table, entry.replaces)
            _add(conn, table, table.values(entry))
    return stamped


def withdraw(conn: sqlite3.Connection, entry_id: str, reason: str, author: Author, now: datetime) -> Withdrawal:
    """Take an entry back without putting another in its place; it stays on record.

    Args:
        conn: The store.
        entry_id: Id of the entry.
        reason: Why; not blank.
        author: Who and where.
        now: Instant of recording, with its time zone.

    Raises:
        RefusedError: There is no such entry, it was corrected or taken back before, or no reason is given.
        StoreError: The store cannot be written.
    """
    if not reason.strip():
        raise RefusedError("withdrawing an entry needs a reason", "say why")
    with transaction(conn):
        from roundtui.store.tables import TABLES

        table = next((t for t in TABLES.values() if _exists(conn, t.name, entry_id)), None)
        if table is None:
            raise RefusedError(f"there is no entry {entry_id}", "look it up with roundtui replay")
        if table.kind == "set-up":
            raise RefusedError(
                "a change of the register cannot be withdrawn: the row would stay as it is",
                "revert it: h in the register, or roundtui revert",
            )
        _refuse_unless_present(conn, table, entry_id)
        taken_back = Withdrawal(
            entry=entry_id,
            kind=table.kind,
            reason=reason,
            scout=author.scout,
            device=author.device,
            recorded_at=now,
            id=new_id(now),
        )
        _add(conn, WITHDRAWALS, WITHDRAWALS.values(taken_back))
    return taken_back


def _table_of(kind: type) -> Table:
    if kind in ROUND:
        return ROUND[kind]
    from roundtui.store.tables import TABLES

    return TABLES[kind]


def _add(conn: sqlite3.Connection, table: Table, row: Row) -> None:
    for value in row:
        if isinstance(value, str) and len(value) > MOST_TEXT:
            raise RefusedError(f"a text has {len(value)} characters", f"write at most {MOST_TEXT}")
    conn.execute(table.insert, table.signed(row))


def _exists(conn: sqlite3.Connection, table: str, entry_id: str) -> bool:
    return conn.execute(f"SELECT 1 FROM {table} WHERE id = ?", (entry_id,)).fetchone() is not None  # noqa: S608


def _refuse_unless_present(conn: sqlite3.Connection, table: Table, entry_id: str) -> None:
    if not _exists(conn, f"present_{table.name}", entry_id):
        what = "was corrected or taken back before" if _exists(conn, table.name, entry_id) else "is not on record"
        raise RefusedError(f"the entry to correct {what}", "look at the entry as it stands now, and correct that one")
