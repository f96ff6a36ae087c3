"""Forecast days: kept in a file of their own beside the record, so that none is ever taken for a reading."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from pathlib import Path

from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.season.weather_files import parse_weather
from roundtui.domain.units import TempUnit
from roundtui.store.files import regular, write_whole
from roundtui.store.set_up.office import files_here

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
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(_COLUMNS)
    writer.writerows(
        (day.station, day.on.isoformat(), f"{day.tmin:g}", f"{day.tmax:g}", day.unit.value)
        for day in read_forecast(folder, unit)
        if day.station not in days
    )
    writer.writerows((station, *row) for station, rows in days.items() for row in sorted(rows))
    write_whole(folder / FORECAST, text.getvalue())
