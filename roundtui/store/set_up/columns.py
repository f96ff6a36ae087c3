"""The set-up files: their columns, and how a row becomes a row of the store."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from roundtui.domain.units import HIGHEST, LOWEST, TempUnit
from roundtui.store.csv_file import Cells

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
