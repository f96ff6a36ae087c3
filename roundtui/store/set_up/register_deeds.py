"""What a person may do to the register, as deeds for ``register.carry_out``: each works out the rows it touches."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from roundtui.domain.programme.farm import spread
from roundtui.domain.text import plain
from roundtui.errors import Problem, RefusedError
from roundtui.store.set_up.columns import SetUpFile, Values
from roundtui.store.set_up.register import Deed, RowChange, refused
from roundtui.store.set_up.register_checks import cells_of, read_row
from roundtui.store.set_up.row import BY_NAME
from roundtui.store.set_up.row_digests import rows_in

TRAPS = BY_NAME["traps.csv"]
ROUTES = BY_NAME["routes.csv"]
PLACE = ("block", "row", "tree", "lat", "lon")
"""Columns that say where a trap hangs."""
_SHOWN = 40


def row_of(conn: sqlite3.Connection, file: SetUpFile, *key: str) -> Values:
    """A row by its labels; of a trap without its day the hanging that began last.

    Args:
        conn: The store.
        file: Its file.
        key: Its labels.

    Raises:
        RefusedError: There is none.
    """
    found = [values for values in rows_in(conn, file).values() if file.key_of(values)[: len(key)] == key]
    if not found:
        from roundtui.domain.round.checks import nearest

        known = {str(values[file.key[0]]) for values in rows_in(conn, file).values()}
        name = plain(" ".join(key), _SHOWN)
        hint = nearest(key[0], known) or "roundtui register lists what there is"
        raise RefusedError(f"there is no {file.key[0]} {name} in the register", hint)
    return max(found, key=lambda values: str(values.get("hung_on") or ""))


def added(file: SetUpFile, typed: Mapping[str, str], done_on: date, words: str = "") -> Deed:
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
        raise refused(Problem("trap", f"'{plain(typed['trap'], _SHOWN)}' is no range of traps", "write it as T01..T24"))
    rows = []
    for at, label in enumerate(labels):
        more = {"trap": label} if label else {}
        place = typed.get("position", "")
        if at and place.isdecimal():
            more["position"] = str(int(place) + at)
        rows.append(RowChange(file, None, _read(file, {**typed, **more})))
    return Deed("added", done_on, tuple(rows), words)


def edited(file: SetUpFile, here: Values, typed: Mapping[str, str], done_on: date, words: str = "") -> Deed:
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
        Problem(column, f"the {column} of a row stays {plain(str(here[column]), _SHOWN)}", "add a row of its own")
        for column in file.key
        if column != "hung_on" and values[column] != here[column]
    )
    if problems:
        raise refused(*problems)
    return Deed("edited", done_on, (RowChange(file, here, values),), words)


def moved(here: Values, typed: Mapping[str, str], done_on: date, words: str = "") -> Deed:
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
    label = plain(str(here["trap"]), _SHOWN)
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
    return Deed("moved", done_on, (RowChange(TRAPS, here, closed), RowChange(TRAPS, None, values)), words)


def taken_down(here: Values, done_on: date, words: str = "") -> Deed:
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
    return Deed("taken-down", done_on, (RowChange(TRAPS, here, values),), words)


def never_down(here: Values, done_on: date, words: str = "") -> Deed:
    """The day of taking down struck out: the trap hung all the time, in one series.

    Args:
        here: Its hanging.
        done_on: Day on which that is said.
        words: Why.

    Raises:
        ProblemsError: It is not down.
    """
    if here["down_on"] is None:
        raise refused(Problem("down_on", f"{plain(str(here['trap']), _SHOWN)} hangs", "there is nothing to restore"))
    return Deed("restored", done_on, (RowChange(TRAPS, here, here | {"down_on": None}),), words)


def hung_again(here: Values, typed: Mapping[str, str], done_on: date, words: str = "") -> Deed:
    """A trap that was down, hung again from a day on, where a new series begins.

    Args:
        here: Its last hanging.
        typed: Text of columns that are otherwise than then.
        done_on: Day of hanging.
        words: Why.

    Raises:
        ProblemsError: It still hangs, or a column cannot be read.
    """
    label = plain(str(here["trap"]), _SHOWN)
    if here["down_on"] is None:
        raise refused(Problem("down_on", f"{label} hangs still", "move it, or take it down first"))
    if done_on.isoformat() < str(here["down_on"]) or done_on.isoformat() == here["hung_on"]:
        raise refused(
            Problem("hung_on", f"{label} came down on {here['down_on']} only", "hang it again on that day or later")
        )
    values = _read(TRAPS, cells_of(TRAPS, here) | dict(typed) | {"hung_on": done_on.isoformat(), "down_on": ""})
    return Deed("restored", done_on, (RowChange(TRAPS, None, values),), words)


def reordered(conn: sqlite3.Connection, route: str, order: Sequence[str], done_on: date, words: str = "") -> Deed:
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
        raise RefusedError(f"these are not the traps of route {plain(route, _SHOWN)}", "name each of its traps once")
    places = sorted(values["position"] for values in stops.values())
    changes = [
        RowChange(ROUTES, stops[trap], stops[trap] | {"position": place})
        for trap, place in zip(order, places, strict=True)
        if stops[trap]["position"] != place
    ]
    return Deed("reordered", done_on, tuple(changes), words)


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
        label = plain(str(here["trap"]), _SHOWN)
        raise refused(
            Problem("down_on", f"{label} is down since {here['down_on']}", "hang it again with its day of hanging")
        )


def _read(file: SetUpFile, typed: Mapping[str, str]) -> Values:
    values, problems = read_row(file, typed)
    if problems:
        raise refused(*problems)
    return values
