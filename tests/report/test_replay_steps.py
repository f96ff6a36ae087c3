"""What stands out in a round as it was recorded, and what stood after each entry."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime, timedelta

from roundtui.domain.entries import NoReading, StageSeen, Visit
from roundtui.domain.round.recounts import QuestionWord
from roundtui.report.round.replay import Remark, ReplayStep, standing, steps, talk_about
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import JournalRow, journal_rows
from roundtui.store.round.recounts import say_about

ON = date(2026, 5, 20)
NINE = datetime(2026, 5, 20, 9, tzinfo=UTC)
ADA, BO = Author("Ada", "truck"), Author("Bo", "van")
ROUTE = ("A1", "A2", "A3", "A4")


def put(store: sqlite3.Connection, minutes: float, author: Author = ADA, **said: object) -> Visit:
    """An entry so many minutes after nine."""
    visit = Visit(**{"read_on": ON, **said})  # type: ignore[arg-type]
    return record(store, [visit], author, NINE + timedelta(minutes=minutes))[0]


def rows(store: sqlite3.Connection) -> tuple[JournalRow, ...]:
    return journal_rows(store, ON, ON)


def replayed(store: sqlite3.Connection) -> list[ReplayStep]:
    return list(steps(rows(store), ROUTE, lambda at: at.astimezone(UTC)))


def remarks(store: sqlite3.Connection) -> list[list[str]]:
    return [list(step.remarks.values()) for step in replayed(store)]


def test_a_round_walked_as_planned_has_nothing_to_remark(store: sqlite3.Connection) -> None:
    record(store, [StageSeen(block="N", seen_on=ON, code="65")], ADA, NINE)
    for at, trap in enumerate(ROUTE):
        put(store, 1 + at, trap=trap, count=at)
    assert remarks(store) == [[]] * 5
    assert [step.gap for step in replayed(store)] == [None, *[timedelta(minutes=1)] * 4]
    assert [step.said for step in replayed(store)] == ["stage 65", "0", "1", "2", "3"]


def test_a_trap_passed_over_and_the_way_back_to_it_stand_out(store: sqlite3.Connection) -> None:
    for at, trap in enumerate(("A1", "A3", "A2", "A4")):
        put(store, at, trap=trap, count=0)
    assert remarks(store) == [[], ["order: skipped A2"], ["order: back from A3"], []]


def test_two_scouts_on_two_laptops_share_a_route_without_being_out_of_order(store: sqlite3.Connection) -> None:
    """What the other has read is not passed over; the gaps are each one's own."""
    put(store, 0, trap="A1", count=0)
    put(store, 1, trap="A2", count=0)
    put(store, 2, BO, trap="A3", count=0)
    put(store, 4, trap="A4", count=0)
    assert remarks(store) == [[], [], ["other scout: most of the round is by Ada"], []]
    assert [step.gap for step in replayed(store)] == [None, timedelta(minutes=1), None, timedelta(minutes=3)]


def test_an_entry_that_came_days_later_stands_out(store: sqlite3.Connection) -> None:
    put(store, 0, trap="A1", count=0)
    put(store, 2 * 24 * 60, trap="A2", count=0)
    put(store, 2 * 24 * 60 + 1, trap="A3", count=0, read_on=ON)
    assert [list(step.remarks) for step in replayed(store)] == [[], [Remark.LATE], [Remark.LATE]]
    assert remarks(store)[1] == ["late: recorded 2 days after its day, 2026-05-20"]


def test_the_day_is_that_of_the_clock_people_walk_by(store: sqlite3.Connection) -> None:
    """Half past four in the afternoon, west of here, is the next day in UTC."""
    put(store, 15.5 * 60, trap="A1", count=0)
    west = steps(rows(store), ROUTE, lambda at: at.astimezone(UTC) - timedelta(hours=8))
    assert [list(step.remarks) for step in west] == [[]]
    assert [list(step.remarks) for step in replayed(store)] == [[Remark.LATE]]


def test_a_correction_says_what_it_corrects_and_the_corrected_entry_by_what(store: sqlite3.Connection) -> None:
    old = put(store, 0, trap="A1", count=40)
    put(store, 1, BO, trap="A2", count=4, replaces=old.id, reason="wrong line of the sheet")
    assert remarks(store) == [
        ["corrected later by Bo (no. 2) to A2 4: wrong line of the sheet"],
        ["other scout: most of the round is by Ada", "corrects no. 1, which said A1 40: wrong line of the sheet"],
    ]


def test_what_was_withdrawn_and_entered_again_stands_out(store: sqlite3.Connection) -> None:
    old = put(store, 0, trap="A1", count=40)
    withdraw(store, old.id, "wrong sheet", BO, NINE + timedelta(minutes=1))
    put(store, 2, trap="A1", count=4)
    assert remarks(store) == [
        ["withdrawn later by Bo (no. 2): wrong sheet"],
        [],
        ["again: this trap had an entry in this round before"],
    ]


def test_what_stood_after_each_entry(store: sqlite3.Connection) -> None:
    old = put(store, 0, trap="A1", count=40)
    put(store, 1, trap="A2", no_reading=NoReading.DOWN)
    new = put(store, 2, trap="A1", count=4, replaces=old.id, reason="misread")
    withdraw(store, new.id, "wrong sheet", ADA, NINE + timedelta(minutes=3))
    every = rows(store)
    shown = [{trap: visit.count for trap, visit in standing(every[:at]).items()} for at in range(len(every) + 1)]
    assert shown == [{}, {"A1": 40}, {"A1": 40, "A2": None}, {"A1": 4, "A2": None}, {"A2": None}]


def test_a_question_stands_beside_every_entry_of_its_chain(store: sqlite3.Connection, now: datetime) -> None:
    old = put(store, 0, trap="A1", count=40)
    other = put(store, 1, trap="A2", count=1)
    (row, _) = rows(store)
    say_about(store, row, BO, NINE + timedelta(minutes=2), says=QuestionWord.ASKED, words="40 or 4?")
    put(store, 3, trap="A1", count=4, replaces=old.id, reason="misread")
    every = rows(store)
    asked = {one.id: (talk := talk_about(every, one)) and talk.newest.words for one in every}
    assert asked.pop(other.id) is None
    assert set(asked.values()) == {"40 or 4?"}


def test_hostile_text_is_shown_and_never_obeyed(store: sqlite3.Connection) -> None:
    old = put(store, 0, Author("Ada [/]\x1b[2J\u202e", "truck"), trap="A1", count=40, note="[bold]\x07" + "x" * 10_000)
    put(store, 1, trap="A1", count=4, replaces=old.id, reason="=1+1\u202e\n[/]")
    for step in replayed(store):
        for words in (step.said, *step.remarks.values()):
            assert words.isprintable()
            assert len(words) < 700
