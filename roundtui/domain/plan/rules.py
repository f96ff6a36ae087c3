"""Rules of a season's plan, as data: when traps are hung, and how many. Every value has its source beside it.

Dates of the calendar were printed for one place; stages and degree-days find their day anywhere. So a date that ships
is used only where nothing of the orchard's own tells one; an office's date always counts.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from roundtui.domain.degree_days import Cutoff, Development, Method
from roundtui.domain.density import ANY_SPECIES, CM_CLOSE, CM_WIDE
from roundtui.domain.species import COMMON_PRACTICE, FROM_MEMORY
from roundtui.domain.units import TempUnit

_ONTARIO = (
    "Ontario Ministry of Agriculture, Guidelines for using pheromone and visual traps in orchards, "
    "omafra.gov.on.ca/IPM/english/apples/scouting/traps.html"
)
_UTAH = ANY_SPECIES.source
_WASHINGTON = CM_CLOSE.source
_PEAR = CM_WIDE.source
_APRICOT = "University of California IPM, Apricot: Pheromone Traps, ipm.ucanr.edu/agriculture/apricot/Pheromone-Traps"
_ALMOND = "University of California IPM, Almond: pheromone traps, ipm.ucanr.edu/PMG/C003/m003bcphrmontrap.html"
_STONE = "University of California IPM, Stone fruit: pheromone traps, ipm.ucanr.edu/PMG/r606900111.html"
ZERO_SOURCE = (
    "Michigan State University, Getting insect traps out early, "
    "canr.msu.edu/news/getting-insect-traps-out-early-is-essential-for-accurate-management-decisions-throughout-the-season"
)
"""Source of the principle that the first check has to read zero, else no biofix can be trusted."""
BEFORE_CATCH_SOURCE = "Cornell, Hudson Valley scouting reports, blogs.cornell.edu/jentsch/scouting-reports"
"""Source of hanging two weeks before moths are expected, by the trap record of past years."""
SAME_PLACE_SOURCE = _APRICOT
"""Source of using the same places every year, and so the same number of traps."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HangRule:
    """One rule for when traps of a species hang. Exactly one of ``stage``, ``month_day`` and ``degree_days`` is set."""

    id: str
    """Short name."""
    species: str
    """Abbreviation of the species."""
    source: str
    """Who published it, or that it is the office's own."""
    stage: str = ""
    """BBCH code that the block reaches."""
    month_day: str = ""
    """Day of the year, as MM-DD."""
    degree_days: float | None = None
    """Degree-days from ``starts`` on. [unit of ``development``]"""
    development: Development | None = None
    """How they are counted; None: as the species' model counts."""
    starts: str = "01-01"
    """Day from which degree-days count, as MM-DD."""
    days_after: int = 0
    """Days after that day; negative: before it. [d]"""
    note: str = ""
    """Where it holds, or how it was read."""
    date: date | None = None
    """Day of the source, or on which the office took it up."""
    office: bool = False
    """Whether the office wrote it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityRule:
    """One advice on how many traps of a species a block has."""

    species: str
    """Abbreviation of the species; empty: any."""
    least: int
    """At least so many, however small the block."""
    source: str
    """Who published it, or that it is the office's own."""
    ha_per_trap: Fraction | None = None
    """One trap for so much land; None: the number holds whatever the area. [ha]"""
    over_ha: Fraction | None = None
    """That holds in blocks over this area only; None: in all. [ha]"""
    office: bool = False
    """Whether the office wrote it."""


@dataclass(frozen=True, slots=True)
class Margins:
    """Habits of a plan that are the office's to set."""

    before_catch_days: int = 14
    """So long before last year's first catch; see ``BEFORE_CATCH_SOURCE``. [d]"""
    season_days: int = 160
    """How long traps hang where no year before tells: April to September is about that (common practice). [d]"""
    tapes_per_trap: int = 2
    """Strips of flagging tape to a trap: one at the tree, one at the end of the row (from memory)."""
    spare_share: Fraction = Fraction(1, 10)
    """Spare bodies for so many that hang, at least one a species (common practice, no source)."""


_CM_50_88 = Development(50, 88, TempUnit.F, Method.SINGLE_SINE, Cutoff.HORIZONTAL)
_READ = "the printed words read as a code or a day"

SHIPPED_HANGING: tuple[HangRule, ...] = (
    HangRule(id="stlm-half-inch-green", species="STLM", stage="54", source=_ONTARIO),
    HangRule(
        id="ofm-late-april", species="OFM", month_day="04-21", source=_ONTARIO, note=f"late April in Ontario; {_READ}"
    ),
    HangRule(id="cm-pink", species="CM", stage="57", source=_UTAH, note="first pink; Ontario has bloom"),
    HangRule(
        id="cm-175",
        species="CM",
        degree_days=175,
        development=_CM_50_88,
        source=_WASHINGTON,
        note="pink, or before 175 degree-days over 50 °F",
    ),
    HangRule(id="oblr-petal-fall", species="OBLR", stage="69", source=_ONTARIO),
    HangRule(id="oblr-mid-may", species="OBLR", month_day="05-15", source=_UTAH, note=f"mid-May in Utah; {_READ}"),
    HangRule(
        id="oblr-mid-april", species="OBLR", month_day="04-15", source=_PEAR, note=f"mid-April in California; {_READ}"
    ),
    HangRule(
        id="dwb-late-june", species="DWB", month_day="06-21", source=_ONTARIO, note=f"late June in Ontario; {_READ}"
    ),
    HangRule(
        id="am-after-petal-fall",
        species="AM",
        stage="69",
        days_after=21,
        source=_ONTARIO,
        note="three to four weeks after petal fall; the earlier end",
    ),
    HangRule(
        id="sjs-before-bloom",
        species="SJS",
        stage="59",
        source=f"{_ALMOND}; {_STONE}",
        note=f"before bloom: the last stage with no flower open; {_READ}",
    ),
    HangRule(id="ptb-utah", species="PTB", month_day="04-15", source=_UTAH, note=f"mid to late April in Utah; {_READ}"),
    HangRule(
        id="ptb-california", species="PTB", month_day="03-20", source=_APRICOT, note="20 March or 1 April, by region"
    ),
    HangRule(id="gptb-shuck-fall", species="GPTB", stage="72", source=_UTAH, note="peach shuck fall"),
    HangRule(id="gptb-april", species="GPTB", month_day="04-01", source=_APRICOT, note="by April in California"),
)
"""When traps go out, as printed. For RBLR, TABM and LPTB nothing was found in print: last year's catch alone tells."""

SHIPPED_DENSITY: tuple[DensityRule, ...] = (
    DensityRule(
        species="",
        least=2,
        ha_per_trap=ANY_SPECIES.ha_per_trap,
        over_ha=ANY_SPECIES.over_ha,
        source=f"two a species, over 20 acres one to 10 acres: {_UTAH}",
    ),
    DensityRule(
        species="CM",
        least=2,
        ha_per_trap=CM_CLOSE.ha_per_trap,
        source=f"{CM_CLOSE.words}: {CM_CLOSE.source}; {CM_WIDE.words}: {CM_WIDE.source}",
    ),
    DensityRule(species="STLM", least=2, source=f"2 a site: {_ONTARIO}"),
    DensityRule(species="OFM", least=5, source=f"5 a site: {_ONTARIO}"),
    DensityRule(species="OBLR", least=4, source=f"4 a site: {_ONTARIO}"),
    DensityRule(species="DWB", least=4, source=f"4 a site: {_ONTARIO}"),
    DensityRule(species="AM", least=5, source=f"5 a site: {_ONTARIO}"),
    DensityRule(species="SJS", least=3, source=f"3 to 4 a block: {_ALMOND}; {_STONE}"),
)
"""How many traps, as printed; the first of a species is used, before the one for any species."""
MARGIN_SOURCES = {
    "spares": COMMON_PRACTICE,
    "tape": FROM_MEMORY,
    "season": COMMON_PRACTICE,
}
"""Sources of the habits in ``Margins``."""


@dataclass(frozen=True, slots=True)
class PlanOffice:
    """What an office has settled for its plans."""

    hanging: tuple[HangRule, ...] = SHIPPED_HANGING
    """The office's rules, then those that ship."""
    density: tuple[DensityRule, ...] = SHIPPED_DENSITY
    """The office's advice, then that which ships."""
    numbers: tuple[tuple[str, str, int], ...] = ()
    """Block, species and how many traps the office wants there."""
    margins: Margins = Margins()
    """Habits."""

    def hanging_of(self, species: str) -> tuple[HangRule, ...]:
        """Rules for hanging a species."""
        return tuple(rule for rule in self.hanging if rule.species == species)

    def wanted(self, block: str, species: str) -> int | None:
        """How many traps the office wants in a block; None where it does not say."""
        return next((number for b, s, number in self.numbers if (b, s) == (block, species)), None)


def density_of(rules: Iterable[DensityRule], species: str) -> DensityRule | None:
    """The advice for a species: its own before that for any.

    Args:
        rules: Advice in order of rank: the office's, then that which ships.
        species: Abbreviation of the species.
    """
    fitting = [rule for rule in rules if rule.species in ("", species)]
    return next((rule for rule in fitting if rule.species), None) or next(iter(fitting), None)


def advised(rule: DensityRule, area_ha: Fraction | None) -> int:
    """How many traps an advice asks for.

    Args:
        rule: The advice.
        area_ha: Area of the block; None: not on record. [ha]
    """
    if rule.ha_per_trap is None or area_ha is None or area_ha <= (rule.over_ha or 0):
        return rule.least
    return max(rule.least, -(-area_ha // rule.ha_per_trap))
