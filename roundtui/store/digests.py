"""A digest with every entry, kept from the moment it is recorded, so that damage and tampering show later.

A migration adds the column and fills it for existing entries.
"""

from __future__ import annotations

import sqlite3

from roundtui.store.rows import STAGES, TELLINGS, VISITS, WITHDRAWALS
from roundtui.store.tables import TABLES

JOURNALS = (*TABLES.values(), WITHDRAWALS)
"""Every table of entries, each after those it may refer to."""
DIGEST_BYTES = 32
"""Length of a digest. [bytes]"""


def add_digests(conn: sqlite3.Connection) -> None:
    """Add the column to every table of entries that there was then, and fill it in.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    for table in (VISITS, STAGES, TELLINGS, WITHDRAWALS):
        conn.execute(
            f"ALTER TABLE {table.name} ADD COLUMN digest BLOB NOT NULL DEFAULT x''"
            f" CHECK (length(digest) IN (0, {DIGEST_BYTES}))"
        )
        rows = conn.execute(f"SELECT {table.listed} FROM {table.name}").fetchall()  # noqa: S608
        if rows:
            _fill(conn, table.name, [(table.digest(row), row[0]) for row in rows])


def _fill(conn: sqlite3.Connection, table: str, digests: list[tuple[bytes, str]]) -> None:
    """Write the digests, for which alone the guard against changes stands aside."""
    guard = f"{table}_no_update"
    (sql,) = conn.execute("SELECT sql FROM sqlite_master WHERE type = 'trigger' AND name = ?", (guard,)).fetchone()
    conn.execute(f"DROP TRIGGER {guard}")
    conn.executemany(f"UPDATE {table} SET digest = ? WHERE id = ?", digests)  # noqa: S608
    conn.execute(sql)
