"""The record held against a copy of it: a backup, another store, a bundle, or a folder of bundles."""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError, StoreError
from roundtui.store.backup import is_store
from roundtui.store.checks.verify import Check
from roundtui.store.db import APPLICATION_ID, DB_NAME, SCHEMA_VERSION
from roundtui.store.failures import plainly, to_read
from roundtui.store.record.rows import JOURNALS, Row, Table

_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Held:
    """An entry that a copy holds."""

    id: str
    """Its id."""
    kind: str
    """Word for its kind."""
    scout: str
    """Who entered it."""
    day: str
    """The day it is about, else that on which it was recorded."""
    digest: bytes
    """Its digest."""

    def __str__(self) -> str:
        return f"{self.kind or 'entry'} {self.id} of {sanitize(self.scout, _SHOWN)}, {self.day},"


def check_against(conn: sqlite3.Connection, copy: Path) -> Iterator[Check]:
    """Look whether the record still has everything that a copy of it knows, and says the same.

    Args:
        conn: The store.
        copy: A backup or store, a bundle, a scouting folder, or a folder that holds bundles.

    Returns:
        A check for each file of the copy.

    Raises:
        StoreError: It cannot be read, or is none of these.
        BundleError: A bundle is not sound.
    """
    with plainly(conn):
        here = digests(conn)
    for path in _files(copy):
        check = Check(f"held against {sanitize(path.name, 80)}")
        for held in entries_of(path):
            check.looked_at += 1
            if held.id not in here:
                check.faults.append(f"{held} is there and not here")
            elif here[held.id] != held.digest:
                check.faults.append(f"{held} says something else there than here")
        yield check


def digests(conn: sqlite3.Connection) -> dict[str, bytes]:
    """The digest of each entry of a store, by id.

    Args:
        conn: The store.
    """
    found: dict[str, bytes] = {}
    for table in JOURNALS:
        found.update(conn.execute(f"SELECT id, digest FROM {table.name}"))  # noqa: S608
    return found


def entries_of(path: Path) -> Iterator[Held]:
    """Every entry that a store or a bundle holds.

    Args:
        path: The file.

    Raises:
        StoreError: It cannot be read, is damaged, or is neither.
        BundleError: It is a bundle that is not sound.
    """
    return _of_store(path) if is_store(path) else _of_bundle(path)


def by_day_and_person(entries: Iterable[Held]) -> list[str]:
    """How many entries there are of each day and person, in words.

    Args:
        entries: The entries.
    """
    found = Counter((one.day, one.scout) for one in entries)
    return [
        f"{day}, {sanitize(scout, _SHOWN)}: {count} {'entry' if count == 1 else 'entries'}"
        for (day, scout), count in sorted(found.items())
    ]


def _files(copy: Path) -> list[Path]:
    from roundtui.store.exchange.form import SUFFIX

    if not copy.is_dir():
        return [copy]
    if (copy / DB_NAME).exists():
        return [copy / DB_NAME]
    found = sorted(path for path in copy.glob(f"*{SUFFIX}") if not path.name.startswith((".", "~")))
    if not found:
        raise StoreError(
            f"{sanitize(str(copy), 200)} holds no store and no bundle", "name a backup, or a file made by pack"
        )
    return found


def _of_store(path: Path) -> Iterator[Held]:
    name = sanitize(str(path), 200)
    try:
        with closing(to_read(path)) as conn:
            if conn.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
                raise StoreError(f"{name} is no store of roundtui", "name a backup, or a file made by pack")
            if conn.execute("PRAGMA user_version").fetchone()[0] > SCHEMA_VERSION:
                raise StoreError(
                    f"{name} was written by a newer roundtui", "install the newer version on this computer"
                )
            conn.execute("BEGIN")
            there = {one for (one,) in conn.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            for table in JOURNALS:
                if table.name in there:
                    day = table.day or "substr(recorded_at, 1, 10)"
                    for row in conn.execute(f"SELECT id, scout, {day}, digest FROM {table.name} ORDER BY id"):  # noqa: S608
                        yield Held(row[0], table.kind, row[1], row[2], row[3])
    except sqlite3.Error as error:
        raise StoreError(f"{name} cannot be read: {sanitize(str(error), 120)}", "name another copy") from error


def _of_bundle(path: Path) -> Iterator[Held]:
    from roundtui.store.exchange.form import ENTRIES, BundleError
    from roundtui.store.exchange.lines import WrongLineError, read_line
    from roundtui.store.exchange.reading import open_bundle

    with open_bundle(path) as bundle:
        newer = bundle.manifest.schema > SCHEMA_VERSION
        for number, line in bundle.lines(ENTRIES):
            try:
                table, row = read_line(line, newer=newer)
            except WrongLineError as error:
                raise BundleError(bundle.name, error.why, f"line {number} of {ENTRIES}: {error.message}") from error
            yield Held(row[0], table.kind, row[2], _day(table, row), row[-1])


def _day(table: Table, row: Row) -> str:
    return str(row[table.columns.index(table.day)] if table.day else row[1][:10])


def lacking(folder: Path, backup: Path) -> list[str]:
    """What is on record in a folder and not in a backup: days, people, and how many entries.

    Args:
        folder: The scouting folder.
        backup: The backup.

    Returns:
        A line for each day and person; none where either file cannot be read, of which ``restore`` speaks.
    """
    try:
        known = {entry.id for entry in entries_of(backup)}
        return by_day_and_person(entry for entry in entries_of(folder / DB_NAME) if entry.id not in known)
    except RoundtuiError:
        return []
