"""The set-up files of a folder, and whether they changed since the last time; asked at every start: it loads little.

Opening a scouting folder: its store, with whatever changed in its files since the last time. And what becomes of a
record whose file was taken away while it was open.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import Problem, ProblemsError, RoundtuiError, StoreError
from roundtui.store.connect import create, open_store, refuse_lost
from roundtui.store.db import DB_NAME, check_folder
from roundtui.store.failures import Store
from roundtui.store.office import files_here, newer_files

if TYPE_CHECKING:
    from roundtui.store.set_up.load_checks import LoadReport


class NoProgrammeError(StoreError):
    """A folder without a set-up file or a store.

    Args:
        folder: The folder.
    """

    def __init__(self, folder: Path) -> None:
        name = sanitize(str(folder.resolve()), 200)
        there = sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))
        tables = [path for path in there if path.lower().endswith((".csv", ".xlsx", ".xls", ".txt", ".tsv", ".ods"))]
        if tables:
            shown = ", ".join(sanitize(path, 60) for path in tables[:3]) + (" …" if len(tables) > 3 else "")
            hint = (
                f"begin one with roundtui new FOLDER, then roundtui bring FOLDER {sanitize(tables[0], 60)} --as traps"
            )
            super().__init__(f"{name} holds no scouting programme, only {shown}", hint)
        else:
            hint = f"begin one with roundtui new {sanitize(str(folder), 200)}; roundtui demo shows what one is like"
            super().__init__(f"{name} holds no scouting programme", hint)


class Opened(Frozen):
    """A folder that is open."""

    conn: sqlite3.Connection
    """Its store; whoever opened it closes it."""
    report: LoadReport | None = None
    """What newer files brought; None where none were newer."""
    problems: tuple[Problem, ...] = ()
    """What kept newer files from being loaded; the store is as it was before."""


def open_folder(
    folder: Path, *, now: datetime, daily_check: bool = False, tolerant: bool = False, sure: bool = False
) -> Opened:
    """Open a scouting folder, and load its set-up files where they are newer than the store.

    Args:
        folder: The scouting folder.
        now: Instant.
        daily_check: Also check the file and make today's backup, once a day.
        tolerant: Go on with the store as it is where a newer file is faulty, so that a slip in a spreadsheet keeps
            nobody from entering counts. Without a store there is nothing to go on with.
        sure: Whether somebody said that temperatures which look like those of the other unit are right.

    Raises:
        StoreError: The folder holds no scouting programme, or its store cannot be used.
        ProblemsError: A newer file is faulty; nothing was changed, and no store was made.
    """

    def load(conn: sqlite3.Connection) -> LoadReport:
        from roundtui.store.set_up.load import load_folder

        return load_folder(conn, folder, now, sure=sure)

    check_folder(folder)
    path = folder / DB_NAME
    report: LoadReport | None = None
    fresh = not (path.exists() or path.with_name(f"{DB_NAME}-wal").exists())
    if fresh:
        refuse_lost(folder)
        if not files_here(folder):
            raise NoProgrammeError(folder)
        # Loaded before the store is put in its place, so that faulty files leave no empty one behind.
        report = create(path, load)
    conn = open_store(folder, now=now, daily_check=daily_check)
    conn.rescue = _rescue
    try:
        if not newer_files(conn, folder):
            return Opened(conn, report)
        try:
            return Opened(conn, load(conn))
        except ProblemsError as error:
            if not tolerant or fresh:
                raise
            return Opened(conn, None, error.problems)
    except BaseException:
        conn.close()
        raise


def _rescue(conn: Store) -> Path | None:
    """Keep a store whose file was taken away, and the entries that were to go into it, with the person's other state.

    Args:
        conn: The store, which its open file still holds.

    Returns:
        Where it is kept; None where it could not be.
    """
    # Loaded when that happens.
    from roundtui.store.backup import copy_store
    from roundtui.store.record.journal import Author, record
    from roundtui.store.record.lanes import state_folder
    from roundtui.store.record.rows import table_of

    folder = conn.rescued or state_folder() / f"rescued-{conn.path.parent.name}-{os.urandom(4).hex()}"
    try:
        if conn.rescued is None:
            copy_store(conn, folder / DB_NAME)
            conn.rescued = folder
        for entry in conn.unsaved:
            table = table_of(type(entry))
            # Whoever presses Enter again means the same entry.
            said = dict(zip(table.columns, table.values(entry), strict=True))
            del said["id"], said["recorded_at"]
            with closing(open_store(folder, now=entry.recorded_at)) as there:
                where = " AND ".join(f"{name} IS ?" for name in said)
                if not there.execute(f"SELECT 1 FROM {table.name} WHERE {where}", tuple(said.values())).fetchone():  # noqa: S608
                    record(there, [entry], Author(entry.scout, entry.device), entry.recorded_at)
    except (RoundtuiError, OSError):
        return None
    return folder / DB_NAME
