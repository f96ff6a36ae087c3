"""The register as set-up files: every row as it stands, written so that loading them brings back the same."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import datetime
from pathlib import Path

from roundtui.domain.programme.farm import natural_key
from roundtui.domain.text import sanitize
from roundtui.errors import RefusedError
from roundtui.store.db import one_view
from roundtui.store.failures import unwritable
from roundtui.store.files import csv_text, whole_file
from roundtui.store.office import files_here, office_files, office_here
from roundtui.store.set_up.columns import FILES, SetUpFile, Values, cell, rows_in
from roundtui.store.set_up.versions import THIS_FILE, open_rows

COPIES = "set-up-before"
"""How the folders begin that keep the files as they were."""
_FORMULA = ("=", "+", "-", "@")


def write_set_up(conn: sqlite3.Connection, to: Path) -> dict[str, int]:
    """Write every set-up file that has a row.

    Args:
        conn: The store.
        to: Folder to write into; files of these names there are replaced.

    Returns:
        Rows by file.

    Raises:
        StoreError: The store cannot be read, or a file not be written.
    """
    with one_view(conn):
        contents = {file.name: _content(conn, file) for file in (*FILES, *office_files(conn))}
    written = {}
    for name, (text, rows) in contents.items():
        if rows:
            (to / name).parent.mkdir(parents=True, exist_ok=True)
            with whole_file(to / name) as out:
                out.write(text.encode())
            written[name] = rows
    return written


def write_in_place(conn: sqlite3.Connection, folder: Path, now: datetime) -> tuple[dict[str, int], Path | None]:
    """Write the set-up files of a scouting folder anew; those that differ are kept as they were in a folder beside.

    Args:
        conn: The store, into which the files of the folder were loaded.
        folder: The scouting folder.
        now: Instant.

    Returns:
        Rows by file, and where the former files are; None where there were none.

    Raises:
        RefusedError: A row of a file waits to be settled, and would be lost.
        StoreError: A file cannot be read or written.
    """
    waiting = [row for row in open_rows(conn) if any(THIS_FILE in offer.devices for offer in row.offers)]
    if waiting:
        names = ", ".join(f"{row.file.name} {row.label}" for row in waiting[:5])
        raise RefusedError(
            f"the files have rows that were changed here as well: {sanitize(names, 200)}",
            "settle them first: o at the desk, then u; no file was written",
        )
    before = folder / f"{COPIES}-{now:%Y%m%d-%H%M%S}"
    kept = None
    here = {**files_here(folder), **{name: [path] for name, path in office_here(folder).items()}}
    try:
        for file in (*FILES, *office_files(conn)):
            for path in here.get(file.name, ()):
                copy = before / path.relative_to(folder)
                copy.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(path, copy)
                kept = before
                if path.relative_to(folder).as_posix() != file.name:
                    path.unlink()
    except OSError as error:
        raise unwritable(before, error, "no file was written") from error
    return write_set_up(conn, folder), kept


def like_formulas(conn: sqlite3.Connection) -> tuple[str, ...]:
    """Texts of the register that a spreadsheet may take for formulas; the files hold them as they are.

    Args:
        conn: The store.

    Returns:
        File and column of each, once.
    """
    return tuple(
        dict.fromkeys(
            f"{file.name}, {column}"
            for file in FILES
            for values in rows_in(conn, file).values()
            for column, value in values.items()
            if isinstance(value, str) and value.startswith(_FORMULA)
        )
    )


def _content(conn: sqlite3.Connection, file: SetUpFile) -> tuple[str, int]:
    if file.whole:
        return next(iter(rows_in(conn, file).values()))["text"], 1
    rows = sorted(rows_in(conn, file).values(), key=lambda values: _order(file, values))
    columns = file.columns
    written = ([cell(column, values.get(column)) for column in columns] for values in rows)
    return csv_text([columns, *written]), len(rows)


def _order(file: SetUpFile, values: Values) -> tuple[object, ...]:
    """Rows in the order in which people look for them: by label, stops as they are walked."""
    if file.table == "stops":
        return (natural_key(values["route"]), values["position"], natural_key(values["trap"]))
    if file.table == "traps":
        return (natural_key(values["trap"]), values["hung_on"])
    return tuple(natural_key(str(part)) for part in file.key_of(values))
