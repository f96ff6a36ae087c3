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

WEEK = date(2031, 6, 3)


def of(**farms: int) -> list[FarmFigure]:
    return [FarmFigure(farm, Fraction(value), 2) for farm, value in farms.items()]


def cell(figures: list[FarmFigure], **more: object) -> Cell:
    return release("catch", "CM", WEEK, figures, **more)  # type: ignore[arg-type]


def test_three_farms_make_a_figure_each_counted_once() -> None:
    found = cell([FarmFigure("A", Fraction(9), 40), FarmFigure("B", Fraction(0), 1), FarmFigure("C", Fraction(3), 2)])
    assert (found.value, found.traps, found.farms) == (4, 43, ("A", "B", "C"))


def test_two_farms_make_none_and_leave_no_trace() -> None:
    assert cell(of(A=9, B=1)) == Cell(kind="catch", what="CM", week_ends=WEEK)
    assert not cell([]).released


def test_a_farm_that_declines_is_in_no_figure() -> None:
    assert cell(of(A=9, B=1, C=2, D=3), declined={"A"}).value == 2
    assert not cell(of(A=9, B=1, C=2), declined={"A"}).released


def test_what_was_published_stays_whoever_comes_late_is_corrected_or_declines() -> None:
    first = cell(of(A=1, B=2, C=3))
    assert cell(of(A=1, B=2, C=3, D=30), before=first) == first
    assert cell(of(A=9, B=2, C=3), before=first) == first
    assert cell(of(A=1, B=2, C=3), before=first, declined={"C"}) == first


def test_what_was_withheld_is_published_when_a_third_farm_is_read() -> None:
    assert cell(of(A=1, B=2, C=3), before=cell(of(A=1, B=2))).value == 2


@pytest.mark.parametrize(("farms", "spread"), [(9, (None, None)), (10, (0, 9))])
def test_no_range_below_ten_farms(farms: int, spread: tuple[int | None, int | None]) -> None:
    found = cell(of(**{f"F{at}": at for at in range(farms)}))
    assert (found.lowest, found.highest) == spread


def test_a_farm_has_one_figure() -> None:
    with pytest.raises(ValueError, match="two figures of CM"):
        cell([*of(A=1, B=2, C=3), *of(A=2)])


def test_a_stage_is_the_middle_one_and_not_an_average() -> None:
    assert release("stage", "apple", WEEK, of(A=71, B=75, C=76), how=middle).value == 75


def test_a_station_needs_three_farms_that_take_part() -> None:
    assert enough(["A", "B", "C", "C"])
    assert not enough(["A", "B", "C"], {"B"})
    assert not enough(["A", "A", "A"])


@given(st.dates(date(2020, 1, 1), date(2030, 1, 1)), st.integers(0, 400), st.integers(0, 6))
def test_weeks_end_on_their_weekday_and_share_no_day(first: date, days: int, weekday: int) -> None:
    on = first + timedelta(days=days)
    ends = week_ends(first, on, weekday)
    assert all(end.weekday() == weekday and first + timedelta(days=6) <= end <= on for end in ends)
    assert all(later - end == timedelta(days=7) for end, later in pairwise(ends))
    assert len(ends) in {max(0, (days + 1) // 7 - 1), (days + 1) // 7}


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
