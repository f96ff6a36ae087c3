"""What is published on where a trap is to hang, as data: each with who prints it and who says otherwise.

None of it is a limit. The office knows its ground, and keeps a trap where it hung the years before: California's
guides (Peach and Apricot: Pheromone Traps) ask for the same places every year.

Where traps hang, beside what is published on it: advice with its source, never a refusal.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from enum import StrEnum
from math import asin, cos, radians, sin, sqrt

from roundtui.domain.inventory.plan_rules import ANY_SPECIES, CM_CLOSE, CM_WIDE, CM_WIDEST, SOURCES
from roundtui.domain.programme.farm import Programme, Trap, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.text import ruled
from roundtui.published import read


class Asks(StrEnum):
    """What a rule of placement asks about."""

    ROWS_IN = "rows-in"
    """So many rows in from the edge."""
    OUTER_ROW = "outer-row"
    """On the outer row."""
    TREES_IN = "trees-in"
    """So many trees in from the end of a row."""
    SAME_SPECIES = "same-species"
    """So far from the next trap of its species."""
    OTHER_SPECIES = "other-species"
    """So far from the next trap of another species."""
    HEIGHT = "height"
    """So high above ground."""
    NUMBER = "number"
    """So many traps of a species in a block."""
    DENSITY = "density"
    """So much ground to a trap, at most."""


class PlaceRule(Frozen):
    """One piece of advice."""

    asks: Asks
    """What it asks about."""
    species: tuple[str, ...]
    """Species it is about; empty: every one that no rule of the same kind names."""
    low: float | None
    """Least that is advised; None: no least. [rows, trees, m, traps]"""
    high: float | None
    """Most that is advised; None: no most. [m, ha]"""
    words: str
    """What is advised, in a few words."""
    by: str
    """Who prints it, in short."""
    source: str
    """Who prints it, and where."""
    otherwise: str = ""
    """Who prints something else; empty where nobody known does."""

    def keeps(self, value: float) -> bool:
        """Whether a value is as advised."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


def _place_rule(row: list[str]) -> PlaceRule:
    asks, species, low, high, words, by, source, otherwise = row
    least, most = (float(end) if end else None for end in (low, high))
    where, others = (text.format_map(SOURCES) for text in (source, otherwise))
    return PlaceRule(Asks(asks), tuple(species.split()), least, most, words, by, where, others)


PLACE_RULES = (
    *map(_place_rule, ruled(read("plan")["places"])),
    *(
        PlaceRule(Asks.DENSITY, species, None, round(float(one.ha_per_trap), 2), words, one.by, one.source, others)
        for one, species, words, others in (
            (
                CM_WIDE,
                ("CM",),
                f"at least {CM_WIDE.words}",
                "; ".join(f"{one.words}: {one.source}" for one in (CM_CLOSE, CM_WIDEST)),
            ),
            (ANY_SPECIES, (), f"over 20 acres (8.1 ha) {ANY_SPECIES.words}", ""),
        )
    ),
)
"""Every rule of placement."""
LARGE_HA = round(float(ANY_SPECIES.over_ha or 0), 2)
"""Ground from which the general density is asked for (Intermountain guide). [ha]"""


def rule_for(asks: Asks, species: str) -> PlaceRule | None:
    """The rule of a kind for a species: its own, else the general one.

    Args:
        asks: The kind.
        species: Abbreviation of the species.
    """
    own = [rule for rule in PLACE_RULES if rule.asks is asks and species in rule.species]
    general = [rule for rule in PLACE_RULES if rule.asks is asks and not rule.species]
    return next(iter(own + general), None)


EARTH_M = 6_371_008.8
"""Mean radius of the earth (IUGG 1980, as Moritz, Geodetic Reference System 1980). [m]"""


class Advice(Frozen):
    """One thing about a place that is otherwise than what is published."""

    found: str
    """How it is, in a few words; labels in it are as people wrote them."""
    rule: PlaceRule
    """What is published."""
    trap: str = ""
    """The trap; empty where it is about a block and species."""
    block: str = ""
    """Code of its block."""
    species: str = ""
    """Its species."""
    partner: str = ""
    """The other trap, where it is about two."""


def distance_m(one: Trap, other: Trap) -> float | None:
    """Way between two traps over the ground, by the haversine formula on a sphere.

    Args:
        one: A trap.
        other: Another.

    Returns:
        None where one has no position. [m]
    """
    if one.lat is None or one.lon is None or other.lat is None or other.lon is None:
        return None
    lat, other_lat = radians(one.lat), radians(other.lat)
    north, east = other_lat - lat, radians(other.lon - one.lon)
    half = sin(north / 2) ** 2 + cos(lat) * cos(other_lat) * sin(east / 2) ** 2
    return 2 * EARTH_M * asin(min(1.0, sqrt(half)))


def hanging_on(programme: Programme, on: date) -> tuple[Trap, ...]:
    """Traps that hang on a day and are not taken down on it, in the order of their labels."""
    found = [programme.hanging(label, on) for label in programme.hangings]
    hung = [row for row in found if row is not None and row.down_on != on]
    return tuple(sorted(hung, key=lambda row: natural_key(row.trap)))


def advice_for(trap: Trap, hung: Sequence[Trap]) -> tuple[Advice, ...]:
    """What is otherwise about the place of one trap.

    Args:
        trap: The trap.
        hung: Every trap that hangs, itself included or not.
    """
    return (*_spot(trap), *_distances(trap, hung))


def advice_on(programme: Programme, on: date) -> tuple[Advice, ...]:
    """What is otherwise about every place, on a day; of two traps too near each other each is named once.

    Args:
        programme: What is set up.
        on: The day.

    Returns:
        Blocks first, then traps in the order of their labels.
    """
    hung = hanging_on(programme, on)
    return (*_blocks(programme, hung), *(one for at, trap in enumerate(hung) for one in advice_for(trap, hung[at:])))


def advice_for_block(programme: Programme, block: str, hung: Sequence[Trap]) -> tuple[Advice, ...]:
    """What is otherwise about the number of traps in one block.

    Args:
        programme: For its area.
        block: Code of the block.
        hung: Every trap that hangs.
    """
    return tuple(_blocks(programme, [row for row in hung if row.block == block]))


def _spot(trap: Trap) -> Iterable[Advice]:
    """Row, tree and height. One put at the edge on purpose is in no mean: its row and tree are not advised about."""
    row, tree = _number(trap.row), _number(trap.tree)
    for asks, value, found in (
        (Asks.ROWS_IN, row, f"hangs in row {trap.row}"),
        (Asks.OUTER_ROW, row, f"hangs in row {trap.row}, and is not marked as at the edge"),
        (Asks.TREES_IN, tree, f"hangs at tree {trap.tree}"),
        (Asks.HEIGHT, trap.height_m, f"hangs {trap.height_m or 0:g} m up"),
    ):
        rule = rule_for(asks, trap.species)
        meant = trap.edge and asks is not Asks.HEIGHT
        if rule is not None and value is not None and not rule.keeps(value) and not meant:
            yield _of(trap, rule, found)


def _number(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and int(text) > 0 else None


def _distances(trap: Trap, hung: Sequence[Trap]) -> Iterable[Advice]:
    for other in hung:
        if other.trap == trap.trap:
            continue
        asks = Asks.SAME_SPECIES if other.species == trap.species else Asks.OTHER_SPECIES
        rule = rule_for(asks, trap.species)
        if rule is None or rule.low is None or _far(trap, other, rule.low):
            continue
        away = distance_m(trap, other)
        if away is not None and away < rule.low:
            which = "" if asks is Asks.SAME_SPECIES else f" ({other.species})"
            yield _of(trap, rule, f"hangs {int(away)} m from {other.trap}{which}", other.trap)


def _far(one: Trap, other: Trap, low: float) -> bool:
    """Whether two are so far apart in latitude alone that no more need be worked out."""
    return one.lat is not None and other.lat is not None and abs(one.lat - other.lat) * 111_000 > 1.01 * low


def _blocks(programme: Programme, hung: Iterable[Trap]) -> Iterable[Advice]:
    numbers = Counter((row.block, row.species) for row in hung)
    for (block, species), number in sorted(numbers.items(), key=lambda item: (natural_key(item[0][0]), item[0][1])):
        least, ground = rule_for(Asks.NUMBER, species), rule_for(Asks.DENSITY, species)
        known = programme.blocks.get(block)
        traps = "1 trap" if number == 1 else f"{number} traps"
        if least is not None and not least.keeps(number):
            yield Advice(f"{traps} for {species} in the block", least, "", block, species)
        area = float(known.area_ha) if known is not None and known.area_ha is not None else 0.0
        if ground is not None and not ground.keeps(area / number) and (ground.species or area > LARGE_HA):
            yield Advice(f"{traps} for {species} on {area:g} ha", ground, "", block, species)


def _of(trap: Trap, rule: PlaceRule, found: str, partner: str = "") -> Advice:
    return Advice(found, rule, trap.trap, trap.block, trap.species, partner)
