"""Settling set-up rows that are otherwise elsewhere: what stands here is kept, or another's row is taken over."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from roundtui.domain.text import plain
from roundtui.errors import RefusedError
from roundtui.store.connect import transaction
from roundtui.store.failures import plainly
from roundtui.store.journal import Author
from roundtui.store.rows import instant
from roundtui.store.set_up.columns import FILES, SetUpFile, Values
from roundtui.store.set_up.conflicts import Before, Offer, OpenRow, open_rows
from roundtui.store.set_up.row import BY_NAME, csv_line, named
from roundtui.store.set_up.row_digests import digest_of, note_before, rows_in
from roundtui.store.species import know_species
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
        still_open = {(row.file.name, row.label, row.digest): row for row in open_rows(conn)}
        order = Before(conn.execute("SELECT newer, older FROM rows_before"))
        for row, kept in choices:
            if still_open.get((row.file.name, row.label, row.digest)) != row:
                raise RefusedError(f"{row.file.name} {row.label} was changed or settled meanwhile", "look at it again")
            if kept is not None:
                _refuse_misfit(conn, row, kept.values)
                _take(conn, row, kept.values)
            _note(conn, order, row, kept.digest if kept is not None else row.digest, (author, now))
        if any(kept is not None and row.file.table in ("traps", "lots") for row, kept in choices):
            find_troubled(conn)
    know_species(conn)


def _note(conn: sqlite3.Connection, order: Before, row: OpenRow, holds: str, by: tuple[Author, datetime]) -> None:
    author, now = by
    passed = [one for one in (row.digest, *(offer.digest for offer in row.offers)) if one and one != holds]
    if holds:
        note_before(conn, ((holds, one) for one in passed))
    conn.executemany(
        "INSERT OR REPLACE INTO rows_settled (kept, passed, against, scout, device, settled_at)"
        " VALUES (?, ?, ?, ?, ?, ?)",
        [(holds, one, int(holds in order.below(one)), author.scout, author.device, instant(now)) for one in passed],
    )


def not_in_files(conn: sqlite3.Connection) -> tuple[NotInFile, ...]:
    """Rows taken over from others, or changed in the app, that the files of this folder do not have so yet.

    Args:
        conn: The store.
    """
    with plainly(conn):
        taken = {digest for (digest,) in conn.execute("SELECT kept FROM rows_settled")} | _changed_here(conn)
        if not taken:
            return ()
        loaded = {(file, key): digest for file, key, digest in conn.execute("SELECT file, key, digest FROM loaded")}
        return tuple(
            NotInFile(file, named(file, values), csv_line(file, values))
            for file in FILES
            for key, values in rows_in(conn, file).items()
            if (digest := digest_of(file, values)) in taken and loaded.get((file.name, key)) != digest
        )


def _changed_here(conn: sqlite3.Connection) -> set[str]:
    rows = conn.execute("SELECT DISTINCT file, becomes FROM set_up_changes WHERE becomes <> ''")
    return {digest_of(BY_NAME[name], json.loads(row)) for name, row in rows if name in BY_NAME}


def _refuse_misfit(conn: sqlite3.Connection, row: OpenRow, values: Values) -> None:
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


def _take(conn: sqlite3.Connection, row: OpenRow, values: Values) -> None:
    file = row.file
    if row.here is not None and file.key_of(row.here) != file.key_of(values):
        # As loaded it stays known under its former key, so that the file, until it follows, does not move it back.
        _change(conn, file, file.key_of(row.here), dict(zip(file.key, file.key_of(values), strict=True)))
    changed = {column: value for column, value in values.items() if column not in file.key}
    if not _change(conn, file, file.key_of(values), changed):
        columns = ", ".join(f'"{column}"' for column in values)
        marks = ", ".join("?" * len(values))
        conn.execute(f"INSERT INTO {file.table} ({columns}) VALUES ({marks})", tuple(values.values()))  # noqa: S608


def _change(conn: sqlite3.Connection, file: SetUpFile, key: Sequence[Any], values: Values) -> int:
    sets = ", ".join(f'"{column}" = ?' for column in values)
    where = " AND ".join(f"{column} = ?" for column in file.key)
    done = conn.execute(f"UPDATE {file.table} SET {sets} WHERE {where}", (*values.values(), *key))  # noqa: S608
    return done.rowcount
