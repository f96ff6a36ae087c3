"""Merging parcels: whatever order they come in and however often, the record ends up the same.

Entries are only ever added and an id never means two things, so a merge is the union of what was recorded. A set-up row
that only the other side changed stands as it has it; one that both changed waits to be settled. All of it is read and
checked into temporary tables first; the store is written to in one short transaction at the end, or not.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from pathlib import Path

from roundtui.errors import StoreError
from roundtui.store.connect import transaction
from roundtui.store.failures import Store, plainly
from roundtui.store.lanes import lane_ends, open_next_lane, own_lane
from roundtui.store.migrations import SCHEMA_VERSION
from roundtui.store.parcels import staging
from roundtui.store.parcels.form import ENTRIES, ParcelError
from roundtui.store.parcels.lines import WrongLineError, read_line
from roundtui.store.parcels.manifest import Manifest
from roundtui.store.parcels.merge_checks import (
    refuse_days_to_come,
    refuse_loose_ends,
    refuse_unknown_labels,
    refuse_wrong_clashes,
)
from roundtui.store.parcels.parcel import as_parcel
from roundtui.store.parcels.reading import Parcel, open_parcel
from roundtui.store.read import programme
from roundtui.store.rows import OTHERS, Row, Table
from roundtui.store.set_up.versions import take_in_entries
from roundtui.store.species import know_species

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

    fields: int = 0
    """New entries with fields that only a newer program knows."""
    holds: dict[str, str] = field(default_factory=dict)
    """Which entries the parcels hold, as ``ids_held`` says it."""

    @property
    def unknown(self) -> int:
        """How many of the new ones only a newer program understands."""
        return self.added.get(OTHERS.kind, 0)

    @property
    def new(self) -> int:
        """How many entries were new."""
        return sum(self.added.values())


def merge(
    conn: sqlite3.Connection, paths: Sequence[Path], progress: Progress | None = None, today: date | None = None
) -> MergeReport:
    """Add to the record what parcels hold and the record does not; all of them, or none.

    Args:
        conn: The store.
        paths: The parcels; a store, such as a backup, counts as a parcel of all its entries.
        progress: Is told how far the reading has come.
        today: The day on the wall; visits of days that have not begun anywhere are refused. None: no day is too late.

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
            if today is not None:
                refuse_days_to_come(conn, today, names)
            own = lane_ends(conn).get(own_lane(conn).name, 0)
            set_up = staging.new_set_up(conn)
            fields, holds = staging.with_unknown_fields(conn), staging.ids_held(conn, staged=True)
            added = staging.add_staged(conn)
            try:
                take_in_entries(conn, set_up, newer=any(one.schema > SCHEMA_VERSION for one in manifests))
            except WrongLineError as error:
                raise ParcelError(names, error.why, error.message) from error
            refuse_unknown_labels(conn, programme(conn), names)
            forked = own_lane(conn).no > own
    if forked:
        # A store that was put back by hand would go on where its lane went on elsewhere.
        open_next_lane(conn, conn.path.parent if isinstance(conn, Store) else None)
    know_species(conn)
    read = sum(manifest.entries for manifest in manifests)
    return MergeReport(manifests, added, read - sum(added.values()), fields, holds)


def _stage_all(conn: sqlite3.Connection, paths: Sequence[Path], progress: Progress | None) -> list[Manifest]:
    manifests: list[Manifest] = []
    for path in paths:
        with as_parcel(path) as there, open_parcel(there) as parcel:
            done = 0
            for read in _stage(conn, parcel):
                done += read
                if progress is not None:
                    progress(parcel.name, done, parcel.manifest.entries)
            manifests.append(parcel.manifest)
    return manifests


def _stage(conn: sqlite3.Connection, parcel: Parcel) -> Iterator[int]:
    """Read the entries into their temporary tables, and tell after each batch how many entries that were."""
    newer = parcel.manifest.schema > SCHEMA_VERSION
    lines = parcel.lines(ENTRIES)
    while batch := list(islice(lines, _AT_ONCE)):
        rows: list[tuple[Table, Row]] = []
        for number, line in batch:
            try:
                rows.append(read_line(line, newer=newer))
            except WrongLineError as error:
                raise _wrong(parcel, number, error) from error
        try:
            staging.add(conn, rows)
        except staging.WrongRowError as error:
            raise _wrong(parcel, batch[error.at][0], WrongLineError(error.why, error.message)) from error
        yield len(batch)


def _wrong(parcel: Parcel, number: int, error: WrongLineError) -> ParcelError:
    return ParcelError(parcel.name, error.why, f"line {number} of {ENTRIES}: {error.message}")
