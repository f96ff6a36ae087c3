"""Normal temperatures of a station, for an outlook that has too few past years to go by."""

from __future__ import annotations

import sqlite3
from datetime import date

from roundtui.domain.outlook import normal_days
from roundtui.domain.units import TempUnit, convert_temp
from roundtui.domain.weather.days import WeatherDay
from roundtui.store.failures import plainly

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
