"""Lures in stock from the record: corrections and withdrawals put lures back, an older visit tells of which lot."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import YES, Assembled, Stocked, StockKind, Visit
from roundtui.domain.figures.rules import Office
from roundtui.store.figures.summary import summary_of
from roundtui.store.folder import open_folder
from roundtui.store.inventory import PlanRecord, lots_to_watch, season_ends_on, store_room, uses_since
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import programme
from tests.conftest import MakeFolder

ADA = Author("Ada", "truck")
COUNTED = date(2026, 5, 1)


def put(store: sqlite3.Connection, now: datetime, *visits: Visit) -> tuple[Visit, ...]:
    return record(store, list(visits), ADA, now)


def count(store: sqlite3.Connection, now: datetime, number: int, lot: str = "CM26") -> None:
    record(store, [Stocked(lot=lot, stocked_on=COUNTED, kind=StockKind.COUNTED, number=number)], ADA, now)


def left(store: sqlite3.Connection, folder: Path, on: date = date(2026, 12, 31)) -> int | None:
    plan = PlanRecord(store, folder, on, Office())
    return {lot.lot: lot.held.left for lot in plan.lots}["CM26"]


def test_a_visit_corrected_or_withdrawn_puts_its_lure_back(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    count(store, now, 9)
    one, two = put(
        store,
        now,
        Visit(trap="A1", read_on=date(2026, 5, 12), count=0, lure="CM26"),
        Visit(trap="A2", read_on=date(2026, 5, 12), count=0, lure="CM26"),
    )
    assert left(store, folder) == 7
    put(store, now, Visit(trap="A1", read_on=date(2026, 5, 12), count=0, replaces=one.id, reason="no lure put in"))
    assert left(store, folder) == 8
    withdraw(store, two.id, "wrong trap", ADA, now)
    assert left(store, folder) == 9


def test_a_count_that_is_corrected_counts_once(store: sqlite3.Connection, folder: Path, now: datetime) -> None:
    first = Stocked(lot="CM26", stocked_on=COUNTED, kind=StockKind.BOUGHT, number=90)
    (kept,) = record(store, [first], ADA, now)
    right = Stocked(
        lot="CM26", stocked_on=COUNTED, kind=StockKind.BOUGHT, number=9, replaces=kept.id, reason="a zero too many"
    )
    record(store, [right], ADA, now + timedelta(seconds=1))
    assert left(store, folder) == 9


def test_yes_is_of_the_lot_that_an_older_visit_named(store: sqlite3.Connection, folder: Path, now: datetime) -> None:
    """The lot was named a year before the store was counted, and the register has none."""
    put(
        store,
        now,
        Visit(trap="A1", read_on=date(2026, 4, 28), count=0, lure="CM26"),
        Visit(trap="A1", read_on=date(2026, 5, 19), count=0, lure=YES),
    )
    count(store, now, 9)
    found = uses_since(store, programme(store), COUNTED, date(2026, 12, 31))
    assert [(use.on, use.lot) for use in found.known if use.on > COUNTED] == [(date(2026, 5, 19), "CM26")]
    assert store_room(store, programme(store), date(2026, 12, 31)).uses == found.known
    assert left(store, folder) == 8


def test_what_is_entered_for_a_later_day_is_not_looked_at(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    count(store, now, 9)
    put(store, now, Visit(trap="A1", read_on=date(2026, 6, 9), count=0, lure="CM26"))
    assert (left(store, folder, date(2026, 6, 8)), left(store, folder, date(2026, 6, 9))) == (9, 8)


def test_a_trap_assembled_and_not_hung_wants_no_second_lure(make_folder: MakeFolder, now: datetime) -> None:
    """Two traps came down in September; one is assembled in February, so its first lure is in it already."""
    traps = "trap,block,species,style,hung_on,down_on,lot\n" + "".join(
        f"{trap},N,CM,delta,2026-04-20,2026-09-28,CM26\n" for trap in ("A1", "A2")
    )
    folder, on = make_folder("down", traps=traps, routes=None), date(2027, 3, 1)
    with closing(open_folder(folder, now=now).conn) as conn:
        count(conn, now, 9)
        before = {lot.lot: lot for lot in PlanRecord(conn, folder, on, Office()).lots}["CM26"]
        made = Assembled(trap="A1", species="CM", assembled_on=date(2027, 2, 20), lot="CM26", body_label="B1")
        record(conn, [made], ADA, now)
        after = {lot.lot: lot for lot in PlanRecord(conn, folder, on, Office()).lots}["CM26"]
    assert before.held.left is not None
    assert (after.held.left, after.needed) == (before.held.left - 1, before.needed - 1)


@pytest.mark.parametrize(
    ("traps", "ends"),
    [
        ("trap,block,species,hung_on,down_on\nA1,N,CM,2025-04-20,2025-09-28\n", date(2026, 9, 28)),
        ("trap,block,species,hung_on,down_on\nA1,N,CM,2026-04-20,\n", None),
    ],
)
def test_a_season_ends_as_the_one_before(make_folder: MakeFolder, now: datetime, traps: str, ends: date | None) -> None:
    folder = make_folder("other", traps=traps, routes=None)
    with closing(open_folder(folder, now=now).conn) as conn:
        assert season_ends_on(conn, date(2026, 5, 20), Office()) == ends


def test_a_summary_names_lots_only_where_somebody_keeps_the_store(store: sqlite3.Connection, now: datetime) -> None:
    """Three traps of 20 April want a lure of 42 days on 1 June, within four weeks of 20 May; one is there."""
    on = date(2026, 5, 20)
    made = summary_of(store, Office(), on)
    assert made.observations.lots == ()
    put(store, now, *(Visit(trap=trap, read_on=date(2026, 4, 27), count=0, lure="CM26") for trap in ("A1", "A2", "A3")))
    count(store, now, 1)
    made = summary_of(store, Office(), on)
    (lot,) = made.observations.lots
    assert (lot.lot, lot.runs_out_on, lot.soon, lot.needed) == ("CM26", date(2026, 6, 8), True, 3)
    assert lots_to_watch(store, made.programme, made.history, on, Office()) == (lot,)
    assert made.observations.within({"N"}, {"A1"}).lots == (lot,)
    assert made.observations.within({"S"}, {"A4"}).lots == ()
