"""Hourly temperatures: read, reduced to daily extremes, looked up at sunset."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.season.weather_files import Moment, daily_extremes, parse_hourly, temp_at
from roundtui.domain.units import TempUnit

F, C = TempUnit.F, TempUnit.C
NEW_YORK = ZoneInfo("America/New_York")


def said(problems: tuple[object, ...]) -> str:
    return "\n".join(map(str, problems))


def local(text: str) -> datetime:
    """A time on the station's own clock, without an offset."""
    return datetime.fromisoformat(text)


def hours(first: datetime, count: int) -> list[Moment]:
    return [Moment(first + timedelta(hours=at), 50 + at % 24) for at in range(count)]


def test_a_file_is_read_by_station_and_sorted() -> None:
    text = "station,time,temp,unit\nN,2024-05-01T02:00-04:00,51,F\nN,2024-05-01T05:00Z,50,F\nS,2024-05-01T05:00Z,9,C\n"
    found = parse_hourly(text.splitlines())
    assert found.problems == ()
    assert [moment.temp for moment in found.moments["N"]] == [50, 51]
    assert found.units == {"N": F, "S": C}


def test_an_hour_nobody_read_is_no_fault() -> None:
    found = parse_hourly("station,time,temp\nN,2024-05-01T02:00,\nN,2024-05-01T03:00,50\n".splitlines(), unit=F)
    assert (found.problems, len(found.moments["N"])) == ((), 1)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("station,time\n", "write station,time,temp"),
        ("station,time,temp\nN,2024-05-01,50\n", 'time: "2024-05-01" is no date and time'),
        ("station,time,temp\nN,2024-05-01T25:00,50\n", "is no date and time"),
        ("station,time,temp\nN,2024-05-01T02:00,warm\n", 'temp: "warm" is no temperature'),
        ("station,time,temp\n,2024-05-01T02:00,50\n", "station: is blank"),
        ("station,time,temp\nN,2024-05-01T02:00\n", "has 2 fields"),
        ("station,time,temp,unit\nN,2024-05-01T02:00,50,K\n", 'unit: "K" is no unit'),
        ("station,time,temp,unit\nN,2024-05-01T02:00,50,F\nN,2024-05-01T03:00,10,C\n", "unit: changes within"),
        ("station,time,temp\nN,2024-05-01T02:00,50\nN,2024-05-01T03:00Z,50\n", "some have none"),
    ],
)
def test_a_fault_is_told_with_line_and_column(text: str, words: str) -> None:
    found = parse_hourly(text.splitlines(), unit=F)
    assert words in said(found.problems)
    assert found.moments == {}


def test_a_whole_day_becomes_its_lowest_and_highest() -> None:
    found = daily_extremes(hours(local("2024-05-01T00:00"), 48), "N", F)
    assert [(day.on, day.tmin, day.tmax) for day in found.days] == [
        (date(2024, 5, 1), 50, 73),
        (date(2024, 5, 2), 50, 73),
    ]
    assert found.remarks == ()


def test_a_day_runs_by_the_clock_of_the_station_and_not_by_utc() -> None:
    """Midnight in New York is 04:00 UTC in May; read by UTC the first four hours would fall to the day before."""
    found = daily_extremes(hours(datetime(2024, 5, 1, 4, tzinfo=UTC), 24), "N", F, tz=NEW_YORK)
    assert [(day.on, day.tmin, day.tmax) for day in found.days] == [(date(2024, 5, 1), 50, 73)]


def test_the_days_on_which_the_clocks_change_have_23_and_25_hours_and_are_whole() -> None:
    for first, count in ((datetime(2013, 3, 10, 5, tzinfo=UTC), 23), (datetime(2013, 11, 3, 4, tzinfo=UTC), 25)):
        found = daily_extremes(hours(first, count), "N", F, tz=NEW_YORK)
        assert [day.on for day in found.days] == [first.date()]
        assert found.remarks == ()


def test_a_day_with_a_hole_in_it_is_left_out_and_named() -> None:
    """Three hours may be missing (two readings); a fourth may hide the day's maximum."""
    whole = hours(local("2024-05-01T00:00"), 24)
    assert len(daily_extremes(whole[:12] + whole[14:], "N", F).days) == 1
    found = daily_extremes(whole[:12] + whole[15:], "N", F)
    assert found.days == ()
    assert "days with more than 3 hours without a reading: 1 (N 2024-05-01)" in said(found.remarks)


def test_a_day_that_is_not_over_is_left_out() -> None:
    assert daily_extremes(hours(local("2024-05-01T00:00"), 15), "N", F).days == ()


def test_a_temperature_nobody_ever_measured_is_refused() -> None:
    moments = [Moment(moment.at, 70) for moment in hours(local("2024-05-01T00:00"), 24)]
    assert "70 °C was never measured" in said(daily_extremes(moments, "N", C).problems)


def test_readings_with_an_offset_need_a_clock() -> None:
    with pytest.raises(ValueError, match="clock of their station"):
        daily_extremes(hours(datetime(2024, 5, 1, tzinfo=UTC), 24), "N", F)


def test_the_temperature_at_sunset_lies_between_the_hours_beside_it() -> None:
    evening = [
        Moment(local("2024-05-01T19:00"), 66),
        Moment(local("2024-05-01T20:00"), 60),
        Moment(local("2024-05-02T00:00"), 50),
    ]
    assert temp_at(evening, local("2024-05-01T19:40")) == pytest.approx(62)
    assert temp_at(evening, local("2024-05-01T20:00")) == 60
    assert temp_at(evening, local("2024-05-01T18:59")) is None
    assert temp_at(evening, local("2024-05-02T00:01")) is None
    assert temp_at(evening, local("2024-05-01T22:00")) is None


@given(st.lists(st.text(max_size=60), max_size=6))
def test_no_file_whatever_it_holds_ends_in_a_fault_of_ours(rows: list[str]) -> None:
    parse_hourly(rows, unit=F)
    parse_hourly(["station,time,temp", *rows], unit=F)
