"""What the Register shows: its rows a line each, and all of the marked one; text from people goes through ``plain``.

Its dialogs as values: which columns a change asks for, what stands in them, and what it makes.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import unified_diff
from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.domain.entries import SetUpChanged, change_words
from roundtui.domain.programme.farm import Programme, counted_on
from roundtui.domain.programme.rounds import OutOfOrder
from roundtui.domain.text import padded, sanitize
from roundtui.domain.traps.placement import Advice
from roundtui.errors import Problem, ProblemsError
from roundtui.store.session import Session
from roundtui.store.set_up import office_rows
from roundtui.store.set_up import register as register_changes
from roundtui.store.set_up.columns import Values, cell, file_of, named
from roundtui.store.set_up.load_checks import cells_of
from roundtui.store.set_up.register import BLOCKS, FARMS, LOTS, RULES, VIEWS, RegisterRow
from roundtui.store.set_up.register import ROUTES_REGISTER_DESK as ROUTES
from roundtui.store.set_up.register import TRAPS_REGISTER_DESK as TRAPS

if TYPE_CHECKING:
    from roundtui.app.dialogs.office import Make
    from roundtui.store.set_up.columns import SetUpFile
    from roundtui.store.set_up.register import RegisterChange, RegisterDesk, RegisterRow

MARK = "! "
"""Stands before every warning, so that it is one without colour too."""
_TABLES = [
    [(title.replace("_", " "), column, int(width)) for title, column, width in map(str.split, line.split("|"))]
    for line in (
        "Trap trap 9|For species 5|Block block 8|Row row 5|Tree tree 5|Hung_on hung_on 11|Lot lot 9",
        "Block block 9|Farm farm 7|Name name 16|Crop crop 8|ha area_ha 6",
        "Farm farm 10|Name name 26|Grower grower 22",
        "Lot lot 14|For species 5|Load_mg load_mg 8|Life_d life_days 7|Bought bought_on 11|Expires expires_on 11",
        "Route route 12|Place position 6|Trap trap 10|Block block 9|Farm farm 24",
        "Station station 10|Name name 26|Latitude lat 10|Longitude lon 10",
        "Species species 8|Name name 24|Latin latin 26|Lure_d lure_days 7",
        "Rule id 30|For species 5|Kind kind 12|Low low 6|High high 6",
        "What what 16|Says says 58",
    )
]
"""Of each view its columns: heading, name and width."""


def views(view: int, width: int) -> Content:
    """The views with their digits; the one shown in brackets."""
    parts: list[str | tuple[str, str]] = []
    for at, name in enumerate(VIEWS):
        words = f"{at + 1} {name}"
        parts += [(f"[{words}]", "bold reverse")] if at == view else [" " if at and at - 1 != view else "", words]
    return Content.assemble(*parts) if width >= 80 else Content(sanitize(f" {view + 1} {VIEWS[view]}", width))


def head_line(view: int) -> str:
    """The names of a view's columns."""
    return "  " + " ".join(f"{title:<{room}}" for title, _, room in _TABLES[view])


def row_line(view: int, row: RegisterRow, *, session: Session, behind: Collection[tuple[str, str]]) -> str:
    """A row in the list."""
    return f"{_columns(view, row.values, session.programme)} {_state(view, row, session.programme, session.on, behind)}"


def _columns(view: int, values: Values, programme: Programme) -> str:
    def shown(column: str, width: int) -> str:
        return padded(cell(column, values.get(column)), width)

    if view == ROUTES:
        hangings = programme.hangings.get(str(values["trap"]), ())
        block = hangings[-1].block if hangings else ""
        farm = programme.farms.get(programme.farm_of(block))
        place = f"{padded(block, 9)} {padded(farm.name if farm else '', 24)}"
        return f"{shown('route', 12)} {shown('position', 6)} {shown('trap', 10)} {place}"
    return " ".join(shown(column, room) for _, column, room in _TABLES[view])


def _state(view: int, row: RegisterRow, programme: Programme, on: date, behind: Collection[tuple[str, str]]) -> str:
    """What is remarkable about a row, in words."""
    values, words = row.values, []
    if view == TRAPS:
        if values["down_on"] is not None:
            words.append(f"down {values['down_on']}")
        elif row.earlier and str(row.earlier[0]["down_on"] or "")[:4] == str(values["hung_on"])[:4]:
            words.append("moved" if row.earlier[0]["down_on"] == values["hung_on"] else "again")
        words += ["edge"] if values["edge"] else []
        stops = any(row.label in traps for traps in programme.routes.values())
        words += ["no route"] if values["down_on"] is None and not stops else []
    elif view == BLOCKS:
        closed = values["no_entry_before"]
        words += [f"NO ENTRY before {closed}"] if closed and str(closed) > on.isoformat() else []
        words += ["disrupted"] if values["disrupted"] else []
    elif view == FARMS:
        words += ["visit last"] if values["visit_last"] else []
    elif view == LOTS:
        expires = values["expires_on"]
        words += ["expired"] if expires and str(expires) < on.isoformat() else []
    elif view == ROUTES:
        hanging = programme.hanging(row.label, on)
        known = programme.farms.get(programme.farm_of(hanging.block)) if hanging else None
        words += ["not hanging"] if hanging is None else ["visit last"] if known and known.visit_last else []
    words += [str(values["origin"])] if values.get("origin") else []
    label = row.file.name if view >= RULES else named(row.file, values)
    if (row.file.name, label) in behind and not values.get("origin"):
        words.append("not in file")
    return ", ".join(words)


def detail(
    row: RegisterRow | None,
    advice: Sequence[Advice],
    history: Sequence[SetUpChanged],
    size: tuple[int, int],
    needed: Sequence[str] = (),
) -> Content:
    """All of a row: its columns, its earlier hangings, advice on its place, and who changed it last."""
    width, height = size
    if row is None:
        return Content("")
    lines = _wrapped(_says(row.values, row), width)
    for one in row.earlier[:1]:
        place = " ".join(f"{name} {one[name]}" for name in ("block", "row", "tree") if one[name])
        hung, down = one["hung_on"] or "day unknown", one["down_on"] or row.values["hung_on"]
        more = f" and {len(row.earlier) - 1} before" if len(row.earlier) > 1 else ""
        lines.append(f"before: {place}, {hung} to {down}, a series of its own{more}")
    for words in needed:
        lines += _wrapped(words, width)
    for last in history[:1]:
        why = f": {last.words}" if last.words else ""
        lines.append(f"last {change_words(last)} by {last.scout} on {last.done_on.isoformat()}{why}   h shows all")
    shown: list[str | tuple[str, str]] = [(sanitize(f"  {line}", width) + "\n", "") for line in lines]
    shown += [
        (sanitize(f"  {line}", width) + "\n", "$text-warning" if line.startswith(MARK) else "")
        for line in advice_lines(advice, width - 2)
    ]
    if len(shown) > height:
        shown = [*shown[: height - 1], f"  and {len(shown) - height + 1} more lines: roundtui register has them"]
    return Content.assemble(*shown)


def advice_lines(advice: Sequence[Advice], width: int) -> list[str]:
    """Advice with what is published, who prints it and who does not, cut to lines."""
    lines: list[str] = []
    for one in advice:
        otherwise = f" Others: {one.rule.otherwise}." if one.rule.otherwise else ""
        words = f"{MARK}{sanitize(one.found, 80)}; published: {one.rule.words} ({one.rule.by}).{otherwise}"
        lines += _wrapped(words, width)
    return lines


def _says(values: Values, row: RegisterRow) -> str:
    columns = row.file.columns
    return "  ".join(
        f"{column} {sanitize(cell(column, values[column]), 240 if column == 'source' else 40)}"
        for column in columns
        if _is_said(values[column])
    )


def _is_said(value: object) -> bool:
    return value not in (None, "", 0)


def _wrapped(words: str, width: int) -> list[str]:
    from textwrap import wrap

    return wrap(words, max(20, width - 2), subsequent_indent="  ", break_on_hyphens=False)


def order_words(found: OutOfOrder | None, programme: Programme) -> str:
    """A route that has a farm to be visited last before another; empty where it has none."""
    if found is None:
        return ""
    farm, other = (
        sanitize(known.name if (known := programme.farms.get(code)) else code, 24)
        for code in (found.farm, found.before)
    )
    since = f"from trap {sanitize(found.trap, 12)} on"
    return f"{MARK}{farm} should come last, and is before {other} {since}: m 5 puts it last"


def change_lines(entry: SetUpChanged, width: int) -> tuple[str, list[str]]:
    """A change of the register: when, who and what was done; and each column from what to what."""
    import json

    was, becomes = (json.loads(text) if text else {} for text in (entry.was, entry.becomes))
    at = entry.recorded_at.strftime("%Y-%m-%d %H:%M") if entry.recorded_at else ""
    file = file_of(entry.file)
    label = named(file, {column: (becomes or was).get(column) for column in file.key}) if file else entry.file
    head = f"{at} UTC  {padded(entry.scout, 14)} {padded(change_words(entry), 11)} {sanitize(label, 24)}"
    lines = [f"holds from {entry.done_on.isoformat()}, entered on {sanitize(entry.device, 24)}"]
    if entry.words:
        lines.append(f"why: {entry.words}")
    if not becomes:
        lines.append("the row is gone; the one it came from is back")
    if file is not None and file.whole:
        found = unified_diff(was.get("text", "").splitlines(), becomes.get("text", "").splitlines(), lineterm="", n=0)
        return sanitize(head, width), [sanitize(f"  {line}", width) for line in [*lines, *list(found)[2:]]]
    columns = [column for column in {**was, **becomes} if was.get(column) != becomes.get(column)]
    lines += [f"{column}: {was.get(column, 'blank')} -> {becomes.get(column, 'blank')}" for column in columns]
    return sanitize(head, width), [sanitize(f"  {line}", width) for line in lines]


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


@dataclass(frozen=True, slots=True)
class Form:
    """A dialog of a change."""

    title: str
    """What is done, to what."""
    fields: tuple[tuple[str, str], ...]
    """Columns, each with what stands in it at first."""
    make: Make
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
        places = [row.values["position"] for row in desk.rows(ROUTES) if row.values["route"] == known["route"]]
        cells["position"] = str(max(places, default=0) + 1)
        hint = "Many at once, in the order they are walked: T01..T24 in trap."

    def make(typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        return register_changes.added(file, typed, day, why)

    first = "trap" if file.table == "stops" and cells["route"] else ""
    return Form(f"Add to {file.name}", tuple(cells.items()), make, first, hint)


def _office_form(desk: RegisterDesk, file: SetUpFile, cells: Mapping[str, str], at: int | None, title: str) -> Form:
    """A table of the office's files, new or as it is to be."""

    def make(typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        return desk.office_change(file, at, typed, day, why)

    name = f"{title} {file.name}, {office_rows.CALLED[file.table]}"
    return Form(name, tuple(cells.items()), make, hint=_HINTS.get(file.table, ""))


def edit_form(desk: RegisterDesk, row: RegisterRow) -> Form:
    """Columns of a row; its labels stay."""
    file = row.file
    cells = cells_of(file, row.values)
    if office_rows.is_office(file):
        at = row.values["at"]
        return add_form(desk, file, row) if at is None else _office_form(desk, file, cells, at, "Change")
    fields = tuple((column, cells[column]) for column in cells if column not in file.key or column == "hung_on")

    def make(typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        return register_changes.edited(file, row.values, typed, day, why)

    first = "block" if file.table == "traps" else ""
    hint = "For a trap that was moved use m 1. Here you correct a mistake in the register." if first else ""
    return Form(f"Change {file.name} {named(file, row.values)}", fields, make, first, hint)


def move_form(desk: RegisterDesk, row: RegisterRow) -> Form:
    """A trap to another place, on the day it was moved."""
    old = cells_of(row.file, row.values)
    at_first = {column: old[column] for column in MOVE} | {"lot": desk.lot_in(row)}

    def make(typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        # A position that was left as it stood is that of the old place.
        given = {name: text for name, text in typed.items() if text != at_first[name] or name not in ("lat", "lon")}
        return register_changes.moved(row.values, given, day, why)

    hint = "The day of the move. A new series begins; lure, liner and kill strip count as new, so replace them."
    return Form(f"Move trap {sanitize(row.label, 30)}", tuple(at_first.items()), make, "block", hint, later=False)


def take_out_form(desk: RegisterDesk, row: RegisterRow) -> Form:
    """A rule of the office taken out of its file."""

    def make(_typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        return desk.office_change(row.file, row.values["at"], None, day, why)

    return Form(f"Take out {office_rows.CALLED[row.file.table]} {sanitize(row.label, 30)}", (), make, "why")


def take_down_form(row: RegisterRow) -> Form:
    """A trap down."""

    def make(_typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        return register_changes.taken_down(row.values, day, why)

    return Form(f"Take down trap {sanitize(row.label, 30)}", (), make, "day", later=False)


def restore_form(row: RegisterRow) -> Form:
    """A trap that was down: it never was, or it hangs again."""

    def make(typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        text = typed[AGAIN]
        if not text:
            return register_changes.never_down(row.values, day, why)
        try:
            hung_on = date.fromisoformat(text)
        except ValueError:
            problem = Problem(AGAIN, f"'{sanitize(text, 20)}' is no date", "write it as 2026-05-01")
            raise ProblemsError("the trap was not hung again", (problem,)) from None
        return register_changes.hung_again(row.values, {}, hung_on, why)

    hint = "Leave hung_on blank if it was never down. With a day it is hung again, and a new series begins."
    return Form(f"Restore trap {sanitize(row.label, 30)}", ((AGAIN, ""),), make, AGAIN, hint, later=False)


def no_entry_form(row: RegisterRow) -> Form:
    """A day before which a block must not be entered."""
    closed = cells_of(row.file, row.values)["no_entry_before"]

    def make(typed: Mapping[str, str], day: date, why: str) -> RegisterChange:
        return register_changes.edited(row.file, row.values, typed, day, why)

    hint = "The first day on which it may be entered again, as the grower says; blank removes it. Stay out until then."
    return Form(f"No entry into block {sanitize(row.label, 30)}", (("no_entry_before", closed),), make, hint=hint)
