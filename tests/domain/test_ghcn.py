"""GHCN-Daily files. The lines below are assembled; their form is that of the by-station readme (see the module)."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.season.weather_files import parse_ghcn
from roundtui.domain.units import TempUnit

LINES = """\
XX000000001,20240501,TMAX,183,,,W,2400
XX000000001,20240501,TMIN,44,,,W,2400
XX000000001,20240501,PRCP,0,T,,W,2400
XX000000002,20240501,TMAX,200,,,W,0700
XX000000002,20240501,TMIN,50,,,W,0700
XX000000001,20240502,TMAX,211,,,W,2400
XX000000001,20240502,TMIN,-6,,,W,2400
"""
WIDE = """\
"STATION","DATE","LATITUDE","LONGITUDE","NAME","PRCP","PRCP_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"
"XX000000001","2024-05-01","40.0","-75.0","INVENTED, XX","    0","T,,W,2400","  183",",,W","   44",",,W"
"XX000000001","2024-05-02","40.0","-75.0","INVENTED, XX","    0",",,W","  211",",,W","   -6",",,W"
"""


def said(problems: tuple[object, ...]) -> str:
    return "\n".join(map(str, problems))


def day(number: int, low: float, high: float, station: str = "NORTH", hour: str = "24:00") -> WeatherDay:
    return WeatherDay(station, date(2024, 5, number), low, high, TempUnit.C, hour)


def test_lines_by_element_become_days_in_degrees_celsius() -> None:
    found = parse_ghcn(LINES.splitlines(), stations={"XX000000001": "NORTH"})
    assert found.problems == found.remarks == ()
    assert found.days == (day(1, 4.4, 18.3), day(2, -0.6, 21.1))


def test_a_header_above_the_lines_is_known() -> None:
    header = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"
    assert parse_ghcn((header + LINES).splitlines()).days == parse_ghcn(LINES.splitlines()).days


def test_a_column_for_each_element_reads_the_same() -> None:
    found = parse_ghcn(WIDE.splitlines(), stations={"XX000000001": "NORTH"})
    assert found.days == (day(1, 4.4, 18.3, hour=""), day(2, -0.6, 21.1, hour=""))


def test_without_names_every_station_is_taken_under_its_own_id() -> None:
    found = parse_ghcn(LINES.splitlines())
    assert [one.station for one in found.days] == ["XX000000001", "XX000000001", "XX000000002"]
    assert "XX000000002: read in the morning" in said(found.remarks)


@pytest.mark.parametrize("flag", ["D", "G", "I", "S", "X"])
def test_a_value_with_a_quality_flag_is_not_used_and_named(flag: str) -> None:
    text = LINES.replace("20240502,TMIN,-6,,,", f"20240502,TMIN,-6,,{flag},")
    found = parse_ghcn(text.splitlines(), stations={"XX000000001": "NORTH"})
    assert found.days == (day(1, 4.4, 18.3),)
    assert "with a quality flag, not used: 1 (NORTH 2024-05-02)" in said(found.remarks)
    flagged = WIDE.replace('"   -6",",,W"', f'"   -6",",{flag},W"')
    assert len(parse_ghcn(flagged.splitlines()).days) == 1


def test_a_measurement_flag_is_no_quality_flag() -> None:
    text = LINES.replace("20240502,TMIN,-6,,,", "20240502,TMIN,-6,H,,")
    assert len(parse_ghcn(text.splitlines(), stations={"XX000000001": "NORTH"}).days) == 2


def test_a_missing_value_and_a_day_with_one_temperature_count_as_not_read() -> None:
    text = LINES.replace("TMIN,-6", "TMIN,-9999")
    found = parse_ghcn(text.splitlines(), stations={"XX000000001": "NORTH"})
    assert len(found.days) == 1
    assert "only one of TMIN and TMAX: 1 (NORTH 2024-05-02)" in said(found.remarks)


def test_a_crossed_day_of_a_long_file_is_left_out_and_named() -> None:
    found = parse_ghcn(LINES.replace("TMIN,-6", "TMIN,260").splitlines(), stations={"XX000000001": "NORTH"})
    assert found.problems == ()
    assert "minimum is above the maximum: 1 (NORTH 2024-05-02)" in said(found.remarks)
    found = parse_ghcn(LINES.replace("TMAX,211", "TMAX,700").splitlines(), stations={"XX000000001": "NORTH"})
    assert "never measured anywhere: 1 (NORTH 2024-05-02)" in said(found.remarks)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("station,date,tmin,tmax\nNORTH,2024-05-01,50,60\n", "this is no GHCN-Daily file"),
        ("XX000000001,20240501,TMAX,18.3,,,W,2400\n", 'TMAX: "18.3" is no whole number'),
        ("XX000000001,20240501,TMAX,183,,,W\nXX000000001,20230229,TMAX,183,,,W\n", "2023 has no 29 February"),
        ("XX000000001,20240501,TMAX,183,,,W\nXX000000001,20240501\n", "line 2: has 2 fields"),
        ("XX000000001,20240501,TMAX,183,,,W\nXX000000001,20240501,TMAX,184,,,W\n", "given twice, with different"),
        (WIDE.replace("_ATTRIBUTES", "_FLAGS"), "TMAX_ATTRIBUTES and TMIN_ATTRIBUTES are missing"),
        (WIDE + '"XX000000001","2024-05-03"\n', "has 2 fields, the header 11"),
    ],
)
def test_a_fault_is_told_with_its_line(text: str, words: str) -> None:
    assert words in said(parse_ghcn(text.splitlines()).problems)


@given(st.lists(st.text(max_size=60), max_size=6))
def test_no_file_whatever_it_holds_ends_in_a_fault_of_ours(rows: list[str]) -> None:
    parse_ghcn(rows)
    parse_ghcn(["XX000000001,20240501,TMAX,183,,,W,2400", *rows])
    parse_ghcn([WIDE.splitlines()[0], *rows])
