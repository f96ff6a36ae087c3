"""Set-up rows in parcels: as they stand on the laptop that packs, and beside those of the laptop that merges."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Collection, Iterator

from roundtui.store.parcels.form import MOST_SET_UP, SET_UP, ParcelError, Why
from roundtui.store.parcels.lines import WrongLineError
from roundtui.store.parcels.manifest import Member
from roundtui.store.parcels.reading import Parcel
from roundtui.store.set_up.columns import FILES, SetUpFile, Values
from roundtui.store.set_up.conflicts import Before
from roundtui.store.set_up.row import BY_NAME, MOST_BEFORE, SetUpRow, csv_line, line_of_row, row_of_line, values_of
from roundtui.store.set_up.row_digests import digest_of, key_of, present_rows, rows_in, said

_NAMED = 5


def set_up_lines(conn: sqlite3.Connection) -> Iterator[bytes]:
    """The set-up as it stands here, as lines of a parcel; the same rows give the same lines.

    Args:
        conn: The store.
    """
    order = Before(conn.execute("SELECT newer, older FROM rows_before ORDER BY newer, older"))
    for file in FILES:
        loaded = dict(conn.execute("SELECT key, digest FROM loaded WHERE file = ?", (file.name,)))
        for key, values in sorted(rows_in(conn, file).items()):
            digest = digest_of(file, values)
            before = [one for one in order.below(digest) if one != digest][:MOST_BEFORE]
            yield line_of_row(SetUpRow(file, values, digest, loaded.get(key), tuple(before)))


def set_up_member(conn: sqlite3.Connection) -> Member:
    """What a manifest would say of the set-up as it stands here.

    Args:
        conn: The store.
    """
    return member_of(list(set_up_lines(conn)))


def member_of(lines: Collection[bytes]) -> Member:
    """What a manifest says of lines of the set-up.

    Args:
        lines: The lines.
    """
    text = b"".join(lines)
    return Member(SET_UP, len(lines), len(text), hashlib.sha256(text).hexdigest(), None, None)


def make_tables(conn: sqlite3.Connection) -> None:
    """Make the temporary tables that hold what parcels bring until all of it is known to be sound.

    Args:
        conn: The store.
    """
    drop_tables(conn)
    conn.execute(
        "CREATE TEMP TABLE incoming_rows (parcel INTEGER NOT NULL, file TEXT NOT NULL, key TEXT NOT NULL,"
        " digest TEXT NOT NULL, row TEXT NOT NULL, in_file INTEGER NOT NULL, device TEXT NOT NULL,"
        " made_at TEXT NOT NULL, PRIMARY KEY (parcel, file, key)) WITHOUT ROWID"
    )
    conn.execute(
        "CREATE TEMP TABLE incoming_before (newer TEXT NOT NULL, older TEXT NOT NULL, PRIMARY KEY (newer, older))"
        " WITHOUT ROWID"
    )


def drop_tables(conn: sqlite3.Connection) -> None:
    """Let go of them.

    Args:
        conn: The store.
    """
    for table in ("incoming_rows", "incoming_before"):
        conn.execute(f"DROP TABLE IF EXISTS temp.{table}")


def stage_set_up(conn: sqlite3.Connection, parcel: Parcel, number: int) -> None:
    """Read the set-up rows of a parcel into the temporary tables; a parcel of before there were any has none.

    Args:
        conn: The store.
        parcel: The parcel.
        number: Which of the parcels merged together it is.

    Raises:
        ParcelError: One of the rows is none, or there are too many.
    """
    manifest = parcel.manifest
    if SET_UP not in manifest.members:
        return
    if manifest.members[SET_UP].entries > MOST_SET_UP:
        words = f"{SET_UP} has {manifest.members[SET_UP].entries} rows, and may have {MOST_SET_UP}"
        raise ParcelError(parcel.name, Why.HUGE, words, "do not use it")
    for at, line in parcel.lines(SET_UP):
        try:
            if at > MOST_SET_UP:
                raise WrongLineError(Why.HUGE, f"there are more than {MOST_SET_UP} rows")
            row = row_of_line(line)
            if not _stage(conn, row, number, manifest.device, manifest.made_at):
                raise WrongLineError(Why.LIMITS, "the row is there twice")
        except WrongLineError as error:
            raise ParcelError(parcel.name, error.why, f"line {at} of {SET_UP}: {error.message}") from error


def _stage(conn: sqlite3.Connection, row: SetUpRow, number: int, device: str, made_at: str) -> int:
    text = json.dumps(said(row.values), ensure_ascii=False)
    key = key_of(row.file, row.values)
    in_file = int(row.loaded == row.digest)
    conn.executemany("INSERT OR IGNORE INTO incoming_before VALUES (?, ?)", [(row.digest, one) for one in row.before])
    return conn.execute(
        "INSERT OR IGNORE INTO incoming_rows VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        # An empty name stands for the files of this folder.
        (number, row.file.name, key, row.digest, text, in_file, device or "a laptop without a name", made_at),
    ).rowcount


def add_offers(conn: sqlite3.Connection) -> None:
    """Keep what parcels have otherwise than this laptop, to be settled; no row of the set-up is changed.

    Args:
        conn: The store, inside the transaction of a merge.
    """
    here = {digest for file in FILES for digest in present_rows(conn, file).values()}
    rows = conn.execute("SELECT digest, device, file, row, in_file, made_at FROM temp.incoming_rows")
    conn.executemany(
        "INSERT INTO rows_offered (digest, device, file, row, in_file, made_at) VALUES (?, ?, ?, ?, ?, ?)"
        " ON CONFLICT (digest, device) DO UPDATE SET in_file = excluded.in_file, made_at = excluded.made_at"
        " WHERE (excluded.made_at, excluded.in_file) > (made_at, in_file)",
        [row for row in rows.fetchall() if row[0] not in here],
    )
    conn.execute("INSERT OR IGNORE INTO rows_before SELECT newer, older FROM temp.incoming_before")


def rows_brought(conn: sqlite3.Connection, number: int, file_name: str, labels: Collection[str]) -> str:
    """The rows that a parcel brings for labels that are unknown here, as lines of their CSV files.

    Args:
        conn: The store, with incoming rows in the temporary tables.
        number: Which of the parcels merged together it is.
        file_name: File that the labels belong in.
        labels: The labels.

    Returns:
        Empty where it brings none.
    """
    found: dict[str, list[str]] = {}
    waiting = [(BY_NAME[file_name], labels)]
    for file, wanted in waiting:
        for values in _incoming(conn, number, file):
            if values[file.key[0]] in wanted:
                found.setdefault(file.name, []).append(csv_line(file, values))
                for one in file.references:
                    label = values[one.column]
                    known = f"SELECT 1 FROM {one.table} WHERE {one.key} = ? LIMIT 1"  # noqa: S608
                    if label and conn.execute(known, (label,)).fetchone() is None:
                        waiting.append((BY_NAME[one.file], [label]))
    lines = [f"{name}: {line}" for name, rows in found.items() for line in dict.fromkeys(rows)]
    more = f" and {len(lines) - _NAMED} more" if len(lines) > _NAMED else ""
    return "; ".join(lines[:_NAMED]) + more


def _incoming(conn: sqlite3.Connection, number: int, file: SetUpFile) -> Iterator[Values]:
    rows = conn.execute("SELECT row FROM temp.incoming_rows WHERE parcel = ? AND file = ?", (number, file.name))
    for (text,) in rows.fetchall():
        yield values_of(file, json.loads(text))
