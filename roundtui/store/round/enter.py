"""A tally file onto the record: only what is new, row by row, and a word where file and record disagree."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.stages import runs_backward
from roundtui.domain.round.checks import same_scout
from roundtui.domain.text import plain
from roundtui.domain.visits import SAID, StageSeen, Visit
from roundtui.errors import Problem, ProblemsError
from roundtui.store.connect import transaction
from roundtui.store.journal import Author, record
from roundtui.store.read import programme as read_programme
from roundtui.store.round.tally_file import StageRow, TallyRow, read_tally
from roundtui.store.rows import STAGES, VISITS, Table

E = TypeVar("E", Visit, StageSeen)

SEASON_DAYS = 180
"""How far back a block's stage is compared with the one before. [d]"""
_SHOWN = 40
_AT_ONCE = 1000
"""Entries that are handed to the journal together."""


@dataclass(slots=True)
class EnterReport:
    """What became of a tally file."""

    added: list[Visit] = field(default_factory=list)
    """Entries put on record; left empty where only their number is wanted."""
    number: int = 0
    """How many they are."""
    keep: bool = True
    """Whether the entries themselves are wanted."""
    stages: list[StageSeen] = field(default_factory=list)
    """Stages put on record."""
    known: int = 0
    """Rows that are on record as they are."""
    disagreements: list[Problem] = field(default_factory=list)
    """Rows that were not applied, because the record says otherwise."""
    no_entry: list[Problem] = field(default_factory=list)
    """Rows with neither count nor reason nor mark."""
    remarks: list[Problem] = field(default_factory=list)
    """What was recorded and is worth a second look."""


def enter_tally(
    conn: sqlite3.Connection,
    path: Path,
    author: Author,
    now: datetime,
    today: date,
    *,
    programme: Programme | None = None,
) -> EnterReport:
    """Record a tally file.

    Args:
        conn: The store.
        path: The file.
        author: Whose tally it is, and the laptop.
        now: Instant of recording.
        today: No reading can be later.
        programme: What is set up, where it is at hand; None: as the store has it.

    Returns:
        What was added, in one transaction, and what was not.

    Raises:
        ProblemsError: Something in the file is malformed or impossible; nothing was added.
        StoreError: The store cannot be written.
    """
    if programme is None:
        programme = read_programme(conn)
    rows, stages, problems = read_tally(path, programme, author.scout, today)
    if problems:
        name = plain(path.name, 80)
        raise ProblemsError(f"{name} was not entered; nothing was added", tuple(problems), "correct the file")
    report = EnterReport()
    enter_rows(conn, rows, stages, author, now, report=report)
    return report


def enter_rows(
    conn: sqlite3.Connection,
    rows: Sequence[TallyRow],
    stages: Sequence[StageRow],
    author: Author,
    now: datetime,
    *,
    report: EnterReport,
    progress: Callable[[int], None] | None = None,
) -> None:
    """Record rows that were checked: those that are new, in one transaction.

    Args:
        conn: The store.
        rows: What was read of traps, by one person.
        stages: Stages of blocks.
        author: Whose rows they are, and the laptop.
        now: Instant of recording.
        report: Takes what became of them.
        progress: Told how many rows were recorded, from time to time.

    Raises:
        StoreError: The store cannot be written; nothing was added.
    """
    with transaction(conn):
        new_visits = _new_visits(conn, rows, report)
        new_stages = _new_stages(conn, stages, report)
        report.remarks += _backward(conn, new_stages)
        for at in range(0, len(new_visits), _AT_ONCE):
            recorded = record(conn, [row.visit for row in new_visits[at : at + _AT_ONCE]], author, now)
            report.number += len(recorded)
            report.added += recorded if report.keep else ()
            if progress is not None:
                progress(len(new_visits[at : at + _AT_ONCE]))
        report.stages += record(conn, [row.seen for row in new_stages], author, now)


def _new_visits(conn: sqlite3.Connection, rows: Sequence[TallyRow], report: EnterReport) -> list[TallyRow]:
    known = _Known(conn, VISITS, [row.visit.read_on for row in rows], lambda visit: (visit.trap, visit.recount))
    new: list[TallyRow] = []
    for row in rows:
        visit = row.visit
        if not visit.says_something:
            report.no_entry.append(
                Problem(
                    row.where,
                    f"{plain(visit.trap, _SHOWN)} has neither a count nor a reason, so it is no entry",
                    "0 for an empty trap, or a reason under no_reading",
                )
            )
            continue
        standing = known.standing(visit, visit.read_on)
        if standing is None:
            new.append(row)
        elif any(not differences(visit, other) for other in standing):
            report.known += 1
        else:
            report.disagreements.append(_disagreement(row, standing))
    return new


def _disagreement(row: TallyRow, standing: Sequence[Visit]) -> Problem:
    visit = row.visit
    named = f"{plain(visit.trap, _SHOWN)} on {visit.read_on}"
    if not standing:
        return Problem(
            row.where, f"{named} was withdrawn on record", "leave it out of the file, or enter it in the app"
        )
    said = "; ".join(differences(visit, standing[-1]))
    hint = "the record stands; correct the file, or the entry in the app"
    return Problem(row.where, f"{named} disagrees with the record: {said}", hint)


def differences(visit: Visit, other: Visit) -> list[str]:
    """Where two entries say different things, in words that give both values.

    Args:
        visit: As the file has it.
        other: As it is on record.
    """
    said = [
        f"{name} is {_value(getattr(visit, name))} in the file and {_value(getattr(other, name))} on record"
        for name in SAID
        if getattr(visit, name) != getattr(other, name)
    ]
    if (visit.trap, visit.read_on) != (other.trap, other.read_on):
        said.insert(0, f"the record has moved it to {plain(other.trap, _SHOWN)} on {other.read_on}")
    return said


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "blank" if value is None or value == "" else plain(str(value), _SHOWN)


def _new_stages(conn: sqlite3.Connection, stages: Sequence[StageRow], report: EnterReport) -> list[StageRow]:
    known = _Known(conn, STAGES, [row.seen.seen_on for row in stages], lambda seen: seen.block)
    new: list[StageRow] = []
    for row in stages:
        seen = row.seen
        standing = known.standing(seen, seen.seen_on)
        if standing is None:
            new.append(row)
        elif not any((s.block, s.seen_on, s.code) == (seen.block, seen.seen_on, seen.code) for s in standing):
            says = f"is {standing[-1].code} on record" if standing else "was withdrawn on record"
            report.disagreements.append(
                Problem(
                    row.where,
                    f"the stage of block {plain(seen.block, _SHOWN)} on {seen.seen_on} is {seen.code} in the file and"
                    f" {says}",
                    "the record stands; correct the file, or the entry in the app",
                )
            )
    return new


class _Known:
    """Entries of the days of a file, whatever became of them, by what tells one from another."""

    def __init__(
        self, conn: sqlite3.Connection, table: Table, days: Iterable[date], place: Callable[[Any], object]
    ) -> None:
        self._conn = conn
        self._table = table
        self._place = place
        self._entries: dict[tuple[object, date], list[Visit | StageSeen]] = {}
        self._present: set[str] = set()
        span = sorted(days)
        if not span:
            return
        rows = conn.execute(
            f"SELECT {table.listed}, id IN (SELECT id FROM present_{table.name} AS p WHERE p.id = e.id)"  # noqa: S608
            f" FROM {table.name} AS e WHERE {table.day} BETWEEN ? AND ? ORDER BY recorded_at, id",
            (span[0].isoformat(), span[-1].isoformat()),
        )
        for row in rows:
            entry = table.entry(row[:-1])
            self._entries.setdefault((place(entry), table.day_of(entry)), []).append(entry)
            if row[-1]:
                self._present.add(entry.id)

    def standing(self, entry: E, on: date) -> list[E] | None:
        """What the record says now of an entry.

        Returns:
            None where its scout has none of that day and place on record. Else what stands in their stead now; nothing
            where all were taken back.
        """
        found = [
            other for other in self._entries.get((self._place(entry), on), ()) if same_scout(other.scout, entry.scout)
        ]
        if not found:
            return None
        standing: list[E] = []
        for other in found:
            standing += [other] if other.id in self._present else self._successors(other.id)  # type: ignore[list-item]
        return standing

    def _successors(self, entry_id: str) -> list[E]:
        rows = self._conn.execute(
            f"WITH RECURSIVE chain(id) AS (SELECT ? UNION SELECT later.id FROM chain"  # noqa: S608
            f" JOIN {self._table.name} AS later ON later.replaces = chain.id)"
            f" SELECT {self._table.listed} FROM present_{self._table.name} WHERE id IN (SELECT id FROM chain)",
            (entry_id,),
        )
        return [self._table.entry(row) for row in rows]


def _backward(conn: sqlite3.Connection, stages: Sequence[StageRow]) -> list[Problem]:
    """Stages that stand before one seen earlier in the season; they are recorded, and remarked on."""
    remarks: list[Problem] = []
    last: dict[str, StageSeen] = {}
    for row in sorted(stages, key=lambda row: row.seen.seen_on):
        seen = row.seen
        since = seen.seen_on - timedelta(days=SEASON_DAYS)
        before = conn.execute(
            f"SELECT {STAGES.listed} FROM present_stages WHERE seen_on >= ? AND seen_on < ? AND block = ?"  # noqa: S608
            " ORDER BY seen_on DESC, recorded_at DESC LIMIT 1",
            (since.isoformat(), seen.seen_on.isoformat(), seen.block),
        ).fetchone()
        known = [STAGES.entry(before)] if before else []
        if seen.block in last:
            known.append(last[seen.block])
        if known:
            newest = max(known, key=lambda stage: stage.seen_on)
            if runs_backward(newest.code, seen.code):
                remarks.append(
                    Problem(
                        row.where,
                        f"block {plain(seen.block, _SHOWN)} goes back from stage {newest.code} on {newest.seen_on} to"
                        f" {seen.code}",
                        "recorded as written; correct it in the app if it is a slip",
                    )
                )
        last[seen.block] = seen
    return remarks
