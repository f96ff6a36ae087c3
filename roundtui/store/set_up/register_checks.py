"""Whether a row of the register may stand as it is to be: read as its file would be read, beside the rows there are."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from typing import Any

from roundtui.domain.round.checks import nearest
from roundtui.domain.text import plain
from roundtui.errors import Problem
from roundtui.store.csv_file import Cells, CsvRow
from roundtui.store.set_up.columns import SetUpFile, Values
from roundtui.store.set_up.row import cell, named

_SHOWN = 40


def cells_of(file: SetUpFile, values: Mapping[str, Any] | None) -> dict[str, str]:
    """A row as its file would hold it, by column; blank throughout where there is none."""
    known = values or {}
    return {column: cell(column, known.get(column)) for column in (*file.required, *file.optional)}


def read_row(file: SetUpFile, typed: Mapping[str, str]) -> tuple[Values, tuple[Problem, ...]]:
    """A row from what was typed, by the reader of its file.

    Args:
        file: Its file.
        typed: Text of each column; one that is not there is blank.

    Returns:
        The row, and what is wrong with it; with any of that the row is worthless.
    """
    unknown = sorted(set(typed) - {*file.required, *file.optional})
    if unknown:
        columns = (*file.required, *file.optional)
        hint = nearest(unknown[0], columns) or f"the columns are {', '.join(columns)}"
        return {}, (Problem(file.name, f"has no column {plain(unknown[0], _SHOWN)}", hint),)
    cells = Cells(CsvRow(0, {column: text.replace("\x00", "").strip() for column, text in typed.items()}), file.name)
    values = file.read(cells)
    problems = [Problem(problem.where.rpartition(", ")[2], problem.message, problem.hint) for problem in cells.problems]
    return values, tuple(problems)


def check_rows(conn: sqlite3.Connection, file: SetUpFile, rows: Iterable[Values]) -> tuple[Problem, ...]:
    """What keeps rows from standing as they do now, among all others of the store.

    Args:
        conn: The store, inside the transaction in which they were written.
        file: Their file.
        rows: The rows.
    """
    problems: list[Problem] = []
    for values in rows:
        if file.table == "traps":
            problems += _trap(conn, values)
        elif file.table == "stops":
            problems += _stop(conn, values)
    return tuple(dict.fromkeys(problems))


def misfits(conn: sqlite3.Connection, file: SetUpFile, values: Values) -> tuple[Problem, ...]:
    """Labels in a row that name no row of the store, and another species than its trap has.

    Args:
        conn: The store.
        file: Its file.
        values: The row.
    """
    problems = []
    for reference in file.references:
        label = values[reference.column]
        known = f"SELECT 1 FROM {reference.table} WHERE {reference.key} = ? LIMIT 1"  # noqa: S608
        if label and conn.execute(known, (label,)).fetchone() is None:
            labels = [row[0] for row in conn.execute(f"SELECT {reference.key} FROM {reference.table}")]  # noqa: S608
            hint = nearest(str(label), labels) or f"add it to the {reference.table} first"
            words = f"there is no {reference.key} {plain(str(label), _SHOWN)}"
            problems.append(Problem(reference.column, words, hint))
    if file.table == "traps":
        has = conn.execute("SELECT species FROM traps WHERE trap = ? LIMIT 1", (values["trap"],)).fetchone()
        if has is not None and has[0] != values["species"]:
            words = f"{plain(values['trap'], _SHOWN)} is a trap for {has[0]} and cannot become one for"
            hint = "a body keeps its species for life: hang a new trap under a new label"
            problems.append(Problem("species", f"{words} {values['species']}", hint))
    return tuple(problems)


def _trap(conn: sqlite3.Connection, values: Values) -> Iterable[Problem]:
    label, shown = values["trap"], plain(values["trap"], _SHOWN)
    hung, down = values["hung_on"], values["down_on"]
    for other_hung, other_down in conn.execute(
        "SELECT hung_on, down_on FROM traps WHERE trap = ? AND hung_on <> ?", (label, hung)
    ):
        # Both ends may fall on one day: it is taken from one place and hung in the next.
        if (down is None or down > other_hung) and (other_down is None or other_down > hung):
            since = other_hung or "day unknown"
            yield Problem(
                "hung_on",
                f"{shown} hangs from {since} to {other_down or 'now'} already",
                "a trap hangs in one place at a time: take it down there first, or mend the day",
            )
            return


def _stop(conn: sqlite3.Connection, values: Values) -> Iterable[Problem]:
    double = conn.execute(
        "SELECT trap FROM stops WHERE route = ? AND position = ? AND trap <> ?",
        (values["route"], values["position"], values["trap"]),
    ).fetchone()
    if double is not None:
        yield Problem(
            "position",
            f"place {values['position']} of route {plain(values['route'], _SHOWN)} is that of"
            f" {plain(double[0], _SHOWN)}",
            "give it another place",
        )


def is_free(conn: sqlite3.Connection, file: SetUpFile, values: Values) -> tuple[Problem, ...]:
    """A problem where a row that is to be added is there already.

    Args:
        conn: The store.
        file: Its file.
        values: The row.
    """
    where = " AND ".join(f"{column} = ?" for column in file.key)
    known = conn.execute(f"SELECT 1 FROM {file.table} WHERE {where}", file.key_of(values)).fetchone()  # noqa: S608
    if known is None:
        return ()
    hint = "change that row, or give another label"
    return (Problem(file.key[0], f"{named(file, values)} is in the register already", hint),)
