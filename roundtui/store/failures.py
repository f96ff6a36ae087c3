"""What a person is told when the store fails."""

from __future__ import annotations

import errno
import os
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from roundtui.domain.text import sanitize
from roundtui.errors import STOPPED, RefusedError, RoundtuiError, StoreError

BACKUPS = "backups"
"""Folder of the backups, inside the scouting folder."""

_LITTLE = 1 << 16
"""Room below which a disk counts as full: the database wants 32 KiB for what its readers share. [bytes]"""
_UNFINISHED = re.compile(r"\.([^/\\]+)\.unfinished-[-0-9a-f]+")
_INTERRUPTED = "interrupted"
"""What the database says of a statement in which somebody pressed Ctrl-C."""
_DAMAGED = ("malformed", "not a database", "no such table", "no such column", "unsupported file format", "corrupt")


class Store(sqlite3.Connection):
    """A connection that knows its file, so that a failure can name it."""

    path: Path = Path("roundtui.db")
    file: tuple[int, int] | None = None
    """Device and number of that file on the disk when it was opened."""
    lane: str = ""
    """Name of the lane it writes on; empty until it is first needed."""

    rescue: Callable[[Store], Path | None] | None = None
    """Keeps what it holds where its file was taken away."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        self.unsaved: list[Any] = []
        """Entries of the transaction under way."""
        self.rescued: Path | None = None
        """Folder that keeps what it holds, once its file was taken away."""


@contextmanager
def plainly(conn: sqlite3.Connection) -> Iterator[None]:
    """Turn whatever the database raises inside the block into an error that says what to do.

    Args:
        conn: Connection in use.

    Raises:
        StoreError: The file is damaged, locked, full or cannot be written.
        RefusedError: An entry breaks a limit of its table.
    """
    try:
        yield
    except sqlite3.Error as error:
        if str(error) == _INTERRUPTED:
            raise KeyboardInterrupt from error
        raise translated(error, conn.path if isinstance(conn, Store) else Store.path) from error


def translated(error: sqlite3.Error, path: Path) -> RoundtuiError:
    """The error a person sees in place of one from the database.

    Args:
        error: What the database raised.
        path: File of the store.
    """
    said = str(error).lower()
    name = sanitize(str(path), 200)
    if isinstance(error, sqlite3.IntegrityError):
        return RefusedError(f"an entry was refused by {name}: {error}", "nothing was recorded; correct the entry")
    if "locked" in said or "busy" in said:
        return StoreError(
            f"{name} is in use by another window or program",
            "close the other one or try again in a moment; nothing was changed",
        )
    if said == _INTERRUPTED:
        return STOPPED
    if is_damage(error):
        return damaged(path, str(error))
    if is_of_disk(error, path):
        return unwritable(path, error)
    return StoreError(f"{name} cannot be read or written: {error}", "try again; if it stays so, see the backups")


def unwritable(path: Path, error: OSError | sqlite3.Error, more: str = "") -> StoreError:
    """The error for a file or folder that cannot be written, which says so where the disk is full or read-only.

    Args:
        path: What was to be written.
        error: What the system or the database raised.
        more: What else there is to say of it.
    """
    # Of a file or folder that is not whole yet, people know the name that it will have.
    name, more = sanitize(_UNFINISHED.sub(r"\1", str(path)), 200), more and f"; {more}"
    if _is_full(error, path):
        return StoreError(
            f"the disk is full: {name} cannot be written", f"make room, then go on; what was recorded is safe{more}"
        )
    if _is_read_only(error):
        return StoreError(
            f"{name} cannot be written: it or its folder is read-only",
            f"check who may write to it, and whether the disk takes anything{more}",
        )
    copied = bool(error.args) and isinstance(error.args[0], list)  # Of a folder: every file, by names nobody knows.
    why = getattr(error, "strerror", None) or ("its files do not fit" if copied else error)
    return StoreError(f"{name} cannot be written: {why}", f"make room, or check who may write there{more}")


def is_of_disk(error: OSError | sqlite3.Error, path: Path = Path()) -> bool:
    """Whether an error says that a disk is full or read-only.

    Args:
        error: What the system or the database raised.
        path: What was to be written.
    """
    return _is_read_only(error) or _is_full(error, path)


def _is_full(error: OSError | sqlite3.Error, path: Path) -> bool:
    """Whether a disk has no room; of files beside its own a database says no more than I/O error."""
    said = str(error).lower()
    if isinstance(error, OSError):
        # Of a whole tree that was copied there are but words.
        no_room = (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))
        return error.errno in no_room or os.strerror(errno.ENOSPC).lower() in said
    if "i/o" not in said:
        return "full" in said
    from shutil import disk_usage

    place = next(one for one in (path.absolute(), *path.absolute().parents) if one.is_dir())
    return disk_usage(place).free < _LITTLE


def _is_read_only(error: OSError | sqlite3.Error) -> bool:
    if isinstance(error, OSError):
        return error.errno in (errno.EROFS, errno.EACCES, errno.EPERM)
    return any(word in str(error).lower() for word in ("readonly", "unable to open", "permission"))


def is_damage(error: sqlite3.Error) -> bool:
    """Whether an error says that a file is damaged, and not that it cannot be read or written just now.

    Args:
        error: What the database raised.
    """
    return any(word in str(error).lower() for word in _DAMAGED)


def damaged(path: Path, why: str) -> StoreError:
    """The error for a store that cannot be relied on; it names the newest backup.

    Args:
        path: File of the store, which stays where it is.
        why: What is wrong with it.
    """
    backup = newest_backup(path.parent)
    if backup is None:
        hint = "the file was left as it is; there is no backup beside it, so keep a copy before anything else"
    else:
        hint = (
            f"the file was left as it is; the newest backup is {sanitize(str(backup), 200)}, "
            "and roundtui restore FOLDER BACKUP puts it in place"
        )
    return StoreError(f"{sanitize(str(path), 200)} is damaged: {sanitize(why, 120)}", hint)


def newest_backup(folder: Path) -> Path | None:
    """The newest backup of a folder by what is in it: entries are only added, so it is the one with the most.

    Args:
        folder: The scouting folder.

    Returns:
        None where no file of its backups is a store that can be read.
    """
    found = max(((content_of(path), path) for path in (folder / BACKUPS).glob("*.db")), default=None)
    return found[1] if found and found[0][0] >= 0 else None


def to_read(path: Path) -> sqlite3.Connection:
    """A store, or a copy of one, that is only read; also from a disk that takes nothing, where nobody can be writing.

    Args:
        path: The file.

    Raises:
        sqlite3.Error: It cannot be opened.
    """
    still = not os.access(path.parent, os.W_OK) and not path.with_name(f"{path.name}-wal").exists()
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro{'&immutable=1' * still}", uri=True)


def content_of(path: Path) -> tuple[int, str]:
    """How many entries a store holds, and when the newest was recorded; -1 where it cannot be read.

    Args:
        path: A store, or a copy of one.
    """
    from roundtui.store.record.rows import JOURNALS

    entries, newest = 0, ""
    try:
        with closing(to_read(path)) as conn:
            there = {name for (name,) in conn.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            for table in JOURNALS:
                if table.name in there:
                    count, last = conn.execute(f"SELECT count(*), max(recorded_at) FROM {table.name}").fetchone()  # noqa: S608
                    entries, newest = entries + count, max(newest, last or "")
    except (OSError, sqlite3.Error):
        return -1, ""
    return (entries, newest) if "visits" in there else (-1, "")
