"""Counts become catch per trap per week only through the days that stand behind them.

The arithmetic itself, net catch times seven over days exposed, is common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

from roundtui.domain.figures.figures import readings
from tests.domain.orchard import Orchard, day


def one_trap(*visits: tuple[str, dict[str, object]], hung: str | None = "05-01") -> list[tuple[int | None, int | None]]:
    orchard = Orchard()
    orchard.hang("A1", on=hung)
    for on, visit in visits:
        orchard.visit("A1", on, **visit)  # type: ignore[arg-type]
    return [(reading.net, reading.days) for reading in readings(orchard.programme.hangings["A1"][0], orchard.visits)]


def test_days_run_from_hanging_and_then_from_reading_to_reading() -> None:
    assert one_trap(("05-08", {"count": 4}), ("05-17", {"count": 6})) == [(4, 7), (6, 9)]


def test_nine_days_then_five_turn_the_verdict_round() -> None:
    """Six moths in nine days are under five a week, four in five days over it."""
    orchard = Orchard()
    orchard.hang("A1", on="05-01")
    orchard.visit("A1", "05-10", 6)
    orchard.visit("A1", "05-15", 4)
    first, second = readings(orchard.traps[0], orchard.visits)
    assert (first.per_week, second.per_week) == (Fraction(42, 9), Fraction(28, 5))
    assert first.per_week < 5 < second.per_week


def test_days_run_on_over_a_trap_skipped_or_found_closed() -> None:
    for reason in ("skipped", "closed", "other"):
        assert one_trap(("05-08", {"no": reason}), ("05-15", {"count": 4})) == [(4, 14)]


def test_days_begin_anew_where_the_trap_was_missing_down_or_damaged() -> None:
    for reason in ("missing", "down", "damaged"):
        assert one_trap(("05-08", {"no": reason}), ("05-15", {"count": 4})) == [(4, 7)]


def test_a_trap_that_stays_down_is_down_again_and_its_days_wait() -> None:
    assert one_trap(("05-08", {"no": "down"}), ("05-15", {"no": "down"}), ("05-20", {"count": 4})) == [(4, 5)]


def test_a_new_liner_or_body_without_a_count_begins_the_days_anew() -> None:
    assert one_trap(("05-08", {"liner": True}), ("05-15", {"count": 4})) == [(4, 7)]
    assert one_trap(("05-08", {"body": "B7"}), ("05-15", {"count": 4})) == [(4, 7)]
    assert one_trap(("05-08", {"lure": "yes"}), ("05-15", {"count": 4})) == [(4, 14)]


def test_moths_left_in_are_taken_off_the_next_count() -> None:
    assert one_trap(("05-08", {"count": 5, "cleared": False}), ("05-15", {"count": 8})) == [(5, 7), (3, 7)]


def test_the_newest_count_is_carried_on_where_it_too_was_left() -> None:
    visits = [("05-08", {"count": 5, "cleared": False}), ("05-15", {"count": 8, "cleared": False})]
    assert one_trap(*visits, ("05-22", {"count": 9})) == [(5, 7), (3, 7), (1, 7)]


def test_what_was_left_in_is_gone_with_liner_body_or_trap() -> None:
    left = ("05-08", {"count": 5, "cleared": False})
    for gone in ({"liner": True}, {"body": "yes"}, {"no": "missing"}, {"no": "down"}, {"no": "damaged"}):
        assert one_trap(left, ("05-15", gone), ("05-22", {"count": 2})) == [(5, 7), (2, 7)]
    for kept in ({"no": "skipped"}, {"no": "closed"}, {"no": "other"}):
        assert one_trap(left, ("05-15", kept), ("05-22", {"count": 7})) == [(5, 7), (2, 14)]


def test_a_liner_changed_with_the_count_carries_nothing() -> None:
    visit = {"count": 5, "cleared": False, "liner": True}
    assert one_trap(("05-08", visit), ("05-15", {"count": 2})) == [(5, 7), (2, 7)]


def test_fewer_moths_than_were_left_in_have_no_net_and_everything_restarts() -> None:
    visits = [("05-08", {"count": 5, "cleared": False}), ("05-15", {"count": 3}), ("05-22", {"count": 2})]
    assert one_trap(*visits) == [(5, 7), (None, 7), (2, 7)]


def test_without_a_hanging_date_the_first_entry_starts_the_days() -> None:
    assert one_trap(("05-08", {"count": 9}), ("05-15", {"count": 4}), hung=None) == [(9, None), (4, 7)]
    assert one_trap(("05-08", {"no": "skipped"}), ("05-15", {"count": 4}), hung=None) == [(4, 7)]


def test_a_recount_is_no_second_catch() -> None:
    again = {"count": 5, "recount": True, "scout": "Ben"}
    assert one_trap(("05-08", {"count": 4}), ("05-08", again), ("05-15", {"count": 1})) == [(4, 7), (1, 7)]


def test_two_scouts_at_one_trap_are_a_conflict_and_not_a_sum() -> None:
    visits = [("05-08", {"count": 4}), ("05-08", {"count": 6, "scout": "Ben"}), ("05-15", {"count": 1})]
    assert one_trap(*visits) == [(None, 7), (1, 7)]


def test_a_trap_hung_again_starts_a_new_series() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="2024-05-01", down="2024-09-20")
    orchard.hang("A1", on="2025-05-01")
    orchard.visit("A1", "2024-09-20", 4, cleared=False)
    orchard.visit("A1", "2025-05-08", 5)
    last, first = (readings(hanging, orchard.visits) for hanging in orchard.programme.hangings["A1"])
    assert [reading.count for reading in last] == [4]
    assert [(reading.net, reading.days) for reading in first] == [(5, 7)]
    assert first[0].start == day("05-01")
