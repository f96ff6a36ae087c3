"""What is found in a trap beside its own species: kinds that a scout tells apart, and species that are taken for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from roundtui.domain.species import COMMON_PRACTICE, FROM_MEMORY, SPECIES, species_code

UNKNOWN = "unknown"
"""Kind of what nobody at the trap can name."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind that is told apart at the trap."""

    word: str
    """Word on record."""
    key: str
    """Letter that chooses it."""
    doubtful: bool
    """Whether it may turn out to be the trap's own species, so that a vial is worth taking."""
    several: str = ""
    """The word for more than one, where that is another."""
    source: str = COMMON_PRACTICE
    """Why it is on the list."""


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        kind.word: kind
        for kind in (
            Kind(UNKNOWN, "u", doubtful=True),
            Kind("look-alike", "l", doubtful=True, several="look-alikes"),
            Kind("other moth", "m", doubtful=True, several="other moths"),
            Kind("bee", "b", doubtful=False, several="bees"),
            Kind("wasp", "w", doubtful=False, several="wasps"),
            Kind("fly", "f", doubtful=False, several="flies"),
            Kind("beetle", "k", doubtful=False, several="beetles"),
            Kind("spider", "s", doubtful=False, several="spiders"),
            Kind("other beneficial", "o", doubtful=False, several="other beneficials"),
        )
    }
)
"""Kinds by their word, in the order in which they are offered."""


@dataclass(frozen=True, slots=True)
class LookAlike:
    """A species that comes to a trap hung for another, and is taken for it."""

    name: str
    """Common name, as it is written on record."""
    latin: str
    """Scientific name; empty where the source gives none."""
    taken_for: str
    """Abbreviation of the trap's species, the office's own where none ships; empty where it comes to several."""
    source: str
    """Where this is from."""


LOOK_ALIKES: tuple[LookAlike, ...] = (
    LookAlike(
        "lesser appleworm",
        "Grapholita prunivora",
        "OFM",
        "both flights tabulated side by side: Scaffolds Fruit Journal, Cornell, 3 July 1995, "
        "www.scaffolds.entomology.cornell.edu/1995/scaffolds_0703.html; the scientific name from memory",
    ),
    LookAlike(
        "harmless likeness of plum fruit moth",
        "",
        "PFM",
        "a near-identical harmless species, common in traps for plum fruit moth and often recorded as it, mostly early "
        "in the season: AHDB, Plum fruit moth identification, docslib.org/download/6043625",
    ),
    LookAlike("apple clearwing", "Synanthedon myopaeformis", "", f"comes to combined lures, {FROM_MEMORY}"),
    LookAlike("another tortricid", "", "", f"comes to combined lures, {FROM_MEMORY}"),
)
"""Species that are taken for others. Whoever names a specimen may write any other name."""


def name_on_record(words: str) -> str | None:
    """How a kind, a look-alike or a species of the trade is written on record.

    Args:
        words: A kind, a species' abbreviation, or its common or scientific name, in any letter case.

    Returns:
        The kind's word, the look-alike's common name or the species' abbreviation; None for any other name.
    """
    return _WRITTEN.get(" ".join(words.casefold().split())) or species_code(words)


def likenesses(species: str) -> tuple[LookAlike, ...]:
    """Species that are taken for one, those of its own trap first.

    Args:
        species: Abbreviation of the trap's species.
    """
    own = [one for one in LOOK_ALIKES if one.taken_for == species]
    return (*own, *(one for one in LOOK_ALIKES if not one.taken_for))


def names() -> tuple[str, ...]:
    """Every name that a specimen can be given without writing one of one's own."""
    return (*_WRITTEN.values(), *(species.name for species in SPECIES.values()), *SPECIES)


_WRITTEN = {
    **{word: word for word in KINDS},
    **{name.casefold(): one.name for one in LOOK_ALIKES for name in (one.name, one.latin) if name},
}
