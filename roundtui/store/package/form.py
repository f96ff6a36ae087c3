"""The form of a data package of the record: its tables, their columns, keys and references. See ``docs/open-files.md``.

Tables of entries follow from the journal: a kind of entry that is added there is in the package as well.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from functools import cached_property
from typing import Any

from roundtui.errors import RefusedError
from roundtui.store.digests import JOURNALS
from roundtui.store.files import plain_text, safe_cell
from roundtui.store.package.fields import FIELDS, Field
from roundtui.store.rows import WITHDRAWALS, Row, Table
from roundtui.store.set_up.columns import FILES

DESCRIPTOR = "datapackage.json"
"""File that says what the others are."""
DATA = "data"
"""Folder of the tables, apart, so that nobody takes the package for a scouting folder."""
FORM = 1
"""Version of the form; it changes when an older program could misread a package."""
OFFICE_FILES = ("thresholds.toml", "models.toml", "looks.toml")
"""Files of the office that a verdict depends on; they are in the package as they are."""
OFFICE_RESOURCES = {
    "thresholds.toml": ("thresholds", "The office's own rules."),
    "models.toml": ("models", "The office's own models."),
    "looks.toml": ("look-plans", "The office's own plans for looks at leaf and fruit."),
}
"""Name and words of each in the package; a table is called looks already."""

_KINDS = {"TEXT": "string", "INTEGER": "integer", "REAL": "number"}
Reference = tuple[str, str, str]
"""A column, and the table and column in which its values are to be found."""


class PackageError(RefusedError):
    """A package that is not read; nothing was changed.

    Args:
        message: What is wrong, and where in it.
        hint: What to do next.
    """

    def __init__(self, message: str, hint: str = "export it again where it comes from") -> None:
        super().__init__(message, f"{hint}; nothing was changed")


@dataclass(frozen=True)
class Member:
    """One table of the package."""

    name: str
    """Its name; its file is named after it."""
    about: str
    """What its rows are."""
    table: str
    """Table of the store."""
    columns: tuple[str, ...]
    """Columns in order."""
    key: tuple[str, ...]
    """Columns that tell its rows apart."""
    fields: tuple[tuple[Field, bool], ...] = ()
    """Of each column, what it is and whether a blank cell stands for no value."""
    references: tuple[Reference, ...] = ()
    """Columns that name rows of other tables."""
    journal: Table | None = None
    """Kind of entry, where the rows are entries."""

    @property
    def path(self) -> str:
        """Its file, from the package's folder."""
        return f"{DATA}/{self.name}.csv"

    @cached_property
    def select(self) -> str:
        """Statement that reads its rows in order."""
        listed = ", ".join("digest" if column == "sha256" else f'"{column}"' for column in self.columns)
        order = ", ".join(f'"{column}"' for column in self.key)
        return f'SELECT {listed} FROM "{self.table}" ORDER BY {order}'  # noqa: S608

    def cells(self, row: Row) -> list[str]:
        """A row as cells.

        Args:
            row: Values as the store has them.
        """
        return [_cell(value, field.kind) for value, (field, _) in zip(self.sound(row), self.fields, strict=True)]

    def values(self, cells: Iterable[str]) -> dict[str, Any]:
        """A row from its cells, by column, each value as the store has it.

        Args:
            cells: One for each column.

        Raises:
            ValueError: A cell cannot be read; the message names its column.
        """
        found = {}
        for column, cell, (field, may_be_none) in zip(self.columns, cells, self.fields, strict=True):
            try:
                found[column] = None if not cell and may_be_none else _value(cell, field.kind)
            except (ValueError, InvalidOperation) as error:
                raise ValueError(f"{column} is no {field.kind}") from error
        return found

    def sound(self, row: Row) -> Row:
        """A row with its digest in words; that of an entry is worked out where it came on record without."""
        if self.journal is None:
            return row
        return (*row[:-1], (row[-1] or self.journal.digest(row[:-1])).hex())


LATER = ("species", "normals", "weather_hours")
"""Tables other than of entries that packages of the first schemas lack."""
LATER_COLUMNS = frozenset({"property_no", "group", "unit_no", "markets", "kind", "substrate"})
"""Columns of set-up tables that they lack."""


def members(conn: sqlite3.Connection) -> tuple[Member, ...]:
    """The tables of a package, each after those it refers to.

    Args:
        conn: A store.
    """
    found = [_set_up(conn, file) for file in FILES]
    found += [_made(conn, member) for member in _WEATHER]
    return (*found, *(_entries(conn, table) for table in JOURNALS))


_ABOUT = {
    "species": "Species of the office's own, and what it calls those that ship.",
    "stations": "Weather stations.",
    "farms": "Growers' holdings.",
    "blocks": "Pieces of orchard judged as one.",
    "lures": "Lots of lures.",
    "traps": "Hangings of traps: a row for each time a trap was hung.",
    "routes": "Stops of the routes in walking order.",
    "normals": "Temperatures as they normally are, by station and day of the year.",
    "visits": "Entries about traps, those that were corrected or taken back included.",
    "stages": "Fruit stages seen, corrected ones included.",
    "tellings": "Growers told what a block showed, corrected ones included.",
    "questions": "Questions about entries, their answers and their ends.",
    "biofixes": "Biofixes settled, corrected ones included.",
    "temperatures": "Temperatures read off a thermometer and entered, corrected ones included.",
    "looks": "Looks at leaf and fruit, corrected ones included.",
    "treatments": "Treatments that growers spoke of, corrected ones included.",
    "specimens": "Other catch in a trap, by kind, corrected ones included.",
    "parts": "What became of labelled parts of traps, corrected entries included.",
    "assemblies": "Traps put together before they were hung, corrected entries included.",
    "stocks": "Lures bought or counted, corrected entries included.",
    "set_up_changes": "Changes of the register made in the app.",
    "withdrawals": "Entries taken back without another in their place.",
}
_WEATHER = (
    Member(
        "weather_imports",
        "Files of daily temperatures that were read, one row for each reading that brought something new.",
        "weather_imports",
        ("import", "id", "recorded_at", "scout", "device", "source", "format"),
        ("import",),
    ),
    Member(
        "weather_days",
        "Daily temperatures in versions: of a station and day, the row of the latest import stands.",
        "weather_days",
        ("station", "day", "import", "tmin", "tmax", "unit", "observed_at"),
        ("station", "day", "import"),
        references=(("station", "stations", "station"), ("import", "weather_imports", "import")),
    ),
    Member(
        "weather_hours",
        "Readings through the day in versions: of a station, day and clock, the row of the latest import stands.",
        "weather_hours",
        ("station", "day", "clock", "import", "unit", "readings"),
        ("station", "day", "clock", "import"),
        references=(("station", "stations", "station"), ("import", "weather_imports", "import")),
    ),
)
WEATHER = tuple(member.name for member in _WEATHER)
"""Names of the tables of weather, each after those it refers to."""
_PLACES = {"trap": "traps", "block": "blocks", "station": "stations", "lot": "lures"}


def _set_up(conn: sqlite3.Connection, file: Any) -> Member:
    name = file.name.removesuffix(".csv")
    references = tuple((r.column, r.file.removesuffix(".csv"), r.key) for r in file.references)
    columns = (*file.required, *file.optional)
    return _made(conn, Member(name, _ABOUT[name], file.table, columns, file.key, references=references))


def _entries(conn: sqlite3.Connection, table: Table) -> Member:
    place: tuple[Reference, ...] = (
        ((table.place, _PLACES[table.place], table.place),) if table.known and table.place in _PLACES else ()
    )
    own: tuple[Reference, ...] = () if table is WITHDRAWALS else (("replaces", "", "id"),)
    about = _ABOUT.get(table.name, f"Entries of the kind {table.kind}.")
    columns = (*table.columns, "sha256")
    return _made(conn, Member(table.name, about, table.name, columns, ("id",), references=place + own, journal=table))


def _made(conn: sqlite3.Connection, member: Member) -> Member:
    """A member with what the store's own table says of its columns."""
    said = {
        name: (kind, not_null == 0)
        for _, name, kind, not_null, *_ in conn.execute(f"PRAGMA table_info({member.table})")
    }
    fields = []
    for column in member.columns:
        kind, may_be_none = said.get(column, ("TEXT", False))
        fields.append((FIELDS.get(column) or Field(_KINDS.get(kind, "string"), f"The entry's {column}."), may_be_none))
    return replace(member, fields=tuple(fields))


def _cell(value: Any, kind: str) -> str:
    if value is None:
        return ""
    if kind == "boolean":
        return "yes" if value else "no"
    if kind == "number":
        # Never as 1e-05, which neither people nor the set-up files read.
        return value if isinstance(value, str) else format(Decimal(repr(value)).normalize(), "f")
    return str(value) if kind == "integer" else safe_cell(str(value))


def _value(cell: str, kind: str) -> Any:
    if kind == "boolean":
        return {"yes": 1, "no": 0}[cell] if cell in ("yes", "no") else _no(cell)
    if kind == "integer":
        return int(cell) if cell.isascii() and cell.lstrip("-").isdigit() else _no(cell)
    if kind == "number":
        return cell if Decimal(cell).is_finite() else _no(cell)
    return plain_text(cell)


def _no(cell: str) -> Any:
    raise ValueError(cell)


def describe(member: Member, size: int, digest: str) -> dict[str, Any]:
    """What the descriptor says of a table.

    Args:
        member: The table.
        size: Length of its file. [bytes]
        digest: SHA-256 of its file.
    """
    fields = []
    for column, (field, _) in zip(member.columns, member.fields, strict=True):
        said: dict[str, Any] = {"name": column, "type": field.kind, "description": field.about}
        if field.kind == "boolean":
            said |= {"trueValues": ["yes"], "falseValues": ["no"]}
        constraints = dict(field.constraints)
        if column in member.key and not (member.table == "traps" and column == "hung_on"):
            constraints["required"] = True
        if member.key == (column,):
            constraints["unique"] = True
        fields.append(said | ({"constraints": constraints} if constraints else {}))
    return {
        "name": member.name,
        "description": member.about,
        "type": "table",
        "profile": "tabular-data-resource",
        "path": member.path,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": size,
        "hash": f"sha256:{digest}",
        "schema": {
            "fields": fields,
            "missingValues": [""],
            "primaryKey": list(member.key),
            "foreignKeys": [
                {"fields": [column], "reference": {"resource": resource, "fields": [other]}}
                for column, resource, other in member.references
            ],
        },
    }
