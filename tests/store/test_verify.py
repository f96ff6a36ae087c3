"""Verify finds what should not be, and says what it looked at."""

from __future__ import annotations

import os
import re
import signal
import sqlite3
from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from threading import Timer
from typing import Any

import pytest

from roundtui.domain.entries import Notified, StageSeen, Visit
from roundtui.store.backup import copy_store
from roundtui.store.checks.verify import Check, check_against, verify
from roundtui.store.db import transaction
from roundtui.store.exchange.bundle import pack
from roundtui.store.record import lanes as ids
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.lanes import lane_names
from roundtui.store.record.rows import VISITS, digest_of
from tests.conftest import NOW

ADA = Author("Ada", "truck")
BO = Author("Bo", "desk")
ON = date(2026, 5, 20)
HOUR = timedelta(hours=1)


@pytest.fixture
def filled(store: sqlite3.Connection) -> sqlite3.Connection:
    first, second, _ = record(store, [Visit(trap=trap, read_on=ON, count=4) for trap in ("A1", "A2", "A3")], ADA, NOW)
    record(store, [Visit(trap="A1", read_on=ON, count=5, replaces=first.id, lure_found="OFM")], BO, NOW)
    record(store, [StageSeen(block="N", seen_on=ON, code="65")], ADA, NOW)
    notified = Notified(block="N", species="CM", round_on=ON, status="over", notified_on=ON, by="Bo", how="phone")
    record(store, [notified], BO, NOW)
    withdraw(store, second.id, "wrong sheet", BO, NOW)
    return store


def checks(conn: sqlite3.Connection) -> dict[str, Check]:
    return {check.what: check for check in verify(conn, "truck")}


def faults(conn: sqlite3.Connection) -> str:
    return "\n".join(fault for check in verify(conn, "truck") for fault in check.faults)


def test_a_sound_record_is_said_to_be_sound_with_how_much_was_looked_at(filled: sqlite3.Connection) -> None:
    found = checks(filled)
    assert faults(filled) == ""
    assert [remark for check in found.values() for remark in check.remarks] == []
    assert found["digests of entries"].looked_at == 7 + 13  # Rows of the set-up are entries too.
    assert found["present visits, worked out anew"].looked_at == 2
    assert found["clocks of the laptops"].looked_at == 3  # The third loaded the set-up.
    assert found["present set-up changes, worked out anew"].looked_at == 13
    assert found["pages of the file"].looked_at > 10


def test_a_long_check_says_how_far_it_has_come() -> None:
    check, told = Check("digests of entries"), list[Any]()
    for _ in range(2500):
        check.look(lambda *so_far: told.append(so_far), 2500)
    assert told == [("digests of entries", 1000, 2500), ("digests of entries", 2000, 2500)]


def test_ctrl_c_ends_a_statement_that_takes_long(filled: sqlite3.Connection) -> None:
    long = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) INSERT INTO settings SELECT i, i FROM n"
    # What a shell runs in the background is given a SIGINT that nobody hears.
    heard = signal.signal(signal.SIGINT, signal.default_int_handler)
    Timer(0.05, partial(os.kill, os.getpid(), signal.SIGINT)).start()
    try:
        with pytest.raises(KeyboardInterrupt), transaction(filled):
            filled.execute(long)
    finally:
        signal.signal(signal.SIGINT, heard)
    assert not filled.in_transaction
    assert faults(filled) == ""


def unguarded(*statements: str) -> Callable[[sqlite3.Connection], None]:
    """What somebody might do to the file with another program."""

    def meddle(conn: sqlite3.Connection) -> None:
        conn.execute("PRAGMA foreign_keys = OFF")
        for (trigger,) in conn.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%_no_%'"
        ).fetchall():
            conn.execute(f"DROP TRIGGER {trigger}")
        for statement in statements:
            conn.execute(statement)

    return meddle


@pytest.mark.parametrize(
    ("meddle", "fault"),
    [
        (unguarded("UPDATE visits SET count = 40 WHERE trap = 'A3'"), "is not what was recorded"),
        (unguarded("UPDATE withdrawals SET reason = 'x'"), "withdrawal .* is not what was recorded"),
        (unguarded("UPDATE visits SET digest = zeroblob(32)"), "visit .* is not what was recorded"),
        (unguarded("DELETE FROM visits WHERE trap = 'A2'"), "withdraws visit .*, which is not there"),
        (
            unguarded("DELETE FROM visits WHERE count = 4 AND trap = 'A1'"),
            "1 visit for entry .*, which is not there",
        ),
        (unguarded("DELETE FROM traps WHERE trap = 'A3'"), "1 visit for trap A3, which is not there"),
        (unguarded("DELETE FROM suspect_traps"), "trap A1 is not among them"),
        (unguarded("UPDATE stages SET id = (SELECT id FROM visits LIMIT 1)"), "is both a visit and a stage"),
        (
            unguarded(
                "DROP VIEW present_visits", "CREATE VIEW present_visits AS SELECT * FROM visits WHERE trap <> 'A3'"
            ),
            "visit .* stands and is not shown",
        ),
        (
            unguarded("DROP VIEW present_visits", "CREATE VIEW present_visits AS SELECT * FROM visits"),
            "visit .* is shown and does not stand",
        ),
        (
            unguarded("UPDATE visits SET replaces = id, reason = 'x' WHERE trap = 'A3'"),
            "visit .* corrects itself in a circle",
        ),
    ],
)
def test_what_should_not_be_is_found(
    filled: sqlite3.Connection, meddle: Callable[[sqlite3.Connection], None], fault: str
) -> None:
    meddle(filled)
    assert re.search(fault, faults(filled)), faults(filled)
    assert not filled.in_transaction


def test_a_damaged_file_is_found_before_anything_else(filled: sqlite3.Connection, folder: Path) -> None:
    filled.execute("PRAGMA writable_schema = ON")
    filled.execute("UPDATE sqlite_master SET sql = replace(sql, '(read_on)', '(scout)') WHERE name = 'visits_day'")
    filled.execute("PRAGMA writable_schema = OFF")
    other = sqlite3.connect(folder / "roundtui.db", isolation_level=None)
    try:
        (file,) = verify(other, "truck")
        assert file.faults
    finally:
        other.close()


def test_the_present_is_worked_out_from_the_journal_alone(filled: sqlite3.Connection) -> None:
    """A view that shows another count, what was corrected, or less than stands."""
    view = "DROP VIEW present_visits; CREATE VIEW present_visits AS SELECT * FROM visits WHERE {}"
    (good,) = [one for name, one in checks(filled).items() if name.startswith("present visits")]
    assert (good.looked_at, good.faults) == (2, [])
    for where, words in (("TRUE", "is shown and does not stand"), ("trap = 'A1'", "stands and is not shown")):
        filled.executescript(view.format(where))
        assert any(words in one for one in checks(filled)["present visits, worked out anew"].faults)


def test_a_clock_that_was_set_back_is_remarked_on(filled: sqlite3.Connection) -> None:
    """The battery of the truck's laptop died: the program started anew in the year 2020."""
    ids._last_ms = 0
    (entry,) = record(filled, [Visit(trap="A2", read_on=ON, count=1)], ADA, NOW.replace(year=2020))
    remarks = checks(filled)["clocks of the laptops"].remarks
    assert remarks == [
        f"the clock of truck ran backward once, by 2191 d 0 h at most, at 2020-05-20T16:30:00.000000Z ({entry.id})",
        f"1 visit on truck dated ahead of its clock ({entry.id})",
    ]
    assert faults(filled) == ""


def test_a_clock_set_back_while_the_program_ran_shows_in_the_ids_of_another_laptop(filled: sqlite3.Connection) -> None:
    record(filled, [Visit(trap="A2", read_on=ON, count=1)], BO, NOW + 5 * HOUR)
    (late,) = record(filled, [Visit(trap="A2", read_on=ON, count=1, recount=True)], BO, NOW + HOUR)
    record(filled, [Visit(trap="A2", read_on=ON, count=2, recount=True, replaces=late.id)], ADA, NOW)
    remarks = checks(filled)["clocks of the laptops"].remarks
    assert remarks == [
        f"the clock of desk ran backward once, by 4 h 0 min at most, at 2026-05-20T17:30:00.000000Z ({late.id})",
        "1 correction recorded before what was corrected, on truck",
    ]


def forged(conn: sqlite3.Connection, where: str, change: str) -> None:
    """Change one visit and make its digest anew, as somebody would who knows how."""
    unguarded(f"UPDATE visits SET {change} WHERE {where}")(conn)
    row = conn.execute(f"SELECT {VISITS.whole} FROM visits WHERE {where}").fetchone()
    digest = digest_of(VISITS, row, lane_names(conn)[row[-5]])
    conn.execute(f"UPDATE visits SET digest = ? WHERE {where}", (digest,))
    assert checks(conn)["digests of entries"].faults == []


def lane_faults(conn: sqlite3.Connection) -> list[str]:
    return checks(conn)["order of entries on each lane"].faults


@pytest.mark.parametrize(
    ("where", "missing"), [("count = 0", "4"), ("count = 1", "5"), ("count = 2", "6"), ("count <= 2", "4 to 6")]
)
def test_an_entry_that_was_deleted_leaves_a_hole_wherever_it_stood(
    filled: sqlite3.Connection, where: str, missing: str
) -> None:
    """A4 was read three times; the first, the middle, the newest of them, or all."""
    record(filled, [Visit(trap="A4", read_on=ON - n * 7 * 24 * HOUR, count=n) for n in range(3)], ADA, NOW)
    assert lane_faults(filled) == []
    first = filled.execute("SELECT min(no) FROM visits WHERE trap = 'A4'").fetchone()[0]
    unguarded(f"DELETE FROM visits WHERE trap = 'A4' AND {where}")(filled)
    (fault,) = lane_faults(filled)
    numbers = re.sub(r"\d", lambda found: str(int(found[0]) - 4 + first), missing)
    assert re.match(f"entries {numbers} of .* are missing", fault)


def test_a_count_made_smaller_with_its_digest_made_anew_does_not_fit_its_place(filled: sqlite3.Connection) -> None:
    forged(filled, "trap = 'A3'", "count = 1")
    (fault,) = lane_faults(filled)
    assert "does not follow what stands before it" in fault


def test_the_newest_entry_forged_is_not_the_one_that_was_recorded(filled: sqlite3.Connection) -> None:
    record(filled, [Visit(trap="A4", read_on=ON, count=30)], ADA, NOW)
    forged(filled, "trap = 'A4'", "count = 3")
    (fault,) = lane_faults(filled)
    assert "is not the one that was recorded there" in fault


@pytest.mark.parametrize(
    ("meddle", "fault"),
    [
        ("DROP TRIGGER visits_no_delete", "the trigger visits_no_delete is not there"),
        ("DROP VIEW present_parts", "the view present_parts is not there"),
        ("DROP INDEX visits_day", "the index visits_day is not there"),
        (
            "CREATE TRIGGER hush AFTER INSERT ON visits BEGIN DELETE FROM suspect_traps; END",
            "the trigger hush does not belong there",
        ),
    ],
)
def test_a_guard_that_was_taken_away_is_named(filled: sqlite3.Connection, meddle: str, fault: str) -> None:
    assert checks(filled)["tables, views and triggers"].looked_at > 60
    filled.execute(meddle)
    assert fault in faults(filled)


def test_a_record_is_held_against_yesterdays_backup_and_a_bundle(filled: sqlite3.Connection, tmp_path: Path) -> None:
    """Whoever rewrites the end of the record as well is found by any copy made before."""
    record(filled, [Visit(trap="A4", read_on=ON, count=30)], ADA, NOW)
    copies = tmp_path / "stick.db", tmp_path / "stick.bundle"
    copy_store(filled, copies[0])
    pack(filled, copies[1], "truck", NOW)
    record(filled, [Visit(trap="A2", read_on=ON, count=2, recount=True)], BO, NOW)
    for copy in (*copies, tmp_path):
        (found,) = check_against(filled, copy)
        assert (found.looked_at, found.faults) == (7 + 13 + 1, [])
    (entry,) = filled.execute("SELECT id FROM visits WHERE trap = 'A4'").fetchone()
    forged(filled, "trap = 'A4'", "count = 3")
    for copy in copies:
        (found,) = check_against(filled, copy)
        assert found.faults == [f"visit {entry} of Ada, 2026-05-20, says something else there than here"]
    filled.execute("DELETE FROM visits WHERE trap = 'A4'")
    for copy in copies:
        (found,) = check_against(filled, copy)
        assert found.faults == [f"visit {entry} of Ada, 2026-05-20, is there and not here"]


@pytest.mark.parametrize(
    "meddle",
    [
        "UPDATE traps SET block = 'S' WHERE trap = 'A1'",
        "UPDATE blocks SET disrupted = 1",
        "UPDATE lots SET species = 'OFM'",
        "DELETE FROM stops WHERE trap = 'A1'",
    ],
)
def test_a_row_of_the_set_up_that_nobody_entered_is_named(filled: sqlite3.Connection, meddle: str) -> None:
    before = {check.what: check.faults for check in verify(filled, "truck")}
    assert before["set-up rows, against their entries"] == []
    filled.execute(meddle)
    after = {check.what: check.faults for check in verify(filled, "truck")}
    assert any("is not as it was entered" in words for words in after["set-up rows, against their entries"])
