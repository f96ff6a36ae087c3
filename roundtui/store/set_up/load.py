"""Set-up files into the store: all of a folder or nothing, and only the rows that changed since the last time."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Collection, Sequence
from datetime import datetime
from pathlib import Path

from roundtui.domain.programme.species import take_office_species
from roundtui.domain.text import plain
from roundtui.errors import Problem, ProblemsError
from roundtui.store.connect import transaction
from roundtui.store.csv_file import Cells, read_bytes, read_csv
from roundtui.store.folder import newer_files
from roundtui.store.rows import instant
from roundtui.store.season.weather import NORMALS
from roundtui.store.season.weather_load import WEATHER, WeatherReading, look_at_weather, take_in_weather
from roundtui.store.set_up.columns import FILES
from roundtui.store.set_up.load_apply import apply_all, load_office
from roundtui.store.set_up.load_checks import days_without_normals, doubles, second_species, unknown_labels
from roundtui.store.set_up.load_remarks import LURES, TRAPS, register_remarks
from roundtui.store.set_up.load_report import FileRead, FileReport, LoadReport
from roundtui.store.set_up.office import files_here
from roundtui.store.species import know_species

__all__ = ["FileReport", "LoadReport", "load_folder", "newer_files"]

_SPECIES = ("species", "name", "latin", "synonyms", "lure_days")


def load_folder(
    conn: sqlite3.Connection, folder: Path, now: datetime, weather_reading: WeatherReading | None = None
) -> LoadReport:
    """Read the set-up files of a folder into the store; subfolders are not read.

    Args:
        conn: The store.
        folder: The scouting folder.
        now: Instant of loading.
        weather_reading: Reads the text of weather.csv, which may be long; None: as it comes.

    Returns:
        What was added and changed. The same files again change nothing.

    Raises:
        ProblemsError: Something in a file is wrong; every fault is in it, and nothing was changed.
        StoreError: The store cannot be written.
    """
    try:
        return _load(conn, folder, now, weather_reading)
    finally:
        know_species(conn)


def _load(conn: sqlite3.Connection, folder: Path, now: datetime, weather_reading: WeatherReading | None) -> LoadReport:
    read, problems = _read_files(conn, folder)
    with transaction(conn):
        weather, of_weather = look_at_weather(conn, folder)
        if not problems:
            problems = [*unknown_labels(conn, read), *second_species(conn, read)]
        problems += of_weather
        if not (read or weather or problems):
            problems.append(
                Problem(plain(str(folder), 200), "holds none of the set-up files", f"begin with {_listed()}")
            )
        report = LoadReport()
        office: dict[str, tuple[int, int, str]] = {}
        if not problems:
            apply_all(conn, read, report, now)
            office = load_office(conn, folder, report, now)
        if weather is not None:
            reading = weather_reading or WeatherReading()
            problems += take_in_weather(conn, weather, read, report, now=now, reading=reading, store=not problems)
        if problems:
            where = plain(str(folder), 200)
            raise ProblemsError(f"{where} was not loaded; nothing was changed", tuple(problems), "correct the files")
        states = {one.file.name: (one.mtime_ns, one.size, one.digest) for one in read}
        if weather is not None:
            states[WEATHER] = (weather.mtime_ns, weather.size, weather.digest)
        states |= office
        normals = report.files.get(NORMALS)
        if normals is not None and (normals.added or normals.changed):
            report.remarks += days_without_normals(read)
        if any(file.added or file.changed for name, file in report.files.items() if name in (TRAPS, LURES)):
            report.remarks += register_remarks(conn)
        _note_gone_files(conn, states, report)
        conn.executemany(
            "INSERT OR REPLACE INTO files (name, mtime_ns, size, digest, loaded_at) VALUES (?, ?, ?, ?, ?)",
            ((name, *state, instant(now)) for name, state in states.items()),
        )
    return report


def _read_files(conn: sqlite3.Connection, folder: Path) -> tuple[list[FileRead], list[Problem]]:
    read: list[FileRead] = []
    here = files_here(folder)
    problems = [twice(name, paths) for name, paths in here.items() if len(paths) > 1]
    for file in FILES:
        if file.name not in here:
            continue
        path = here[file.name][0]
        content, problem = read_bytes(path)
        if problem is not None:
            problems.append(Problem(file.name, problem.message, problem.hint))
            continue
        stat = path.stat()
        rows, found = read_csv(file.name, content, file.required, file.optional)
        problems += found
        one = FileRead(file, stat.st_mtime_ns, stat.st_size, hashlib.blake2b(content, digest_size=16).hexdigest(), [])
        for row in rows:
            cells = Cells(row, file.name)
            one.rows.append((cells, file.read(cells)))
            problems += cells.problems
        if not problems:
            problems += doubles(one)
        if file.table == "species":
            # The files that follow name species of this one, before any of it is in the store.
            office = {row[0]: row for row in conn.execute(f"SELECT {', '.join(_SPECIES)} FROM species")}  # noqa: S608
            office |= {values["species"]: tuple(values[column] for column in _SPECIES) for _, values in one.rows}
            take_office_species(office.values())
        read.append(one)
    return read, problems


def twice(name: str, paths: Sequence[Path]) -> Problem:
    """Two files that both go by the name of one table.

    Args:
        name: The name.
        paths: The files.
    """
    names = " and ".join(plain(path.name, 60) for path in paths)
    return Problem(name, f"{names} are files for one table", "keep one of them, and move the other away")


def _listed() -> str:
    return ", ".join(file.name for file in FILES if file.name in ("farms.csv", "blocks.csv", "traps.csv"))


def _note_gone_files(conn: sqlite3.Connection, here: Collection[str], report: LoadReport) -> None:
    for (name,) in conn.execute("SELECT name FROM files ORDER BY name").fetchall():
        if name not in here:
            report.remarks.append(Problem(name, "is no longer in the folder", "what was loaded before stays on record"))
