"""Numbered steps that bring a store to the present schema: SQL text that imports nothing and never changes.

To add one, write ``schema/NNNN_what.sql`` and raise ``SCHEMA_VERSION``.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from importlib.resources import files

SCHEMA_VERSION = 1
"""How many steps there are; kept in the file's ``user_version``, so that opening need not look further."""
APPLICATION_ID = 0x726F7531
"""Marks a file as a store of this program: ``rou1`` in ASCII."""
BEFORE_SCHEMA_1 = 0x726F756E
"""Mark of stores that were made before the schema was numbered anew; they are not read."""


def migrate(conn: sqlite3.Connection) -> None:
    """Apply what is due, all or nothing, while no one else can write.

    Args:
        conn: A connection that is in no transaction.
    """
    conn.execute("BEGIN EXCLUSIVE")
    try:
        version = conn.execute("PRAGMA user_version").fetchone()[0]
        if version < SCHEMA_VERSION:
            for number, text in steps():
                if number > version:
                    for statement in statements(text):
                        conn.execute(statement)
            conn.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            conn.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
        conn.execute("COMMIT")
    except BaseException:
        if conn.in_transaction:
            conn.execute("ROLLBACK")
        raise


def steps() -> Iterator[tuple[int, str]]:
    """The steps, oldest first: the number of each, and its text."""
    found = sorted(
        one.name for one in files("roundtui.store").joinpath("schema").iterdir() if one.name.endswith(".sql")
    )
    for name in found:
        text = files("roundtui.store").joinpath("schema", name).read_text(encoding="utf-8")
        yield int(name.partition("_")[0]), text


def statements(text: str) -> Iterator[str]:
    """The statements of a step, one by one: a script as a whole would end the transaction.

    Args:
        text: The step.
    """
    so_far = ""
    for line in text.splitlines(keepends=True):
        so_far += line
        if line.rstrip().endswith(";") and sqlite3.complete_statement(so_far):
            yield so_far
            so_far = ""
