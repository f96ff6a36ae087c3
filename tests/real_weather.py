"""Real temperatures for tests, from the files beside them; each file names its source in its first lines."""

from __future__ import annotations

import csv
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path

from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.season.weather_files import Moment
from roundtui.domain.units import TempUnit

DATA = Path(__file__).parent / "data"
ABSURD = date(1936, 7, 18)
"""The day of Clemson whose minimum is given as -72 °F."""


def clemson() -> list[WeatherDay]:
    """Daily extremes of Clemson SC, 1930-2020; days with a temperature missing, and the absurd one, are left out."""
    days = []
    for line in _rows("daily_clemson.txt"):
        month, *words = line.split()
        for number, word in enumerate(words, start=1):
            on = date.fromisoformat(f"{month}-{number:02d}")
            if "-" not in word.split("/") and on != ABSURD:
                low, high = (float(part) for part in word.split("/"))
                days.append(WeatherDay("CLEMSON", on, low, high, TempUnit.F))
    return days


@cache
def hourly() -> dict[str, list[Moment]]:
    """Hourly temperatures of EWR, JFK and LGA, 2013, °F."""
    found: dict[str, list[Moment]] = {}
    for row in csv.DictReader(_rows("hourly_new_york_2013.csv")):
        start = datetime.combine(date.fromisoformat(row["date"]), datetime.min.time(), tzinfo=UTC)
        for hour in range(24):
            if row[f"{hour:02d}"]:
                moment = Moment(start + timedelta(hours=hour), float(row[f"{hour:02d}"]))
                found.setdefault(row["station"], []).append(moment)
    return found


def _rows(name: str) -> list[str]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return [line for line in lines if line and not line.startswith("#")]


def convert_degree_days(value: float, unit: TempUnit, to: TempUnit) -> float:
    """Degree-days in another unit: a difference of temperatures, so without the 32 of the scale.

    Args:
        value: Degree-days. [``unit``·d]
        unit: Unit they are in.
        to: Unit wanted.

    Returns:
        The same amount. [``to``·d]
    """
    if unit is to:
        return value
    return value * 5 / 9 if to is TempUnit.C else value * 9 / 5
