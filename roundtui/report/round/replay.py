"""A round read for replay: its entries in the order recorded, and what the record showed after each of them.

As JSON, as a table and step by step, corrections and observations included.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import fields
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from functools import partial
from itertools import groupby
from typing import Any

from roundtui.domain import entries
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.rounds import OPEN_DAYS, current_round, traps_to_walk
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import same_scout
from roundtui.domain.round.recounts import Question, Talk, TrapChecked, talks
from roundtui.domain.round.specimens import how_many
from roundtui.domain.round.tally import draft_of, format_tally
from roundtui.domain.text import listed, sanitize, several
from roundtui.report.text import Section, as_name, as_note, json_of, tabled
from roundtui.store.failures import plainly
from roundtui.store.figures.summary import summary_of
from roundtui.store.record import read
from roundtui.store.record.chains import Mark, act_of, as_recorded, mark_after
from roundtui.store.record.read import JournalRow
from roundtui.store.record.rows import Entry
from roundtui.store.round.changes import places_of
from roundtui.store.session import Session

_AUTHORS = {field.name for field in fields(entries.Recorded)}
_ELSEWHERE = {"trap", "block", "kind", "read_on"}
"""Keys that every entry of a replay has already, and in another meaning."""


_CONTENT: dict[type, str] = {
    entries.StageSeen: "stage=code unchanged",
    entries.BiofixSettled: "species season generation proposed rule?",
    Question: "about=entry says words",
    entries.Withdrawal: "takes_back=entry",
}
"""What JSON has of an entry; of one of another kind it has all that the entry says by itself."""


def replay_json(rows: Sequence[JournalRow]) -> list[dict[str, Any]]:
    """What ``replay --json`` prints.

    Args:
        rows: Entries in the order recorded.

    Returns:
        A dict for each: the contract's keys, whether it still stands, then what its kind of entry says.
    """
    return [
        {
            **json_of(row, "id kind trap read_on"),
            "recorded_at": row.recorded_at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z"),
            **json_of(
                row, "scout=entry.scout device=entry.device replaces=entry.replaces reason=entry.reason block present"
            ),
            **_content(row.entry),
        }
        for row in rows
    ]


def _content(entry: Entry | entries.Withdrawal) -> dict[str, Any]:
    if (names := _CONTENT.get(type(entry))) is not None:
        return json_of(entry, names)
    own = (field.name for field in fields(entry) if field.name not in _AUTHORS and field.name not in _ELSEWHERE)
    kind = {entries.Sample: "sample=kind", entries.Stocked: "stock=kind"}.get(type(entry), "")
    return json_of(entry, f"{' '.join(own)} {kind}")


def replay_table(rows: Sequence[JournalRow], *, width: int = 80) -> Section:
    """Entries with who, when and which laptop, and what corrected what and why.

    Args:
        rows: Entries in the order recorded.
        width: Columns to fill.

    Returns:
        A table with a row for each entry, numbered in the order recorded so that corrections can name it.
    """
    numbers = {row.id: number for number, row in enumerate(rows, 1)}
    undone_by: dict[str, str] = {}
    for row in rows:
        if isinstance(row.entry, entries.Withdrawal):
            undone_by[row.entry.entry] = f"withdrawn by {numbers[row.id]}"
        elif row.entry.replaces is not None:
            undone_by[row.entry.replaces] = f"corrected by {numbers[row.id]}"
    said = []
    for row in rows:
        cells = (
            str(numbers[row.id]),
            f"{row.recorded_at.astimezone(UTC):%m-%d %H:%M:%S}",
            f"{as_name(row.entry.scout)}, {as_name(row.entry.device)}",
            as_name(row.trap or row.block or ""),
            row.read_on.isoformat(),
            _what(row, numbers, undone_by.get(row.id, "")),
        )
        said.append(("", cells))
    return tabled("No. >4|Recorded, UTC 14|Who, laptop 14|About 8|Day 10|What", width, said)


def said_by(row: JournalRow, numbers: Mapping[str, int]) -> str:
    """What an entry says, in a few plain words, a visit in the notation of paper sheets.

    Args:
        row: The entry.
        numbers: Numbers of other entries it may name, by id.
    """
    entry = row.entry
    match entry:
        case entries.Visit():
            said = format_tally(draft_of(entry)) or "something newer"
            said = f"{said} recount" if entry.recount else said
        case entries.StageSeen():
            said = f"stage {entry.code}{', unchanged' if entry.unchanged else ''}"
        case entries.Notified():
            said = f"call made {entry.notified_on}, {entry.species} {entry.status}, by {entry.by}, {entry.how}"
        case entries.BiofixSettled():
            instead = f", not {entry.proposed} as proposed" if entry.overridden and entry.proposed else ""
            said = f"biofix {entry.species} generation {entry.generation}{instead}"
        case entries.TempsRead():
            said = f"{entry.station}: {entry.tmin} to {entry.tmax} {entry.unit.sign} {entry.note}".rstrip()
        case Question():
            said = f"{entry.says} about {numbers.get(entry.entry, 'an entry')}: {entry.words}"
        case entries.Withdrawal():
            said = f"withdraws {numbers.get(entry.entry, 'an entry')}"
        case entries.Recorded():
            said = _of_other_kinds(entry)
    return as_note(said)


def _of_other_kinds(entry: entries.Recorded) -> str:
    """What an entry says that is no visit, stage, call, biofix or temperature."""
    said = ""
    match entry:
        case entries.Sample(kind=entries.SampleKind.FRUIT):
            stings = f", {entry.stings} with stings" if entry.stings else ""
            said = f"{entry.found} of {entry.looked} fruit injured{stings}"
        case entries.Sample():
            grade = f", grade {entry.grade}" if entry.grade is not None else ""
            said = f"{entry.pest}: {entry.found} of {entry.looked} {entry.looked_at}{grade}"
        case entries.TreatmentSaid():
            by = f"(reported by {entry.said_by})" if entry.said_by else ""
            said = " ".join(filter(None, ("treated against", entry.species, entry.words, by)))
        case entries.Specimen():
            counted = ", counted as its own" if entry.in_count else ""
            vial = f", vial {entry.vial}" if entry.vial else ""
            named = f", named {entry.identified_on} by {entry.identified_by}" if entry.identified_on else ""
            said = f"{how_many(entry.number, entry.what)}{counted}{vial}{named}"
        case entries.PartNoted():
            said = f"{entry.part.value} {entry.label} of {entry.species}: {entry.state.value} {entry.place}"
        case entries.Assembled():
            labels = filter(None, (entry.body_label, entry.funnel_label, entry.lid_label))
            parts = ", ".join(labels) or "parts without labels"
            despite = f", override: {entry.despite}" if entry.despite else ""
            said = f"assembled for {entry.species}: {parts}, lure {entry.lot or 'none'}{despite}"
        case entries.Stocked():
            said = f"{several(entry.number, 'lure')} of lot {entry.lot} {entry.kind.value}"
        case TrapChecked():
            planted = f", {entry.recovered} of {entry.planted} planted found" if entry.recovered is not None else ""
            said = f"supervisor: {entry.result.value.replace('-', ' ')}{planted} {entry.note}"
        case entries.SetUpChanged():
            said = (
                f"{entry.file} {entries.change_words(entry)}: {entries.changed_columns(entry)} {entry.words}".rstrip()
            )
    return said.rstrip()


def _what(row: JournalRow, numbers: dict[str, int], undone: str) -> str:
    entry, said = row.entry, said_by(row, numbers)
    if entry.replaces is not None:
        said = f"corrects {numbers.get(entry.replaces, 'an entry')}: {said}"
    because = f"because: {as_note(entry.reason)}" if entry.reason else ""
    return "; ".join(part for part in (said, because, f"({undone})" if undone else "") if part)


_NAMED = 3
LONGEST = 4000
"""Characters of a line in the story of an entry."""


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
    WITHDRAWN = "withdrawn"
    """Withdrawn by a later one."""
    AGAIN = "again"
    """A further entry about a trap and day that had one."""


class ReplayStep(Frozen):
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
    more: tuple[JournalRow, ...] = ()
    """Further entries of the same act, as the other traps of a farm that was closed."""

    @property
    def rows(self) -> tuple[JournalRow, ...]:
        """All entries of the act."""
        return (self.row, *self.more)


def steps(
    rows: Sequence[JournalRow],
    traps: Sequence[str],
    local: Callable[[datetime], datetime],
    act: Callable[[JournalRow], Hashable] = lambda _: None,
) -> tuple[ReplayStep, ...]:
    """The entries of a round with what is remarkable about them.

    Args:
        rows: Entries in the order recorded.
        traps: Labels of the route in walking order.
        local: Gives an instant on the clock people walk by, for the day on which it lies.
        act: Gives what the entries of one act have in common, which are one step; None: it is one of its own.
    """
    acts = [tuple(group) for _, group in groupby(rows, lambda row: act(row) or row.id)]
    numbers = {row.id: number for number, group in enumerate(acts, 1) for row in group}
    undone = _undone(rows, numbers)
    main = _main_scout(rows)
    order = _Order(traps)
    last: dict[tuple[str, str], datetime] = {}
    found = []
    for number, (row, *more) in enumerate(acts, 1):
        hand = (row.entry.scout, row.entry.device)
        gap = row.recorded_at - last[hand] if hand in last else None
        last[hand] = row.recorded_at
        remarks = {**_days(row, local), **order.remark(row), **_hand(row, main), **_corrects(row, rows, numbers)}
        remarks |= undone.get(row.id, {})
        for one in more:
            order.remark(one)
        found.append(ReplayStep(number, row, _act_words((row, *more), numbers), gap, remarks, tuple(more)))
    return tuple(found)


def _act_words(rows: Sequence[JournalRow], numbers: Mapping[str, int]) -> str:
    """What an act says, in plain words: that of its first entry, and which others it is about."""
    said = said_by(rows[0], numbers)
    return f"{said} {places_of(rows)}" if len(rows) > 1 and not isinstance(rows[0].entry, entries.Withdrawal) else said


def standing(rows: Sequence[JournalRow]) -> dict[str, entries.Visit]:
    """What the traps of a round showed once some of its entries were made.

    Args:
        rows: Its first so many entries.

    Returns:
        The newest visit with a count or a reason of each trap that had one.
    """
    gone = _gone(rows)
    visits = [row.entry for row in rows if isinstance(row.entry, entries.Visit) and row.id not in gone]
    read = [visit for visit in visits if not visit.recount and (visit.count is not None or visit.no_reading)]
    return {visit.trap: visit for visit in sorted(read, key=lambda visit: visit.order)}


def _gone(rows: Sequence[JournalRow]) -> set[str | None]:
    """Entries that others among them withdraw or replace, by id."""
    return {row.entry.entry if isinstance(row.entry, entries.Withdrawal) else row.entry.replaces for row in rows}


def talk_about(rows: Sequence[JournalRow], row: JournalRow) -> Talk | None:
    """What was said about an entry, or about another of its chain, among some entries.

    Args:
        rows: Entries, questions among them.
        row: The entry.
    """
    gone = _gone(rows)
    words = [one.entry for one in rows if isinstance(one.entry, Question) and one.id not in gone]
    spoken = talks(words)
    ids = _chain(rows, row.entry.entry if isinstance(row.entry, Question | entries.Withdrawal) else row.id)
    if isinstance(row.entry, entries.Withdrawal):
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
    scouts = Counter(
        row.entry.scout for row in rows if isinstance(row.entry, entries.Visit) and row.entry.replaces is None
    )
    return scouts.most_common(1)[0][0] if scouts else None


def _days(row: JournalRow, local: Callable[[datetime], datetime]) -> dict[Remark, str]:
    if isinstance(row.entry, entries.Withdrawal | Question) or row.entry.replaces is not None:
        return {}
    late = (local(row.recorded_at).date() - row.read_on).days
    if late > 0:
        return {Remark.LATE: f"late: recorded {late} {'day' if late == 1 else 'days'} after its day, {row.read_on}"}
    if late < 0:
        return {Remark.EARLY: f"early: recorded {-late} d before its day, {row.read_on}; the clock was wrong"}
    return {}


def _hand(row: JournalRow, main: str | None) -> dict[Remark, str]:
    if not isinstance(row.entry, entries.Visit) or main is None or same_scout(row.entry.scout, main):
        return {}
    return {Remark.OTHER: f"other scout: most of the round is by {as_name(main)}"}


def _corrects(row: JournalRow, rows: Sequence[JournalRow], numbers: Mapping[str, int]) -> dict[Remark, str]:
    if row.entry.replaces is None:
        return {}
    old = next((one for one in rows if one.id == row.entry.replaces), None)
    was = f", which said {_where(old, row)}{said_by(old, numbers)}" if old is not None else ""
    because = f": {as_note(row.entry.reason)}" if row.entry.reason else ""
    return {Remark.CORRECTS: f"corrects {_number(row.entry.replaces, numbers)}{was}{because}"}


def _undone(rows: Sequence[JournalRow], numbers: Mapping[str, int]) -> dict[str, dict[Remark, str]]:
    undone: dict[str, dict[Remark, str]] = {}
    about = {row.id: row for row in rows}
    for row in rows:
        because = f": {as_note(row.entry.reason)}" if row.entry.reason else ""
        if isinstance(row.entry, entries.Withdrawal):
            words = f"withdrawn {_by_whom(row, numbers)}{because}"
            undone.setdefault(row.entry.entry, {})[Remark.WITHDRAWN] = words
        elif row.entry.replaces is not None:
            now = f"{_where(row, about.get(row.entry.replaces))}{said_by(row, numbers)}"
            words = f"corrected {_by_whom(row, numbers)} to {now}{because}"
            undone.setdefault(row.entry.replaces, {})[Remark.CORRECTED] = words
    return undone


def _where(row: JournalRow, other: JournalRow | None) -> str:
    """Trap and day of a row where they are not the other's."""
    words = ""
    if other is not None and row.trap != other.trap:
        words += f"{as_name(row.trap or '')} "
    if other is not None and row.read_on != other.read_on:
        words += f"{row.read_on} "
    return words


def _by_whom(row: JournalRow, numbers: Mapping[str, int]) -> str:
    return f"later by {as_name(row.entry.scout)} ({_number(row.id, numbers)})"


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

    def remark(self, row: JournalRow) -> dict[Remark, str]:
        """What is remarkable about the way to an entry."""
        visit = row.entry
        if not isinstance(visit, entries.Visit) or visit.replaces is not None or visit.recount:
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
            return {Remark.ORDER: f"order: back from {as_name(self._traps[came_from])}"}
        passed = [trap for trap in self._traps[came_from + 1 : at] if trap not in self._read]
        if not passed:
            return {}
        return {Remark.ORDER: f"order: skipped {listed(map(as_name, passed), _NAMED)}"}


def history_lines(rows: Sequence[JournalRow]) -> list[str]:
    """What an entry said, what corrected it and who took it back, with who, when and why.

    Args:
        rows: The chain in the order recorded.
    """
    numbers = {row.id: number for number, row in enumerate(rows, 1)}
    lines = []
    for row in rows:
        entry, at = row.entry, row.recorded_at.astimezone(UTC)
        did = f"corrects {numbers[entry.replaces]}, " if entry.replaces in numbers else ""
        withdraws = isinstance(entry, entries.Withdrawal)
        place = "" if withdraws else f"{sanitize(row.trap or row.block or '', 16)} {row.read_on} "
        stands = "●" if row.present and not withdraws else " "
        who = f"{sanitize(entry.scout, 24)}, {sanitize(entry.device, 20)}, {at:%d %b %H:%M}"
        why = f", because: {sanitize(entry.reason, 200)}" if entry.reason else ""
        lines.append(sanitize(f"{stands}{numbers[row.id]} {place}{said_by(row, numbers)} ({did}{who}{why})", LONGEST))
    return lines


def open_round(session: Session, route: str, on: date, *, or_before: bool = False) -> RoundReplay:
    """The round of a route that a day lies in. Meant for a thread: it reads over a connection of its own.

    Args:
        session: Who, where and when.
        route: Name of the route.
        on: A day of the round, or one up to which it is sought.
        or_before: Whether the round before will do where the day lies in none.
    """
    with session.connection() as conn:
        found = RoundReplay(session, conn, route, on)
        before = found.neighbour(-1, conn) if or_before and not found.rows else None
        return RoundReplay(session, conn, route, before) if before else found


class RoundReplay:
    """One round of a route. Steps are numbered as entries are; step 0 is the moment before the first.

    Args:
        session: Who, where and when.
        conn: The store, for what is read here.
        route: Name of the route.
        on: A day of the round, or one up to which it is sought.
    """

    def __init__(self, session: Session, conn: sqlite3.Connection, route: str, on: date) -> None:
        self._session = session
        self.known: dict[int, Summary] = {}
        """What ``look_up`` found, by step."""
        self.route = route
        self.on = on
        programme = session.programme
        self._labels = set(programme.routes.get(route, ()))
        blocks = {row.block for trap in self._labels for row in programme.hangings.get(trap, ())}
        self.traps = traps_to_walk(programme, route, on)
        """Labels in walking order."""
        self.first, self.last = self._days_of(conn, on)
        """Day of its first entry, and of its last one."""
        self.rows = read.journal_rows(conn, self.first, self.last, self._labels, blocks)
        """Its entries in the order recorded."""
        act = partial(act_of, programme=programme)
        self.steps: Sequence[ReplayStep] = steps(self.rows, self.traps, datetime.astimezone, act)
        """The same act by act, with what is remarkable about them."""
        asked = talks(row.entry for row in self.rows if isinstance(row.entry, Question) and row.present)
        ids = {step.row.id for step in self.steps}
        self.asked = {entry: talk for entry, talk in asked.items() if talk.open and entry in ids}
        """Questions that are open, by the entry they are about."""

    def done(self, at: int) -> dict[str, entries.Visit]:
        """Newest visit of each trap of the round that was done at a step.

        Args:
            at: The step, from 0.
        """
        return standing(self._so_far(at))

    def _so_far(self, at: int) -> list[JournalRow]:
        return [row for step in self.steps[:at] for row in step.rows]

    def look_up(self, at: int, conn: sqlite3.Connection) -> Summary:
        """The summary of the route's blocks just after a step, on the newest day entered by then; looked up once.

        Args:
            at: The step, from 0.
            conn: A connection of a thread's own: it reads the past meanwhile.

        Raises:
            StoreError: The store cannot be read.
            RoundtuiError: Two rules fit a block equally well.
        """
        found = self.known.get(at)
        if found is not None:
            return found
        newest = max((row.read_on for row in self._so_far(at) if row.kind == "visit"), default=self.first)
        on = min(max(newest, self.first), self.last)
        with as_recorded(conn, self._mark(at)):
            found = summary_of(conn, self._session.office, on, route=self.route).summary
        self.known[at] = found
        return found

    def look_up_aside(self, at: int, ahead: int) -> Iterator[int]:
        """Look up a step, the one before and those that come next, over a connection of a thread's own.

        Args:
            at: The step, from 0.
            ahead: How many of the next.

        Yields:
            Each step when it is looked up.
        """
        with self._session.connection() as conn:
            for step in (at - 1, at, *range(at + 1, min(at + ahead, len(self.steps)) + 1)):
                if step >= 0:
                    self.look_up(step, conn)
                    yield step

    def _mark(self, at: int) -> Mark:
        if at > 0:
            return mark_after(self.steps[at - 1].rows[-1])
        return Mark(self.rows[0].recorded_at, "") if self.rows else Mark(self._session.clock())

    def step_of(self, entry_id: str) -> int | None:
        """Number of an entry's step; None where it is not in this round."""
        return next((step.number for step in self.steps if entry_id in {row.id for row in step.rows}), None)

    def step_at(self, trap: str) -> int | None:
        """Step of the first entry about a trap; None where there is none."""
        return next((step.number for step in self.steps if trap in {row.trap for row in step.rows}), None)

    def neighbour(self, direction: int, conn: sqlite3.Connection | None = None) -> date | None:
        """Last day of the round before or after this one; None where there is none.

        Args:
            direction: -1 for the one before, 1 for the one after.
            conn: A thread's own connection; None: the session's.
        """
        conn, marks = conn or self._session.conn, ", ".join("?" * len(self._labels))
        best, than, edge = ("max", "<", self.first) if direction < 0 else ("min", ">", self.last)
        with plainly(conn):
            row = conn.execute(
                f"SELECT {best}(read_on) FROM visits WHERE read_on {than} ? AND read_on <= ? AND trap IN ({marks})",  # noqa: S608
                (edge.isoformat(), self._session.on.isoformat(), *self._labels),
            ).fetchone()
        return None if row[0] is None else self._days_of(conn, date.fromisoformat(row[0]))[1]

    def _days_of(self, conn: sqlite3.Connection, on: date) -> tuple[date, date]:
        """Days of the round that a day lies in; the week that ends on it where nothing stands of any round."""
        traps = traps_to_walk(self._session.programme, self.route, on)
        visits = {
            trap: read.visits_of(conn, trap, on - timedelta(days=2 * OPEN_DAYS + 1), on + timedelta(OPEN_DAYS))
            for trap in traps
        }
        first = current_round(traps, visits, on).started_on
        if first is None:
            return on - timedelta(days=OPEN_DAYS), on
        last = min(first + timedelta(days=OPEN_DAYS), self._session.on)
        days = sorted({one.read_on for of_trap in visits.values() for one in of_trap if on < one.read_on <= last})
        for day in days:
            if current_round(traps, visits, day).started_on != first:
                break
            on = day
        return first, on
