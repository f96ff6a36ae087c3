"""The table of questions pinned to entries, and withdrawals that may take such a question back."""

from __future__ import annotations

import sqlite3

from roundtui.store.schema import AUTHOR, DAY
from roundtui.store.withdrawal_schema import GUARD, remake_withdrawals

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
_KINDS = "kind IN ('visit', 'stage', 'told', 'biofix', 'temperature', 'question')"
_PRESENT = """
CREATE VIEW present_questions AS SELECT * FROM questions AS entry
WHERE NOT EXISTS (SELECT 1 FROM questions AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id)
"""


def add_questions(conn: sqlite3.Connection) -> None:
    """Add the table, and have withdrawals know it.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    remake_withdrawals(conn, _KINDS)
    for statement in (
        _QUESTIONS,
        "CREATE INDEX questions_entry ON questions (entry)",
        "CREATE INDEX questions_day ON questions (about_on)",
        "CREATE INDEX questions_replaces ON questions (replaces) WHERE replaces IS NOT NULL",
        _PRESENT,
        *(GUARD.format("questions", verb.lower(), verb) for verb in ("UPDATE", "DELETE")),
    ):
        conn.execute(statement)
