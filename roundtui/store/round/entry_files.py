"""Files of entries made beside the weekly count: looks, treatments, specimens, parts, assemblies and stock.

A file has a column for each field of its record. A row is known by all that it says and by its scout: what is on record
is not added twice, whether it still stands or was corrected since.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

from roundtui.domain.entries import EntryField, Form, kept
from roundtui.domain.orchard_entries import Look, Specimen, TreatmentSaid
from roundtui.domain.programme.farm import Programme
from roundtui.domain.recorded import Recorded
from roundtui.domain.round.checks import in_case, same_scout
from roundtui.domain.season_entries import TempsRead
from roundtui.domain.text import plain
from roundtui.domain.traps.entries import Assembled, PartNoted, Stocked
from roundtui.errors import Problem, ProblemsError
from roundtui.store.connect import transaction
from roundtui.store.csv_file import Cells, read_bytes, read_csv
from roundtui.store.journal import Author, record
from roundtui.store.read import programme as read_programme
from roundtui.store.rows import Table, table_of

KINDS: dict[str, type[Recorded]] = {
    "samples": Look,
    "treatments": TreatmentSaid,
    "specimens": Specimen,
    "parts": PartNoted,
    "assemblies": Assembled,
    "stock": Stocked,
}
"""Kinds of files, by the word that a person names them with."""
_CHECKS = {
    Look: ("roundtui.domain.sampling.findings", "check_look"),
    TreatmentSaid: ("roundtui.domain.figures.treatments", "check_treatment"),
    Specimen: ("roundtui.domain.round.specimens", "check_specimen"),
    PartNoted: ("roundtui.domain.traps.assembly", "check_part"),
    Assembled: ("roundtui.domain.traps.assembly", "check_assembly"),
    Stocked: ("roundtui.domain.inventory.stock", "check_stock"),
}
"""Where each kind says what is impossible of it."""
_MOST = 99_999
_SHOWN = 40


@dataclass(slots=True)
class FileEntered:
    """What became of a file."""

    added: list[Recorded] = field(default_factory=list)
    """Entries put on record."""
    known: int = 0
    """Rows that were on record before."""


def columns_of(kind: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Columns that a file of a kind must have, and those that it may have.

    Args:
        kind: One of ``KINDS``.
    """
    own = table_of(KINDS[kind]).own
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
    name = plain(path.name, 80)
    content, problem = read_bytes(path)
    rows, found = ([], (problem,)) if problem is not None else read_csv(name, content, *columns_of(kind))
    problems = list(found)
    table = table_of(KINDS[kind])
    entries: list[Recorded] = []
    for row in rows:
        cells = Cells(row, name)
        values = {one.name: _value(cells, one) for one in table.own}
        if not cells.problems:
            values = _as_set_up(values, known)
            problems += _unknown(cells, table, values, known)
            if values[table.day] > today:
                cells.refuse(table.day, f"{values[table.day]} is in the future", "correct the date")
            elif not problems:
                entry = KINDS[kind](**{one.attribute: values[one.name] for one in table.own})
                problems += [Problem(cells.where, one.message, one.hint) for one in _impossible(entry, known)]
                entries.append(entry)
        problems += cells.problems
    if problems:
        raise ProblemsError(f"{name} was not entered; nothing was added", tuple(problems), "correct the file")
    report = FileEntered()
    with transaction(conn):
        new = []
        for entry in entries:
            if _on_record(conn, table, entry, author):
                report.known += 1
            else:
                new.append(entry)
        report.added += record(conn, list(dict.fromkeys(new)), author, now)
    return report


def _value(cells: Cells, one: EntryField) -> Any:
    column, needed = one.name, one.required
    if one.words is not None:
        word = cells.choice(column, [*one.words])
        if word is None and needed and not cells.raw(column):
            cells.refuse(column, "is blank", f"one of {', '.join(one.words)}")
        return None if word is None or word not in [*one.words] else one.words(word)
    if one.form is Form.DAY:
        text = cells.day(column, needed=needed)
        return date.fromisoformat(text) if text else None
    if one.form is Form.WHOLE:
        return cells.whole(column, 0, one.fact.most or _MOST, needed=needed)
    if one.form is Form.FLAG:
        return cells.yes_no(column, default=bool(one.default))
    if column == "species":
        return cells.species(column, needed=needed)
    text = cells.label(column, needed=needed) if needed and column != "pest" else cells.text(column)
    return text or None if one.blank else text


def _as_set_up(values: dict[str, Any], programme: Programme) -> dict[str, Any]:
    """Labels in the letter case of the set-up."""
    known = {"block": programme.blocks, "trap": programme.hangings, "lot": programme.lots}
    return {
        column: in_case(value, known[column]) if column in known and value else value
        for column, value in values.items()
    }


def _unknown(cells: Cells, table: Table, values: dict[str, Any], programme: Programme) -> list[Problem]:
    if not table.known:
        return []
    known: dict[str, Iterable[str]] = {
        "block": programme.blocks,
        "trap": programme.hangings,
        "lot": programme.lots,
    }
    label = values[table.place]
    if label in known[table.place]:
        return []
    words = f"there is no {table.place} {plain(label, _SHOWN)}"
    return [Problem(f"{cells.where}, {table.place}", words, "check the label, or set it up first")]


def contradictions(entry: Recorded, programme: Programme) -> Iterable[Problem]:
    """What an entry that was made elsewhere cannot say, wherever a trap hung since.

    Args:
        entry: The entry.
        programme: What is set up.
    """
    if isinstance(entry, TempsRead):
        from roundtui.store.season.weather_by_hand import check_temps

        return check_temps(programme, entry, date.max)
    if isinstance(entry, Specimen):
        from roundtui.domain.round.specimens import impossible

        return impossible(entry, None)
    return _impossible(entry, programme)


def _impossible(entry: Recorded, programme: Programme) -> Iterable[Problem]:
    module, name = _CHECKS[type(entry)]
    found: Iterable[Problem] = getattr(import_module(module), name)(entry, programme)
    return found


def _on_record(conn: sqlite3.Connection, table: Table, entry: Recorded, author: Author) -> bool:
    said = tuple(kept(getattr(entry, one.attribute)) for one in table.own)
    same = " AND ".join(f"{one.name} IS ?" for one in table.own)
    rows = conn.execute(f"SELECT scout FROM {table.name} WHERE {same}", said)  # noqa: S608
    return any(same_scout(scout, author.scout) for (scout,) in rows)
