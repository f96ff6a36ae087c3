"""Entries go on record whole, at once and for good."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest

from roundtui.domain.entries import NONE, YES, NoReading, Notified, StageSeen, Visit
from roundtui.errors import RefusedError
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME, transaction
from roundtui.store.record.journal import UNSAID, Author, record, record_rows, withdraw
from roundtui.store.record.lanes import new_id
from roundtui.store.record.read import journal_rows, newest_read_on, same_day, visits_of
from roundtui.store.record.rows import VISITS

ADA = Author("Ada", "truck")
BO = Author("Bo", "desk")
DAY = date(2026, 5, 20)


def visit(trap: str = "A1", on: date = DAY, **more: object) -> Visit:
    return Visit(trap=trap, read_on=on, **more)  # type: ignore[arg-type]


def test_an_entry_comes_back_as_it_was_with_who_when_and_where(store: sqlite3.Connection, now: datetime) -> None:
    full = visit(
        count=12,
        cleared=False,
        liner=True,
        lure="CM26",
        kill_strip=True,
        body="D 17",
        note="half under leaves [/] \u202e",
        others=3,
        estimated=True,
        lure_found=NONE,
        recount=True,
    )
    sanitize = visit("A2", no_reading=NoReading.DAMAGED, lure=YES)
    recorded = record(store, [full, sanitize], ADA, now)
    assert same_day(store, "A1", DAY) == (recorded[0],)
    assert same_day(store, "A2", DAY) == (recorded[1],)
    assert [(v.scout, v.device, v.recorded_at) for v in recorded] == [("Ada", "truck", now)] * 2


def test_what_was_recorded_is_there_for_another_process(store: sqlite3.Connection, folder: Path, now: datetime) -> None:
    record(store, [visit(count=0)], ADA, now)
    other = sqlite3.connect(f"file:{folder / DB_NAME}?mode=ro", uri=True)
    try:
        assert other.execute("SELECT trap, count FROM visits").fetchall() == [("A1", 0)]
    finally:
        other.close()


def test_all_entries_of_one_call_or_none(store: sqlite3.Connection, now: datetime) -> None:
    with pytest.raises(RefusedError, match="was refused"):
        record(store, [visit(count=1), visit("A2", count=10_000)], ADA, now)
    assert newest_read_on(store) is None


def test_a_correction_stands_and_the_first_entry_stays_on_record(store: sqlite3.Connection, now: datetime) -> None:
    (first,) = record(store, [visit(count=4)], ADA, now)
    (second,) = record(store, [visit(count=14, replaces=first.id, reason="typed 4")], BO, now + timedelta(hours=1))
    (third,) = record(store, [visit(count=15, replaces=second.id)], ADA, now + timedelta(hours=2))
    assert same_day(store, "A1", DAY) == (third,)
    assert [(row.entry, row.present) for row in journal_rows(store, DAY, DAY)] == [
        (first, False),
        (second, False),
        (third, True),
    ]
    assert third.reason == UNSAID


def test_an_entry_is_corrected_only_once(store: sqlite3.Connection, now: datetime) -> None:
    (first,) = record(store, [visit(count=4)], ADA, now)
    record(store, [visit(count=14, replaces=first.id)], ADA, now)
    with pytest.raises(RefusedError, match="corrected or withdrawn already"):
        record(store, [visit(count=40, replaces=first.id)], BO, now)
    with pytest.raises(RefusedError, match="is not on record"):
        record(store, [visit(count=40, replaces=new_id(now))], BO, now)


def test_an_entry_withdrawn_is_gone_from_the_present_only(store: sqlite3.Connection, now: datetime) -> None:
    (entry,) = record(store, [visit(count=4)], ADA, now)
    withdrawn = withdraw(store, entry.id, "wrong sheet", BO, now)
    assert same_day(store, "A1", DAY) == ()
    rows = journal_rows(store, DAY, DAY)
    assert [(row.kind, row.present, row.trap) for row in rows] == [("visit", False, "A1"), ("withdrawal", True, "A1")]
    assert rows[1].entry == withdrawn
    with pytest.raises(RefusedError, match="withdrawn already"):
        withdraw(store, entry.id, "again", BO, now)
    with pytest.raises(RefusedError, match="there is no entry"):
        withdraw(store, "nothing", "why not", BO, now)
    with pytest.raises(RefusedError, match="needs a reason"):
        withdraw(store, entry.id, " ", BO, now)


def test_stages_and_tellings_are_entries_too(store: sqlite3.Connection, now: datetime) -> None:
    seen = StageSeen(block="N", seen_on=DAY, code="65", unchanged=True)
    notified = Notified(block="N", species="CM", round_on=DAY, status="over", notified_on=DAY, by="Bo", how="phone")
    recorded = record(store, [seen, notified], ADA, now)
    assert [(row.kind, row.block, row.entry) for row in journal_rows(store, DAY, DAY)] == [
        ("stage", "N", recorded[0]),
        ("notified", "N", recorded[1]),
    ]


def test_a_replay_of_a_route_has_the_corrections_that_moved_entries_in_and_out(
    store: sqlite3.Connection, now: datetime
) -> None:
    (wrong,) = record(store, [visit("A4", count=4)], ADA, now)
    (righted,) = record(store, [visit("A1", DAY - timedelta(days=30), count=4, replaces=wrong.id)], ADA, now)
    record(store, [visit("A3", count=1)], ADA, now)
    assert [row.id for row in journal_rows(store, DAY, DAY, {"A4"}, set())] == [wrong.id, righted.id]
    assert [row.id for row in journal_rows(store, DAY, DAY, {"A1"}, set())] == [wrong.id, righted.id]
    assert len(journal_rows(store, DAY, DAY)) == 3


@pytest.mark.parametrize("table", ["visits", "stages", "notifications", "withdrawals"])
def test_no_entry_is_ever_changed_or_erased(store: sqlite3.Connection, folder: Path, now: datetime, table: str) -> None:
    entries = record(
        store,
        [
            visit(count=4),
            StageSeen(block="N", seen_on=DAY, code="65"),
            Notified(block="N", species="CM", round_on=DAY, status="over", notified_on=DAY, by="Bo", how="phone"),
        ],
        ADA,
        now,
    )
    withdraw(store, entries[0].id, "wrong", ADA, now)
    for statement in (
        f"UPDATE {table} SET scout = 'Eve'",
        f"DELETE FROM {table}",
        f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
    ):
        with (
            closing(open_store(folder, now=now)) as conn,
            pytest.raises(sqlite3.IntegrityError, match="never changed or erased"),
        ):
            conn.execute(statement)


@pytest.mark.parametrize(
    "wrong",
    [
        {"count": 10_000},
        {"count": -1},
        {"count": 4, "no_reading": NoReading.DOWN},
        {"no_reading": NoReading.OTHER},
        {"estimated": True, "liner": True},
        {"recount": True, "liner": True},
        {"note": "a note alone"},
        {"count": 4, "others": 10_000},
        {"count": 4, "lure": ""},
        {"count": 4, "trap": ""},
    ],
)
def test_the_tables_know_the_limits_of_the_domain(
    store: sqlite3.Connection, now: datetime, wrong: dict[str, object]
) -> None:
    with pytest.raises(RefusedError):
        record(store, [Visit(**{"trap": "A1", "read_on": DAY, **wrong})], ADA, now)  # type: ignore[arg-type]
    assert store.execute("SELECT count(*) FROM visits").fetchone() == (0,)


def test_nobody_enters_without_a_name(store: sqlite3.Connection, now: datetime) -> None:
    with pytest.raises(RefusedError, match="name of its scout"):
        record(store, [visit(count=1)], Author("  ", "truck"), now)


def test_visits_of_a_span_come_in_order(store: sqlite3.Connection, now: datetime) -> None:
    days = [DAY - timedelta(days=n) for n in (0, 14, 7)]
    record(store, [visit(on=day, count=1) for day in days], ADA, now)
    found = visits_of(store, "A1", DAY - timedelta(days=7), DAY)
    assert [v.read_on for v in found] == [DAY - timedelta(days=7), DAY]


def test_ids_are_universal_and_in_the_order_of_time() -> None:
    now = datetime(2026, 5, 20, tzinfo=UTC)
    ids = [new_id(now) for _ in range(2000)] + [new_id(now - timedelta(days=1))]
    assert ids == sorted(set(ids))
    assert {UUID(one).version for one in ids} == {7}
    assert {UUID(one).variant for one in ids} == {"specified in RFC 4122"}


def test_a_transaction_inside_another_can_fail_alone(store: sqlite3.Connection, now: datetime) -> None:
    with transaction(store):
        record(store, [visit(count=1)], ADA, now)
        with pytest.raises(RefusedError):
            record(store, [visit("A2", count=2), visit("A3", count=-1)], ADA, now)
        record(store, [visit("A4", count=4)], ADA, now)
    assert [row.trap for row in journal_rows(store, DAY, DAY)] == ["A1", "A4"]


def test_a_transaction_that_fails_leaves_nothing(store: sqlite3.Connection, now: datetime) -> None:
    def fail() -> None:
        with transaction(store):
            record(store, [visit(count=1)], ADA, now)
            raise KeyError("the caller failed")

    with pytest.raises(KeyError):
        fail()
    assert journal_rows(store, DAY, DAY) == ()
    assert not store.in_transaction


def test_every_commit_is_written_through(folder: Path, now: datetime) -> None:
    conn = open_store(folder, now=now)
    try:
        assert conn.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert conn.execute("PRAGMA synchronous").fetchone() == (2,)
        assert conn.execute("PRAGMA foreign_keys").fetchone() == (1,)
    finally:
        conn.close()


def test_many_rows_are_one_change_and_leave_the_table_as_it_was(
    store: sqlite3.Connection, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where indexes are made anew, an interruption at any thousand leaves nothing behind, and none of them is lost.

    The traps that are suspect since are found all the same: here one was left without a lure.
    """
    monkeypatch.setattr("roundtui.store.record.journal.AT_ONCE", 4)
    monkeypatch.setattr("roundtui.store.record.journal._ANEW_FROM", 8)
    tables = "SELECT type, name, sql FROM sqlite_master ORDER BY name"
    before = store.execute(tables).fetchall()
    lures = [None] * 9 + [NONE]
    rows = [VISITS.own_values(visit(on=DAY - timedelta(days=at), count=at, lure=lure)) for at, lure in enumerate(lures)]
    for stop in (4, 8, 10):
        taken: list[object] = []

        def take(recorded: Sequence[object], stop: int = stop, taken: list[object] = taken) -> None:
            taken += recorded
            if len(taken) >= stop:
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            record_rows(store, VISITS, rows, ADA, now, number=len(rows), take=take)
        assert store.execute("SELECT count(*) FROM visits").fetchone() == (0,)
        assert store.execute(tables).fetchall() == before
    record_rows(store, VISITS, rows, ADA, now, number=len(rows))
    assert [one.count for one in visits_of(store, "A1", date.min, DAY)] == list(reversed(range(10)))
    assert store.execute(tables).fetchall() == before
    assert store.execute("SELECT trap FROM suspect_traps").fetchall() == [("A1",)]
    assert store.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    with pytest.raises(RefusedError, match="20001 characters"):
        record_rows(store, VISITS, [VISITS.own_values(visit(note="x" * 20_001, count=1))], ADA, now)
