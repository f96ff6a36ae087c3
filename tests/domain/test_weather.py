"""Gaps in a station's days, and running sums over them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from roundtui.domain.season.degree_days import Cutoff, Development, Method, day
from roundtui.domain.season.weather import WeatherDay, degree_day_sum, runs
from roundtui.domain.units import TempUnit

F, C = TempUnit.F, TempUnit.C
AVERAGE = Development(50, None, F, Method.AVERAGE)
SINE = Development(50, 88, F, Method.SINGLE_SINE, Cutoff.HORIZONTAL)


def days(text: str, first: date = date(2024, 5, 1), unit: TempUnit = F) -> list[WeatherDay]:
    """A run of days as minimum/maximum, ``-`` for a day nobody read."""
    found = []
    for at, word in enumerate(text.split()):
        if word != "-":
            low, high = word.split("/")
            found.append(WeatherDay("NORTH", first + timedelta(days=at), float(low), float(high), unit))
    return found


def may(number: int) -> date:
    return date(2024, 5, number)


def test_first_and_last_day_both_count() -> None:
    found = degree_day_sum(days("50/60 50/70 50/80"), AVERAGE, may(1), may(3))
    assert [(row.on, row.degree_days, row.total) for row in found.rows] == [
        (may(1), 5, 5),
        (may(2), 10, 15),
        (may(3), 15, 30),
    ]
    assert (found.total, found.unit, found.stopped_on, found.filled) == (30, F, None, 0)


def test_a_gap_of_two_days_is_filled_on_a_straight_line_and_marked() -> None:
    """Read on the 1st and the 4th; the two days between lie a third and two thirds of the way."""
    found = degree_day_sum(days("50/60 - - 56/75"), AVERAGE, may(1), may(4))
    assert [(row.tmin, row.tmax, row.filled) for row in found.rows] == [
        (50, 60, False),
        (52, 65, True),
        (54, 70, True),
        (56, 75, False),
    ]
    assert found.filled == 2
    assert found.stopped_on is None


def test_a_gap_of_three_days_ends_the_sum_and_says_so() -> None:
    found = degree_day_sum(days("50/60 50/70 - - - 56/75"), AVERAGE, may(1), may(6))
    assert found.total == 15
    assert found.stopped_on == may(3)
    assert found.why == "no temperatures from 2024-05-03 to 2024-05-05, 3 days; at most 2 are filled"


def test_the_longest_gap_that_is_filled_can_be_set() -> None:
    gap = days("50/60 - - - 54/80")
    assert degree_day_sum(gap, AVERAGE, may(1), may(5), most_filled=3).total == pytest.approx(5 + 8 + 11 + 14 + 17)
    assert degree_day_sum(days("50/60 - 54/80"), AVERAGE, may(1), may(3), most_filled=0).stopped_on == may(2)


def test_a_sum_that_begins_or_ends_in_a_short_gap_is_filled_from_the_days_outside_it() -> None:
    found = degree_day_sum(days("50/60 - 50/80"), AVERAGE, may(2), may(2))
    assert [(row.tmax, row.filled) for row in found.rows] == [(70, True)]


@pytest.mark.parametrize(
    ("text", "stopped_on", "why"),
    [
        ("- 50/60 50/60", may(1), "temperatures begin only on 2024-05-02"),
        ("50/60 50/60 -", may(3), "temperatures end on 2024-05-02"),
        ("- - -", may(1), "there are no temperatures"),
    ],
)
def test_days_that_nobody_read_at_an_end_are_never_made_up(text: str, stopped_on: date, why: str) -> None:
    found = degree_day_sum(days(text), AVERAGE, may(1), may(3))
    assert (found.stopped_on, found.why) == (stopped_on, why)


def test_celsius_days_count_for_a_fahrenheit_species() -> None:
    found = degree_day_sum(days("10/20", unit=C), AVERAGE, may(1), may(1))
    assert (found.rows[0].tmin, found.rows[0].tmax, found.total) == (50, 68, 9)


def test_the_double_sine_runs_down_to_the_morning_after_even_past_the_last_day() -> None:
    double = Development(50, 88, F, Method.DOUBLE_SINE, Cutoff.HORIZONTAL)
    readings = days("45/70 55/75 60/80")
    found = degree_day_sum(readings, double, may(1), may(2))
    expected = day(55, 75, 50, 88, method=Method.DOUBLE_SINE, cutoff=Cutoff.HORIZONTAL, tmin_next=60)
    assert found.rows[-1].degree_days == expected
    assert degree_day_sum(readings[:2], double, may(1), may(2)).rows[-1].degree_days == pytest.approx(15)


def test_the_leap_day_counts() -> None:
    winter = days("50/60 50/60 50/60", first=date(2024, 2, 28))
    assert degree_day_sum(winter, AVERAGE, date(2024, 2, 28), date(2024, 3, 1)).total == 15
    assert not any(row.filled for row in degree_day_sum(winter, AVERAGE, date(2024, 2, 28), date(2024, 3, 1)).rows)


def test_a_sum_over_no_days_is_nothing() -> None:
    assert degree_day_sum(days("50/60"), AVERAGE, may(2), may(1)).total == 0
    assert degree_day_sum([], AVERAGE, may(2), may(1)).stopped_on is None


def test_one_part_after_another_is_the_whole() -> None:
    readings = days("41/72 48/80 60/91 55/95 39/61 52/52 - 47/77 90/99")
    whole = degree_day_sum(readings, SINE, may(1), may(9))
    parts = [degree_day_sum(readings, SINE, may(1), may(4)), degree_day_sum(readings, SINE, may(5), may(9))]
    assert sum(part.total for part in parts) == pytest.approx(whole.total, abs=1e-12)
    assert [row.degree_days for part in parts for row in part.rows] == [row.degree_days for row in whole.rows]


def test_long_gaps_cut_a_station_into_runs() -> None:
    pieces = runs(days("50/60 - 52/62 - - - 50/70"), F)
    assert [(piece.first, piece.last, piece.filled) for piece in pieces] == [
        (may(1), may(3), (False, True, False)),
        (may(7), may(7), (False,)),
    ]


def test_days_out_of_order_are_a_mistake_of_the_caller() -> None:
    with pytest.raises(ValueError, match="2024-05-01 comes after 2024-05-02"):
        runs(reversed(days("50/60 50/60")), F)


def test_how_a_species_counts_can_be_said_in_words() -> None:
    assert str(SINE) == "50/88 °F, single-sine, horizontal cutoff"
    assert str(AVERAGE) == "50 °F, average, no cutoff"
