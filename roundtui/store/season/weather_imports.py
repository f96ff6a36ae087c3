"""Files of temperatures from elsewhere, for one station: in the office's own form, GHCN-Daily, or hourly."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, tzinfo
from pathlib import Path

from roundtui.domain.programme.farm import Programme, Station
from roundtui.domain.season.weather_files import daily_extremes, parse_ghcn, parse_hourly, parse_weather
from roundtui.domain.season.weather_rows import StationDays, WeatherRead, against_past
from roundtui.domain.text import plain
from roundtui.domain.units import TempUnit
from roundtui.errors import DoubtfulError, Problem, ProblemsError, RoundtuiError, StoreError
from roundtui.store.journal import Author
from roundtui.store.season.office import look_at_models
from roundtui.store.season.weather import (
    HoursOfDay,
    Progress,
    WeatherReport,
    add_days,
    hours_by_day,
    standard_clock,
    station_days,
)

STYLES = ("weather", "ghcn", "hourly")
"""Forms that are known."""
_SHOWN = 40
_NAMED = 5


def import_weather(
    conn: sqlite3.Connection,
    folder: Path,
    path: Path,
    programme: Programme,
    *,
    station: str,
    style: str | None = None,
    unit: TempUnit | None = None,
    found_as: str | None = None,
    author: Author,
    now: datetime,
    sure: bool = False,
    reading: Progress | None = None,
    storing: Progress | None = None,
) -> WeatherReport:
    """Put a file's days on record.

    Args:
        conn: The store.
        folder: The scouting folder, for the office's habits.
        path: The file.
        programme: What is set up.
        station: The office's station that the days are of.
        style: Form of the file; None: told from its first line.
        unit: Unit of rows that state none; None: the office's.
        found_as: Name under which the file has the station, where it holds several.
        author: Who brings it.
        now: Instant of recording; no later day can have been read.
        sure: Whether somebody said that days which look like those of the other unit are right.
        reading: Told how many bytes were read, and of how many.
        storing: Told how many days were stored, and of how many.

    Returns:
        What it brought, with remarks on what is odd or was left out.

    Raises:
        RoundtuiError: There is no such station or file.
        ProblemsError: Something in the file is wrong; nothing was changed.
        DoubtfulError: A run of its days fits the station's past only in the other unit; nothing was changed.
        StoreError: The store cannot be written.
    """
    known = programme.stations.get(station)
    if known is None:
        from roundtui.domain.round.checks import nearest

        hint = nearest(station, programme.stations) or "add it to stations.csv first"
        raise RoundtuiError(f"there is no station {plain(station, _SHOWN)}", hint)
    office, faults = look_at_models(folder)
    if office is None:
        raise ProblemsError(
            "models.toml cannot be used; no season is worked out without it", faults, "correct the file"
        )
    known = replace(known, timezone=known.timezone or office.timezone)
    source = _Source(path, reading)
    form = style or _told_from(source.first_line())
    today = now.astimezone().date()
    wanted = _Wanted(known, found_as, unit or office.unit, today, office.most_filled)
    read, hours = _hourly(source, wanted) if form == "hourly" else (_read(form, source, wanted), ())
    if read.problems:
        name = plain(path.name, _SHOWN)
        raise ProblemsError(f"{name} was not taken in; nothing was changed", read.problems, "correct the file")
    doubtful, odd = against_past(StationDays.of(read.days), StationDays.of(station_days(conn, station)))
    if doubtful and not sure:
        raise DoubtfulError(f"{plain(path.name, _SHOWN)} was not taken in; nothing was changed", tuple(doubtful))
    report = add_days(
        conn, read.days, source=path.name, style=form, author=author, now=now, progress=storing, hours=hours
    )
    report.remarks = [*read.remarks, *odd, *report.remarks]
    return report


class _Source:
    """The lines of a file, taken one by one since it may be longer than the memory."""

    def __init__(self, path: Path, reading: Progress | None) -> None:
        self._path = path
        self._reading = reading
        self.name = plain(path.name, _SHOWN)

    def first_line(self) -> str:
        """The line that tells the form of the file."""
        return next(iter(self._lines(None)), "")

    def lines(self) -> Iterator[str]:
        """All lines."""
        return self._lines(self._reading)

    def _lines(self, reading: Progress | None) -> Iterator[str]:
        done = 0
        try:
            size = self._path.stat().st_size
            with self._path.open("rb") as file:
                for number, raw in enumerate(file):
                    if number == 0 and raw.startswith((b"\xff\xfe", b"\xfe\xff", b"PK\x03\x04", b"\x1f\x8b")):
                        where = f"{self.name}, line 1"
                        problem = Problem(where, "is no text", "save or unpack it as plain text, UTF-8")
                        raise ProblemsError(f"{self.name} was not taken in; nothing was changed", (problem,))
                    done += len(raw)
                    if reading is not None:
                        reading(done, size)
                    # A byte that is no text becomes a mark that no column takes, and is told there.
                    yield raw.decode("utf-8", errors="replace").replace("\x00", "\ufffd")
        except OSError as error:
            why = error.strerror or type(error).__name__
            raise StoreError(f"{plain(str(self._path), 200)} cannot be read: {why}", "check the name") from error


def _told_from(line: str) -> str:
    names = {part.strip().strip('"').removeprefix("\ufeff").casefold() for part in line.split(",")}
    if {"date", "tmin", "tmax", "station"} <= names and not any(name.endswith("_attributes") for name in names):
        return "weather"
    return "hourly" if {"time", "temp"} <= names else "ghcn"


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What of a file is wanted, and how it is to be read."""

    station: Station
    found_as: str | None
    unit: TempUnit | None
    today: date
    most_filled: int


def _read(form: str, source: _Source, wanted: _Wanted) -> WeatherRead:
    where, most_filled, code = source.name, wanted.most_filled, wanted.station.station
    if form == "ghcn":
        known = {wanted.found_as: code} if wanted.found_as else None
        read = parse_ghcn(source.lines(), stations=known, where=where, most_filled=most_filled)
        if wanted.found_as and not read.days and not read.problems:
            raise RoundtuiError(f"{where} holds no day of {plain(wanted.found_as, _SHOWN)}", "correct the --id")
    else:
        last = wanted.today
        read = parse_weather(source.lines(), unit=wanted.unit, where=where, last=last, most_filled=most_filled)
    if read.problems:
        return read
    held = list(dict.fromkeys(one.station for one in read.days))
    chosen = code if form == "ghcn" and wanted.found_as else _choice(held, wanted, where)
    days = tuple(replace(one, station=code) for one in read.days if one.station == chosen and one.on <= wanted.today)
    return WeatherRead(days, (), read.remarks)


def _choice(held: list[str], asked: _Wanted, name: str) -> str:
    """Which of the stations in a file is meant."""
    code = asked.station.station
    wanted = asked.found_as or (code if code in held else None)
    if wanted is None and len(held) == 1:
        return held[0]
    if wanted is not None and wanted in held:
        return wanted
    if not held:
        raise RoundtuiError(f"{name} holds no whole day", "look at the file, and at --format")
    listed = ", ".join(plain(one, _SHOWN) for one in held[:_NAMED]) + (" …" if len(held) > _NAMED else "")
    if wanted is not None:
        raise RoundtuiError(f"{name} holds no station {plain(wanted, _SHOWN)}", f"it holds {listed}")
    raise RoundtuiError(f"{name} holds several stations", f"say which one is meant with --id; it holds {listed}")


def _hourly(source: _Source, wanted: _Wanted) -> tuple[WeatherRead, tuple[HoursOfDay, ...]]:
    """Days of an hourly file, and its readings as they are kept beside them."""
    hours = parse_hourly(source.lines(), unit=wanted.unit, where=source.name)
    if hours.problems:
        return WeatherRead((), hours.problems), ()
    found = _choice(list(hours.moments), wanted, source.name)
    moments, unit, code = hours.moments[found], hours.units[found], wanted.station.station
    read = daily_extremes(
        moments,
        code,
        unit,
        tz=None if moments[0].at.tzinfo is None else _clock(wanted.station),
        where=source.name,
        most_filled=wanted.most_filled,
    )
    days = tuple(one for one in read.days if one.on <= wanted.today)
    return replace(read, days=days), hours_by_day(code, unit, moments)


def _clock(station: Station) -> tzinfo:
    """The station's standard time, for times with an offset."""
    name = plain(station.station, _SHOWN)
    if not station.timezone:
        raise RoundtuiError(
            f"the station {name} has no time zone, and the file's times need one",
            "write it into stations.csv, as America/New_York, and load",
        )
    clock = standard_clock(station.timezone)
    if clock is None:
        raise RoundtuiError(
            f"the time zone {plain(station.timezone, _SHOWN)} of the station {name} is unknown here",
            "write it into stations.csv as America/New_York, and load",
        )
    return clock
