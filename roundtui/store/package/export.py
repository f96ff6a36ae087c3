"""The record as open files: a data package, and JSON Lines. Everything is in them, what was corrected included."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from roundtui import __version__
from roundtui.domain.text import plain
from roundtui.errors import StoreError
from roundtui.store.failures import plainly
from roundtui.store.files import whole_file
from roundtui.store.lanes import lane_names
from roundtui.store.migrations import SCHEMA_VERSION
from roundtui.store.package.form import (
    DATA,
    DESCRIPTOR,
    FORM,
    OFFICE_FILES,
    OFFICE_RESOURCES,
    Member,
    describe,
    members,
)
from roundtui.store.rows import instant

LINES = "record.jsonl"
"""File of JSON Lines."""
_AT_ONCE = 1000
Keeps = Callable[[Member, dict[str, Any]], bool]
"""Says of a table and a row, by column, whether the row is written."""


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written."""

    rows: dict[str, int]
    """Rows by table."""

    @property
    def total(self) -> int:
        """Rows of all tables."""
        return sum(self.rows.values())


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


def write_package(conn: sqlite3.Connection, folder: Path, to: Path, now: datetime) -> Exported:
    """Write the whole record as a data package: a table a CSV file, and what they are in ``datapackage.json``.

    Args:
        conn: The store.
        folder: The scouting folder, for the office's own files.
        to: Folder to write into; files of an earlier package there are replaced.
        now: Instant of writing.

    Raises:
        StoreError: The store cannot be read, or a file not be written.
    """
    copied = [_copy(folder / name, to / DATA / name) for name in OFFICE_FILES if (folder / name).is_file()]
    for name in OFFICE_FILES:
        if not (folder / name).is_file():
            (to / DATA / name).unlink(missing_ok=True)
    with one_view(conn):
        return Exported(write_tables(conn, to, members(conn), now, beside=copied))


def write_tables(
    conn: sqlite3.Connection,
    to: Path,
    tables: Iterable[Member],
    now: datetime,
    keeps: Keeps | None = None,
    *,
    beside: Sequence[dict[str, Any]] = (),
) -> dict[str, int]:
    """Write tables and what describes them, inside one view of the store.

    Args:
        conn: The store.
        to: Folder to write into.
        tables: The tables, in the order in which they are written.
        now: Instant of writing.
        keeps: Says of a table and a row, by column, whether it is written; None: all are.
        beside: Further files that are described.

    Returns:
        Rows by table.
    """
    rows: dict[str, int] = {}
    resources = []
    for member in tables:
        size, digest, rows[member.name] = _write_table(conn, to / member.path, member, keeps)
        resources.append(describe(member, size, digest))
    resources += beside
    descriptor = {
        "name": "scouting-record",
        "title": "Record of an orchard pest-trapping programme",
        "description": "Set-up and every entry, corrections and withdrawals included. Cells that a spreadsheet would"
        " take for formulas begin with an apostrophe; control characters and backslashes are escaped with a backslash.",
        "profile": "data-package",
        "created": now.isoformat(timespec="seconds"),
        "roundtui": {"form": FORM, "schema": SCHEMA_VERSION, "version": __version__},
        "resources": resources,
    }
    with whole_file(to / DESCRIPTOR) as file:
        file.write((json.dumps(descriptor, indent=1) + "\n").encode())
    return rows


def write_lines(conn: sqlite3.Connection, to: Path, now: datetime) -> Exported:
    """Write the whole record as JSON Lines: first what the file is, then a row of a table on each line.

    Args:
        conn: The store.
        to: Folder to write into.
        now: Instant of writing.

    Raises:
        StoreError: The store cannot be read, or the file not be written.
    """
    rows: dict[str, int] = {}
    head = {"form": FORM, "schema": SCHEMA_VERSION, "version": __version__, "created": instant(now)}
    with one_view(conn), whole_file(to / LINES) as file:
        file.write(_line({"roundtui": head}))
        lanes = lane_names(conn)
        for member in members(conn):
            rows[member.name] = 0
            for row in conn.execute(member.select):
                file.write(_line({"table": member.name} | _typed(member, member.shown(row, lanes))))
                rows[member.name] += 1
    return Exported(rows)


def _line(values: dict[str, Any]) -> bytes:
    """One object; every character that is not plain ASCII is written as an escape, so none can act."""
    return json.dumps(values, separators=(",", ":")).encode("ascii").replace(b"\x7f", b"\\u007f") + b"\n"


def _typed(member: Member, row: tuple[Any, ...]) -> dict[str, Any]:
    values = zip(member.columns, row, member.fields, strict=True)
    return {
        column: value == 1 if field.kind == "boolean" and value is not None else value
        for column, value, (field, _) in values
    }


def _write_table(
    conn: sqlite3.Connection, path: Path, member: Member, keeps: Keeps | None = None
) -> tuple[int, str, int]:
    digest, size, count = hashlib.sha256(), 0, 0
    rows, lanes = conn.execute(member.select), lane_names(conn)
    with whole_file(path) as file:
        batch: list[list[str]] = [list(member.columns)]
        read = True
        while batch or read:
            text = io.StringIO(newline="")
            csv.writer(text, lineterminator="\r\n").writerows(batch)
            content = text.getvalue().encode()
            file.write(content)
            digest.update(content)
            size += len(content)
            found = [member.shown(row, lanes) for row in rows.fetchmany(_AT_ONCE)]
            read = bool(found)
            if keeps is not None:
                found = [row for row in found if keeps(member, dict(zip(member.columns, row, strict=True)))]
            batch = [member.cells(row) for row in found]
            count += len(batch)
    return size, digest.hexdigest(), count


def _copy(file: Path, to: Path) -> dict[str, Any]:
    try:
        content = file.read_bytes()
    except OSError as error:
        raise StoreError(
            f"{plain(str(file), 200)} cannot be read: {error.strerror or error}", "check who may read it"
        ) from error
    with whole_file(to) as copy:
        copy.write(content)
    name, words = OFFICE_RESOURCES[file.name]
    return {
        "name": name,
        "description": words,
        "path": f"{DATA}/{file.name}",
        "format": "toml",
        "mediatype": "application/toml",
        "encoding": "utf-8",
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
    }
