"""Species of the trade: abbreviation, names, EPPO code, trap styles, and how long lures, liners and kill strips last.

Every value has its source beside it, in ``published/species.txt``. "From memory" means that nobody looked it up: check
it before leaning on it. A lot of lures with a stated life, in ``lures.csv``, always comes before the usual life given
there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

from roundtui.domain.records import Frozen
from roundtui.domain.text import ruled
from roundtui.published import read

FROM_MEMORY = "from memory"
"""Source of a value that nobody looked up."""
_TABLES = read("species")
_SOURCES = {"": FROM_MEMORY, **dict(ruled(_TABLES["sources"]))}
COMMON_PRACTICE = _SOURCES["common"]
"""Source of a value that the trade uses and nobody published, as far as is known here."""

LINER_DAYS = 30
"""Age at which a liner is due, however little it caught: a month. [d]

Source: University of California IPM, Pear: Pheromone Traps, ipm.ucanr.edu/agriculture/pear/Pheromone-Traps.
"""
STICKY_DAYS = 28
"""Age at which the sticky surface of a sphere, board, panel or tent is to be cleaned or renewed. [d]"""
KILL_STRIP_DAYS = 120
"""Age at which a kill strip is due; the label of the strip comes first. [d]

Source: vapour for up to 4 months: CDC, MMWR 63(2):42-43, 17 January 2014; University of Florida IFAS PI262.
"""


class TrapStyle(Frozen):
    """What a style of trap is made of, which decides what can fall due in it."""

    style: str
    """Word for the style, as in ``traps.csv``."""
    has_liner: bool
    """Whether it holds a sticky liner that is changed, or is itself sticky and cleaned or renewed."""
    has_kill_strip: bool
    """Whether it holds a kill strip."""
    source: str = FROM_MEMORY
    """Where this is from."""
    liner_days: int = LINER_DAYS
    """Age at which its liner, or its sticky surface, is due. [d]"""

    @property
    def sticky(self) -> bool:
        """Whether it is sticky itself, without a liner: no number of insects makes it due."""
        return self.has_liner and self.liner_days != LINER_DAYS


def _style(row: list[str]) -> TrapStyle:
    word, holds, source = row
    days = STICKY_DAYS if holds == "sticky" else LINER_DAYS
    return TrapStyle(word, holds in ("liner", "sticky"), holds == "kill strip", _SOURCES[source], days)


STYLES: Mapping[str, TrapStyle] = MappingProxyType({row[0]: _style(row) for row in ruled(_TABLES["styles"])})
"""Trap styles by their word."""

ANY_STYLE = TrapStyle("", has_liner=True, has_kill_strip=False, source=COMMON_PRACTICE)
"""A trap whose style nobody wrote down, taken for one with a liner: most of them have one."""


@lru_cache(maxsize=1024)
def trap_style(style: str) -> TrapStyle:
    """The style a word in the register stands for.

    Args:
        style: Word from ``traps.csv``, in any letter case; spaces and underscores stand for hyphens.

    Returns:
        The style; ``ANY_STYLE`` for a blank or a word nobody knows.
    """
    return STYLES.get("-".join(style.casefold().replace("_", " ").replace("-", " ").split()), ANY_STYLE)


class Species(Frozen):
    """One species a trap can be hung for."""

    code: str
    """The trade's abbreviation, as CM."""
    name: str
    """Common name."""
    latin: str
    """Scientific name."""
    eppo: str
    """EPPO code; blank where nobody saw it in the database."""
    styles: tuple[str, ...]
    """Trap styles in use for it, the most usual first; words of ``STYLES``."""
    lure_life_days: int
    """Usual field life of its lure, for a lot that states none. [d]"""
    lure_life_source: str
    """Where the lure life is from."""
    insects: str = "moths"
    """What is counted in its trap, in the plural."""
    styles_source: str = FROM_MEMORY
    """Where the trap styles are from."""
    lured: bool = True
    """Whether its traps hang with a lure unless it is written otherwise."""
    liner_moths: int | None = 50
    """Insects at which a liner is due, whatever its age; None: only by age."""
    liner_source: str = _SOURCES["moths of 1.5 cm"]
    """Where that is from."""
    synonyms: tuple[str, ...] = ()
    """Other scientific names and names in other languages by which lists have it; from memory where they ship."""


_SYNONYMS = dict(ruled(_TABLES["synonyms"]))
_UNLURED = next(ruled(_TABLES["unlured"]))


def _parts(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",") if part.strip())


def _species(row: list[str]) -> Species:
    code, name, latin, eppo, styles, life, liner, insects, seen = row
    days, _, lure_source = life.partition(" ")
    moths, _, liner_source = liner.partition(" ")
    return Species(
        code,
        name,
        latin,
        eppo,
        _parts(styles),
        int(days),
        _SOURCES[lure_source],
        insects=insects,
        styles_source=_SOURCES[seen],
        lured=code not in _UNLURED,
        liner_moths=None if moths == "-" else int(moths),
        liner_source=_SOURCES[liner_source],
        synonyms=_parts(_SYNONYMS.get(code, "")),
    )


SHIPPED_SPECIES: Mapping[str, Species] = MappingProxyType({row[0]: _species(row) for row in ruled(_TABLES["species"])})
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


def called(code: str) -> str:
    """A species by its code and name, as ``CM codling moth``; by its code alone where no name is known."""
    return f"{code} {SPECIES[code].name}" if code in SPECIES else code
