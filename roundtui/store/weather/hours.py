"""Readings through the day on record: a row for each day of a file, so that any hour of it can be looked up later.

The readings themselves are kept and not the temperature at sunset: a station whose place is written down late, or put
right, then needs no file again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import groupby

from roundtui.domain.units import TempUnit, convert_temp
from roundtui.domain.weather.hourly import Moment
from roundtui.store.failures import plainly

OF_UTC, OF_STATION = "UTC", "station"
"""Clocks of ``HoursOfDay``: of readings with an offset, and of those without one."""
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class HoursOfDay:
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
        clock: The station's clock, for readings without an offset.
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


def has_hours(conn: sqlite3.Connection, station: str) -> bool:
    """Whether readings through the day of a station are on record.

    Args:
        conn: The store.
        station: Code of the station.
    """
    with plainly(conn):
        return conn.execute("SELECT 1 FROM weather_hours WHERE station = ? LIMIT 1", (station,)).fetchone() is not None
