"""Settling set-up rows that are otherwise elsewhere: what stands here is kept, or another's row is taken over."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from roundtui.domain.text import plain
from roundtui.domain.traps.entries import SetUpChanged
from roundtui.errors import RefusedError
from roundtui.store.connect import transaction
from roundtui.store.failures import plainly
from roundtui.store.journal import Author
from roundtui.store.set_up.columns import FILES, SetUpFile, Values
from roundtui.store.set_up.conflicts import Offer, OpenRow, open_rows, values_or_none
from roundtui.store.set_up.office import office_files
from roundtui.store.set_up.row import csv_line, named
from roundtui.store.set_up.row_digests import digest_of, rows_in
from roundtui.store.set_up.versions import SETTLED, Version, becomes_of, heads, record_changes, text_of, write_row
from roundtui.store.trouble import find_troubled

_SHOWN = 40


@dataclass(frozen=True, slots=True)
class NotInFile:
    """A row of the store that its CSV file does not have so."""

    file: SetUpFile
    """The file."""
    label: str
    """The row as people call it."""
    line: str
    """The row as the file can hold it, all columns in the order of the manual."""


def settle_row(conn: sqlite3.Connection, row: OpenRow, kept: Offer | None, author: Author, now: datetime) -> None:
    """Say how a row holds from now on.

    Args:
        conn: The store.
        row: The row, as ``open_rows`` gave it.
        kept: What is taken over; None: it stays as it is here, or away.
        author: Who settles it.
        now: Instant.

    Raises:
        RefusedError: It was changed or settled meanwhile, or what is taken over does not fit the rows here.
        StoreError: The store cannot be written.
    """
    settle_rows(conn, [(row, kept)], author, now)


def settle_rows(
    conn: sqlite3.Connection, choices: Sequence[tuple[OpenRow, Offer | None]], author: Author, now: datetime
) -> None:
    """Say how several rows hold from now on; all of them, or none.

    Args:
        conn: The store.
        choices: Each row, and what is taken over as for ``settle_row``.
        author: Who settles them.
        now: Instant.

    Raises:
        RefusedError: As for ``settle_row``, of the first that cannot be.
        StoreError: The store cannot be written.
    """
    with plainly(conn), transaction(conn):
        still_open = {(row.file.name, row.row): row for row in open_rows(conn)}
        changes = []
        for row, kept in choices:
            if still_open.get((row.file.name, row.row)) != row:
                raise RefusedError(f"{row.file.name} {row.label} was changed or settled meanwhile", "look at it again")
            holds = row.here if kept is None else kept.values
            if kept is not None:
                _refuse_misfit(conn, row, kept.values)
            changes.append(_settled(conn, row, holds, now))
            write_row(conn, row.file, changes[-1].was, changes[-1].becomes)
        record_changes(conn, changes, author, now)
        if any(kept is not None and row.file.table in ("traps", "lots") for row, kept in choices):
            find_troubled(conn)


def _settled(conn: sqlite3.Connection, row: OpenRow, holds: Values | None, now: datetime) -> SetUpChanged:
    """What is said of a row that was changed in two places: it comes after all its versions."""
    found = heads(conn, row.file.name, row.row)
    stands = conn.execute(
        "SELECT version FROM set_up_rows WHERE file = ? AND row = ?", (row.file.name, row.row)
    ).fetchone()
    after = {one.version for one in found} | ({stands[0]} if stands else set())
    wanted = text_of(row.file, holds)
    becomes = next((one.becomes for one in found if text_of(row.file, _values(row, one)) == wanted), wanted)
    return SetUpChanged(
        file=row.file.name,
        row=row.row,
        deed=SETTLED,
        done_on=now.date(),
        was=becomes_of(conn, stands[0]) if stands else "",
        becomes=becomes,
        after=" ".join(sorted(after)),
        trap=(holds or row.here or {}).get("trap"),
        block=(holds or row.here or {}).get("block"),
    )


def _values(row: OpenRow, one: Version) -> Values | None:
    return values_or_none(row.file, one.becomes)


def not_in_files(conn: sqlite3.Connection) -> tuple[NotInFile, ...]:
    """Rows taken over from others, or changed in the app, that the files of this folder do not have so yet.

    Args:
        conn: The store.
    """
    with plainly(conn):
        loaded = {(file, key): digest for file, key, digest in conn.execute("SELECT file, key, digest FROM loaded")}
        if not loaded:
            return ()
        return tuple(
            NotInFile(file, named(file, values), "" if file.whole else csv_line(file, values))
            for file in (*FILES, *office_files(conn))
            for key, values in rows_in(conn, file).items()
            if loaded.get((file.name, key)) != digest_of(file, values)
        )


def _refuse_misfit(conn: sqlite3.Connection, row: OpenRow, values: Values | None) -> None:
    if values is None:
        return
    file, label = row.file, named(row.file, values)
    for reference in file.references:
        wanted = values[reference.column]
        known = f"SELECT 1 FROM {reference.table} WHERE {reference.key} = ? LIMIT 1"  # noqa: S608
        if wanted and conn.execute(known, (wanted,)).fetchone() is None:
            raise RefusedError(
                f"{file.name} {label} needs the {reference.key} {plain(str(wanted), _SHOWN)}, which is not here",
                f"take over its row of {reference.file} first",
            )
    if file.table == "traps":
        has = conn.execute("SELECT species FROM traps WHERE trap = ? LIMIT 1", (values["trap"],)).fetchone()
        if has is not None and has[0] != values["species"]:
            raise RefusedError(
                f"{plain(str(values['trap']), _SHOWN)} is a trap for {has[0]} and cannot become one for"
                f" {values['species']}",
                "a body keeps its species for life: keep the row here, and hang a new trap under a new label",
            )
