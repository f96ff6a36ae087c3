"""Questions pinned to entries: what is open, and what was said last."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from roundtui.domain.round.recounts import Question, QuestionWord, open_talks, talks

NOON = datetime(2026, 5, 20, 12, tzinfo=UTC)


def word(says: QuestionWord, minutes: int, entry: str = "one", words: str = "40 or 4?") -> Question:
    return Question(
        entry=entry,
        says=says,
        words=words,
        about_on=date(2026, 5, 20),
        trap="A1",
        scout="Ada",
        recorded_at=NOON + timedelta(minutes=minutes),
        id=f"{entry}-{minutes:03}",
    )


def test_an_answer_leaves_a_question_open_until_somebody_closes_it() -> None:
    asked = word(QuestionWord.ASKED, 0)
    answered = word(QuestionWord.ANSWERED, 5, words="4, a smudge")
    closed = word(QuestionWord.CLOSED, 9, words="")
    (talk,) = open_talks([answered, asked])
    assert (talk.rows, talk.answered) == ((asked, answered), True)
    assert open_talks([closed, asked, answered]) == []


def test_what_was_closed_can_be_asked_again() -> None:
    rows = [
        word(QuestionWord.ASKED, 0),
        word(QuestionWord.CLOSED, 1),
        word(QuestionWord.ASKED, 2, words="and the liner?"),
    ]
    (talk,) = open_talks(rows)
    assert talk.newest.words == "and the liner?"


def test_entries_are_listed_by_what_was_said_last() -> None:
    found = talks(
        [word(QuestionWord.ASKED, 0, "one"), word(QuestionWord.ASKED, 1, "two"), word(QuestionWord.ANSWERED, 2, "one")]
    )
    assert list(found) == ["two", "one"]
