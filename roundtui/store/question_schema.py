"""The table of questions pinned to entries, and withdrawals that may take such a question back."""

from __future__ import annotations

import sqlite3

from roundtui.store.schema import AUTHOR, DAY

_QUESTIONS = f"""
CREATE TABLE questions ({AUTHOR.format(replaces="REFERENCES questions(id)")}
    entry TEXT NOT NULL CHECK (length(entry) = 36),
    says TEXT NOT NULL CHECK (says IN ('asked', 'answered', 'closed')),
    words TEXT NOT NULL CHECK (says = 'closed' OR trim(words) <> ''),
    about_on TEXT NOT NULL {DAY.format("about_on")},
    trap TEXT CHECK (trap <> ''),
    block TEXT CHECK (block <> ''),
    digest BLOB NOT NULL CHECK (length(digest) IN (0, 32))
) STRICT
"""
_WITHDRAWALS = f"""
CREATE TABLE withdrawals_now ({AUTHOR.format(replaces="CHECK (replaces IS NULL)")}
    kind TEXT NOT NULL CHECK (kind IN ('visit', 'stage', 'told', 'biofix', 'temperature', 'question')),
    entry TEXT NOT NULL,
    digest BLOB NOT NULL DEFAULT x'' CHECK (length(digest) IN (0, 32)),
    CHECK (reason <> '')
) STRICT
"""
_COLUMNS = "rowid, id, recorded_at, scout, device, replaces, reason, kind, entry, digest"
_PRESENT = """
CREATE VIEW present_questions AS SELECT * FROM questions AS entry
WHERE NOT EXISTS (SELECT 1 FROM questions AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id)
"""
_GUARD = (
    "CREATE TRIGGER {0}_no_{1} BEFORE {2} ON {0}"
    " BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END"
)


def add_questions(conn: sqlite3.Connection) -> None:
    """Add the table, and have withdrawals know it.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    # A table is renamed only while no view names it; each view comes back after those it is made of.
    views = conn.execute("SELECT name, sql FROM sqlite_master WHERE type = 'view' ORDER BY rowid").fetchall()
    for name, _ in views:
        conn.execute(f"DROP VIEW {name}")
    for statement in (
        _WITHDRAWALS,
        f"INSERT INTO withdrawals_now ({_COLUMNS}) SELECT {_COLUMNS} FROM withdrawals ORDER BY rowid",  # noqa: S608
        "DROP TABLE withdrawals",
        "ALTER TABLE withdrawals_now RENAME TO withdrawals",
        "CREATE INDEX withdrawals_entry ON withdrawals (entry)",
        _QUESTIONS,
        "CREATE INDEX questions_entry ON questions (entry)",
        "CREATE INDEX questions_day ON questions (about_on)",
        "CREATE INDEX questions_replaces ON questions (replaces) WHERE replaces IS NOT NULL",
        *(sql for _, sql in views),
        _PRESENT,
        *(
            _GUARD.format(table, verb.lower(), verb)
            for table in ("withdrawals", "questions")
            for verb in ("UPDATE", "DELETE")
        ),
    ):
        conn.execute(statement)
