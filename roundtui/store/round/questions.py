"""Questions pinned to entries: what stands, and putting a further word on record."""

from __future__ import annotations

import sqlite3
from datetime import datetime

from roundtui.domain.questions import Question, QuestionWord, Talk, open_talks, talks
from roundtui.errors import RefusedError
from roundtui.store.failures import plainly
from roundtui.store.journal import Author, record
from roundtui.store.read import JournalRow
from roundtui.store.rows import QUESTIONS


def open_questions(conn: sqlite3.Connection) -> tuple[Talk, ...]:
    """What was asked about entries and nobody has closed.

    Args:
        conn: The store.

    Returns:
        The one spoken about last at the end.

    Raises:
        StoreError: The store cannot be read.
    """
    return tuple(open_talks(_standing(conn)))


def talk_of(conn: sqlite3.Connection, entry_id: str) -> Talk | None:
    """What stands about an entry; None where nobody said anything.

    Args:
        conn: The store.
        entry_id: Its id.
    """
    return talks(_standing(conn, entry_id)).get(entry_id)


def say_about(
    conn: sqlite3.Connection,
    row: JournalRow,
    author: Author,
    now: datetime,
    *,
    says: QuestionWord,
    words: str = "",
    talk: Talk | None = None,
) -> Question:
    """Ask about an entry, answer, or close the matter.

    Args:
        conn: The store.
        row: The entry; for a question that of the entry it is about.
        author: Who and on which laptop.
        now: Instant of recording.
        says: Which of the three.
        words: What is asked or answered; may be blank where it only closes.
        talk: The open talk that it goes on with, which may be about another entry of the chain; None: the entry's own.

    Returns:
        The row as recorded.

    Raises:
        RefusedError: There are no words, or nothing is open that could be answered or closed.
        StoreError: The store cannot be written.
    """
    said = " ".join(words.split())
    if not said and says is not QuestionWord.CLOSED:
        raise RefusedError("a question needs words", "write what should be looked at")
    about = row.entry.entry if isinstance(row.entry, Question) else row.id
    about = talk.entry if talk is not None else about
    talk = talk_of(conn, about)
    if says is not QuestionWord.ASKED and (talk is None or not talk.open):
        raise RefusedError("no question about this entry is open", "ask one first")
    question = Question(
        entry=about, says=says, words=said, about_on=row.read_on, trap=row.trap, block=None if row.trap else row.block
    )
    (recorded,) = record(conn, [question], author, now)
    return recorded


def _standing(conn: sqlite3.Connection, entry_id: str | None = None) -> list[Question]:
    where = "" if entry_id is None else " WHERE entry = ?"
    with plainly(conn):
        rows = conn.execute(
            f"SELECT {QUESTIONS.listed} FROM present_questions{where}",  # noqa: S608
            () if entry_id is None else (entry_id,),
        ).fetchall()
    return [QUESTIONS.entry(row) for row in rows]
