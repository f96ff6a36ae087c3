"""What is in print on where a trap is to hang, as data: each with who prints it and who says otherwise.

None of it is a limit. The office knows its ground, and keeps a trap where it hung the years before: California's
guides (Peach and Apricot: Pheromone Traps) ask for the same places every year.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from roundtui.domain.density import ANY_SPECIES, CM_CLOSE, CM_WIDE, CM_WIDEST


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


@dataclass(frozen=True, slots=True)
class PlaceRule:
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


_ONTARIO = (
    "Guidelines for using pheromone and visual traps in orchards, Ontario Ministry of Agriculture, "
    "omafra.gov.on.ca/IPM/english/apples/scouting/traps.html"
)
_MICHIGAN = (
    "Getting insect traps out early, Michigan State University, canr.msu.edu/news/getting-insect-traps-out-early-is-"
    "essential-for-accurate-management-decisions-throughout-the-season"
)
_PEAR = CM_WIDE.source
_PEACH = "Peach: Pheromone Traps, University of California IPM, ipm.ucanr.edu/PMG/r602900611.html"
_APRICOT = "Apricot: Pheromone Traps, University of California IPM, ipm.ucanr.edu/agriculture/apricot/Pheromone-Traps"
_UTAH = ANY_SPECIES.source
_WASHINGTON = CM_CLOSE.source
_VERMONT = "University of Vermont Extension, 19 June 2022, on apple maggot fly traps, blog.uvm.edu/fruit"

PLACE_RULES = (
    PlaceRule(
        Asks.ROWS_IN,
        ("CM", "OFM", "OBLR"),
        3,
        None,
        "at least two rows in from the edge",
        "Ontario",
        _ONTARIO,
        f"not at the very edge, borders with known pressure excepted: {_WASHINGTON}; one trap on the edge and one near "
        f"the centre: {_UTAH}",
    ),
    PlaceRule(
        Asks.OUTER_ROW,
        ("AM",),
        None,
        1,
        "on the outer row, towards wild or abandoned hosts",
        "Ontario",
        _ONTARIO,
        f"at the perimeter, likewise: {_VERMONT}",
    ),
    PlaceRule(
        Asks.TREES_IN,
        ("SJS", "OFM"),
        6,
        None,
        "at least five trees in from the edge, in the shade of the north side",
        "California",
        _PEACH,
    ),
    PlaceRule(
        Asks.SAME_SPECIES,
        (),
        50,
        None,
        "50 to 100 m from the next trap of its species",
        "Ontario",
        _ONTARIO,
        "a trap maker's leaflet: 50 m at least",
    ),
    PlaceRule(
        Asks.OTHER_SPECIES,
        (),
        10,
        None,
        "at least about 10 m from a trap of another species",
        "NIAB",
        "How to sample, NIAB, niab.com/how-sample-pest-and-disease-assessment",
        "a trap maker's leaflet: 10 m likewise; another, for glasshouses: 5 m",
    ),
    PlaceRule(
        Asks.HEIGHT,
        ("CM",),
        1.8,
        None,
        "6 to 8 ft (1.8 to 2.4 m) with a 1 mg lure, else in the upper third of the canopy",
        "California",
        _PEAR,
        f"the upper third of the canopy whatever the lure: {_MICHIGAN}; head height: University of Wisconsin Fruit; in "
        "a trial 4.5 m caught more than 1.8 m: J. Entomol. Sci. 46(3):223",
    ),
    PlaceRule(
        Asks.HEIGHT,
        ("OFM",),
        1.8,
        2.4,
        "6 to 8 ft (1.8 to 2.4 m), 1 to 3 ft inside the canopy",
        "California",
        _PEACH,
        f"in the middle of the canopy, whatever its height: {_MICHIGAN}",
    ),
    PlaceRule(
        Asks.HEIGHT,
        ("OBLR",),
        1.8,
        2.4,
        "6 to 8 ft (1.8 to 2.4 m)",
        "California",
        _PEAR,
        f"in the middle of the canopy, whatever its height: {_ONTARIO}",
    ),
    PlaceRule(
        Asks.HEIGHT, ("DWB",), 0.9, 1.5, "about 1.2 m", "Ontario", f"{_ONTARIO}; 0.3 m either way is this tool's own"
    ),
    PlaceRule(Asks.HEIGHT, ("GPTB", "LPTB"), 0.6, 0.9, "2 to 3 ft (0.6 to 0.9 m)", "California", _APRICOT),
    PlaceRule(
        Asks.HEIGHT,
        ("STLM",),
        None,
        1.2,
        "low, by the trunk, for the first generation, about 1 m up for the second",
        "Ontario",
        f"{_ONTARIO}; 0.2 m more is this tool's own",
    ),
    PlaceRule(
        Asks.NUMBER,
        (),
        2,
        None,
        "at least two traps of a species in an orchard",
        "Utah",
        _UTAH,
        f"4 to 5 a site: {_ONTARIO}; a block's mean of fewer than three is called thin here",
    ),
    PlaceRule(
        Asks.DENSITY,
        ("CM",),
        None,
        round(float(CM_WIDE.ha_per_trap), 2),
        f"at least {CM_WIDE.words}",
        CM_WIDE.by,
        CM_WIDE.source,
        "; ".join(f"{one.words}: {one.source}" for one in (CM_CLOSE, CM_WIDEST)),
    ),
    PlaceRule(
        Asks.DENSITY,
        (),
        None,
        round(float(ANY_SPECIES.ha_per_trap), 2),
        f"over 20 acres (8.1 ha) {ANY_SPECIES.words}",
        ANY_SPECIES.by,
        ANY_SPECIES.source,
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
