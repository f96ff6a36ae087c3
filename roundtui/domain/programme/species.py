"""Species of the trade: abbreviation, names, EPPO code, trap styles, and how long lures, liners and kill strips last.

Every value has its source beside it. "From memory" means that nobody looked it up: check it before leaning on it. A lot
of lures with a stated life, in ``lures.csv``, always comes before the usual life given here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from roundtui.domain.text import ruled

FROM_MEMORY = "from memory"
"""Source of a value that nobody looked up."""
COMMON_PRACTICE = "common practice, no source"
"""Source of a value that the trade uses and nobody published, as far as is known here."""

LINER_DAYS = 30
"""Age at which a liner is due, however little it caught: a month. [d]

Source: University of California IPM, Pear: Pheromone Traps, ipm.ucanr.edu/agriculture/pear/Pheromone-Traps.
"""
STICKY_DAYS = 28
"""Age at which the sticky surface of a sphere, board, panel or tent is to be cleaned or renewed. [d]"""
STICKY_DAYS_SOURCE = "every three or four weeks: SARE report FNE99-280"
"""Source of ``STICKY_DAYS``."""
KILL_STRIP_DAYS = 120
"""Age at which a kill strip is due; the label of the strip comes first. [d]

Source: vapour for up to 4 months: CDC, MMWR 63(2):42-43, 17 January 2014; University of Florida IFAS PI262.
"""


@dataclass(frozen=True, slots=True)
class TrapStyle:
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


def _sticky(style: str) -> TrapStyle:
    return TrapStyle(style, True, False, f"{FROM_MEMORY}; {STICKY_DAYS_SOURCE}", STICKY_DAYS)


_TAPE = (
    "electrical tape, sticky side out, new when it is no longer sticky: Ontario, Monitoring San Jose scale, ontario.ca"
)
_CUP = (
    "32 oz (0.95 L) cup with ten holes and bait: Michigan State University, "
    "canr.msu.edu/news/monitoring_traps_for_catching_spotted_wing_drosophila"
)
_PYRAMID = "black pyramid: Short, Khrimian & Leskey 2017, J. Pest Sci. 90:1191-1204"

STYLES: Mapping[str, TrapStyle] = MappingProxyType(
    {
        style.style: style
        for style in (
            TrapStyle("delta", has_liner=True, has_kill_strip=False),
            TrapStyle("large-delta", has_liner=True, has_kill_strip=False),
            TrapStyle("wing", has_liner=True, has_kill_strip=False),
            TrapStyle("bucket", has_liner=False, has_kill_strip=True),
            *map(_sticky, ("sphere", "panel", "board", "tent")),
            TrapStyle("tape", has_liner=False, has_kill_strip=False, source=_TAPE),
            TrapStyle("cup", has_liner=False, has_kill_strip=False, source=_CUP),
            TrapStyle("pyramid", has_liner=False, has_kill_strip=False, source=_PYRAMID),
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


_UTAH = "30 days: Utah State University, Intermountain guide, intermountainfruit.org/ipm-methods/traps"
_SOURCES = {
    "": FROM_MEMORY,
    "common": COMMON_PRACTICE,
    "moths of 1.5 cm": "50 to 60 moths of 1.5 cm on 465 cm2, the nearest case published (navel orangeworm): "
    "Kuenen 2008, ars.usda.gov seqNo115=223339",
    "Washington": "Brunner 1993, revised 2018, Monitoring and Identification, Washington State University Tree Fruit, "
    "treefruit.wsu.edu/monitoring-and-identification",
    "leafminer": "800 to 1,200 a trap and week are usual: Wisconsin DATCP 58(2), 9 May 2013; a bucket with a kill "
    "strip: IRDA, Réseau-pommier, 29 November 2022",
    "no liner": "its traps have no liner",
    "nothing": "nothing found published",
    "cleanliness": "by cleanliness, not by date: Nixon et al. 2024",
    "NIAB": "4 weeks, the hot-weather end of 4 to 6: NIAB, Monitoring codling moth, www.niab.com/"
    "monitoring-codling-moth; Purdue, fff.hort.purdue.edu/article/codling-moth-pheromone-traps, has about 3",
    "SJS trials": "good at 8 weeks, poor at 16 to 19: abstract of trap trials in California, Oregon and Washington, "
    "Development of pheromone trapping techniques for male San Jose scale",
    "Utah": _UTAH,
    "Utah, long": f"{_UTAH}; 60 for long-life lures",
    "supplier": "30 days: a supplier's sheet",
    "to a season": f"{FROM_MEMORY}: from two weeks to a season; write the life of the lot",
    "CAPS": "CAPS approved methods, Purdue, approvedmethods.ceris.purdue.edu",
    "bare": "hung without a lure",
    "card": "of lures nothing; a clear card lasts 12 weeks: Nixon et al. 2024, J. Econ. Entomol. 117:2003",
    "vinegar": "vinegar renewed every week: Michigan State University 2010, ipm.msu.edu/invasive_species",
    "Vermont": "University of Vermont Extension, 19 June 2022, on apple maggot fly traps, blog.uvm.edu/fruit; panels: "
    "New York trials 1986-88, abstract",
    "boards": "yellow boards, baited or not: Michigan State University 2009, msue.anr.msu.edu/news, monitoring and "
    "management strategies for cherry fruit fly",
    "white rectangle": "white rectangle: Use of visual traps, Massachusetts, abstract",
    "white board": "white board of 15 x 20 cm: Environ. Entomol. 11:200 (1982)",
    "pyramid": _PYRAMID,
    "black pyramid": "unbaited black pyramid: Massachusetts 1997, fruitadvisor.info/tfruit/fruitnotes",
    "cup": _CUP,
}


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


_SYNONYMS = {
    "CM": "Laspeyresia pomonella, Carpocapsa pomonella, Apfelwickler, carpocapse, carpocapse des pommes, carpocapsa, "
    "polilla del manzano",
    "OFM": "Cydia molesta, Laspeyresia molesta, Grapholitha molesta, Pfirsichwickler, tordeuse orientale, "
    "tordeuse orientale du pêcher, polilla oriental, polilla oriental del melocotonero",
    "PTB": "Pfirsichmotte, petite mineuse du pêcher, anarsia",
    "SJS": "Quadraspidiotus perniciosus, Diaspidiotus perniciosus, San-José-Schildlaus",
}


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


_UNLURED = ("CFF", "WCFF", "BCFF", "ECFF", "EAS", "TPB", "PC")

# Code, name, scientific name, EPPO code, trap styles, days a lure lasts and its source, insects at which a liner is due
# and its source, what is counted, source of the styles.
SHIPPED_SPECIES: Mapping[str, Species] = MappingProxyType(
    {
        row[0]: _species(row)
        for row in ruled(
            """
    CM | codling moth | Cydia pomonella | CARPPO | delta, large-delta, wing | 28 NIAB | 30 Washington | moths |
    OFM | oriental fruit moth | Grapholita molesta | LASPMO | delta, wing | 28 common | 50 moths of 1.5 cm | moths |
    OBLR | obliquebanded leafroller | Choristoneura rosaceana | | delta, wing | 30 Utah | 50 moths of 1.5 cm | moths |
    RBLR | redbanded leafroller | Argyrotaenia velutinana | | delta, wing | 28 common | 50 moths of 1.5 cm | moths |
    TABM | tufted apple bud moth | Platynota idaeusalis | | delta, wing | 28 common | 50 moths of 1.5 cm | moths |
    STLM | spotted tentiform leafminer | Phyllonorycter blancardella | | bucket, delta, wing | 28 common | - leafminer \
        | moths |
    DWB | dogwood borer | Synanthedon scitula | | delta, wing, bucket | 56 to a season | 50 moths of 1.5 cm | moths |
    PTB | peach twig borer | Anarsia lineatella | | delta, wing | 30 Utah, long | 50 moths of 1.5 cm | moths |
    LPTB | lesser peachtree borer | Synanthedon pictipes | | bucket, delta, wing | 30 supplier | 50 moths of 1.5 cm \
        | moths |
    GPTB | greater peachtree borer | Synanthedon exitiosa | | bucket, delta, wing | 30 Utah | 50 moths of 1.5 cm \
        | moths |
    AM | apple maggot | Rhagoletis pomonella | RHAGPO | sphere, panel | 42 to a season | - no liner | flies | Vermont
    SJS | San Jose scale | Comstockaspis perniciosa | QUADPE | tent, delta, tape | 56 SJS trials | - nothing | males |
    PFM | plum fruit moth | Grapholita funebrana | LASPFU | wing, delta | 28 CAPS | 50 moths of 1.5 cm | moths | CAPS
    SFT | summer fruit tortrix | Adoxophyes orana | CAPURE | delta | 84 CAPS | 50 moths of 1.5 cm | moths | CAPS
    LAW | lesser appleworm | Grapholita prunivora | | delta, wing | 28 common | 50 moths of 1.5 cm | moths |
    CFF | eastern cherry fruit fly | Rhagoletis cingulata | | board, panel | 28 common | - no liner | flies | boards
    WCFF | western cherry fruit fly | Rhagoletis indifferens | | board, panel | 28 common | - no liner | flies | boards
    BCFF | black cherry fruit fly | Rhagoletis fausta | | board, panel | 28 common | - no liner | flies | boards
    ECFF | European cherry fruit fly | Rhagoletis cerasi | | board, panel | 28 common | - no liner | flies | boards
    EAS | European apple sawfly | Hoplocampa testudinea | | board | 28 bare | - no liner | sawflies | white rectangle
    TPB | tarnished plant bug | Lygus lineolaris | | board | 28 bare | - no liner | bugs | white board
    BMSB | brown marmorated stink bug | Halyomorpha halys | | pyramid, panel | 84 card | - cleanliness | bugs | pyramid
    CSB | consperse stink bug | Euschistus conspersus | | pyramid | 28 common | - no liner | bugs |
    SWD | spotted wing drosophila | Drosophila suzukii | | cup | 7 vinegar | - no liner | flies | cup
    PC | plum curculio | Conotrachelus nenuphar | | pyramid | 28 bare | - no liner | weevils | black pyramid
    """
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


def called(code: str) -> str:
    """A species by its code and name, as ``CM codling moth``; by its code alone where no name is known."""
    return f"{code} {SPECIES[code].name}" if code in SPECIES else code
