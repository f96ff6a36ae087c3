"""Files of entries made beside the weekly count, as samples, treatments, stock and supervisor's visits.

A file has a column for each field of its record. A row is known by all that it says and by its scout: what is on record
is not added twice, whether it still stands or was corrected since.

A tally file: its rows as visits, and the stages seen on the way.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cache
from importlib import import_module
from operator import itemgetter
from pathlib import Path
from typing import Any, NamedTuple

from roundtui.domain import entries
from roundtui.domain.paper.double_entry import KeyedRow
from roundtui.domain.programme.farm import Programme
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import as_registered, check_visit, in_case, is_sure, same_scout, sure_days
from roundtui.domain.round.tally import draft_of
from roundtui.domain.text import SHOWN, parse_day, sanitize
from roundtui.errors import Problem, ProblemsError
from roundtui.store.csv_file import Cells, CsvRow, csv_cells, csv_rows
from roundtui.store.db import transaction
from roundtui.store.files import read_bytes
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme as read_programme
from roundtui.store.record.rows import TABLES, VISITS, Row, Table, table_of

KINDS = {
    "samples": ("sample", "sampling.findings", "check_sample"),
    "treatments": ("treatment", "figures.treatments", "check_treatment"),
    "specimens": ("specimen", "round.specimens", "check_specimen"),
    "parts": ("part", "traps.assembly", "check_part"),
    "assemblies": ("assembly", "traps.assembly", "check_assembly"),
    "stock": ("stock", "inventory.stock", "check_stock"),
    "checks": ("check", "round.recounts", "check_supervision"),
}
"""Files by the word that a person names them with: the kind of their entries, and where it says what is impossible."""
_CHECKS = {kind: (f"roundtui.domain.{module}", name) for kind, module, name in KINDS.values()}
_MOST = 99_999


@dataclass(slots=True)
class FileEntered:
    """What became of a file."""

    added: list[entries.Recorded] = field(default_factory=list)
    """Entries put on record."""
    known: int = 0
    """Rows that were on record before."""


def columns_of(kind: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Columns that a file of a kind must have, and those that it may have.

    Args:
        kind: One of ``KINDS``.
    """
    own = TABLES[KINDS[kind][0]].own
    return tuple(one.name for one in own if one.required), tuple(one.name for one in own if not one.required)


def record_file(
    conn: sqlite3.Connection,
    path: Path,
    kind: str,
    author: Author,
    *,
    now: datetime,
    today: date,
    programme: Programme | None = None,
) -> FileEntered:
    """Put a file of entries on record, all of it or nothing.

    Args:
        conn: The store.
        path: The file.
        kind: One of ``KINDS``.
        author: Whose entries they are, and the laptop.
        now: Instant of recording.
        today: No entry can be about a later day.
        programme: What is set up, where it is at hand.

    Raises:
        ProblemsError: Something in it is malformed or impossible; nothing was added.
        StoreError: The store cannot be written.
    """
    known = programme if programme is not None else read_programme(conn)
    name = sanitize(path.name, 80)
    rows, found = csv_rows(path, name, *columns_of(kind))
    problems = list(found)
    table = TABLES[KINDS[kind][0]]
    made: list[entries.Recorded] = []
    for row in rows:
        cells = Cells(row, name)
        values = {one.name: _value(cells, one) for one in table.own}
        if not cells.problems:
            problems += _as_set_up(cells, table, values, known)
            if values[table.day] > today:
                cells.refuse(table.day, f"{values[table.day]} is in the future", "correct the date")
            elif not problems:
                entry = table.record(**{one.attribute: values[one.name] for one in table.own})
                problems += [Problem(cells.where, one.message, one.hint) for one in _impossible(entry, known)]
                made.append(entry)
        problems += cells.problems
    if problems:
        raise ProblemsError(f"{name} was not entered; nothing was added", tuple(problems), "correct the file")
    report = FileEntered()
    with transaction(conn):
        new = []
        for entry in made:
            if _on_record(conn, table, entry, author):
                report.known += 1
            else:
                new.append(entry)
        report.added += record(conn, list(dict.fromkeys(new)), author, now)
    return report


def _value(cells: Cells, one: entries.EntryField) -> Any:
    column, needed = one.name, one.required
    if one.words is not None:
        word = cells.choice(column, [*one.words])
        if word is None and needed and not cells.raw(column):
            cells.refuse(column, "is blank", f"one of {', '.join(one.words)}")
        return None if word is None or word not in [*one.words] else one.words(word)
    if one.form is entries.Form.DAY:
        text = cells.day(column, needed=needed)
        return date.fromisoformat(text) if text else None
    if one.form is entries.Form.WHOLE:
        return cells.whole(column, one.fact.least or 0, one.fact.most or _MOST, needed=needed)
    if one.form is entries.Form.FLAG:
        return cells.yes_no(column, default=bool(one.default))
    if column == "species":
        return cells.species(column, needed=needed)
    text = cells.label(column, needed=needed) if needed and column != "pest" else cells.text(column)
    return text or None if one.blank else text


def _as_set_up(cells: Cells, table: Table, values: dict[str, Any], programme: Programme) -> list[Problem]:
    """Put labels in the letter case of the set-up, and say where the one that the table needs is in none."""
    known: dict[str, Collection[str]] = {"block": programme.blocks, "trap": programme.hangings, "lot": programme.lots}
    values |= {one: in_case(values[one], known[one]) for one in known.keys() & values.keys() if values[one]}
    if not table.known or values[table.place] in known[table.place]:
        return []
    words = f"there is no {table.place} {sanitize(values[table.place], SHOWN)}"
    return [Problem(f"{cells.where}, {table.place}", words, "check the label, or set it up first")]


def contradictions(entry: entries.Recorded, programme: Programme) -> Iterable[Problem]:
    """What an entry that was made elsewhere cannot say, wherever a trap hung since.

    Args:
        entry: The entry.
        programme: What is set up.
    """
    if isinstance(entry, entries.TempsRead):
        from roundtui.store.season.weather_load import check_temps

        return check_temps(programme, entry, date.max)
    if isinstance(entry, entries.Specimen):
        from roundtui.domain.round.specimens import impossible

        return impossible(entry, None)
    return _impossible(entry, programme)


def _impossible(entry: entries.Recorded, programme: Programme) -> Iterable[Problem]:
    module, name = _CHECKS[table_of(type(entry)).kind]
    found: Iterable[Problem] = getattr(import_module(module), name)(entry, programme)
    return found


def _on_record(conn: sqlite3.Connection, table: Table, entry: entries.Recorded, author: Author) -> bool:
    said = tuple(entries.kept(getattr(entry, one.attribute)) for one in table.own)
    same = " AND ".join(f"{one.name} IS ?" for one in table.own)
    rows = conn.execute(f"SELECT scout FROM {table.name} WHERE {same}", said)  # noqa: S608
    return any(same_scout(scout, author.scout) for (scout,) in rows)


_VISIT = entries.KIND_OF["visit"]
REQUIRED = ("trap", "read_on")
"""Columns that a tally file must have."""
OPTIONAL = ("stage", *(one.name for one in _VISIT.own if not one.required))
"""Columns that it may have."""


class TallyRow(NamedTuple):
    """What one row of a file says of its trap; with neither count nor reason nor mark it is no entry."""

    file: str
    """The file."""
    line: int
    """Line, from 1."""
    scout: str
    """Who read."""
    trap: str
    """Label of the trap."""
    read_on: str
    """Day, in ISO 8601."""
    counted: int | None
    """Moths in the trap; None: not counted."""
    rest: Row
    """The columns of a visit behind these, as kept. Most rows say the same there, and share it."""

    @property
    def where(self) -> str:
        """File and line."""
        return f"{self.file}, line {self.line}"

    @property
    def recount(self) -> bool:
        """Whether it is a recount."""
        return bool(self.rest[_RECOUNT])

    @property
    def says_something(self) -> bool:
        """Whether it is an entry."""
        return self.counted is not None or _says_something(self.rest)

    @property
    def own(self) -> Row:
        """The columns of a visit behind those that all entries begin with, as kept."""
        return self.trap, self.read_on, self.counted, *self.rest

    @property
    def visit(self) -> entries.Visit:
        """The same as an entry."""
        head = ("", _ANY_INSTANT, self.scout, "", None, "")
        visit: entries.Visit = VISITS.entry((*head, *self.own))
        return replace(visit, recorded_at=None)


def tally_row(file: str, line: int, visit: entries.Visit) -> TallyRow:
    """A row of an entry that is not recorded yet.

    Args:
        file: The file.
        line: Line, from 1.
        visit: What the row says.
    """
    trap, read_on, count, *rest = VISITS.own_values(visit)
    return TallyRow(file, line, visit.scout, trap, read_on, count, tuple(rest))


@cache
def _says_something(rest: Row) -> bool:
    return TallyRow("", 0, "", "", "2000-01-01", None, rest).visit.says_something


_ANY_INSTANT = "2000-01-01T00:00:00.000000Z"
_RECOUNT = [one.name for one in VISITS.own].index("recount") - 3


class StageRow(Frozen):
    """What a file says of a block's stage on a day."""

    where: str
    """File and line of the first row that says it."""
    seen: entries.StageSeen
    """The stage."""


def read_tally(
    path: Path, programme: Programme, scout: str, today: date
) -> tuple[list[TallyRow], list[StageRow], list[Problem]]:
    """Read a tally file and check it against what is set up.

    Args:
        path: The file.
        programme: What is set up.
        scout: Whose tally it is.
        today: No reading can be later.

    Returns:
        Its rows, the stages, and everything that is wrong with the file.
    """
    name = sanitize(path.name, 80)
    content, problem = read_bytes(path)
    if problem is not None:
        return [], [], [problem]
    reading = _Reading(programme, scout, today, name)
    found: list[Problem] = []
    for line, columns, cells in csv_cells(name, content, REQUIRED, OPTIONAL, found):
        reading.take(line, columns, cells)
    rows, stages = reading.rows, reading.stages
    return rows, list(stages.values()), [*found, *reading.problems, *_doubles(rows)]


class _Reading:
    """Rows of one file. What was read once of a cell, and found to be possible, is not read again in other rows."""

    def __init__(self, programme: Programme, scout: str, today: date, name: str) -> None:
        self.programme, self.scout, self.today, self.name = programme, scout, today, name
        self.rows: list[TallyRow] = []
        self.stages: dict[tuple[str, date], StageRow] = {}
        self.problems: list[Problem] = []
        self.sure = sure_days(programme, today)
        self.traps: dict[str, str] = {}
        self.days: dict[str, str] = {}
        self.counts: dict[str, int | None] = {}
        self.rests: dict[tuple[bool, object], Row] = {}
        self.places: tuple[int, ...] = ()
        self.rest: Callable[[list[str]], object] = tuple

    def take(self, line: int, columns: list[str], cells: list[str]) -> None:
        """Take a row."""
        if not self.places:
            self.places = tuple(columns.index(one) if one in columns else -1 for one in (*REQUIRED, "count", "stage"))
            others = [at for at in range(len(columns)) if at not in self.places]
            self.rest = itemgetter(*others) if others else len
        at_trap, at_day, at_count, at_stage = self.places
        count = cells[at_count] if at_count >= 0 else ""
        key = (count == "", self.rest(cells))
        try:
            trap, day = self.traps[cells[at_trap]], self.days[cells[at_day]]
            row: TallyRow | None = TallyRow(self.name, line, self.scout, trap, day, self.counts[count], self.rests[key])
            known = not (at_stage >= 0 and cells[at_stage]) and is_sure(self.sure, trap, day)
        except KeyError:
            known = False
        if not known:
            row = self._read(line, dict(zip(columns, cells, strict=True)), key)
        if row is not None:
            self.rows.append(row)

    def _read(self, line: int, values: dict[str, str], key: tuple[bool, object]) -> TallyRow | None:
        cells = Cells(CsvRow(line, values), self.name)
        visit = visit_in(cells)
        row = None
        if visit is not None and not cells.problems:
            visit = replace(as_registered(visit, self.programme), scout=self.scout)
            # That a row says nothing is no fault of the file, since it is no entry.
            says = visit.says_something or visit.estimated or visit.recount
            checked = visit if says else replace(visit, no_reading=entries.NoReading.SKIPPED)
            cells.problems += check_visit(checked, self.programme, today=self.today, where=cells.where)
            row = tally_row(self.name, line, visit)
            if not cells.problems:
                _take_stage(cells, visit, self.programme, self.stages)
                self.traps[values["trap"]] = row.trap
                self.days[values["read_on"]] = row.read_on
                self.counts[values.get("count", "")] = row.counted
                if visit.females is None:
                    row = row._replace(rest=self.rests.setdefault(key, row.rest))
        self.problems += cells.problems
        return row


def _doubles(rows: Sequence[TallyRow]) -> list[Problem]:
    problems = []
    seen: dict[tuple[str, str, bool], TallyRow] = {}
    for row in rows:
        first = seen.setdefault((row.trap, row.read_on, row.recount), row)
        if first is not row:
            named = f"{sanitize(row.trap, SHOWN)} on {row.read_on}"
            hint = f"the first is line {first.line}; one of the two may mean another trap"
            problems.append(Problem(row.where, f"a second row for {named}", hint))
    return problems


def visit_in(cells: Cells) -> entries.Visit | None:
    """What a row says of its trap; None where it has no day. What is wrong stays with the cells.

    Args:
        cells: The row.
    """
    trap = cells.label("trap", needed=True)
    day = cells.day("read_on", needed=True)
    said: dict[str, Any] = {
        one.attribute: _label(cells, one.name) if one.name in _LABELS else _value(cells, one)
        for one in _VISIT.own
        if not one.required
    }
    read_on = parse_day(day or "")
    return None if read_on is None else entries.Visit(trap=trap, read_on=read_on, **said)


_LABELS = {
    "lure": ({"no"}, "'no' can be read in two ways", "leave it blank, or write none for a trap without a lure"),
    "body": ({entries.NONE}, "'none' is no label", "write yes, no, or the label of the new body"),
    "lure_found": ({"yes", "no"}, "'{}' is neither a lot nor a species", "write what was found, or none"),
}
"""Columns of a label that may be a word: the words that are refused, why, and what to do."""


def _label(cells: Cells, column: str) -> str | None:
    value = cells.label(column)
    word = value.casefold()
    wrong, message, hint = _LABELS[column]
    if word in wrong:
        cells.refuse(column, message.format(word), hint)
    if word in ("", "no"):
        return None
    return word if word in (entries.YES, entries.NONE) else value


def _take_stage(
    cells: Cells, visit: entries.Visit, programme: Programme, stages: dict[tuple[str, date], StageRow]
) -> None:
    code = cells.raw("stage")
    if not code:
        return
    if len(code) != 2 or not (code.isascii() and code.isdigit()):
        cells.refuse("stage", f"'{sanitize(code, SHOWN)}' is no stage", "write its two-digit code, as 07 or 65")
        return
    hanging = programme.hanging(visit.trap, visit.read_on)
    block = hanging.block if hanging else ""
    row = StageRow(cells.where, entries.StageSeen(block=block, seen_on=visit.read_on, code=code, scout=visit.scout))
    first = stages.setdefault((block, visit.read_on), row)
    if first.seen.code != code:
        cells.refuse(
            "stage",
            f"block {sanitize(block, SHOWN)} has {code} here "
            f"and {first.seen.code} on {first.where.rpartition(', ')[2]}",
            "a block has one stage on a day",
        )


def read_double_entry(path: Path) -> list[KeyedRow]:
    """Rows of a tally file, whatever is set up; nothing is recorded.

    Args:
        path: The file.

    Returns:
        Its rows in order, those without an entry included: to leave a row blank is to key it.

    Raises:
        ProblemsError: Something in it is malformed.
    """
    name, rows = sanitize(path.name, 80), list[KeyedRow]()
    read, found = csv_rows(path, name, REQUIRED, OPTIONAL)
    problems = list(found)
    for cells in (Cells(row, name) for row in read):
        visit = visit_in(cells)
        problems += cells.problems
        if visit is not None:
            trap, on, draft, stage = visit.trap, visit.read_on, draft_of(visit), cells.raw("stage")
            rows.append(KeyedRow(trap=trap, read_on=on, draft=draft, stage=stage, recount=visit.recount))
    if problems:
        raise ProblemsError(f"{name} cannot be compared", tuple(problems), "correct the file")
    return rows
