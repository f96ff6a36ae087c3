"""Farms to be visited last, and blocks that nobody may enter yet."""

from __future__ import annotations

from datetime import date

from roundtui.domain.programme.farm import Block, Farm, Programme, Stop, Trap
from roundtui.domain.programme.rounds import OutOfOrder, closed_blocks, last_at_the_end, out_of_order, stop_words

ON = date(2026, 6, 2)
PROGRAMME = Programme(
    farms={"F": Farm("F", "First"), "L": Farm("L", "Last", visit_last=True), "M": Farm("M", "Middle")},
    blocks={
        "F": Block("F", "F", "F", "apple"),
        "L": Block("L", "L", "L", "apple", no_entry_before=date(2026, 6, 3)),
        "M": Block("M", "M", "M", "apple", no_entry_before=ON),
    },
    traps=tuple(Trap(label, label[0], "CM", hung_on=date(2026, 5, 5)) for label in ("F1", "L1", "L2", "M1")),
    stops=(Stop("r", 1, "F1"),),
)


def test_a_farm_to_be_visited_last_that_comes_before_another_is_named_with_the_trap_where_it_begins() -> None:
    assert out_of_order(PROGRAMME, ("F1", "L1", "L2", "M1"), ON) == OutOfOrder("L", "L1", "M")
    assert out_of_order(PROGRAMME, ("F1", "M1", "L1", "L2"), ON) is None
    assert out_of_order(PROGRAMME, ("L1",), ON) is None


def test_such_farms_go_to_the_end_and_the_order_is_kept_otherwise() -> None:
    assert last_at_the_end(PROGRAMME, ("L2", "M1", "L1", "F1"), ON) == ("M1", "F1", "L2", "L1")


def test_a_block_is_closed_until_the_day_on_which_it_may_be_entered() -> None:
    assert closed_blocks(PROGRAMME, ("F1", "L1", "L2", "M1"), ON) == (("L", date(2026, 6, 3)),)
    assert closed_blocks(PROGRAMME, ("F1", "L1", "L2", "M1"), date(2026, 6, 3)) == ()


def test_a_trap_in_no_route_and_one_that_moved_on_its_route_are_spoken_of() -> None:
    assert stop_words(PROGRAMME, "L1", moved=False) == "it is in no route yet, so no round comes by it"
    assert stop_words(PROGRAMME, "F1", moved=True) == "its place in route r is as before"
    assert stop_words(PROGRAMME, "F1", moved=False) == ""
