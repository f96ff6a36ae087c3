"""Columns of the open files: what each holds, in words and as a type."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

_DIGEST = {"pattern": "[0-9a-f]{64}"}
_ID = {"pattern": "[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}"}
_REASONS = ("skipped", "closed", "missing", "down", "damaged", "other")
_STATUS = ("below", "within", "over", "cannot-tell", "no-rule", "not-read")


@dataclass(frozen=True, slots=True)
class Field:
    """One column of a table."""

    kind: str
    """Type as the Table Schema names it: string, integer, number, boolean, date or datetime."""
    about: str
    """What it holds."""
    constraints: dict[str, Any] = field(default_factory=dict)
    """Limits, as the Table Schema names them."""


def _text(about: str, **constraints: Any) -> Field:
    return Field("string", about, constraints)


def _label(about: str) -> Field:
    return Field("string", about)


def _flag(about: str) -> Field:
    return Field("boolean", about)


def _day(about: str) -> Field:
    return Field("date", about)


FIELDS: dict[str, Field] = {
    # Of every entry.
    "id": _text("Universal id of the row, in the order of time (RFC 9562, version 7).", **_ID),
    "recorded_at": Field("datetime", "Instant of recording, UTC."),
    "scout": _text("Who recorded it."),
    "device": _text("Laptop it was recorded on."),
    "replaces": _text("Id of the entry that this one corrects; the other stays on record.", **_ID),
    "reason": _text("Why it was corrected or taken back."),
    "sha256": _text("SHA-256 of what the entry says, as it was recorded.", **_DIGEST),
    # Visits.
    "trap": _label("Label of the trap; it keeps its species for life."),
    "read_on": _day("Day of the visit."),
    "count": Field(
        "integer",
        "Moths in the trap. Zero is a count; blank is no count.",
        {"minimum": 0, "maximum": 9999},
    ),
    "no_reading": _text("Why it was not counted.", enum=_REASONS),
    "cleared": _flag("Whether the moths were taken out."),
    "liner": _flag("Liner replaced."),
    "lure": _label("Lure replaced: a lot, yes for the trap's own species, none for taken out; blank: left alone."),
    "kill_strip": _flag("Kill strip replaced."),
    "body": _label("Body replaced: its label, or yes for a clean one without; blank: left alone."),
    "note": _text("Free words."),
    "others": Field("integer", "Other insects in the trap.", {"minimum": 0, "maximum": 9999}),
    "estimated": _flag("The count is an estimate."),
    "lure_found": _label("Wrong lure found in the trap: a lot, a species, or none; blank: nothing remarked."),
    "recount": _flag("A second look at a catch already counted; never a catch of its own."),
    # Stages and tellings.
    "block": _label("Code of the block."),
    "seen_on": _day("Day of the look."),
    "code": _text("Two-digit BBCH code on the scale of the block's crop.", pattern="[0-9]{2}"),
    "unchanged": _flag("Confirmed as last time rather than chosen anew."),
    "species": _label("Abbreviation of the species, as CM."),
    "round_on": _day("Day of the summary that was told."),
    "status": _text("Status that was told.", enum=_STATUS),
    "told_on": _day("Day of the telling."),
    "told_by": _text("Who told."),
    "how": _text("Phone, letter, in person."),
    # Biofixes and temperatures.
    "season": Field("integer", "Year in which the season started.", {"minimum": 1900, "maximum": 2199}),
    "generation": Field("integer", "Generation of the season, from 1.", {"minimum": 1, "maximum": 9}),
    "day": _day("The day."),
    "proposed": _day("Day that the rule proposed when it was settled."),
    "rule": _text("Rule behind the proposal."),
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
    # Withdrawals.
    "kind": _text(
        "Of a withdrawal the kind of entry taken back; of a look leaf or fruit; of lures bought or counted; of a lot"
        " the kind of lure."
    ),
    "entry": _text("Id of the entry it is about.", **_ID),
    # Questions.
    "says": _text("What is said of the entry.", enum=("asked", "answered", "closed")),
    "words": _text("The question or the answer; what a grower called a treatment; why the register was changed."),
    "about_on": _day("Day that the entry is about."),
    # Looks at leaf and fruit, treatments, and what else was in a trap.
    "looked_on": _day("Day of the look."),
    "pest": _text("What was looked for; blank for any injury of fruit."),
    "looked_at": _text("What was counted: leaf, shoot, cluster, tree, truss, tap or fruit."),
    "looked": Field("integer", "Units looked at.", {"minimum": 1}),
    "found": Field("integer", "Units with it; of fruit those injured, stings apart.", {"minimum": 0}),
    "plan": _text("Plan that the look was walked by."),
    "counted": Field("integer", "Single animals or marks on all units together.", {"minimum": 0}),
    "grade": Field("integer", "Severity, 0 absent to 5 severe.", {"minimum": 0, "maximum": 5}),
    "beneficials": Field("integer", "Units with a predator or parasite.", {"minimum": 0}),
    "entries": Field("integer", "Fruit with an entry.", {"minimum": 0}),
    "stings": Field("integer", "Fruit with a sting only.", {"minimum": 0}),
    "other_injury": Field("integer", "Fruit injured by something else.", {"minimum": 0}),
    "trees": Field("integer", "Trees the look was spread over.", {"minimum": 1}),
    "place": _text("Where: in the block, or in the store."),
    "treated_on": _day("Day of the treatment."),
    "said_by": _text("Reported by."),
    "what": _text("What it was: a kind, a species, or unknown."),
    "number": Field("integer", "How many.", {"minimum": 0}),
    "vial": _text("Number on the vial that was taken."),
    "in_count": _flag("Counted as the trap's own species."),
    "identified_on": _day("Day on which it was identified."),
    "identified_by": _text("Who identified it."),
    # Kit.
    "label": _label("Label on the part."),
    "part": _text("Which part of a trap.", enum=("body", "funnel", "lid")),
    "state": _text("What became of the part.", enum=("new", "stored", "lost", "discarded")),
    "noted_on": _day("Day of it."),
    "assembled_on": _day("Day on which the trap was put together."),
    "despite": _text("Why the trap was put together in spite of what was named."),
    "stocked_on": _day("Day on which the lures were bought or counted."),
    "file": _text("Set-up file of the row."),
    "deed": _text("What was done to the row."),
    "done_on": _day("Day from which the change holds."),
    "was": _text("The row before, as a JSON object; blank where there was none."),
    "becomes": _text("The row after, as a JSON object; blank where it is gone."),
    # Set-up.
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
