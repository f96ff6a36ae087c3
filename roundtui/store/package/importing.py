"""A data package into a new scouting folder, which then says the same as the one it was exported from."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path

from roundtui.domain.text import plain
from roundtui.errors import ProblemsError, RefusedError, StoreError
from roundtui.store.connect import open_store, transaction
from roundtui.store.failures import plainly
from roundtui.store.files import unfinished, whole_file
from roundtui.store.folder import open_folder
from roundtui.store.migrations import SCHEMA_VERSION, migrate
from roundtui.store.package.form import KEPT, KEPT_KEYS, WEATHER, Member, PackageError, is_carried, members
from roundtui.store.package.reading import Package, open_package, set_up_file
from roundtui.store.parcels import staging
from roundtui.store.parcels.lines import WrongLineError, row_of
from roundtui.store.parcels.merge_checks import (
    new_beside,
    refuse_days_to_come,
    refuse_impossible,
    refuse_loose_ends,
    refuse_unknown_labels,
    refuse_wrong_clashes,
)
from roundtui.store.read import programme, put_setting
from roundtui.store.rows import JOURNALS, Row, Table
from roundtui.store.set_up.columns import FILES
from roundtui.store.set_up.versions import take_in_entries

_AT_ONCE = 1000


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import brought."""

    rows: dict[str, int]
    """Rows by table."""
    strangers: tuple[str, ...]
    """Resources of the package that were not read."""
    missing: tuple[str, ...] = ()
    """What decides what is shown or withheld and is not in the package."""


def import_package(folder: Path, package: Path, now: datetime) -> Imported:
    """Make a scouting folder of a package; it is there whole, or not at all.

    Args:
        folder: The folder to make; one that is there must be empty.
        package: The package's folder, or its ``datapackage.json``.
        now: Instant of the import.

    Raises:
        RefusedError: The folder holds something, or the package is not what an export wrote.
        ProblemsError: Its set-up cannot be.
        StoreError: The folder cannot be written.
    """
    name = plain(str(folder), 200)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RefusedError(f"{name} is there already", "name a new or an empty folder")
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as pattern:
        migrate(pattern)
        tables = members(pattern)
    read = open_package(package, tables)
    try:
        folder.absolute().parent.mkdir(parents=True, exist_ok=True)
        with unfinished(folder.absolute(), folder=True) as new:
            rows = _fill(new, read, tables, now)
            if folder.exists():
                folder.rmdir()
            new.rename(folder)
    except OSError as error:
        raise StoreError(
            f"{name} cannot be made: {error.strerror or error}", "make room, or check who may write there"
        ) from error
    return Imported(rows, read.strangers, read.missing)


def _fill(folder: Path, package: Package, tables: tuple[Member, ...], now: datetime) -> dict[str, int]:
    """Entries first, so that the set-up files, written after them, say nothing new."""
    by_name = {member.name: member for member in tables}
    with closing(open_store(folder, now=now)) as conn:
        entries = _add_entries(conn, package, tables, now)
    for file in FILES:
        name = file.name.removesuffix(".csv")
        if name in package.files:
            (folder / file.name).write_bytes(set_up_file(package, by_name[name]))
    for name in filter(is_carried, package.files):
        if name != KEPT:
            with whole_file(folder / name) as file:
                file.write(package.files[name].read_bytes())
    try:
        opened = open_folder(folder, now=now)
    except ProblemsError as error:
        message = f"{package.name} cannot be imported; nothing was changed"
        raise ProblemsError(message, error.problems, "correct them where it comes from, and export again") from error
    report = opened.report
    read = report.files.items() if report else ()
    rows = {name.removesuffix(".csv"): file.added + file.changed + file.same for name, file in read}
    with closing(opened.conn) as conn:
        for table in WEATHER:
            if table in package.files:
                rows[table] = _add_weather(conn, package, by_name[table])
        if KEPT in package.files:
            _keep(conn, package)
    return rows | entries


def _keep(conn: sqlite3.Connection, package: Package) -> None:
    try:
        kept = json.loads(package.files[KEPT].read_bytes())
        settings = {key: value for key, value in kept.items() if key.startswith(KEPT_KEYS) and isinstance(value, str)}
    except (ValueError, AttributeError, RecursionError) as error:
        raise PackageError(f"{package.name}: {KEPT} is not what an export writes") from error
    for key, value in settings.items():
        put_setting(conn, key, value)


def _add_weather(conn: sqlite3.Connection, package: Package, member: Member) -> int:
    marks = ", ".join("?" * len(member.columns))
    listed = ", ".join(f'"{column}"' for column in member.columns)
    statement = f"INSERT INTO {member.table} ({listed}) VALUES ({marks})"  # noqa: S608
    count = 0
    with plainly(conn), transaction(conn):
        for line, values in package.rows(member):
            try:
                conn.execute(statement, tuple(values.values()))
            except sqlite3.IntegrityError as error:
                raise package.wrong(member, line, f"it breaks a limit: {error}") from error
            count += 1
    return count


def _add_entries(
    conn: sqlite3.Connection, package: Package, tables: tuple[Member, ...], now: datetime
) -> dict[str, int]:
    """Entries, checked as those of a bundle are, each against its own digest."""
    with plainly(conn), staging.tables(conn):
        for member in _tables_of_entries(package, tables):
            rows = _entries(package, member)
            while batch := list(islice(rows, _AT_ONCE)):
                try:
                    staging.add(conn, [row for _, row in batch])
                except staging.WrongRowError as error:
                    raise package.wrong(member, batch[error.at][0], error.message) from error
        with transaction(conn):
            refuse_wrong_clashes(conn, package.name)
            refuse_loose_ends(conn, package.name)
            refuse_days_to_come(conn, now.astimezone().date(), package.name)
            set_up, beside = staging.new_set_up(conn), new_beside(conn)
            added = staging.add_staged(conn)
            try:
                take_in_entries(conn, set_up, newer=package.schema > SCHEMA_VERSION)
            except WrongLineError as error:
                raise PackageError(f"{package.name}: {error.message}") from error
            known = programme(conn)
            refuse_unknown_labels(conn, known, package.name)
            if package.schema <= SCHEMA_VERSION:
                refuse_impossible(beside, known, package.name)
    return {table.name: added[table.kind] for table in JOURNALS}


def _tables_of_entries(package: Package, tables: tuple[Member, ...]) -> Iterator[Member | str]:
    yield from (member for member in tables if member.journal is not None and member.name in package.files)
    yield from package.kinds


def _entries(package: Package, member: Member | str) -> Iterator[tuple[int, tuple[Table, Row]]]:
    newer = package.schema > SCHEMA_VERSION
    for line, said, digest in package.said(member):
        try:
            yield line, row_of(said, digest, newer=newer)
        except WrongLineError as error:
            raise package.wrong(member, line, error.message) from error


__all__ = ["Imported", "PackageError", "import_package"]
