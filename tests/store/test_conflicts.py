"""What cannot both hold is listed side by side until a person says what does."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import NoReading, StageSeen, Visit
from roundtui.errors import RefusedError
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import programme, same_day
from roundtui.store.round.conflicts import ConflictKind, OpenConflict, open_conflicts, settle
from tests.conftest import NOW
from tests.store.laptops import ON, Laptops, rows_of, summary_of

ADA = Author("Ada", "laptop 0")
BO = Author("Bo", "laptop 1")
CY = Author("Cy", "desk")
HOUR = timedelta(hours=1)


@pytest.fixture
def two(tmp_path: Path) -> Iterator[Laptops]:
    with ExitStack() as stack:
        yield Laptops(tmp_path, [timedelta(), timedelta()], stack)


def visit(trap: str = "A1", **more: object) -> Visit:
    return Visit(**{"trap": trap, "read_on": ON, **more})  # type: ignore[arg-type]


def conflicts(conn: sqlite3.Connection) -> tuple[OpenConflict, ...]:
    return open_conflicts(conn, programme(conn))


def meet(two: Laptops) -> None:
    """Both laptops get to know what the other has."""
    for at in (0, 1):
        two.merge(1 - at, two.pack(at))
    assert rows_of(two.stores[0]) == rows_of(two.stores[1])
    assert conflicts(two.stores[0]) == conflicts(two.stores[1])


def shared(two: Laptops, entry: Visit) -> Visit:
    """An entry that both laptops have."""
    (recorded,) = record(two.stores[0], [entry], ADA, NOW)
    meet(two)
    assert conflicts(two.stores[0]) == ()
    return recorded


def test_two_scouts_counts_of_one_trap_and_day_are_shown_side_by_side(two: Laptops) -> None:
    (one,) = record(two.stores[0], [visit(count=4)], ADA, NOW)
    (other,) = record(two.stores[1], [visit(count=6)], BO, NOW + HOUR)
    meet(two)
    (found,) = conflicts(two.stores[0])
    assert (found.kinds, [row.entry for row in found.entries]) == ((ConflictKind.TWO_COUNTS,), [one, other])


def test_one_scouts_entries_of_two_laptops_are_a_conflict_whatever_they_say(two: Laptops) -> None:
    record(two.stores[0], [visit(count=4), visit("A2", no_reading=NoReading.DOWN)], ADA, NOW)
    record(two.stores[1], [visit(count=4), visit("A2", count=3)], Author("ada ", "laptop 1"), NOW)
    meet(two)
    kinds = {row.trap: found.kinds for found in conflicts(two.stores[0]) for row in found.entries}
    both = (ConflictKind.TWO_COUNTS, ConflictKind.ONE_SCOUT_TWICE)
    assert kinds == {"A1": both, "A2": (ConflictKind.ONE_SCOUT_TWICE,)}


def test_a_recount_is_no_second_count(two: Laptops) -> None:
    record(two.stores[0], [visit(count=4)], ADA, NOW)
    record(two.stores[1], [visit(count=5, recount=True)], BO, NOW)
    meet(two)
    assert conflicts(two.stores[0]) == ()


def test_two_corrections_of_one_entry_both_stand_and_put_the_figure_out(two: Laptops) -> None:
    first = shared(two, visit(count=4))
    (one,) = record(two.stores[0], [replace(first, count=14, replaces=first.id)], ADA, NOW + HOUR)
    (other,) = record(two.stores[1], [replace(first, count=40, replaces=first.id)], BO, NOW + HOUR)
    meet(two)
    (found,) = conflicts(two.stores[0])
    assert found.ids == (one.id, other.id)
    assert found.kinds == (ConflictKind.TWO_COUNTS, ConflictKind.TWO_CORRECTIONS)
    assert [v.count for v in same_day(two.stores[0], "A1", ON)] == [14, 40]
    (row,) = (row for row in summary_of(two.stores[0]).blocks if row.block == "N")
    assert (row.read, row.counted, row.mean_per_week) == (1, 0, None)


def test_corrections_that_moved_an_entry_to_two_traps_are_one_conflict(two: Laptops) -> None:
    """Each trap has one count, so nothing but the chain shows that a catch stands twice."""
    first = shared(two, visit(count=4))
    record(two.stores[0], [replace(first, trap="A2", replaces=first.id)], ADA, NOW + HOUR)
    record(two.stores[1], [replace(first, trap="A3", replaces=first.id)], BO, NOW + HOUR)
    meet(two)
    (found,) = conflicts(two.stores[0])
    assert (found.kinds, [row.trap for row in found.entries]) == ((ConflictKind.TWO_CORRECTIONS,), ["A2", "A3"])


def test_a_correction_of_what_was_withdrawn_elsewhere_is_a_conflict_until_looked_at(two: Laptops) -> None:
    first = shared(two, visit(count=4))
    (better,) = record(two.stores[0], [replace(first, count=14, replaces=first.id)], ADA, NOW + HOUR)
    withdraw(two.stores[1], first.id, "wrong sheet", BO, NOW + HOUR)
    meet(two)
    (found,) = conflicts(two.stores[1])
    assert (found.kinds, found.ids) == ((ConflictKind.CORRECTED_AND_WITHDRAWN,), (better.id,))
    settle(two.stores[1], found, 1, CY, NOW + 2 * HOUR)
    assert conflicts(two.stores[1]) == ()
    assert [v.count for v in same_day(two.stores[1], "A1", ON)] == [14]


def test_two_corrections_of_a_stage_are_a_conflict_too(two: Laptops) -> None:
    (first,) = record(two.stores[0], [StageSeen(block="N", seen_on=ON, code="57")], ADA, NOW)
    meet(two)
    for at, author, code in ((0, ADA, "59"), (1, BO, "65")):
        record(two.stores[at], [replace(first, code=code, replaces=first.id)], author, NOW + HOUR)
    meet(two)
    (found,) = conflicts(two.stores[0])
    assert [row.block for row in found.entries] == ["N", "N"]
    assert found.kinds == (ConflictKind.TWO_CORRECTIONS,)


def test_settling_says_who_and_travels(two: Laptops) -> None:
    record(two.stores[0], [visit(count=4, liner=True)], ADA, NOW)
    record(two.stores[1], [visit(count=6)], BO, NOW)
    meet(two)
    (found,) = conflicts(two.stores[0])
    done = settle(two.stores[0], found, 1, CY, NOW + HOUR)
    assert [(entry.scout, entry.reason) for entry in done] == [("Cy", "settled")] * 2
    meet(two)
    assert conflicts(two.stores[1]) == ()
    (standing,) = same_day(two.stores[1], "A1", ON)
    assert (standing.count, standing.liner, standing.scout) == (4, True, "Cy")
    assert summary_of(two.stores[1]).conflicts == ()


def test_settling_with_one_with_none_and_as_a_recount(two: Laptops) -> None:
    for trap in ("A1", "A2", "A3"):
        record(two.stores[0], [visit(trap, count=4)], ADA, NOW)
        record(two.stores[1], [visit(trap, count=6)], BO, NOW)
    meet(two)
    by_trap = {found.entries[0].trap: found for found in conflicts(two.stores[0])}
    settle(two.stores[0], by_trap["A1"], 2, CY, NOW)
    settle(two.stores[0], by_trap["A2"], None, CY, NOW)
    settle(two.stores[0], by_trap["A3"], 1, CY, NOW, recounts=True)
    assert conflicts(two.stores[0]) == ()
    standing = {trap: [(v.count, v.recount) for v in same_day(two.stores[0], trap, ON)] for trap in by_trap if trap}
    assert standing == {"A1": [(6, False)], "A2": [], "A3": [(4, False), (6, True)]}


def test_what_is_settled_two_ways_is_a_conflict_again_and_never_lost(two: Laptops) -> None:
    record(two.stores[0], [visit(count=4)], ADA, NOW)
    record(two.stores[1], [visit(count=6)], BO, NOW)
    meet(two)
    for at in (0, 1):
        (found,) = conflicts(two.stores[at])
        settle(two.stores[at], found, at + 1, CY, NOW + HOUR)
        assert conflicts(two.stores[at]) == ()
    meet(two)
    (found,) = conflicts(two.stores[0])
    assert sorted(v.count or 0 for v in same_day(two.stores[0], "A1", ON)) == [4, 6]
    assert set(found.kinds) >= {ConflictKind.TWO_COUNTS, ConflictKind.CORRECTED_AND_WITHDRAWN}


def test_settling_what_was_changed_meanwhile_changes_nothing(two: Laptops) -> None:
    record(two.stores[0], [visit(count=4)], ADA, NOW)
    record(two.stores[0], [visit(count=6)], BO, NOW)
    (found,) = conflicts(two.stores[0])
    withdraw(two.stores[0], found.ids[1], "misread", BO, NOW)
    before = rows_of(two.stores[0])
    with pytest.raises(RefusedError, match="corrected or withdrawn already"):
        settle(two.stores[0], found, 1, CY, NOW)
    assert rows_of(two.stores[0]) == before


def test_conflicts_since_a_day_come_newest_first(two: Laptops) -> None:
    for days in (21, 14, 0):
        on = ON - timedelta(days=days)
        record(two.stores[0], [visit(read_on=on, count=4)], ADA, NOW)
        record(two.stores[0], [visit(read_on=on, count=6)], BO, NOW)
    found = open_conflicts(two.stores[0], programme(two.stores[0]), ON - timedelta(days=14))
    assert [one.entries[0].read_on for one in found] == [ON, ON - timedelta(days=14)]
