"""The file of the store: its name and mark, its transactions, and the steps that bring it to the present schema.

A step is SQL text that imports nothing and never changes. To add one, write ``schema/NNNN_what.sql``.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from roundtui.domain.text import sanitize
from roundtui.errors import StoreError
from roundtui.store.failures import Store, plainly
from roundtui.store.record.rows import VISITS

DB_NAME = "roundtui.db"
"""Name of the store inside its folder."""
AT_ONCE = 1000
"""Rows that are read, checked or written together."""
WAIT_SECONDS = 2.5
"""How long one try waits for another process. [s]"""
TRIES = 2
"""How often a transaction is begun before it is given up; nobody waits longer than five seconds for a prompt."""
SCHEMA = Path(__file__).with_name("schema")
"""Folder of the steps."""
SCHEMA_VERSION = sum(1 for _ in SCHEMA.glob("*.sql"))
"""How many steps there are; kept in the file's ``user_version``, so that opening need not look further."""
APPLICATION_ID = 0x726F7531
"""Marks a file as a store of this program: ``rou1`` in ASCII."""
BEFORE_SCHEMA_1 = 0x726F756E
"""Mark of stores that were made before the schema was numbered anew; they are not read."""


def check_folder(folder: Path) -> None:
    """Refuse what is no folder.

    Args:
        folder: Where a scouting folder is expected.

    Raises:
        StoreError: It is missing, or a file.
    """
    name = sanitize(str(folder), 200)
    if not folder.exists():
        raise StoreError(f"there is no folder {name}", "check the name, or try roundtui demo")
    if not folder.is_dir():
        raise StoreError(f"{name} is a file, not a scouting folder", f"name the folder that holds {DB_NAME}")


@contextmanager
def transaction(conn: sqlite3.Connection) -> Iterator[None]:
    """Make everything inside the block one change: all of it is on the disk when the block ends, or none.

    Inside another transaction it is a savepoint, so that a part can fail alone.

    Args:
        conn: The connection.

    Raises:
        StoreError: Another process holds the store longer than anyone should wait, or its file was taken away.
    """
    nested = conn.in_transaction
    with plainly(conn):
        if nested:
            conn.execute("SAVEPOINT part")
        else:
            _begin(conn)
            if isinstance(conn, Store):
                conn.unsaved = []
        try:
            yield
            moved = not nested and isinstance(conn, Store) and bool(conn.file) and file_of(conn.path) != conn.file
            if not moved:
                conn.execute("RELEASE part" if nested else "COMMIT")
                return
        except BaseException:
            # An error of the disk may have ended the transaction already.
            if conn.in_transaction:
                if nested:
                    conn.execute("ROLLBACK TO part")
                    conn.execute("RELEASE part")
                else:
                    conn.execute("ROLLBACK")
            raise
        conn.execute("ROLLBACK")
    if isinstance(conn, Store):
        raise _moved(conn)


@contextmanager
def one_view(conn: sqlite3.Connection) -> Iterator[None]:
    """One unchanging view of the store, whatever others record meanwhile.

    Args:
        conn: The store, outside any transaction.
    """
    with plainly(conn):
        conn.execute("BEGIN")
        try:
            yield
        finally:
            if conn.in_transaction:
                conn.execute("ROLLBACK")


def _moved(conn: Store) -> StoreError:
    """Nobody would find again what is recorded now: the name of the file is gone, or is that of another file."""
    rescued = conn.rescue(conn) if conn.rescue else None
    if rescued is None:
        hint = "write down what was typed last; put the file back under its name, or restore the newest backup"
    else:
        hint = (
            "put the file back under its name and enter it again; or close roundtui and put in place what is kept, "
            f"the last entry too: roundtui restore FOLDER {sanitize(str(rescued), 200)}"
        )
    return StoreError(
        f"{sanitize(str(conn.path), 200)} was moved, removed or replaced while it was open; nothing more is recorded",
        hint,
    )


def file_of(path: Path) -> tuple[int, int] | None:
    """Which file of the disk goes by a name; None where none does."""
    try:
        stat = path.stat()
    except OSError:
        return None
    return stat.st_dev, stat.st_ino


def _begin(conn: sqlite3.Connection) -> None:
    """Take the right to write at once: a transaction that first reads could lose it to another process later."""
    for left in range(TRIES, 0, -1):
        try:
            conn.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            if left == 1 or "locked" not in str(error):
                raise
        else:
            return


def schema_of(conn: sqlite3.Connection, path: Path) -> int:
    """Number of a store's schema.

    Args:
        conn: The store, or a copy of one.
        path: Its file, for messages.

    Raises:
        StoreError: It is no store of this program, is newer than it, or is from before the first release.
    """
    (mark,), (version,) = (conn.execute(f"PRAGMA {name}").fetchone() for name in ("application_id", "user_version"))
    name, hint = sanitize(str(path), 200), "name the right one, or move it away; nothing was changed"
    if mark not in (APPLICATION_ID, BEFORE_SCHEMA_1):
        raise StoreError(f"{name} is no store of roundtui", hint)
    # The schema grew until the first release, under one number.
    early = mark == BEFORE_SCHEMA_1
    if not early and version == SCHEMA_VERSION:
        there = {column for column, *_ in conn.execute("SELECT * FROM visits LIMIT 0").description}
        early = not there.issuperset(VISITS.columns)
    if early:
        raise StoreError(
            f"{name} was made by a roundtui from before the first release, and cannot be read",
            "open it with the version that made it, or move it away and begin anew; nothing was changed",
        )
    if version > SCHEMA_VERSION:
        raise StoreError(
            f"{name} was written by a newer roundtui (schema {version}, this one knows {SCHEMA_VERSION})",
            "install the newer version on this computer; nothing was changed",
        )
    return int(version)


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
    for path in sorted(SCHEMA.glob("*.sql")):
        yield int(path.name.partition("_")[0]), path.read_text(encoding="utf-8")


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
