"""Season sums from daily extremes beside the integral of the hourly temperatures they come from.

``python -m tests.long.compare_hourly`` prints the table of docs/methods.md; with ``--write`` it puts it there.
"""

from __future__ import annotations

import sys
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone, tzinfo
from itertools import pairwise
from pathlib import Path
from statistics import fmean
from zoneinfo import ZoneInfo

from roundtui.domain.season.degree_days import Cutoff, Development, Method
from roundtui.domain.season.weather import DegreeDaySum, degree_day_sum
from roundtui.domain.season.weather_files import Moment, daily_extremes, temp_at
from roundtui.domain.units import TempUnit
from tests.real_weather import hourly

PAGE = Path(__file__).parents[2] / "docs" / "methods.md"
MARKS = ("<!-- hourly: made by tests/long/compare_hourly.py -->", "<!-- hourly: end -->")
FIRST, LAST = date(2013, 3, 1), date(2013, 10, 31)
LOWER, UPPER = 50.0, 88.0
CLOCK = timezone(timedelta(hours=-5))
"""Standard time all year, as weather services reckon a day."""
SUMMER_CLOCK = ZoneInfo("America/New_York")
"""The clock on the wall, an hour ahead in summer."""
METHODS = (
    Method.SINGLE_SINE,
    Method.DOUBLE_SINE,
    Method.SINGLE_TRIANGLE,
    Method.DOUBLE_TRIANGLE,
    Method.MODIFIED_AVERAGE,
)


@dataclass(frozen=True)
class Row:
    """One station and method."""

    station: str
    method: Method
    hourly: float
    total: float
    daily: float
    """Mean absolute difference of a day. [°F·d]"""

    @property
    def off(self) -> float:
        """Difference of the season. [%]"""
        return (self.total / self.hourly - 1) * 100


def capped_area(before: Moment, after: Moment) -> float:
    """Degree-days between two readings, the temperature on a straight line between them, with a horizontal cutoff."""
    days = (after.at - before.at) / timedelta(days=1)

    def above(base: float) -> float:
        low, high = sorted((before.temp, after.temp))
        if high <= base:
            return 0.0
        if low >= base:
            return (low + high) / 2 - base
        return (high - base) ** 2 / (2 * (high - low))

    return (above(LOWER) - above(UPPER)) * days


def integral(moments: Sequence[Moment], on: date) -> float:
    """Degree-days of one day by the station's clock, from all its readings; a missing hour is bridged."""
    start = datetime(on.year, on.month, on.day, tzinfo=CLOCK)
    stop = start + timedelta(days=1)
    observations = timedelta(hours=12)
    first, last = (
        bisect_left(moments, at, key=lambda moment: moment.at) for at in (start - observations, stop + observations)
    )
    near = moments[first:last]
    within = [moment for moment in near if start < moment.at < stop]
    for edge in (start, stop):
        temp = temp_at(near, edge, longest_without=timedelta(hours=6))
        assert temp is not None
        within.append(Moment(edge, temp))
    within.sort(key=lambda moment: moment.at)
    return sum(capped_area(before, after) for before, after in pairwise(within))


def season_sum(moments: Sequence[Moment], method: Method, clock: tzinfo = CLOCK) -> DegreeDaySum:
    """The season from daily extremes, the day running by a clock."""
    days = daily_extremes(moments, "", TempUnit.F, tz=clock).days
    return degree_day_sum(days, Development(LOWER, UPPER, TempUnit.F, method, Cutoff.HORIZONTAL), FIRST, LAST)


def compare() -> list[Row]:
    """Every station by every method."""
    rows = []
    for station, moments in hourly().items():
        season = [FIRST + timedelta(days=at) for at in range((LAST - FIRST).days + 1)]
        whole = [integral(moments, on) for on in season]
        for method in METHODS:
            found = season_sum(moments, method)
            assert found.stopped_on is None
            daily = fmean(abs(row.degree_days - true) for row, true in zip(found.rows, whole, strict=True))
            rows.append(Row(station, method, sum(whole), found.total, daily))
    return rows


def table(rows: Sequence[Row]) -> str:
    """The comparison as it stands in the docs."""
    lines = [
        "| station | hourly integral | method | season sum | off | mean difference of a day |",
        "| --- | --: | --- | --: | --: | --: |",
    ]
    lines.extend(
        f"| {row.station} | {row.hourly:.0f} | {row.method} | {row.total:.0f} | {row.off:+.1f} % | {row.daily:.2f} |"
        for row in rows
    )
    return "\n".join(lines)


def placed(page: str, made: str) -> str:
    """The page with the table between its marks."""
    before, rest = page.split(MARKS[0])
    return f"{before}{MARKS[0]}\n{made}\n{MARKS[1]}{rest.split(MARKS[1])[1]}"


if __name__ == "__main__":
    made = table(compare())
    print(made)
    if "--write" in sys.argv:
        PAGE.write_text(placed(PAGE.read_text(encoding="utf-8"), made), encoding="utf-8")
