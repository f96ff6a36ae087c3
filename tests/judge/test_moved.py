"""A trap that moves within its block in mid-week is one trap, whichever of its two places was read."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

from roundtui.domain.entries import Visit
from roundtui.domain.figures.history import History
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import summarise
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.farm import Block, Farm, Programme, Trap

NOON = datetime(2026, 6, 1, 12, tzinfo=UTC)
MOVED_ON = date(2026, 6, 9)


def summary(on: date, *counts: tuple[date, int]) -> Summary:
    programme = Programme(
        farms={"F": Farm("F", "Farm")},
        blocks={"B": Block("B", "F", "Block", "apple")},
        traps=(
            Trap("A1", "B", "CM", style="delta", hung_on=date(2026, 5, 5), lot=""),
            Trap("A1", "B", "CM", style="delta", hung_on=MOVED_ON),
            Trap("A2", "B", "CM", style="delta", hung_on=date(2026, 6, 2)),
        ),
    )
    visits = [
        Visit(trap="A1", read_on=day, count=count, id=str(at), recorded_at=NOON + timedelta(minutes=at))
        for at, (day, count) in enumerate(counts)
    ]
    second = Visit(trap="A2", read_on=MOVED_ON, count=7, id="a2", recorded_at=NOON)
    return summarise(programme, History(visits={"A1": visits, "A2": [second]}), Office(), on)


def test_read_before_the_move_it_is_not_unread_in_its_new_place() -> None:
    said = summary(MOVED_ON + timedelta(days=3), (date(2026, 6, 2), 0), (MOVED_ON, 3))
    (row,) = said.blocks

    assert (row.hung, row.read, row.counted) == (2, 2, 2)
    assert row.mean_per_week == Fraction(3 + 7, 2)
    assert said.not_read == ()


def test_read_in_both_places_within_a_week_its_new_series_stands_for_it() -> None:
    said = summary(MOVED_ON + timedelta(days=6), (date(2026, 6, 2), 0), (MOVED_ON, 3), (date(2026, 6, 15), 6))
    (row,) = said.blocks

    assert (row.hung, row.read, row.counted) == (2, 2, 2)
    assert row.mean_per_week == Fraction(7 + 7, 2)


def test_read_in_neither_it_is_unread_once() -> None:
    said = summary(MOVED_ON + timedelta(days=3), (date(2026, 6, 2), 0))

    assert [row.trap for row in said.not_read] == ["A1"]


def test_on_the_day_of_the_move_the_lure_of_the_old_place_is_no_longer_due() -> None:
    said = summary(MOVED_ON, (date(2026, 6, 2), 0), (MOVED_ON, 3))

    assert [due.item for due in said.upkeep if due.trap == "A1"] == []
