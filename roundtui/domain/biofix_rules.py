"""Rules that set a biofix, held as data with their sources; ``biofix`` looks for what they ask in the readings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from roundtui.domain.species import COMMON_PRACTICE
from roundtui.domain.units import TempUnit


class BiofixKind(StrEnum):
    """What a rule looks for."""

    RUN = "run"
    """So many moths, on so many readings running."""
    TOTAL = "total"
    """So many moths in all since the season, or the wait for a later generation, began."""
    TRAPS_OF = "traps-of"
    """So many moths in so many of so many traps, on so many readings running."""
    MEAN = "mean"
    """So many moths a trap on the average of the block, on so many readings running."""


BLOCK = "block"
"""``BiofixRule.scope``: the moths of all traps of a block together."""
TRAP = "trap"
"""``BiofixRule.scope``: the moths of one and the same trap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BiofixRule:
    """What has to be caught before a date is proposed as biofix."""

    id: str
    """Short name."""
    species: str
    """Abbreviation of the species."""
    kind: BiofixKind
    """What it looks for."""
    moths: Fraction
    """Moths needed, net of those left in: on each reading, or in all."""
    more_than: bool = False
    """More than ``moths`` are needed, and not just as many."""
    readings: int = 1
    """On so many readings running."""
    scope: str = BLOCK
    """Run: whether the traps of a block count together or each for itself."""
    traps: int | None = None
    """Traps-of: in so many traps."""
    of: int | None = None
    """Traps-of: of so many traps; a block with another number keeps the share, and never needs fewer than ``traps``."""
    sunset: float | None = None
    """Temperature at sunset that an evening of the first reading must have reached. [``sunset_unit``]"""
    sunset_unit: TempUnit = TempUnit.F
    """Unit of ``sunset``."""
    generation: int = 1
    """1: the first of the season; 2: the second and every later one."""
    after_degree_days: Fraction | None = None
    """Later generations: readings count from so many degree-days after the biofix before. [unit of the model]"""
    source: str
    """Who published it, or that nobody did."""
    date: date | None = None
    """Day of the source, or on which the office took it up."""
    office: bool = False
    """Whether the office wrote it; the office's rules come before those that ship."""

    def enough(self, moths: Fraction) -> bool:
        """Whether a catch reaches what is needed."""
        return moths > self.moths if self.more_than else moths >= self.moths


def rule_for(rules: Iterable[BiofixRule], species: str, generation: int = 1) -> BiofixRule | None:
    """The rule that sets a biofix.

    Args:
        rules: Rules in order of rank: the office's, then those that ship.
        species: Abbreviation of the species.
        generation: Generation of the season, counted from 1.

    Returns:
        The first rule of the species for that generation; for later ones the rule of the newest generation that has
        one, from the second on. None where nobody has a rule.
    """
    fitting = [rule for rule in rules if rule.species == species]
    if generation == 1:
        return next((rule for rule in fitting if rule.generation == 1), None)
    later = [rule for rule in fitting if 1 < rule.generation <= generation]
    return max(later, key=lambda rule: (rule.office, rule.generation), default=None)


_NEW_ENGLAND = (
    "first sustained catch: New England tree fruit guide, IPM elements, Insect management, netreefruit.org; "
    "1 or 2 moths two nights in a row: Utah State University, intermountainfruit.org/ipm-methods/traps"
)
_STRAND = "Strand 1999, University of California IPM, ipm.ucanr.edu/PMG/FIG/sf99-f42.html"
_ZALOM = "University of California IPM, ipm.ucanr.edu/PMG/FIG/sf99-f40.html"


def _run(id_: str, species: str, source: str, moths: int = 1, readings: int = 2) -> BiofixRule:
    kind = BiofixKind.RUN
    return BiofixRule(id=id_, species=species, kind=kind, moths=Fraction(moths), readings=readings, source=source)


def _next(id_: str, species: str, after: int, source: str) -> BiofixRule:
    return BiofixRule(
        id=id_,
        species=species,
        kind=BiofixKind.RUN,
        moths=Fraction(1),
        readings=2,
        generation=2,
        after_degree_days=Fraction(after),
        source=source,
    )


SHIPPED_BIOFIX_RULES: tuple[BiofixRule, ...] = (
    _run("shipped-cm-sustained", "CM", _NEW_ENGLAND),
    _next(
        "shipped-cm-next",
        "CM",
        1000,
        "second biofix about 1000 degree-days after the first: Wisconsin DATCP 57(12) 2012 and 62(11) 2017; "
        f"two readings running: {COMMON_PRACTICE}",
    ),
    _run(
        "shipped-ofm-sustained",
        "OFM",
        "first sustained catch of 2 or more moths: University of Georgia and Clemson University, 2021, scnow.com",
        moths=2,
    ),
    _next(
        "shipped-ofm-next",
        "OFM",
        920,
        f"a generation is 920 to 1010 degree-days: {_STRAND}; two readings running: {COMMON_PRACTICE}",
    ),
    _run("shipped-ptb-positive", "PTB", f"first of two or more positive counts running: {_ZALOM}"),
    _next(
        "shipped-ptb-next",
        "PTB",
        950,
        f"a generation is 950 to 1080 degree-days: {_ZALOM}; two readings running: {COMMON_PRACTICE}",
    ),
    _run(
        "shipped-oblr-first",
        "OBLR",
        "first moths: intermountainfruit.org/insect-biology/leafrollers.php",
        readings=1,
    ),
    _run(
        "shipped-sjs-first",
        "SJS",
        "first males: University of California IPM, San Jose scale in almond; Ontario, monitoring San Jose scale",
        readings=1,
    ),
    BiofixRule(
        id="shipped-tabm-traps",
        species="TABM",
        kind=BiofixKind.TRAPS_OF,
        moths=Fraction(1),
        readings=3,
        traps=2,
        of=3,
        source="2 of 3 traps on 3 evenings running: Virginia Tech, Winchester, 18 October 2018, blogs.ext.vt.edu",
        date=date(2018, 10, 18),
    ),
)
"""Rules that ship, one a species and generation. ``PUBLISHED_BIOFIX_RULES`` holds others that an office may choose."""

PUBLISHED_BIOFIX_RULES: tuple[BiofixRule, ...] = (
    BiofixRule(
        id="published-cm-sunset",
        species="CM",
        kind=BiofixKind.RUN,
        moths=Fraction(1),
        readings=3,
        sunset=62.0,
        source=(
            "moths on 3 days running and sunset temperature 62 °F: University of California IPM, Pear: Pheromone "
            "Traps, ipm.ucanr.edu/agriculture/pear/Pheromone-Traps"
        ),
    ),
    BiofixRule(
        id="published-cm-two-of-three",
        species="CM",
        kind=BiofixKind.TRAPS_OF,
        moths=Fraction(1),
        readings=3,
        traps=2,
        of=3,
        source="2 of 3 traps on 3 evenings running: Virginia Tech, Winchester, 18 October 2018, blogs.ext.vt.edu",
        date=date(2018, 10, 18),
    ),
    BiofixRule(
        id="published-cm-two-in-a-trap",
        species="CM",
        kind=BiofixKind.RUN,
        moths=Fraction(2),
        readings=2,
        scope=TRAP,
        source="Montana State University, agresearch.montana.edu/warc/research_current/pests/cm.html",
    ),
    BiofixRule(
        id="published-cm-mean",
        species="CM",
        kind=BiofixKind.MEAN,
        moths=Fraction(1),
        more_than=True,
        readings=2,
        source="University of Wisconsin Fruit, 15 June 2018, fruit.wisc.edu/2018/06/15/codling-moth-management",
        date=date(2018, 6, 15),
    ),
    BiofixRule(
        id="published-cm-total",
        species="CM",
        kind=BiofixKind.TOTAL,
        moths=Fraction(3),
        source="3 to 5 moths in all: Purdue, Facts for Fancy Fruit, fff.hort.purdue.edu/article/codling-moth-6",
    ),
)
"""Rules in print that differ from those that ship; an office takes one up by writing it into its own file."""
