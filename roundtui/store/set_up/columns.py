"""One set-up row: what it may say, what people call it, and as a line of its CSV file.

The set-up files: their columns, and how a row becomes a row of the store.
What tells two states of a set-up row apart, in its file, in the store and on another laptop.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from types import MappingProxyType
from typing import Any

from roundtui.domain.programme.farm import natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import nearest
from roundtui.domain.text import SHOWN, ruled, sanitize
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit
from roundtui.errors import Problem
from roundtui.store.csv_file import Cells, CsvRow
from roundtui.store.exchange.lines import Why, WrongLineError
from roundtui.store.files import is_office


def values_of(file: SetUpFile, row: Any) -> Values:
    """The whole of a row from its columns that are not blank, held to what its file may say.

    Columns that only a newer program knows are left out.

    Args:
        file: Its file.
        row: The columns.

    Raises:
        WrongLineError: It is none that could have been loaded.
    """
    if not isinstance(row, dict) or not all(type(value) in (str, int, float) for value in row.values()):
        raise WrongLineError(Why.SHAPE, "its row is no object of texts and numbers")
    row = {column: value for column, value in row.items() if column in file.columns}
    if file.whole:
        if row.get("name") != file.name or not isinstance(row.get("text", ""), str):
            raise WrongLineError(Why.LIMITS, f"{file.name} is not kept under its name")
        return {"name": file.name, "text": row.get("text", "")}
    cells = Cells(CsvRow(0, {column: cell(column, value) for column, value in row.items()}), file.name)
    values = file.read(cells)
    for problem in cells.problems:
        column = problem.where.rpartition(", ")[2]
        raise WrongLineError(Why.LIMITS, f"{column} of a row of {file.name}: {problem.message}")
    texts = [value for value in row.values() if isinstance(value, str)]
    if said(values) != row or any(text != text.strip() or "\x00" in text for text in texts):
        raise WrongLineError(Why.LIMITS, f"the row {named(file, values)} is not written as roundtui writes it")
    return values


def named(file: SetUpFile, values: Mapping[str, Any]) -> str:
    """A row as people call it: its labels.

    Args:
        file: Its file.
        values: The row.
    """
    return " ".join(sanitize(str(values[column]), SHOWN) for column in file.key if values[column] not in (None, ""))


def cell(column: str, value: Any) -> str:
    """One value as its CSV file can hold it.

    Args:
        column: Its column.
        value: The value.
    """
    if value is None:
        return ""
    if column in YES_NO and value in (0, 1) and type(value) is int:
        return "yes" if value else "no"
    if isinstance(value, float):
        return format(Decimal(repr(value)), "f")
    return str(value)


def cells_of(file: SetUpFile, values: Mapping[str, Any]) -> dict[str, str]:
    """A row as its file would hold it, by column."""
    return {column: cell(column, values.get(column)) for column in file.columns}


Values = dict[str, Any]


class Reference(Frozen):
    """A column that names a row of another file."""

    column: str
    """The column."""
    table: str
    """Table of the rows it names."""
    key: str
    """Their key."""
    file: str
    """File they come from."""


class Column(Frozen):
    """A column of a set-up file."""

    name: str
    """As the header has it."""
    kind: str = "text"
    """What it holds; ``reference`` is the label of a row of another file."""
    low: int = 0
    """Least number."""
    high: int = 0
    """Greatest number."""
    needed: bool = False
    """Whether it may not be blank."""

    def read(self, cells: Cells) -> Any:
        """What a row says in it; ``cells`` keeps what is wrong with that."""
        match self.kind:
            case "yes_no":
                return int(cells.yes_no(self.name))
            case "reference":
                return cells.label(self.name, needed=self.needed) or ("" if self.needed else None)
            case "number" | "exact":
                return getattr(cells, self.kind)(self.name, self.low, self.high)
            case "whole":
                return cells.whole(self.name, self.low, self.high, needed=self.needed)
            case "day" | "month_day" | "raw":
                return getattr(cells, self.kind)(self.name)
        return getattr(cells, self.kind)(self.name, needed=self.needed)


class SetUpFile(Frozen):
    """A set-up file and the table it fills."""

    name: str
    """File name."""
    table: str
    """Its table."""
    key: tuple[str, ...]
    """Columns that tell rows apart."""
    cells: tuple[Column, ...]
    """Its columns, those that every row has first."""
    references: tuple[Reference, ...] = ()
    """Columns that name a row of another file."""
    whole: bool = False
    """Whether the file is one row: its name and its text."""
    about: str = ""
    """What its rows are."""

    @property
    def required(self) -> tuple[str, ...]:
        """Columns that the file must have."""
        return tuple(one.name for one in self.cells if one.needed)

    @property
    def optional(self) -> tuple[str, ...]:
        """Columns that it may have."""
        return tuple(one.name for one in self.cells if not one.needed)

    @property
    def columns(self) -> tuple[str, ...]:
        """All of its columns, in order."""
        return tuple(one.name for one in self.cells)

    def key_of(self, values: Values) -> tuple[Any, ...]:
        """What tells a row apart from the others of its file."""
        return tuple(values[column] for column in self.key)

    def read(self, cells: Cells) -> Values:
        """A row of the file as a row of its table; ``cells`` keeps what is wrong with it."""
        values = {one.name: one.read(cells) for one in self.cells}
        if self.table in _CHECKS:
            _CHECKS[self.table](cells, values)
        return values


def _lot(cells: Cells, values: Values) -> None:
    _refuse_word(cells, "lot", values["lot"], "lot")


def _species(cells: Cells, values: Values) -> None:
    values["species"] = values["species"].upper()
    _refuse_word(cells, "species", values["species"], "species")


def _refuse_word(cells: Cells, column: str, label: str, what: str) -> None:
    if label.casefold() in ("yes", "no", "none"):
        cells.refuse(column, f"a {what} cannot be called '{label}'", "that word has a meaning of its own in a tally")


def _trap(cells: Cells, values: Values) -> None:
    values["hung_on"] = values["hung_on"] or ""
    if values["down_on"] is not None and values["down_on"] < values["hung_on"]:
        cells.refuse("down_on", f"{values['down_on']} is before it was hung", "correct one of the two dates")


def _normal(cells: Cells, values: Values) -> None:
    unit = TempUnit(cells.choice("unit", [*TempUnit]) or TempUnit.F)
    low, high = (cells.number(column, LOWEST[unit], HIGHEST[unit]) for column in ("tmin", "tmax"))
    values.update(tmin=low, tmax=high, unit=unit.value)
    for column in ("tmin", "tmax", "unit"):
        if not cells.raw(column):
            cells.refuse(column, "is blank", "write F or C" if column == "unit" else "write the temperature")
    if low is not None and high is not None and low > high:
        cells.refuse("tmin", f"{low:g} is above the maximum {high:g}", "swap or correct them")


_CHECKS: dict[str, Callable[[Cells, Values], None]] = {
    "lots": _lot,
    "species": _species,
    "traps": _trap,
    "normals": _normal,
}


def _column(text: str) -> Column:
    name, kind, low, high = (*text.split(), "", "", "")[:4]
    return Column(name.removesuffix("!"), kind or "text", int(low or 0), int(high or 0), name.endswith("!"))


def _files() -> Iterator[SetUpFile]:
    named: dict[str, Reference] = {}
    for name, about, table, key, listed in ruled(Path(__file__).with_name("files.txt").read_text(encoding="utf-8")):
        columns = tuple(map(_column, listed.split(", ")))
        references = tuple(named[one.name] for one in columns if one.kind == "reference")
        named.setdefault(columns[0].name, Reference(columns[0].name, table, columns[0].name, name))
        yield SetUpFile(name, table, tuple(key.split()), columns, references, about=about)


FILES = tuple(_files())
"""The set-up files, each after those that its rows name."""
BY_NAME = {file.name: file for file in FILES}
"""The set-up files by name."""
_OFFICE_COLUMNS = (Column("name", "raw", needed=True), Column("text", "raw", needed=True))


def file_of(name: str) -> SetUpFile | None:
    """The file of a name; None where it is none of the set-up, nor of the office's own.

    Args:
        name: Its name, from the folder.
    """
    if name in BY_NAME:
        return BY_NAME[name]
    if is_office(name):
        return SetUpFile(name, "office_files", ("name",), _OFFICE_COLUMNS, whole=True)
    return None


YES_NO = frozenset(one.name for file in FILES for one in file.cells if one.kind == "yes_no")
"""Columns that say yes or no; a no is as good as a blank."""


def rows_in(conn: sqlite3.Connection, file: SetUpFile, *labels: Any) -> dict[str, Values]:
    """The rows of a file as they stand in the store, by key.

    Args:
        conn: The store.
        file: The file.
        labels: Only those whose key begins so.
    """
    labels = labels or ((file.name,) if file.whole else ())
    only = " AND ".join(f"{column} = ?" for column, _ in zip(file.key, labels, strict=False)) or "1"
    cursor = conn.execute(f"SELECT * FROM {file.table} WHERE {only}", labels)  # noqa: S608
    names = [column[0] for column in cursor.description]
    rows = (dict(zip(names, row, strict=True)) for row in cursor)
    return {key_of(file, row): row for row in rows}


def misfits(
    conn: sqlite3.Connection,
    file: SetUpFile,
    values: Values,
    new: Mapping[str, Mapping[str, Any]] = MappingProxyType({}),
) -> Iterator[Problem]:
    """Labels in a row that name no row, and another species than its trap has; each fault with its column.

    Args:
        conn: The store.
        file: Its file.
        values: The row.
        new: Labels that are to come into the store with it, by table; those of traps with their species.
    """
    for reference in file.references:
        label, table = values[reference.column], new.get(reference.table, {})
        known = f"SELECT {reference.key} FROM {reference.table}"  # noqa: S608
        if not label or label in table or conn.execute(f"{known} WHERE {reference.key} = ?", (label,)).fetchone():
            continue
        labels = [*table, *(row[0] for row in conn.execute(known))]
        few = f"; it has {', '.join(sanitize(one, SHOWN) for one in labels)}" if 0 < len(labels) < 6 else ""
        hint = nearest(str(label), labels) or f"add it to {reference.file}{few}"
        yield Problem(reference.column, f"there is no {reference.key} {sanitize(str(label), SHOWN)}", hint)
    if file.table == "traps":
        trap, species = values["trap"], values["species"]
        row = conn.execute("SELECT species FROM traps WHERE trap = ?", (trap,)).fetchone()
        has = row[0] if row else new.get("traps", {}).get(trap, species)
        if has != species:
            words = f"{sanitize(trap, SHOWN)} is a trap for {has} and cannot become one for {species}"
            yield Problem("species", words, "a body keeps its species for life: hang a new trap under a new label")


def put_row(conn: sqlite3.Connection, file: SetUpFile, was: Values | None, becomes: Values | None) -> None:
    """Write a row into its table, or take it out.

    Args:
        conn: The store, inside a transaction.
        file: Its file.
        was: What it said before; None where there was none.
        becomes: What it says from now on; None where it goes.
    """
    where = " AND ".join(f"{column} = ?" for column in file.key)
    if becomes is None:
        if was is not None:
            conn.execute(f"DELETE FROM {file.table} WHERE {where}", file.key_of(was))  # noqa: S608
        return
    columns = [f'"{column}"' for column in becomes]
    if was is not None:
        sets = ", ".join(f"{column} = ?" for column in columns)
        statement = f"UPDATE {file.table} SET {sets} WHERE {where}"  # noqa: S608
        if conn.execute(statement, (*becomes.values(), *file.key_of(was))).rowcount:
            return
    statement = f"INSERT INTO {file.table} ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"  # noqa: S608
    conn.execute(statement, tuple(becomes.values()))


# Made once: a register of ten seasons asks it sixty thousand times.
_ENCODE = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


def key_text(parts: Sequence[Any]) -> str:
    """A key as one text, the same as ``json_array`` of the database makes."""
    return _ENCODE(parts)


def key_of(file: SetUpFile, values: Values) -> str:
    """What tells a row from all others of its file, as one text."""
    return key_text(file.key_of(values))


def said(values: Mapping[str, Any]) -> Values:
    """The columns of a row that are not blank, in the order of their names.

    Args:
        values: The row.
    """
    kept = ((column, value) for column, value in sorted(values.items()) if value not in (None, ""))
    return {column: value for column, value in kept if not (column in YES_NO and value == 0)}


def digest_of(file: SetUpFile, values: Mapping[str, Any]) -> str:
    """What tells two states of a row apart; a column that is blank counts no more than one that is not there.

    Args:
        file: Its file.
        values: The row.

    Returns:
        SHA-256 of a JSON array of the name of the file and its columns that are not blank, in hexadecimal.
    """
    return hashlib.sha256(_ENCODE([file.name, *map(list, said(values).items())]).encode()).hexdigest()


def in_order(file: SetUpFile, values: Values) -> tuple[object, ...]:
    """Rows in the order in which people look for them: by label, stops as they are walked."""
    if file.table == "stops":
        return (natural_key(values["route"]), values["position"], natural_key(values["trap"]))
    if file.table == "traps":
        return (natural_key(values["trap"]), values["hung_on"])
    return tuple(natural_key(str(part)) for part in file.key_of(values))
