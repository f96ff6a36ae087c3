"""Species of the trade: abbreviation, names, EPPO code, trap styles, and how long lures, liners and kill strips last.

Every value has its source beside it. "From memory" means that nobody looked it up: check it before leaning on it. A lot
of lures with a stated life, in ``lures.csv``, always comes before the usual life given here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

FROM_MEMORY = "from memory"
"""Source of a value that nobody looked up."""
COMMON_PRACTICE = "common practice, no source"
"""Source of a value that the trade uses and nobody published, as far as is known here."""

LINER_MOTHS = 30
"""Net moths on one liner at which it is due, whatever its age."""
LINER_MOTHS_SOURCE = (
    "Brunner 1993, revised 2018, Monitoring and Identification, Washington State University Tree Fruit, "
    "treefruit.wsu.edu/monitoring-and-identification"
)
"""Source of ``LINER_MOTHS``."""
LINER_DAYS = 30
"""Age at which a liner is due, however little it caught. [d]"""
LINER_DAYS_SOURCE = (
    "a month: University of California IPM, Pear: Pheromone Traps, ipm.ucanr.edu/agriculture/pear/Pheromone-Traps"
)
"""Source of ``LINER_DAYS``."""
KILL_STRIP_DAYS = 56
"""Age at which a kill strip is due; the label of the strip comes first. [d]"""
KILL_STRIP_DAYS_SOURCE = FROM_MEMORY
"""Source of ``KILL_STRIP_DAYS``."""


@dataclass(frozen=True, slots=True)
class TrapStyle:
    """What a style of trap is made of, which decides what can fall due in it."""

    style: str
    """Word for the style, as in ``traps.csv``."""
    has_liner: bool
    """Whether it holds a sticky liner that is changed."""
    has_kill_strip: bool
    """Whether it holds a kill strip."""
    source: str = FROM_MEMORY
    """Where this is from."""


STYLES: Mapping[str, TrapStyle] = MappingProxyType(
    {
        style.style: style
        for style in (
            TrapStyle("delta", has_liner=True, has_kill_strip=False),
            TrapStyle("large-delta", has_liner=True, has_kill_strip=False),
            TrapStyle("wing", has_liner=True, has_kill_strip=False),
            TrapStyle("tent", has_liner=False, has_kill_strip=False),
            TrapStyle("bucket", has_liner=False, has_kill_strip=True),
            TrapStyle("sphere", has_liner=False, has_kill_strip=False),
            TrapStyle("panel", has_liner=False, has_kill_strip=False),
        )
    }
)
"""Trap styles by their word."""

ANY_STYLE = TrapStyle("", has_liner=True, has_kill_strip=False, source=COMMON_PRACTICE)
"""A trap whose style nobody wrote down, taken for one with a liner: most of them have one."""


def trap_style(style: str) -> TrapStyle:
    """The style a word in the register stands for.

    Args:
        style: Word from ``traps.csv``, in any letter case; spaces and underscores stand for hyphens.

    Returns:
        The style; ``ANY_STYLE`` for a blank or a word nobody knows.
    """
    return STYLES.get("-".join(style.casefold().replace("_", " ").replace("-", " ").split()), ANY_STYLE)


@dataclass(frozen=True, slots=True)
class Species:
    """One species a trap can be hung for."""

    code: str
    """The trade's abbreviation, as CM."""
    name: str
    """Common name."""
    latin: str
    """Scientific name."""
    eppo: str
    """EPPO code."""
    styles: tuple[str, ...]
    """Trap styles in use for it, the most usual first; words of ``STYLES``."""
    lure_life_days: int
    """Usual field life of its lure, for a lot that states none. [d]"""
    lure_life_source: str
    """Where the lure life is from."""
    insects: str = "moths"
    """What is counted in its trap, in the plural."""
    eppo_source: str = FROM_MEMORY
    """Where the EPPO code is from."""
    styles_source: str = FROM_MEMORY
    """Where the trap styles are from."""


_LURE_CM = (
    "4 weeks, the hot-weather end of 4 to 6: NIAB, Monitoring codling moth, www.niab.com/monitoring-codling-moth; "
    "Purdue, fff.hort.purdue.edu/article/codling-moth-pheromone-traps, has about 3"
)
_LURE_SJS = (
    "good at 8 weeks, poor at 16 to 19: abstract of trap trials in California, Oregon and Washington, "
    "Development of pheromone trapping techniques for male San Jose scale"
)
_SPHERE = (
    "University of Vermont Extension, 19 June 2022, on apple maggot fly traps, blog.uvm.edu/fruit; panels: "
    "New York trials 1986-88, abstract"
)
_UNSURE = "from memory, unsure: check in the EPPO Global Database"

SPECIES: Mapping[str, Species] = MappingProxyType(
    {
        species.code: species
        for species in (
            Species("CM", "codling moth", "Cydia pomonella", "CARPPO", ("delta", "large-delta", "wing"), 28, _LURE_CM),
            Species(
                "OFM", "oriental fruit moth", "Grapholita molesta", "LASPMO", ("delta", "wing"), 28, COMMON_PRACTICE
            ),
            Species(
                "OBLR",
                "obliquebanded leafroller",
                "Choristoneura rosaceana",
                "CHONRO",
                ("delta", "wing"),
                28,
                COMMON_PRACTICE,
            ),
            Species(
                "RBLR",
                "redbanded leafroller",
                "Argyrotaenia velutinana",
                "ARGTVE",
                ("delta", "wing"),
                28,
                COMMON_PRACTICE,
                eppo_source=_UNSURE,
            ),
            Species(
                "TABM",
                "tufted apple bud moth",
                "Platynota idaeusalis",
                "PLAAID",
                ("delta", "wing"),
                28,
                COMMON_PRACTICE,
                eppo_source=_UNSURE,
            ),
            Species(
                "STLM",
                "spotted tentiform leafminer",
                "Phyllonorycter blancardella",
                "LITHBL",
                ("delta", "wing"),
                28,
                COMMON_PRACTICE,
            ),
            Species(
                "DWB",
                "dogwood borer",
                "Synanthedon scitula",
                "SYNASC",
                ("delta", "wing", "bucket"),
                56,
                FROM_MEMORY,
                eppo_source=_UNSURE,
            ),
            Species(
                "PTB",
                "peach twig borer",
                "Anarsia lineatella",
                "ANARLI",
                ("delta", "wing"),
                28,
                COMMON_PRACTICE,
            ),
            Species(
                "LPTB",
                "lesser peachtree borer",
                "Synanthedon pictipes",
                "SYNAPI",
                ("bucket", "delta", "wing"),
                56,
                FROM_MEMORY,
                eppo_source=_UNSURE,
            ),
            Species(
                "GPTB",
                "greater peachtree borer",
                "Synanthedon exitiosa",
                "SYNAEX",
                ("bucket", "delta", "wing"),
                56,
                FROM_MEMORY,
                eppo_source=_UNSURE,
            ),
            Species(
                "AM",
                "apple maggot",
                "Rhagoletis pomonella",
                "RHAGPO",
                ("sphere", "panel"),
                42,
                FROM_MEMORY,
                insects="flies",
                styles_source=_SPHERE,
            ),
            Species(
                "SJS",
                "San Jose scale",
                "Comstockaspis perniciosa",
                "QUADPE",
                ("tent", "delta"),
                56,
                _LURE_SJS,
                insects="males",
            ),
        )
    }
)
"""Species by the trade's abbreviation.

PTB is the peach twig borer; the (greater) peachtree borer, which some also shorten to PTB, is GPTB here, so that one
abbreviation never means two insects.
"""


def species_code(text: str) -> str | None:
    """The abbreviation a text stands for.

    Args:
        text: An abbreviation in any letter case, an EPPO code, or a common or scientific name.

    Returns:
        The abbreviation as in ``SPECIES``; None where nobody knows it.
    """
    return _KNOWN_AS.get(" ".join(text.casefold().split()))


_KNOWN_AS = {
    known.casefold(): species.code
    for species in SPECIES.values()
    for known in (species.code, species.eppo, species.name, species.latin)
}
