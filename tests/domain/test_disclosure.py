"""What an area update may say."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.publication import (
    Cell,
    FarmFigure,
    LettersOffice,
    enough,
    middle,
    parse_letters,
    release,
    unknown_farms,
    week_ends,
)
from tests.long.area_attack import attacked

WEEK = date(2031, 6, 3)


def of(**farms: int) -> list[FarmFigure]:
    return [FarmFigure(farm, Fraction(value), 2) for farm, value in farms.items()]


def cell(figures: list[FarmFigure], **more: object) -> Cell:
    return release("catch", "CM", WEEK, figures, **more)  # type: ignore[arg-type]


def test_four_growers_make_a_figure_each_farm_counted_once() -> None:
    farms = [("A", 9, 40), ("B", 0, 1), ("C", 3, 2), ("D", 4, 2)]
    found = cell([FarmFigure(farm, Fraction(value), traps) for farm, value, traps in farms])
    assert (found.value, found.traps, found.farms) == (4, 45, ("A", "B", "C", "D"))


def test_three_growers_make_none_and_leave_no_trace() -> None:
    withheld = cell(of(A=9, B=8, C=7))
    assert withheld == Cell(kind="catch", what="CM", week_ends=WEEK)
    assert (withheld.farms, withheld.value, withheld.traps, withheld.estimated) == ((), None, 0, 0)
    assert not cell([]).released


def test_a_moth_that_weighs_more_than_is_left_beside_two_growers_is_not_hidden() -> None:
    """8, 8, 8 and 0 are 6 in print, under 26 in all: beside two with 8 are 10, and one moth of the fourth is 12."""
    assert not cell([*of(A=8, B=8, C=8), FarmFigure("D", Fraction(0), 2, step=Fraction(12))]).released
    assert cell([*of(A=8, B=8, C=8), FarmFigure("D", Fraction(0), 2, step=Fraction(9))]).released


def test_a_stage_has_no_traps_behind_it() -> None:
    figures = [FarmFigure(farm, Fraction(72)) for farm in "ABCD"]
    found = release("stage", "apple", WEEK, figures, how=middle)
    assert (found.value, found.traps, found.estimated) == (72, 0, 0)


def test_two_farms_of_one_grower_are_one_grower() -> None:
    """Whoever has two farms knows the figures of both; the name is compared without case and spaces."""
    farms = [FarmFigure(farm, Fraction(6), 2, grower=who) for farm, who in [("A", "Ida Birch"), ("B", " ida  BIRCH ")]]
    assert not cell([*farms, *of(C=6, D=6)]).released
    assert cell([*farms, *of(C=6, D=6, E=6)]).released


def test_a_farm_without_a_name_of_its_grower_is_a_grower_of_its_own() -> None:
    assert cell(of(A=6, B=6, C=6, D=6)).released


def test_a_grower_who_assembles_most_of_it_is_not_told_of() -> None:
    """The p per cent rule, p = 10: 100, 40, 5, 4 is 9 left beside the two largest, under a tenth of 100."""
    assert not cell(of(A=100, B=40, C=5, D=4)).released
    assert not cell([*of(A=100, B=40, C=5), FarmFigure("D", Fraction(9, 2), 2)]).released
    assert cell(of(A=100, B=40, C=5, D=5)).released


def test_a_catch_is_told_in_whole_moths_and_under_one_as_none() -> None:
    assert cell(of(A=4, B=5, C=4, D=5)).value == 5
    assert cell(of(A=4, B=4, C=4, D=5)).value == 4
    assert cell(of(A=1, B=1, C=1, D=0)).value == 0


def test_nobody_who_caught_nothing_is_found_out_by_two_who_caught_something() -> None:
    """Under one from four farms is under four moths in all: who hold 2 and 1.5 of them know that the rest have none."""
    some = [
        FarmFigure(farm, Fraction(value), 2) for farm, value in [("A", "2"), ("B", "1.5"), ("C", "0"), ("D", "0.4")]
    ]
    assert not cell(some).released
    assert cell(of(A=1, B=1, C=0, D=1)).released


def test_a_trap_that_hung_three_days_counts_in_larger_steps() -> None:
    """One moth in three days is 2.3 a week, so that under two and a half left over can be nobody's moth."""
    days = [
        FarmFigure(farm, Fraction(value), 1, step=Fraction(7, 3))
        for farm, value in zip("ABCD", (0, 0, 0, 0), strict=True)
    ]
    assert cell(days).released
    days[0] = FarmFigure("A", Fraction(7, 3), 1, step=Fraction(7, 3))
    assert not cell(days).released


def test_a_farm_that_declines_is_in_no_figure() -> None:
    assert cell(of(A=9, B=1, C=2, D=3, E=2), declined={"A"}).value == 2
    assert not cell(of(A=9, B=1, C=2, D=2), declined={"A"}).released


def test_what_was_published_stays_whoever_comes_late_is_corrected_or_declines() -> None:
    first = cell(of(A=1, B=2, C=3, D=2))
    assert first.released
    assert cell(of(A=1, B=2, C=3, D=2, E=30), before=first) == first
    assert cell(of(A=9, B=2, C=3, D=2), before=first) == first
    assert cell(of(A=1, B=2, C=3, D=2), before=first, declined={"C"}) == first


def test_what_was_withheld_is_published_when_a_fourth_grower_is_read() -> None:
    assert cell(of(A=1, B=2, C=3, D=2), before=cell(of(A=1, B=2, C=3))).value == 2


def test_a_farm_has_one_figure() -> None:
    with pytest.raises(ValueError, match="two figures of CM"):
        cell([*of(A=1, B=2, C=3), *of(A=2)])


def test_a_stage_is_the_middle_one_and_two_growers_stand_at_it() -> None:
    assert release("stage", "apple", WEEK, of(A=71, B=75, C=75, D=76), how=middle).value == 75
    assert not release("stage", "apple", WEEK, of(A=71, B=75, C=76, D=77), how=middle).released


def test_a_biofix_is_the_middle_day_and_four_growers_stand_behind_it() -> None:
    assert release("biofix", "CM 1", WEEK, of(A=120, B=121, C=125, D=140), how=middle).value == 121
    assert not release("biofix", "CM 1", WEEK, of(A=120, B=121, C=125), how=middle).released


def test_a_station_needs_four_growers_that_take_part() -> None:
    assert enough(dict.fromkeys("ABCD", ""))
    assert not enough(dict.fromkeys("ABCD", ""), {"B"})
    assert not enough({"A": "Ida", "B": "ida", "C": "", "D": ""})


@given(st.dates(date(2020, 1, 1), date(2030, 1, 1)), st.integers(0, 400), st.integers(0, 6))
def test_weeks_end_on_their_weekday_and_share_no_day(first: date, days: int, weekday: int) -> None:
    on = first + timedelta(days=days)
    ends = week_ends(first, on, weekday)
    assert all(end.weekday() == weekday and first + timedelta(days=6) <= end <= on for end in ends)
    assert all(later - end == timedelta(days=7) for end, later in pairwise(ends))
    assert len(ends) in {max(0, (days + 1) // 7 - 1), (days + 1) // 7}


def test_a_season_that_begins_right_after_a_week_has_its_first_seven_days_for_its_first() -> None:
    assert week_ends(WEEK - timedelta(days=6), WEEK, WEEK.weekday()) == (WEEK,)
    assert week_ends(WEEK - timedelta(days=5), WEEK, WEEK.weekday()) == ()


def test_the_office_says_who_writes_and_who_takes_no_part() -> None:
    table = {"from": {"name": "Us", "email": "us@example.org"}, "area": {"declined": ["B"], "week_ends": "tuesday"}}
    office, problems = parse_letters(table)
    assert problems == ()
    assert office == LettersOffice(name="Us", email="us@example.org", declined=frozenset("B"), week_ends=1)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"area": {"declined": "B"}}, "declined"),
        ({"area": {"declined": [1]}}, "declined"),
        ({"area": {"refused": ["B"]}}, "refused"),
        ({"area": {"week_ends": "someday"}}, "week_ends"),
        ({"from": "us"}, "from"),
        ({"form": {}}, "form"),
    ],
)
def test_a_slip_in_the_file_is_named(table: dict[str, object], words: str) -> None:
    office, problems = parse_letters(table)
    assert office is None
    assert words in str(problems[0])


def test_a_farm_that_declined_and_that_nobody_knows_is_a_problem() -> None:
    """Else a slip of the pen would publish a farm against its will."""
    office = LettersOffice(declined=frozenset({"MOSS", "MOSSS"}))
    assert ["MOSSS" in str(problem) for problem in unknown_farms(office, {"MOSS"})] == [True]
    (long,) = unknown_farms(LettersOffice(declined=frozenset({"M" * 41})), ())
    assert f" {'M' * 39}… " in str(long), "forty cells of it"


@pytest.mark.parametrize("farms", [4, 6])
def test_no_two_growers_find_out_a_third_in_a_season_of_updates(farms: int) -> None:
    """A share of ``tests/long/area_attack.py``: three farms and one decimal, which give farms away, are the control."""
    found = attacked(farms, 1, seed=farms)
    assert found["rules"][2] == 0
    assert found["three farms, one decimal"][2] > 0
