"""Temporary tables that hold what parcels bring until all of it is known to be sound."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from roundtui.store.digests import JOURNALS
from roundtui.store.parcels.form import Why
from roundtui.store.rows import Row, Table
from roundtui.store.set_up.parcel import drop_tables, make_tables

_REFERENCE = re.compile(r"\s*REFERENCES\s+\w+\s*\(\w+\)")


class WrongRowError(Exception):
    """A row that its table refuses.

    Args:
        at: Place in what was added, from 0.
        why: Why.
        message: What exactly is wrong.
    """

    def __init__(self, at: int, why: Why, message: str) -> None:
        super().__init__(message)
        self.at = at
        self.why = why
        self.message = message


@contextmanager
def tables(conn: sqlite3.Connection) -> Iterator[None]:
    """Make the tables, each with the limits of the one it stands in for, and let go of them in the end.

    Args:
        conn: The store.
    """
    _drop(conn)
    for table in JOURNALS:
        (sql,) = conn.execute(
            "SELECT sql FROM main.sqlite_master WHERE type = 'table' AND name = ?", (table.name,)
        ).fetchone()
        body = _REFERENCE.sub("", sql[sql.index("(") :])
        conn.execute(f"CREATE TEMP TABLE {_name(table)} {body}")
    make_tables(conn)
    try:
        yield
    finally:
        _drop(conn)


def of(table: Table) -> str:
    """Name of the table that stands in for another.

    Args:
        table: The other.
    """
    return f"temp.{_name(table)}"


def add(conn: sqlite3.Connection, table: Table, rows: Sequence[Row]) -> None:
    """Add rows; one that is there as it is counts once.

    Args:
        conn: The store.
        table: The table they are for.
        rows: Columns and digest of each.

    Raises:
        WrongRowError: One breaks a limit, or its id is there with another content.
    """
    marks = ", ".join("?" * (len(table.columns) + 1))
    columns = f"{table.listed}, digest"
    statement = f"INSERT INTO {of(table)} ({columns}) VALUES ({marks}) ON CONFLICT (id) DO NOTHING"  # noqa: S608
    conn.execute("BEGIN")
    try:
        try:
            added = conn.executemany(statement, rows).rowcount
        except sqlite3.IntegrityError:
            _name_the_wrong_one(conn, statement, rows)
            raise
        if added < len(rows):
            _refuse_clash(conn, table, rows)
        conn.execute("COMMIT")
    except BaseException:
        conn.execute("ROLLBACK")
        raise


def _name_the_wrong_one(conn: sqlite3.Connection, statement: str, rows: Sequence[Row]) -> None:
    for at, row in enumerate(rows):
        try:
            conn.execute(statement, row)
        except sqlite3.IntegrityError as error:
            said = str(error).partition("CHECK constraint failed: ")[2] or str(error)
            raise WrongRowError(at, Why.LIMITS, f"entry {row[0]} breaks a limit: {said[:80]}") from error


def _refuse_clash(conn: sqlite3.Connection, table: Table, rows: Sequence[Row]) -> None:
    for at, row in enumerate(rows):
        (digest,) = conn.execute(f"SELECT digest FROM {of(table)} WHERE id = ?", (row[0],)).fetchone()  # noqa: S608
        if digest != row[-1]:
            raise WrongRowError(at, Why.CLASH, f"entry {row[0]} says something else than under the same id before")


def _name(table: Table) -> str:
    return f"incoming_{table.name}"


def _drop(conn: sqlite3.Connection) -> None:
    for table in JOURNALS:
        conn.execute(f"DROP TABLE IF EXISTS temp.{_name(table)}")
    drop_tables(conn)
