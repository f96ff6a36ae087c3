"""What a load brought.

What is wrong with set-up files that are each well written: doubles, unknown labels, a trap's second species.
Warnings after a load: contradictions that were accepted.
Whether a row of the register may stand as it is to be, beside the rows there are.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from roundtui.domain.programme.farm import natural_key
from roundtui.domain.text import SHOWN, listed, ruled, sanitize
from roundtui.errors import Problem
from roundtui.published import read
from roundtui.store.csv_file import Cells
from roundtui.store.set_up import columns
from roundtui.store.set_up.columns import SetUpFile, Values


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
                named = ", ".join(sanitize(str(part), SHOWN) for part in this if part != "")
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
            words = f"{sanitize(station, SHOWN)} has no normals of {len(missing)} days ({named})"
            found.append(Problem("normals.csv", words, "where they are missing no date is reckoned by normal"))
    return found


def misfits(conn: sqlite3.Connection, read: Sequence[FileRead]) -> list[Problem]:
    """Labels that name no row of the files or of the store, and rows that would give a trap another species."""
    new: dict[str, dict[str, Any]] = {}
    for one in read:
        labels = new.setdefault(one.file.table, {})
        for _, values in one.rows:
            labels.setdefault(values[one.file.key[0]], values.get("species"))
    return [
        Problem(f"{cells.where}, {problem.where}", problem.message, problem.hint)
        for one in read
        for cells, values in one.rows
        for problem in columns.misfits(conn, one.file, values, new)
    ]


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
            Problem(file, words.format(*(sanitize(one, SHOWN) for one in row)), hint)
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
    named = listed((sanitize(label, SHOWN) for label in labels), _MOST_NAMED)
    stand = "hangs" if len(labels) == 1 else "hang"
    words = f"{len(labels)} of {every} traps {stand} in no route: {named}"
    hint = "no round reads them; add them to routes.csv, or to a route in the register"
    yield Problem(ROUTES, words, hint)


def check_row(conn: sqlite3.Connection, file: SetUpFile, values: Values) -> Iterator[Problem]:
    """What keeps a row from standing as it does now, among all others of the store.

    Args:
        conn: The store, inside the transaction in which it was written.
        file: Its file.
        values: The row.
    """
    if file.table == "traps":
        hung, down = values["hung_on"], values["down_on"]
        others = "SELECT hung_on, down_on FROM traps WHERE trap = ? AND hung_on <> ?"
        for other_hung, other_down in conn.execute(others, (values["trap"], hung)):
            # Both ends may fall on one day: it is taken from one place and hung in the next.
            if (down is None or down > other_hung) and (other_down is None or other_down > hung):
                trap, since = sanitize(values["trap"], SHOWN), other_hung or "day unknown"
                words = f"{trap} hangs from {since} to {other_down or 'now'} already"
                hint = "a trap hangs in one place at a time: take it down there first, or mend the day"
                yield Problem("hung_on", words, hint)
                return
    elif file.table == "stops":
        place = values["route"], values["position"]
        other = "SELECT trap FROM stops WHERE route = ? AND position = ? AND trap <> ?"
        for (trap,) in conn.execute(f"{other} LIMIT 1", (*place, values["trap"])):
            words = f"place {place[1]} of route {sanitize(place[0], SHOWN)} is that of {sanitize(trap, SHOWN)}"
            yield Problem("position", words, "give it another place")
