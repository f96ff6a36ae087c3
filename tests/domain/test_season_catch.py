"""The catch curve of a season: what makes a point of it, and where it breaks off."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.entries import Visit
from roundtui.domain.figures.figures import Reading, Series
from roundtui.domain.programme.farm import Trap
from roundtui.domain.season.season import catch_points, moves_of

HUNG = date(2025, 4, 22)


def read(trap: str, on: date, net: int, days: int = 7, *, suspect: bool = False, twice: bool = False) -> Reading:
    visit = Visit(trap=trap, read_on=on, count=net)
    return Reading(
        trap=trap,
        read_on=on,
        start=on - timedelta(days=days),
        count=net,
        net=None if twice else net,
        entries=(visit, visit) if twice else (visit,),
        suspect=suspect,
    )


def hung(trap: str, *readings: Reading, on: date = HUNG, down: date | None = None) -> Series:
    return Series(Trap(trap, "N", "CM", hung_on=on, down_on=down), readings)


def week(at: int) -> date:
    return HUNG + timedelta(days=7 * at)


def test_traps_read_on_two_days_of_a_round_are_one_point() -> None:
    """A1 on Tuesdays, A2 the day after: the point stands on the Wednesday, over both."""
    one = hung("A1", *(read("A1", week(at), 3 * at) for at in (1, 2)))
    other = hung("A2", *(read("A2", week(at) + timedelta(days=1), 5, 7 if at > 1 else 8) for at in (1, 2)))
    points = catch_points([one, other], ())
    assert [point.on for point in points] == [week(1) + timedelta(days=1), week(2) + timedelta(days=1)]
    assert points[1].per_week == Fraction(6 + 5, 2)
    assert (points[1].moths, points[1].traps, points[1].days) == (11, 2, (7, 7))
    assert points[1].highest == ("A1", Fraction(6))
    assert points[0].days == (7, 8)


def test_a_suspect_trap_is_named_and_stands_out_of_the_mean() -> None:
    good, wrong = hung("A1", read("A1", week(1), 2)), hung("A10", read("A10", week(1), 40, suspect=True))
    (point,) = catch_points([good, wrong], ())
    assert (point.per_week, point.suspect) == (Fraction(2), ("A10",))
    (alone,) = catch_points([wrong], ())
    assert alone.per_week is None
    assert alone.shown == Fraction(40)


def test_two_readings_that_disagree_give_no_figure() -> None:
    (point,) = catch_points([hung("A1", read("A1", week(1), 2, twice=True))], ())
    assert (point.per_week, point.shown, point.conflict) == (None, None, ("A1",))


def test_a_curve_breaks_off_where_a_trap_was_moved_and_goes_on_where_a_week_was_missed() -> None:
    """A1 moves on the day of its second reading. The third is the first of the new place; after it two weeks in one."""
    before = hung("A1", read("A1", week(1), 4), read("A1", week(2), 6), down=week(2))
    after = hung("A1", read("A1", week(3), 1), read("A1", week(5), 2, days=14), on=week(2))
    moves = moves_of([before, after], {"A1": (before.hanging, after.hanging)}, date(2025, 1, 1))
    assert moves == (week(2),)
    assert [point.begins for point in catch_points([before, after], moves)] == [False, False, True, False]


def test_a_curve_breaks_off_where_no_trap_was_watching() -> None:
    """Found damaged on the second Tuesday, the trap began anew: its third reading tells of one week only."""
    trap = hung("A1", read("A1", week(1), 4), read("A1", week(3), 2))
    assert [point.begins for point in catch_points([trap], ())] == [False, True]


def test_a_trap_hung_each_spring_was_not_moved() -> None:
    last_year = Trap("A1", "N", "CM", hung_on=date(2024, 4, 20), down_on=date(2024, 9, 30))
    group = [hung("A1", read("A1", week(1), 4))]
    assert moves_of(group, {"A1": (last_year, group[0].hanging)}, date(2025, 1, 1)) == ()


def test_the_curve_of_a_block_breaks_off_where_a_trap_left_for_another_block() -> None:
    from roundtui.domain.season.season import days_moved

    left = Trap("A1", "N", "CM", hung_on=date(2026, 4, 20), down_on=date(2026, 6, 9))
    stayed = Trap("A2", "N", "CM", hung_on=date(2026, 4, 20))
    hangings = {"A1": (left, Trap("A1", "S", "CM", hung_on=date(2026, 6, 9))), "A2": (stayed,)}

    assert days_moved([Series(left, ()), Series(stayed, ())], hangings, date(2026, 1, 1)) == (date(2026, 6, 9),)
    assert days_moved([Series(stayed, ())], hangings, date(2026, 1, 1)) == ()
