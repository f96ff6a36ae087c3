"""What is wrong with set-up files that are each well written: doubles, unknown labels, a trap's second species."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from roundtui.domain.round.checks import nearest
from roundtui.domain.text import plain
from roundtui.errors import Problem
from roundtui.store.set_up.load_report import FileRead

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
                named = ", ".join(plain(str(part), _SHOWN) for part in this if part != "")
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
            words = f"{plain(station, _SHOWN)} has no normals of {len(missing)} days ({named})"
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
                    problems.append(
                        Problem(
                            f"{cells.where}, {reference.column}",
                            f"there is no {reference.key} {plain(label, _SHOWN)}",
                            nearest(label, labels) or f"add it to {reference.file}",
                        )
                    )
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
                trap = plain(values["trap"], _SHOWN)
                problems.append(
                    Problem(
                        f"{cells.where}, species",
                        f"{trap} is a trap for {has} and cannot become one for {values['species']}",
                        "a body keeps its species for life: hang a new trap under a new label",
                    )
                )
    return problems
