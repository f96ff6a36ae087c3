"""Merging parcels: whatever order they come in and however often, the record ends up the same.

Entries are only ever added and an id never means two things, so a merge is the union of what was recorded. Set-up rows
that are otherwise there are kept beside those here, for somebody to settle. All of it is
read and checked into temporary tables first; the store is written to in one short transaction at the end, or not.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from roundtui.errors import StoreError
from roundtui.store.connect import transaction
from roundtui.store.digests import JOURNALS
from roundtui.store.failures import plainly
from roundtui.store.parcels import staging
from roundtui.store.parcels.form import MEMBERS, ParcelError
from roundtui.store.parcels.lines import LineReader, WrongLineError
from roundtui.store.parcels.manifest import Manifest
from roundtui.store.parcels.merge_checks import refuse_loose_ends, refuse_unknown_labels, refuse_wrong_clashes
from roundtui.store.parcels.reading import Parcel, open_parcel
from roundtui.store.read import programme as read_programme
from roundtui.store.rows import Row, Table
from roundtui.store.set_up.parcel import add_offers, stage_set_up

Progress = Callable[[str, int, int], None]
"""Is told the parcel, how many of its entries were read so far, and how many there are."""

_AT_ONCE = 1000


@dataclass(frozen=True, slots=True)
class MergeReport:
    """What a merge brought."""

    manifests: tuple[Manifest, ...]
    """What each parcel says of itself, in the order given."""
    added: dict[str, int]
    """Entries that were new, by kind."""
    known: int
    """Entries that were on record before, or in two of the parcels."""

    @property
    def new(self) -> int:
        """How many entries were new."""
        return sum(self.added.values())


def merge(conn: sqlite3.Connection, paths: Sequence[Path], progress: Progress | None = None) -> MergeReport:
    """Add to the record what parcels hold and the record does not; all of them, or none.

    Args:
        conn: The store.
        paths: The parcels.
        progress: Is told how far the reading has come.

    Raises:
        ParcelError: One of them is refused; nothing was changed.
        StoreError: A file cannot be read, or the store not be written.
    """
    if conn.in_transaction:
        raise StoreError("parcels are not merged in the middle of another change", "let that one end first")
    with plainly(conn), staging.tables(conn):
        manifests = tuple(_stage_all(conn, paths, progress))
        names = ", ".join(path.name for path in paths)
        with transaction(conn):
            refuse_wrong_clashes(conn, names)
            refuse_loose_ends(conn, names)
            added = {table.kind: add_staged(conn, table) for table in JOURNALS}
            add_offers(conn)
    read = sum(manifest.entries for manifest in manifests)
    return MergeReport(manifests, added, read - sum(added.values()))


def _stage_all(conn: sqlite3.Connection, paths: Sequence[Path], progress: Progress | None) -> list[Manifest]:
    known = read_programme(conn)
    manifests: list[Manifest] = []
    for number, path in enumerate(paths):
        with open_parcel(path) as parcel:
            stage_set_up(conn, parcel, number)
            done = 0
            for member, table in MEMBERS.items():
                if member in parcel.manifest.members:
                    for read in _stage(conn, parcel, member, table):
                        done += read
                        if progress is not None:
                            progress(parcel.name, done, parcel.manifest.entries)
            manifests.append(parcel.manifest)
            refuse_unknown_labels(conn, known, parcel.name, number)
    return manifests


def _stage(conn: sqlite3.Connection, parcel: Parcel, member: str, table: Table) -> Iterator[int]:
    """Read a member into its temporary table, and tell after each batch how many entries that were."""
    reader = LineReader.of(conn, table)
    lines = parcel.lines(member)
    while batch := list(islice(lines, _AT_ONCE)):
        rows: list[Row] = []
        for number, line in batch:
            try:
                rows.append(reader.read(line))
            except WrongLineError as error:
                raise _wrong(parcel, member, number, error) from error
        try:
            staging.add(conn, table, rows)
        except staging.WrongRowError as error:
            wrong = WrongLineError(error.why, error.message)
            raise _wrong(parcel, member, batch[error.at][0], wrong) from error
        yield len(batch)


def _wrong(parcel: Parcel, member: str, number: int, error: WrongLineError) -> ParcelError:
    return ParcelError(parcel.name, error.why, f"line {number} of {member}: {error.message}")


def add_staged(conn: sqlite3.Connection, table: Table) -> int:
    """Put what its temporary table holds and the record does not on record.

    Args:
        conn: The store, inside a transaction; what is staged was checked.
        table: The table.

    Returns:
        How many entries were new.
    """
    done = conn.execute(
        f"INSERT INTO {table.name} ({table.listed}, digest) SELECT {table.listed}, digest"  # noqa: S608
        f" FROM {staging.of(table)} AS new"
        f" WHERE NOT EXISTS (SELECT 1 FROM {table.name} AS known WHERE known.id = new.id) ORDER BY id"
    )
    return done.rowcount
