"""The entries of a round as they were recorded, corrections and all, as JSON and as a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from rich.table import Table
from rich.text import Text

from roundtui.domain.plain import plain
from roundtui.domain.questions import Question
from roundtui.domain.recorded import Recorded, Withdrawal
from roundtui.domain.season_entries import BiofixSettled, TempsRead
from roundtui.domain.tally import draft_of, format_tally
from roundtui.domain.visits import StageSeen, Told, Visit
from roundtui.report.replay_beside import beside_content, beside_words
from roundtui.report.words import NAME_WIDTH, NOTE_WIDTH
from roundtui.store.read import JournalRow
from roundtui.store.rows import Entry

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
            undone_by[row.entry.entry] = f"taken back by {numbers[row.id]}"
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
            said = f"takes back {numbers.get(entry.entry, 'an entry')}"
        case Recorded():
            said = beside_words(entry)
    return plain(said, NOTE_WIDTH)


def _what(row: JournalRow, numbers: dict[str, int], undone: str) -> str:
    entry, said = row.entry, said_by(row, numbers)
    if entry.replaces is not None:
        said = f"corrects {numbers.get(entry.replaces, 'an entry')}: {said}"
    because = f"because: {plain(entry.reason, NOTE_WIDTH)}" if entry.reason else ""
    return "; ".join(part for part in (said, because, f"({undone})" if undone else "") if part)
