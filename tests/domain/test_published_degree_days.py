"""Degree-days as others have printed them; every point names its source in the data file."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from roundtui.domain.season.degree_days import CUTOFFS, Cutoff, Method, day
from roundtui.domain.units import TempUnit, convert_temp
from tests.real_weather import convert_degree_days

FILE = json.loads((Path(__file__).parent.parent / "data" / "degree_day_points.json").read_text())
POINTS = FILE["points"]
ROUNDED_MEAN = "average (mean rounded half up first)"


def half_up(value: float) -> int:
    return math.floor(value + 0.5)


@pytest.mark.parametrize("point", POINTS, ids=lambda point: f"{point[8]}-{point[0]}-{point[1]}-{point[3]}")
def test_a_printed_day_comes_out_as_printed(point: list[object]) -> None:
    tmin, tmax, _, lower, upper, method, expected, rounding, source, _ = point
    assert FILE["sources"][source]
    if method == ROUNDED_MEAN:
        # The weather service rounds the day's mean to a whole degree, halves up, before it subtracts the base.
        tmin = tmax = half_up((tmin + tmax) / 2)
        method = "average"
    cutoff = Cutoff.NONE if upper is None else Cutoff.HORIZONTAL
    value = day(tmin, tmax, lower, upper, method=Method(method), cutoff=cutoff)
    if rounding == "printed to 0.5":
        assert abs(value - expected) <= 0.25
    assert value == expected  # All of them are sums of halves, so they come out to the digit.


def test_the_file_holds_all_points_that_could_be_read() -> None:
    assert len(POINTS) == 72
    assert {point[8] for point in POINTS} == set(FILE["sources"])


def test_high_in_the_mid_eighties_and_low_in_the_mid_fifties_lies_in_the_printed_range() -> None:
    """Utah State University column, ksl.com/article/39286: such a day gives 15 to 20 degree-days over 50 °F."""
    for method in Method:
        assert 15 <= day(55, 85, 50, method=method) <= 20


def test_the_average_misses_a_day_that_the_curves_see() -> None:
    """Michigan State University (Nugent): 60/35 over 50 averages to 0 although the afternoon passed the base."""
    assert day(35, 60, 50, method=Method.AVERAGE) == 0
    assert day(35, 60, 50, method=Method.SINGLE_SINE) == pytest.approx(2.81, abs=0.005)
    assert day(35, 60, 50, method=Method.SINGLE_TRIANGLE) == pytest.approx(2.00, abs=0.005)


@pytest.mark.parametrize(
    ("extremes", "expected"),
    [
        ((40, 60), (0, 5, 3.183, 3.183, 3.183, 2.500)),
        ((40, 65), (2.5, 7.5, 5.309, 5.309, 5.309, 4.500)),
        ((48, 72), (10, 11, 10.247, 10.247, 10.247, 10.083)),
        ((55, 85), (20, 20, 20, 20, 20, 20)),
        ((60, 92), (26, 24, 25.392, 24.784, 16.650, 25.750)),
        ((40, 95), (17.5, 19, 18.271, 17.197, 9.446, 17.964)),
        ((65, 100), (32.5, 26.5, 29.402, 26.304, 14.269, 30.443)),
        ((89, 101), (45, 38, 38, 31, 0, 38)),
    ],
)
def test_a_table_computed_by_integration_is_met(extremes: tuple[float, float], expected: tuple[float, ...]) -> None:
    """50/88 °F; not published, a second reckoning. Average, clipped, three cutoffs of the sine, triangle."""
    average, clipped, flat, falling, stopped, triangle = expected

    def value(method: Method, cutoff: Cutoff) -> float:
        return day(*extremes, 50, 88, method=method, cutoff=cutoff)

    assert value(Method.AVERAGE, Cutoff.NONE) == average
    assert value(Method.MODIFIED_AVERAGE, Cutoff.HORIZONTAL) == clipped
    assert value(Method.SINGLE_SINE, Cutoff.HORIZONTAL) == pytest.approx(flat, abs=5e-4)
    assert value(Method.SINGLE_SINE, Cutoff.INTERMEDIATE) == pytest.approx(falling, abs=5e-4)
    assert value(Method.SINGLE_SINE, Cutoff.VERTICAL) == pytest.approx(stopped, abs=5e-4)
    assert value(Method.SINGLE_TRIANGLE, Cutoff.HORIZONTAL) == pytest.approx(triangle, abs=5e-4)


def test_converting_a_day_and_its_thresholds_changes_nothing_but_the_unit() -> None:
    """Published thresholds of codling moth, 50/88 °F, printed elsewhere as 10/31.1 °C (31.1 is 88 °F rounded)."""
    assert convert_temp(50, TempUnit.F, TempUnit.C) == 10
    assert convert_temp(88, TempUnit.F, TempUnit.C) == pytest.approx(31.1, abs=0.05)
    for method in Method:
        cutoff = CUTOFFS[method][min(1, len(CUTOFFS[method]) - 1)]
        fahrenheit = day(41, 95, 50, 88, method=method, cutoff=cutoff)
        celsius = day(5, 35, 10, 280 / 9, method=method, cutoff=cutoff)
        assert convert_degree_days(celsius, TempUnit.C, TempUnit.F) == pytest.approx(fahrenheit, abs=1e-9)
