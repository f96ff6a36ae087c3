"""Lures in stock: what was counted and bought, less what was put out, each lure once, whatever the order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.entries import NONE, YES, Assembled, Stocked, StockKind, Visit
from roundtui.domain.inventory.stock import Held, LureUse, check_stock, held, lure_uses
from roundtui.domain.programme.farm import Lot, Programme, Trap
from tests.domain.orchard import Orchard, day

AT = datetime(2025, 1, 1, tzinfo=UTC)


def bought(number: int, on: str, lot: str = "L1", at: int = 0) -> Stocked:
    return Stocked(
        lot=lot, stocked_on=day(on), kind=StockKind.BOUGHT, number=number, recorded_at=AT + timedelta(seconds=at)
    )


def counted(number: int, on: str, lot: str = "L1", at: int = 0) -> Stocked:
    return replace(bought(number, on, lot, at), kind=StockKind.COUNTED)


def used(*days: str, lot: str = "L1") -> list[LureUse]:
    return [LureUse(day(on), f"T{at}", lot) for at, on in enumerate(days)]


def left(entries: Iterable[Stocked], uses: Iterable[LureUse] = (), on: str = "12-31") -> int | None:
    return held("L1", entries, uses, day(on)).left


# --- what is left ---


def test_a_lot_never_counted_is_not_counted_and_not_zero() -> None:
    assert held("L1", [], used("05-01"), day("06-01")) == Held(lot="L1", left=None)
    assert left([counted(9, "04-01", lot="L2")]) is None


def test_what_is_left_was_counted_last_and_bought_since_less_what_was_put_out_since() -> None:
    """Counted 20 on 1 April, 10 bought on the 15th, 12 put out after the count and 3 before it: 18."""
    uses = [LureUse(day("03-20"), f"O{n}", "L1") for n in range(3)]
    uses += [LureUse(day("04-22"), f"N{n}", "L1") for n in range(12)]
    found = held("L1", [counted(20, "04-01"), bought(10, "04-15")], uses, day("05-01"))
    assert (found.left, found.since, found.counted, found.bought, found.used) == (18, day("04-01"), 20, 10, 12)


def test_a_count_holds_at_the_end_of_its_day() -> None:
    entries = [bought(30, "03-01"), counted(18, "05-01"), bought(5, "05-01")]
    assert left(entries, used("04-01", "05-01", "05-02")) == 17


def test_a_purchase_holds_from_the_morning_of_its_day() -> None:
    assert left([bought(30, "05-01")], used("04-30", "05-01", "05-02")) == 28


def test_of_two_counts_on_one_day_the_later_one_holds() -> None:
    assert left([counted(9, "05-01", at=2), counted(4, "05-01", at=1)]) == 9


def test_a_store_that_was_counted_empty_is_zero() -> None:
    assert left([counted(0, "05-01")]) == 0


def test_more_put_out_than_there_were_asks_for_a_count() -> None:
    found = held("L1", [counted(1, "05-01")], used("05-02", "05-03"), day("06-01"))
    assert (found.left, found.impossible) == (-1, True)


def test_a_later_day_is_not_looked_at() -> None:
    assert left([counted(5, "05-01"), bought(9, "06-01")], used("05-15", "06-15"), on="05-20") == 4


# --- which lures were put out ---


def orchard() -> Orchard:
    made = Orchard()
    made.lot("L1", "CM", life_days=42)
    made.lot("L2", "CM", life_days=42)
    made.lot("O1", "OFM", life_days=42)
    return made


def uses_of(made: Orchard, *assemblies: Assembled) -> list[tuple[str, str, str]]:
    visits = made.history(date(2025, 12, 31)).visits
    found = lure_uses(made.programme, visits, assemblies).known
    return [(use.on.isoformat()[5:], use.trap, use.lot) for use in found]


def assembled(trap: str, on: str, lot: str, at: int = 0) -> Assembled:
    return Assembled(trap=trap, species="CM", assembled_on=day(on), lot=lot, recorded_at=AT + timedelta(seconds=at))


def test_a_lure_goes_out_when_a_trap_is_hung_and_when_a_visit_replaces_it() -> None:
    made = orchard()
    made.hang("A1", "A2", on="04-22", lot="L1")
    made.visit("A1", "06-03", 4, lure="L2")
    assert uses_of(made) == [("04-22", "A1", "L1"), ("04-22", "A2", "L1"), ("06-03", "A1", "L2")]


def test_yes_is_the_lot_of_the_traps_own_species_that_was_last_used_there() -> None:
    made = orchard()
    made.hang("A1", on="04-22", lot="L1")
    made.visit("A1", "05-06", 4, lure="O1")
    made.visit("A1", "05-13", 4, lure=YES)
    made.visit("A1", "06-03", 4, lure="L2")
    made.visit("A1", "07-15", 4, lure=YES)
    lots = [lot for _, _, lot in uses_of(made)]
    assert lots == ["L1", "O1", "L1", "L2", "L2"]


def test_taking_a_lure_out_uses_none() -> None:
    made = orchard()
    made.hang("A1", on="04-22", lot="L1")
    made.visit("A1", "06-03", 4, lure=NONE)
    assert uses_of(made) == [("04-22", "A1", "L1")]


def test_a_trap_put_together_and_then_hung_has_one_lure() -> None:
    """The lure left the store when it was put in, whether the register names its lot or not."""
    for lot in ("L1", ""):
        made = orchard()
        made.hang("A1", on="04-22", lot=lot)
        made.visit("A1", "06-03", 0, lure=YES)
        assert uses_of(made, assembled("A1", "04-01", "L1")) == [("04-01", "A1", "L1"), ("06-03", "A1", "L1")]


def test_a_trap_put_together_twice_with_the_same_lot_has_one_lure_and_with_another_lot_two() -> None:
    made = orchard()
    made.hang("A1", on="04-22", lot="L1")
    twice = [assembled("A1", "04-01", "L1"), assembled("A1", "04-08", "L1", at=1)]
    assert len(uses_of(made, *twice)) == 1
    other = [assembled("A1", "04-01", "L2"), assembled("A1", "04-08", "L1", at=1)]
    assert uses_of(made, *other) == [("04-01", "A1", "L2"), ("04-08", "A1", "L1")]


def test_a_trap_put_together_and_not_hung_has_its_lure_all_the_same() -> None:
    assert uses_of(orchard(), assembled("Z9", "04-01", "L1")) == [("04-01", "Z9", "L1")]


def test_a_trap_that_is_only_moved_keeps_its_lure() -> None:
    made = orchard()
    made.hang("A1", on="04-22", lot="L1", down="06-10")
    made.hang("A1", on="06-10", lot="L1", row="9")
    assert uses_of(made) == [("04-22", "A1", "L1")]


def test_a_trap_hung_again_next_season_takes_a_new_lure() -> None:
    made = orchard()
    made.hang("A1", on="2024-04-22", lot="L1", down="2024-09-30")
    made.hang("A1", on="2025-04-22", lot="L1")
    assert len(uses_of(made)) == 2


def test_two_people_who_tell_of_one_lure_use_one() -> None:
    """Both were at the trap, both wrote the lure down, one of them with its lot."""
    for words in permutations((YES, "L2")):
        made = orchard()
        made.hang("A1", on="04-22", lot="L1")
        for scout, lure in zip(("Ada", "Ben"), words, strict=True):
            made.visit("A1", "06-03", 4, lure=lure, scout=scout)
        assert uses_of(made) == [("04-22", "A1", "L1"), ("06-03", "A1", "L2")]


def test_a_lure_written_down_in_the_register_and_on_the_day_of_hanging_is_one() -> None:
    made = orchard()
    made.hang("A1", on="04-22", lot="L1")
    made.visit("A1", "04-22", lure=YES, liner=True)
    assert uses_of(made) == [("04-22", "A1", "L1")]


def test_a_lure_whose_lot_nobody_wrote_down_is_told_apart() -> None:
    made = orchard()
    made.hang("A1", on="04-22")
    made.visit("A1", "06-03", 4, lure=YES)
    found = lure_uses(made.programme, made.history(date(2025, 12, 31)).visits)
    assert (found.known, found.unknown) == ((), ((day("04-22"), "A1"), (day("06-03"), "A1")))


def test_a_trap_hung_without_a_day_gives_its_lot_to_a_later_yes() -> None:
    made = orchard()
    made.hang("A1", on=None, lot="L1")
    made.visit("A1", "06-03", 4, lure=YES)
    assert uses_of(made) == [("06-03", "A1", "L1")]


# --- property: whatever the order, no lure twice ---

_DAYS = st.integers(0, 12).map(lambda week: date(2025, 4, 1) + timedelta(days=7 * week))
_LURES = st.sampled_from((YES, NONE, "L1", "L2"))


@st.composite
def histories(draw: st.DrawFn) -> tuple[Programme, list[Visit], list[Assembled], list[Stocked]]:
    """One or two traps, put together, hung, moved and served in any way, and a store that was bought and counted."""
    traps: list[Trap] = []
    for label in ("A1", "A2"):
        days = sorted(draw(st.sets(_DAYS, min_size=0, max_size=2)))
        downs: list[date | None] = [*days[1:], None][: len(days)]
        gap = draw(st.integers(0, 3))
        for hung_on, down in zip(days, downs, strict=True):
            ends = down - timedelta(days=gap) if down is not None and down - timedelta(days=gap) > hung_on else down
            traps.append(
                Trap(label, "N", "CM", hung_on=hung_on, down_on=ends, lot=draw(st.sampled_from(("", "L1", "L2"))))
            )
    visits = [
        Visit(
            trap=draw(st.sampled_from(("A1", "A2"))),
            read_on=draw(_DAYS),
            lure=draw(_LURES),
            scout=draw(st.sampled_from(("Ada", "Ben"))),
            id=f"v{at}",
            recorded_at=AT + timedelta(seconds=at),
        )
        for at in range(draw(st.integers(0, 6)))
    ]
    put = [
        Assembled(
            trap=draw(st.sampled_from(("A1", "A2"))),
            species="CM",
            assembled_on=draw(_DAYS),
            lot=draw(st.sampled_from(("", "L1", "L2"))),
            id=f"a{at}",
            recorded_at=AT + timedelta(seconds=at),
        )
        for at in range(draw(st.integers(0, 3)))
    ]
    stocked = [
        Stocked(
            lot=draw(st.sampled_from(("L1", "L2"))),
            stocked_on=draw(_DAYS),
            kind=draw(st.sampled_from(StockKind)),
            number=draw(st.integers(0, 9)),
            id=f"s{at}",
            recorded_at=AT + timedelta(seconds=at),
        )
        for at in range(draw(st.integers(0, 5)))
    ]
    lots = {"L1": Lot("L1", "CM"), "L2": Lot("L2", "CM")}
    return Programme(traps=tuple(traps), lots=lots), visits, put, stocked


def by_trap(visits: Iterable[Visit]) -> dict[str, list[Visit]]:
    grouped: dict[str, list[Visit]] = {}
    for visit in visits:
        grouped.setdefault(visit.trap, []).append(visit)
    return grouped


@given(histories(), st.randoms(use_true_random=False))
def test_no_lure_is_counted_twice_whatever_the_order_of_entries(
    history: tuple[Programme, list[Visit], list[Assembled], list[Stocked]], chance: object
) -> None:
    known, visits, put, stocked = history
    first = lure_uses(known, by_trap(visits), put)
    held_first = {lot: held(lot, stocked, first.known, date(2025, 12, 31)) for lot in known.lots}
    for entries in (visits, put, stocked):
        chance.shuffle(entries)  # type: ignore[attr-defined]
    shuffled = Programme(traps=tuple(reversed(known.traps)), lots=known.lots)
    again = lure_uses(shuffled, by_trap(visits), put)
    assert again == first
    assert {lot: held(lot, stocked, again.known, date(2025, 12, 31)) for lot in known.lots} == held_first
    # One lure at most for each lot named for a trap on a day, however many entries name it.
    named = {(visit.trap, visit.read_on, visit.lure) for visit in visits if visit.lure not in (YES, NONE)}
    notified = {(visit.trap, visit.read_on) for visit in visits if visit.lure == YES}
    unnamed = notified - {(trap, on) for trap, on, _ in named}
    hung = {(row.trap, row.hung_on, row.lot) for row in known.traps if row.hung_on}
    assembled = {(one.trap, one.assembled_on, one.lot) for one in put if one.lot}
    assert len(set(first.known)) == len(first.known)
    assert len(first.known) + len(first.unknown) <= len(named | hung | assembled) + len(unnamed)
    # A trap put together with a lot and hung with the same is one lure, so hanging adds none of its own.
    for trap, on, lot in hung:
        before = [one for one in put if one.trap == trap and one.assembled_on <= on and one.lot]
        nothing_else = (
            not any(visit.trap == trap for visit in visits) and sum(row.trap == trap for row in known.traps) == 1
        )
        if len(before) == 1 and nothing_else and before[0].lot == lot:
            assert [use for use in first.known if use.trap == trap and use.on <= on] == [
                LureUse(before[0].assembled_on, trap, lot)
            ]
    told_twice = lure_uses(known, by_trap([*visits, *visits]), [*put, *put])
    assert told_twice == first


# --- entries ---


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (bought(0, "05-01"), "none were bought"),
        (counted(-1, "05-01"), "a number below zero"),
        (bought(3, "05-01", lot="NO"), "there is no such lot"),
    ],
)
def test_what_is_impossible_is_named(entry: Stocked, said: str) -> None:
    (problem,) = check_stock(entry, orchard().programme)
    assert said in str(problem)


def test_an_empty_store_can_be_counted() -> None:
    assert check_stock(counted(0, "05-01"), orchard().programme) == ()
