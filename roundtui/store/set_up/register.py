"""Changing the register in the app: a change, the rows it touches, and the entries that say so, in one transaction.

A row of a set-up file that is changed here differs from what was loaded. A later load takes the file's row for a
conflict where that changed as well, and leaves the change alone where it did not; a laptop that merges is offered the
row as the one that took the place of its own.

What a person may do to the register, as changes for ``register.carry_out``: each works out the rows it touches.
What was done to a row of the register in the app: who, when, from what to what, and how it is reverted.
What a change of the register would leave behind and change, said before anybody accepts it.
The register of a session's folder: its rows as they stand, and the changes that change them.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from roundtui.domain.entries import SetUpChanged
from roundtui.domain.figures.learned import Needed
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Trap, grouped, natural_key, spread
from roundtui.domain.programme.rounds import last_at_the_end
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import nearest
from roundtui.domain.text import SHOWN, sanitize
from roundtui.domain.traps.placement import Advice, advice_for, advice_for_block, hanging_on
from roundtui.errors import Problem, ProblemsError, RefusedError
from roundtui.store.checks.trouble import find_suspect
from roundtui.store.connect import know_species
from roundtui.store.csv_file import Cells, CsvRow
from roundtui.store.db import transaction
from roundtui.store.exchange.lines import WrongLineError
from roundtui.store.failures import plainly
from roundtui.store.office import THRESHOLDS
from roundtui.store.record.journal import Author
from roundtui.store.record.read import newest_read_on
from roundtui.store.record.rows import SET_UP_CHANGES, standing
from roundtui.store.round.changes import effects, preview
from roundtui.store.session import Session
from roundtui.store.set_up import columns, office_rows, versions
from roundtui.store.set_up.columns import BY_NAME, SetUpFile, Values, cells_of, key_of, misfits, named, put_row, rows_in
from roundtui.store.set_up.load_checks import check_row, register_remarks

NOTHING_CHANGED = "nothing was changed"
"""How a refusal ends."""


class RowChange(Frozen):
    """One row as it was, and as it is to be."""

    file: SetUpFile
    """Its file."""
    was: Values | None
    """Before; None where there was none."""
    becomes: Values | None
    """After; None where it is gone: its place is taken by another row of the same change."""


class RegisterChange(Frozen):
    """A change of the register: what was done, and every row it touches."""

    kind: str
    """added, edited, moved, taken-down, restored, reordered."""
    done_on: date
    """Day it holds from."""
    changes: tuple[RowChange, ...]
    """The rows."""
    words: str = ""
    """Why, in the words of who does it."""


def carry_out(
    conn: sqlite3.Connection, change: RegisterChange, author: Author, now: datetime
) -> tuple[SetUpChanged, ...]:
    """Change the rows of a change and put it on record; all of it is on the disk when this returns, or nothing.

    Args:
        conn: The store.
        change: What is to be done.
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
        row_change
        for row_change in change.changes
        if versions.text_of(row_change.file, row_change.was) != versions.text_of(row_change.file, row_change.becomes)
    ]
    if not wanted:
        raise RefusedError("nothing is different from what the register has", NOTHING_CHANGED)
    with plainly(conn), transaction(conn):
        entries = [_entry(conn, change, row_change) for row_change in wanted]
        _write(conn, wanted)
        return versions.record_changes(conn, entries, author, now)


def remarks_on(conn: sqlite3.Connection, change: RegisterChange) -> tuple[Problem, ...]:
    """What a change would leave in the register that contradicts itself, and nobody refuses.

    Args:
        conn: The store; nothing in it is changed.
        change: What is to be done.

    Raises:
        ProblemsError: A row cannot stand so.
        RefusedError: A row was changed meanwhile.
    """

    def write() -> None:
        _write(conn, change.changes)

    with plainly(conn):
        before, after = preview(conn, write, lambda: register_remarks(conn))
    return tuple(one for one in after if one not in before)


def refused(*problems: Problem) -> ProblemsError:
    """The refusal of a change for what is wrong with its rows.

    Args:
        problems: Each fault, with its column.
    """
    return ProblemsError(
        f"the register refused that; {NOTHING_CHANGED}", problems, "correct what is named, and do it again"
    )


def _entry(conn: sqlite3.Connection, change: RegisterChange, row_change: RowChange) -> SetUpChanged:
    file, was, becomes = row_change.file, row_change.was, row_change.becomes
    entry = versions.next_version(conn, file, change.kind, was, becomes, done_on=change.done_on)
    return replace(entry, words=change.words)


def _write(conn: sqlite3.Connection, changes: Sequence[RowChange]) -> None:
    """Write the rows, those that go and those that change before those that come, and refuse what cannot stand."""
    for row_change in changes:
        if row_change.was is not None:
            _refuse_changed(conn, row_change.file, row_change.was)
    for row_change in sorted(changes, key=_order):
        _write_one(conn, row_change)
    problems = [
        problem
        for row_change in changes
        if row_change.becomes is not None
        for problem in check_row(conn, row_change.file, row_change.becomes)
    ]
    if problems:
        raise refused(*dict.fromkeys(problems))
    # A trap that is taken down, or hangs elsewhere, holds what it held: no entry of all years says anything else of it.
    if any(_holds(one.was) != _holds(one.becomes) for one in changes if one.file.table in ("traps", "lots")):
        find_suspect(conn)


def _holds(values: Values | None) -> list[object]:
    return [(values or {}).get(name) for name in ("trap", "species", "lot", "body_label")]


def _order(row_change: RowChange) -> int:
    return 0 if row_change.becomes is None else 2 if row_change.was is None else 1


def _refuse_changed(conn: sqlite3.Connection, file: SetUpFile, was: Values) -> None:
    now = rows_in(conn, file, *file.key_of(was)).get(key_of(file, was))
    if versions.text_of(file, now) != versions.text_of(file, was):
        raise RefusedError(
            f"{file.name} {named(file, was)} is no longer as it was then",
            f"look at the row as it stands now; {NOTHING_CHANGED}",
        )


def _write_one(conn: sqlite3.Connection, row_change: RowChange) -> None:
    file, was, becomes = row_change.file, row_change.was, row_change.becomes
    if becomes is not None:
        key = file.key_of(becomes)
        if (was is None or file.key_of(was) != key) and rows_in(conn, file, *key):
            words = f"{named(file, becomes)} is in the register already"
            raise refused(Problem(file.key[0], words, "change that row, or give another label"))
        # Before it is written: a row that names nothing known would break a rule of the store and say less.
        wrong = tuple(misfits(conn, file, becomes))
        if wrong:
            raise refused(*wrong)
    put_row(conn, file, was, becomes)


TRAPS = BY_NAME["traps.csv"]
ROUTES = BY_NAME["routes.csv"]
PLACE = ("block", "row", "tree", "lat", "lon")
"""Columns that say where a trap hangs."""


def row_of(conn: sqlite3.Connection, file: SetUpFile, *key: str) -> Values:
    """A row by its labels; of a trap without its day the hanging that began last.

    Args:
        conn: The store.
        file: Its file.
        key: Its labels.

    Raises:
        RefusedError: There is none.
    """
    found = rows_in(conn, file, *key).values()
    if not found:
        known = {str(values[file.key[0]]) for values in rows_in(conn, file).values()}
        name = sanitize(" ".join(key), SHOWN)
        hint = nearest(key[0], known) or "roundtui register lists what there is"
        raise RefusedError(f"there is no {file.key[0]} {name} in the register", hint)
    return max(found, key=lambda values: str(values.get("hung_on") or ""))


def added(file: SetUpFile, typed: Mapping[str, str], done_on: date, words: str = "") -> RegisterChange:
    """A row that is new; of traps and stops a row for each label of a range, stops place after place.

    Args:
        file: Its file.
        typed: Text of its columns.
        done_on: Day it holds from.
        words: Why.

    Raises:
        ProblemsError: It cannot be read.
    """
    labels = spread(typed.get("trap", "")) if file in (TRAPS, ROUTES) else [""]
    if not labels:
        raise refused(
            Problem("trap", f"'{sanitize(typed['trap'], SHOWN)}' is no range of traps", "write it as T01..T24")
        )
    rows = []
    for at, label in enumerate(labels):
        more = {"trap": label} if label else {}
        place = typed.get("position", "")
        if at and place.isdecimal():
            more["position"] = str(int(place) + at)
        rows.append(RowChange(file, None, _read(file, {**typed, **more})))
    return RegisterChange("added", done_on, tuple(rows), words)


def edited(file: SetUpFile, here: Values, typed: Mapping[str, str], done_on: date, words: str = "") -> RegisterChange:
    """Columns of a row put otherwise; its labels stay, since entries go by them.

    Args:
        file: Its file.
        here: The row.
        typed: New text of the columns that change.
        done_on: Day it holds from.
        words: Why.

    Raises:
        ProblemsError: It cannot be read, or it would change a label.
    """
    values = _read(file, cells_of(file, here) | dict(typed))
    problems = tuple(
        Problem(column, f"the {column} of a row stays {sanitize(str(here[column]), SHOWN)}", "add a row of its own")
        for column in file.key
        if column != "hung_on" and values[column] != here[column]
    )
    if problems:
        raise refused(*problems)
    return RegisterChange("edited", done_on, (RowChange(file, here, values),), words)


def moved(here: Values, typed: Mapping[str, str], done_on: date, words: str = "") -> RegisterChange:
    """A trap taken from its place and hung in another on one day, where a new series of readings begins.

    Args:
        here: Its hanging.
        typed: Text of the columns of the new place; of those not named the place's own go blank where it is another,
            and the rest stay as they are.
        done_on: Day of the move.
        words: Why.

    Raises:
        ProblemsError: It does not hang, hung only since that day, would stay where it is, or a column cannot be read.
    """
    _refuse_down(here)
    label = sanitize(str(here["trap"]), SHOWN)
    if done_on.isoformat() <= str(here["hung_on"]):
        raise refused(
            Problem(
                "hung_on",
                f"{label} was hung on {here['hung_on']}, and cannot have been moved on {done_on.isoformat()}",
                "give the day of the move; if it never hung where the register says, change its row",
            )
        )
    old = cells_of(TRAPS, here)
    place = dict(typed)
    if any(place.get(column, old[column]) != old[column] for column in ("block", "row", "tree")):
        blank = ("row", "tree", "lat", "lon") if place.get("block", old["block"]) != old["block"] else ("lat", "lon")
        place = dict.fromkeys(blank, "") | place
    values = _read(TRAPS, old | place | {"hung_on": done_on.isoformat(), "down_on": ""})
    if all(values[column] == here[column] for column in PLACE):
        raise refused(
            Problem("block", f"{label} hangs there already", "name another block, row or tree, or a position")
        )
    closed = here | {"down_on": done_on.isoformat()}
    return RegisterChange("moved", done_on, (RowChange(TRAPS, here, closed), RowChange(TRAPS, None, values)), words)


def taken_down(here: Values, done_on: date, words: str = "") -> RegisterChange:
    """A trap taken down.

    Args:
        here: Its hanging.
        done_on: The day.
        words: Why.

    Raises:
        ProblemsError: It is down, or was hung later.
    """
    _refuse_down(here)
    values = _read(TRAPS, cells_of(TRAPS, here) | {"down_on": done_on.isoformat()})
    return RegisterChange("taken-down", done_on, (RowChange(TRAPS, here, values),), words)


def never_down(here: Values, done_on: date, words: str = "") -> RegisterChange:
    """The day of taking down struck out: the trap hung all the time, in one series.

    Args:
        here: Its hanging.
        done_on: Day on which that is said.
        words: Why.

    Raises:
        ProblemsError: It is not down.
    """
    if here["down_on"] is None:
        raise refused(Problem("down_on", f"{sanitize(str(here['trap']), SHOWN)} hangs", "there is nothing to restore"))
    return RegisterChange("restored", done_on, (RowChange(TRAPS, here, here | {"down_on": None}),), words)


def hung_again(here: Values, typed: Mapping[str, str], done_on: date, words: str = "") -> RegisterChange:
    """A trap that was down, hung again from a day on, where a new series begins.

    Args:
        here: Its last hanging.
        typed: Text of columns that are otherwise than then.
        done_on: Day of hanging.
        words: Why.

    Raises:
        ProblemsError: It still hangs, or a column cannot be read.
    """
    label = sanitize(str(here["trap"]), SHOWN)
    if here["down_on"] is None:
        raise refused(Problem("down_on", f"{label} hangs still", "move it, or take it down first"))
    if done_on.isoformat() < str(here["down_on"]) or done_on.isoformat() == here["hung_on"]:
        raise refused(
            Problem("hung_on", f"{label} came down on {here['down_on']} only", "hang it again on that day or later")
        )
    values = _read(TRAPS, cells_of(TRAPS, here) | dict(typed) | {"hung_on": done_on.isoformat(), "down_on": ""})
    return RegisterChange("restored", done_on, (RowChange(TRAPS, None, values),), words)


def reordered(
    conn: sqlite3.Connection, route: str, order: Sequence[str], done_on: date, words: str = ""
) -> RegisterChange:
    """A route walked in another order; the places that its stops have stay, and are given out anew.

    Args:
        conn: The store.
        route: Name of the route.
        order: Its traps as they are to be walked: the same ones, each once.
        done_on: Day it holds from.
        words: Why.

    Raises:
        RefusedError: There is no such route, or the traps are not those of the route.
    """
    stops = {str(values["trap"]): values for values in rows_in(conn, ROUTES).values() if values["route"] == route}
    if sorted(stops) != sorted(order):
        raise RefusedError(f"these are not the traps of route {sanitize(route, SHOWN)}", "name each of its traps once")
    places = sorted(values["position"] for values in stops.values())
    changes = [
        RowChange(ROUTES, stops[trap], stops[trap] | {"position": place})
        for trap, place in zip(order, places, strict=True)
        if stops[trap]["position"] != place
    ]
    return RegisterChange("reordered", done_on, tuple(changes), words)


def lot_in(conn: sqlite3.Connection, here: Mapping[str, Any], on: date) -> str:
    """Lot of the lure that hangs in a trap, as far as it is on record.

    Args:
        conn: The store.
        here: Its hanging.
        on: The day.

    Returns:
        Empty where nobody knows.
    """
    row = conn.execute(
        "SELECT lure FROM present_visits WHERE trap = ? AND read_on BETWEEN ? AND ? AND lure IN (SELECT lot FROM lots)"
        " ORDER BY read_on DESC, recorded_at DESC, id DESC LIMIT 1",
        (here["trap"], here["hung_on"], on.isoformat()),
    ).fetchone()
    return str(row[0]) if row else str(here["lot"] or "")


def _refuse_down(here: Values) -> None:
    if here["down_on"] is not None:
        label = sanitize(str(here["trap"]), SHOWN)
        raise refused(
            Problem("down_on", f"{label} is down since {here['down_on']}", "hang it again with its day of hanging")
        )


def _read(file: SetUpFile, typed: Mapping[str, str]) -> Values:
    """A row from what was typed, by the reader of its file; a column that is not named is blank."""
    unknown = [column for column in typed if column not in file.columns]
    if unknown:
        hint = nearest(unknown[0], file.columns) or f"the columns are {', '.join(file.columns)}"
        raise refused(Problem(file.name, f"has no column {sanitize(unknown[0], SHOWN)}", hint))
    cells = Cells(CsvRow(0, {column: text.replace("\x00", "").strip() for column, text in typed.items()}), file.name)
    values = file.read(cells)
    if cells.problems:
        raise refused(*(Problem(one.where.rpartition(", ")[2], one.message, one.hint) for one in cells.problems))
    return values


_KINDS = {"moved": "restored", "taken-down": "restored", "restored": "taken-down", "reordered": "reordered"}
"""What putting back a change is called, where it is not an edit."""


def history_of(conn: sqlite3.Connection, file: SetUpFile, label: str) -> tuple[SetUpChanged, ...]:
    """Changes made in the app to the rows of a label, on every laptop whose bundles came here; the newest first.

    Args:
        conn: The store.
        file: Their file.
        label: Farm, block, lot or station; a trap, for all its hangings; a route, for all its stops.
    """
    row = f"json_extract(CASE becomes WHEN '' THEN was ELSE becomes END, '$.{file.key[0]}')"
    with plainly(conn):
        where, order = f"file = ? AND {row} = ? AND change <> ?", "recorded_at DESC, id DESC"
        return tuple(standing(conn, SET_UP_CHANGES, where, file.name, label, versions.LOADED, order=order))


def undone(conn: sqlite3.Connection, entry_id: str, done_on: date, words: str = "") -> RegisterChange:
    """The change that reverts what an entry and those recorded with it changed. It is a further change.

    A trap that was added, or hung again, by mistake comes down on the day it was hung, so that it hung no night.

    Args:
        conn: The store.
        entry_id: Id of the entry.
        done_on: Day it holds from.
        words: Why.

    Raises:
        RefusedError: There is no such entry, it cannot be reverted, or a row was changed since.
    """
    with plainly(conn):
        entries = _together(conn, entry_id)
        changes = []
        for entry in entries:
            file = columns.file_of(entry.file) or BY_NAME[entry.file]
            was, becomes = _values(file, entry.was), _values(file, entry.becomes)
            back = _back(file, was, becomes, moved=entry.change == "moved")
            if not _stands(conn, file, becomes, back):
                changes.append(RowChange(file, becomes, back))
    kind = _KINDS.get(entries[0].change, "edited")
    return RegisterChange(kind, done_on, tuple(changes), words or f"reverts what {entries[0].scout} changed")


def _together(conn: sqlite3.Connection, entry_id: str) -> list[SetUpChanged]:
    where = (
        "(recorded_at, scout, device) = (SELECT recorded_at, scout, device FROM set_up_changes WHERE id = ?)"
        " AND change <> ?"
    )
    rows = standing(conn, SET_UP_CHANGES, where, entry_id, versions.LOADED, order="id")
    if not rows:
        raise RefusedError(f"there is no change of the register {entry_id[:36]}", "look it up in the row's history")
    return rows


def _values(file: SetUpFile, text: str) -> Values | None:
    try:
        return versions.values_or_none(file, text)
    except WrongLineError as error:
        raise RefusedError(f"a row of {file.name} on record cannot be read", NOTHING_CHANGED) from error


def _back(file: SetUpFile, was: Values | None, becomes: Values | None, *, moved: bool) -> Values | None:
    if was is not None or moved:
        if becomes is None:
            raise RefusedError("a move that was reverted is not reverted in turn", "move the trap again")
        return was
    if file.table == "traps" and becomes is not None and becomes["hung_on"]:
        return becomes | {"down_on": becomes["hung_on"]}
    name = named(file, becomes or {})
    raise RefusedError(f"{name} was added, and entries may name it: it stays", "change its columns instead")


def _stands(conn: sqlite3.Connection, file: SetUpFile, becomes: Values | None, back: Values | None) -> bool:
    """Whether a row is as it is to be already."""
    row = back or becomes or {}
    now = rows_in(conn, file, *file.key_of(row)).get(key_of(file, row))
    return versions.text_of(file, now) == versions.text_of(file, back)


_JUDGED = ("traps", "lots", "blocks")
"""Tables whose rows bear on a figure."""


def said_before(
    conn: sqlite3.Connection, change: RegisterChange, author: Author, *, folder: Path, office: Office, now: datetime
) -> tuple[str, ...]:
    """In words, what contradicts itself after a change, and what changes in what people act on. Nothing is recorded.

    Args:
        conn: The store.
        change: What is to be done.
        author: Who would do it.
        folder: The scouting folder.
        office: Its rules and season.
        now: Instant.

    Raises:
        ProblemsError: A row cannot stand so.
        RefusedError: A row was changed meanwhile, or nothing would change.
    """
    found = [str(problem) for problem in remarks_on(conn, change)]
    newest = newest_read_on(conn)
    tables = {row_change.file.table for row_change in change.changes}
    if newest is None or tables.isdisjoint(_JUDGED):
        return tuple(found)
    # A lot may hang anywhere.
    changes = () if "lots" in tables else change.changes
    rows = [row for row_change in changes for row in (row_change.was, row_change.becomes) if row and "block" in row]
    seen = effects(
        conn,
        folder,
        office,
        lambda: carry_out(conn, change, author, now),
        days={newest},
        traps={str(row["trap"]) for row in rows if "trap" in row},
        keys={(str(row["block"]), str(row.get("species", ""))) for row in rows},
    )
    return (*found, *(str(one) for one in seen if one.needs_a_word))


VIEWS = ("Traps", "Blocks", "Farms", "Lots", "Routes", "Stations", "Species", "Rules", "Office")
"""What can be looked at, in the order of their digits."""
FILES = tuple(BY_NAME[f"{name}.csv"] for name in ("traps", "blocks", "farms", "lures", "routes", "stations", "species"))
"""The file of each view but the last two, whose rows are tables of several files."""
TRAPS_VIEW, BLOCKS, FARMS, LOTS, ROUTES_VIEW, STATIONS, SPECIES, RULES, OFFICE = range(9)


class RegisterRow(Frozen):
    """A row of a view."""

    file: SetUpFile
    """Its file."""
    values: Values
    """What it says."""
    earlier: tuple[Values, ...] = ()
    """Of a trap its earlier hangings, the newest first."""

    @property
    def label(self) -> str:
        """What it is called: of a stop, its trap."""
        return str(self.values["trap" if self.file.table in ("traps", "stops") else self.file.key[0]])


class RegisterDesk:
    """What the Register screen asks and tells.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.behind: frozenset[tuple[str, str]] = frozenset()
        """File and label of the rows that the files of the folder do not have so yet."""
        self._rows: dict[int, tuple[RegisterRow, ...]] = dict.fromkeys(range(len(VIEWS)), ())
        self._hung: tuple[Trap, ...] = ()
        self._needed: Mapping[tuple[str, str], Needed] = {}
        self._changes = -1
        """How often the session had changed the record when it was read."""

    def knows(self, view: int) -> bool:
        """Whether a view is read as it stands now.

        Args:
            view: One of ``VIEWS``.
        """
        return self._changes == self.session.changes and view in self._rows

    def read(self, view: int) -> None:
        """Read a view, in a thread; after a change also what the files do not have yet.

        Args:
            view: One of ``VIEWS``.
        """
        from roundtui.store.figures.learned import needed_in

        session, changes = self.session, self.session.changes
        with session.connection() as conn:
            rows = _rows_of(conn, view)
            if view == BLOCKS:
                self._needed = needed_in(conn, session.office, session.on)
            if self._changes != changes:
                self._rows, self._hung = {}, hanging_on(session.programme, session.on)
                self.behind = frozenset((one.file.name, one.label) for one in versions.not_in_files(conn))
        self._rows[view], self._changes = rows, changes

    def rows(self, view: int) -> tuple[RegisterRow, ...]:
        """Rows of a view: traps by label with the hanging that began last, stops as they are walked, others by label.

        Args:
            view: One of ``VIEWS``.
        """
        if view not in self._rows:
            self._rows[view] = _rows_of(self.session.conn, view)
        return self._rows[view]

    def advice(self, row: RegisterRow) -> tuple[Advice, ...]:
        """What is published about the place of a trap that hangs, or about the number of traps in a block."""
        if row.file.table == "traps":
            trap = next((one for one in self._hung if one.trap == row.label), None)
            return advice_for(trap, self._hung) if trap is not None else ()
        if row.file.table == "blocks":
            return advice_for_block(self.session.programme, row.label, self._hung)
        return ()

    def needed(self, row: RegisterRow) -> tuple[str, ...]:
        """How many traps tell the two numbers of a block's rules apart, a line for each species; what was printed."""
        if row.values.get("told"):
            return (str(row.values["told"]),)
        if row.file.table != "blocks":
            return ()
        return tuple(f"{species}: {one.words}" for (code, species), one in self._needed.items() if code == row.label)

    def history(self, row: RegisterRow) -> tuple[SetUpChanged, ...]:
        """Changes of a row made in the app, the newest first; of a stop those of its route, of a rule of its file."""
        if office_rows.is_office(row.file):
            return history_of(self.session.conn, columns.file_of(row.file.name) or row.file, row.file.name)
        return history_of(self.session.conn, row.file, str(row.values[row.file.key[0]]))

    # --- changes ----------------------------------------------------------------------------------------------------

    def lot_in(self, row: RegisterRow) -> str:
        """Lot of the lure that hangs in a trap, as far as it is on record."""
        return lot_in(self.session.conn, row.values, self.session.on)

    def visit_last(self, row: RegisterRow) -> RegisterChange:
        """The mark of a farm to be visited last, set or taken off."""
        typed = {"visit_last": "no" if row.values["visit_last"] else "yes"}
        return edited(row.file, row.values, typed, self.session.on)

    def reordered(self, route: str, order: Sequence[str]) -> RegisterChange:
        """A route in another order."""
        return reordered(self.session.conn, route, order, self.session.on)

    def last_at_the_end(self, order: Sequence[str]) -> tuple[str, ...]:
        """An order with the traps of farms to be visited last after all others."""
        return last_at_the_end(self.session.programme, order, self.session.on)

    def as_walked(self, order: Sequence[str]) -> tuple[str, ...]:
        """An order with the traps that were read in the last seven days as they were read, and the others behind."""
        on = self.session.on
        rows = self.session.conn.execute(
            "SELECT trap FROM visits WHERE read_on BETWEEN ? AND ? AND replaces IS NULL AND recount = 0"
            " GROUP BY trap ORDER BY min(recorded_at || id)",
            ((on - timedelta(days=6)).isoformat(), on.isoformat()),
        )
        read = [trap for (trap,) in rows if trap in order]
        return (*read, *(trap for trap in order if trap not in read))

    def office_change(
        self, file: SetUpFile, at: int | None, typed: Mapping[str, str] | None, done_on: date, words: str = ""
    ) -> RegisterChange:
        """A table of the office's files added, changed or taken out.

        Args:
            file: The table.
            at: Its place among those of its kind; None: it is new.
            typed: Text of its columns; None: it is taken out.
            done_on: Day it holds from.
            words: Why.

        Raises:
            RoundtuiError: It cannot be.
        """
        row = RowChange(*office_rows.put(self.session.conn, file, at, typed, self.session.programme.farms))
        return RegisterChange("edited" if at is not None or typed is None else "added", done_on, (row,), words)

    def past(self, change: RegisterChange) -> tuple[str, ...]:
        """What thresholds would have said of the seasons on record, over a connection of its own, for a thread."""
        session, row = self.session, change.changes[0]
        if row.file.name != THRESHOLDS or row.becomes is None:
            return ()
        with session.connection() as conn:
            return office_rows.past_words(conn, session.folder, session.on, session.office, row.becomes["text"])

    def undone(self, entry: SetUpChanged) -> RegisterChange:
        """What puts an entry back, and those recorded with it."""
        return undone(self.session.conn, entry.id, self.session.on)

    def refuse_later(self, day: date) -> None:
        """Refuse a change dated after the day of the session: it has not been done.

        Raises:
            RefusedError: It is.
        """
        if day > self.session.on:
            raise RefusedError(f"{day.isoformat()} is after today", "record it once it is done")

    def remarks(self, change: RegisterChange) -> tuple[str, ...]:
        """What a change would leave that contradicts itself, and what it changes in what people act on."""
        session = self.session
        author = Author(session.scout or "nobody", session.device)
        with session.connection() as conn:
            said = said_before(conn, change, author, folder=session.folder, office=session.office, now=session.clock())
        # A trap cannot be in a route before it is in the register; its row says so until it is.
        new = change.kind == "added" and change.changes[0].file in (FILES[TRAPS_VIEW], FILES[ROUTES_VIEW])
        return tuple(words for words in said if not (new and " in no route: " in words))

    def do(self, change: RegisterChange) -> tuple[SetUpChanged, ...]:
        """Carry a change out. When this returns it is on the disk, and the session knows it."""
        session = self.session
        done = carry_out(session.conn, change, session.named(), session.clock())
        if any(change.file is FILES[SPECIES] for change in change.changes):
            know_species(session.conn)
        session.forget(set_up=True)
        return done

    def write_files(self) -> tuple[int, str]:
        """For a thread: write the set-up files anew, the former ones kept in a folder of their own, and load them.

        Returns:
            How many were written, and the name of that folder; empty where there were none.
        """
        from roundtui.store.set_up.load import load_folder, write_in_place

        session = self.session
        with session.connection() as conn:
            written, kept = write_in_place(conn, session.folder, session.clock())
            load_folder(conn, session.folder, session.clock())
        session.forget()
        return len(written), kept.name if kept is not None else ""


class DifferingRows:
    """Set-up rows that another laptop, or the file, has otherwise.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.open: tuple[versions.OpenRow, ...] = ()
        self.read()

    def read(self) -> None:
        """Read anew which differ."""
        self.open = versions.open_rows(self.session.conn)

    def settle(self, rows: Sequence[versions.OpenRow], whose: Sequence[str]) -> None:
        """Keep rows as they are here, or take over those of a laptop, all or none; on the disk when this returns.

        Args:
            rows: The rows.
            whose: Laptops whose rows are taken over; none: the rows here stay.

        Raises:
            RoundtuiError: Nothing was changed.
        """
        session = self.session
        try:
            choices: list[tuple[versions.OpenRow, versions.Offer | None]] = []
            for row in rows:
                theirs = [offer for offer in row.offers if set(offer.devices) & set(whose)]
                if theirs or not whose:
                    choices.append((row, theirs[0] if theirs else None))
            versions.settle_rows(session.conn, choices, session.named(), session.clock())
            session.forget(set_up=True)
        finally:
            self.read()

    def behind(self, file: SetUpFile) -> bool:
        """Whether a file of the folder does not say yet what was settled."""
        return any(one.file is file for one in versions.not_in_files(self.session.conn))


def _rows_of(conn: sqlite3.Connection, view: int) -> tuple[RegisterRow, ...]:
    if view >= RULES:
        found = office_rows.rules_in if view == RULES else office_rows.others_in
        return tuple(RegisterRow(values["file"], values) for values in found(conn))
    values = list(rows_in(conn, FILES[view]).values())
    return _traps(values) if view == TRAPS_VIEW else _others(FILES[view], values)


def _traps(values: Sequence[Values]) -> tuple[RegisterRow, ...]:
    newest_first = sorted(values, key=lambda one: str(one["hung_on"]), reverse=True)
    by_label = grouped((str(row["trap"]), row) for row in newest_first)
    return tuple(
        RegisterRow(FILES[TRAPS_VIEW], by_label[label][0], tuple(by_label[label][1:]))
        for label in sorted(by_label, key=natural_key)
    )


def _others(file: SetUpFile, values: Sequence[Values]) -> tuple[RegisterRow, ...]:
    return tuple(RegisterRow(file, one) for one in sorted(values, key=lambda one: columns.in_order(file, one)))
