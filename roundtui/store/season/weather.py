"""Readings through the day on record: a row for each day of a file, so that any hour of it can be looked up later.

The readings themselves are kept and not the temperature at sunset: a station whose place is written down late, or put
right, then needs no file again.

Daily temperatures on record: versions that files brought, entries made by hand, and the present day of both.
Temperatures at sunset: the hour from the station's place, the temperature from its readings through the day.
Normal temperatures of a station, for an outlook that has too few past years to go by.

Forecast days: kept in a file of their own beside the record, so that none is ever taken for a reading.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from functools import cache, cached_property
from itertools import groupby
from pathlib import Path

from roundtui.domain.programme.farm import Station
from roundtui.domain.records import Frozen
from roundtui.domain.season.biofix import Sunsets
from roundtui.domain.season.outlook import normal_days
from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.season.weather_files import Moment, parse_weather, temp_at
from roundtui.domain.season.weather_rows import StationDays
from roundtui.domain.text import SHOWN, sanitize
from roundtui.domain.units import TempUnit, convert_temp
from roundtui.errors import Problem
from roundtui.store.failures import plainly
from roundtui.store.files import csv_text, regular, write_whole
from roundtui.store.office import files_here
from roundtui.store.record.journal import Author
from roundtui.store.record.lanes import new_id
from roundtui.store.record.rows import instant

OF_UTC, OF_STATION = "UTC", "station"
"""Clocks of ``HoursOfDay``: of readings with an offset, and of those without one."""
_DAY = timedelta(days=1)


class HoursOfDay(Frozen):
    """A station's readings of one day by one clock."""

    station: str
    """Code of the station."""
    day: date
    """Day by that clock."""
    clock: str
    """``OF_UTC`` or ``OF_STATION``."""
    unit: TempUnit
    """Unit of the readings."""
    readings: str
    """Hour and temperature in turn, in order of time: ``00:00 41.5 01:00 40``. [``unit``]"""


def hours_by_day(station: str, unit: TempUnit, moments: Sequence[Moment]) -> tuple[HoursOfDay, ...]:
    """Readings by day, as they are kept; seconds are dropped.

    Args:
        station: Code of the station.
        unit: Unit of the readings.
        moments: Readings, in order of time, all with an offset from UTC or none.
    """
    aware = bool(moments) and moments[0].at.tzinfo is not None
    placed = [(one.at.astimezone(UTC) if aware else one.at, one.temp) for one in moments]
    clock = OF_UTC if aware else OF_STATION
    return tuple(
        HoursOfDay(station, day, clock, unit, " ".join(f"{at:%H:%M} {temp:g}" for at, temp in of_day))
        for day, of_day in groupby(placed, key=lambda one: one[0].date())
    )


def new_hours(conn: sqlite3.Connection, days: Sequence[HoursOfDay], source: str) -> Iterator[HoursOfDay]:
    """Those days of a file that say something new: neither what stands, nor what the file said before.

    Args:
        conn: The store.
        days: Days of one station, in order.
        source: Name of the file.
    """
    if not days:
        return
    span = (days[0].station, days[0].day.isoformat(), days[-1].day.isoformat())
    standing, before = (
        {
            (row[0], row[1]): (row[2], row[3])
            for row in conn.execute(
                "SELECT day, clock, unit, readings, max(import) FROM weather_hours"  # noqa: S608
                f" WHERE station = ? AND day BETWEEN ? AND ? {only} GROUP BY day, clock",
                values,
            )
        }
        for only, values in (
            ("", span),
            ("AND import IN (SELECT import FROM weather_imports WHERE source = ?)", (*span, source)),
        )
    )
    for one in days:
        key = (one.day.isoformat(), one.clock)
        if (one.unit.value, one.readings) not in (standing.get(key), before.get(key)):
            yield one


def moments_near(conn: sqlite3.Connection, station: str, on: date, clock: tzinfo, unit: TempUnit) -> tuple[Moment, ...]:
    """Readings of a station about a day: of the day before up to the day after.

    Args:
        conn: The store.
        station: Code of the station.
        on: The day.
        clock: The station's standard time, for readings without an offset.
        unit: Unit wanted.

    Returns:
        Readings in order of time, each with its offset. Where files of both clocks are on record, those of the one
        that came last.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        rows = conn.execute(
            "SELECT max(import), day, clock, unit, readings FROM weather_hours"
            " WHERE station = ? AND day BETWEEN ? AND ? GROUP BY day, clock ORDER BY day",
            (station, (on - _DAY).isoformat(), (on + _DAY).isoformat()),
        ).fetchall()
    if not rows:
        return ()
    latest = max(rows)[2]
    found = []
    for _, day, written, kept, readings in rows:
        if written == latest:
            tz = UTC if written == OF_UTC else clock
            words = readings.split(" ")
            for hour, temp in zip(words[::2], words[1::2], strict=True):
                at = datetime.combine(date.fromisoformat(day), time.fromisoformat(hour), tz)
                found.append(Moment(at, convert_temp(float(temp), TempUnit(kept), unit)))
    return tuple(sorted(found, key=lambda one: one.at))


Progress = Callable[[int, int], None]
"""Notified how many days are done, and of how many."""

BY_HAND = ""
"""Source of a day that was read off a thermometer and entered."""
_NAMED = 3
_Said = tuple[float, float, str, str]
"""Minimum, maximum, unit and hour of observation."""


@dataclass(slots=True)
class WeatherReport:
    """What a file of temperatures brought."""

    added: int = 0
    """Days that were not on record."""
    changed: int = 0
    """Days that say something else now; what they said before stays on record."""
    same: int = 0
    """Days as they stood."""
    hours: int = 0
    """Days whose readings through the day are kept, and were not on record."""
    remarks: list[Problem] = field(default_factory=list)
    """Warnings."""


def station_days(
    conn: sqlite3.Connection, station: str, first: date | None = None, last: date | None = None
) -> tuple[WeatherDay, ...]:
    """Present days of a station, in order.

    Args:
        conn: The store.
        station: Code of the station.
        first: First day; None: from the beginning.
        last: Last day, included; None: to the end.

    Raises:
        StoreError: The store cannot be read.
    """
    span = (first.isoformat() if first else "", last.isoformat() if last else "~")
    with plainly(conn):
        rows = conn.execute(
            "SELECT day, tmin, tmax, unit, observed_at FROM present_weather"
            " WHERE station = ? AND day BETWEEN ? AND ? ORDER BY day",
            (station, *span),
        ).fetchall()
    units = {unit.value: unit for unit in TempUnit}
    return tuple(WeatherDay(station, date.fromisoformat(r[0]), r[1], r[2], units[r[3]], r[4]) for r in rows)


class Adding:
    """Puts the days of a file on record, one station after the other.

    Args:
        conn: The store, inside a transaction.
        file: Name of the file, and its form: weather, ghcn or hourly.
        author: Who brings it.
        now: Instant of recording.
    """

    def __init__(self, conn: sqlite3.Connection, file: tuple[str, str], author: Author, now: datetime) -> None:
        self.report = WeatherReport()
        """What it has brought so far."""
        self._conn = conn
        self._source, self._form = file
        self._author, self._now = author, now
        self._over_hand: list[str] = []

    @cached_property
    def _number(self) -> int:
        """Number of the row that says where versions came from; made with the first of them."""
        about = (self._author.scout, self._author.device, self._source, self._form)
        cursor = self._conn.execute(
            "INSERT INTO weather_imports (id, recorded_at, scout, device, source, format) VALUES (?, ?, ?, ?, ?, ?)",
            (new_id(self._now), instant(self._now), *about),
        )
        return cursor.lastrowid or 0

    def add(self, days: StationDays) -> None:
        """Record those days that say something new, as a further version of theirs.

        Args:
            days: Days of one station, each once and in order.
        """
        new = list(self._new(days)) if len(days) else []
        if new:
            number = self._number
            rows = ((days.station, on, number, *said) for on, *said in new)
            self._conn.executemany("INSERT INTO weather_days VALUES (?, ?, ?, ?, ?, ?, ?)", rows)

    def add_hours(self, hours: Sequence[HoursOfDay]) -> None:
        """Record readings through the day that say something new.

        Args:
            hours: Readings of one station, by day.
        """
        for one in new_hours(self._conn, hours, self._source):
            row = (one.station, one.day.isoformat(), one.clock, self._number, one.unit.value, one.readings)
            self._conn.execute("INSERT INTO weather_hours VALUES (?, ?, ?, ?, ?, ?)", row)
            self.report.hours += 1

    def done(self) -> WeatherReport:
        """What it brought, with what a person should know."""
        if self._over_hand:
            named = "; ".join(self._over_hand[:_NAMED]) + (" …" if len(self._over_hand) > _NAMED else "")
            words = (
                f"days that had been entered by hand say something else in the file: {len(self._over_hand)} ({named})"
            )
            self.report.remarks.append(
                Problem(self._source, words, "the file's new values stand; enter yours again if they are right")
            )
        return self.report

    def _new(self, days: StationDays) -> Iterator[tuple[object, ...]]:
        first, last = days.day(0).on.isoformat(), days.day(len(days) - 1).on.isoformat()
        span = (days.station, first, last)
        present: dict[object, tuple[_Said, str, str]] = {
            r[0]: (r[1:5], r[5], r[6])
            for r in self._conn.execute(
                "SELECT day, tmin, tmax, unit, observed_at, source, scout FROM present_weather"
                " WHERE station = ? AND day BETWEEN ? AND ?",
                span,
            )
        }
        before = _of_this_source(self._conn, self._source, span) if present else {}
        for row in days.rows():
            on, said, now = row[0], row[1:], present.get(row[0])
            if now is None:
                self.report.added += 1
                yield row
            elif said in (now[0], before.get(on)):
                self.report.same += 1
            else:
                self.report.changed += 1
                if now[1] == BY_HAND:
                    low, high, unit, _ = now[0]
                    who = sanitize(now[2], 30)
                    self._over_hand.append(f"{sanitize(days.station, 30)} {on}: {low:g} to {high:g} °{unit} by {who}")
                yield row


def _of_this_source(conn: sqlite3.Connection, source: str, span: tuple[object, ...]) -> dict[object, _Said]:
    """What a file said of each day when it was read last."""
    rows = conn.execute(
        "SELECT d.day, d.tmin, d.tmax, d.unit, d.observed_at, max(d.import) FROM weather_days AS d"
        " WHERE d.station = ? AND d.day BETWEEN ? AND ?"
        " AND d.import IN (SELECT import FROM weather_imports WHERE source = ?) GROUP BY d.day",
        (*span, source),
    )
    return {r[0]: r[1:5] for r in rows}


def sunset(lat: float, lon: float, on: date, clock: tzinfo) -> datetime | None:
    """When the sun sets: its upper edge on a level horizon, with the usual refraction.

    Args:
        lat: Latitude, north positive. [degrees]
        lon: Longitude, east positive. [degrees]
        on: Day by the clock.
        clock: Clock of the place.

    Returns:
        The instant, on that clock; None where the sun does not set on that day.
    """
    from astral import Observer
    from astral.sun import sunset as computed

    try:
        return computed(Observer(lat, lon), on, clock)
    except ValueError:
        return None


def sunsets_of(conn: sqlite3.Connection, station: Station | None) -> Sunsets:
    """What is known of a station's evenings.

    Args:
        conn: The store.
        station: The station; None: the block has none.

    Returns:
        Temperatures at sunset; none, and why, where the station's place, its clock or its readings are not known.
    """
    if station is None:
        return _unknown("the block has no station")
    name = sanitize(station.station, SHOWN)
    if station.lat is None or station.lon is None or not station.timezone:
        return _unknown(f"the station {name} has no lat, lon and timezone in stations.csv")
    clock = standard_clock(station.timezone)
    if clock is None:
        return _unknown(f"the time zone {sanitize(station.timezone, SHOWN)} of the station {name} is unknown here")
    with plainly(conn):
        kept = conn.execute("SELECT 1 FROM weather_hours WHERE station = ? LIMIT 1", (station.station,)).fetchone()
    if kept is None:
        return _unknown(f"no hourly temperatures of the station {name} are on record")
    lat, lon = station.lat, station.lon

    @cache
    def temp(on: date, unit: TempUnit) -> float | None:
        at = sunset(lat, lon, on, clock)
        return None if at is None else temp_at(moments_near(conn, station.station, on, clock, unit), at)

    return Sunsets(temp)


def _unknown(why: str) -> Sunsets:
    return Sunsets(lambda _on, _unit: None, why)


def standard_clock(name: str) -> tzinfo | None:
    """A zone's standard time, all year, as loggers keep it: by summer time some coldest hours count twice.

    Args:
        name: The zone, as ``America/New_York``.

    Returns:
        The clock; None where the zone is unknown here.
    """
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        winter = datetime(2001, 1, 1, 12, tzinfo=UTC).astimezone(ZoneInfo(name))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None
    return timezone((winter.utcoffset() or timedelta()) - (winter.dst() or timedelta()))


NORMALS = "normals.csv"
"""Name of the file inside the scouting folder."""


def normals_of(conn: sqlite3.Connection, station: str, first: date, last: date) -> tuple[WeatherDay, ...]:
    """Days of a season as they normally are; none where the office states no normals of the station.

    Args:
        conn: The store.
        station: Code of the station.
        first: First day.
        last: Last day.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        rows = conn.execute("SELECT month_day, tmin, tmax, unit FROM normals WHERE station = ?", (station,)).fetchall()
    if not rows:
        return ()
    unit = TempUnit(rows[0][3])
    stated = {
        (int(month_day[:2]), int(month_day[3:])): (
            convert_temp(low, TempUnit(written), unit),
            convert_temp(high, TempUnit(written), unit),
        )
        for month_day, low, high, written in rows
    }
    return normal_days(stated, unit, first, last)


FORECAST = "forecast.csv"
"""Name of the file inside the scouting folder; its columns are those of weather.csv."""
_COLUMNS = ("station", "date", "tmin", "tmax", "unit")


def read_forecast(folder: Path, unit: TempUnit | None) -> tuple[WeatherDay, ...]:
    """Days to come as they were forecast last.

    Args:
        folder: The scouting folder.
        unit: Unit of rows that state none.

    Returns:
        Days of all stations; none where there is no such file, or it cannot be read: no date is lost by it.
    """
    paths = files_here(folder, (FORECAST,)).get(FORECAST, [])
    try:
        text = regular(paths[0]).read_text(encoding="utf-8-sig") if len(paths) == 1 else ""
    except (OSError, ValueError):
        return ()
    read = parse_weather(text.splitlines(), unit=unit, where=FORECAST) if text else None
    return () if read is None or read.problems else tuple(read.days)


def put_forecast(folder: Path, days: Mapping[str, Iterable[tuple[str, ...]]], unit: TempUnit | None) -> None:
    """Put a new forecast in the place of the one before, station by station.

    Args:
        folder: The scouting folder.
        days: Day, minimum, maximum and unit of each day, by station.
        unit: Unit of rows of the file before that state none.

    Raises:
        StoreError: The file cannot be written.
    """
    others = (
        (day.station, day.on.isoformat(), f"{day.tmin:g}", f"{day.tmax:g}", day.unit.value)
        for day in read_forecast(folder, unit)
        if day.station not in days
    )
    new = ((station, *row) for station, rows in days.items() for row in sorted(rows))
    write_whole(folder / FORECAST, csv_text([_COLUMNS, *others, *new]))
