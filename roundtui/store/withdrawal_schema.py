"""Making the table of withdrawals anew, so that it knows kinds of entries that were added since."""

from __future__ import annotations

import sqlite3

from roundtui.store.schema import AUTHOR

GUARD = (
    "CREATE TRIGGER {0}_no_{1} BEFORE {2} ON {0}"
    " BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END"
)
"""Trigger of a table of entries, by its name and the verb it refuses, in small and capital letters."""
_COLUMNS = "rowid, id, recorded_at, scout, device, replaces, reason, kind, entry, digest"


def remake_withdrawals(conn: sqlite3.Connection, kinds: str) -> None:
    """Put another check of its kinds on the table; its rows, views and guards stay as they are.

    Args:
        conn: The store, inside the transaction of a migration.
        kinds: The check, as SQL.
    """
    # A table is renamed only while no view names it; each view comes back after those it is made of.
    views = conn.execute("SELECT name, sql FROM sqlite_master WHERE type = 'view' ORDER BY rowid").fetchall()
    for name, _ in views:
        conn.execute(f"DROP VIEW {name}")
    for statement in (
        f"CREATE TABLE withdrawals_now ({AUTHOR.format(replaces='CHECK (replaces IS NULL)')}"
        f" kind TEXT NOT NULL CHECK ({kinds}), entry TEXT NOT NULL,"
        " digest BLOB NOT NULL DEFAULT x'' CHECK (length(digest) IN (0, 32)), CHECK (reason <> '')) STRICT",
        f"INSERT INTO withdrawals_now ({_COLUMNS}) SELECT {_COLUMNS} FROM withdrawals ORDER BY rowid",  # noqa: S608
        "DROP TABLE withdrawals",
        "ALTER TABLE withdrawals_now RENAME TO withdrawals",
        "CREATE INDEX withdrawals_entry ON withdrawals (entry)",
        *(sql for _, sql in views),
        *(GUARD.format("withdrawals", verb.lower(), verb) for verb in ("UPDATE", "DELETE")),
    ):
        conn.execute(statement)
