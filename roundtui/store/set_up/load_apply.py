"""Rows of set-up files into their tables: those that changed, and none that was changed in the app as well.

A row changed in both places stays as it is in the store, and the file's is offered beside it until someone settles it.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence

from roundtui.domain.text import plain
from roundtui.errors import Problem
from roundtui.store.set_up.columns import Values
from roundtui.store.set_up.conflicts import offer_row, open_rows
from roundtui.store.set_up.hung_dates import move_dates
from roundtui.store.set_up.load_report import FileRead, FileReport, LoadReport
from roundtui.store.set_up.row import named
from roundtui.store.set_up.row_digests import digest_of, key_of, note_before, present_rows, rows_in
from roundtui.store.trouble import find_troubled

_SHOWN = 40
_SETTLE = "see roundtui conflicts, and settle it in the app"


def apply_all(conn: sqlite3.Connection, read: Sequence[FileRead], report: LoadReport) -> None:
    """Put rows that changed into their tables.

    Args:
        conn: The store, inside a transaction.
        read: The files, each after those it refers to.
        report: Takes what was done, and which rows were changed in both places.
    """
    for one in read:
        _apply(conn, one, report)
    touched = {
        one.file.table for one in read if report.files[one.file.name].added or report.files[one.file.name].changed
    }
    if touched & {"traps", "lots"}:
        find_troubled(conn)


def _apply(conn: sqlite3.Connection, one: FileRead, report: LoadReport) -> None:
    file, counts = one.file, report.files.setdefault(one.file.name, FileReport())
    if file.table == "traps":
        move_dates(conn, one, report)
    loaded: dict[str, str] = dict(conn.execute("SELECT key, digest FROM loaded WHERE file = ?", (file.name,)))
    keyed = [(key_of(file, values), digest_of(file, values), cells, values) for cells, values in one.rows]
    differs = any(loaded.get(key) != digest for key, digest, *_ in keyed)
    present = present_rows(conn, file) if differs else {}
    wanted: list[Values] = []
    contested: list[tuple[str, Problem]] = []
    seen: set[str] = set()
    digests: list[tuple[str, str, str]] = []
    before: list[tuple[str, str]] = []
    for key, digest, cells, values in keyed:
        seen.add(key)
        if loaded.get(key) == digest:
            counts.same += 1
            continue
        digests.append((file.name, key, digest))
        now = present.get(key)
        if key in loaded:
            before.append((digest, loaded[key]))
        if now == digest:
            counts.same += 1
        elif now != loaded.get(key) and (now is not None or key in loaded):
            offer_row(conn, file, values, digest)
            words = f"{named(file, values)} was changed in the file and here as well; it stays as it is here"
            contested.append((digest, Problem(cells.where, words, _SETTLE)))
        else:
            counts.added += now is None
            counts.changed += now is not None
            wanted.append(values)
            if now is not None:
                before.append((digest, now))
    if wanted:
        from sqlite_utils import Database

        Database(conn).table(file.table).upsert_all(wanted, pk=file.key)
    conn.executemany("INSERT OR REPLACE INTO loaded (file, key, digest) VALUES (?, ?, ?)", digests)
    note_before(conn, before)
    if contested:
        asked = {offer.digest for row in open_rows(conn) for offer in row.offers}
        report.contested += [problem for digest, problem in contested if digest in asked]
    gone = sorted(key for key in loaded if key not in seen)
    if gone:
        # A row that was taken over under another key has nothing left under its former one.
        gone = sorted(rows_in(conn, file).keys() & gone)
    if gone:
        listed = "; ".join(plain(", ".join(str(part) for part in json.loads(key) if part), _SHOWN) for key in gone[:5])
        more = f" and {len(gone) - 5} more" if len(gone) > 5 else ""
        rows = "a row is" if len(gone) == 1 else f"{len(gone)} rows are"
        report.remarks.append(
            Problem(
                file.name, f"{rows} no longer in the file: {listed}{more}", "what was loaded before stays on record"
            )
        )
