"""Set-up records: farms, blocks, stations, traps, lures and routes.

Each record mirrors a row of a set-up CSV file, typed. A trap that is taken down and hung again has one
``Trap`` row for each time it hung, because a moved or re-hung trap starts a new series of readings.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import TypeVar

from roundtui.domain.entries import Assembled
from roundtui.domain.records import Frozen


@lru_cache(maxsize=65536)
def natural_key(label: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that puts A2 before A10, whatever the case of the letters.

    Args:
        label: A trap, block or farm label as people write it.

    Returns:
        A tuple that compares runs of digits as numbers and the rest as folded text.
    """
    parts = re.findall(r"[0-9]+|[^0-9]+", label)
    return tuple((0, int(part), "") if part.isascii() and part.isdigit() else (1, 0, part.casefold()) for part in parts)


K = TypeVar("K")
V = TypeVar("V")


def grouped(pairs: Iterable[tuple[K, V]]) -> dict[K, list[V]]:
    """Values by their key, keys and values in the order in which they come."""
    found: dict[K, list[V]] = {}
    for key, value in pairs:
        found.setdefault(key, []).append(value)
    return found


class Farm(Frozen):
    """A grower's holding."""

    farm: str
    """Short code, unique."""
    name: str
    """Name as people say it."""
    grower: str = ""
    """Whom to call."""
    email: str = ""
    """Where letters go."""
    phone: str = ""
    """Where calls go."""
    visit_last: bool = False
    """Walk this farm after all others, for hygiene."""
    property_no: str = ""
    """Number of the property in whatever register the growers of the region are listed in."""
    group: str = ""
    """Group of farms that it is counted with, as an area-wide programme."""


class Block(Frozen):
    """A piece of orchard judged as one."""

    block: str
    """Short code, unique over all farms."""
    farm: str
    """Code of the farm it belongs to."""
    name: str
    """Name as people say it."""
    crop: str
    """Crop, which decides the scale of stages: apple, pear, peach …"""
    variety: str = ""
    """Variety planted."""
    area_ha: Fraction | None = None
    """Area. [ha]"""
    disrupted: bool = False
    """Under mating disruption, which makes a low catch weak evidence."""
    station: str = ""
    """Weather station that stands for the block."""
    no_entry_before: date | None = None
    """First day on which the block may be entered again."""
    unit_no: str = ""
    """Number of the block as the property's plan has it."""
    markets: tuple[str, ...] = ()
    """Markets the fruit is meant for; some have thresholds of their own."""


class Station(Frozen):
    """A weather station."""

    station: str
    """Short code, unique."""
    name: str
    """Name as people say it."""
    lat: float | None = None
    """Latitude, north positive. [°]"""
    lon: float | None = None
    """Longitude, east positive. [°]"""
    elevation_m: float | None = None
    """Height above sea level. [m]"""
    timezone: str = ""
    """IANA time zone of its clock."""


class Trap(Frozen):
    """One hanging of a trap: its place, and from when to when it hung there."""

    trap: str
    """Label of the trap; it keeps its species for life."""
    block: str
    """Code of the block it hangs in."""
    species: str
    """Abbreviation of its one species, as CM."""
    style: str = ""
    """Trap style, as delta; blank where nobody wrote it down."""
    row: str = ""
    """Orchard row."""
    tree: str = ""
    """Tree in the row."""
    hung_on: date | None = None
    """Day it was hung; None where unknown, and then its first entry starts the days."""
    down_on: date | None = None
    """Day it was taken down; None while it hangs."""
    edge: bool = False
    """Hangs at the edge, so it stands beside the block's figure and not in it."""
    note: str = ""
    """Free words from the register."""
    lot: str = ""
    """Lot of the lure it was hung with."""
    lat: float | None = None
    """Latitude, north positive. [°]"""
    lon: float | None = None
    """Longitude, east positive. [°]"""
    height_m: float | None = None
    """Height above ground. [m]"""
    body_label: str = ""
    """Label of the trap body, where it bears one."""
    funnel_label: str = ""
    """Label of the funnel, where it bears one."""
    lid_label: str = ""
    """Label of the lid, where it bears one."""

    @property
    def spot(self) -> list[str]:
        """Where it hangs in its block, as far as that is set up: row, tree, and whether it is an edge trap."""
        words = (f"row {self.row}" if self.row else "", f"tree {self.tree}" if self.tree else "")
        return [*filter(None, words), *(["edge"] if self.edge else [])]

    def hangs_on(self, on: date) -> bool:
        """Whether it hung on a day, the days of hanging and taking down included."""
        return (self.hung_on is None or self.hung_on <= on) and (self.down_on is None or on <= self.down_on)

    def hung_a_night_in(self, first: date, last: date) -> bool:
        """Whether it hung at least one night that ends on a day from ``first`` to ``last``."""
        if self.down_on is not None and (self.down_on < first or self.down_on == self.hung_on):
            return False
        return self.hung_on is None or self.hung_on < last


TRAP_PARTS = ("body_label", "funnel_label", "lid_label")
"""Fields of a hanging, and of a trap assembled, that name its parts."""


def fill(row: Trap, one: Assembled | None) -> Trap:
    """A hanging with what it was assembled with, where the row does not say.

    Args:
        row: The hanging.
        one: How it was assembled; None: nobody wrote it down.
    """
    if one is None:
        return row
    own = {name: getattr(row, name) or getattr(one, name) for name in (*TRAP_PARTS, "lot")}
    return replace(row, **own)


class Lot(Frozen):
    """A lot of lures of one species."""

    lot: str
    """Lot label, unique."""
    species: str
    """Species the lure calls."""
    load_mg: Fraction | None = None
    """Pheromone load of one lure. [mg]"""
    life_days: int | None = None
    """Field life stated for the lot. [d]"""
    note: str = ""
    """Free words."""
    bought_on: date | None = None
    """Day of purchase."""
    expires_on: date | None = None
    """Last day on which it may be put out."""
    kind: str = ""
    """Kind of lure, as combination; blank where nobody wrote it down."""
    substrate: str = ""
    """What carries the pheromone, as rubber septum."""


class Stop(Frozen):
    """A trap's place in a route."""

    route: str
    """Name of the route."""
    position: int
    """Place in the order of walking; only the order counts."""
    trap: str
    """Label of the trap."""


@dataclass(frozen=True)
class Programme:
    """Everything that is set up: the farms, what hangs in them, and the routes that visit it."""

    farms: Mapping[str, Farm] = field(default_factory=dict)
    """Farms by code."""
    blocks: Mapping[str, Block] = field(default_factory=dict)
    """Blocks by code."""
    stations: Mapping[str, Station] = field(default_factory=dict)
    """Weather stations by code."""
    traps: tuple[Trap, ...] = ()
    """Every hanging of every trap, in no promised order."""
    lots: Mapping[str, Lot] = field(default_factory=dict)
    """Lure lots by label."""
    stops: tuple[Stop, ...] = ()
    """Stops of all routes."""

    @cached_property
    def hangings(self) -> Mapping[str, tuple[Trap, ...]]:
        """Hangings of each trap, oldest first; one without a date comes before all others.

        An older hanging that nobody closed ends on the day the next one begins.
        """
        return hangings_by_trap(self.traps)

    @cached_property
    def routes(self) -> Mapping[str, tuple[str, ...]]:
        """Trap labels of each route in walking order."""
        routes = grouped((stop.route, stop) for stop in self.stops)
        found = {}
        for name, stops in sorted(routes.items(), key=lambda item: natural_key(item[0])):
            # A key takes long, and nearly always the place alone is enough.
            if len({stop.position for stop in stops}) < len(stops):
                stops.sort(key=lambda stop: natural_key(stop.trap))
            found[name] = tuple(stop.trap for stop in sorted(stops, key=lambda stop: stop.position))
        return found

    def hanging(self, trap: str, on: date) -> Trap | None:
        """The hanging of a trap that holds on a day; the newer one where two meet on that day."""
        found = None
        for row in self.hangings.get(trap, ()):
            if row.hangs_on(on):
                found = row
        return found

    def place_key(self, block: str, trap: str = "") -> tuple[object, ...]:
        """What places sort by: farm, block and trap, each as people count."""
        return natural_key(self.farm_of(block)), natural_key(block), natural_key(trap)

    def farm_of(self, block: str) -> str:
        """Code of the farm a block belongs to; an empty text for a block nobody knows."""
        known = self.blocks.get(block)
        return known.farm if known else ""


def in_no_route(programme: Programme, on: date) -> tuple[str, ...]:
    """Labels of the traps that hang on a day and that no route visits: nobody is sent to read them.

    Args:
        programme: What is set up.
        on: The day.
    """
    walked = {stop.trap for stop in programme.stops}
    found = [trap for trap in programme.hangings if trap not in walked and programme.hanging(trap, on) is not None]
    return tuple(sorted(found, key=natural_key))


def hangings_by_trap(traps: Iterable[Trap]) -> dict[str, tuple[Trap, ...]]:
    """Group hangings by trap, oldest first, and close those that a later hanging ends.

    Args:
        traps: Hangings in any order.

    Returns:
        For each trap its hangings; ``down_on`` is filled in where a later hanging began while it was open.
    """
    closed: dict[str, tuple[Trap, ...]] = {}
    for label, rows in grouped((row.trap, row) for row in traps).items():
        rows.sort(key=lambda row: row.hung_on or date.min)
        for at, later in enumerate(rows[1:]):
            row = rows[at]
            if later.hung_on is not None and (row.down_on is None or row.down_on > later.hung_on):
                rows[at] = replace(row, down_on=later.hung_on)
        closed[label] = tuple(rows)
    return closed


_RANGE = re.compile(r"(.*?)(\d+)\s*(?:\.\.\.?|…)\s*(.*?)(\d+)")
_MOST_IN_RANGE = 500


def spread(text: str) -> list[str]:
    """Labels that a line of many names, as T01..T24.

    Args:
        text: A label, or the first and the last of a range.

    Returns:
        The label alone where it is no range; none where the range is turned round or too long.
    """
    match = _RANGE.fullmatch(text)
    if match is None:
        return [text]
    first, start, second, end = match.groups()
    numbers = range(int(start), int(end) + 1)
    if second not in ("", first) or len(numbers) > _MOST_IN_RANGE:
        return []
    return [f"{first}{number:0{len(start)}d}" for number in numbers]


def counted_on(label: str) -> str:
    """The label after another: A10 after A9; blank where it ends in no number."""
    name = label.rstrip("0123456789")
    number = label[len(name) :]
    return f"{name}{int(number) + 1:0{len(number)}d}" if number else ""
