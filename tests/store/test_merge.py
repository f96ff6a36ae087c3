"""Several laptops, one record: whatever order bundles come in, and however often."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import TreatmentSaid, Visit
from roundtui.errors import StoreError
from roundtui.store.checks.verify import verify
from roundtui.store.db import transaction
from roundtui.store.exchange import reading
from roundtui.store.exchange.bundle import Since
from roundtui.store.exchange.lines import BundleError
from roundtui.store.exchange.merge import in_a_circle, merge
from roundtui.store.exchange.reading import add, ids_held, tables
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.lanes import own_lane
from roundtui.store.record.read import journal_rows, programme, same_day
from roundtui.store.record.rows import TAIL, VISITS
from roundtui.store.round.conflicts import open_conflicts
from tests.conftest import NOW
from tests.store.changes import RegisterChange, changes
from tests.store.laptops import ON, Laptops, rows_of, summary_of

ADA = Author("Ada", "laptop 0")
BO = Author("Bo", "laptop 1")
HOUR = timedelta(hours=1)


@pytest.fixture
def two(tmp_path: Path) -> Iterator[Laptops]:
    with ExitStack() as stack:
        yield Laptops(tmp_path, [timedelta(), timedelta()], stack)


@settings(max_examples=6, deadline=None)
@given(data=st.data(), laptops=st.integers(2, 5))
def test_merging_is_commutative_associative_and_idempotent(data: st.DataObject, laptops: int) -> None:
    """Laptops with clocks days apart enter, correct and withdraw, and now and then merge what another has."""
    skews = data.draw(st.lists(st.integers(-12, 12), min_size=laptops, max_size=laptops))
    talks = st.tuples(st.integers(0, laptops - 1), st.integers(0, laptops - 1), st.booleans())
    story = data.draw(st.lists(st.one_of(changes(laptops), changes(laptops), talks), min_size=3, max_size=25))
    with TemporaryDirectory() as scratch, ExitStack() as stack:
        there = Laptops(Path(scratch), [timedelta(days=days) for days in skews], stack)
        parts: list[Path] = []
        for change in story:
            if isinstance(change, RegisterChange):
                there.do(change)
            else:
                giver, taker, all_of_it = change
                known = sorted(rows_of(there.stores[giver]))
                mark = None if all_of_it or not known else Since(entry=known[len(known) // 2])
                parts.append(there.pack(giver, mark))
                there.merge(taker, parts[-1])
        wholes = [there.pack(at) for at in range(laptops)]
        expected, summary = rows_of(there.all_seeing), summary_of(there.all_seeing)
        conflicts = [one.ids for one in open_conflicts(there.all_seeing, programme(there.all_seeing))]
        for at in range(laptops):
            order = data.draw(st.permutations([*wholes, *parts, *wholes[:1]]))
            if at % 2:
                there.merge(at, *order)
            else:
                for bundle in order:
                    there.merge(at, bundle)
        # Grouped otherwise: a laptop that knows nothing, given what two others packed after merging.
        there.stores.append(there.open("late"))
        there.merge(-1, there.pack(laptops - 1), there.pack(0))
        for conn in (*there.stores[:laptops], there.stores[-1]):
            assert rows_of(conn) == expected
            assert summary_of(conn) == summary
            assert [one.ids for one in open_conflicts(conn, programme(conn))] == conflicts
            assert [fault for check in verify(conn, "laptop 0") for fault in check.faults] == []
        assert there.merge(0, *wholes).new == 0


def entered(conn: sqlite3.Connection) -> set[str]:
    """Ids of all entries but those of the set-up, which each laptop has of its own files."""
    return set(rows_of(conn)) - {row[0] for row in conn.execute("SELECT id FROM set_up_changes")}


def test_a_bundle_since_a_mark_holds_what_its_entries_refer_to(two: Laptops) -> None:
    """The correction and the withdrawal are new, what they are about is not; either bundle may come first."""
    first, second = record(two.stores[0], [Visit(trap=trap, read_on=ON, count=4) for trap in ("A1", "A2")], ADA, NOW)
    (other,) = record(two.stores[0], [Visit(trap="A3", read_on=ON, count=1)], ADA, NOW)
    (better,) = record(two.stores[0], [replace(first, count=5, replaces=first.id)], ADA, NOW)
    mark = Since(entry=better.id)
    (best,) = record(two.stores[0], [replace(better, count=6, replaces=better.id)], ADA, NOW + HOUR)
    undone = withdraw(two.stores[0], second.id, "wrong sheet", ADA, NOW + HOUR)
    report = two.merge(1, two.pack(0, mark))
    assert entered(two.stores[1]) == {first.id, better.id, best.id, second.id, undone.id}
    assert (report.new, report.known) == (5, 13)
    assert {kind: n for kind, n in two.merge(1, two.pack(0)).added.items() if n} == {"visit": 1}
    assert other.id in rows_of(two.stores[1])


def test_a_bundle_since_an_instant_holds_what_was_recorded_from_then_on(two: Laptops) -> None:
    record(two.stores[0], [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    (later,) = record(two.stores[0], [Visit(trap="A2", read_on=ON, count=4)], ADA, NOW + HOUR)
    two.merge(1, two.pack(0, Since(at=NOW + HOUR)))
    assert entered(two.stores[1]) == {later.id}


def test_what_was_written_after_a_mark_is_packed_though_the_clock_was_set_back(two: Laptops) -> None:
    (mark,) = record(two.stores[0], [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    from roundtui.store.record import lanes as ids

    ids._last_ms = 0
    (later,) = record(two.stores[0], [Visit(trap="A2", read_on=ON, count=4)], ADA, NOW - 24 * HOUR)
    assert later.id < mark.id
    two.merge(1, two.pack(0, Since(entry=mark.id)))
    assert entered(two.stores[1]) == {later.id}


def test_a_note_of_ten_thousand_letters_and_four_hundred_of_them_arrive(two: Laptops) -> None:
    """They pack so tightly that they are put in unpacked, lest they be taken for a bomb."""
    notes = ["[/bold]\u202e\x07=1+1" + "x" * 19_900] * 450
    record(two.stores[0], [Visit(trap="A1", read_on=ON, count=4, note=note, recount=True) for note in notes], ADA, NOW)
    bundle = two.pack(0)
    assert bundle.stat().st_size > 8_000_000
    two.merge(1, bundle)
    assert rows_of(two.stores[1]) == rows_of(two.stores[0])


def test_a_replay_shows_where_each_entry_was_made(two: Laptops) -> None:
    (entry,) = record(two.stores[0], [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    two.merge(1, two.pack(0))
    (row,) = journal_rows(two.stores[1], ON, ON)
    assert row.entry == entry
    assert row.entry.device == "laptop 0"


def test_two_scouts_at_one_trap_stay_two_readings(two: Laptops) -> None:
    record(two.stores[0], [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    record(two.stores[1], [Visit(trap="A1", read_on=ON, count=6)], BO, NOW)
    two.merge(1, two.pack(0))
    assert [visit.count for visit in same_day(two.stores[1], "A1", ON)] == [4, 6]
    (conflict,) = summary_of(two.stores[1]).conflicts
    assert conflict.counts == (("Ada", 4), ("Bo", 6))


def test_bundles_are_not_merged_in_the_middle_of_something_else(two: Laptops) -> None:
    bundle = two.pack(0)
    with transaction(two.stores[1]), pytest.raises(StoreError, match="in the middle"):
        two.merge(1, bundle)


def test_a_laptop_goes_on_in_its_lane_after_a_merge(two: Laptops) -> None:
    record(two.stores[1], [Visit(trap="A1", read_on=ON, count=4)], BO, NOW)
    lane = own_lane(two.stores[1])
    two.merge(1, two.pack(0))
    assert own_lane(two.stores[1]) == lane


def test_a_store_put_back_as_it_was_before_its_first_entry_does_not_go_on_in_its_lane(two: Laptops) -> None:
    with closing(sqlite3.connect(two.root / "kept")) as kept:
        two.stores[0].backup(kept)
        record(two.stores[0], [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
        bundle, lane = two.pack(0), own_lane(two.stores[0]).name
        kept.backup(two.stores[0])
    two.merge(0, bundle)
    assert own_lane(two.stores[0]).name != lane


def test_of_many_traps_that_are_not_here_five_are_named(two: Laptops) -> None:
    """And of a label that long as much as a line bears: thirty characters."""
    labels = ["Z" * 31, "Z" * 30, *"EDCB"]
    record(two.stores[0], [Visit(trap=label, read_on=ON, count=4) for label in labels], ADA, NOW)
    with pytest.raises(BundleError, match=f"there is no trap B, C, D, E, {'Z' * 30} and 1 more here"):
        two.merge(1, two.pack(0))
    record(two.stores[1], [Visit(trap=labels[0], read_on=ON, count=4)], BO, NOW)
    with pytest.raises(BundleError, match=f"there is no trap {'Z' * 29}… here"):
        two.merge(0, two.pack(1))


def test_a_correction_that_cannot_be_is_refused_like_an_entry(two: Laptops) -> None:
    said = TreatmentSaid(block="N", species="CM", treated_on=ON)
    (entry,) = record(two.stores[0], [said], ADA, NOW)
    record(two.stores[0], [replace(said, species="QQ", replaces=entry.id, reason="misheard")], ADA, NOW + HOUR)
    with pytest.raises(BundleError, match="QQ"):
        two.merge(1, two.pack(0))


def test_a_merge_says_which_entries_the_bundles_hold(two: Laptops) -> None:
    record(two.stores[0], [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    record(two.stores[1], [Visit(trap="A2", read_on=ON, count=2)], BO, NOW)
    there = ids_held(two.stores[0])
    assert merge(two.stores[1], [two.pack(0)]).holds == there


def test_a_circle_of_corrections_is_found_wherever_it_stands() -> None:
    assert in_a_circle({"b": "a", "c": "b", "d": "b"}) is None
    assert in_a_circle({"b": "a", "c": "d", "d": "c"}) in {"c", "d"}


def test_progress_is_told_bundle_by_bundle(two: Laptops) -> None:
    visits = [Visit(trap="A1", read_on=ON, count=4, recount=True) for _ in range(2500)]
    record(two.stores[0], visits, ADA, NOW)
    notified: list[tuple[str, int, int]] = []
    merge(two.stores[1], [two.pack(0)], lambda *far: notified.append(far))
    assert notified == [("1.bundle", done, 2513) for done in (1000, 2000, 2513)]


def test_reading_that_is_stopped_ends_as_what_stopped_it(two: Laptops, monkeypatch: pytest.MonkeyPatch) -> None:
    """A statement that writes takes its transaction with it where it is stopped."""
    conn, stops = two.stores[0], [1]
    add_to = reading._add

    def stopped(*asked: Any) -> None:
        conn.set_progress_handler(lambda: stops.pop() if stops else 0, 1)
        add_to(*asked)

    monkeypatch.setattr(reading, "_add", stopped)
    with tables(conn), pytest.raises(sqlite3.OperationalError, match="interrupted"):
        add(conn, [(VISITS, ("lane",) * len((*VISITS.columns, *TAIL)))])
    assert not conn.in_transaction
