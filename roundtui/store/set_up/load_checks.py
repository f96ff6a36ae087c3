"""What a load brought.

What is wrong with set-up files that are each well written: doubles, unknown labels, a trap's second species.
Warnings after a load: contradictions that were accepted.
Whether a row of the register may stand as it is to be: read as its file would be read, beside the rows there are.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from roundtui.domain.programme.farm import natural_key
from roundtui.domain.round.checks import nearest
from roundtui.domain.text import ruled, sanitize
from roundtui.errors import Problem
from roundtui.published import read
from roundtui.store.csv_file import Cells, CsvRow
from roundtui.store.set_up.columns import SetUpFile, Values, cell, misfits, named


@dataclass(slots=True)
class FileReport:
    """What one file brought."""

    added: int = 0
    """Rows that were new."""
    changed: int = 0
    """Rows that had changed."""
    same: int = 0
    """Rows as they were."""


@dataclass(slots=True)
class LoadReport:
    """What a folder brought."""

    files: dict[str, FileReport] = field(default_factory=dict)
    """By file name, in the order of loading."""
    remarks: list[Problem] = field(default_factory=list)
    """Warnings: rows and files that vanished, dates that moved."""
    contested: list[Problem] = field(default_factory=list)
    """Rows that were changed in the file and here as well: they stay as they are here, and someone settles them."""

    @property
    def changed(self) -> bool:
        """Whether anything in the store is different now."""
        return any(file.added or file.changed for file in self.files.values())


@dataclass(slots=True)
class FileRead:
    """A file with its rows typed."""

    file: SetUpFile
    """Which file."""
    mtime_ns: int
    """When it was written last. [ns]"""
    size: int
    """Its length. [bytes]"""
    digest: str
    """What tells one state of it from another."""
    rows: list[tuple[Cells, Values]]
    """Its rows, as read and as values."""


_SHOWN = 40


def doubles(one: FileRead) -> list[Problem]:
    """Rows that say the same thing twice, and stops that share a place."""
    problems = []
    unique = [("row", one.file.key)]
    if one.file.table == "stops":
        unique.append(("place", ("route", "position")))
    for words, key in unique:
        seen: dict[tuple[Any, ...], str] = {}
        for cells, values in one.rows:
            this = tuple(values[column] for column in key)
            if this in seen:
                named = ", ".join(sanitize(str(part), _SHOWN) for part in this if part != "")
                problems.append(
                    Problem(cells.where, f"a second {words} for {named}", f"the first is on line {seen[this]}")
                )
            seen.setdefault(this, cells.where.rpartition(" ")[2])
    return problems


def days_without_normals(read: Sequence[FileRead]) -> list[Problem]:
    """Remarks on stations whose normals leave days out; a sum by normal stops there."""
    stated: dict[str, set[str]] = {}
    for one in read:
        if one.file.table == "normals":
            for _, values in one.rows:
                stated.setdefault(values["station"], set()).add(values["month_day"])
    found = []
    for station, days in stated.items():
        year = [f"{date(2001, 1, 1) + timedelta(days=at):%m-%d}" for at in range(365)]
        missing = [day for day in year if day not in days]
        if missing:
            named = ", ".join(missing[:3]) + (" …" if len(missing) > 3 else "")
            words = f"{sanitize(station, _SHOWN)} has no normals of {len(missing)} days ({named})"
            found.append(Problem("normals.csv", words, "where they are missing no date is reckoned by normal"))
    return found


def unknown_labels(conn: sqlite3.Connection, read: Sequence[FileRead]) -> list[Problem]:
    """Labels that name no row of the files or of the store."""
    problems = []
    known: dict[str, set[str]] = {}
    for one in read:
        for reference in one.file.references:
            if reference.table not in known:
                rows = conn.execute(f"SELECT {reference.key} FROM {reference.table}")  # noqa: S608
                known[reference.table] = {row[0] for row in rows} | {
                    values[reference.key]
                    for other in read
                    if other.file.table == reference.table
                    for _, values in other.rows
                }
            labels = known[reference.table]
            for cells, values in one.rows:
                label = values[reference.column]
                if label and label not in labels:
                    words = f"there is no {reference.key} {sanitize(label, _SHOWN)}"
                    hint = nearest(label, labels) or f"add it to {reference.file}"
                    problems.append(Problem(f"{cells.where}, {reference.column}", words, hint))
    return problems


def second_species(conn: sqlite3.Connection, read: Sequence[FileRead]) -> list[Problem]:
    """Rows that would give a trap another species than it has."""
    problems = []
    species: dict[str, str] = dict(conn.execute("SELECT trap, species FROM traps"))
    for one in read:
        if one.file.table != "traps":
            continue
        for cells, values in one.rows:
            has = species.setdefault(values["trap"], values["species"])
            if has != values["species"]:
                trap = sanitize(values["trap"], _SHOWN)
                words = f"{trap} is a trap for {has} and cannot become one for {values['species']}"
                hint = "a body keeps its species for life: hang a new trap under a new label"
                problems.append(Problem(f"{cells.where}, species", words, hint))
    return problems


_MOST_NAMED = 12
TRAPS, LURES, ROUTES = "traps.csv", "lures.csv", "routes.csv"

_IN_NO_ROUTE = """
SELECT DISTINCT trap FROM traps WHERE down_on IS NULL AND trap NOT IN (SELECT trap FROM stops) ORDER BY trap
"""


def register_remarks(conn: sqlite3.Connection) -> list[Problem]:
    """Contradictions of the register as it stands, each with what follows from it.

    Args:
        conn: The store; every entry and every hanging is looked at, so this is for a load that changed the register.
    """
    return [
        *(
            Problem(file, words.format(*(sanitize(one, _SHOWN) for one in row)), hint)
            for file, remarks in read("remarks", Path(__file__).parent).items()
            for question, words, hint in ruled(remarks)
            for row in conn.execute(question)
        ),
        *_in_no_route(conn),
    ]


def _in_no_route(conn: sqlite3.Connection) -> Iterator[Problem]:
    """Traps that no round would ever come to."""
    labels = sorted((row[0] for row in conn.execute(_IN_NO_ROUTE)), key=natural_key)
    if not labels:
        return
    (every,) = conn.execute("SELECT count(DISTINCT trap) FROM traps WHERE down_on IS NULL").fetchone()
    named = ", ".join(sanitize(label, _SHOWN) for label in labels[:_MOST_NAMED])
    more = f" and {len(labels) - _MOST_NAMED} more" if len(labels) > _MOST_NAMED else ""
    stand = "hangs" if len(labels) == 1 else "hang"
    words = f"{len(labels)} of {every} traps {stand} in no route: {named}{more}"
    hint = "no round reads them; add them to routes.csv, or to a route in the register"
    yield Problem(ROUTES, words, hint)


def cells_of(file: SetUpFile, values: Mapping[str, Any] | None) -> dict[str, str]:
    """A row as its file would hold it, by column; blank throughout where there is none."""
    known = values or {}
    return {column: cell(column, known.get(column)) for column in file.columns}


def read_row(file: SetUpFile, typed: Mapping[str, str]) -> tuple[Values, tuple[Problem, ...]]:
    """A row from what was typed, by the reader of its file.

    Args:
        file: Its file.
        typed: Text of each column; one that is not there is blank.

    Returns:
        The row, and what is wrong with it; with any of that the row is worthless.
    """
    unknown = [column for column in typed if column not in file.columns]
    if unknown:
        hint = nearest(unknown[0], file.columns) or f"the columns are {', '.join(file.columns)}"
        return {}, (Problem(file.name, f"has no column {sanitize(unknown[0], _SHOWN)}", hint),)
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


def strangers(conn: sqlite3.Connection, file: SetUpFile, values: Values) -> tuple[Problem, ...]:
    """Labels in a row that name no row of the store, and another species than its trap has.

    Args:
        conn: The store.
        file: Its file.
        values: The row.
    """
    problems = []
    for reference, label in misfits(conn, file, values):
        if reference is None:
            words = f"{sanitize(values['trap'], _SHOWN)} is a trap for {label} and cannot become one for"
            hint = "a body keeps its species for life: hang a new trap under a new label"
            problems.append(Problem("species", f"{words} {values['species']}", hint))
            continue
        labels = [row[0] for row in conn.execute(f"SELECT {reference.key} FROM {reference.table}")]  # noqa: S608
        hint = nearest(label, labels) or f"add it to the {reference.table} first"
        words = f"there is no {reference.key} {sanitize(label, _SHOWN)}"
        problems.append(Problem(reference.column, words, hint))
    return tuple(problems)


def _trap(conn: sqlite3.Connection, values: Values) -> Iterable[Problem]:
    label, shown = values["trap"], sanitize(values["trap"], _SHOWN)
    hung, down = values["hung_on"], values["down_on"]
    for other_hung, other_down in conn.execute(
        "SELECT hung_on, down_on FROM traps WHERE trap = ? AND hung_on <> ?", (label, hung)
    ):
        # Both ends may fall on one day: it is taken from one place and hung in the next.
        if (down is None or down > other_hung) and (other_down is None or other_down > hung):
            since = other_hung or "day unknown"
            words = f"{shown} hangs from {since} to {other_down or 'now'} already"
            hint = "a trap hangs in one place at a time: take it down there first, or mend the day"
            yield Problem("hung_on", words, hint)
            return


def _stop(conn: sqlite3.Connection, values: Values) -> Iterable[Problem]:
    double = conn.execute(
        "SELECT trap FROM stops WHERE route = ? AND position = ? AND trap <> ?",
        (values["route"], values["position"], values["trap"]),
    ).fetchone()
    if double is not None:
        yield Problem(
            "position",
            f"place {values['position']} of route {sanitize(values['route'], _SHOWN)} is that of"
            f" {sanitize(double[0], _SHOWN)}",
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
