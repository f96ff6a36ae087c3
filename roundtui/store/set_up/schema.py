"""The tables of set-up rows as other laptops have them, and of who settled which."""

from __future__ import annotations

import sqlite3

from roundtui.store.set_up.row_digests import renew_digests

_TABLES = (
    """
CREATE TABLE rows_offered (
    digest TEXT NOT NULL CHECK (length(digest) = 64), device TEXT NOT NULL,
    file TEXT NOT NULL, row TEXT NOT NULL CHECK (json_valid(row)),
    in_file INTEGER NOT NULL CHECK (in_file IN (0, 1)), made_at TEXT NOT NULL,
    PRIMARY KEY (digest, device)
) STRICT, WITHOUT ROWID""",
    """
CREATE TABLE rows_before (
    newer TEXT NOT NULL CHECK (length(newer) = 64),
    older TEXT NOT NULL CHECK (length(older) = 64 AND older <> newer),
    PRIMARY KEY (newer, older)
) STRICT, WITHOUT ROWID""",
    """
CREATE TABLE rows_settled (
    kept TEXT NOT NULL, passed TEXT NOT NULL CHECK (length(passed) = 64),
    against INTEGER NOT NULL CHECK (against IN (0, 1)),
    scout TEXT NOT NULL, device TEXT NOT NULL, settled_at TEXT NOT NULL,
    PRIMARY KEY (kept, passed)
) STRICT, WITHOUT ROWID""",
)


def add_set_up_rows(conn: sqlite3.Connection) -> None:
    """Add the tables.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    for statement in _TABLES:
        conn.execute(statement)
    renew_digests(conn)
