"""Species of the trade: abbreviation, names, EPPO code, trap styles, and how long lures, liners and kill strips last.

Every value has its source beside it. "From memory" means that nobody looked it up: check it before leaning on it. A lot
of lures with a stated life, in ``lures.csv``, always comes before the usual life given here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
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
    synonyms: tuple[str, ...] = ()
    """Other scientific names and names in other languages by which lists have it; from memory where they ship."""


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

SHIPPED_SPECIES: Mapping[str, Species] = MappingProxyType(
    {
        species.code: species
        for species in (
            Species(
                "CM",
                "codling moth",
                "Cydia pomonella",
                "CARPPO",
                ("delta", "large-delta", "wing"),
                28,
                _LURE_CM,
                synonyms=(
                    "Laspeyresia pomonella",
                    "Carpocapsa pomonella",
                    "Apfelwickler",
                    "carpocapse",
                    "carpocapse des pommes",
                    "carpocapsa",
                    "polilla del manzano",
                ),
            ),
            Species(
                "OFM",
                "oriental fruit moth",
                "Grapholita molesta",
                "LASPMO",
                ("delta", "wing"),
                28,
                COMMON_PRACTICE,
                synonyms=(
                    "Cydia molesta",
                    "Laspeyresia molesta",
                    "Grapholitha molesta",
                    "Pfirsichwickler",
                    "tordeuse orientale",
                    "tordeuse orientale du pêcher",
                    "polilla oriental",
                    "polilla oriental del melocotonero",
                ),
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
                synonyms=("Pfirsichmotte", "petite mineuse du pêcher", "anarsia"),
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
                synonyms=("Quadraspidiotus perniciosus", "Diaspidiotus perniciosus", "San-José-Schildlaus"),
            ),
        )
    }
)
"""Species that ship, by the trade's abbreviation.

PTB is the peach twig borer; the (greater) peachtree borer, which some also shorten to PTB, is GPTB here, so that one
abbreviation never means two insects.
"""


class _Known(Mapping[str, Species]):
    """The species that ship, and above them those of the office whose folder is open."""

    def __init__(self) -> None:
        self.office: Mapping[str, Species] = {}
        self.meant: Mapping[str, str] = {}
        self.take(())

    def take(self, office: Iterable[Species]) -> None:
        self.office = {species.code: species for species in office}
        # What the office calls a species comes last, so that it holds where both know the name.
        self.meant = {
            name_key(name): species.code
            for species in (*SHIPPED_SPECIES.values(), *self.office.values())
            for name in (*species.synonyms, species.latin, species.name, species.eppo, species.code)
            if name
        }

    def __getitem__(self, code: str) -> Species:
        return self.office[code] if code in self.office else SHIPPED_SPECIES[code]

    def __iter__(self) -> Iterator[str]:
        yield from SHIPPED_SPECIES
        yield from (code for code in self.office if code not in SHIPPED_SPECIES)

    def __len__(self) -> int:
        return len(SHIPPED_SPECIES.keys() | self.office.keys())


def name_key(text: str) -> str:
    """A name as it is compared: whatever the case of its letters and the spaces in it."""
    return " ".join(text.casefold().split())


_KNOWN = _Known()
SPECIES: Mapping[str, Species] = _KNOWN
"""Species by abbreviation: those that ship, and those of the office whose folder was opened last."""


def take_office_species(rows: Iterable[tuple[str, str, str, str, int | None]]) -> None:
    """Make the species of an office known, in place of those of the office before.

    One process works on one scouting folder, and species are named in every corner of it, in files that are read
    before there is a programme; so they are known to the whole process, as those that ship are.

    Args:
        rows: Code, common name, scientific name, synonyms set apart by semicolons or commas, and usual lure life [d]
            of each. A species that ships keeps whatever its row leaves blank.
    """
    found = []
    for code, name, latin, synonyms, lure_days in rows:
        base = SHIPPED_SPECIES.get(code) or Species(
            code, name, "", "", ("delta", "wing"), 28, COMMON_PRACTICE, styles_source=COMMON_PRACTICE
        )
        others = tuple(part.strip() for part in synonyms.replace(";", ",").split(",") if part.strip())
        life = (lure_days, "species.csv of the office") if lure_days else (base.lure_life_days, base.lure_life_source)
        found.append(
            replace(
                base,
                name=name or base.name,
                latin=latin or base.latin,
                synonyms=(*base.synonyms, *others),
                lure_life_days=life[0],
                lure_life_source=life[1],
            )
        )
    _KNOWN.take(found)


def species_code(text: str) -> str | None:
    """The abbreviation a text stands for.

    Args:
        text: An abbreviation in any letter case, an EPPO code, a common or scientific name, or a synonym.

    Returns:
        The abbreviation as in ``SPECIES``; None where nobody knows it.
    """
    return _KNOWN.meant.get(name_key(text))
