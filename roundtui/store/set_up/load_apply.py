"""Rows of set-up files into their tables: those that changed, and none that was changed in the app as well.

A row changed in both places stays as it is in the store, and the file's is offered beside it until someone settles it.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import Enum
from pathlib import Path

from roundtui.domain.text import plain
from roundtui.domain.traps.entries import SetUpChanged
from roundtui.errors import Problem
from roundtui.store.csv_file import Cells, CsvRow
from roundtui.store.device import device_name
from roundtui.store.failures import Store
from roundtui.store.journal import Author
from roundtui.store.set_up.columns import SetUpFile, Values, file_of
from roundtui.store.set_up.conflicts import open_rows
from roundtui.store.set_up.hung_dates import move_dates
from roundtui.store.set_up.load_report import FileRead, FileReport, LoadReport
from roundtui.store.set_up.office import office_here, text_in
from roundtui.store.set_up.row import named
from roundtui.store.set_up.row_digests import digest_of, key_of, key_text, rows_in
from roundtui.store.set_up.versions import (
    FILES_SAY,
    LOADED,
    after_now,
    becomes_of,
    heads,
    record_changes,
    row_of,
    text_of,
    version_of,
)
from roundtui.store.trouble import find_troubled

_SHOWN = 40
_SETTLE = "see roundtui conflicts, and settle it in the app"


def apply_all(conn: sqlite3.Connection, read: Sequence[FileRead], report: LoadReport, now: datetime) -> None:
    """Put rows that changed into their tables, and on record.

    Args:
        conn: The store, inside a transaction.
        read: The files, each after those it refers to.
        report: Takes what was done, and which rows were changed in both places.
        now: Instant of loading.
    """
    for one in read:
        _apply(conn, one, report, now)
    touched = {
        one.file.table for one in read if report.files[one.file.name].added or report.files[one.file.name].changed
    }
    if touched & {"traps", "lots"}:
        find_troubled(conn)


def _version(file: SetUpFile, change: SetUpChanged) -> str:
    return version_of(file.name, change.row, change.becomes, change.after.split())


def _waits(conn: sqlite3.Connection, file: SetUpFile, place: tuple[str, str], version: str) -> bool:
    """Whether what the file had last waits to be settled."""
    return version != place[1] and any(one.version == version for one in heads(conn, file.name, place[0]))


class _Came(Enum):
    """How a row of a file stands to the row here."""

    SAME = 1
    NEW = 2
    CHANGED = 3
    CONTESTED = 4


@dataclass(slots=True)
class _Found:
    """What a file brings: rows to write, what is said of them, and what waits to be settled."""

    wanted: list[Values] = field(default_factory=list)
    standing: list[SetUpChanged] = field(default_factory=list)
    beside: list[SetUpChanged] = field(default_factory=list)
    contested: list[tuple[str, Problem]] = field(default_factory=list)
    digests: list[tuple[str, str, str, str]] = field(default_factory=list)
    last: _Came = _Came.SAME

    def look_at(
        self,
        conn: sqlite3.Connection,
        row: tuple[SetUpFile, str, str, Values],
        known: tuple[str, str] | None,
        here: Values | None,
        now: datetime,
    ) -> None:
        """Take a row that is otherwise than when the file was loaded last."""
        file, key, digest, values = row
        place = row_of(conn, file.name, key)
        present = digest_of(file, here) if here is not None else None
        self.last = _Came.SAME
        if present == digest and place[1] and known is not None and _waits(conn, file, place, known[1]):
            # The file was mended: it says now what stands here, and nobody need settle it.
            change = _changed(conn, file, place, here, values, now=now)
            change = replace(change, after=" ".join(sorted({*change.after.split(), known[1]})))
            self.standing.append(change)
            self.digests.append((file.name, key, digest, _version(file, change)))
            return
        if present == digest and place[1]:
            self.digests.append((file.name, key, digest, place[1]))
            return
        if present not in (known[0] if known else None, digest):
            self.last = _Came.CONTESTED
            change = _contested(conn, file, values, known, place[0], now=now)
            self.beside.append(change)
        else:
            if present != digest:
                self.last = _Came.NEW if here is None else _Came.CHANGED
            change = _changed(conn, file, place, here, values, now=now)
            self.wanted.append(values)
            self.standing.append(change)
        self.digests.append((file.name, key, digest, _version(file, change)))

    def write(self, conn: sqlite3.Connection, file: SetUpFile, now: datetime) -> None:
        """Write the rows, and put on record what is said of them."""
        if self.wanted:
            from sqlite_utils import Database

            Database(conn).table(file.table).upsert_all(self.wanted, pk=file.key)
        by = Author(FILES_SAY, device_name())
        record_changes(conn, self.standing, by, now)
        record_changes(conn, self.beside, by, now, stand=False)
        conn.executemany("INSERT OR REPLACE INTO loaded (file, key, digest, version) VALUES (?, ?, ?, ?)", self.digests)


def _apply(conn: sqlite3.Connection, one: FileRead, report: LoadReport, now: datetime) -> None:
    file, counts = one.file, report.files.setdefault(one.file.name, FileReport())
    if file.table == "traps":
        move_dates(conn, one, report, now)
    loaded: dict[str, tuple[str, str]] = {
        key: (digest, version)
        for key, digest, version in conn.execute("SELECT key, digest, version FROM loaded WHERE file = ?", (file.name,))
    }
    keyed = [(key_of(file, values), digest_of(file, values), cells, values) for cells, values in one.rows]
    differs = any(loaded.get(key, ("",))[0] != digest for key, digest, *_ in keyed)
    here = rows_in(conn, file) if differs else {}
    found = _Found()
    for key, digest, cells, values in keyed:
        known = loaded.get(key)
        if known is not None and known[0] == digest:
            counts.same += 1
        else:
            found.look_at(conn, (file, key, digest, values), known, here.get(key), now)
            if found.last is _Came.CONTESTED:
                words = f"{named(file, values)} was changed in the file and here as well; it stays as it is here"
                found.contested.append((found.beside[-1].becomes, Problem(cells.where, words, _SETTLE)))
            counts.added += found.last is _Came.NEW
            counts.changed += found.last is _Came.CHANGED
            counts.same += found.last is _Came.SAME
    found.write(conn, file, now)
    seen, contested = {key for key, *_ in keyed}, found.contested
    if contested:
        asked = {text_of(file, offer.values) for row in open_rows(conn) if row.file == file for offer in row.offers}
        report.contested += [problem for becomes, problem in contested if becomes in asked]
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


def _changed(
    conn: sqlite3.Connection,
    file: SetUpFile,
    place: tuple[str, str],
    was: Values | None,
    becomes: Values,
    *,
    now: datetime,
) -> SetUpChanged:
    """What is said of a row that a file changed, after the version that stands."""
    row, version = place
    before = becomes_of(conn, version) if version else text_of(file, was)
    after = after_now(conn, file.name, row, version)
    texts = ("" if file.whole else before, text_of(file, becomes, before))
    return _loaded(file, (row, after), texts, becomes, now)


def _contested(
    conn: sqlite3.Connection, file: SetUpFile, values: Values, known: tuple[str, str] | None, row: str, *, now: datetime
) -> SetUpChanged:
    """What is said of a row that was changed here as well: it comes after what the file had before."""
    if known is not None:
        found = conn.execute("SELECT row FROM set_up_versions WHERE version = ?", (known[1],)).fetchone()
        row = found[0] if found else row
    before = becomes_of(conn, known[1]) if known else ""
    texts = ("" if file.whole else before, text_of(file, values, before))
    return _loaded(file, (row, known[1] if known else ""), texts, values, now)


def _loaded(
    file: SetUpFile, place: tuple[str, str], texts: tuple[str, str], values: Values, now: datetime
) -> SetUpChanged:
    return SetUpChanged(
        file=file.name,
        row=place[0],
        deed=LOADED,
        done_on=now.date(),
        was=texts[0],
        becomes=texts[1],
        after=place[1],
        trap=values.get("trap"),
        block=values.get("block"),
    )


def load_office(
    conn: sqlite3.Connection, folder: Path, report: LoadReport, now: datetime
) -> dict[str, tuple[int, int, str]]:
    """Put the office's own files of a folder on record, where they changed.

    Args:
        conn: The store, inside a transaction.
        folder: The scouting folder.
        report: Takes which were changed in both places.
        now: Instant of loading.

    Returns:
        State of each, by name, as ``files`` keeps it.
    """
    states: dict[str, tuple[int, int, str]] = {}
    here, apart = office_here(folder), LoadReport()
    for name, path in here.items():
        file, text = file_of(name), text_in(path)
        try:
            stat = path.stat()
        except OSError:
            continue
        if file is None or text is None:
            continue
        cells = Cells(CsvRow(0, {}), name)
        read = FileRead(file, stat.st_mtime_ns, stat.st_size, "", [(cells, {"name": name, "text": text})])
        _apply(conn, read, apart, now)
        states[name] = (stat.st_mtime_ns, stat.st_size, digest_of(file, read.rows[0][1]))
    # Rows may be loaded from elsewhere; only of its own folder a store knows that a file was taken away.
    own = isinstance(conn, Store) and conn.path.parent.resolve() == folder.resolve()
    for (name,) in conn.execute("SELECT name FROM files").fetchall() if own else ():
        file = file_of(name)
        if file is not None and file.whole and name not in here:
            _gone(conn, file, now)
    report.contested += apart.contested
    return states


def _gone(conn: sqlite3.Connection, file: SetUpFile, now: datetime) -> None:
    """A file of the office's own that was loaded here and was taken away counts no more."""
    row, version = row_of(conn, file.name, key_text((file.name,)))
    conn.execute("DELETE FROM files WHERE name = ?", (file.name,))
    conn.execute("DELETE FROM loaded WHERE file = ?", (file.name,))
    if version and becomes_of(conn, version):
        conn.execute("DELETE FROM office_files WHERE name = ?", (file.name,))
        after = after_now(conn, file.name, row, version)
        change = _loaded(file, (row, after), ("", ""), {}, now)
        record_changes(conn, [change], Author(FILES_SAY, device_name()), now)
