"""The office's own file of temperatures: what goes in, what is refused, and what is only remarked."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.season.weather_files import parse_weather
from roundtui.domain.season.weather_rows import WeatherRead, hour_of
from roundtui.domain.units import TempUnit

F, C = TempUnit.F, TempUnit.C


def read(text: str, **more: object) -> WeatherRead:
    return parse_weather(text.splitlines(keepends=True), unit=F, **more)  # type: ignore[arg-type]


def said(problems: tuple[object, ...]) -> str:
    return "\n".join(map(str, problems))


def year(first: date = date(2023, 1, 1), count: int = 365, low: float = 50, high: float = 70) -> str:
    rows = [f"NORTH,{first + timedelta(days=at)},{low},{high}" for at in range(count)]
    return "station,date,tmin,tmax\n" + "\n".join(rows) + "\n"


def test_a_plain_file_goes_in_as_written() -> None:
    found = read(
        "station,date,tmin,tmax,unit,observed_at\nNORTH,2024-05-01,4.5,18,C,7:00\nNORTH,2024-05-02,41,70,,07:00\n"
    )
    assert found.problems == ()
    assert found.days == (
        WeatherDay("NORTH", date(2024, 5, 1), 4.5, 18, C, "07:00"),
        WeatherDay("NORTH", date(2024, 5, 2), 41, 70, F, "07:00"),
    )


def test_columns_may_stand_in_any_order_after_a_byte_order_mark_and_between_blank_lines() -> None:
    found = read("\ufefftmax,tmin,date,station\n\n70,50,2024-05-01,NORTH\n\n")
    assert found.days == (WeatherDay("NORTH", date(2024, 5, 1), 50, 70, F),)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "line 1: is empty"),
        ("station,date,tmin\n", "column tmax is missing"),
        ("station,date,tmin,tmax,rain\n", '"rain" is unknown'),
        ("station,date,tmin,tmax,tmax\n", "tmax is there twice"),
        ("station,date,tmin,tmax\nNORTH,2024-05-01,50\n", "line 2: has 3 fields, the header 4"),
        ("station,date,tmin,tmax\n,2024-05-01,50,60\n", "line 2: station: is blank"),
        ("station,date,tmin,tmax\nNORTH,5/1/2024,50,60\n", 'date: "5/1/2024" is no date (write it as 2025-05-09)'),
        ("station,date,tmin,tmax\nNORTH,,50,60\n", 'date: "" is blank'),
        ("station,date,tmin,tmax\nNORTH,2023-02-29,50,60\n", "2023 has no 29 February"),
        ('station,date,tmin,tmax\nNORTH,2024-05-01,"4,5",60\n', "write decimals with a point"),
        ("station,date,tmin,tmax\nNORTH,2024-05-01,nan,60\n", 'tmin: "nan" is no temperature'),
        ("station,date,tmin,tmax\nNORTH,2024-05-01,1_0,60\n", 'tmin: "1_0" is no temperature'),
        ("station,date,tmin,tmax,unit\nNORTH,2024-05-01,50,60,K\n", 'unit: "K" is no unit (write F or C)'),
        ("station,date,tmin,tmax,observed_at\nNORTH,2024-05-01,50,60,25\n", '"25" is no hour'),
        ('station,date,tmin,tmax\nNORTH,2024-05-01,"50,60\n', "check the quotation marks"),
    ],
)
def test_a_fault_is_told_with_line_column_and_what_to_write(text: str, words: str) -> None:
    assert words in said(read(text).problems)


def test_a_file_without_units_needs_the_office_to_state_one() -> None:
    found = parse_weather(["station,date,tmin,tmax\n", "NORTH,2024-05-01,50,60\n"])
    assert "unit: is not stated" in said(found.problems)


def test_every_fault_of_a_file_is_told_at_once() -> None:
    found = read("station,date,tmin,tmax\nNORTH,x,50,60\nNORTH,2024-05-02,y,60\nNORTH,2024-05-03,70,60\n")
    assert [problem.where for problem in found.problems] == [f"weather.csv, line {line}" for line in (2, 3, 4)]


def test_ten_thousand_faults_are_not_told_one_by_one() -> None:
    found = read("station,date,tmin,tmax\n" + "NORTH,x,50,60\n" * 10_000)
    assert len(found.problems) == 51
    assert "and 9950 more rows" in said(found.problems)


def test_swapped_columns_are_told_once_and_recognised() -> None:
    found = read(year(low=70, high=50))
    assert len(found.problems) == 1
    assert "in 365 of 365 rows of NORTH (the columns tmin and tmax look swapped" in said(found.problems)


def test_one_crossed_day_is_a_slip_and_not_a_swapped_column() -> None:
    found = read("station,date,tmin,tmax\nNORTH,2024-05-01,50,60\nNORTH,2024-05-02,71,48\nNORTH,2024-05-03,50,60\n")
    assert said(found.problems) == (
        "weather.csv, line 3: 2024-05-02: the minimum 71 is above the maximum 48 (swap or correct them)"
    )


def test_a_day_of_70_degrees_celsius_is_refused_and_the_unit_suspected() -> None:
    found = parse_weather(year().splitlines(), unit=C)
    assert "70 °C was never measured anywhere; so it is in 365 of 365 rows of NORTH" in said(found.problems)
    assert "it looks like °F" in said(found.problems)


def test_tenths_of_a_degree_are_recognised() -> None:
    found = parse_weather(["station,date,tmin,tmax", "NORTH,2024-05-01,106,212"], unit=C)
    assert "°F" not in said(found.problems)
    assert "tenths of a degree" in said(found.problems)


def test_celsius_that_calls_itself_fahrenheit_is_remarked() -> None:
    assert "are these °C?" in said(read(year(low=5, high=28)).remarks)


def test_fahrenheit_of_a_spring_that_calls_itself_celsius_is_remarked() -> None:
    found = parse_weather(year(count=40, low=30, high=50).splitlines(), unit=C)
    assert found.problems == ()
    assert "are these °F?" in said(found.remarks)


def test_the_same_row_twice_counts_once_and_is_remarked() -> None:
    found = read("station,date,tmin,tmax\nNORTH,2024-05-01,50,60\nNORTH,2024-05-01,50,60\n")
    assert len(found.days) == 1
    assert found.problems == ()
    assert "repeat an earlier one word for word: 1 (they count once)" in said(found.remarks)


def test_two_different_rows_of_one_day_are_refused() -> None:
    found = read("station,date,tmin,tmax\nNORTH,2024-05-01,50,60\nSOUTH,2024-05-01,50,61\nNORTH,2024-05-01,50,61\n")
    assert said(found.problems) == (
        "weather.csv, line 4: NORTH, 2024-05-01 is given twice, with different values "
        "(keep this row or the one in weather.csv, line 2)"
    )


def test_unsorted_rows_are_sorted_and_remarked() -> None:
    found = read("station,date,tmin,tmax\nNORTH,2024-05-02,50,60\nNORTH,2024-05-01,50,60\n")
    assert [day.on.day for day in found.days] == [1, 2]
    assert "not in order" in said(found.remarks)


def test_a_day_with_one_of_its_two_temperatures_counts_as_not_read() -> None:
    found = read("station,date,tmin,tmax\nNORTH,2024-05-01,50,60\nNORTH,2024-05-02,,60\nNORTH,2024-05-03,50,60\n")
    assert found.problems == ()
    assert [day.on.day for day in found.days] == [1, 3]
    assert "line 3: NORTH, 2024-05-02: tmin is blank (the day counts as not read)" in said(found.remarks)


def test_the_leap_day_of_a_leap_year_is_a_day() -> None:
    found = read(year(date(2024, 2, 1), count=30))
    assert (found.problems, found.remarks, len(found.days)) == ((), (), 30)


def test_a_long_gap_is_remarked_and_a_short_one_is_not() -> None:
    short = "station,date,tmin,tmax\nNORTH,2024-05-01,50,60\nNORTH,2024-05-04,50,60\n"
    assert read(short).remarks == ()
    long = short.replace("05-04", "05-06")
    assert "no temperatures from 2024-05-02 to 2024-05-05, 4 days" in said(read(long).remarks)


def test_a_changed_hour_of_observation_is_remarked_with_its_day() -> None:
    text = "station,date,tmin,tmax,observed_at\n"
    text += "NORTH,2024-05-01,50,60,17:00\nNORTH,2024-05-02,50,60,1700\nNORTH,2024-05-03,50,60,7:00\n"
    assert "NORTH: read at 17:00 until 2024-05-02, at 07:00 from 2024-05-03" in said(read(text).remarks)


def test_a_morning_reading_is_remarked_once() -> None:
    text = "station,date,tmin,tmax,observed_at\nNORTH,2024-05-01,50,60,07:00\nNORTH,2024-05-02,50,60,07:00\n"
    assert said(read(text).remarks).count("read in the morning") == 1


def test_an_unlikely_day_goes_in_as_written_and_is_remarked() -> None:
    """A sign too many: 62 became -62 on one night of July."""
    text = "station,date,tmin,tmax\nNORTH,2024-07-01,62,90\nNORTH,2024-07-02,-62,91\nNORTH,2024-07-03,63,90\n"
    found = read(text)
    assert found.days[1].tmin == -62
    assert "NORTH, 2024-07-02: from -62 to 91 °F within one day" in said(found.remarks)
    spike = "station,date,tmin,tmax\nNORTH,2024-07-01,62,70\nNORTH,2024-07-02,62,130\nNORTH,2024-07-03,63,70\n"
    assert "the maximum 130 °F is far from both days beside it" in said(read(spike).remarks)


def test_a_warm_spell_that_lasts_is_no_unlikely_day() -> None:
    rows = "".join(f"NORTH,2024-03-0{day},{low},{low + 20}\n" for day, low in enumerate((10, 12, 70, 72, 71), start=1))
    assert read("station,date,tmin,tmax\n" + rows).remarks == ()
    last = "NORTH,2024-03-06,72,92\nNORTH,2024-03-07,130,131\n"
    assert read("station,date,tmin,tmax\n" + rows + last).remarks == ()


def test_stations_nobody_set_up_and_days_to_come_are_refused() -> None:
    text = "station,date,tmin,tmax\nNORTH,2024-05-01,50,60\nNROTH,2024-05-02,50,60\nNORTH,2024-05-04,50,60\n"
    found = read(text, stations={"NORTH"}, last=date(2024, 5, 3))
    assert '"NROTH" is unknown (add it to stations.csv first)' in said(found.problems)
    assert "2024-05-04 is in the future" in said(found.problems)


def test_hostile_text_shows_harmlessly() -> None:
    hostile = "[red]\x1b[2J\u202e" + "x" * 10_000
    found = read(f"station,date,tmin,tmax\n{hostile},{hostile},{hostile},{hostile}\n{hostile},2024-05-01,70,60\n")
    assert found.problems
    for problem in found.problems:
        assert "\x1b" not in str(problem)
        assert "\u202e" not in str(problem)
        assert len(str(problem)) < 300


@pytest.mark.parametrize(
    ("text", "hour"),
    [("7", "07:00"), ("0700", "07:00"), ("17:30", "17:30"), ("24:00", "24:00"), ("2400", "24:00"), ("", "")],
)
def test_an_hour_is_read_as_people_write_it(text: str, hour: str) -> None:
    assert hour_of(text) == hour


@pytest.mark.parametrize("text", ["24:30", "25", "7.5", "noon", "12:60"])
def test_what_is_no_hour_is_refused(text: str) -> None:
    assert hour_of(text) is None


@given(st.text(max_size=200), st.lists(st.text(max_size=40), max_size=6))
def test_no_file_whatever_it_holds_ends_in_a_fault_of_ours(text: str, rows: list[str]) -> None:
    parse_weather(text.splitlines(), unit=F)
    parse_weather(["station,date,tmin,tmax", *rows], unit=F)


@given(
    st.dictionaries(
        st.dates(date(1950, 1, 1), date(2030, 1, 1)),
        st.tuples(st.integers(-40, 120), st.integers(-40, 120)).map(sorted),
        min_size=1,
        max_size=40,
    )
)
def test_what_is_written_comes_back(days: dict[date, list[int]]) -> None:
    lines = ["station,date,tmin,tmax", *(f"NORTH,{on},{low},{high}" for on, (low, high) in days.items())]
    found = parse_weather(lines, unit=F)
    assert found.problems == ()
    assert {day.on: [day.tmin, day.tmax] for day in found.days} == days
