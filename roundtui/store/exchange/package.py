"""The record as open files: a data package. Everything is in it, what was corrected included.

Its form: tables, columns, keys and references, and what each column holds. See ``docs/open-files.md``.

One farm's complete record for an inspector: the same tables, each cut down to that farm. Published demands: complete
records of monitoring and control kept for inspection (Taiwan, quarantine requirements for apples from France, 2012),
given on request (Australia to China, cherries; Washington to Taiwan, apples).
"""

from __future__ import annotations

import hashlib
import json
import re
import sqlite3
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from dataclasses import fields as dataclass_fields
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Any

from roundtui import __version__
from roundtui.domain.entries import ID, NUMBER, EntryField, Form, Recorded
from roundtui.domain.programme.farm import Programme
from roundtui.domain.records import Frozen
from roundtui.domain.text import ruled, sanitize, several
from roundtui.errors import RefusedError, StoreError
from roundtui.store.checks.verify import verify
from roundtui.store.db import AT_ONCE, SCHEMA_VERSION, one_view
from roundtui.store.exchange.merge import Progress
from roundtui.store.files import csv_text, safe_cell, whole_file, write_whole
from roundtui.store.office import office_content, office_here, office_names
from roundtui.store.record.lanes import device_name, lane_names
from roundtui.store.record.read import programme, put_setting
from roundtui.store.record.rows import HEAD, JOURNALS, OTHERS, WITHDRAWALS, Row, Table, instant
from roundtui.store.reports import RELEASED, letters_written, settings_like
from roundtui.store.season.weather import FORECAST
from roundtui.store.set_up.columns import FILES, file_of


class Field(Frozen):
    """One column of a table."""

    kind: str
    """Type as the Table Schema names it: string, integer, number, boolean, date or datetime."""
    about: str
    """What it holds."""
    constraints: dict[str, Any] = field(default_factory=dict)
    """Limits, as the Table Schema names them."""
    default: Any = None
    """What it holds where nothing is said of it."""
    optional: bool = False
    """Whether it has a default at all."""
    blank: bool = False
    """Whether a blank cell stands for no value."""

    def read(self, cell: str) -> Any:
        """A value as an entry says it, or a table keeps it, from its cell.

        Args:
            cell: The cell, as a text that is not escaped.

        Raises:
            ValueError: It is none.
        """
        if not cell and (self.blank or (self.optional and self.default in (None, ""))):
            return self.default
        if self.kind == "boolean":
            return ("no", "yes").index(cell) == 1
        form = {"integer": "-?[0-9]+", "number": NUMBER}.get(self.kind)
        if form and not re.fullmatch(form, cell):
            raise ValueError(cell)
        return int(cell) if self.kind == "integer" else cell


def described(said: Mapping[str, Any]) -> Field:
    """A column that is unknown here, as a descriptor tells of it.

    Args:
        said: What it says.
    """
    kind = said.get("type")
    known = kind if kind in ("boolean", "integer", "number") else "string"
    return Field(known, "", {}, said.get("default"), optional="default" in said)


def _text_of(name: str) -> str:
    return Path(__file__).with_name(name).read_text(encoding="utf-8")


def _columns() -> Iterator[tuple[str, Field]]:
    for name, kind, about, *limits in ruled(_text_of("columns.txt")):
        said = "".join(limits).replace(" ID", json.dumps(ID))
        yield name, Field(kind, about, json.loads(said or "{}"))


FIELDS = dict(_columns())
"""Columns by name; one that several tables have means the same in each."""


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
_MEMBERS = {name: cells for name, *cells in ruled(_text_of("members.txt"))}
WANTED = {name: wanted for name, (_, _, *missed) in _MEMBERS.items() for wanted in missed}
"""What decides what is shown or withheld, and is missing in a package that an older program wrote."""


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
    if name in _MEMBERS:
        slug, about, *_ = _MEMBERS[name]
        return slug, about
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
    fields: tuple[Field, ...] = ()
    """What each column is."""
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
        return [_cell(value, field.kind) for value, field in zip(row, self.fields, strict=True)]

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


def _of_weather(row: list[str]) -> Member:
    name, about, columns, key, others = row
    named = others.split()
    references = tuple((one, other, one) for one, other in zip(named[::2], named[1::2], strict=True))
    return Member(name, about, name, tuple(columns.split()), tuple(key.split()), references=references)


_WEATHER = tuple(map(_of_weather, ruled(_text_of("weather_tables.txt"))))
WEATHER = tuple(member.name for member in _WEATHER)
"""Names of the tables of weather, each after those it refers to."""
_PLACES = {"trap": "traps", "block": "blocks", "station": "stations", "lot": "lures"}


def _set_up(conn: sqlite3.Connection, file: Any) -> Member:
    name = file.name.removesuffix(".csv")
    references = tuple((r.column, r.file.removesuffix(".csv"), r.key) for r in file.references)
    columns = file.columns
    return _made(conn, Member(name, file.about, file.table, columns, file.key, references=references))


def _entries(table: Table) -> Member:
    place: tuple[Reference, ...] = (
        ((table.place, _PLACES[table.place], table.place),) if table.known and table.place in _PLACES else ()
    )
    own: tuple[Reference, ...] = () if table in (WITHDRAWALS, OTHERS) else (("replaces", "", "id"),)
    fields = [*_HEAD.items(), *((one.name, field_of(one)) for one in table.own), *_TAIL.items()]
    return Member(
        table.name,
        table.about,
        table.name,
        tuple(name for name, _ in fields),
        ("id",),
        tuple(field for _, field in fields),
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
_TAIL = {name: FIELDS[name] for name in ("extra", "lane", "no", "previous", "form", "sha256")}
_TAIL |= {name: replace(FIELDS[name], default="", optional=True) for name in ("extra", "previous")}


def _made(conn: sqlite3.Connection, member: Member) -> Member:
    """A member with what the store's own table says of its columns."""
    said = {
        name: (kind, not_null == 0)
        for _, name, kind, not_null, *_ in conn.execute(f"PRAGMA table_info({member.table})")
    }
    fields = []
    for column in member.columns:
        kind, may_be_none = said.get(column, ("TEXT", False))
        known = FIELDS.get(column) or Field(_KINDS.get(kind, "string"), f"The entry's {column}.")
        fields.append(replace(known, blank=may_be_none))
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
    for column, kept in zip(member.columns, member.fields, strict=True):
        said: dict[str, Any] = {"name": column, "type": kept.kind, "description": kept.about}
        if kept.optional:
            said["default"] = kept.default
        if kept.kind == "boolean":
            said |= {"trueValues": ["yes"], "falseValues": ["no"]}
        constraints = dict(kept.constraints)
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


Keeps = Callable[[Member, dict[str, Any]], bool]
"""Says of a table and a row, by column, whether the row is written."""


def write_package(
    conn: sqlite3.Connection, folder: Path, to: Path, now: datetime, progress: Progress | None = None
) -> dict[str, int]:
    """Write the whole record as a data package: a table a CSV file, and what they are in ``datapackage.json``.

    Args:
        conn: The store.
        folder: The scouting folder, for the office's own files.
        to: Folder to write into; files of an earlier package there are replaced.
        now: Instant of writing.
        progress: Is told the table, how many of its rows are written, and how many there are.

    Returns:
        Rows by table.

    Raises:
        StoreError: The store cannot be read, or a file not be written.
    """
    with one_view(conn):
        carried = dict(_carried(conn, folder))
        copied = [_copy(name, content, to / DATA / name) for name, content in carried.items()]
        rows = write_tables(conn, to, members(conn), now, more=copied, progress=progress)
    for old in (to / DATA).rglob("*"):
        name = old.relative_to(to / DATA).as_posix()
        if name not in carried and is_carried(name):
            old.unlink()
    return rows


def write_tables(
    conn: sqlite3.Connection,
    to: Path,
    tables: Iterable[Member],
    now: datetime,
    keeps: Keeps | None = None,
    *,
    more: Sequence[dict[str, Any]] = (),
    progress: Progress | None = None,
) -> dict[str, int]:
    """Write tables and what describes them, inside one view of the store.

    Args:
        conn: The store.
        to: Folder to write into.
        tables: The tables, in the order in which they are written.
        now: Instant of writing.
        keeps: Says of a table and a row, by column, whether it is written; None: all are.
        more: Further files that are described.
        progress: As for ``write_package``.

    Returns:
        Rows by table.
    """
    rows: dict[str, int] = {}
    resources = []
    for member in tables:
        size, digest, rows[member.name] = _write_table(conn, to / member.path, member, keeps, progress)
        resources.append(describe(member, size, digest))
    resources += more
    descriptor = {
        "name": "scouting-record",
        "title": "Record of an orchard pest-trapping programme",
        "description": "Set-up and every entry, corrections and withdrawals included. Cells that a spreadsheet would"
        " take for formulas begin with an apostrophe; control characters and backslashes are escaped with a backslash.",
        "profile": "data-package",
        "created": now.isoformat(timespec="seconds"),
        "roundtui": {"form": FORM, "schema": SCHEMA_VERSION, "version": __version__, "whole": keeps is None},
        "resources": resources,
    }
    with whole_file(to / DESCRIPTOR) as file:
        file.write((json.dumps(descriptor, indent=1) + "\n").encode())
    return rows


def _write_table(
    conn: sqlite3.Connection, path: Path, member: Member, keeps: Keeps | None, progress: Progress | None
) -> tuple[int, str, int]:
    digest, size, count = hashlib.sha256(), 0, 0
    (total,) = conn.execute(f'SELECT count(*) FROM "{member.table}"').fetchone()  # noqa: S608
    rows, lanes = conn.execute(member.select), lane_names(conn)
    with whole_file(path) as file:
        batch: list[list[str]] = [list(member.columns)]
        read = True
        while batch or read:
            content = csv_text(batch).encode()
            file.write(content)
            digest.update(content)
            size += len(content)
            found = [member.shown(row, lanes) for row in rows.fetchmany(AT_ONCE)]
            read = bool(found)
            if keeps is not None:
                found = [row for row in found if keeps(member, dict(zip(member.columns, row, strict=True)))]
            batch = [member.cells(row) for row in found]
            count += len(batch)
            if progress is not None:
                progress(member.name, count, total)
    return size, digest.hexdigest(), count


def _carried(conn: sqlite3.Connection, folder: Path) -> Iterator[tuple[str, bytes]]:
    """What decides what is shown or withheld and is no table: the office's files, and what was said already."""
    here = office_here(folder)
    try:
        for name in sorted(office_names(folder)):
            content = office_content(folder, name, here.get(name))
            if content is not None:
                yield name, content
        for name in (FORECAST, RELEASED):
            if (folder / name).is_file():
                yield name, (folder / name).read_bytes()
    except OSError as error:
        raise StoreError(
            f"a file of {sanitize(str(folder), 200)} cannot be read: {error.strerror or error}", "check who may read it"
        ) from error
    kept = [row for row in conn.execute("SELECT key, value FROM settings ORDER BY key") if row[0].startswith(KEPT_KEYS)]
    yield KEPT, (json.dumps(dict(kept), indent=1, ensure_ascii=True) + "\n").encode()


def _copy(name: str, content: bytes, to: Path) -> dict[str, Any]:
    with whole_file(to) as copy:
        copy.write(content)
    slug, words = resource_of(name)
    toml = name.endswith(".toml")
    return {
        "name": slug,
        "description": words,
        "path": f"{DATA}/{name}",
        "format": "toml" if toml else "txt",
        "mediatype": "application/toml" if toml else "text/plain",
        "encoding": "utf-8",
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
    }


PAGE = "inspection.txt"
"""File that says what the others hold."""
RowSaid = Mapping[str, Any]


class _Farm:
    """What of a record is one farm's.

    Args:
        known: What is set up.
        farm: Code of the farm.
    """

    def __init__(self, known: Programme, farm: str) -> None:
        self.known, self.farm = known, farm
        self.blocks = {code for code, block in known.blocks.items() if block.farm == farm}
        self.hangings = {
            trap: [row for row in rows if row.block in self.blocks] for trap, rows in known.hangings.items()
        }
        self.stations = {known.blocks[code].station for code in self.blocks} - {"", None}
        self.lots = {row.lot for rows in self.hangings.values() for row in rows}
        self.entries: set[str] = set()
        self.imports: set[int] = set()
        self.people: set[str] = set()
        self.recorded: list[str] = []

    def has_trap(self, trap: str, day: str) -> bool:
        """Whether a trap hung in a block of the farm, on a day where one is given."""
        rows = self.hangings.get(trap, [])
        return any(row.hangs_on(date.fromisoformat(day)) for row in rows) if day else bool(rows)

    def keeps(self, member: Member, row: RowSaid) -> bool:
        """Whether a row is about this farm; an entry that is kept takes along the lot it names, and its withdrawal."""
        if member.name == "set_up_changes":
            return False  # Such a row may tell of the farm a trap went to; the register says what holds here.
        if member.journal is not None:
            kept = self._entry(row, member.journal.day)
            if kept:
                self.entries.add(row["id"])
                self.recorded.append(row["recorded_at"])
                self.people.add(row["scout"])
                self.lots |= {row.get("lure") or "", row.get("lure_found") or ""}
            return kept
        about: dict[str, tuple[str, Collection[Any]]] = {
            "species": ("species", {row.get("species")}),
            "farms": ("farm", {self.farm}),
            "blocks": ("block", self.blocks),
            "traps": ("block", self.blocks),
            "routes": ("trap", {trap for trap, rows in self.hangings.items() if rows}),
            "lures": ("lot", self.lots),
            "people": ("person", self.people),
            "weather_imports": ("import", self.imports),
        }
        column, mine = about.get(member.name, ("station", self.stations))
        return row.get(column) in mine

    def _entry(self, row: RowSaid, day: str) -> bool:
        if "entry" in row:
            return row["entry"] in self.entries
        if row.get("trap"):
            return self.has_trap(row["trap"], str(row.get(day) or ""))
        return row.get("block") in self.blocks or (bool(row.get("station")) and row["station"] in self.stations)


def write_inspection(
    conn: sqlite3.Connection, farm: str, to: Path, now: datetime, *, sent: tuple[str, str] = ("", "")
) -> Mapping[str, int]:
    """Write everything on record about one farm, and nothing about another.

    Args:
        conn: The store.
        farm: Code of the farm.
        to: Folder to write into.
        now: Instant of writing.
        sent: Agency it is sent to, and by whom: kept, so that the next one says what came since; empty: to nobody.

    Returns:
        Rows by table.

    Raises:
        StoreError: There is no such farm, the store cannot be read, or a file not be written.
    """
    with one_view(conn):
        known = programme(conn)
        if farm not in known.farms:
            raise StoreError(f"there is no farm {sanitize(farm, 40)}", "use a code of farms.csv")
        mine = _Farm(known, farm)
        if mine.stations:
            marks = ", ".join("?" * len(mine.stations))
            days = f"SELECT DISTINCT import FROM weather_days WHERE station IN ({marks})"  # noqa: S608
            mine.imports = {row[0] for row in conn.execute(days, sorted(mine.stations))}
        # Entries first: they name the lots and what was withdrawn.
        every = sorted(members(conn), key=lambda one: (one.journal is None, "entry" in one.columns))
        rows = write_tables(conn, to, every, now, mine.keeps)
    digest = hashlib.sha256((to / DESCRIPTOR).read_bytes()).hexdigest()
    write_whole(to / PAGE, _page(conn, mine, rows, digest))
    if sent[0].strip():
        put_setting(conn, f"sent/{farm}/{instant(now)}", json.dumps([*sent, digest]))
    return rows


def _sent(conn: sqlite3.Connection, mine: _Farm) -> Iterator[str]:
    """What was sent to agencies before, and how many entries have come since."""
    for key, value in settings_like(conn, f"sent/{mine.farm}/"):
        at, (agency, by, digest) = key.rsplit("/", 1)[1], json.loads(value)
        later = several(sum(one > at for one in mine.recorded), "entry or correction", "entries or corrections")
        who = f"to {sanitize(agency, 60)} by {sanitize(by, 60) or 'nobody named'}"
        yield f"  {at[:16]} UTC {who}, {later} of these since; digest {digest}"


def _page(conn: sqlite3.Connection, mine: _Farm, rows: Mapping[str, int], digest: str) -> str:
    known, farm = mine.known, mine.known.farms[mine.farm]
    lines = [f"Record of {sanitize(farm.name, 80)} ({sanitize(farm.farm, 40)}) for inspection"]
    lines += [f"Property number: {sanitize(farm.property_no, 60) or 'not on record'}", "", "Blocks"]
    for code in sorted(mine.blocks):
        block = known.blocks[code]
        markets = ", ".join(sanitize(one, 40) for one in block.markets) or "none on record"
        area = f"{float(block.area_ha):g} ha" if block.area_ha is not None else "area not on record"
        unit = sanitize(block.unit_no, 60) or "not on record"
        lines.append(f"  {sanitize(code, 40)} {sanitize(block.name, 60)}: unit {unit}, {area}, markets: {markets}")
    lines += ["", "Traps"]
    for trap, hangings in mine.hangings.items():
        for row in hangings:
            place = f"{row.lat:.5f}, {row.lon:.5f}" if row.lat is not None and row.lon is not None else "no coordinates"
            span = f"{row.hung_on or 'day unknown'} to {row.down_on or 'now'}"
            lines.append(f"  {sanitize(trap, 40)} {row.species}, block {sanitize(row.block, 40)}, {span}, {place}")
    lines += ["", "Rows in the tables beside this page, corrections and withdrawals included"]
    lines += [f"  {name.replace('_', ' ')}: {count}" for name, count in rows.items() if count]
    written = letters_written(conn, date.max, date.min).get(mine.farm, ())
    lines += ["", f"Letters written to the grower: {len(written)}"]
    for one in written:
        lines.append(f"  of {one.round_on}, written {one.at:%Y-%m-%d} by {sanitize(one.by, 60) or 'nobody named'}")
    checks = list(verify(conn, device_name()))
    faults = sum(len(one.faults) for one in checks)
    state = "sound" if not faults else f"{faults} faults"
    lines += ["", "Sent to agencies before", *(list(_sent(conn, mine)) or ["  nothing on record"])]
    lines += ["", f"Check of the whole record: {state}. Digest of {DESCRIPTOR} (SHA-256): {digest}"]
    lines.append("Free words of the people who entered them stand as they are. Nothing here says that fruit is clean.")
    return "\n".join(lines) + "\n"
