"""Season sums from daily extremes beside the integral of a full year of real hourly temperatures."""

from __future__ import annotations

from datetime import date

import pytest

from roundtui.domain.season.degree_days import Method
from roundtui.domain.season.weather_files import daily_extremes
from roundtui.domain.units import TempUnit
from tests.long.compare_hourly import CLOCK, MARKS, PAGE, SUMMER_CLOCK, Row, compare, placed, season_sum, table
from tests.real_weather import hourly


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return compare()


def test_sine_and_triangle_lie_within_three_percent_of_the_hourly_integral(rows: list[Row]) -> None:
    """Three stations, March to October 2013, 50/88 °F horizontal; within 1 °F-day on the mean day."""
    for row in rows:
        if row.method is not Method.MODIFIED_AVERAGE:
            assert abs(row.off) < 3, row
            assert row.daily < 1, row


def test_the_curves_come_nearer_than_the_clipped_average(rows: list[Row]) -> None:
    by_station = {(row.station, row.method): row for row in rows}
    for station in ("EWR", "JFK", "LGA"):
        average = by_station[station, Method.MODIFIED_AVERAGE]
        assert abs(by_station[station, Method.SINGLE_SINE].off) < abs(average.off)
        assert by_station[station, Method.SINGLE_SINE].daily < average.daily


def test_the_sums_are_those_of_a_second_reckoning(rows: list[Row]) -> None:
    """Worked out apart from this code for the same stations: sine -0.02, +1.9 and +1.2 % off the hourly integral."""
    off = {row.station: row.off for row in rows if row.method is Method.SINGLE_SINE}
    assert off["EWR"] == pytest.approx(-0.02, abs=0.15)
    assert off["JFK"] == pytest.approx(1.9, abs=0.15)
    assert off["LGA"] == pytest.approx(1.2, abs=0.15)


def test_the_table_in_the_docs_is_the_one_computed(rows: list[Row]) -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert all(mark in page for mark in MARKS)
    assert placed(page, table(rows)) == page


def test_a_day_by_the_clock_on_the_wall_is_not_a_day_by_standard_time() -> None:
    """The hour's shift moves the coldest hours of some nights into another day: four in a thousand of a season."""
    for moments in hourly().values():
        standard = season_sum(moments, Method.SINGLE_SINE).total
        wall = season_sum(moments, Method.SINGLE_SINE, SUMMER_CLOCK).total
        assert 0.002 < wall / standard - 1 < 0.006


def test_what_the_series_lacks_is_found_and_named() -> None:
    """25 October 2013 misses hours in a row at every station; the 31st of December is not there; clocks fall back."""
    for station, moments in hourly().items():
        found = daily_extremes(moments, station, TempUnit.F, tz=SUMMER_CLOCK)
        days = {day.on for day in found.days}
        assert date(2013, 10, 25) not in days
        assert date(2013, 11, 3) in days
        assert date(2013, 12, 31) not in days
        assert found.problems == ()
        assert any("more than 3 hours without a reading" in remark.message for remark in found.remarks)
        assert CLOCK.utcoffset(None) is not None
