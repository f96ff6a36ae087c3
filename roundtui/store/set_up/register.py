"""Changing the register in the app: a deed, the rows it touches, and the entries that say so, in one transaction.

A row of a set-up file that is changed here differs from what was loaded. A later load takes the file's row for a
conflict where that changed as well, and leaves the change alone where it did not; a laptop that merges is offered the
row as the one that took the place of its own.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from roundtui.domain.traps.entries import SetUpChanged
from roundtui.errors import Problem, ProblemsError, RefusedError
from roundtui.store.connect import transaction
from roundtui.store.failures import plainly
from roundtui.store.journal import Author
from roundtui.store.set_up.columns import SetUpFile, Values
from roundtui.store.set_up.load_remarks import register_remarks
from roundtui.store.set_up.register_checks import check_rows, is_free, misfits
from roundtui.store.set_up.row import named
from roundtui.store.set_up.row_digests import key_of, rows_in
from roundtui.store.set_up.versions import after_now, becomes_of, record_changes, row_of, text_of
from roundtui.store.trouble import find_troubled

NOTHING_CHANGED = "nothing was changed"
"""How a refusal ends."""


@dataclass(frozen=True, slots=True)
class RowChange:
    """One row as it was, and as it is to be."""

    file: SetUpFile
    """Its file."""
    was: Values | None
    """Before; None where there was none."""
    becomes: Values | None
    """After; None where it is gone: its place is taken by another row of the same deed."""


@dataclass(frozen=True, slots=True)
class Deed:
    """A change of the register: what was done, and every row it touches."""

    kind: str
    """added, edited, moved, taken-down, restored, reordered."""
    done_on: date
    """Day it holds from."""
    changes: tuple[RowChange, ...]
    """The rows."""
    words: str = ""
    """Why, in the words of who does it."""


def carry_out(conn: sqlite3.Connection, deed: Deed, author: Author, now: datetime) -> tuple[SetUpChanged, ...]:
    """Change the rows of a deed and put it on record; all of it is on the disk when this returns, or nothing.

    Args:
        conn: The store.
        deed: What is to be done.
        author: Who does it.
        now: Instant.

    Returns:
        An entry for each row.

    Raises:
        ProblemsError: A row cannot stand so; nothing was changed.
        RefusedError: A row was changed meanwhile, or nothing would change.
        StoreError: The store cannot be written.
    """
    wanted = [
        change for change in deed.changes if text_of(change.file, change.was) != text_of(change.file, change.becomes)
    ]
    if not wanted:
        raise RefusedError("nothing is different from what the register has", NOTHING_CHANGED)
    with plainly(conn), transaction(conn):
        entries = [_entry(conn, deed, change) for change in wanted]
        _write(conn, wanted)
        return record_changes(conn, entries, author, now)


def remarks_on(conn: sqlite3.Connection, deed: Deed) -> tuple[Problem, ...]:
    """What a deed would leave in the register that contradicts itself, and nobody refuses.

    Args:
        conn: The store; nothing in it is changed.
        deed: What is to be done.

    Raises:
        ProblemsError: A row cannot stand so.
        RefusedError: A row was changed meanwhile.
    """
    from roundtui.store.round.effects import preview

    def write() -> None:
        _write(conn, deed.changes)

    with plainly(conn):
        before, after = preview(conn, write, lambda: register_remarks(conn))
    return tuple(one for one in after if one not in before)


def refused(*problems: Problem) -> ProblemsError:
    """The refusal of a deed for what is wrong with its rows.

    Args:
        problems: Each fault, with its column.
    """
    return ProblemsError(
        f"the register refused that; {NOTHING_CHANGED}", problems, "correct what is named, and do it again"
    )


def _entry(conn: sqlite3.Connection, deed: Deed, change: RowChange) -> SetUpChanged:
    file, values = change.file, change.becomes or change.was or {}
    row, version = row_of(conn, file.name, key_of(file, change.was or values))
    was = becomes_of(conn, version) or text_of(file, change.was)
    return SetUpChanged(
        file=file.name,
        row=row,
        deed=deed.kind,
        done_on=deed.done_on,
        was=was if change.was is not None else "",
        becomes=text_of(file, change.becomes, was),
        after=after_now(conn, file.name, row, version),
        trap=values.get("trap"),
        block=values.get("block"),
        words=deed.words,
    )


def _write(conn: sqlite3.Connection, changes: Sequence[RowChange]) -> None:
    """Write the rows, those that go and those that change before those that come, and refuse what cannot stand."""
    for file in dict.fromkeys(change.file for change in changes):
        here = {file.key_of(values): values for values in rows_in(conn, file).values()}
        for change in changes:
            if change.file is file and change.was is not None:
                _refuse_changed(here, change, change.was)
    for change in sorted(changes, key=_order):
        _write_one(conn, change)
    problems: list[Problem] = []
    for file in dict.fromkeys(change.file for change in changes):
        rows = [change.becomes for change in changes if change.file is file and change.becomes is not None]
        problems += check_rows(conn, file, rows)
    if problems:
        raise refused(*problems)
    if any(change.file.table in ("traps", "lots") for change in changes):
        find_troubled(conn)


def _order(change: RowChange) -> int:
    return 0 if change.becomes is None else 2 if change.was is None else 1


def _refuse_changed(here: dict[tuple[object, ...], Values], change: RowChange, was: Values) -> None:
    now = here.get(change.file.key_of(was))
    if now is None or text_of(change.file, now) != text_of(change.file, was):
        raise RefusedError(
            f"{change.file.name} {named(change.file, was)} is no longer as it was then",
            f"look at the row as it stands now; {NOTHING_CHANGED}",
        )


def _write_one(conn: sqlite3.Connection, change: RowChange) -> None:
    file, was, becomes = change.file, change.was, change.becomes
    where = " AND ".join(f"{column} = ?" for column in file.key)
    if becomes is None:
        if was is not None:
            conn.execute(f"DELETE FROM {file.table} WHERE {where}", file.key_of(was))  # noqa: S608
        return
    if was is None or file.key_of(was) != file.key_of(becomes):
        problems = is_free(conn, file, becomes)
        if problems:
            raise refused(*problems)
    # A reference to what is not there is named by the checks; the database would only say that one failed.
    wrong = misfits(conn, file, becomes)
    if wrong:
        raise refused(*wrong)
    if was is None:
        columns, marks = ", ".join(f'"{column}"' for column in becomes), ", ".join("?" * len(becomes))
        conn.execute(f"INSERT INTO {file.table} ({columns}) VALUES ({marks})", tuple(becomes.values()))  # noqa: S608
        return
    sets = ", ".join(f'"{column}" = ?' for column in becomes)
    conn.execute(f"UPDATE {file.table} SET {sets} WHERE {where}", (*becomes.values(), *file.key_of(was)))  # noqa: S608
