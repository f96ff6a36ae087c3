"""Invented weather: a sine of the year, noise that remembers the day before, and two holes."""

from __future__ import annotations

import math
import random
from datetime import date, timedelta

FIRST = date(2019, 1, 1)

GAPS = {
    "VALE": (date(2025, 5, 21), date(2025, 5, 22)),
    "RIDG": (date(2021, 6, 10), date(2021, 6, 18)),
}
"""Days without a line, both ends included: two days at one station, nine in an old year at the other."""

_COOLER = {"VALE": 0, "RIDG": 4}
_OBSERVED_AT = {"VALE": "17:00", "RIDG": "24:00"}


def days(station: str, last: date) -> dict[date, tuple[int, int]]:
    """Lowest and highest temperature of each day, gaps not yet cut. [°F]"""
    # A text as seed gives the same numbers on every machine and in every version of Python.
    rng = random.Random("weather of both stations")
    own = random.Random(f"weather of {station}")
    found: dict[date, tuple[int, int]] = {}
    noise = 0.0
    day = FIRST
    while day <= last:
        season = math.sin(2 * math.pi * (day.timetuple().tm_yday - 110) / 365.25)
        noise = 0.72 * noise + 3.4 * _normal(rng)
        mean = 51 + 22.5 * season + noise - _COOLER[station] + 0.8 * _normal(own)
        swing = 9.5 + 1.8 * season + 1.6 * _normal(rng)
        half = max(swing, 3.0)
        found[day] = (round(mean - half), round(mean + half))
        day += timedelta(days=1)
    return found


def weather_csv(last: date) -> str:
    """Both stations, day by day, without the days of the gaps."""
    lines = ["station,date,tmin,tmax,unit,observed_at"]
    for station, (start, end) in GAPS.items():
        lines += [
            f"{station},{day.isoformat()},{low},{high},F,{_OBSERVED_AT[station]}"
            for day, (low, high) in days(station, last).items()
            if not start <= day <= end
        ]
    return "\n".join(lines) + "\n"


def degree_days(station: str, year: int, last: date, base: float, upper: float) -> dict[date, float]:
    """Degree-days from 1 January on, day by day, extremes clipped to the thresholds. [°F·d]"""
    total, sums = 0.0, {}
    for day, (low, high) in days(station, last).items():
        if day.year == year:
            clipped = [min(max(value, base), upper) for value in (low, high)]
            total += sum(clipped) / 2 - base
            sums[day] = total
    return sums


def _normal(rng: random.Random) -> float:
    # Twelve evenly spread numbers: near enough to the bell curve, and without a library's own method changing.
    return sum(rng.random() for _ in range(12)) - 6
