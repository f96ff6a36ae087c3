"""A round step by step: what stood after each entry, and what is remarkable about how it was made."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from roundtui.domain.checks import same_scout
from roundtui.domain.plain import plain
from roundtui.domain.questions import Question, Talk, talks
from roundtui.domain.recorded import Withdrawal
from roundtui.domain.visits import Visit
from roundtui.report.replay import said_by
from roundtui.report.words import NAME_WIDTH, NOTE_WIDTH
from roundtui.store.read import JournalRow

_NAMED = 3


class Remark(StrEnum):
    """Why an entry stands out, in one word for a list."""

    LATE = "late"
    """Recorded on a later day than the one it is about."""
    EARLY = "early"
    """Recorded on an earlier day than the one it is about: a clock was wrong."""
    ORDER = "order"
    """Out of route order."""
    OTHER = "other scout"
    """Not by the scout who made most of the round."""
    CORRECTS = "corrects"
    """Replaces another entry."""
    CORRECTED = "corrected"
    """Replaced by a later one."""
    TAKEN_BACK = "taken back"
    """Taken back by a later one."""
    AGAIN = "again"
    """A further entry about a trap and day that had one."""


@dataclass(frozen=True, slots=True)
class ReplayStep:
    """One entry of a round, as a person looks at it."""

    number: int
    """Its place in the order recorded, from 1."""
    row: JournalRow
    """The entry."""
    said: str
    """What it says, in plain words."""
    gap: timedelta | None
    """Time since the entry before by the same hand on the same laptop; None for its first."""
    remarks: Mapping[Remark, str]
    """Why it stands out, each with a sentence; empty where it does not."""


def steps(
    rows: Sequence[JournalRow], traps: Sequence[str], local: Callable[[datetime], datetime]
) -> tuple[ReplayStep, ...]:
    """The entries of a round with what is remarkable about them.

    Args:
        rows: Entries in the order recorded.
        traps: Labels of the route in walking order.
        local: Gives an instant on the clock people walk by, for the day on which it lies.
    """
    numbers = {row.id: number for number, row in enumerate(rows, 1)}
    undone = _undone(rows, numbers)
    main = _main_scout(rows)
    order = _Order(traps)
    last: dict[tuple[str, str], datetime] = {}
    found = []
    for number, row in enumerate(rows, 1):
        hand = (row.entry.scout, row.entry.device)
        gap = row.recorded_at - last[hand] if hand in last else None
        last[hand] = row.recorded_at
        remarks = {**_days(row, local), **order.look(row), **_hand(row, main), **_corrects(row, rows, numbers)}
        remarks |= undone.get(row.id, {})
        found.append(ReplayStep(number, row, said_by(row, numbers), gap, remarks))
    return tuple(found)


def standing(rows: Sequence[JournalRow]) -> dict[str, Visit]:
    """What the traps of a round showed once some of its entries were made.

    Args:
        rows: Its first so many entries.

    Returns:
        The newest visit with a count or a reason of each trap that had one.
    """
    gone = {row.entry.entry if isinstance(row.entry, Withdrawal) else row.entry.replaces for row in rows}
    visits = [row.entry for row in rows if isinstance(row.entry, Visit) and row.id not in gone]
    read = [visit for visit in visits if not visit.recount and (visit.count is not None or visit.no_reading)]
    return {visit.trap: visit for visit in sorted(read, key=lambda visit: visit.order)}


def talk_about(rows: Sequence[JournalRow], row: JournalRow) -> Talk | None:
    """What was said about an entry, or about another of its chain, among some entries.

    Args:
        rows: Entries, questions among them.
        row: The entry.
    """
    gone = {one.entry.entry if isinstance(one.entry, Withdrawal) else one.entry.replaces for one in rows}
    words = [one.entry for one in rows if isinstance(one.entry, Question) and one.id not in gone]
    spoken = talks(words)
    ids = _chain(rows, row.entry.entry if isinstance(row.entry, Question | Withdrawal) else row.id)
    if isinstance(row.entry, Withdrawal):
        ids.add(row.id)
    return next((spoken[entry] for entry in reversed(list(spoken)) if entry in ids), None)


def _chain(rows: Sequence[JournalRow], entry_id: str) -> set[str]:
    ids, before = {entry_id}, 0
    while len(ids) > before:
        before = len(ids)
        for row in rows:
            if row.entry.replaces is not None and (row.id in ids or row.entry.replaces in ids):
                ids |= {row.id, row.entry.replaces}
    return ids


def _main_scout(rows: Sequence[JournalRow]) -> str | None:
    scouts = Counter(row.entry.scout for row in rows if isinstance(row.entry, Visit) and row.entry.replaces is None)
    return scouts.most_common(1)[0][0] if scouts else None


def _days(row: JournalRow, local: Callable[[datetime], datetime]) -> dict[Remark, str]:
    if isinstance(row.entry, Withdrawal | Question) or row.entry.replaces is not None:
        return {}
    late = (local(row.recorded_at).date() - row.read_on).days
    if late > 0:
        return {Remark.LATE: f"late: recorded {late} {'day' if late == 1 else 'days'} after its day, {row.read_on}"}
    if late < 0:
        return {Remark.EARLY: f"early: recorded {-late} d before its day, {row.read_on}; the clock was wrong"}
    return {}


def _hand(row: JournalRow, main: str | None) -> dict[Remark, str]:
    if not isinstance(row.entry, Visit) or main is None or same_scout(row.entry.scout, main):
        return {}
    return {Remark.OTHER: f"other scout: most of the round is by {plain(main, NAME_WIDTH)}"}


def _corrects(row: JournalRow, rows: Sequence[JournalRow], numbers: Mapping[str, int]) -> dict[Remark, str]:
    if row.entry.replaces is None:
        return {}
    old = next((one for one in rows if one.id == row.entry.replaces), None)
    was = f", which said {_where(old, row)}{said_by(old, numbers)}" if old is not None else ""
    because = f": {plain(row.entry.reason, NOTE_WIDTH)}" if row.entry.reason else ""
    return {Remark.CORRECTS: f"corrects {_number(row.entry.replaces, numbers)}{was}{because}"}


def _undone(rows: Sequence[JournalRow], numbers: Mapping[str, int]) -> dict[str, dict[Remark, str]]:
    undone: dict[str, dict[Remark, str]] = {}
    about = {row.id: row for row in rows}
    for row in rows:
        because = f": {plain(row.entry.reason, NOTE_WIDTH)}" if row.entry.reason else ""
        if isinstance(row.entry, Withdrawal):
            words = f"taken back later by {_number(row.id, numbers)}{because}"
            undone.setdefault(row.entry.entry, {})[Remark.TAKEN_BACK] = words
        elif row.entry.replaces is not None:
            now = f", {_where(row, about.get(row.entry.replaces))}{said_by(row, numbers)}"
            words = f"corrected later by {_number(row.id, numbers)}{now}{because}"
            undone.setdefault(row.entry.replaces, {})[Remark.CORRECTED] = words
    return undone


def _where(row: JournalRow, other: JournalRow | None) -> str:
    """Trap and day of a row where they are not the other's."""
    words = ""
    if other is not None and row.trap != other.trap:
        words += f"{plain(row.trap or '', NAME_WIDTH)} "
    if other is not None and row.read_on != other.read_on:
        words += f"{row.read_on} "
    return words


def _number(entry_id: str, numbers: Mapping[str, int]) -> str:
    return f"no. {numbers[entry_id]}" if entry_id in numbers else "an entry outside this round"


class _Order:
    """Follows each hand along the route; what anybody has read is no longer left out.

    Args:
        traps: Labels of the route in walking order.
    """

    def __init__(self, traps: Sequence[str]) -> None:
        self._traps = tuple(traps)
        self._place = {trap: at for at, trap in enumerate(traps)}
        self._read: set[str] = set()
        self._at: dict[tuple[str, str], int] = {}

    def look(self, row: JournalRow) -> dict[Remark, str]:
        """What is remarkable about the way to an entry."""
        visit = row.entry
        if not isinstance(visit, Visit) or visit.replaces is not None or visit.recount:
            return {}
        if visit.trap not in self._place:
            return {Remark.ORDER: "order: the trap is not on this route"}
        if visit.trap in self._read:
            return {Remark.AGAIN: "again: this trap had an entry in this round before"}
        hand = (visit.scout, visit.device)
        came_from, at = self._at.get(hand, -1), self._place[visit.trap]
        self._at[hand] = at
        self._read.add(visit.trap)
        if at < came_from:
            return {Remark.ORDER: f"order: back from {plain(self._traps[came_from], NAME_WIDTH)}"}
        passed = [trap for trap in self._traps[came_from + 1 : at] if trap not in self._read]
        if not passed:
            return {}
        names = " ".join(plain(trap, NAME_WIDTH) for trap in passed[:_NAMED])
        more = f" and {len(passed) - _NAMED} more" if len(passed) > _NAMED else ""
        return {Remark.ORDER: f"order: passed over {names}{more}"}
