"""The form of a data package of the record: its tables, their columns, keys and references. See ``docs/open-files.md``.

Tables of entries follow from the journal: a kind of entry that is added there is in the package as well.
"""

from __future__ import annotations

import hashlib
import re
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from dataclasses import fields as dataclass_fields
from decimal import Decimal, InvalidOperation
from functools import cached_property
from typing import Any

from roundtui.domain.entries import EntryField, Form
from roundtui.domain.recorded import NUMBER, Recorded
from roundtui.errors import RefusedError
from roundtui.store.files import safe_cell
from roundtui.store.package.fields import FIELDS, Field, kept_cell
from roundtui.store.reports.letters import RELEASED
from roundtui.store.rows import HEAD, JOURNALS, OTHERS, WITHDRAWALS, Row, Table
from roundtui.store.season.forecast import FORECAST
from roundtui.store.set_up.columns import FILES, file_of

DESCRIPTOR = "datapackage.json"
"""File that says what the others are."""
DATA = "data"
"""Folder of the tables, apart, so that nobody takes the package for a scouting folder."""
FORM = 1
"""Version of the form; it changes when an older program could misread a package."""
KEPT = "kept.json"
"""Member that holds which letters were written, what stood above them, and what the area was told."""
KEPT_KEYS = ("area/", "letter/", "letter-note/")
"""How the settings begin that it holds."""
WANTED = {
    "letters.toml": "which farms declined the area update",
    RELEASED: "what the area was told",
    KEPT: "which letters were written",
}
"""What decides what is shown or withheld, and is missing in a package that an older program wrote."""
_WORDS = {
    "thresholds.toml": ("thresholds", "The office's own rules."),
    "models.toml": ("models", "The office's own models."),
    "looks.toml": ("sample-plans", "The office's own plans for samples of leaf and fruit."),
    "letters.toml": ("letters", "What the office says of its letters, and who declined the area update."),
    "plan.toml": ("plan", "The office's plan of a season."),
    FORECAST: ("forecast", "Temperatures of days to come, as they were forecast last."),
    RELEASED: ("published-weeks", "What the area was told, a figure a line."),
    KEPT: ("kept", "Letters written, notes above them, and what the area was told, by setting."),
}


def is_carried(name: str) -> bool:
    """Whether a file that is no table belongs in a package: the office's own, and what keeps things shown or withheld.

    Args:
        name: Its name, from the scouting folder.
    """
    file = file_of(name)
    return name in (FORECAST, RELEASED, KEPT) or (file is not None and file.whole)


def resource_of(name: str) -> tuple[str, str]:
    """Name and words of such a file in the package.

    Args:
        name: Its name, from the scouting folder.
    """
    if name in _WORDS:
        return _WORDS[name]
    slug = re.sub("[^a-z0-9]+", "-", name.lower()).strip("-")
    return f"{slug}-{hashlib.sha256(name.encode()).hexdigest()[:6]}", "A file of the office's own."


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
        listed = self.journal.whole if self.journal else ", ".join(f'"{column}"' for column in self.columns)
        order = ", ".join(f'"{column}"' for column in self.key)
        return f'SELECT {listed} FROM "{self.table}" ORDER BY {order}'  # noqa: S608

    def cells(self, row: Row) -> list[str]:
        """A row as cells.

        Args:
            row: Its values, as the columns have them.
        """
        return [_cell(value, field.kind) for value, (field, _) in zip(row, self.fields, strict=True)]

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
                found[column] = None if not cell and may_be_none else kept_cell(cell, field.kind)
            except (ValueError, InvalidOperation) as error:
                raise ValueError(f"{column} is no {field.kind}") from error
        return found

    def shown(self, row: Row, lanes: Mapping[int, str]) -> Row:
        """A row as the columns have it: an entry with the name of its lane, and digests in words.

        Args:
            row: Values as ``select`` gives them.
            lanes: Names of lanes by their number in the store.
        """
        if self.journal is None:
            return row
        *values, lane, no, previous, form, digest = row
        return (*values, lanes[lane], no, previous.hex(), form, digest.hex())


def members(conn: sqlite3.Connection) -> tuple[Member, ...]:
    """The tables of a package, each after those it refers to.

    Args:
        conn: A store.
    """
    found = [_set_up(conn, file) for file in FILES]
    found += [_made(conn, member) for member in _WEATHER]
    return (*found, *map(_entries, JOURNALS))


_ABOUT = {
    "species": "Species of the office's own, and what it calls those that ship.",
    "stations": "Weather stations.",
    "farms": "Growers' holdings.",
    "blocks": "Pieces of orchard judged as one.",
    "lures": "Lots of lures.",
    "traps": "Hangings of traps: a row for each time a trap was hung.",
    "routes": "Stops of the routes in walking order.",
    "normals": "Temperatures as they normally are, by station and day of the year.",
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
        "Daily temperatures in versions: of a station and day, the row of the latest import holds.",
        "weather_days",
        ("station", "day", "import", "tmin", "tmax", "unit", "observed_at"),
        ("station", "day", "import"),
        references=(("station", "stations", "station"), ("import", "weather_imports", "import")),
    ),
    Member(
        "weather_hours",
        "Readings through the day in versions: of a station, day and clock, the row of the latest import holds.",
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


def _entries(table: Table) -> Member:
    place: tuple[Reference, ...] = (
        ((table.place, _PLACES[table.place], table.place),) if table.known and table.place in _PLACES else ()
    )
    own: tuple[Reference, ...] = () if table in (WITHDRAWALS, OTHERS) else (("replaces", "", "id"),)
    fields = [*_HEAD.items(), *((one.name, field_of(one)) for one in table.own), *_TAIL.items()]
    return Member(
        table.name,
        table.of.about,
        table.name,
        tuple(name for name, _ in fields),
        ("id",),
        tuple((field, field.optional) for _, field in fields),
        place + own,
        table,
    )


def field_of(one: EntryField) -> Field:
    """A field of an entry as a column of an open file.

    Args:
        one: The field.
    """
    limits: dict[str, Any] = {"minimum": one.fact.least, "maximum": one.fact.most}
    number = one.fact.pattern == NUMBER
    limits["pattern"] = None if number else one.fact.pattern or None
    limits["enum"] = tuple(word.value for word in one.words) if one.words else None
    default = bool(one.default) if one.form is Form.FLAG else one.default
    return Field(
        "number" if number else one.form.value,
        one.fact.words,
        {name: value for name, value in limits.items() if value is not None},
        None if one.required else default,
        optional=not one.required,
    )


_COMMON = {one.name: one.metadata["fact"] for one in dataclass_fields(Recorded)}
_HEAD = {
    name: Field(
        "datetime" if name == "recorded_at" else "string",
        _COMMON[name].words,
        {"pattern": _COMMON[name].pattern} if _COMMON[name].pattern else {},
        "",
        optional=name not in HEAD[:3],
    )
    for name in HEAD
}
_TAIL = {
    "extra": Field("string", "What only a newer program knows of the entry, a JSON object.", {}, "", optional=True),
    "lane": Field("string", "Lane it was recorded on: folder, laptop, running number."),
    "no": Field("integer", "Its number on the lane, from 1.", {"minimum": 1}),
    "previous": Field(
        "string",
        "Digest of the entry before it on the lane; blank for the first.",
        {"pattern": "[0-9a-f]{64}"},
        "",
        True,
    ),
    "form": Field("integer", "Version of the rule by which the digest is made.", {"minimum": 1}),
    "sha256": Field("string", "SHA-256 of what the entry says.", {"pattern": "[0-9a-f]{64}"}),
}


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
        if field.optional:
            said["default"] = field.default
        if field.kind == "boolean":
            said |= {"trueValues": ["yes"], "falseValues": ["no"]}
        constraints = dict(field.constraints)
        if column in member.key and not (member.table == "traps" and column == "hung_on"):
            constraints["required"] = True
        if member.key == (column,):
            constraints["unique"] = True
        fields.append(said | ({"constraints": constraints} if constraints else {}))
    kind = {"kind": member.journal.kind} if member.journal else {}
    return kind | {
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
