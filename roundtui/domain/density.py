"""How much ground is printed for one trap, as data: the plan of a season and the register both take it from here.

Authors differ, since lures and orchards do. The plan asks for the most traps in print, so that none is missing when the
season begins; the register names a block only where it has fewer than a wider printed figure asks for.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

ACRE_HA = Fraction(40468564224, 100000000000)
"""One acre. [ha]"""


@dataclass(frozen=True, slots=True)
class Printed:
    """One printed density of traps."""

    acres: Fraction
    """Ground to one trap. [acres]"""
    by: str
    """Who prints it, in short."""
    source: str
    """Who prints it, and where."""
    over_acres: Fraction | None = None
    """It holds in blocks over this area only; None: in all. [acres]"""

    @property
    def ha_per_trap(self) -> Fraction:
        """Ground to one trap. [ha]"""
        return self.acres * ACRE_HA

    @property
    def over_ha(self) -> Fraction | None:
        """Area over which it holds. [ha]"""
        return None if self.over_acres is None else self.over_acres * ACRE_HA

    @property
    def words(self) -> str:
        """In a few words, as "one for 2.5 acres (1.0 ha)"."""
        return f"one for {float(self.acres):g} acres ({float(self.ha_per_trap):.1f} ha)"


CM_CLOSE = Printed(
    Fraction(5, 2),
    "Washington",
    "Brunner 1993, revised 2018, Monitoring and Identification, Washington State University Tree Fruit, "
    "treefruit.wsu.edu/monitoring-and-identification",
)
"""Codling moth, the most traps in print."""
CM_WIDE = Printed(
    Fraction(5),
    "California",
    "University of California IPM, Pear: Pheromone Traps, ipm.ucanr.edu/agriculture/pear/Pheromone-Traps",
)
"""Codling moth, fewer: fewer still are named in the register."""
CM_WIDEST = Printed(Fraction(10), "Wisconsin", "University of Wisconsin Fruit")
"""Codling moth, the fewest."""
ANY_SPECIES = Printed(
    Fraction(10),
    "Utah",
    "Utah State University, Intermountain guide, Using pheromone and yellow sticky traps, "
    "intermountainfruit.org/ipm-methods/traps",
    over_acres=Fraction(20),
)
"""Every species that has none of its own."""
