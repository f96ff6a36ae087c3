"""The only writer of what people enter. Entries are added and never changed: a correction is a further entry."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from itertools import groupby, islice
from typing import TypeVar

from roundtui.domain.entries import Visit, Withdrawal
from roundtui.domain.records import Frozen
from roundtui.errors import RefusedError
from roundtui.store.checks.trouble import find_suspect
from roundtui.store.db import AT_ONCE, transaction
from roundtui.store.failures import Store
from roundtui.store.record import rows as tables
from roundtui.store.record.lanes import OwnLane, keep_end, new_id, new_ids, own_lane

E = TypeVar("E", bound=tables.Entry)

UNSAID = "corrected"
"""Reason kept with a correction for which nobody gave one."""

MOST_TEXT = 20_000
"""Longest text in an entry. [characters]"""

_ANEW_FROM = 5000
"""Entries from which a table's indexes are made anew, if there are not more in it: half the time of adding them."""


class Author(Frozen):
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
        RefusedError: An entry breaks a limit of its table, or corrects one that was corrected or withdrawn before.
        StoreError: The store cannot be written.
    """
    if not author.scout.strip():
        raise RefusedError("an entry needs the name of its scout", "give it with --scout, or when the app asks")
    if any(isinstance(entry, Visit) and not entry.says_something and not entry.replaces for entry in entries):
        raise RefusedError("an entry about a trap says nothing", "0 for an empty trap, x and a letter for no reading")
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
        if isinstance(conn, Store):
            conn.unsaved += stamped
        lane = own_lane(conn)
        for table, group in groupby(stamped, key=lambda entry: tables.table_of(type(entry))):
            conn.executemany(table.insert, _linked(table, _as_rows(conn, table, group), lane))
        keep_end(conn, lane, author.device)
    return stamped


def record_rows(
    conn: sqlite3.Connection,
    table: tables.Table,
    rows: Iterable[tables.Row],
    author: Author,
    now: datetime,
    *,
    number: int = 0,
    take: Callable[[Sequence[tables.Row]], object] = len,
) -> None:
    """Put many new entries of one kind on record, all or none; none of them corrects another.

    Args:
        conn: The store.
        table: Their table.
        rows: The columns of each behind those that all tables begin with, as kept; checked before.
        author: Who and where.
        now: Instant of recording, with its time zone.
        number: How many they are, where that is known.
        take: Is given the columns of what was recorded, a thousand at a time.

    Raises:
        RefusedError: An entry breaks a limit of its table.
        StoreError: The store cannot be written.
    """
    at, scout, device = tables.instant(now), author.scout, author.device
    rest = iter(rows)
    with transaction(conn):
        lane = own_lane(conn)
        with in_bulk(conn, table, number):
            while batch := list(islice(rest, AT_ONCE)):
                ids = new_ids(now, len(batch))
                whole = [(id_, at, scout, device, None, "", *row) for id_, row in zip(ids, batch, strict=True)]
                conn.executemany(table.insert, _linked(table, ((row, "") for row in whole), lane))
                take(whole)
        keep_end(conn, lane, device)


@contextmanager
def in_bulk(conn: sqlite3.Connection, table: tables.Table, adding: int) -> Iterator[None]:
    """Make the indexes of a table anew after many rows were added, and find the suspect traps once for all of them.

    That is done where it is less work than to keep them up row by row, and in the transaction of the rows.
    """
    kept: list[tuple[str, str, str]] = []
    if adding >= _ANEW_FROM and adding >= conn.execute(f"SELECT count(*) FROM {table.name}").fetchone()[0]:  # noqa: S608
        kept = conn.execute(
            "SELECT type, name, sql FROM sqlite_master WHERE tbl_name = ? AND sql IS NOT NULL"
            " AND (type = 'index' OR (type = 'trigger' AND name LIKE '%_troubles'))",
            (table.name,),
        ).fetchall()
    for type_, name, _ in kept:
        conn.execute(f"DROP {type_} {name}")
    yield
    for _, _, sql in kept:
        conn.execute(sql)
    if any(type_ == "trigger" for type_, _, _ in kept):
        find_suspect(conn)


def withdraw(conn: sqlite3.Connection, entry_id: str, reason: str, author: Author, now: datetime) -> Withdrawal:
    """Withdraw an entry without putting another in its place; it stays on record.

    Args:
        conn: The store.
        entry_id: Id of the entry.
        reason: Why; not blank.
        author: Who and where.
        now: Instant of recording, with its time zone.

    Raises:
        RefusedError: There is no such entry, it was corrected or withdrawn before, or no reason is given.
        StoreError: The store cannot be written.
    """
    if not reason.strip():
        raise RefusedError("withdrawing an entry needs a reason", "say why")
    with transaction(conn):
        table = tables.holding(conn, entry_id, tables.STANDING)
        if table is None:
            raise RefusedError(f"there is no entry {entry_id}", "look it up with roundtui replay")
        if table.kind == "set-up":
            raise RefusedError(
                "a change of the register cannot be withdrawn: the row would stay as it is",
                "revert it: h in the register, or roundtui revert",
            )
        _refuse_unless_present(conn, table, entry_id)
        withdrawn = Withdrawal(entry=entry_id, kind=table.kind, reason=reason)
        return record(conn, [withdrawn], author, now)[0]


def _as_rows(
    conn: sqlite3.Connection, table: tables.Table, entries: Iterable[tables.Entry]
) -> Iterator[tuple[tables.Row, str]]:
    """Columns of entries, and of each what only a newer program knows of it."""
    for entry in entries:
        extra = ""
        if entry.replaces is not None:
            _refuse_unless_present(conn, table, entry.replaces)
            # What only a newer program knows of the entry goes on with its correction.
            (extra,) = conn.execute(f"SELECT extra FROM {table.name} WHERE id = ?", (entry.replaces,)).fetchone()  # noqa: S608
        yield table.values(entry), extra


def _linked(table: tables.Table, rows: Iterable[tuple[tables.Row, str]], lane: OwnLane) -> Iterator[tables.Row]:
    """Whole rows, each the next on its lane."""
    from hashlib import sha256

    most = longest(table)
    for values, extra in rows:
        lane.no += 1
        row = (*values, extra, lane.lane, lane.no, lane.digest, tables.DIGEST_FORM)
        text = tables.text_of(table, row, lane.name)
        if len(text) > most and (long := max((len(one) for one in values if isinstance(one, str)), default=0)) > most:
            raise RefusedError(f"a text has {long} characters", f"write at most {most}")
        lane.digest = sha256(text).digest()
        yield (*row, lane.digest)


def longest(table: tables.Table) -> int:
    """Longest text in an entry of a kind; a whole file of the office's own may be one. [characters]"""
    return 10 * MOST_TEXT if table is tables.SET_UP_CHANGES else MOST_TEXT


def _exists(conn: sqlite3.Connection, table: str, entry_id: str) -> bool:
    return conn.execute(f"SELECT 1 FROM {table} WHERE id = ?", (entry_id,)).fetchone() is not None  # noqa: S608


def _refuse_unless_present(conn: sqlite3.Connection, table: tables.Table, entry_id: str) -> None:
    if not _exists(conn, f"present_{table.name}", entry_id):
        what = "was corrected or withdrawn already" if _exists(conn, table.name, entry_id) else "is not on record"
        raise RefusedError(f"the entry to correct {what}", "look at the entry as it stands now, and correct that one")
