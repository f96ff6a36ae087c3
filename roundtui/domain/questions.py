"""Questions pinned to an entry: asked, answered and closed, each word an entry of its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum

from roundtui.domain.recorded import Recorded, fact


class QuestionWord(StrEnum):
    """What a row says in the talk about an entry."""

    ASKED = "asked"
    ANSWERED = "answered"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question(Recorded):
    """One word about an entry. Trap, block and day are those of the entry when it was asked about."""

    entry: str = field(metadata=fact("Id of the entry it is pinned to."))
    says: QuestionWord = field(metadata=fact("Whether it asks, answers, or closes the matter."))
    words: str = field(default="", metadata=fact("The question or the answer; may be empty where it only closes."))
    about_on: date = field(metadata=fact("Day that the entry is about."))
    trap: str | None = field(default=None, metadata=fact("Trap the entry is about; None for a block's."))
    block: str | None = field(default=None, metadata=fact("Block the entry is about; None for a trap's."))


@dataclass(frozen=True, slots=True)
class Talk:
    """All that stands about one entry, in the order recorded."""

    rows: tuple[Question, ...]
    """At least one."""

    @property
    def entry(self) -> str:
        """Id of the entry it is about."""
        return self.rows[0].entry

    @property
    def newest(self) -> Question:
        """What was said last."""
        return self.rows[-1]

    @property
    def open(self) -> bool:
        """Whether nobody has closed it: an answer alone does not, since whoever asked should have seen it."""
        return self.newest.says is not QuestionWord.CLOSED

    @property
    def answered(self) -> bool:
        """Whether the newest word is an answer."""
        return self.newest.says is QuestionWord.ANSWERED


def talks(rows: Iterable[Question]) -> Mapping[str, Talk]:
    """What stands about each entry.

    Args:
        rows: Words that stand, in any order, recorded all of them.

    Returns:
        By id of the entry, the one spoken about last at the end.
    """
    by_entry: dict[str, list[Question]] = {}
    for row in sorted(rows, key=_order):
        by_entry.setdefault(row.entry, []).append(row)
    found = [Talk(tuple(words)) for words in by_entry.values()]
    return {talk.entry: talk for talk in sorted(found, key=lambda talk: _order(talk.newest))}


def open_talks(rows: Iterable[Question]) -> Sequence[Talk]:
    """Those that nobody has closed, the one spoken about last at the end."""
    return [talk for talk in talks(rows).values() if talk.open]


def _order(row: Question) -> tuple[str, str]:
    return ("" if row.recorded_at is None else row.recorded_at.isoformat(), row.id)


def in_words(gap: timedelta) -> str:
    """A span of time as a person says it, its two largest units at most."""
    seconds = round(abs(gap.total_seconds()))
    days, hours, minutes = seconds // 86_400, seconds // 3600 % 24, seconds // 60 % 60
    sign = "-" if gap < timedelta() and seconds else ""
    if days:
        return f"{sign}{days} d {hours} h"
    if hours:
        return f"{sign}{hours} h {minutes} min"
    if minutes:
        return f"{sign}{minutes} min {seconds % 60} s"
    return f"{sign}{seconds} s"
