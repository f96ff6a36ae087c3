"""The record as it stood earlier, and a round replayed step by step."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import Visit, Withdrawal
from roundtui.domain.figures.rules import SHIPPED_RULES, Office
from roundtui.domain.figures.summary import summarise
from roundtui.domain.figures.verdicts import Summary
from roundtui.errors import RoundtuiError
from roundtui.store.connect import open_store
from roundtui.store.figures.history import history
from roundtui.store.folder import open_folder
from roundtui.store.record.chains import Mark, as_recorded, mark_after, parse_instant
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import JournalRow, journal_rows, newest_read_on, programme, same_day
from tests.conftest import NOW, write_folder
from tests.store.changes import RegisterChange, changes, do
from tests.store.laptops import add_row, rows_of

ADA = Author("Ada", "truck")
BO = Author("Bo", "desk")
OFFICE = Office(rules=SHIPPED_RULES)
ON = date(2026, 5, 20)
HOUR = timedelta(hours=1)


def shown_after(conn: sqlite3.Connection, row: JournalRow, look: Callable[[], object]) -> object:
    """What a look at the record showed just after an entry."""
    with as_recorded(conn, mark_after(row)):
        return look()


def summary_of(conn: sqlite3.Connection, on: date = ON) -> Summary:
    known = programme(conn)
    return summarise(known, history(conn, known, on, OFFICE), OFFICE, on)


def test_the_past_shows_what_was_on_record_then(store: sqlite3.Connection) -> None:
    (first,) = record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    record(store, [Visit(trap="A1", read_on=ON, count=40, replaces=first.id, reason="a digit short")], BO, NOW + HOUR)
    (wrong,) = record(store, [Visit(trap="A2", read_on=ON, count=7)], ADA, NOW + 2 * HOUR)
    withdraw(store, wrong.id, "wrong sheet", BO, NOW + 3 * HOUR)

    def counts_at(at: datetime) -> list[list[int | None]]:
        with as_recorded(store, Mark(at)):
            return [[visit.count for visit in same_day(store, trap, ON)] for trap in ("A1", "A2")]

    assert counts_at(NOW - HOUR) == [[], []]
    assert counts_at(NOW) == [[4], []]
    assert counts_at(NOW + HOUR) == [[40], []]
    assert counts_at(NOW + 2.5 * HOUR) == [[40], [7]]
    assert counts_at(NOW + 3 * HOUR) == [[40], []]


def test_the_present_is_back_afterwards_whatever_happened(store: sqlite3.Connection) -> None:
    record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)

    def fail() -> None:
        with as_recorded(store, Mark(NOW)):
            for _ in store.execute("SELECT * FROM present_visits"):
                raise KeyError("a screen failed half way")

    with pytest.raises(KeyError):
        fail()
    with as_recorded(store, Mark(NOW - HOUR)):
        assert newest_read_on(store) is None
    assert newest_read_on(store) == ON
    record(store, [Visit(trap="A2", read_on=ON, count=4)], ADA, NOW)


def test_nothing_is_written_while_the_past_is_read(store: sqlite3.Connection) -> None:
    with as_recorded(store, Mark(NOW)), pytest.raises(RoundtuiError):
        record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    assert newest_read_on(store) is None


def test_one_past_at_a_time(store: sqlite3.Connection) -> None:
    record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    with as_recorded(store, Mark(NOW - HOUR)):
        with pytest.raises(ValueError, match="one past at a time"), as_recorded(store, Mark(NOW)):
            pass
        assert newest_read_on(store) is None


def test_entries_of_one_instant_come_one_at_a_time_in_a_replay(store: sqlite3.Connection) -> None:
    record(store, [Visit(trap=trap, read_on=ON, count=4) for trap in ("A1", "A2", "A3")], ADA, NOW)
    rows = journal_rows(store, ON, ON)
    read = [
        shown_after(store, row, lambda: store.execute("SELECT count(*) FROM present_visits").fetchone()[0])
        for row in rows
    ]
    assert read == [1, 2, 3]


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("2026-05-20T18:30Z", datetime(2026, 5, 20, 18, 30, tzinfo=UTC)),
        ("2026-05-20 18:30:05.25+02:00", datetime(2026, 5, 20, 16, 30, 5, 250000, tzinfo=UTC)),
        ("2026-05-20T18:30", datetime(2026, 5, 20, 18, 30).astimezone()),
    ],
)
def test_an_instant_has_a_zone_or_that_of_the_computer(text: str, at: datetime) -> None:
    assert parse_instant(text) == at


@pytest.mark.parametrize("text", ["yesterday", "2026-05-20", "", "2026-13-01T10:00", "18:30", "0001-01-01T00:00"])
def test_what_is_no_instant_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(RoundtuiError, match="is no instant") as caught:
        parse_instant(text)
    assert "2026-05-01T18:30" in caught.value.hint


def test_what_was_replaced_seasons_ago_is_read_as_it_stood_too(tmp_path: Path) -> None:
    """The newest change of a lure or liner before the season is sought in an index of its own."""
    traps = "trap,block,species,style,hung_on\nA1,N,CM,delta,2024-04-20\n"
    folder = write_folder(tmp_path / "farm", traps=traps, routes="route,position,trap\nhome,1,A1\n")
    with closing(open_folder(folder, now=NOW).conn) as conn:
        old = Visit(trap="A1", read_on=date(2024, 6, 1), count=9, lure="CM26")
        later = [Visit(trap="A1", read_on=date(2025, month, 1), count=2) for month in (5, 6, 7, 8, 9)]
        first, *_ = record(conn, [old, *later], ADA, NOW)
        record(conn, [replace(first, lure=None, replaces=first.id, reason="no lure was put in")], BO, NOW + HOUR)

        def lure_put_in() -> date | None:
            service = history(conn, programme(conn), ON, OFFICE).last_service.get("A1", {})
            return service["lure"].read_on if "lure" in service else None

        assert lure_put_in() is None
        with as_recorded(conn, Mark(NOW)):
            assert lure_put_in() == old.read_on


@contextmanager
def only(folder: Path, kept: set[str]) -> Iterator[sqlite3.Connection]:
    """A store to which only some of the entries of another were ever added."""
    with TemporaryDirectory() as scratch:
        other = write_folder(Path(scratch) / "farm")
        shutil.copy(folder / "farms.csv", other)
        with (
            closing(open_store(folder, now=NOW)) as whole,
            closing(open_folder(other, now=NOW).conn) as conn,
        ):
            conn.execute("PRAGMA foreign_keys = OFF")
            for entry_id, row in rows_of(whole).items():
                if entry_id in kept:
                    add_row(conn, row)
            yield conn


@settings(max_examples=10, deadline=None)
@given(story=st.lists(changes(), min_size=1, max_size=8))
def test_any_step_of_a_replay_is_the_summary_of_the_entries_up_to_it(story: list[RegisterChange]) -> None:
    with TemporaryDirectory() as scratch:
        folder = write_folder(Path(scratch) / "farm")
        with closing(open_folder(folder, now=NOW).conn) as conn:
            loaded = set(rows_of(conn))  # The rows of the set-up files: entries of no round.
            for change in story:
                do(conn, change)
            rows = journal_rows(conn, date(2026, 4, 1), date(2026, 6, 30))
            assert {row.id for row in rows} == set(rows_of(conn)) - loaded
            present = summary_of(conn)
            for at, row in enumerate(rows, 1):
                with only(folder, {row.id for row in rows[:at]}) as other:
                    assert shown_after(conn, row, lambda: summary_of(conn)) == summary_of(other)
            if rows:
                assert shown_after(conn, rows[-1], lambda: summary_of(conn)) == present
                withdrawn = [row.entry.entry for row in rows if isinstance(row.entry, Withdrawal)]
                assert len(withdrawn) == len(set(withdrawn))
