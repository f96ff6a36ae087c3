"""Rows of set-up files into their tables: those that changed, and none that was changed in the app as well."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence

from roundtui.domain.plain import plain
from roundtui.errors import Problem
from roundtui.store.columns import SetUpFile, Values
from roundtui.store.hung_dates import move_dates
from roundtui.store.load_report import FileRead, FileReport, LoadReport
from roundtui.store.row_digests import digest_of, key_of, present_rows
from roundtui.store.trouble import find_troubled

_SHOWN = 40


def apply_all(conn: sqlite3.Connection, read: Sequence[FileRead], report: LoadReport) -> list[Problem]:
    """Put rows that changed into their tables.

    Args:
        conn: The store, inside a transaction that is undone where there are problems.
        read: The files, each after those it refers to.
        report: Takes what was done.

    Returns:
        Rows that were changed in the app as well.
    """
    problems: list[Problem] = []
    for one in read:
        problems += _apply(conn, one, report)
    touched = {
        one.file.table for one in read if report.files[one.file.name].added or report.files[one.file.name].changed
    }
    if touched & {"traps", "lots"}:
        find_troubled(conn)
    return problems


def _apply(conn: sqlite3.Connection, one: FileRead, report: LoadReport) -> list[Problem]:
    file, counts = one.file, report.files.setdefault(one.file.name, FileReport())
    if file.table == "traps":
        move_dates(conn, one, report)
    loaded: dict[str, str] = dict(conn.execute("SELECT key, digest FROM loaded WHERE file = ?", (file.name,)))
    keyed = [(key_of(file, values), digest_of(values), cells, values) for cells, values in one.rows]
    differs = any(loaded.get(key) != digest for key, digest, *_ in keyed)
    present = present_rows(conn, file) if differs else {}
    problems: list[Problem] = []
    wanted: list[Values] = []
    seen: set[str] = set()
    digests: list[tuple[str, str, str]] = []
    for key, digest, cells, values in keyed:
        seen.add(key)
        if loaded.get(key) == digest:
            counts.same += 1
            continue
        digests.append((file.name, key, digest))
        now = present.get(key)
        if now == digest:
            counts.same += 1
        elif now is not None and now != loaded.get(key):
            problems.append(
                Problem(
                    cells.where,
                    f"{_named(file, values)} was changed in the file and in the app as well",
                    "make the two the same in one of them, then load again",
                )
            )
        else:
            counts.added += now is None
            counts.changed += now is not None
            wanted.append(values)
    if problems:
        return problems
    if wanted:
        from sqlite_utils import Database

        Database(conn).table(file.table).upsert_all(wanted, pk=file.key)
    conn.executemany("INSERT OR REPLACE INTO loaded (file, key, digest) VALUES (?, ?, ?)", digests)
    gone = sorted(key for key in loaded if key not in seen)
    if gone:
        named = "; ".join(plain(", ".join(str(part) for part in json.loads(key) if part), _SHOWN) for key in gone[:5])
        more = f" and {len(gone) - 5} more" if len(gone) > 5 else ""
        rows = "a row is" if len(gone) == 1 else f"{len(gone)} rows are"
        report.remarks.append(
            Problem(file.name, f"{rows} no longer in the file: {named}{more}", "what was loaded before stays on record")
        )
    return []


def _named(file: SetUpFile, values: Values) -> str:
    return " ".join(plain(str(part), _SHOWN) for part in file.key_of(values) if part)
