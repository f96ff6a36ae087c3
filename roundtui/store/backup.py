"""Dated backups, the daily check of the store, and putting a backup in place."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import date, datetime
from pathlib import Path

from roundtui.domain.text import sanitize
from roundtui.errors import StoreError
from roundtui.store import db, failures
from roundtui.store.db import DB_NAME, check_folder
from roundtui.store.files import clear_interrupted, regular, to_disk, unfinished, whole_file
from roundtui.store.record.lanes import open_next_lane

_STORE_BEGINS = b"SQLite format 3\0"
KEEP_DAYS = 30
"""How many dated backups are kept besides the first of each month."""


def daily_care(folder: Path, conn: sqlite3.Connection, today: date) -> Path | None:
    """Check the store and make the day's backup, unless that was done today.

    Args:
        folder: The scouting folder.
        conn: Its store.
        today: The day on the wall, not the day the app stands on.

    Returns:
        The backup made, or None where today's was there.

    Raises:
        StoreError: The store is damaged; the newest backup is named, and no new one is made over a good one.
    """
    if backup_of(folder, today).exists():
        return None
    for place in (folder, folder / failures.BACKUPS):
        clear_interrupted(place)
    check_store(folder, conn)
    return daily_backup(folder, conn, today)


def check_store(folder: Path, conn: sqlite3.Connection) -> None:
    """Read the whole store once.

    Args:
        folder: The scouting folder.
        conn: Its store.

    Raises:
        StoreError: Something in it is damaged.
    """
    with failures.plainly(conn):
        found = conn.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise failures.damaged(folder / DB_NAME, str(found))


def backup_of(folder: Path, on: date) -> Path:
    """Where the backup of a day stands.

    Args:
        folder: The scouting folder.
        on: The day.
    """
    return folder / failures.BACKUPS / f"roundtui-{on.isoformat()}.db"


def daily_backup(folder: Path, conn: sqlite3.Connection, today: date) -> Path:
    """Make the backup of a day, and let go of old ones: thirty days are kept, and the first backup of each month.

    Args:
        folder: The scouting folder.
        conn: Its store.
        today: The day.
    """
    backup = backup_of(folder, today)
    copy_store(conn, backup)
    _let_go_of_old(folder)
    return backup


def copy_store(conn: sqlite3.Connection, to: Path) -> None:
    """Copy a store that may be in use; the copy appears whole or not at all.

    Args:
        conn: The store.
        to: Path of the copy, whose folder is made.

    Raises:
        StoreError: There is no room, or the folder cannot be written.
    """
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        with unfinished(to) as new:
            with closing(sqlite3.connect(new, isolation_level=None)) as copy:
                copy.execute("PRAGMA cache_size = -100")
                conn.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
            to_disk(new)
            new.replace(to)
            to_disk(to.parent)
    except (OSError, sqlite3.Error) as error:
        raise failures.unwritable(to, error) from error


def restore(folder: Path, backup: Path, now: datetime) -> Path | None:
    """Put a backup in place of the store.

    Args:
        folder: The scouting folder.
        backup: A backup, or any other store.
        now: Instant, for the name under which the present file is kept.

    Returns:
        Where the present file is kept; None where there was none.

    Raises:
        StoreError: The backup is no good, or the store is open in another window. Nothing was changed.
    """
    check_folder(folder)
    path = folder / DB_NAME
    name = sanitize(str(backup), 200)
    if not backup.is_file():
        raise StoreError(
            f"there is no backup {name}", f"the backups stand in {failures.BACKUPS} inside the scouting folder"
        )
    if path.exists() and backup.samefile(path):
        raise StoreError(f"{name} is the store itself", f"name a file of {failures.BACKUPS}")
    try:
        with unfinished(path) as fresh:
            copy_sound(backup, fresh)
            to_disk(fresh)
            # What was recorded after the backup may be on other laptops: nothing here goes on under its numbers.
            open_next_lane(None, folder)
            kept = _keep_present(path, now)
            fresh.replace(path)
            to_disk(folder)
    except OSError as error:
        raise failures.unwritable(path, error, "the present file is kept") from error
    return kept


def is_store(path: Path) -> bool:
    """Whether a file begins as a store does.

    Args:
        path: The file.

    Raises:
        StoreError: It cannot be read.
    """
    try:
        with regular(path).open("rb") as file:
            return file.read(len(_STORE_BEGINS)) == _STORE_BEGINS
    except OSError as error:
        raise StoreError(
            f"{sanitize(str(path), 200)} cannot be read: {error.strerror or error}", "check the name"
        ) from error


def copy_sound(backup: Path, to: Path) -> None:
    """Copy a backup, and make sure that the copy is a store which this program can read.

    Args:
        backup: The backup.
        to: The copy.

    Raises:
        StoreError: It cannot be read, or is no sound store.
    """
    name = sanitize(str(backup), 200)
    is_store(backup)
    try:
        with closing(failures.to_read(backup)) as source, closing(sqlite3.connect(to, isolation_level=None)) as copy:
            source.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
            db.schema_of(copy, backup)
            sound = copy.execute("PRAGMA quick_check(1)").fetchone()[0] == "ok"
    except sqlite3.Error as error:
        said = failures.translated(error, to.parent / DB_NAME)
        if failures.is_damage(error):
            said = StoreError(f"{name} is damaged: {error}", "name another backup; nothing was changed")
        raise said from error
    if not sound:
        raise StoreError(f"{name} is damaged", "name another backup; nothing was changed")


def _keep_present(path: Path, now: datetime) -> Path | None:
    """Keep the present store beside its place, which it holds until the backup takes it.

    A journal is what could not be written into the main file; it goes aside, or it would be taken for the backup's.
    """
    if path.exists():
        _close_journal(path)
    kept = path.with_name(f"roundtui-before-restore-{now:%Y%m%d-%H%M%S-%f}.db")
    found = path.exists()
    if found:
        try:
            os.link(path, kept)
        except FileExistsError:
            raise
        except OSError:  # A stick or a network drive may know no links.
            with whole_file(kept) as copy, path.open("rb") as file:
                shutil.copyfileobj(file, copy)
    for suffix in ("-wal", "-shm"):
        part = path.with_name(path.name + suffix)
        if part.exists():
            part.rename(kept.with_name(kept.name + suffix))
            found = True
    return kept if found else None


def _close_journal(path: Path) -> None:
    """Have everything written into the main file, which works only while nobody else has it open."""
    try:
        with closing(
            sqlite3.connect(path, timeout=db.WAIT_SECONDS, isolation_level=None, factory=failures.Store)
        ) as conn:
            conn.path = path
            if path.stat().st_size:
                conn.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise StoreError(
                f"{sanitize(str(path), 200)} is open in another window", "close it there first; nothing was changed"
            ) from error
    except sqlite3.Error:
        pass  # A damaged file is moved aside as it is.


def _let_go_of_old(folder: Path) -> None:
    dated = sorted(
        (folder / failures.BACKUPS).glob("roundtui-[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9].db"), reverse=True
    )
    months = {backup.stem[:-3]: backup for backup in dated}
    old = [backup for backup in dated[KEEP_DAYS:] if backup is not months[backup.stem[:-3]]]
    if not old:
        return
    # Entries are never erased: a store with fewer of them is another one, and its copies push none of this one's out.
    newest = failures.content_of(dated[0])
    for backup in old:
        if failures.content_of(backup) <= newest:
            backup.unlink(missing_ok=True)
