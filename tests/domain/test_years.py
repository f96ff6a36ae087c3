"""A season beside the seasons before: what can be compared, and what cannot and why."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import pytest

from roundtui.domain.figures.figures import Reading, Series
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Trap
from roundtui.domain.season.years import By, Caught, Judged, Place, YearOf, held_against, why_not


def series(trap: str, season: int, *catches: int, first: tuple[int, int] = (5, 1)) -> Series:
    """A trap read every seven days, from its hanging on the first day on."""
    start = date(season, *first)
    readings = []
    for catch in catches:
        end = start + timedelta(days=7)
        readings.append(Reading(trap, end, start, catch, catch, ()))
        start = end
    return Series(Trap(trap, "N", "CM", hung_on=date(season, *first)), tuple(readings))


def year(season: int, *catches: int, **more: object) -> YearOf:
    one = series("A1", season, *catches)
    made: dict[str, object] = {
        "season": season,
        "first": date(season, 1, 1),
        "last": date(season, 12, 31),
        "by": By.DATE,
        "rounds": tuple((r.read_on, r.per_week, False) for r in one.readings),
        "caught": Caught.of((one,), ()),
        "places": (Place("A1", "N", "3", "7", Fraction(1)),),
    }
    return YearOf(**(made | more))  # type: ignore[arg-type]


def test_first_catch_peak_and_total_of_a_season() -> None:
    found = year(2025, 0, 4, 9, 9, 1)
    assert found.caught.first == date(2025, 5, 15)
    assert found.peak is not None
    assert (found.peak.on, found.peak.per_week) == (date(2025, 5, 22), 9)
    assert found.total == 23
    assert [point.total for point in found.points] == [0, 4, 13, 22, 23]


def test_a_season_without_a_moth_has_no_peak_and_no_first_catch_but_a_total() -> None:
    found = year(2025, 0, 0)
    assert (found.peak, found.caught.first, found.total) == (None, None, 0)


def test_a_season_that_nobody_read_has_no_total() -> None:
    assert year(2025).total is None


def test_a_suspect_or_disputed_moth_is_no_first_catch() -> None:
    from dataclasses import replace

    good = series("A1", 2025, 3, 2)
    bad = (replace(good.readings[0], suspect=True), good.readings[1])
    doubted = Series(good.hanging, bad)
    assert year(2025, caught=Caught.of((doubted,), ())).caught.first == date(2025, 5, 15)


def test_two_rounds_over_in_one_week_are_one_week_over() -> None:
    """Monday and Thursday of one week, then a Monday; a week that cannot be told is no judged week."""
    days = [date(2025, 6, 2), date(2025, 6, 5), date(2025, 6, 9), date(2025, 6, 16)]
    says = [Status.OVER, Status.OVER, Status.WITHIN, Status.CANNOT_TELL]
    judged = tuple(Judged("N", on, status) for on, status in zip(days, says, strict=True))
    assert (year(2025, judged=judged).weeks_over, year(2025, judged=judged).weeks_judged) == (1, 2)


def test_the_weeks_of_two_blocks_count_apart() -> None:
    judged = tuple(Judged(block, date(2025, 6, 2), Status.OVER) for block in ("N", "S"))
    assert year(2025, judged=judged).weeks_over == 2


def test_the_same_day_of_the_calendar_in_a_leap_year() -> None:
    now, past = year(2025, 1), year(2024, 1)
    for on in (date(2024, 1, 1), date(2024, 2, 28), date(2024, 3, 1), date(2024, 12, 31)):
        assert now.day_at(past.at(on)) == on.replace(year=2025)
        assert past.day_at(now.at(on.replace(year=2025))) == on


def test_a_season_over_the_turn_of_the_year() -> None:
    first, later = {"first": date(2024, 7, 1), "last": date(2025, 6, 30)}, date(2025, 3, 4)
    now = year(2024, 1, **first)
    past = year(2023, 1, first=date(2023, 7, 1), last=date(2024, 6, 30))
    assert past.day_at(now.at(later)) == date(2024, 3, 4)


def test_a_past_season_stands_beside_this_one_on_the_same_day_with_what_it_had_by_then() -> None:
    """This season's newest round was on 29 May. Last year's nearest ended on the same date, with 2 + 6 + 4 so far."""
    now, past = year(2025, 1, 5, 8, 3), year(2024, 2, 6, 4, 10, 1)
    found = held_against(now, past, now.at(date(2025, 5, 22)))
    assert (found.on, found.per_week, found.total) == (date(2024, 5, 22), 4, 12)
    assert found.comparable


def test_a_round_that_is_not_near_does_not_stand_for_the_day() -> None:
    now = year(2025, 1)
    found = held_against(now, year(2024, 2), now.at(date(2025, 5, 14)))
    assert (found.per_week, found.total) == (None, 2)


def test_by_degree_days_the_day_is_that_on_which_as_many_had_accumulated() -> None:
    """The past spring was cold: its 300 degree-days came on 20 June, not on 22 May."""
    warm = {date(2025, 5, 8) + timedelta(days=n): 20.0 * (n + 1) for n in range(60)}
    cold = {date(2024, 5, 8) + timedelta(days=n): 7.0 * (n + 1) for n in range(60)}
    now = year(2025, 1, 5, 8, by=By.DEGREE_DAYS, accumulated=warm, biofix=date(2025, 5, 8))
    past = year(2024, 2, 6, 4, 10, 1, 3, 7, by=By.DEGREE_DAYS, accumulated=cold, biofix=date(2024, 5, 8))
    assert [point.at for point in now.points] == [20, 160, 300]
    found = held_against(now, past, now.at(date(2025, 5, 22)))
    assert (found.on, found.per_week, found.total) == (date(2024, 6, 19), 7, 33)


def test_without_a_biofix_there_is_no_place_to_look_at() -> None:
    now, past = year(2025, 1, by=By.DEGREE_DAYS), year(2024, 2, by=By.DEGREE_DAYS)
    assert held_against(now, past, now.at(date(2025, 5, 8))).on is None


def test_before_biofix_a_round_has_no_place() -> None:
    accumulated = {date(2025, 5, 15): 10.0}
    found = year(2025, 1, 2, by=By.DEGREE_DAYS, accumulated=accumulated)
    assert [point.at for point in found.points] == [None, 10.0]


A1, A2 = Place("A1", "N", "3", "7", Fraction(1)), Place("A2", "N", "9", "2", Fraction(1))


@pytest.mark.parametrize(
    ("now", "past", "words"),
    [
        ((A1, A2), (A1, A2), []),
        ((A1, A2), (A1,), ["A2 hung in 2025 and not in 2024"]),
        ((A1,), (A1, A2), ["A2 hung in 2024 and not in 2025"]),
        (
            (A1,),
            (Place("A1", "N", "4", "7", Fraction(1)),),
            ["A1 hung elsewhere: N, row 3, tree 7 in 2025, N, row 4, tree 7 in 2024"],
        ),
        (
            (A1,),
            (Place("A1", "N", "3", "7", Fraction(10)),),
            ["A1 had lures of another strength: 1 mg in 2025, 10 mg in 2024"],
        ),
        ((A1,), (Place("A1", "N", "3", "7"),), []),
    ],
)
def test_traps_that_differ_are_named(now: tuple[Place, ...], past: tuple[Place, ...], words: list[str]) -> None:
    assert list(why_not(year(2025, 1, places=now), year(2024, 1, places=past))) == words


def test_a_trap_moved_in_either_season_is_named_once() -> None:
    moved = year(2025, 1, moved=(("A1", date(2025, 6, 10)),), places=(A1, Place("A1", "N", "19", "3", Fraction(1))))
    assert list(why_not(moved, year(2024, 1))) == ["A1 was moved on 2025-06-10"]
    assert list(why_not(year(2026, 1), moved)) == ["A1 was moved on 2025-06-10"]
    assert not held_against(year(2026, 1), moved, None).comparable


def test_highest_round_and_weeks_over_of_a_past_season_end_at_the_same_place() -> None:
    """Last year's peak came on 29 May, a week after the day that this season has come to."""
    days = [date(2024, 5, 15), date(2024, 5, 22), date(2024, 5, 29)]
    judged = tuple(Judged("N", on, Status.OVER) for on in days)
    now, past = year(2025, 1, 5, 8), year(2024, 2, 6, 4, 10, judged=judged)
    found = held_against(now, past, now.at(date(2025, 5, 22)))
    assert found.peak == (date(2024, 5, 15), 6)
    assert found.weeks == (2, 2)
    assert past.weeks_over == 3
    assert past.peak is not None
    assert past.peak.per_week == 10
