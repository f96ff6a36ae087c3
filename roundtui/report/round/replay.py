"""Entries made beside the weekly count, in the words and the JSON of a replay.

The entries of a round as they were recorded, corrections and all, as JSON and as a table.
A round step by step: what stood after each entry, and what is remarkable about how it was made.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from typing import Any

from rich.table import Table
from rich.text import Text

from roundtui.domain.orchard_entries import Look, LookKind, Specimen, TreatmentSaid
from roundtui.domain.questions import Question, Talk, talks
from roundtui.domain.recorded import Recorded, Withdrawal
from roundtui.domain.round.checks import same_scout
from roundtui.domain.round.specimens import how_many
from roundtui.domain.round.tally import draft_of, format_tally
from roundtui.domain.season_entries import BiofixSettled, TempsRead
from roundtui.domain.text import plain
from roundtui.domain.traps.entries import Assembled, PartNoted, SetUpChanged, Stocked, deed_words
from roundtui.domain.visits import StageSeen, Told, Visit
from roundtui.report.text import NAME_WIDTH, NOTE_WIDTH
from roundtui.store.read import JournalRow
from roundtui.store.rows import Entry

_AUTHORS = {field.name for field in fields(Recorded)}
_ELSEWHERE = {"trap", "block", "kind", "read_on"}
"""Keys that every entry of a replay has already, and in another meaning."""


def beside_content(entry: Recorded) -> dict[str, Any]:
    """What an entry says, as a replay's JSON has it.

    Args:
        entry: The entry.
    """
    said = {
        field.name: _plain(getattr(entry, field.name))
        for field in fields(entry)
        if field.name not in _AUTHORS and field.name not in _ELSEWHERE
    }
    if isinstance(entry, Look):
        said["look"] = entry.kind.value
    elif isinstance(entry, Stocked):
        said["stock"] = entry.kind.value
    return said


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return value.value if isinstance(value, StrEnum) else value


def beside_words(entry: Recorded) -> str:
    """What an entry says, in a few words.

    Args:
        entry: The entry.

    Returns:
        Text that may hold what people typed; the caller makes it plain.
    """
    return _WORDS[type(entry)](entry)


def _by(name: str) -> str:
    return f"(reported by {name})" if name else ""


def _treatment(entry: TreatmentSaid) -> str:
    return " ".join(part for part in ("treated against", entry.species, entry.words, _by(entry.said_by)) if part)


def _specimen(entry: Specimen) -> str:
    counted = ", counted as its own" if entry.in_count else ""
    vial = f", vial {entry.vial}" if entry.vial else ""
    named = f", named {entry.identified_on} by {entry.identified_by}" if entry.identified_on else ""
    return f"{how_many(entry.number, entry.what)}{counted}{vial}{named}"


def _part(entry: PartNoted) -> str:
    return f"{entry.part.value} {entry.label} of {entry.species}: {entry.state.value} {entry.place}".rstrip()


def _assembly(entry: Assembled) -> str:
    parts = (
        ", ".join(part for part in (entry.body_label, entry.funnel_label, entry.lid_label) if part)
        or "parts without labels"
    )
    despite = f", override: {entry.despite}" if entry.despite else ""
    return f"assembled for {entry.species}: {parts}, lure {entry.lot or 'none'}{despite}"


def _stock(entry: Stocked) -> str:
    return f"{entry.number} lures of lot {entry.lot} {entry.kind.value}"


def _set_up(entry: SetUpChanged) -> str:
    return f"{entry.file} {deed_words(entry)}: {_changed(entry)} {entry.words}".rstrip()


def _look(entry: Look) -> str:
    grade = f", grade {entry.grade}" if entry.grade is not None else ""
    if entry.kind is LookKind.FRUIT:
        stings = f", {entry.stings} with stings" if entry.stings else ""
        return f"{entry.found} of {entry.looked} fruit injured{stings}"
    return f"{entry.pest}: {entry.found} of {entry.looked} {entry.looked_at}{grade}"


def _changed(entry: SetUpChanged) -> str:
    was, becomes = (json.loads(text) if text else {} for text in (entry.was, entry.becomes))
    columns = [column for column in {**was, **becomes} if was.get(column) != becomes.get(column)]
    return "; ".join(f"{column} {was.get(column, 'blank')} to {becomes.get(column, 'blank')}" for column in columns)


_WORDS: dict[type, Callable[[Any], str]] = {
    Look: _look,
    TreatmentSaid: _treatment,
    Specimen: _specimen,
    PartNoted: _part,
    Assembled: _assembly,
    Stocked: _stock,
    SetUpChanged: _set_up,
}


_VISIT = (
    *("count", "cleared", "liner", "lure", "kill_strip", "body", "note"),
    *("others", "estimated", "lure_found", "recount"),
)


def replay_json(rows: Sequence[JournalRow]) -> list[dict[str, Any]]:
    """What ``replay --json`` prints.

    Args:
        rows: Entries in the order recorded.

    Returns:
        A dict for each: the contract's keys, whether it still stands, then what its kind of entry says.
    """
    return [
        {
            "id": row.id,
            "kind": row.kind,
            "trap": row.trap,
            "read_on": row.read_on.isoformat(),
            "recorded_at": _instant(row.recorded_at),
            "scout": row.entry.scout,
            "device": row.entry.device,
            "replaces": row.entry.replaces,
            "reason": row.entry.reason,
            "block": row.block,
            "present": row.present,
            **_content(row.entry),
        }
        for row in rows
    ]


def _instant(at: datetime) -> str:
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def _content(entry: Entry | Withdrawal) -> dict[str, Any]:
    said: dict[str, Any]
    match entry:
        case Visit():
            reason = None if entry.no_reading is None else entry.no_reading.value
            said = {"no_reading": reason, **{key: getattr(entry, key) for key in _VISIT}}
        case StageSeen():
            said = {"stage": entry.code, "unchanged": entry.unchanged}
        case Told():
            told_on = entry.told_on.isoformat()
            said = {
                "species": entry.species,
                "status": entry.status,
                "told_on": told_on,
                "by": entry.by,
                "how": entry.how,
            }
        case BiofixSettled():
            said = {
                "species": entry.species,
                "season": entry.season,
                "generation": entry.generation,
                "proposed": entry.proposed.isoformat() if entry.proposed else None,
                "rule": entry.rule or None,
            }
        case TempsRead():
            low, high = float(entry.tmin), float(entry.tmax)
            said = {"station": entry.station, "tmin": low, "tmax": high, "unit": entry.unit.value, "note": entry.note}
        case Question():
            said = {"about": entry.entry, "says": entry.says.value, "words": entry.words}
        case Withdrawal():
            said = {"takes_back": entry.entry}
        case Recorded():
            said = beside_content(entry)
    return said


def replay_table(rows: Sequence[JournalRow], *, width: int = 80) -> Table:
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
        if isinstance(row.entry, Withdrawal):
            undone_by[row.entry.entry] = f"withdrawn by {numbers[row.id]}"
        elif row.entry.replaces is not None:
            undone_by[row.entry.replaces] = f"corrected by {numbers[row.id]}"
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=width, header_style="underline")
    table.add_column("No.", justify="right", width=4)
    table.add_column("Recorded, UTC", width=14, overflow="fold")
    table.add_column("Who, laptop", width=14, overflow="fold")
    table.add_column("About", width=8, overflow="fold")
    table.add_column("Day", width=10)
    table.add_column("What", ratio=1, overflow="fold")
    for row in rows:
        cells = (
            str(numbers[row.id]),
            f"{row.recorded_at.astimezone(UTC):%m-%d %H:%M:%S}",
            f"{plain(row.entry.scout, NAME_WIDTH)}, {plain(row.entry.device, NAME_WIDTH)}",
            plain(row.trap or row.block or "", NAME_WIDTH),
            row.read_on.isoformat(),
            _what(row, numbers, undone_by.get(row.id, "")),
        )
        table.add_row(*(Text(cell) for cell in cells))
    return table


def said_by(row: JournalRow, numbers: Mapping[str, int]) -> str:
    """What an entry says, in a few plain words, a visit in the notation of paper sheets.

    Args:
        row: The entry.
        numbers: Numbers of other entries it may name, by id.
    """
    entry = row.entry
    match entry:
        case Visit():
            said = format_tally(draft_of(entry))
            said = f"{said} recount" if entry.recount else said
        case StageSeen():
            said = f"stage {entry.code}{', unchanged' if entry.unchanged else ''}"
        case Told():
            said = f"told {entry.species} {entry.status} on {entry.told_on.isoformat()}, by {entry.by}, {entry.how}"
        case BiofixSettled():
            instead = f", not {entry.proposed} as proposed" if entry.overridden and entry.proposed else ""
            said = f"biofix {entry.species} generation {entry.generation}{instead}"
        case TempsRead():
            said = f"{entry.station}: {entry.tmin} to {entry.tmax} {entry.unit.sign} {entry.note}".rstrip()
        case Question():
            said = f"{entry.says} about {numbers.get(entry.entry, 'an entry')}: {entry.words}"
        case Withdrawal():
            said = f"withdraws {numbers.get(entry.entry, 'an entry')}"
        case Recorded():
            said = beside_words(entry)
    return plain(said, NOTE_WIDTH)


def _what(row: JournalRow, numbers: dict[str, int], undone: str) -> str:
    entry, said = row.entry, said_by(row, numbers)
    if entry.replaces is not None:
        said = f"corrects {numbers.get(entry.replaces, 'an entry')}: {said}"
    because = f"because: {plain(entry.reason, NOTE_WIDTH)}" if entry.reason else ""
    return "; ".join(part for part in (said, because, f"({undone})" if undone else "") if part)


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
    TAKEN_BACK = "withdrawn"
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
            words = f"withdrawn later by {_number(row.id, numbers)}{because}"
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
        return {Remark.ORDER: f"order: skipped {names}{more}"}


def chain_lines(rows: Sequence[JournalRow], width: int) -> list[str]:
    """What an entry said, what corrected it and who took it back, with who, when and why.

    Args:
        rows: The chain in the order recorded.
        width: Columns to keep to.
    """
    numbers = {row.id: number for number, row in enumerate(rows, 1)}
    lines = []
    for row in rows:
        entry = row.entry
        did = ""
        if entry.replaces is not None and entry.replaces in numbers:
            did = f"corrects {numbers[entry.replaces]}, "
        place = "" if isinstance(entry, Withdrawal) else f"{plain(row.trap or row.block or '', 16)} {row.read_on} "
        stands = "*" if row.present and not isinstance(entry, Withdrawal) else " "
        who = f"{plain(entry.scout, 24)}, {plain(entry.device, 20)}, {row.recorded_at.astimezone(UTC):%m-%d %H:%M}"
        why = f", because: {plain(entry.reason, 200)}" if entry.reason else ""
        lines.append(plain(f"{stands}{numbers[row.id]} {place}{said_by(row, numbers)} ({did}{who}{why})", width))
    return lines
