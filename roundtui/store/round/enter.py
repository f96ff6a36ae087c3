"""A tally file onto the record: only what is new, row by row, and a word where file and record disagree."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path

from roundtui.domain.entries import SAID, StageSeen, Visit
from roundtui.domain.paper.double_entry import value_words
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.stages import runs_backward
from roundtui.domain.round.checks import same_scout
from roundtui.domain.text import SHOWN, sanitize
from roundtui.errors import Problem, ProblemsError
from roundtui.store.db import transaction
from roundtui.store.record.journal import Author, record, record_rows
from roundtui.store.record.read import programme as read_programme
from roundtui.store.record.rows import HEAD, STAGES, VISITS, Row, Table
from roundtui.store.round.tally_file import StageRow, TallyRow, read_tally

SEASON_DAYS = 180
"""How far back a block's stage is compared with the one before. [d]"""
_FOUND = VISITS.columns.index("lure_found")


@dataclass(slots=True)
class EnterReport:
    """What became of a tally file."""

    added: int = 0
    """Entries put on record."""
    found: list[Visit] = field(default_factory=list)
    """Those of them that found a wrong lure in a trap, or none."""
    stages: list[StageSeen] = field(default_factory=list)
    """Stages put on record."""
    known: int = 0
    """Rows that are on record as they are."""
    disagreements: list[Problem] = field(default_factory=list)
    """Rows that were not applied, because the record says otherwise."""
    no_entry: list[Problem] = field(default_factory=list)
    """Rows with neither count nor reason nor mark."""
    remarks: list[Problem] = field(default_factory=list)
    """What was recorded and is worth a second sample."""


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
        name = sanitize(path.name, 80)
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
        progress: Notified how many rows are recorded by now, from time to time.

    Raises:
        StoreError: The store cannot be written; nothing was added.
    """
    with transaction(conn):
        new_visits = _new_visits(conn, rows, report)
        new_stages = _new_stages(conn, stages, report)
        report.remarks += _backward(conn, new_stages)

        def take(recorded: Sequence[Row]) -> None:
            report.added += len(recorded)
            report.found += [VISITS.entry(row) for row in recorded if row[_FOUND] is not None]
            if progress is not None:
                progress(report.added)

        own = (row.own for row in new_visits)
        record_rows(conn, VISITS, own, author, now, number=len(new_visits), take=take)
        report.stages += record(conn, [row.seen for row in new_stages], author, now)


def _new_visits(conn: sqlite3.Connection, rows: Sequence[TallyRow], report: EnterReport) -> list[TallyRow]:
    known = _Known(conn, VISITS, [row.read_on for row in rows], ("trap", "recount"))
    new: list[TallyRow] = []
    for row in rows:
        if not row.says_something:
            words = f"{sanitize(row.trap, SHOWN)} has neither a count nor a reason, so it is no entry"
            hint = "0 for an empty trap, or a reason under no_reading"
            report.no_entry.append(Problem(row.where, words, hint))
            continue
        standing = known.standing((row.trap, int(row.recount)), row.read_on, row.scout)
        if standing is None:
            new.append(row)
        elif any(row.own == other[len(HEAD) :] for other in standing):
            report.known += 1
        else:
            report.disagreements.append(_disagreement(row, [VISITS.entry(other) for other in standing]))
    return new


def _disagreement(row: TallyRow, standing: Sequence[Visit]) -> Problem:
    visit = row.visit
    named = f"{sanitize(row.trap, SHOWN)} on {row.read_on}"
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
        f"{name} is {_shown(visit, name)} in the file and {_shown(other, name)} on record"
        for name in SAID
        if getattr(visit, name) != getattr(other, name)
    ]
    if (visit.trap, visit.read_on) != (other.trap, other.read_on):
        said.insert(0, f"the record has moved it to {sanitize(other.trap, SHOWN)} on {other.read_on}")
    return said


def _shown(visit: Visit, name: str) -> str:
    return sanitize(value_words(getattr(visit, name)), SHOWN)


def _new_stages(conn: sqlite3.Connection, stages: Sequence[StageRow], report: EnterReport) -> list[StageRow]:
    known = _Known(conn, STAGES, [row.seen.seen_on.isoformat() for row in stages], ("block",))
    new: list[StageRow] = []
    for row in stages:
        seen = row.seen
        found = known.standing((seen.block,), seen.seen_on.isoformat(), seen.scout)
        standing = None if found is None else [STAGES.entry(other) for other in found]
        if standing is None:
            new.append(row)
        elif not any((s.block, s.seen_on, s.code) == (seen.block, seen.seen_on, seen.code) for s in standing):
            says = f"is {standing[-1].code} on record" if standing else "was withdrawn on record"
            words = (
                f"the stage of block {sanitize(seen.block, SHOWN)} on {seen.seen_on} is {seen.code} in the file "
                f"and {says}"
            )
            hint = "the record stands; correct the file, or the entry in the app"
            report.disagreements.append(Problem(row.where, words, hint))
    return new


class _Known:
    """Entries of the days of a file, as rows, whatever became of them, by what tells one from another."""

    def __init__(self, conn: sqlite3.Connection, table: Table, days: Sequence[str], place: Sequence[str]) -> None:
        self._conn = conn
        self._table = table
        self._entries: dict[tuple[object, ...], list[Row]] = {}
        self._present: set[str] = set()
        if not days:
            return
        at = [table.columns.index(one) for one in (*place, table.day)]
        rows = conn.execute(
            f"SELECT {table.listed}, id IN (SELECT id FROM present_{table.name} AS p WHERE p.id = e.id)"  # noqa: S608
            f" FROM {table.name} AS e WHERE {table.day} BETWEEN ? AND ? ORDER BY recorded_at, id",
            (min(days), max(days)),
        )
        for row in rows:
            self._entries.setdefault(tuple(row[one] for one in at), []).append(row[:-1])
            if row[-1]:
                self._present.add(row[0])

    def standing(self, place: tuple[object, ...], on: str, scout: str) -> list[Row] | None:
        """What the record says now of an entry.

        Returns:
            None where its scout has none of that day and place on record. Else what stands in their stead now; nothing
            where all were withdrawn.
        """
        there = self._entries.get((*place, on), ())
        found = [other for other in there if other[2] == scout or same_scout(other[2], scout)]
        if not found:
            return None
        standing: list[Row] = []
        for other in found:
            standing += [other] if other[0] in self._present else self._successors(other[0])
        return standing

    def _successors(self, entry_id: str) -> list[Row]:
        return self._conn.execute(
            f"WITH RECURSIVE chain(id) AS (SELECT ? UNION SELECT later.id FROM chain"  # noqa: S608
            f" JOIN {self._table.name} AS later ON later.replaces = chain.id)"
            f" SELECT {self._table.listed} FROM present_{self._table.name} WHERE id IN (SELECT id FROM chain)",
            (entry_id,),
        ).fetchall()


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
                words = (
                    f"block {sanitize(seen.block, SHOWN)} goes back from stage {newest.code} on {newest.seen_on} "
                    f"to {seen.code}"
                )
                hint = "recorded as written; correct it in the app if it is a slip"
                remarks.append(Problem(row.where, words, hint))
        last[seen.block] = seen
    return remarks
