"""Columns of the open files that are no fields of entries: what each holds, in words and as a type."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

from roundtui.domain.recorded import ID
from roundtui.store.files import plain_text

_ID = {"pattern": ID}


@dataclass(frozen=True, slots=True)
class Field:
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

    def read(self, cell: str) -> Any:
        """A value as an entry says it, from its cell.

        Args:
            cell: The cell.

        Raises:
            ValueError: It is none.
        """
        if not cell and self.optional and self.default is None:
            return None
        if not cell and self.kind in ("boolean", "integer"):
            raise ValueError(cell)
        value = kept_cell(cell, self.kind) if cell else ""
        return value == 1 if self.kind == "boolean" else value


def kept_cell(cell: str, kind: str) -> Any:
    """A value as a table keeps it, from its cell.

    Args:
        cell: The cell.
        kind: Type of its column.

    Raises:
        ValueError: It is none.
    """
    if kind == "boolean":
        if cell not in ("yes", "no"):
            raise ValueError(cell)
        return int(cell == "yes")
    if kind == "integer":
        if not (cell.isascii() and cell.lstrip("-").isdigit()):
            raise ValueError(cell)
        return int(cell)
    if kind == "number":
        try:
            if not Decimal(cell).is_finite():
                raise ValueError(cell)
        except InvalidOperation as error:
            raise ValueError(cell) from error
        return cell
    return plain_text(cell)


def described(said: Mapping[str, Any]) -> Field:
    """A column that is unknown here, as a descriptor tells of it.

    Args:
        said: What it says.
    """
    kind = said.get("type")
    known = kind if kind in ("boolean", "integer", "number") else "string"
    return Field(known, "", {}, said.get("default"), optional="default" in said)


def _text(about: str, **constraints: Any) -> Field:
    return Field("string", about, constraints)


def _label(about: str) -> Field:
    return Field("string", about)


def _flag(about: str) -> Field:
    return Field("boolean", about)


def _day(about: str) -> Field:
    return Field("date", about)


FIELDS: dict[str, Field] = {
    # Of weather, and of several.
    "id": _text("Universal id of the row, in the order of time (RFC 9562, version 7).", **_ID),
    "recorded_at": Field("datetime", "Instant of recording, UTC."),
    "scout": _text("Who recorded it."),
    "device": _text("Laptop it was recorded on."),
    "trap": _label("Label of the trap; it keeps its species for life."),
    "note": _text("Free words."),
    "block": _label("Code of the block."),
    "species": _label("Abbreviation of the species, as CM."),
    "day": _day("The day."),
    "station": _label("Code of the weather station."),
    "tmin": Field("number", "Lowest air temperature of the day, in the row's unit."),
    "tmax": Field("number", "Highest air temperature of the day, in the row's unit."),
    "unit": _text("Unit of the temperatures.", enum=("F", "C")),
    "observed_at": _text("Hour at which the thermometer was read, HH:MM on the station's clock."),
    "month_day": _text("Day of the year, MM-DD.", pattern="[0-9]{2}-[0-9]{2}"),
    "import": Field("integer", "Number of the import that brought it; a later one stands before an earlier."),
    "source": _text("File it came from."),
    "format": _text("Form of that file.", enum=("weather", "ghcn", "hourly")),
    "clock": _text("Clock that day and hours go by: UTC or the station's.", enum=("UTC", "station")),
    "readings": _text("Hour and temperature in turn, in order of time, set apart by blanks: 00:00 41.5 01:00 40."),
    # Set-up.
    "kind": _text("Kind of lure."),
    "farm": _label("Code of the farm."),
    "name": _text("Name as people say it."),
    "grower": _text("Whom to call."),
    "email": _text("Where letters go."),
    "phone": _text("Where calls go."),
    "visit_last": _flag("Walk this farm after all others, for hygiene."),
    "lat": Field("number", "Latitude, north positive. [degrees]", {"minimum": -90, "maximum": 90}),
    "lon": Field("number", "Longitude, east positive. [degrees]", {"minimum": -180, "maximum": 180}),
    "elevation_m": Field("number", "Height above sea level. [m]"),
    "timezone": _text("IANA time zone of the station's clock."),
    "crop": _text("Crop, which decides the scale of stages."),
    "variety": _text("Variety planted."),
    "area_ha": Field("number", "Area. [ha]", {"minimum": 0}),
    "disrupted": _flag("Under mating disruption."),
    "no_entry_before": _day("First day on which the block may be entered again."),
    "lot": _label("Lot of lures."),
    "load_mg": Field("number", "Pheromone load of one lure. [mg]", {"minimum": 0}),
    "life_days": Field("integer", "Field life stated for the lot. [d]", {"minimum": 1}),
    "bought_on": _day("Day of purchase."),
    "expires_on": _day("Last day on which it may be put out."),
    "style": _text("Trap style, as delta."),
    "row": _text("Orchard row."),
    "tree": _text("Tree in the row."),
    "hung_on": _day("Day it was hung; blank where unknown."),
    "down_on": _day("Day it was taken down; blank while it hangs."),
    "edge": _flag("Hangs at the edge, beside the block's figure."),
    "height_m": Field("number", "Height above ground. [m]", {"minimum": 0}),
    "body_label": _label("Label of the trap body."),
    "funnel_label": _label("Label of the funnel."),
    "lid_label": _label("Label of the lid."),
    "route": _label("Name of the route."),
    "property_no": _text("Number of the property in the region's register."),
    "group": _text("Group of farms that it is counted with."),
    "unit_no": _text("Number of the block on the property's plan."),
    "markets": _text("Markets the fruit is meant for, set apart by semicolons."),
    "substrate": _text("What carries the pheromone, as rubber septum."),
    "latin": _text("Scientific name."),
    "synonyms": _text("Other names by which it is known, set apart by semicolons."),
    "lure_days": Field("integer", "Usual field life of its lure. [d]", {"minimum": 1}),
    "position": Field("integer", "Place in the order of walking; only the order counts.", {"minimum": 0}),
}
"""Columns by name; one that several tables have means the same in each."""
