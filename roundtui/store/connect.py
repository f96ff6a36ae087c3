"""Opening the store.

Opening loads nothing beyond the standard ``sqlite3``; only a migration brings in more.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from contextvars import ContextVar
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from roundtui.domain.programme.species import take_office_species
from roundtui.domain.text import sanitize, several
from roundtui.errors import StoreError
from roundtui.store import db
from roundtui.store.failures import BACKUPS, Store, content_of, damaged, newest_backup, plainly, translated, unwritable
from roundtui.store.files import to_disk, unfinished
from roundtui.store.record.lanes import FOLDER_FILE, keep

_T = TypeVar("_T")
OLDEST_SQLITE = (3, 37, 0)
"""First version that knows STRICT tables."""


def open_store(folder: Path, *, now: datetime, daily_check: bool = False) -> Store:
    """Open the store of a scouting folder; it is made where there is none, and brought up to date where it is older.

    Args:
        folder: The scouting folder, which must exist.
        now: Instant, for the dates of copies.
        daily_check: Also check the file and make today's backup, once a day.

    Returns:
        A connection in which every statement stands alone unless ``transaction`` is used.

    Raises:
        StoreError: There is no such folder, or the file is damaged, foreign, newer than this program or not writable.
    """
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        oldest = ".".join(map(str, OLDEST_SQLITE))
        raise StoreError(
            f"this Python comes with SQLite {sqlite3.sqlite_version}; {oldest} is the oldest that will do",
            "run roundtui with a newer Python",
        )
    db.check_folder(folder)
    path = folder / db.DB_NAME
    if not path.exists():
        if path.with_name(f"{db.DB_NAME}-wal").exists():
            # A new store beside an old journal would take that journal for its own.
            raise damaged(path, f"the file is missing, though its journal {db.DB_NAME}-wal is there")
        refuse_lost(folder)
        create(path, lambda _: None)
    conn = _connect(path)
    try:
        with plainly(conn):
            if (version := db.schema_of(conn, path)) < db.SCHEMA_VERSION:
                _bring_up_to_date(conn, path, version, now)
            _settle(conn)
            know_species(conn)
        if daily_check:
            from roundtui.store.backup import daily_care

            # What a screen asks for fits, and the check reads everything once.
            conn.execute("PRAGMA cache_size = -100")
            daily_care(folder, conn, now.astimezone().date())
    except BaseException:
        conn.close()
        raise
    return conn


def refuse_lost(folder: Path) -> None:
    """Refuse a folder that held a record before: an empty one in its place would look as if nothing were lost.

    Args:
        folder: A scouting folder without a store.

    Raises:
        StoreError: It has backups or an id; the newest backup is named.
    """
    marks = [folder / FOLDER_FILE, *(folder / BACKUPS).glob("*.db"), *folder.glob("roundtui-before-restore-*.db")]
    if not any(mark.exists() for mark in marks):
        return
    backup = newest_backup(folder)
    anew = f"to begin anew on purpose, move {FOLDER_FILE} and {BACKUPS} out of the folder"
    if backup is None:
        hint = f"put the file back where it was; {anew}"
    else:
        hint = (
            f"put it back, or put the newest backup in place: roundtui restore FOLDER {sanitize(str(backup), 200)} "
            f"({several(content_of(backup)[0], 'entry', 'entries')}); {anew}"
        )
    raise StoreError(f"{sanitize(str(folder), 200)} held a record, and its {db.DB_NAME} is missing", hint)


def _connect(path: Path) -> Store:
    if not path.is_file():
        raise StoreError(f"{sanitize(str(path), 200)} is not a file", "move it away; it stands where the store belongs")
    try:
        if path.stat().st_size == 0:
            raise damaged(path, "the file is empty")
        conn = sqlite3.connect(path, timeout=db.WAIT_SECONDS, isolation_level=None, factory=Store)
    except sqlite3.Error as error:
        raise translated(error, path) from error
    conn.path, conn.file = path, db.file_of(path)
    return conn


def _settle(conn: Store) -> None:
    conn.execute("PRAGMA journal_mode = WAL")  # Some network drives cannot; what it answers is accepted.
    _guard(conn)
    # Called within a long statement, which it may end; that is when Ctrl-C is heard as well, which ends it too.
    conn.set_progress_handler(lambda: HEED.get()(""), 100_000)


def _guard(conn: Store) -> None:
    conn.execute("PRAGMA synchronous = FULL")
    conn.execute("PRAGMA foreign_keys = ON")
    conn.execute("PRAGMA recursive_triggers = ON")  # So that a REPLACE meets the triggers against DELETE as well.


HEED: ContextVar[Callable[[str], bool]] = ContextVar("heed", default=lambda _: False)
"""Told how far work beside the keys has come, in words or with none, and says whether it is to stop."""


def go_on(words: str) -> None:
    """Say how far work has come.

    Raises:
        KeyboardInterrupt: It is to stop.
    """
    if HEED.get()(words):
        raise KeyboardInterrupt


def create(path: Path, fill: Callable[[Store], _T]) -> _T:
    """Make a new store beside its place and move it there whole, so that nobody ever sees half of one.

    Args:
        path: Its file.
        fill: Puts on record what it begins with.

    Returns:
        What that returned.

    Raises:
        StoreError: The folder cannot be written.
    """
    try:
        with unfinished(path) as new:
            with closing(sqlite3.connect(new, isolation_level=None, factory=Store)) as conn:
                conn.path = path
                _guard(conn)
                db.migrate(conn)
                found = fill(conn)
            if _put_in_place(new, path) and conn.lane:
                keep(path.parent, conn.lane.partition(".")[0], 1)
            to_disk(path.parent)
            return found
    except (OSError, sqlite3.Error) as error:
        raise unwritable(path, error) from error


def _put_in_place(new: Path, path: Path) -> bool:
    try:
        os.link(new, path)  # Fails where another process was quicker; then that one's file is as good.
    except FileExistsError:
        return False
    except OSError:
        if path.exists():
            return False
        new.rename(path)
    return True


def _bring_up_to_date(conn: Store, path: Path, version: int, now: datetime) -> None:
    from roundtui.store.backup import copy_store

    copy = path.parent / BACKUPS / f"before-schema-{db.SCHEMA_VERSION}-from-{version}-{now:%Y%m%d-%H%M%S}.db"
    copy_store(conn, copy)
    db.migrate(conn)


def know_species(conn: sqlite3.Connection) -> None:
    """Make the species of a store known; see ``take_office_species``.

    Args:
        conn: The store.
    """
    take_office_species(conn.execute("SELECT species, name, latin, synonyms, lure_days FROM species"))
