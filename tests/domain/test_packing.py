"""What is packed: for the season by the plan, for the next round by what falls due."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction

from roundtui.domain.entries import NONE, Stocked, StockKind
from roundtui.domain.inventory.packing import (
    Before,
    Packing,
    PackItem,
    PackLine,
    first_lures,
    places,
    round_packing,
    season_packing,
)
from roundtui.domain.inventory.plan import PastSeason, PlanRow, PlanState, SeasonPlan, Span
from roundtui.domain.inventory.plan_rules import Margins
from roundtui.domain.inventory.stock import LotStock, StoreRoom, lots_in_stock
from roundtui.domain.programme.farm import Lot, Programme, Stop, Trap
from roundtui.domain.programme.species import KILL_STRIP_DAYS, LINER_DAYS
from roundtui.domain.round.agenda import agenda, next_round
from tests.domain.orchard import Orchard, day

SPAN = Span(date(2026, 1, 1), date(2026, 12, 31), date(2026, 3, 1))
MARGINS = Margins()
LABELS = ("A1", "A2", "A3")


def row(hung: tuple[str, ...] = (), species: str = "CM", labels: tuple[str, ...] = LABELS, traps: int = 3) -> PlanRow:
    """Three traps, to hang by 20 April; last season they came down on 30 September."""
    return PlanRow(
        farm="N",
        block="N1",
        species=species,
        traps=traps,
        why="",
        past=PastSeason(season=2025, traps=labels, ended_on=date(2025, 9, 30)),
        advised=None,
        advice_source="",
        hung=hung,
        hung_on=None,
        hang_by=date(2026, 4, 20),
        decided_by=None,
        reasons=(),
        state=PlanState.LATER,
        days_left=None,
    )


def known(style: str = "delta", species: str = "CM", **lots: int) -> Programme:
    traps = tuple(
        Trap(label, "N1", species, style=style, hung_on=date(2025, 4, 22), down_on=date(2025, 9, 30))
        for label in LABELS
    )
    return Programme(traps=traps, lots={lot: Lot(lot, species, life_days=life) for lot, life in lots.items()})


def pack(
    programme: Programme,
    *rows: PlanRow,
    before: Before | None = None,
    entries: Sequence[Stocked] = (),
    bodies: dict[str, int] | None = None,
) -> tuple[dict[PackItem, PackLine], tuple[LotStock, ...]]:
    plan = SeasonPlan(2026, SPAN, rows, date(2026, 9, 30))
    found = places(plan, programme, before or Before(dict.fromkeys(LABELS, "L1")), MARGINS)
    lots = lots_in_stock(programme, entries, [], first_lures(found, programme), SPAN.on)
    lines = season_packing(found, lots, bodies or {}, MARGINS)
    return {line.item: line for line in lines}, lots


def counted(number: int, lot: str = "L1", on: date = date(2026, 2, 1)) -> Stocked:
    return Stocked(lot=lot, stocked_on=on, kind=StockKind.COUNTED, number=number)


# --- the season ---


def test_a_season_of_three_traps() -> None:
    """20 April to 30 September, 163 days. A lure lasts 42: days 0, 42, 84, 126, four a trap. A liner lasts 30: six."""
    lines, _ = pack(known(L1=42), row(), entries=[counted(10)])
    assert {item: line.needed for item, line in lines.items()} == {
        PackItem.BODY: 4,
        PackItem.LURE: 12,
        PackItem.LINER: 18,
        PackItem.TAPE: 6,
    }
    assert LINER_DAYS == 30
    lure = lines[PackItem.LURE]
    assert (lure.detail, lure.in_store, lure.to_buy) == ("L1", 10, 2)
    assert lines[PackItem.BODY].words == "3 to hang, 1 spare"


def test_what_was_never_counted_is_not_to_be_bought_and_not_there() -> None:
    lines, _ = pack(known(L1=42), row())
    assert (lines[PackItem.LURE].in_store, lines[PackItem.LURE].to_buy) == (None, None)
    assert (lines[PackItem.BODY].in_store, lines[PackItem.BODY].to_buy) == (None, None)


def test_bodies_in_store_are_those_of_the_species() -> None:
    """A body belongs to one species for life: ten for oriental fruit moth are none for codling moth."""
    lines, _ = pack(known(L1=42), row(), bodies={"OFM": 10, "CM": 3})
    assert (lines[PackItem.BODY].in_store, lines[PackItem.BODY].to_buy) == (3, 1)


def test_a_trap_that_catches_much_wants_liners_as_last_season() -> None:
    lines, _ = pack(known(L1=42), row(), before=Before(dict.fromkeys(LABELS, "L1"), {"A1": 9}))
    assert lines[PackItem.LINER].needed == 10 + 6 + 6


def test_a_trap_put_together_has_its_body_and_its_lure() -> None:
    before = Before(dict.fromkeys(LABELS, "L1"), {}, {"A1": "L1", "A2": ""})
    lines, _ = pack(known(L1=42), row(), before=before)
    assert lines[PackItem.BODY].traps == ("A3",)
    assert lines[PackItem.LURE].needed == 11


def test_a_bucket_wants_kill_strips_and_no_liner() -> None:
    lines, _ = pack(known("bucket", "DWB", L1=56), row(species="DWB"))
    assert KILL_STRIP_DAYS == 120
    assert lines[PackItem.KILL_STRIP].needed == 6
    assert PackItem.LINER not in lines


def test_a_trap_that_hangs_wants_no_body_and_no_tape() -> None:
    lines, _ = pack(known(L1=42), row(hung=LABELS))
    assert set(lines) == {PackItem.LINER}


def test_traps_that_have_no_label_yet_are_packed_for_all_the_same() -> None:
    lines, lots = pack(known(L1=42), row(traps=5))
    assert lines[PackItem.BODY].words == "5 to hang, 1 spare"
    assert lots[0].needed == 20


# --- the next round ---


def round_of(orchard: Orchard, on: str, *entries: Stocked) -> dict[tuple[PackItem, str], PackLine]:
    return {(line.item, line.species): line for line in packed(orchard, on, *entries).lines}


def packed(orchard: Orchard, on: str, *entries: Stocked) -> Packing:
    orchard.stops = [Stop("home", at, trap) for at, trap in enumerate(dict.fromkeys(t.trap for t in orchard.traps))]
    programme, history = orchard.programme, orchard.history(day(on))
    return round_packing(programme, history, "home", day(on), season=2026, store=StoreRoom(entries), margins=MARGINS)


def three_traps() -> Orchard:
    made = Orchard()
    made.lot("L1", "CM", life_days=42)
    made.hang("A1", "A2", "A3", on="04-22", lot="L1", style="delta")
    return made


def read_all(made: Orchard, on: str, *counts: int) -> None:
    for trap, count in zip(LABELS, counts, strict=True):
        made.visit(trap, on, count)


def test_a_round_comes_sooner_where_a_trap_is_due_sooner() -> None:
    """Every three days for Taiwan (quarantine requirements, 16 January 2012): the route's week is not waited for."""
    orchard = Orchard()
    orchard.hang("A1", "A2", on="05-01")
    orchard.route("home", "A1", "A2")
    for trap in ("A1", "A2"):
        orchard.visit(trap, "05-08", 0)
    history = orchard.history(day("05-09"))
    asked = {"A1": day("05-11"), "B9": day("05-10")}
    assert next_round(orchard.programme, history, "home", day("05-09")) == day("05-15")
    assert next_round(orchard.programme, history, "home", day("05-09"), asked) == day("05-11")
    assert next_round(orchard.programme, history, "home", day("05-13"), asked) == day("05-13"), "late is today"
    item = agenda(orchard.programme, history, day("05-09"), due=asked)[0]
    assert item.words[-1] == "Visit by 2025-05-11: A1"


def test_the_next_round_is_a_week_after_the_last_and_takes_what_falls_due_by_then() -> None:
    """Lures of 22 April last until 3 June: the round of 27 May takes them along, a week early."""
    made = three_traps()
    read_all(made, "05-20", 0, 0, 0)
    found = packed(made, "05-21")
    assert (found.on, found.traps) == (day("05-27"), LABELS)
    lines = round_of(made, "05-21")
    lure = lines[PackItem.LURE, "CM"]
    assert (lure.needed, lure.detail, lure.traps, lure.in_store) == (3, "L1", LABELS, None)
    assert lines[PackItem.LINER, ""].words == "3 due"


def test_a_liner_that_is_likely_to_be_full_by_then_is_taken_along() -> None:
    """22 moths in the week to 29 April: with as many until 6 May it holds 44, over 30. The others are not near."""
    made = three_traps()
    read_all(made, "04-29", 22, 0, 3)
    liner = round_of(made, "04-30")[PackItem.LINER, ""]
    assert (liner.traps, liner.words) == (("A1",), "1 likely full by then")


def test_a_missing_trap_is_packed_whole() -> None:
    made = three_traps()
    read_all(made, "04-29", 0, 0, 0)
    made.visit("A1", "05-06", 0)
    made.visit("A2", "05-06", no="missing")
    made.visit("A3", "05-06", 0)
    lines = round_of(made, "05-07", Stocked(lot="L1", stocked_on=day("05-01"), kind=StockKind.COUNTED, number=0))
    assert lines[PackItem.BODY, "CM"].words == "1 to hang again, 1 spare"
    assert lines[PackItem.LURE, "CM"].traps == ("A2",)
    assert (lines[PackItem.LURE, "CM"].in_store, lines[PackItem.LURE, "CM"].to_buy) == (0, 1)
    assert lines[PackItem.LINER, ""].traps == ("A2",)
    assert lines[PackItem.TAPE, ""].words == "for A2"


def test_a_trap_found_missing_that_got_a_new_body_on_the_visit_is_there_again() -> None:
    made = three_traps()
    made.visit("A2", "05-06", no="missing", body="yes", lure="L1")
    assert round_of(made, "05-07")[PackItem.BODY, "CM"].traps == ()


def test_a_trap_without_a_lure_gets_one() -> None:
    made = three_traps()
    read_all(made, "04-29", 0, 0, 0)
    made.visit("A3", "04-29", lure=NONE)
    assert round_of(made, "04-30")[PackItem.LURE, "CM"].traps == ("A3",)


def test_a_lure_of_which_no_lot_is_set_up_is_packed_by_its_species() -> None:
    made = Orchard()
    made.hang("A1", on="04-22", style="delta")
    made.visit("A1", "05-20", 0)
    lure = round_of(made, "05-21")[PackItem.LURE, "CM"]
    assert (lure.needed, lure.detail, lure.words) == (1, "", "no lot of the species is set up")


def test_a_route_on_which_nothing_hangs_has_no_round() -> None:
    made = Orchard()
    made.hang("A1", on="04-22", down="05-01")
    assert packed(made, "05-21") == Packing(2026, route="home")


def test_an_office_that_wants_no_spares_packs_none() -> None:
    made = three_traps()
    made.stops = [Stop("home", 1, "A1")]
    none = Margins(spare_share=Fraction(0), tapes_per_trap=0)
    found = round_packing(
        made.programme, made.history(day("04-23")), "home", day("04-23"), season=2026, store=StoreRoom(), margins=none
    )
    assert found.lines == ()
