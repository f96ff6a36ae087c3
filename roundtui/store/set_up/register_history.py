"""What was done to a row of the register in the app: who, when, from what to what, and how it is put back."""

from __future__ import annotations

import json
import sqlite3
from datetime import date
from typing import Any

from roundtui.domain.traps.entries import SetUpChanged
from roundtui.errors import RefusedError
from roundtui.store.failures import plainly
from roundtui.store.parcels.lines import WrongLineError
from roundtui.store.rows import SET_UP_CHANGES
from roundtui.store.set_up.columns import SetUpFile, Values
from roundtui.store.set_up.register import NOTHING_CHANGED, Deed, RowChange
from roundtui.store.set_up.row import BY_NAME, named, values_of
from roundtui.store.set_up.row_digests import rows_in, said
from roundtui.store.set_up.versions import LOADED

_KINDS = {"moved": "restored", "taken-down": "restored", "restored": "taken-down", "reordered": "reordered"}
"""What putting back a deed is called, where it is not an edit."""


def history_of(conn: sqlite3.Connection, file: SetUpFile, label: str) -> tuple[SetUpChanged, ...]:
    """Changes made in the app to the rows of a label, on every laptop whose parcels came here; the newest first.

    Args:
        conn: The store.
        file: Their file.
        label: Farm, block, lot or station; a trap, for all its hangings; a route, for all its stops.
    """
    row = f"json_extract(CASE becomes WHEN '' THEN was ELSE becomes END, '$.{file.key[0]}')"
    with plainly(conn):
        found = conn.execute(
            f"SELECT {SET_UP_CHANGES.listed} FROM present_set_up_changes WHERE file = ? AND {row} = ?"  # noqa: S608
            f" AND change <> '{LOADED}'"
            " ORDER BY recorded_at DESC, id DESC",
            (file.name, label),
        ).fetchall()
    return tuple(SET_UP_CHANGES.entry(one) for one in found)


def undone(conn: sqlite3.Connection, entry_id: str, done_on: date, words: str = "") -> Deed:
    """The deed that puts back what an entry and those recorded with it changed. It is a further change.

    A trap that was added, or hung again, by mistake comes down on the day it was hung, so that it hung no night.

    Args:
        conn: The store.
        entry_id: Id of the entry.
        done_on: Day it holds from.
        words: Why.

    Raises:
        RefusedError: There is no such entry, it cannot be put back, or a row was changed since.
    """
    with plainly(conn):
        entries = _together(conn, entry_id)
        changes = []
        for entry in entries:
            file = BY_NAME[entry.file]
            was, becomes = _values(file, entry.was), _values(file, entry.becomes)
            back = _back(file, was, becomes, moved=entry.deed == "moved")
            if not _stands(conn, file, becomes, back):
                changes.append(RowChange(file, becomes, back))
    kind = _KINDS.get(entries[0].deed, "edited")
    return Deed(kind, done_on, tuple(changes), words or f"puts back what {entries[0].scout} changed")


def _together(conn: sqlite3.Connection, entry_id: str) -> list[SetUpChanged]:
    table = SET_UP_CHANGES
    rows = conn.execute(
        f"SELECT {table.listed} FROM present_set_up_changes WHERE (recorded_at, scout, device) ="  # noqa: S608
        " (SELECT recorded_at, scout, device FROM set_up_changes WHERE id = ?)"
        f" AND change <> '{LOADED}' ORDER BY id",
        (entry_id,),
    ).fetchall()
    if not rows:
        raise RefusedError(f"there is no change of the register {entry_id[:36]}", "look it up in the row's history")
    return [table.entry(row) for row in rows]


def _values(file: SetUpFile, text: str) -> Values | None:
    if not text:
        return None
    try:
        return values_of(file, json.loads(text))
    except WrongLineError as error:
        raise RefusedError(f"a row of {file.name} on record cannot be read", NOTHING_CHANGED) from error


def _back(file: SetUpFile, was: Values | None, becomes: Values | None, *, moved: bool) -> Values | None:
    if was is not None or moved:
        if becomes is None:
            raise RefusedError("a move that was put back is not put back in turn", "move the trap again")
        return was
    if file.table == "traps" and becomes is not None and becomes["hung_on"]:
        return becomes | {"down_on": becomes["hung_on"]}
    name = named(file, becomes or {})
    raise RefusedError(f"{name} was added, and entries may name it: it stays", "change its columns instead")


def _stands(conn: sqlite3.Connection, file: SetUpFile, becomes: Values | None, back: Values | None) -> bool:
    """Whether a row is as it is to be already."""
    key = file.key_of(back or becomes or {})
    now = next((values for values in rows_in(conn, file).values() if file.key_of(values) == key), None)
    return bool(_said(now) == _said(back))


def _said(values: Values | None) -> Any:
    return None if values is None else said(values)
