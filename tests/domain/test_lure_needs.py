"""Lures that will be wanted, laid against the lots in stock: what runs out, and what expires."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from roundtui.domain.entries import NONE, Stocked, StockKind
from roundtui.domain.inventory.stock import (
    NEXT_ROUNDS_DAYS,
    LotState,
    LotStock,
    LureUse,
    Want,
    held,
    lots_in_stock,
    lure_uses,
    wants,
)
from roundtui.domain.programme.farm import Programme
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


# --- what will be wanted ---


def stock_on(made: Orchard, entries: Iterable[Stocked], on: str, until: str = "09-30") -> dict[str, LotStock]:
    history = made.history(day(on))
    uses = lure_uses(made.programme, history.visits).known
    wanted = wants(made.programme, history.last_service, day(on), day(until))
    return {row.lot: row for row in lots_in_stock(made.programme, list(entries), uses, wanted, day(on))}


def three_traps() -> Orchard:
    made = Orchard()
    made.lot("L1", "CM", life_days=42)
    made.hang("A1", "A2", "A3", on="04-22", lot="L1")
    return made


def test_a_trap_wants_a_lure_each_time_its_life_is_over_until_the_season_ends() -> None:
    """Hung 22 April, 42 days a lure: 3 June, 15 July and 26 August; on 7 October the trap is down."""
    made = three_traps()
    wanted = wants(made.programme, {}, day("05-01"), day("09-30"))
    assert [want.on for want in wanted if want.trap == "A1"] == [day("06-03"), day("07-15"), day("08-26")]


def test_a_lure_overdue_is_wanted_today_and_one_spent_on_the_last_day_not_at_all() -> None:
    made = three_traps()
    wanted = wants(made.programme, {}, day("06-10"), day("07-22"))
    assert [want.on for want in wanted if want.trap == "A1"] == [day("06-10")]


def test_a_lot_runs_out_on_the_day_on_which_one_is_wanted_and_none_is_left() -> None:
    """9 wanted until September. 8 bought, 3 hung: 5 left. Three go on 3 June; on 15 July one is missing."""
    row = stock_on(three_traps(), [bought(8, "04-01")], "05-10")["L1"]
    assert (row.held.left, row.needed, row.needed_next) == (5, 9, 3)
    assert (row.state, row.runs_out_on) == (LotState.SHORT, day("07-15"))
    assert (row.warned, row.soon) == (True, False)
    later = stock_on(three_traps(), [bought(9, "04-01")], "05-10", until="08-26")["L1"]
    assert (later.state, later.runs_out_on, later.warned) == (LotState.ENOUGH, None, False)


def test_a_lot_that_runs_out_within_four_rounds_is_warned_of_soon() -> None:
    row = stock_on(three_traps(), [bought(4, "04-01")], "05-10")["L1"]
    assert (row.held.left, row.runs_out_on, row.soon) == (1, day("06-03"), True)
    assert (day("06-03") - day("05-10")).days <= NEXT_ROUNDS_DAYS


def test_a_lot_never_counted_is_never_said_to_run_out() -> None:
    row = stock_on(three_traps(), [], "05-10")["L1"]
    assert (row.state, row.held.left, row.needed, row.runs_out_on, row.warned) == (
        LotState.NOT_COUNTED,
        None,
        9,
        None,
        False,
    )


def test_the_next_lot_of_the_species_and_load_takes_over_from_one_that_expires() -> None:
    made = three_traps()
    made.lot("L1", "CM", life_days=42, expires_on=day("06-30"), load_mg=1)
    made.lot("L2", "CM", life_days=42, expires_on=day("12-31"), load_mg=1)
    made.lot("X", "CM", life_days=63, expires_on=day("11-30"), load_mg=10)
    rows = stock_on(made, [counted(20, "05-01"), counted(20, "05-01", lot="L2"), counted(9, "05-01", lot="X")], "05-10")
    assert {lot: row.needed for lot, row in rows.items()} == {"L1": 3, "L2": 6, "X": 0}
    assert rows["L1"].state is LotState.EXPIRES
    assert rows["L2"].state is LotState.ENOUGH


def test_a_lot_expired_in_use_with_no_other_is_warned_of() -> None:
    made = three_traps()
    made.lot("L1", "CM", life_days=42, expires_on=day("05-01"))
    row = stock_on(made, [counted(20, "04-25")], "05-10")["L1"]
    assert (row.state, row.needed, row.warned) == (LotState.EXPIRED, 9, True)


def test_an_expired_lot_that_nobody_has_or_wants_is_not_listed() -> None:
    made = three_traps()
    made.lot("OLD", "CM", expires_on=date(2024, 12, 31))
    assert set(stock_on(made, [], "05-10")) == {"L1"}


def test_a_trap_without_a_lure_wants_one_at_once() -> None:
    made = three_traps()
    made.visit("A1", "05-06", 3, lure=NONE)
    wanted = wants(made.programme, made.history(day("05-10")).last_service, day("05-10"), day("09-30"))
    assert next(want.on for want in wanted if want.trap == "A1") == day("05-10")


def test_a_want_without_any_lot_stands_in_no_lot() -> None:
    known = Programme()
    assert lots_in_stock(known, [], [], [Want(day("05-01"), "A1", "CM", "")], day("05-01")) == ()
