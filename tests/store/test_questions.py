"""Questions on record: asked, answered, closed, and seen in a replay beside the entry they are about."""

from __future__ import annotations

import sqlite3
from datetime import date, datetime, timedelta

import pytest

from roundtui.domain.entries import Visit
from roundtui.domain.round.recounts import QuestionWord, talks
from roundtui.errors import RefusedError
from roundtui.report.round.replay import replay_json
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import JournalRow, journal_rows
from roundtui.store.record.rows import QUESTIONS, standing
from roundtui.store.round.recounts import open_questions, say_about

ADA, BO = Author("Ada", "desk"), Author("Bo", "truck")
ON = date(2026, 5, 20)


@pytest.fixture
def row(store: sqlite3.Connection, now: datetime) -> JournalRow:
    """An entry of 40 moths."""
    record(store, [Visit(trap="A1", read_on=ON, count=40)], BO, now)
    return journal_rows(store, ON, ON)[0]


def test_a_question_is_open_until_it_is_closed(store: sqlite3.Connection, row: JournalRow, now: datetime) -> None:
    say_about(store, row, ADA, now, says=QuestionWord.ASKED, words="  40\nor 4? ")
    (talk,) = open_questions(store)
    assert (talk.entry, talk.newest.words, talk.newest.trap, talk.newest.about_on) == (row.id, "40 or 4?", "A1", ON)
    say_about(store, row, BO, now, says=QuestionWord.ANSWERED, words="4, a smudge")
    say_about(store, row, ADA, now, says=QuestionWord.CLOSED)
    assert open_questions(store) == ()
    known = talks(standing(store, QUESTIONS, "entry = ?", row.id)).get(row.id)
    assert known is not None
    assert [(one.says.value, one.scout) for one in known.rows] == [
        ("asked", "Ada"),
        ("answered", "Bo"),
        ("closed", "Ada"),
    ]


def test_a_blank_question_and_an_answer_to_none_are_refused(
    store: sqlite3.Connection, row: JournalRow, now: datetime
) -> None:
    with pytest.raises(RefusedError, match="a question needs words"):
        say_about(store, row, ADA, now, says=QuestionWord.ASKED, words=" ")
    with pytest.raises(RefusedError, match="no question about this entry is open"):
        say_about(store, row, ADA, now, says=QuestionWord.ANSWERED, words="4")


def test_a_question_withdrawn_is_no_longer_open(store: sqlite3.Connection, row: JournalRow, now: datetime) -> None:
    asked = say_about(store, row, ADA, now, says=QuestionWord.ASKED, words="whose sheet?")
    withdraw(store, asked.id, "found it", ADA, now)
    assert open_questions(store) == ()


def test_a_replay_lists_questions_with_the_entry_they_are_about(
    store: sqlite3.Connection, row: JournalRow, now: datetime
) -> None:
    """Asked a week later, and still among the entries of the day they are about; of another trap they are not."""
    say_about(store, row, ADA, now + timedelta(days=7), says=QuestionWord.ASKED, words="40 or 4?")
    said = replay_json(journal_rows(store, ON, ON, {"A1"}, {"S"}))[1]
    assert {key: said[key] for key in ("kind", "trap", "read_on", "about", "says", "words")} == {
        "kind": "question",
        "trap": "A1",
        "read_on": "2026-05-20",
        "about": row.id,
        "says": "asked",
        "words": "40 or 4?",
    }
    assert journal_rows(store, ON, ON, {"A2"}, {"S"}) == ()
