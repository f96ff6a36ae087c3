"""What the rounds taught, as it is kept: renewed by what writes, worked out in memory by what only reads."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import Visit
from roundtui.domain.figures.learned import Learned, week_of
from roundtui.domain.figures.rules import SHIPPED_RULES, Office
from roundtui.store.connect import open_store
from roundtui.store.figures.learned import learned_by, renew
from roundtui.store.figures.summary import summary_of
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import programme, setting
from roundtui.store.set_up.load import load_folder
from tests.conftest import write_folder

ADA = Author("Ada", "laptop")
OFFICE = Office(rules=SHIPPED_RULES)
FIRST = date(2026, 5, 6)
WEEKS = 6
LAST = FIRST + timedelta(days=7 * (WEEKS - 1))
TRAPS = "trap,block,species,style,hung_on\n" + "".join(
    f"T{block}{trap},B{block},CM,delta,2026-04-29\n" for block in range(4) for trap in range(3)
)
BLOCKS = "block,farm,name,crop\n" + "".join(f"B{block},HF,B{block},apple\n" for block in range(4))


def counts(week: int, first: date = FIRST) -> list[Visit]:
    on = first + timedelta(days=7 * week)
    return [
        Visit(trap=f"T{block}{trap}", read_on=on, count=(7 * week + 5 * block + 3 * trap) % 11)
        for block in range(4)
        for trap in range(3)
    ]


@pytest.fixture
def store(tmp_path: Path, now: datetime) -> Iterator[sqlite3.Connection]:
    folder = write_folder(tmp_path / "farm", traps=TRAPS, blocks=BLOCKS, routes=None)
    with closing(open_store(folder, now=now)) as conn:
        load_folder(conn, folder, now)
        for week in range(WEEKS):
            record(conn, counts(week), ADA, now)
        yield conn


def old_store(folder: Path, now: datetime, *years: int) -> sqlite3.Connection:
    """The same programme with rounds in May and June of some years, kept after each; the caller closes it."""
    write_folder(folder, traps=TRAPS.replace("2026-04-29", f"{years[0]}-04-29"), blocks=BLOCKS, routes=None)
    conn = open_store(folder, now=now)
    load_folder(conn, folder, now)
    for year in years:
        record(conn, [one for at in range(WEEKS) for one in counts(at, FIRST.replace(year=year))], ADA, now)
        keep(conn)
    return conn


def learned(conn: sqlite3.Connection, on: date = LAST) -> Learned:
    found = learned_by(conn, programme(conn), OFFICE, on)(week_of(on))["CM"]
    # The counts behind the marks are read only where more weeks follow.
    return replace(found, past=replace(found.past, kept={}))


def keep(conn: sqlite3.Connection) -> None:
    renew(conn, OFFICE)


def afresh(conn: sqlite3.Connection, on: date = LAST) -> Learned:
    """As worked out with nothing kept."""
    conn.execute("DELETE FROM settings WHERE key = 'learned'")
    return learned(conn, on)


def test_what_is_kept_is_what_is_worked_out_to_the_last_digit(store: sqlite3.Connection) -> None:
    before = learned(store)
    assert before.whole.groups == 4 * (WEEKS - 1)
    keep(store)
    assert learned(store) == before == afresh(store)


def test_a_command_that_reads_writes_nothing(store: sqlite3.Connection) -> None:
    learned(store)
    assert setting(store, "learned") is None


def test_a_round_more_is_learned_from_where_the_last_one_ended(store: sqlite3.Connection, now: datetime) -> None:
    keep(store)
    later = LAST + timedelta(days=7)
    record(store, counts(WEEKS), ADA, now)
    found = learned(store, later)
    keep(store)
    assert learned(store, later) == found == afresh(store, later)


def test_a_correction_of_an_earlier_week_changes_what_is_learned_since(
    store: sqlite3.Connection, now: datetime
) -> None:
    keep(store)
    before = learned(store)
    (wrong,) = record(store, [Visit(trap="T01", read_on=FIRST + timedelta(days=6), count=9)], ADA, now)
    added = learned(store)
    assert added != before
    withdraw(store, wrong.id, "wrong block's sheet", ADA, now)
    assert learned(store) == before
    keep(store)
    assert learned(store) == before == afresh(store)


def test_a_lure_found_wrong_takes_its_weeks_out_of_all_that_was_learned(
    store: sqlite3.Connection, now: datetime
) -> None:
    keep(store)
    before = learned(store)
    record(store, [Visit(trap="T00", read_on=LAST, count=None, lure_found="OFM")], ADA, now)
    found = learned(store)
    assert found.whole.scatter != before.whole.scatter
    assert found == afresh(store)


def test_a_block_that_is_disrupted_after_all_teaches_nothing(
    store: sqlite3.Connection, tmp_path: Path, now: datetime
) -> None:
    keep(store)
    disrupted = BLOCKS.replace("crop\n", "crop,disrupted\n").replace("apple\n", "apple,no\n", 3) + ""
    disrupted = disrupted.removesuffix("apple\n") + "apple,yes\n"
    folder = write_folder(tmp_path / "farm", traps=TRAPS, blocks=disrupted, routes=None)
    load_folder(store, folder, now)
    assert learned(store).whole.groups == 3 * (WEEKS - 1)


def test_a_trap_hung_in_mid_season_leaves_what_was_learned_before_it(
    store: sqlite3.Connection, tmp_path: Path, now: datetime
) -> None:
    keep(store)
    until = json.loads(setting(store, "learned") or "")["until"]
    assert until == week_of(LAST)
    day = FIRST + timedelta(days=19)
    moved = f"{TRAPS}T00,B3,CM,delta,{day}\n"  # Its counts since are of another block.
    load_folder(store, write_folder(tmp_path / "farm", traps=moved, blocks=BLOCKS, routes=None), now)
    assert json.loads(setting(store, "learned") or "")["until"] == week_of(day) < until
    found = learned(store)
    keep(store)
    assert learned(store) == found == afresh(store)
    keep(store)
    undated = f"{TRAPS}T99,B3,CM,delta,\n"
    load_folder(store, write_folder(tmp_path / "farm", traps=undated, blocks=BLOCKS, routes=None), now)
    assert json.loads(setting(store, "learned") or "")["until"] == 0


def test_an_earlier_day_knows_nothing_of_later_rounds(store: sqlite3.Connection) -> None:
    on = LAST - timedelta(days=14)
    keep(store)
    assert learned(store, on) == afresh(store, on)
    assert learned(store, on).whole.groups == 4 * (WEEKS - 3)


def test_every_eighth_week_of_the_season_is_kept_for_summaries_of_older_days(store: sqlite3.Connection) -> None:
    keep(store)
    eighth = [row[0] for row in store.execute("SELECT DISTINCT week FROM rounds_taught WHERE week % 8 = 0")]
    assert any(FIRST < date.fromordinal(week * 7 + 1) < LAST for week in eighth)
    for week in range(1, WEEKS):
        on = FIRST + timedelta(days=7 * week)
        store.execute("BEGIN")
        assert learned(store, on) == afresh(store, on)
        store.execute("ROLLBACK")


def test_a_day_of_an_earlier_season_goes_on_from_what_was_kept_of_that_season(tmp_path: Path, now: datetime) -> None:
    days = [LAST, LAST.replace(year=2025), date(2025, 5, 25), LAST.replace(year=2024)]
    with closing(old_store(tmp_path / "farm", now, 2024, 2025, 2026)) as conn:
        asked: list[str] = []
        conn.set_trace_callback(asked.append)
        lived = [learned(conn, on) for on in days]
        assert not any("FROM present_visits" in sql for sql in asked)
        assert [afresh(conn, on) for on in days] == lived
        for _ in range(3):  # One season more each time, where nothing is kept of any.
            renew(conn, OFFICE, past=True)
        asked.clear()
        assert [learned(conn, on) for on in days] == lived
        assert not any("FROM present_visits" in sql for sql in asked)


def test_an_entry_of_an_earlier_season_changes_what_was_kept_since(tmp_path: Path, now: datetime) -> None:
    with closing(old_store(tmp_path / "farm", now, 2024, 2025, 2026)) as conn:
        days = [LAST, LAST.replace(year=2025), LAST.replace(year=2024)]
        before = [learned(conn, on) for on in days]
        record(conn, [Visit(trap="T01", read_on=date(2025, 5, 12), count=9)], ADA, now)
        found = [learned(conn, on) for on in days]
        renew(conn, OFFICE, past=True)
        assert [one == two for one, two in zip(before, found, strict=True)] == [False, False, True]
        assert [learned(conn, on) for on in days] == found == [afresh(conn, on) for on in days]


def test_years_without_a_round_leave_nothing_out(tmp_path: Path, now: datetime) -> None:
    on = LAST.replace(year=2021)
    with closing(old_store(tmp_path / "farm", now, 2021, 2026)) as conn:
        for _ in range(2):
            renew(conn, OFFICE, past=True)
        found = [learned(conn, day) for day in (on, on + timedelta(days=28), LAST)]
        assert found == [afresh(conn, day) for day in (on, on + timedelta(days=28), LAST)]


def test_a_later_week_goes_on_from_an_earlier_one_that_was_just_worked_out(store: sqlite3.Connection) -> None:
    both = learned_by(store, programme(store), OFFICE, LAST)
    earlier, later = both(week_of(LAST) - 1), both(week_of(LAST))
    assert later == learned_by(store, programme(store), OFFICE, LAST)(week_of(LAST))
    assert later["CM"].whole.groups > earlier["CM"].whole.groups


def test_the_summary_says_how_sure_it_is_from_twenty_figures_on(store: sqlite3.Connection) -> None:
    early = summary_of(store, OFFICE, FIRST + timedelta(days=7)).summary
    assert all(row.sure is None for row in early.blocks)
    late = summary_of(store, OFFICE, LAST).summary
    assert all(row.sure is not None for row in late.blocks)
    keep(store)
    assert summary_of(store, OFFICE, LAST).summary == late


def test_a_route_is_as_sure_as_the_whole_programme(tmp_path: Path, now: datetime) -> None:
    routes = "route,position,trap\n" + "".join(f"hill,{at},T0{at}\n" for at in range(3))
    folder = write_folder(tmp_path / "farm", traps=TRAPS, blocks=BLOCKS, routes=routes)
    with closing(open_store(folder, now=now)) as conn:
        load_folder(conn, folder, now)
        for week in range(WEEKS):
            record(conn, counts(week), ADA, now)
        (row,) = summary_of(conn, OFFICE, LAST, route="hill").summary.blocks
        assert row in summary_of(conn, OFFICE, LAST).summary.blocks
