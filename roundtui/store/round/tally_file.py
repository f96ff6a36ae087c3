"""A tally file: its rows as visits, and the stages seen on the way.

A tally file as one keying of a sheet, to be held against another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from roundtui.domain.entries import KIND_OF, EntryField, Form
from roundtui.domain.paper.double_entry import KeyedRow
from roundtui.domain.programme.farm import Programme
from roundtui.domain.round.checks import as_registered, check_visit
from roundtui.domain.round.tally import draft_of
from roundtui.domain.text import plain
from roundtui.domain.visits import MOST_MOTHS, NONE, YES, NoReading, StageSeen, Visit
from roundtui.errors import Problem, ProblemsError
from roundtui.store.csv_file import Cells, parse_day, read_bytes, read_csv

_VISIT = KIND_OF["visit"]
REQUIRED = ("trap", "read_on")
"""Columns that a tally file must have."""
OPTIONAL = ("stage", *(one.name for one in _VISIT.fields if not one.required))
"""Columns that it may have."""
_SHOWN = 40


@dataclass(frozen=True, slots=True)
class TallyRow:
    """One row of a tally file."""

    where: str
    """File and line."""
    visit: Visit
    """What it says of its trap; with neither count nor reason nor mark it is no entry."""


@dataclass(frozen=True, slots=True)
class StageRow:
    """What a file says of a block's stage on a day."""

    where: str
    """File and line of the first row that says it."""
    seen: StageSeen
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
    name = plain(path.name, 80)
    content, problem = read_bytes(path)
    if problem is not None:
        return [], [], [problem]
    csv_rows, found = read_csv(name, content, REQUIRED, OPTIONAL)
    problems = list(found)
    rows: list[TallyRow] = []
    stages: dict[tuple[str, date], StageRow] = {}
    for csv_row in csv_rows:
        cells = Cells(csv_row, name)
        visit = visit_in(cells)
        if visit is not None and not cells.problems:
            visit = replace(as_registered(visit, programme), scout=scout)
            cells.problems += _impossible(visit, programme, today, cells.where)
            rows.append(TallyRow(cells.where, visit))
            if not cells.problems:
                _take_stage(cells, visit, programme, stages)
        problems += cells.problems
    problems += _doubles(rows)
    return rows, list(stages.values()), problems


def _impossible(visit: Visit, programme: Programme, today: date, where: str) -> list[Problem]:
    """What is impossible; that a row says nothing is no fault of the file, since it is no entry."""
    if visit.says_something or visit.estimated or visit.recount:
        return list(check_visit(visit, programme, today=today, where=where))
    standing_in = replace(visit, no_reading=NoReading.SKIPPED)
    return list(check_visit(standing_in, programme, today=today, where=where))


def _doubles(rows: Sequence[TallyRow]) -> list[Problem]:
    problems = []
    seen: dict[tuple[str, date, bool], str] = {}
    for row in rows:
        key = (row.visit.trap, row.visit.read_on, row.visit.recount)
        if key in seen:
            named = f"{plain(row.visit.trap, _SHOWN)} on {row.visit.read_on}"
            hint = f"the first is {seen[key].rpartition(', ')[2]}; one of the two may mean another trap"
            problems.append(Problem(row.where, f"a second row for {named}", hint))
        seen.setdefault(key, row.where)
    return problems


def visit_in(cells: Cells) -> Visit | None:
    """What a row says of its trap; None where it has no day. What is wrong stays with the cells.

    Args:
        cells: The row.
    """
    trap = cells.label("trap", needed=True)
    day = cells.day("read_on", needed=True)
    said = {one.attribute: _cell(cells, one) for one in _VISIT.fields if not one.required}
    read_on = parse_day(day or "")
    return None if read_on is None else Visit(trap=trap, read_on=read_on, **said)


def _cell(cells: Cells, one: EntryField) -> Any:
    if one.name in _LURES:
        return _LURES[one.name](cells)
    if one.words is not None:
        word = cells.choice(one.name, [*one.words])
        return one.words(word) if word else None
    if one.form is Form.FLAG:
        return cells.yes_no(one.name, default=bool(one.default))
    if one.form is Form.WHOLE:
        return cells.whole(one.name, one.fact.least or 0, one.fact.most or MOST_MOTHS)
    return cells.text(one.name)


def _lure(cells: Cells) -> str | None:
    value = cells.label("lure")
    word = value.casefold()
    if word == "no":
        cells.refuse("lure", "'no' can be read in two ways", "leave it blank, or write none for a trap without a lure")
    return None if not value else word if word in (YES, NONE) else value


def _body(cells: Cells) -> str | None:
    value = cells.label("body")
    word = value.casefold()
    if word == "none":
        cells.refuse("body", "'none' is no label", "write yes, no, or the label of the new body")
    return None if word in ("", "no") else YES if word == YES else value


def _lure_found(cells: Cells) -> str | None:
    value = cells.label("lure_found")
    word = value.casefold()
    if word in ("yes", "no"):
        cells.refuse("lure_found", f"'{word}' is neither a lot nor a species", "write what was found, or none")
    return None if not value else NONE if word == NONE else value


_LURES = {"lure": _lure, "body": _body, "lure_found": _lure_found}


def _take_stage(cells: Cells, visit: Visit, programme: Programme, stages: dict[tuple[str, date], StageRow]) -> None:
    code = cells.raw("stage")
    if not code:
        return
    if len(code) != 2 or not (code.isascii() and code.isdigit()):
        cells.refuse("stage", f"'{plain(code, _SHOWN)}' is no stage", "write its two-digit code, as 07 or 65")
        return
    hanging = programme.hanging(visit.trap, visit.read_on)
    block = hanging.block if hanging else ""
    row = StageRow(cells.where, StageSeen(block=block, seen_on=visit.read_on, code=code, scout=visit.scout))
    first = stages.setdefault((block, visit.read_on), row)
    if first.seen.code != code:
        cells.refuse(
            "stage",
            f"block {plain(block, _SHOWN)} has {code} here and {first.seen.code} on {first.where.rpartition(', ')[2]}",
            "a block has one stage on a day",
        )


def read_keying(path: Path) -> list[KeyedRow]:
    """Rows of a tally file, whatever is set up; nothing is recorded.

    Args:
        path: The file.

    Returns:
        Its rows in order, those without an entry included: to leave a row blank is to key it.

    Raises:
        ProblemsError: Something in it is malformed.
    """
    name = plain(path.name, 80)
    content, problem = read_bytes(path)
    problems: list[Problem] = [problem] if problem is not None else []
    rows: list[KeyedRow] = []
    if problem is None:
        csv_rows, found = read_csv(name, content, REQUIRED, OPTIONAL)
        problems += found
        for csv_row in csv_rows:
            cells = Cells(csv_row, name)
            visit = visit_in(cells)
            problems += cells.problems
            if visit is not None:
                rows.append(
                    KeyedRow(
                        trap=visit.trap,
                        read_on=visit.read_on,
                        draft=draft_of(visit),
                        stage=cells.raw("stage"),
                        recount=visit.recount,
                    )
                )
    if problems:
        raise ProblemsError(f"{name} cannot be compared", tuple(problems), "correct the file")
    return rows
