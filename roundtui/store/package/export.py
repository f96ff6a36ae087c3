"""The record as open files: a data package, and JSON Lines. Everything is in them, what was corrected included."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import sqlite3
from collections.abc import Iterator
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
    KEPT,
    KEPT_KEYS,
    Member,
    describe,
    is_carried,
    members,
    resource_of,
)
from roundtui.store.reports.letters import RELEASED
from roundtui.store.rows import instant
from roundtui.store.season.forecast import FORECAST
from roundtui.store.set_up.office import office_content, office_here, office_names

LINES = "record.jsonl"
"""File of JSON Lines."""
_AT_ONCE = 1000


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
    rows: dict[str, int] = {}
    resources = []
    with one_view(conn):
        for member in members(conn):
            size, digest, rows[member.name] = _write_table(conn, to / member.path, member)
            resources.append(describe(member, size, digest))
        carried = dict(_carried(conn, folder))
    resources += [_copy(name, content, to / DATA / name) for name, content in carried.items()]
    for old in (to / DATA).rglob("*"):
        name = old.relative_to(to / DATA).as_posix()
        if name not in carried and is_carried(name):
            old.unlink()
    descriptor = {
        "name": "scouting-record",
        "title": "Record of an orchard pest-trapping programme",
        "description": "Set-up and every entry, corrections and withdrawals included. Cells that a spreadsheet would"
        " take for formulas begin with an apostrophe; control characters and backslashes are escaped with a backslash.",
        "profile": "data-package",
        "created": now.isoformat(timespec="seconds"),
        "roundtui": {"form": FORM, "schema": SCHEMA_VERSION, "version": __version__, "whole": True},
        "resources": resources,
    }
    with whole_file(to / DESCRIPTOR) as file:
        file.write((json.dumps(descriptor, indent=1) + "\n").encode())
    return Exported(rows)


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


def _write_table(conn: sqlite3.Connection, path: Path, member: Member) -> tuple[int, str, int]:
    digest, size, count = hashlib.sha256(), 0, 0
    rows, lanes = conn.execute(member.select), lane_names(conn)
    with whole_file(path) as file:
        batch: list[list[str]] = [list(member.columns)]
        while batch:
            text = io.StringIO(newline="")
            csv.writer(text, lineterminator="\r\n").writerows(batch)
            content = text.getvalue().encode()
            file.write(content)
            digest.update(content)
            size += len(content)
            batch = [member.cells(member.shown(row, lanes)) for row in rows.fetchmany(_AT_ONCE)]
            count += len(batch)
    return size, digest.hexdigest(), count


def _carried(conn: sqlite3.Connection, folder: Path) -> Iterator[tuple[str, bytes]]:
    """What decides what is shown or withheld and is no table: the office's files, and what was said already."""
    here = office_here(folder)
    try:
        for name in sorted(office_names(folder)):
            content = office_content(folder, name, here.get(name))
            if content is not None:
                yield name, content
        for name in (FORECAST, RELEASED):
            if (folder / name).is_file():
                yield name, (folder / name).read_bytes()
    except OSError as error:
        raise StoreError(
            f"a file of {plain(str(folder), 200)} cannot be read: {error.strerror or error}", "check who may read it"
        ) from error
    kept = [row for row in conn.execute("SELECT key, value FROM settings ORDER BY key") if row[0].startswith(KEPT_KEYS)]
    yield KEPT, (json.dumps(dict(kept), indent=1, ensure_ascii=True) + "\n").encode()


def _copy(name: str, content: bytes, to: Path) -> dict[str, Any]:
    with whole_file(to) as copy:
        copy.write(content)
    slug, words = resource_of(name)
    toml = name.endswith(".toml")
    return {
        "name": slug,
        "description": words,
        "path": f"{DATA}/{name}",
        "format": "toml" if toml else "txt",
        "mediatype": "application/toml" if toml else "text/plain",
        "encoding": "utf-8",
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
    }
