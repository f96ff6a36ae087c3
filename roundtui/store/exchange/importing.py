"""Reading a data package that the export wrote: what it says of itself, and the rows of its tables.

Nothing in the descriptor leads anywhere: tables are sought under their own names beside it, and each must be what the
descriptor says it is before a row of it is believed.

A data package into a new scouting folder, which then says the same as the one it was exported from.
"""

from __future__ import annotations

import csv
import hashlib
import json
import re
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Any

from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store.connect import open_store
from roundtui.store.db import AT_ONCE, SCHEMA_VERSION, migrate, transaction
from roundtui.store.exchange import merge, reading
from roundtui.store.exchange.lines import WrongLineError, decoded_object, row_of
from roundtui.store.exchange.package import (
    DATA,
    DESCRIPTOR,
    FORM,
    KEPT,
    KEPT_KEYS,
    WANTED,
    WEATHER,
    Field,
    Member,
    PackageError,
    described,
    is_carried,
    members,
    resource_of,
)
from roundtui.store.failures import plainly
from roundtui.store.files import csv_text, plain_text, regular, whole_file, whole_folder
from roundtui.store.folder import open_folder
from roundtui.store.record.read import put_setting
from roundtui.store.record.rows import JOURNALS, OTHERS, Row, Table
from roundtui.store.set_up.columns import BY_NAME, FILES

MOST_DESCRIPTOR = 4 * 1024 * 1024
"""Longest descriptor. [bytes]"""
MOST_FILE = 1024 * 1024 * 1024
"""Largest file of a package. [bytes]"""
_PIECE = 1 << 20
_NAME = re.compile("[a-z_]{1,40}")


class Package(Frozen):
    """A package whose descriptor was read and whose files are as it says."""

    folder: Path
    """Where it is."""
    name: str
    """How messages name it."""
    files: Mapping[str, Path]
    """Its files by name, tables without their ending."""
    schema: int
    """Schema of the store it was written from."""
    columns: Mapping[str, Mapping[str, Mapping[str, Any]]]
    """Of each table, what the descriptor says of its columns, by name."""
    kinds: Mapping[str, str]
    """Tables of entries that are unknown here, and the kind of each."""
    strangers: tuple[str, ...]
    """Files that the descriptor names and that are no part of such a package; they are not read."""
    missing: tuple[str, ...] = ()
    """What decides what is shown or withheld and was not looked for when the package was written."""

    def rows(self, member: Member | str) -> Iterator[tuple[int, dict[str, Any]]]:
        """Rows of a table by column, each with its line; what is at its default is left out.

        Args:
            member: The table; its name where it is of a kind of entries that is unknown here. Columns that are unknown
                here are read as the descriptor says.

        Raises:
            PackageError: A row cannot be read.
        """
        name, only, known = str(member), False, dict[str, Field]()
        if isinstance(member, Member):
            name, only = member.name, member.journal is None
            known = dict(zip(member.columns, member.fields, strict=True))
        fields: list[Field] = []
        for line, header, cells in self.cells(name, tuple(known) if only else ()):
            fields = fields or [known.get(one) or described(self.columns[name].get(one, {})) for one in header]
            row = {}
            for column, field, cell in zip(header, fields, cells, strict=True):
                try:
                    value = field.read(cell)
                except ValueError as error:
                    raise self.wrong(name, line, f"{column} is no {field.kind}") from error
                if not field.optional or value != field.default:
                    row[column] = value
            yield line, row

    def cells(self, name: str, columns: tuple[str, ...]) -> Iterator[tuple[int, list[str], list[str]]]:
        """Rows of a table as the texts of its cells, each with its line and the header.

        Args:
            name: The table.
            columns: Its columns, where it may have no other.

        Raises:
            PackageError: A row is none.
        """
        with self.files[name].open(encoding="utf-8", newline="") as file:
            reader = csv.reader(file, strict=True)
            line = 1
            try:
                header = next(reader, [])
                if len(set(header)) != len(header):
                    raise self.wrong(name, 1, "a column is there twice")
                if columns and tuple(header) != columns:
                    raise self.wrong(name, 1, f"its columns are not {', '.join(columns)}")
                for cells in reader:
                    line = reader.line_num
                    if len(cells) != len(header):
                        raise self.wrong(name, line, f"{len(cells)} fields where the header has {len(header)}")
                    yield line, header, list(map(plain_text, cells))
            except (csv.Error, ValueError) as error:
                raise self.wrong(name, line, str(error)) from error

    def wrong(self, name: str, line: int, words: str) -> PackageError:
        """What is said of a row that cannot be taken.

        Args:
            name: Its table.
            line: Its line.
            words: What is wrong with it.
        """
        return PackageError(f"{self.name}: line {line} of {DATA}/{name}.csv: {sanitize(words, 200)}")


def open_package(where: Path, members: tuple[Member, ...]) -> Package:
    """Read the descriptor of a package, and hold every file against it.

    Args:
        where: The package's folder, or its ``datapackage.json``.
        members: The tables it must hold.

    Raises:
        PackageError: It is no package of roundtui, is newer than this program, or a file is missing or was changed.
    """
    folder = where.parent if where.name == DESCRIPTOR else where
    name = sanitize(str(folder), 200)
    said = _descriptor(folder / DESCRIPTOR, name)
    about = said.get("roundtui")
    if not isinstance(about, dict) or not isinstance(about.get("form"), int):
        raise PackageError(f"{name} is a data package, but none of roundtui", "name one that roundtui export wrote")
    if about["form"] > FORM or not isinstance(about.get("schema"), int):
        raise PackageError(f"{name} was written by a newer roundtui", "install the newer version on this computer")
    listed = _listed(said, name)
    columns = {one: _columns(resource, name) for one, resource in listed.items()}
    files: dict[str, Path] = {}
    for member in members:
        # A package of an older program lacks the tables that came later.
        if member.name in listed or about["schema"] >= SCHEMA_VERSION:
            files[member.name] = _checked(folder, f"{member.name}.csv", listed.pop(member.name, None), name)
    for resource in list(listed.values()):
        file = str(resource.get("path", "")).removeprefix(f"{DATA}/")
        if is_carried(file) and resource["name"] == resource_of(file)[0]:
            files[file] = _checked(folder, file, listed.pop(resource["name"]), name)
    kinds = {
        other: said["kind"]
        for other, said in listed.items()
        if isinstance(said.get("kind"), str) and _NAME.fullmatch(other)
    }
    for other in kinds:
        files[other] = _checked(folder, f"{other}.csv", listed.pop(other), name)
    strangers = tuple(sorted(sanitize(other, 60) for other in listed))
    missing = () if about.get("whole") is True else tuple(WANTED.keys() - files.keys())
    return Package(folder, name, files, about["schema"], columns, kinds, strangers, missing)


def _descriptor(path: Path, name: str) -> dict[str, Any]:
    try:
        if regular(path).stat().st_size > MOST_DESCRIPTOR:
            raise PackageError(f"{name}: {DESCRIPTOR} is too large", "name one that roundtui export wrote")
        said = json.loads(path.read_bytes())
    except FileNotFoundError:
        raise PackageError(f"{name} holds no {DESCRIPTOR}", "name the folder that roundtui export wrote") from None
    except OSError as error:
        raise PackageError(f"{name} cannot be read: {error.strerror or error}", "check the name") from error
    except (ValueError, RecursionError) as error:
        raise PackageError(f"{name}: {DESCRIPTOR} is no JSON") from error
    if not isinstance(said, dict):
        raise PackageError(f"{name}: {DESCRIPTOR} is no JSON object")
    return said


def _listed(said: Mapping[str, Any], name: str) -> dict[str, dict[str, Any]]:
    resources = said.get("resources")
    if not isinstance(resources, list) or not all(
        isinstance(one, dict) and isinstance(one.get("name"), str) for one in resources
    ):
        raise PackageError(f"{name}: {DESCRIPTOR} lists no resources")
    listed = {one["name"]: one for one in resources}
    if len(listed) != len(resources):
        raise PackageError(f"{name}: {DESCRIPTOR} lists a resource twice")
    return listed


def _columns(resource: Mapping[str, Any], name: str) -> dict[str, Mapping[str, Any]]:
    schema = resource.get("schema", {})
    fields = schema.get("fields", []) if isinstance(schema, dict) else None
    if not isinstance(fields, list) or not all(
        isinstance(one, dict) and isinstance(one.get("name"), str) for one in fields
    ):
        raise PackageError(f"{name}: {DESCRIPTOR} does not say what columns {sanitize(resource['name'], 40)} has")
    return {one["name"]: one for one in fields}


def _checked(folder: Path, file: str, resource: dict[str, Any] | None, name: str) -> Path:
    path = folder / DATA / file
    if resource is None:
        raise PackageError(f"{name} is incomplete: {DATA}/{file} is not in it")
    if resource.get("path") != f"{DATA}/{file}":
        raise PackageError(f"{name}: the path of {file} leads elsewhere")
    digest, size = hashlib.sha256(), 0
    try:
        with regular(path).open("rb") as opened:
            while (piece := opened.read(_PIECE)) and size <= MOST_FILE:
                digest.update(piece)
                size += len(piece)
    except OSError as error:
        raise PackageError(f"{name} is incomplete: {DATA}/{file}: {error.strerror or error}") from error
    if size > MOST_FILE:
        raise PackageError(f"{name}: {DATA}/{file} is too large", "bring it in parts, as bundles")
    if resource.get("hash") != f"sha256:{digest.hexdigest()}":
        raise PackageError(
            f"{name}: {DATA}/{file} was changed since it was exported",
            "export it again where it comes from, or change the set-up after the import",
        )
    return path


def import_package(folder: Path, package: Path, now: datetime) -> tuple[Package, dict[str, int], int]:
    """Make a scouting folder of a package; it is there whole, or not at all.

    Args:
        folder: The folder to make; one that is there must be empty.
        package: The package's folder, or its ``datapackage.json``.
        now: Instant of the import.

    Returns:
        The package, how many rows of each table it brought, and how many entries say what only a newer program knows.

    Raises:
        RefusedError: The folder holds something, or the package is not what an export wrote.
        ProblemsError: Its set-up cannot be.
        StoreError: The folder cannot be written.
    """
    name = sanitize(str(folder), 200)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RefusedError(f"{name} is there already", "name a new or an empty folder")
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as pattern:
        migrate(pattern)
        tables = members(pattern)
    read = open_package(package, tables)
    with whole_folder(folder) as new:
        return read, *_fill(new, read, tables, now)


def _fill(folder: Path, package: Package, tables: tuple[Member, ...], now: datetime) -> tuple[dict[str, int], int]:
    """Entries first, so that the set-up files, written after them, say nothing new."""
    by_name = {member.name: member for member in tables}
    with closing(open_store(folder, now=now)) as conn:
        entries, newer = _add_entries(conn, package, tables, now)
    for file in FILES:
        name = file.name.removesuffix(".csv")
        if name in package.files:
            columns = by_name[name].columns
            lines = [cells for _, _, cells in package.cells(name, columns)]
            (folder / file.name).write_bytes(csv_text([columns, *lines], quoted=True).encode())
    for name in filter(is_carried, package.files):
        if name != KEPT:
            with whole_file(folder / name) as carried:
                carried.write(package.files[name].read_bytes())
    try:
        opened = open_folder(folder, now=now)
    except ProblemsError as error:
        message = f"{package.name} cannot be imported; nothing was changed"
        raise ProblemsError(message, error.problems, "correct them where it comes from, and export again") from error
    report = opened.report
    read = report.files.items() if report else ()
    rows = {BY_NAME[name].table: file.added + file.changed + file.same for name, file in read}
    with closing(opened.conn) as conn:
        for table in WEATHER:
            if table in package.files:
                rows[table] = _add_weather(conn, package, by_name[table])
        if KEPT in package.files:
            _keep(conn, package)
    return rows | entries, newer


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
        for line, row in package.rows(member):
            try:
                conn.execute(statement, [row[column] for column in member.columns])
            except sqlite3.IntegrityError as error:
                raise package.wrong(member.name, line, f"it breaks a limit: {error}") from error
            count += 1
    return count


def _add_entries(
    conn: sqlite3.Connection, package: Package, tables: tuple[Member, ...], now: datetime
) -> tuple[dict[str, int], int]:
    """Entries, checked as those of a bundle are, each against its own digest."""
    with plainly(conn), reading.tables(conn):
        known = [member for member in tables if member.journal is not None and member.name in package.files]
        listed: list[Member | str] = [*known, *package.kinds]
        for member in listed:
            rows = _entries(package, member)
            while batch := list(islice(rows, AT_ONCE)):
                try:
                    reading.add(conn, [row for _, row in batch])
                except reading.WrongRowError as error:
                    name = member if isinstance(member, str) else member.name
                    raise package.wrong(name, batch[error.at][0], error.message) from error
        today, newer = now.astimezone().date(), package.schema > SCHEMA_VERSION
        added, extra = merge.take_staged(conn, package.name, today, newer=newer)
    return {table.name: added[table.kind] for table in JOURNALS}, added[OTHERS.kind] + extra


def _entries(package: Package, member: Member | str) -> Iterator[tuple[int, tuple[Table, Row]]]:
    newer = package.schema > SCHEMA_VERSION
    name = member if isinstance(member, str) else member.name
    kind = member.journal.kind if isinstance(member, Member) and member.journal else package.kinds.get(name, "")
    for line, row in package.rows(member):
        said = {"kind": kind, **row}
        extra, digest = said.pop("extra", ""), str(said.pop("sha256", ""))
        try:
            yield line, row_of(said | (decoded_object(extra.encode()) if extra else {}), digest, newer=newer)
        except (WrongLineError, UnicodeEncodeError) as error:
            raise package.wrong(name, line, str(error)) from error
