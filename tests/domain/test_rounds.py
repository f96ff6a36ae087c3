"""A round is walked once, over as many as seven days, and is gone on with where it stopped."""

from __future__ import annotations

from roundtui.domain.programme.farm import Programme, Stop
from roundtui.domain.programme.rounds import RoundState, current_round
from tests.domain.orchard import Orchard, day


def route(*visits: tuple[str, str, int | str]) -> Orchard:
    orchard = Orchard()
    orchard.hang("A1", "A2", "A3")
    for trap, on, seen in visits:
        if isinstance(seen, str):
            orchard.visit(trap, on, no=seen)
        else:
            orchard.visit(trap, on, seen)
    return orchard


def state(orchard: Orchard, on: str) -> RoundState:
    return current_round(("A1", "A2", "A3"), orchard.history(day(on)).visits, day(on))


def test_a_route_is_walked_by_place_and_traps_of_one_place_as_people_count() -> None:
    stops = [("south", 2, "A10"), ("south", 2, "A2"), ("south", 1, "B1"), ("r10", 1, "C1"), ("r2", 4, "C1")]
    routes = Programme({}, {}, stops=tuple(Stop(*one) for one in stops)).routes
    assert list(routes.items()) == [("r2", ("C1",)), ("r10", ("C1",)), ("south", ("B1", "A2", "A10"))]


def test_nothing_entered_is_a_round_not_begun() -> None:
    new = state(route(), "05-08")
    assert (new.started_on, new.left) == (None, ("A1", "A2", "A3"))


def test_a_round_left_half_way_goes_on_for_six_days() -> None:
    orchard = route(("A1", "05-08", 4), ("A2", "05-08", "skipped"))
    for on in ("05-08", "05-09", "05-14"):
        half = state(orchard, on)
        assert (half.started_on, half.left, half.counted) == (day("05-08"), ("A3",), 1)
    assert state(orchard, "05-15").started_on is None


def test_flags_alone_leave_the_trap_to_be_read() -> None:
    orchard = route(("A1", "05-08", 4))
    orchard.visit("A2", "05-08", liner=True)
    assert state(orchard, "05-08").left == ("A2", "A3")


def test_a_finished_round_stays_finished_until_the_next_begins() -> None:
    orchard = route(("A1", "05-08", 4), ("A2", "05-08", 0), ("A3", "05-09", 1))
    assert not state(orchard, "05-09").left
    assert not state(orchard, "05-12").left
    assert state(orchard, "05-15").started_on is None
    orchard.visit("A1", "05-12", 2)
    assert (state(orchard, "05-12").started_on, state(orchard, "05-12").left) == (day("05-12"), ("A2", "A3"))


def test_a_trap_read_again_on_a_later_day_begins_the_next_round() -> None:
    orchard = route(("A1", "05-08", 4), ("A2", "05-08", 0), ("A1", "05-11", 2))
    assert (state(orchard, "05-11").started_on, state(orchard, "05-11").left) == (day("05-11"), ("A2", "A3"))


def test_a_second_sample_or_a_second_scout_on_the_day_does_not() -> None:
    orchard = route(("A1", "05-08", 4), ("A2", "05-08", 0))
    orchard.visit("A1", "05-08", 5, recount=True, scout="Ben")
    orchard.visit("A2", "05-08", 7, scout="Ben")
    assert (state(orchard, "05-08").started_on, state(orchard, "05-08").left) == (day("05-08"), ("A3",))


def test_a_trap_skipped_and_read_two_days_later_is_still_the_same_round() -> None:
    orchard = route(("A1", "05-08", 4), ("A2", "05-08", "skipped"), ("A3", "05-08", 1), ("A2", "05-10", 3))
    assert state(orchard, "05-10").started_on == day("05-08")
    assert state(orchard, "05-10").counted == 3


def test_the_next_round_keeps_what_it_read_before_it_was_seen_to_begin() -> None:
    orchard = route(("A2", "05-08", 4), ("A3", "05-08", 4), ("A1", "05-14", 1), ("A2", "05-14", 2))
    assert (state(orchard, "05-14").started_on, state(orchard, "05-14").left) == (day("05-14"), ("A3",))
