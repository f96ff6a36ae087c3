"""Where series of readings begin and end: a trap moved, added, taken down, hung again."""

from __future__ import annotations

from datetime import date

from roundtui.domain.programme.farm import Programme, Trap
from roundtui.domain.traps.assembly import Happened, series_changes

FIRST, LAST = date(2026, 1, 1), date(2026, 9, 30)
SPRING, JUNE, JULY = date(2026, 4, 20), date(2026, 6, 9), date(2026, 7, 7)
ANOTHER = Trap("Z", "N", "CM", hung_on=SPRING)


def notified(*traps: Trap, first: date = FIRST, on: date = LAST) -> list[tuple[str, str, Happened, date]]:
    return [(one.trap, one.block, one.what, one.on) for one in series_changes(Programme(traps=traps), first, on)]


def test_a_move_to_another_block_is_told_of_in_both() -> None:
    old, new = Trap("A", "N", "CM", hung_on=SPRING, down_on=JUNE), Trap("A", "S", "CM", hung_on=JUNE)
    assert notified(old, new) == [("A", "N", Happened.MOVED, JUNE), ("A", "S", Happened.MOVED, JUNE)]
    away, here = series_changes(Programme(traps=(old, new)), FIRST, LAST)
    assert (away.went_to, here.came_from) == (new, old)


def test_an_old_hanging_that_nobody_closed_is_a_move_too() -> None:
    old, new = Trap("A", "N", "CM", hung_on=SPRING), Trap("A", "N", "CM", row="9", hung_on=JUNE)
    assert notified(old, new) == [("A", "N", Happened.MOVED, JUNE)]


def test_hanging_every_trap_in_spring_and_taking_all_down_in_autumn_is_no_change() -> None:
    autumn = date(2026, 9, 22)
    traps = [Trap(label, "N", "CM", hung_on=SPRING, down_on=autumn) for label in "ABC"]
    assert notified(*traps) == []


def test_a_trap_added_beside_others_and_one_taken_down_while_they_hang_are_told() -> None:
    added = Trap("A", "N", "CM", hung_on=JUNE, down_on=JULY)
    assert notified(ANOTHER, added) == [("A", "N", Happened.ADDED, JUNE), ("A", "N", Happened.DOWN, JULY)]
    assert notified(ANOTHER, added, on=JUNE) == [("A", "N", Happened.ADDED, JUNE)]


def test_a_trap_hung_again_after_weeks_is_told_and_one_of_last_year_is_not() -> None:
    old, new = Trap("A", "N", "CM", hung_on=SPRING, down_on=JUNE), Trap("A", "N", "CM", hung_on=JULY)
    assert notified(ANOTHER, old, new) == [("A", "N", Happened.AGAIN, JULY)]
    last_year = Trap("A", "N", "CM", hung_on=date(2025, 4, 20), down_on=date(2025, 9, 9))
    assert notified(last_year, Trap("A", "N", "CM", hung_on=SPRING), Trap("Z", "N", "CM", hung_on=SPRING)) == []


def test_a_trap_that_hung_no_night_is_no_change() -> None:
    assert notified(ANOTHER, Trap("A", "N", "CM", hung_on=JUNE, down_on=JUNE)) == []
