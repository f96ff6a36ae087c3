"""Fruit stages: two-digit BBCH codes by crop, with the field's own names for them.

The codes are those of the BBCH scales of pome and of stone fruit (after Meier, Growth stages of mono- and
dicotyledonous plants); the wording is this project's. Which field name belongs to which code is a reading of the
definitions: no published table was found. The English list of stone fruit has no 15 (a German one has the bare number).
Sizes are no common measure: 71 and 72 are 10 and 20 mm in pome fruit, ovary and sepals in stone fruit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from roundtui.domain.text import ruled

BBCH_POME = "BBCH scale of pome fruit, after Meier et al. 1994"
"""Source of the pome codes that were looked up: up to 73."""
BBCH_STONE = "BBCH scale of stone fruit, after Meier et al. 1994; 64 to 73 in the short form for cherry"
"""Source of the stone codes that were looked up: up to 73."""
GENERAL = "general BBCH scale, as a European phenology data set prints it; the crop's own wording from memory"
"""Source of the later codes that the general scale has as well."""
FROM_MEMORY = "BBCH scale, from memory"
"""Source of the rest."""
_IN_GENERAL = ("81", "85", "87", "89", "91", "93", "95", "97", "99")


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage on a crop's scale."""

    code: str
    """Two-digit BBCH code."""
    name: str
    """What is to be seen."""
    source: str
    """Where the code is from."""
    field_names: tuple[str, ...] = ()
    """What it is called in the field, in small letters."""


def _stages(rows: str, looked_up: str) -> tuple[Stage, ...]:
    stages = []
    for code, name, *field_names in sorted(ruled(_SHARED + rows)):
        source = looked_up if code <= "73" else GENERAL if code in _IN_GENERAL else FROM_MEMORY
        stages.append(Stage(code, name, source, tuple(field_names)))
    return tuple(stages)


# Rows that read alike on both scales, then those of each.
_SHARED = """
    00 | dormant, buds closed | dormant | dormancy
    01 | leaf buds begin to swell
    11 | first leaves open
    19 | leaves full size
    31 | shoots begin to grow
    32 | shoots two tenths of their final length
    33 | shoots three tenths of their final length
    39 | shoots nine tenths of their final length
    61 | bloom begins, one flower in ten open
    62 | one flower in five open
    63 | three flowers in ten open
    64 | four flowers in ten open
    65 | full bloom, half or more open, first petals falling | full bloom | bloom
    67 | bloom fading, most petals down
    69 | bloom over, all petals down | petal fall | end of bloom
    75 | fruit half its final size | half size
    76 | fruit six tenths of its final size
    77 | fruit seven tenths of its final size
    78 | fruit eight tenths of its final size
    79 | fruit nine tenths of its final size
    87 | ripe to pick | harvest | picking ripe
    89 | ripe to eat
    91 | shoots done growing, leaves still green
    92 | leaves begin to change colour
    93 | leaves begin to fall
    95 | half the leaves have changed colour, or are down: print differs
    97 | all leaves down
    99 | harvested | after harvest | post harvest
"""
POME = _stages(
    """
    03 | leaf buds swollen
    07 | leaf buds break, first green showing
    09 | leaf tips green, 5 mm out
    10 | leaf tips 10 mm out, first leaves parting
    15 | more leaves open, not full size
    51 | flower buds begin to swell | silver tip | bud swell | swollen bud
    52 | flower buds swollen, light scales showing
    53 | flower buds break, green showing | green tip | bud burst | bud break
    54 | green leaf tips 10 mm over the flower buds | half-inch green | half inch green | mouse ear
    55 | flower buds to be seen, still closed in the cluster
    56 | green buds, flowers parting in the cluster | tight cluster | green cluster | green bud
    57 | pink: petals longer, sepals opening | pink | first pink | pink bud
    59 | balloon: most flowers round and hollow, not open | full pink | open cluster | balloon
    60 | first flowers open | king bloom | first bloom | early bloom
    71 | fruit to 10 mm, some drop after bloom | fruit set | set
    72 | fruit to 20 mm
    73 | second fruit drop | june drop
    74 | fruit to 40 mm, still upright
    81 | ripening begins, ground colour lightens
    85 | ripening well on, variety's colour shows
    """,
    BBCH_POME,
)
"""Scale of apple, pear and quince."""

STONE = _stages(
    """
    03 | leaf buds swollen, light green scales
    09 | leaf buds show green tips
    10 | first leaves parting
    50 | flower buds closed, in winter rest
    51 | flower buds swell, still closed | bud swell | swollen bud
    53 | flower buds break, light scales parting | bud burst | bud break
    54 | flowers closed in green scales | green tip
    55 | single flower buds to be seen, closed on short stalks | tight cluster | calyx green
    56 | stalks lengthen, flower buds part | open cluster | calyx red
    57 | sepals open, tips of petals to be seen | pink | white bud
    59 | balloon: most flowers round and hollow, not open | full pink | balloon | popcorn
    60 | first flowers open | first bloom | early bloom
    71 | ovary grows, some drop after bloom | fruit set | in the shuck | set
    72 | young fruit ringed by dying sepals, sepals begin to fall | shuck split | shuck fall
    73 | second fruit drop
    81 | colour begins to show | first colour
    85 | colour well on
    """,
    BBCH_STONE,
)
"""Scale of peach, nectarine, plum, apricot and cherry."""

_BOTH = {stage.code: stage for stage in (*STONE, *POME)}
ANY_CROP = tuple(_BOTH[code] for code in sorted(_BOTH))
"""Codes of both scales, for a crop whose own scale is not here."""

CROPS: Mapping[str, tuple[Stage, ...]] = MappingProxyType(
    dict.fromkeys(("apple", "pear", "quince", "asian pear", "crabapple"), POME)
    | dict.fromkeys(("peach", "nectarine", "plum", "apricot", "cherry", "sweet cherry", "sour cherry", "prune"), STONE)
)
"""Scales by crop."""


def scale(crop: str) -> tuple[Stage, ...]:
    """The stages of a crop, earliest code first.

    Args:
        crop: Crop as in ``blocks.csv``, in any letter case, singular or plural.

    Returns:
        Its scale; ``ANY_CROP`` for a crop nobody knows.
    """
    word = " ".join(crop.casefold().split())
    for name in (word, word.removesuffix("s"), word.removesuffix("es"), word.removesuffix("ies") + "y"):
        if name in CROPS:
            return CROPS[name]
    return ANY_CROP


def stage_name(crop: str, code: str) -> str:
    """What is to be seen at a stage; an empty text for a code that is not on the crop's scale."""
    return next((stage.name for stage in scale(crop) if stage.code == code), "")


def find(crop: str, text: str) -> Stage | None:
    """The one stage a text stands for.

    Args:
        crop: Crop whose scale is meant.
        text: A two-digit code, a field name (``petal fall``) or the full wording, in any letter case.

    Returns:
        The stage; None where the crop's scale has none of that name.
    """
    wanted = _folded(text)
    for stage in scale(crop):
        if wanted in (stage.code, _folded(stage.name), *map(_folded, stage.field_names)):
            return stage
    return None


def runs_backward(before: str, after: str) -> bool:
    """Whether a stage seen later in a season stands before one seen earlier.

    Leaf stages run beside bud and bloom, not before them: a leaf code after a bloom code is no step back. Up to the
    first leaf tips the leaf codes are ranked with the bud stages that are seen on the same day.

    Args:
        before: Code seen first.
        after: Code seen later in the same season.

    Returns:
        True where the later sample must be a slip, or the earlier one was.
    """
    if _leaf(before) != _leaf(after):
        return False
    return _rank(after) < _rank(before)


_SEEN_WITH = {"01": 51, "03": 52, "07": 53, "09": 53, "10": 54, "99": 90}
"""Bud stage seen on the day of an early leaf stage; from the definitions, no published table. Fruit is harvested before
the leaves fall, whatever its code."""


def _rank(code: str) -> int:
    return _SEEN_WITH.get(code, int(code) if code.isascii() and code.isdigit() else 0)


def _leaf(code: str) -> bool:
    return "11" <= code <= "39"


def _folded(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").split())
