"""The office's ``weather.csv``: read with the other set-up files, kept as versions of its days."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from roundtui.domain.models import SeasonOffice
from roundtui.domain.units import TempUnit
from roundtui.domain.weather_files import parse_weather
from roundtui.domain.weather_rows import WeatherRead
from roundtui.errors import Problem
from roundtui.store.csv_file import decoded, read_bytes
from roundtui.store.device import device_name
from roundtui.store.journal import Author
from roundtui.store.load_report import FileRead, FileReport, LoadReport
from roundtui.store.season_office import look_at_models
from roundtui.store.weather import Progress, add_days

WEATHER = "weather.csv"
"""Name of the file inside the scouting folder."""
UNSTATED = TempUnit.F
"""Unit of a file that states none, in an office that states none: that of the models that ship."""
_LINES_AT_ONCE = 1000


@dataclass(frozen=True, slots=True)
class WeatherFile:
    """The file as it is now."""

    mtime_ns: int
    size: int
    digest: str
    """What tells one state of it, and of the office's unit, from another."""
    read: WeatherRead | None
    """Its days; None where it is just as it was loaded last."""


class WeatherReading:
    """Reads a file's text once, however often it is asked for: a new folder is tried out before its store is made.

    Args:
        progress: Told how many lines were read, and of how many.
    """

    def __init__(self, progress: Progress | None = None) -> None:
        self._progress = progress
        self._last: tuple[tuple[object, ...], WeatherRead] | None = None

    def parse(
        self, lines: Sequence[str], digest: str, office: SeasonOffice, stations: Collection[str], last: date
    ) -> WeatherRead:
        """The days in a file.

        Args:
            lines: Its lines.
            digest: What tells one state of it, and of the office's unit, from another.
            office: For unit and gaps.
            stations: Stations that are set up.
            last: Last day a row may have.
        """
        key = (digest, frozenset(stations), last)
        if self._last is None or self._last[0] != key:
            unit = office.unit or _assumed(lines)
            read = parse_weather(
                self._told(lines), unit=unit, stations=stations, last=last, most_filled=office.most_filled
            )
            self._last = (key, read)
        return self._last[1]

    def _told(self, lines: Sequence[str]) -> Iterator[str]:
        for number, line in enumerate(lines, start=1):
            if self._progress is not None and (number % _LINES_AT_ONCE == 0 or number == len(lines)):
                self._progress(number, len(lines))
            yield line


def read_weather_file(
    conn: sqlite3.Connection,
    folder: Path,
    others: Sequence[FileRead],
    now: datetime,
    reading: WeatherReading,
) -> tuple[WeatherFile | None, tuple[Problem, ...]]:
    """Read the file where there is one.

    Args:
        conn: The store.
        folder: The scouting folder.
        others: The other set-up files, which may bring stations.
        now: Instant, since no day after it can have been read.
        reading: Reads its text.

    Returns:
        The file, None where there is none, and what is wrong with it.
    """
    path = folder / WEATHER
    if not path.exists() and not path.is_symlink():
        return None, ()
    content, problem = read_bytes(path)
    if problem is not None:
        return None, (Problem(WEATHER, problem.message, problem.hint),)
    office, faults = look_at_models(folder)
    if office is None:
        return None, faults
    stat = path.stat()
    unit = f"\n{office.unit}".encode()
    digest = hashlib.blake2b(content + unit, digest_size=16).hexdigest()
    known = conn.execute("SELECT digest FROM files WHERE name = ?", (WEATHER,)).fetchone()
    if known and known[0] == digest:
        return WeatherFile(stat.st_mtime_ns, stat.st_size, digest, None), ()
    text, problem = decoded(WEATHER, content)
    if problem is not None:
        return None, (problem,)
    lines = text.splitlines(keepends=True)
    read = reading.parse(lines, digest, office, _stations(conn, others), now.astimezone().date())
    odd = read.remarks
    if office.unit is None and _assumed(lines) is not None:
        words = f"no column unit: taken as {UNSTATED.sign}"
        odd = (Problem(WEATHER, words, "add the column, or unit under [weather] in models.toml"), *odd)
    read = WeatherRead(read.days, read.problems, odd)
    return WeatherFile(stat.st_mtime_ns, stat.st_size, digest, read), read.problems


def apply_weather(conn: sqlite3.Connection, file: WeatherFile, report: LoadReport, now: datetime) -> None:
    """Put the file's days on record.

    Args:
        conn: The store, inside the transaction of the load.
        file: The file, without problems.
        report: Takes what was done.
        now: Instant of loading.
    """
    counts = report.files.setdefault(WEATHER, FileReport())
    if file.read is None:
        return
    who = conn.execute("SELECT value FROM settings WHERE key = 'scout'").fetchone()
    author = Author(who[0] if who else "", device_name())
    found = add_days(conn, file.read.days, source=WEATHER, style="weather", author=author, now=now)
    counts.added, counts.changed, counts.same = found.added, found.changed, found.same
    report.remarks += [*file.read.remarks, *found.remarks]


def _assumed(lines: Sequence[str]) -> TempUnit | None:
    header = lines[0] if lines else ""
    return None if "unit" in header.casefold() else UNSTATED


def _stations(conn: sqlite3.Connection, others: Sequence[FileRead]) -> Collection[str]:
    found = {row[0] for row in conn.execute("SELECT station FROM stations")}
    for other in others:
        if other.file.table == "stations":
            found |= {str(values["station"]) for _, values in other.rows}
    return found
