"""One set-up row: what it may say, what people call it, and as a line of its CSV file.

The set-up files: their columns, and how a row becomes a row of the store.
What tells two states of a set-up row apart, in its file, in the store and on another laptop.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from roundtui.domain.text import sanitize
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit
from roundtui.store.csv_file import Cells, CsvRow
from roundtui.store.exchange.form import Why
from roundtui.store.exchange.lines import WrongLineError

_SHOWN = 40


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
    row = {column: value for column, value in row.items() if column in {*file.required, *file.optional}}
    if file.whole:
        if row.get("name") != file.name or not isinstance(row.get("text", ""), str):
            raise WrongLineError(Why.LIMITS, f"{file.name} is not kept under its name")
        return {"name": file.name, "text": row.get("text", "")}
    cells = Cells(CsvRow(0, {column: cell(column, value) for column, value in row.items()}), file.name)
    values = file.read(cells)
    for problem in cells.problems:
        column = problem.where.rpartition(", ")[2]
        raise WrongLineError(Why.LIMITS, f"{column} of a row of {file.name}: {problem.message}")
    if said(values) != row or any(isinstance(value, str) and _is_untidy(value) for value in row.values()):
        raise WrongLineError(Why.LIMITS, f"the row {named(file, values)} is not written as roundtui writes it")
    return values


def named(file: SetUpFile, values: Mapping[str, Any]) -> str:
    """A row as people call it: its labels.

    Args:
        file: Its file.
        values: The row.
    """
    return " ".join(sanitize(str(values[column]), _SHOWN) for column in file.key if values[column] not in (None, ""))


def csv_line(file: SetUpFile, values: Mapping[str, Any]) -> str:
    """A row as its CSV file can hold it, all columns in the order of the manual, without the end of the line.

    Args:
        file: Its file.
        values: The row.
    """
    text = io.StringIO()
    cells = [cell(column, values.get(column)) for column in (*file.required, *file.optional)]
    csv.writer(text, lineterminator="").writerow(cells)
    return text.getvalue()


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


def _is_untidy(text: str) -> bool:
    return text != text.strip() or "\x00" in text


Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Reference:
    """A column that names a row of another file."""

    column: str
    """The column."""
    table: str
    """Table of the rows it names."""
    key: str
    """Their key."""
    file: str
    """File they come from."""


@dataclass(frozen=True, slots=True)
class SetUpFile:
    """One set-up file."""

    name: str
    """Its name in the folder."""
    table: str
    """Its table in the store."""
    required: tuple[str, ...]
    """Columns that must be there."""
    optional: tuple[str, ...]
    """Columns that may be there."""
    key: tuple[str, ...]
    """Columns that tell its rows apart."""
    read: Callable[[Cells], Values]
    """Row of the table from the cells of a row; what is wrong stays with the cells."""
    references: tuple[Reference, ...] = ()
    """Columns that must name a row of another file, unless blank."""
    whole: bool = False
    """Whether it is a file of the office's own that is kept as it is, and no table: a TOML file, a template."""

    def key_of(self, values: Values) -> tuple[Any, ...]:
        """What tells a row from all others of its file."""
        return tuple(values[column] for column in self.key)


def _farm(cells: Cells) -> Values:
    return {
        "farm": cells.label("farm", needed=True),
        "name": cells.text("name", needed=True),
        "grower": cells.text("grower"),
        "email": cells.text("email"),
        "phone": cells.text("phone"),
        "visit_last": int(cells.yes_no("visit_last")),
        "property_no": cells.label("property_no"),
        "group": cells.label("group"),
    }


def _station(cells: Cells) -> Values:
    return {
        "station": cells.label("station", needed=True),
        "name": cells.text("name", needed=True),
        "lat": cells.number("lat", -90, 90),
        "lon": cells.number("lon", -180, 180),
        "elevation_m": cells.number("elevation_m", -500, 9000),
        "timezone": cells.text("timezone"),
    }


def _block(cells: Cells) -> Values:
    return {
        "block": cells.label("block", needed=True),
        "farm": cells.label("farm", needed=True),
        "name": cells.text("name", needed=True),
        "crop": cells.text("crop", needed=True),
        "variety": cells.text("variety"),
        "area_ha": cells.exact("area_ha", 0, 100_000),
        "disrupted": int(cells.yes_no("disrupted")),
        "station": cells.label("station") or None,
        "no_entry_before": cells.day("no_entry_before"),
        "unit_no": cells.label("unit_no"),
        "markets": cells.text("markets"),
    }


def _lot(cells: Cells) -> Values:
    lot = cells.label("lot", needed=True)
    if lot.casefold() in ("yes", "no", "none"):
        cells.refuse("lot", f"a lot cannot be called '{lot}'", "that word has a meaning of its own in a tally")
    return {
        "lot": lot,
        "species": cells.species("species", needed=True),
        "load_mg": cells.exact("load_mg", 0, 100_000),
        "life_days": cells.whole("life_days", 1, 3660),
        "note": cells.text("note"),
        "bought_on": cells.day("bought_on"),
        "expires_on": cells.day("expires_on"),
        "kind": cells.label("kind"),
        "substrate": cells.label("substrate"),
    }


def _species(cells: Cells) -> Values:
    code = cells.label("species", needed=True).upper()
    if code.casefold() in ("yes", "no", "none"):
        cells.refuse("species", f"a species cannot be called '{code}'", "that word has a meaning of its own in a tally")
    return {
        "species": code,
        "name": cells.text("name", needed=True),
        "latin": cells.text("latin"),
        "synonyms": cells.text("synonyms"),
        "lure_days": cells.whole("lure_days", 1, 3660),
    }


def _trap(cells: Cells) -> Values:
    values = {
        "trap": cells.label("trap", needed=True),
        "hung_on": cells.day("hung_on") or "",
        "block": cells.label("block", needed=True),
        "species": cells.species("species", needed=True),
        "style": cells.text("style"),
        "row": cells.text("row"),
        "tree": cells.text("tree"),
        "down_on": cells.day("down_on"),
        "edge": int(cells.yes_no("edge")),
        "note": cells.text("note"),
        "lot": cells.label("lot") or None,
        "lat": cells.number("lat", -90, 90),
        "lon": cells.number("lon", -180, 180),
        "height_m": cells.number("height_m", 0, 100),
        "body_label": cells.label("body_label"),
        "funnel_label": cells.label("funnel_label"),
        "lid_label": cells.label("lid_label"),
    }
    hung_on, down_on = str(values["hung_on"]), values["down_on"]
    if isinstance(down_on, str) and down_on < hung_on:
        cells.refuse("down_on", f"{down_on} is before it was hung", "correct one of the two dates")
    return values


def _stop(cells: Cells) -> Values:
    return {
        "route": cells.label("route", needed=True),
        "trap": cells.label("trap", needed=True),
        "position": cells.whole("position", 0, 999_999, needed=True),
    }


def _normal(cells: Cells) -> Values:
    unit = TempUnit(cells.choice("unit", [*TempUnit]) or TempUnit.F)
    values: Values = {
        "station": cells.label("station", needed=True),
        "month_day": cells.month_day("month_day"),
        "tmin": cells.number("tmin", LOWEST[unit], HIGHEST[unit]),
        "tmax": cells.number("tmax", LOWEST[unit], HIGHEST[unit]),
        "unit": unit.value,
    }
    for column in ("tmin", "tmax", "unit"):
        if not cells.raw(column):
            cells.refuse(column, "is blank", "write F or C" if column == "unit" else "write the temperature")
    low, high = values["tmin"], values["tmax"]
    if low is not None and high is not None and low > high:
        cells.refuse("tmin", f"{low:g} is above the maximum {high:g}", "swap or correct them")
    return values


def _person(cells: Cells) -> Values:
    return {
        "person": cells.label("person", needed=True),
        "may_identify": cells.text("may_identify"),
        "trained_on": cells.day("trained_on"),
        "trained_by": cells.text("trained_by"),
        "valid_until": cells.day("valid_until"),
        "licence": cells.text("licence"),
    }


def _office(cells: Cells) -> Values:
    return {"name": cells.raw("name"), "text": cells.raw("text")}


_FARM = Reference("farm", "farms", "farm", "farms.csv")
_STATION = Reference("station", "stations", "station", "stations.csv")
_TRAP = Reference("trap", "traps", "trap", "traps.csv")

FILES = (
    SetUpFile(
        "species.csv", "species", ("species", "name"), ("latin", "synonyms", "lure_days"), ("species",), _species
    ),
    SetUpFile(
        "stations.csv",
        "stations",
        ("station", "name"),
        ("lat", "lon", "elevation_m", "timezone"),
        ("station",),
        _station,
    ),
    SetUpFile(
        "farms.csv",
        "farms",
        ("farm", "name"),
        ("grower", "email", "phone", "visit_last", "property_no", "group"),
        ("farm",),
        _farm,
    ),
    SetUpFile(
        "blocks.csv",
        "blocks",
        ("block", "farm", "name", "crop"),
        ("variety", "area_ha", "disrupted", "station", "no_entry_before", "unit_no", "markets"),
        ("block",),
        _block,
        (_FARM, _STATION),
    ),
    SetUpFile(
        "lures.csv",
        "lots",
        ("lot", "species"),
        ("load_mg", "life_days", "note", "bought_on", "expires_on", "kind", "substrate"),
        ("lot",),
        _lot,
    ),
    SetUpFile(
        "traps.csv",
        "traps",
        ("trap", "block", "species"),
        (
            *("style", "row", "tree", "hung_on", "down_on", "edge", "note", "lot", "lat", "lon", "height_m"),
            *("body_label", "funnel_label", "lid_label"),
        ),
        ("trap", "hung_on"),
        _trap,
        (Reference("block", "blocks", "block", "blocks.csv"), Reference("lot", "lots", "lot", "lures.csv")),
    ),
    SetUpFile("routes.csv", "stops", ("route", "position", "trap"), (), ("route", "trap"), _stop, (_TRAP,)),
    SetUpFile(
        *("people.csv", "people", ("person",)),
        ("may_identify", "trained_on", "trained_by", "valid_until", "licence"),
        *(("person",), _person),
    ),
    SetUpFile(
        "normals.csv",
        "normals",
        ("station", "month_day", "tmin", "tmax", "unit"),
        (),
        ("station", "month_day"),
        _normal,
        (_STATION,),
    ),
)
"""The set-up files, each after those it refers to; ``load_weather`` reads weather.csv, which is kept in versions."""
BY_NAME = {file.name: file for file in FILES}
"""The set-up files by name."""
MOST_OFFICE = 100_000
"""Longest file of the office's own that goes on record. [characters]"""
_OFFICE = re.compile(r"([a-z0-9][a-z0-9_-]{0,40}\.toml|templates/[A-Za-z0-9][A-Za-z0-9_.-]{0,60})")


def file_of(name: str) -> SetUpFile | None:
    """The file of a name; None where it is none of the set-up, nor of the office's own.

    Args:
        name: Its name, from the folder.
    """
    if name in BY_NAME:
        return BY_NAME[name]
    if _OFFICE.fullmatch(name) and ".." not in name:
        return SetUpFile(name, "office_files", ("name", "text"), (), ("name",), _office, whole=True)
    return None


YES_NO = frozenset({"visit_last", "disrupted", "edge"})
"""Columns that say yes or no; a no is as good as a blank."""


def rows_in(conn: sqlite3.Connection, file: SetUpFile) -> dict[str, Values]:
    """The rows of a file as they stand in the store, by key.

    Args:
        conn: The store.
        file: The file.
    """
    only, values = (" WHERE name = ?", (file.name,)) if file.whole else ("", ())
    cursor = conn.execute(f"SELECT * FROM {file.table}{only}", values)  # noqa: S608
    names = [column[0] for column in cursor.description]
    rows = (dict(zip(names, row, strict=True)) for row in cursor)
    return {key_of(file, row): row for row in rows}


def present_rows(conn: sqlite3.Connection, file: SetUpFile) -> dict[str, str]:
    """Digest of each row as it stands in the store, by key."""
    return {key: digest_of(file, values) for key, values in rows_in(conn, file).items()}


def key_text(parts: Sequence[Any]) -> str:
    """A key as one text, the same as ``json_array`` of the database makes."""
    return json.dumps(parts, ensure_ascii=False, separators=(",", ":"))


def key_of(file: SetUpFile, values: Values) -> str:
    """What tells a row from all others of its file, as one text."""
    return key_text(file.key_of(values))


def said(values: Mapping[str, Any]) -> Values:
    """The columns of a row that are not blank, in the order of their names.

    Args:
        values: The row.
    """
    return {column: values[column] for column in sorted(values) if not _is_blank(column, values[column])}


def _is_blank(column: str, value: Any) -> bool:
    return value is None or value == "" or (column in YES_NO and value == 0)


def digest_of(file: SetUpFile, values: Mapping[str, Any]) -> str:
    """What tells two states of a row apart; a column that is blank counts no more than one that is not there.

    Args:
        file: Its file.
        values: The row.

    Returns:
        SHA-256 of a JSON array of the name of the file and its columns that are not blank, in hexadecimal.
    """
    text = json.dumps([file.name, *map(list, said(values).items())], ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
