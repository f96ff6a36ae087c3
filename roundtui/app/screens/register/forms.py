"""The dialogs of the Register as values: which columns a change asks for, what stands in them, and what it makes."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

from roundtui.domain.programme.farm import counted_on
from roundtui.domain.records import Frozen
from roundtui.domain.text import sanitize
from roundtui.errors import Problem, ProblemsError
from roundtui.store.set_up import office_rows, register
from roundtui.store.set_up.columns import cells_of, named

if TYPE_CHECKING:
    from collections.abc import Callable

    from roundtui.store.set_up.columns import SetUpFile
    from roundtui.store.set_up.register import RegisterChange, RegisterDesk, RegisterRow

MOVE = ("block", "row", "tree", "edge", "height_m", "lat", "lon", "lot")
"""Columns that a move asks for."""
AGAIN = "hung_on"
_LIKE_BEFORE = {"traps": ("block", "species", "style"), "blocks": ("farm", "crop", "station"), "lots": ("species",)}
"""Columns of a new row that begin as those of the marked one."""
_LIKE_ADDED = ("row", "lot", "edge", "height_m", "hung_on")
"""Columns of a new trap that begin as those of the one added just before, beside these."""


_HINTS = {
    "rule": "kind: mean, single-trap, running or cumulative. Say whose number it is in source.",
    "hang": "One of stage, on (04-15) or degree_days.",
    "weather": "unit F or C, of temperatures that state none; timezone as America/New_York.",
    "area": "declined: codes of farms that take no part.",
}


class Form(Frozen):
    """A dialog of a change."""

    title: str
    """What is done, to what."""
    fields: tuple[tuple[str, str], ...]
    """Columns, each with what stands in it at first."""
    make: Callable[[Mapping[str, str], date, str], RegisterChange]
    """Makes the change."""
    first: str = ""
    """Column to begin at; empty: the first."""
    hint: str = ""
    """A further word."""
    later: bool = True
    """Whether the day may be after today."""


def add_form(desk: RegisterDesk, file: SetUpFile, like: RegisterRow | None, *, again: bool = False) -> Form:
    """A new row.

    Args:
        desk: The register.
        file: Its file.
        like: The marked row.
        again: Whether that was added just before: the new one repeats what it says, and its label counts on.
    """
    cells = dict.fromkeys(file.columns, "")
    known = cells_of(file, like.values) if like is not None else cells
    if office_rows.is_office(file):
        printed = like is not None and like.values["origin"] == office_rows.PRINTED
        known |= {"date": desk.session.on.isoformat()} if "date" in known else {}
        known |= {} if printed else {column: "" for column in ("id", "source") if column in known}
        return _office_form(desk, file, known, None, "Add to")
    same = (*_LIKE_BEFORE.get(file.table, ()), *(_LIKE_ADDED if again and file.table == "traps" else ()))
    cells |= {column: known[column] for column in same}
    if again and like is not None and "trap" in cells:
        cells["trap"] = counted_on(like.label)
    hint = ""
    if file.table == "traps":
        cells["hung_on"] = cells["hung_on"] or desk.session.on.isoformat()
        hint = "Many at once: T01..T24 in trap. The next one begins with what this one says."
    elif file.table == "stops":
        cells["route"] = known["route"]
        places = [
            row.values["position"] for row in desk.rows(register.ROUTES_VIEW) if row.values["route"] == known["route"]
        ]
        cells["position"] = str(max(places, default=0) + 1)
        hint = "Many at once, in the order they are walked: T01..T24 in trap."

    first, make = "trap" if file.table == "stops" and cells["route"] else "", partial(register.added, file)
    return Form(f"Add to {file.name}", tuple(cells.items()), make, first, hint)


def _office_form(desk: RegisterDesk, file: SetUpFile, cells: Mapping[str, str], at: int | None, title: str) -> Form:
    """A table of the office's files, new or as it is to be."""
    name, make = f"{title} {file.name}, {office_rows.CALLED[file.table]}", partial(desk.office_change, file, at)
    return Form(name, tuple(cells.items()), make, hint=_HINTS.get(file.table, ""))


def edit_form(desk: RegisterDesk, row: RegisterRow) -> Form:
    """Columns of a row; its labels stay."""
    file = row.file
    cells = cells_of(file, row.values)
    if office_rows.is_office(file):
        at = row.values["at"]
        return add_form(desk, file, row) if at is None else _office_form(desk, file, cells, at, "Change")
    fields = tuple((column, cells[column]) for column in cells if column not in file.key or column == "hung_on")

    first = "block" if file.table == "traps" else ""
    hint = "For a trap that was moved use m 1. Here you correct a mistake in the register." if first else ""
    make = partial(register.edited, file, row.values)
    return Form(f"Change {file.name} {named(file, row.values)}", fields, make, first, hint)


def move_form(desk: RegisterDesk, row: RegisterRow) -> Form:
    """A trap to another place, on the day it was moved."""
    old = cells_of(row.file, row.values)
    at_first = {column: old[column] for column in MOVE} | {"lot": desk.lot_in(row)}

    def make(typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        # A position that was left as it stood is that of the old place.
        given = {name: text for name, text in typed.items() if text != at_first[name] or name not in ("lat", "lon")}
        return register.moved(row.values, given, day, why)

    hint = "From the day of the move its catch is counted apart. Lure, liner and kill strip count as new: replace them."
    return Form(f"Move trap {sanitize(row.label, 30)}", tuple(at_first.items()), make, "block", hint, later=False)


def take_out_form(desk: RegisterDesk, row: RegisterRow) -> Form:
    """A rule of the office taken out of its file."""
    name = f"{office_rows.CALLED[row.file.table]} {sanitize(row.label, 30)}"
    take = partial(desk.office_change, row.file, row.values["at"])
    return Form(f"Take out {name}", (), lambda _, day, why: take(None, day, why), "why")


def take_down_form(row: RegisterRow) -> Form:
    """A trap down."""
    take = partial(register.taken_down, row.values)
    title = f"Take down trap {sanitize(row.label, 30)}"
    return Form(title, (), lambda _, day, why: take(day, why), "day", later=False)


def restore_form(row: RegisterRow) -> Form:
    """A trap that was down: it never was, or it hangs again."""

    def make(typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        text = typed[AGAIN]
        if not text:
            return register.never_down(row.values, day, why)
        try:
            hung_on = date.fromisoformat(text)
        except ValueError:
            problem = Problem(AGAIN, f"'{sanitize(text, 20)}' is no date", "write it as 2026-05-01")
            raise ProblemsError("the trap was not hung again", (problem,)) from None
        return register.hung_again(row.values, {}, hung_on, why)

    hint = "Leave hung_on blank if it was never down. With a day it is hung again, and its catch is counted apart."
    return Form(f"Restore trap {sanitize(row.label, 30)}", ((AGAIN, ""),), make, AGAIN, hint, later=False)


def no_entry_form(row: RegisterRow) -> Form:
    """A day before which a block must not be entered."""
    closed = cells_of(row.file, row.values)["no_entry_before"]

    hint = "The first day on which it may be entered again, as the grower says; blank removes it. Stay out until then."
    make = partial(register.edited, row.file, row.values)
    return Form(f"No entry into block {sanitize(row.label, 30)}", (("no_entry_before", closed),), make, hint=hint)
