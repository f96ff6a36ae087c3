"""Farms, blocks, traps, lots and routes out of a person's table, as rows of their set-up file."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from pathlib import Path

from roundtui.domain.programme.farm import Programme, spread
from roundtui.domain.programme.species import species_code
from roundtui.domain.text import sanitize
from roundtui.errors import ProblemsError
from roundtui.store.bring.answers import Answers, RowsReader, TableFound
from roundtui.store.bring.counts import Labels
from roundtui.store.bring.table import FOR_ALL, Kind, Table, head_key, number_of, yes_no
from roundtui.store.csv_file import Cells, CsvRow, csv_rows
from roundtui.store.files import csv_text, scratch, whole_file
from roundtui.store.office import files_here
from roundtui.store.set_up.columns import BY_NAME, YES_NO, SetUpFile, misfits
from roundtui.store.set_up.load import load_folder
from roundtui.store.set_up.load_checks import LoadReport

_KINDS = {one.name: one.kind for file in BY_NAME.values() for one in file.cells}
_NUMBERS = ("number", "exact", "whole")
_ACRE_HA = Decimal("0.40468564224")
"""An international acre. [ha]"""
_WITH_UNIT = re.compile(r"([+-]?[\d.,]+)\s*[^\W\d]{1,6}\.?")
Fields = dict[str, str]


@dataclass(slots=True)
class SetUpFound(TableFound):
    """What a table would bring to a set-up file."""

    file: SetUpFile = BY_NAME["farms.csv"]
    """The file."""
    new: list[Fields] = field(default_factory=list)
    """Rows that the file has not."""
    changed: list[Fields] = field(default_factory=list)
    """Rows that it has otherwise."""
    same: int = 0
    """Rows that it has."""

    @property
    def brings(self) -> int:
        """Rows that are new or changed."""
        return len(self.new) + len(self.changed)

    def says(self) -> list[str]:
        """What was read, in words."""
        counts = f"{len(self.new)} new, {len(self.changed)} changed, {self.same} as they are"
        return [] if self.questions else [f"{self.so_many}: {counts}"]

    def sample(self, most: int) -> list[tuple[str, ...]]:
        """Columns that say something, and the first rows."""
        rows = [*self.new, *self.changed]
        columns = tuple(column for column in self.file.columns if any(row.get(column) for row in rows))
        return [columns, *(tuple(row.get(column, "") for column in columns) for row in rows[:most])]


def preview_set_up(
    conn: sqlite3.Connection, tables: Iterable[Table], programme: Programme, answers: Answers
) -> SetUpFound:
    """Read a table as rows of a set-up file; nothing is written.

    Args:
        conn: The store.
        tables: The tables of the file.
        programme: What is set up.
        answers: What was said of such tables.

    Raises:
        ProblemsError: The set-up file of the folder is faulty.
    """
    file = BY_NAME["lures.csv" if answers.kind is Kind.LOTS else f"{answers.kind}.csv"]
    found = SetUpFound(answers, file=file)
    here = {_key(file, row): row for row in rows_here(answers.folder, file)}
    seen: dict[tuple[str, ...], Fields] = {}
    for table in tables:
        reader = _Reader(table, found, programme, conn)
        if found.questions:
            continue
        reader.codes |= {head_key(row["name"]): row[file.key[0]] for row in here.values() if row.get("name")}
        for line, fields in reader.rows():
            _sort_in(found, here, seen, fields, f"{table.name}, line {line}")
    return found


def _sort_in(
    found: SetUpFound,
    here: Mapping[tuple[str, ...], Fields],
    seen: dict[tuple[str, ...], Fields],
    fields: Fields,
    where: str,
) -> None:
    key = _key(found.file, fields)
    if key in seen:
        if any(seen[key].get(column) != text for column, text in fields.items() if text):
            words = "is there twice and says two things; the first is taken"
            found.faults.add(words, " ".join(key), where, "take one of the two out")
        return
    seen[key] = fields
    if key not in here:
        found.new.append(fields)
    elif any(_differs(column, here[key].get(column, ""), text) for column, text in fields.items() if text):
        found.changed.append({**here[key], **{column: text for column, text in fields.items() if text}})
    else:
        found.same += 1


def _differs(column: str, one: str, other: str) -> bool:
    if column == "position" and one:
        return False  # A route that was walked stays in its order until somebody says otherwise.
    if _KINDS.get(column) in _NUMBERS and one:
        return Decimal(one) != Decimal(other)
    return one != other and not (column in YES_NO and (one or "no") == other)


def _key(file: SetUpFile, fields: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(fields.get(column, "") for column in file.key)


class _Reader(RowsReader):
    """Rows of one table, each as fields of the set-up file."""

    def __init__(self, table: Table, found: SetUpFound, programme: Programme, conn: sqlite3.Connection) -> None:
        super().__init__(table, found)
        self.file, self.programme, self.found, self.conn = found.file, programme, found, conn
        self.kind = self.answers.kind
        self.codes: dict[str, str] = {}
        """Codes of rows by their name, for tables that have names only."""
        self.codeless = self.kind in (Kind.FARMS, Kind.BLOCKS) and self.file.key[0] not in self.places
        self.route = self.answers.fact("route")
        self.labels = Labels(programme)
        known = (("farm", programme.farms), ("block", programme.blocks), ("station", programme.stations))
        self.named = {column: _by_name((code, row.name) for code, row in rows.items()) for column, rows in known}
        self.for_all = {
            column: said
            for column in FOR_ALL
            if column not in self.places and (said := self.answers.fact(column)) not in ("", "?")
        }
        self._ask()
        self.leave(self.others)
        self.acres = "area_ha" in self.places and "acre" in table.head[self.places["area_ha"]].casefold()

    def _ask(self) -> None:
        needed = [column for column in self.file.required if column not in self.places and column not in self.for_all]
        if self.codeless and "name" in self.places:
            needed.remove(self.file.key[0])
        given = {Kind.ROUTES: {"position", "route"}, Kind.BLOCKS: {"name"}, Kind.FARMS: {"name"}}.get(self.kind, set())
        for column in needed:
            if column not in given:
                self.ask_column(column, self.others)
        if self.kind is Kind.ROUTES and "route" not in self.places and not self.route:
            self.ask("route", f"What is the route of {self.table.name} called?")
        days = [at for column, at in self.places.items() if _KINDS.get(column) == "day"]
        self.prove({cells[at] for _, cells in self.table.rows() for at in days})

    def rows(self) -> Iterator[tuple[int, Fields]]:
        """Rows that can be taken, each with its line; what is wrong with the others is noted."""
        position: dict[str, int] = {}
        for stop in self.programme.stops:
            position[stop.route] = max(position.get(stop.route, 0), stop.position)
        for line, cells in self.table.rows():
            self.found.rows += 1
            where = f"{self.table.name}, line {line}"
            before = len(self.found.faults)
            fields = {column: self._field(column, cells[at], where) for column, at in self.places.items()}
            for column, text in self.for_all.items():
                fields[column] = self._field(column, text, where)
            if self.codeless and fields.get("name"):
                fields[self.file.key[0]] = self._code(fields["name"])
            if self.kind in (Kind.BLOCKS, Kind.FARMS) and not fields.get("name"):
                fields["name"] = fields.get(self.file.key[0], "")
            if self.kind is Kind.ROUTES:
                fields.setdefault("route", self.route)
            if len(self.found.faults) > before:
                continue
            for one in self._spread(fields, where):
                if self.kind is Kind.ROUTES and not one.get("position"):
                    position[one["route"]] = position.get(one["route"], 0) + 1
                    one["position"] = str(position[one["route"]])
                kept = {column: text for column, text in one.items() if column in self.file.columns}
                if self._sound(kept, line, where):
                    yield line, kept

    def _spread(self, fields: Fields, where: str) -> list[Fields]:
        """A row for each trap of a range, as T01..T24."""
        labels = spread(fields.get("trap", ""))
        if not labels:
            self.found.faults.add("is no range of traps", fields["trap"], where, "write it as T01..T24")
        elif len(labels) == 1 and self.kind is Kind.ROUTES and labels[0]:
            known = self.labels.find(*filter(None, [fields.get("block", "")]), labels[0])
            labels = [known or labels[0]]
        return [{**fields, "trap": label} if label else fields for label in labels]

    def _sound(self, fields: Fields, line: int, where: str) -> bool:
        """Whether the set-up file can hold a row, and what it names is there."""
        cells = Cells(CsvRow(line, fields), self.table.name)
        values = self.file.read(cells)
        for problem in cells.problems:
            column = problem.where.rpartition(", ")[2]
            words = re.sub(r"^'.*?' ", "", problem.message)
            self.found.faults.add(f"{column}: {words}", fields.get(column, ""), where, problem.hint)
        if cells.problems:
            return False
        wrong = list(misfits(self.conn, self.file, values))
        for one in wrong:
            if one.where == "species":
                self.found.faults.add(one.message.partition(" ")[2], fields["trap"], where, one.hint)
            else:
                self.found.faults.add(f"is no {one.where} that is set up", fields[one.where], where, one.hint)
        return not wrong

    def _field(self, column: str, text: str, where: str) -> str:
        if not text:
            return ""
        kind, add = _KINDS.get(column), self.found.faults.add
        if kind == "day":
            day = self.days.day(text)
            if day is None:
                add("is no date", text, where, "state the order with --dates, or correct it")
            return day.isoformat() if day else ""
        if kind == "yes_no":
            said = yes_no(text)
            if said is None:
                add(f"is neither yes nor no ({column})", text, where, "write yes or no")
            return said or ""
        if kind in _NUMBERS:
            return self._number(column, text, where)
        if column == "species":
            code = species_code(text)
            if code is None:
                add("is no species known here", text, where, "add it to species.csv with its synonyms")
            return code or ""
        named = self.named.get(column, {})
        return text if text in named or column == self.file.key[0] else named.get(head_key(text), text)

    def _number(self, column: str, text: str, where: str) -> str:
        bare = _WITH_UNIT.fullmatch(text)
        number = number_of(bare.group(1) if bare else text)
        if number is None:
            self.found.faults.add(f"is no number ({column})", text, where, "write it in digits")
            return ""
        value = number.value * _ACRE_HA if column == "area_ha" and self.acres else number.value
        return format(round(value, 9).normalize(), "f")

    def _code(self, name: str) -> str:
        """A code for a row that has a name only; the one it was given before, if it was."""
        known = self.codes.get(head_key(name))
        if known:
            return known
        taken = {*self.codes.values(), *self.programme.farms, *self.programme.blocks}
        stem = "".join(head_key(name).split())[:4].upper() or "X"
        code = next(one for at in range(1, 10_000) if (one := stem if at == 1 else f"{stem}{at}") not in taken)
        self.codes[head_key(name)] = code
        self.found.remarks.append(f"no code: {sanitize(name, 30)} is called {code}")
        return code


def _by_name(pairs: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Codes by name and by code, where only one goes by it."""
    found: dict[str, str] = {}
    twice: set[str] = set()
    for code, name in pairs:
        key = head_key(name)
        if key in found:
            twice.add(key)
        found[key] = code
    return {key: code for key, code in found.items() if key not in twice}


def rows_here(folder: Path, file: SetUpFile) -> list[Fields]:
    """Rows of a set-up file of the folder as they are written.

    Args:
        folder: The scouting folder.
        file: The file.

    Raises:
        ProblemsError: It cannot be read.
    """
    paths = files_here(folder, (file.name,)).get(file.name, [])
    if not paths:
        return []
    rows, problems = csv_rows(paths[0], file.name, file.required, file.optional)
    if problems:
        raise ProblemsError(
            f"{file.name} is faulty; nothing was changed", problems, "mend it, and bring the table again"
        )
    return [row.values for row in rows]


def load_rows(
    conn: sqlite3.Connection, folder: Path, file: SetUpFile, rows: Iterable[Fields], now: datetime
) -> tuple[LoadReport, bytes]:
    """Load a set-up file with rows added to it; the file of the folder is left to ``put_file``.

    The store has the rows first, so that they are on record with whatever else is recorded in its transaction.

    Args:
        conn: The store.
        folder: The scouting folder.
        file: The file.
        rows: Rows that are new or changed, by column.
        now: Instant.

    Returns:
        What loading them brought, and the content of the file as it is then.

    Raises:
        ProblemsError: They cannot be loaded; nothing was changed.
    """
    known = {_key(file, row): row for row in rows_here(folder, file)}
    known |= {_key(file, row): row for row in rows}
    columns = file.columns
    content = csv_text([columns, *([row.get(column, "") for column in columns] for row in known.values())]).encode()
    with scratch() as staging:
        (staging / file.name).write_bytes(content)
        return load_folder(conn, staging, now), content


def put_file(folder: Path, file: SetUpFile, content: bytes) -> None:
    """Put a set-up file in the place of the one that is there, under whatever spelling of its name.

    Args:
        folder: The scouting folder.
        file: The file.
        content: What it is to hold.

    Raises:
        StoreError: It cannot be written.
    """
    for path in files_here(folder, (file.name,)).get(file.name, []):
        if path.name != file.name:
            with suppress(OSError):
                path.unlink()
    with whole_file(folder / file.name) as out:
        out.write(content)
