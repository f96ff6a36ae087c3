"""Packing: a laptop's entries, all or since a mark, into one file that any number of others can merge.

The set-up as it stands goes with them, to be held against that of the laptop that merges. A bundle holds whatever its
entries refer to as well, so that it can be merged before those packed earlier.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import zipfile
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from roundtui import __version__
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import RefusedError, StoreError
from roundtui.store.backup import copy_sound, is_store
from roundtui.store.connect import open_store
from roundtui.store.db import AT_ONCE, DB_NAME, SCHEMA_VERSION, one_view
from roundtui.store.exchange.lines import (
    ENTRIES,
    FORMAT,
    FORMAT_VERSION,
    MANIFEST,
    MOST_BYTES,
    MOST_RATIO,
    RATIO_FROM,
    SUFFIX,
    line_of,
)
from roundtui.store.exchange.reading import digest_of_ids
from roundtui.store.failures import unwritable
from roundtui.store.files import scratch, to_disk, unfinished
from roundtui.store.record.lanes import lane_ends, lane_names, own_lane_name, pair_of
from roundtui.store.record.rows import JOURNALS, SET_UP_CHANGES, WITHDRAWALS, Row, Table, holding, instant, is_sound


class Packed(Frozen):
    """What was packed."""

    kinds: Mapping[str, int]
    """Entries by kind."""
    sha256: str
    """SHA-256 of the entries as they are packed, in hexadecimal."""
    last: str
    """Highest id; empty where it holds no entry."""

    @property
    def entries(self) -> int:
        """How many entries it holds."""
        return sum(self.kinds.values())


class Since(Frozen):
    """A mark that a bundle begins after; without any it holds everything."""

    entry: str | None = None
    """Only entries with a later id, or written after it."""
    at: datetime | None = None
    """Only entries recorded at or after an instant."""
    leave_out: Collection[str] = ()
    """No entries of these lanes, by name."""

    def __str__(self) -> str:
        return self.entry or (instant(self.at) if self.at else "")


def pack(
    conn: sqlite3.Connection, to: Path, device: str, now: datetime, since: Since | None = None, *, over: bool = False
) -> Packed:
    """Write a bundle; it appears whole or not at all.

    Args:
        conn: The store.
        to: The file.
        device: The laptop that packs.
        now: Instant of packing.
        since: What it begins after; None: everything.
        over: Whether to put it in place of one that is there.

    Returns:
        What is in it.

    Raises:
        RefusedError: The file is there already, or the mark is unknown.
        StoreError: The store cannot be read, or the file not be written; or an entry is not what it was.
    """
    since = since or Since()
    name = sanitize(str(to), 200)
    if to.exists() and not over:
        raise RefusedError(f"{name} is there already", "name a new file")
    pair = pair_of(own_lane_name(conn))
    try:
        with unfinished(to) as new:
            with _snapshot(conn, since):
                try:
                    packed = _fill(conn, new, _Box(device, pair, now, since))
                except _TooTightError:
                    packed = _fill(conn, new, _Box(device, pair, now, since, zipfile.ZIP_STORED))
            to_disk(new)
            new.replace(to)
            to_disk(to.parent)
    except OSError as error:
        raise unwritable(to, error) from error
    return packed


@contextmanager
def as_bundle(path: Path) -> Iterator[Path]:
    """A bundle as it is; of a store, such as a backup, one that holds all its entries for as long as it is needed.

    Args:
        path: The file.

    Raises:
        StoreError: It cannot be read, or is a damaged store.
    """
    if not path.is_file() or not is_store(path):
        yield path
        return
    with scratch() as place:
        copy_sound(path, place / DB_NAME)
        now = datetime.fromtimestamp(path.stat().st_mtime, UTC)
        with closing(open_store(place, now=now)) as conn:
            pack(conn, place / f"{path.stem}{SUFFIX}", path.stem, now)
        yield place / f"{path.stem}{SUFFIX}"


def ids_to_pack(conn: sqlite3.Connection, since: Since) -> str:
    """Digest of the ids of the entries that a bundle would hold.

    Args:
        conn: The store.
        since: What the bundle would begin after.
    """
    with _snapshot(conn, since):
        return digest_of_ids(one for (one,) in conn.execute("SELECT id FROM temp.packed"))


@contextmanager
def _snapshot(conn: sqlite3.Connection, since: Since) -> Iterator[None]:
    """The ids to pack, in ``temp.packed``, and one unchanging view of the store to read them from."""
    with one_view(conn):
        conn.execute("DROP TABLE IF EXISTS temp.packed")
        conn.execute(
            "CREATE TEMP TABLE packed (kind TEXT NOT NULL, id TEXT NOT NULL, PRIMARY KEY (kind, id)) WITHOUT ROWID"
        )
        _choose(conn, since)
        yield


def _choose(conn: sqlite3.Connection, since: Since) -> None:
    if since.entry is not None and holding(conn, since.entry, JOURNALS) is None:
        raise RefusedError(f"there is no entry {sanitize(since.entry, 60)}", "name the last id of the bundle before")
    lanes = lane_names(conn)
    left_out = [lane for lane, name in lanes.items() if name in since.leave_out]
    marks = ", ".join("?" * len(left_out))
    values = (since.entry or "", instant(since.at) if since.at else "", *left_out)
    for table in JOURNALS:
        # Where a clock was set back, ids went back with it: what was written later counts as later too.
        later = f"(id > ?1 OR rowid > (SELECT rowid FROM {table.name} WHERE id = ?1))"  # noqa: S608
        conn.execute(
            f"INSERT INTO temp.packed SELECT '{table.name}', id FROM {table.name}"  # noqa: S608
            f" WHERE {later} AND recorded_at >= ?2 AND lane NOT IN ({marks})",
            values,
        )
    if not (since.entry or since.at or left_out):
        return
    # A change of a row means little without those before it, and an entry without its trap.
    if not left_out and conn.execute("SELECT 1 FROM temp.packed LIMIT 1").fetchone():
        conn.execute("INSERT OR IGNORE INTO temp.packed SELECT ?1, id FROM set_up_changes", (SET_UP_CHANGES.name,))
    # An entry goes with what it corrects or withdraws, whatever kind and however long ago.
    for table in JOURNALS:
        if table is not WITHDRAWALS:
            conn.execute(
                "INSERT OR IGNORE INTO temp.packed SELECT ?1, e.id FROM withdrawals AS w"  # noqa: S608
                f" JOIN {table.name} AS e ON e.id = w.entry WHERE w.id IN (SELECT id FROM temp.packed WHERE kind = ?2)",
                (table.name, WITHDRAWALS.name),
            )
    for table in JOURNALS:
        conn.execute(
            "INSERT OR IGNORE INTO temp.packed WITH RECURSIVE before(id) AS ("  # noqa: S608
            f"SELECT e.replaces FROM {table.name} AS e WHERE e.replaces IS NOT NULL"
            f" AND e.id IN (SELECT id FROM temp.packed WHERE kind = ?1) UNION"
            f" SELECT e.replaces FROM before JOIN {table.name} AS e ON e.id = before.id WHERE e.replaces IS NOT NULL)"
            f" SELECT ?1, before.id FROM before JOIN {table.name} USING (id)",
            (table.name,),
        )


class _Box(Frozen):
    """What is said of a bundle as a whole, and how it is packed."""

    device: str
    pair: str
    now: datetime
    since: Since
    method: int = zipfile.ZIP_DEFLATED

    def info(self, name: str) -> zipfile.ZipInfo:
        """A member about to be written."""
        at = max(self.now.astimezone(UTC), datetime(1980, 1, 1, tzinfo=UTC))
        info = zipfile.ZipInfo(name, (at.year, at.month, at.day, at.hour, at.minute, at.second))
        info.compress_type = self.method
        info.external_attr = 0o644 << 16
        return info


def _fill(conn: sqlite3.Connection, path: Path, box: _Box) -> Packed:
    with zipfile.ZipFile(path, "w") as file:
        packed, member = _write(conn, file, box)
        if member["bytes"] > MOST_BYTES:
            raise RefusedError("there is too much for one bundle", "pack it in parts with --since")
        said = {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "program": f"roundtui {__version__}",
            "made_at": instant(box.now),
            "device": box.device,
            "scouts": _scouts(conn),
            "since": str(box.since) or None,
            "members": {ENTRIES: member},
            "pair": box.pair,
            "lanes": lane_ends(conn),
            "kinds": packed.kinds,
            "without": list(box.since.leave_out),
            "schema": SCHEMA_VERSION,
        }
        file.writestr(box.info(MANIFEST), json.dumps(said, indent=1, ensure_ascii=False) + "\n")
    return packed


def _scouts(conn: sqlite3.Connection) -> list[str]:
    found: set[str] = set()
    for table in JOURNALS:
        found |= {
            row[0]
            for row in conn.execute(
                f"SELECT DISTINCT scout FROM {table.name} JOIN temp.packed AS p USING (id) WHERE p.kind = ?",  # noqa: S608
                (table.name,),
            )
        }
    return sorted(found)


def _write(conn: sqlite3.Connection, file: zipfile.ZipFile, box: _Box) -> tuple[Packed, dict[str, Any]]:
    """Write the entries; what was packed, and what the manifest says of it."""
    lanes, info = lane_names(conn), box.info(ENTRIES)
    digest, size, kinds, ids = hashlib.sha256(), 0, Counter[str](), []
    with file.open(info, "w") as member:
        for table in JOURNALS:
            columns = ", ".join(f"e.{column}" for column in table.whole.split(", "))
            rows = conn.execute(
                f"SELECT {columns} FROM temp.packed AS p CROSS JOIN {table.name} AS e ON e.id = p.id"  # noqa: S608
                " WHERE p.kind = ? ORDER BY p.id",
                (table.name,),
            )
            while batch := rows.fetchmany(AT_ONCE):
                text = b"".join(_line(table, row, lanes) for row in batch)
                member.write(text)
                digest.update(text)
                size += len(text)
                kinds[table.kind or "other"] += len(batch)
                ids += [batch[0][0], batch[-1][0]]
    if size > RATIO_FROM and size > MOST_RATIO * info.compress_size:
        raise _TooTightError
    packed = Packed(kinds, digest.hexdigest(), max(ids, default=""))
    said = {"entries": packed.entries, "bytes": size, "sha256": packed.sha256}
    return packed, said | {"first": min(ids, default=None), "last": packed.last or None}


def _line(table: Table, row: Row, lanes: Mapping[int, str]) -> bytes:
    """An entry as a line; its digest must be that of what it says."""
    if not is_sound(table, row, lanes):
        raise StoreError(f"entry {row[0]} is not what was recorded", "see roundtui verify, and keep the file as it is")
    return line_of(table, row, lanes)


class _TooTightError(Exception):
    """What is packed shrinks so much that it would be taken for a bomb."""
