"""Fruit stages: two-digit BBCH codes by crop, with the field's own names for them.

They stand in ``published/stages.txt``. The codes are those of the BBCH scales of pome and of stone fruit (after Meier,
Growth stages of mono- and dicotyledonous plants); the wording is this project's. Which field name belongs to which code
is a reading of the definitions: no published table was found. The English list of stone fruit has no 15 (a German one
has the bare number). Sizes are no common measure: 71 and 72 are 10 and 20 mm in pome fruit, ovary and sepals in stone
fruit.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from roundtui.domain.records import Frozen
from roundtui.domain.text import ruled
from roundtui.published import read

BBCH_POME = "BBCH scale of pome fruit, after Meier et al. 1994"
"""Source of the pome codes that were looked up: up to 73."""
BBCH_STONE = "BBCH scale of stone fruit, after Meier et al. 1994; 64 to 73 in the short form for cherry"
"""Source of the stone codes that were looked up: up to 73."""
GENERAL = "general BBCH scale, as a European phenology data set prints it; the crop's own wording from memory"
"""Source of the later codes that the general scale has as well."""
FROM_MEMORY = "BBCH scale, from memory"
"""Source of the rest."""
_TABLES = read("stages")
_IN_GENERAL = ("81", "85", "87", "89", "91", "93", "95", "97", "99")


class Stage(Frozen):
    """One stage on a crop's scale."""

    code: str
    """Two-digit BBCH code."""
    name: str
    """What is to be seen."""
    source: str
    """Where the code is from."""
    field_names: tuple[str, ...] = ()
    """What it is called in the field, in small letters."""


def _stages(scale: str, looked_up: str) -> tuple[Stage, ...]:
    stages = []
    for code, name, *field_names in sorted(ruled(_TABLES["both"] + _TABLES[scale])):
        source = looked_up if code <= "73" else GENERAL if code in _IN_GENERAL else FROM_MEMORY
        stages.append(Stage(code, name, source, tuple(field_names)))
    return tuple(stages)


POME = _stages("pome", BBCH_POME)
"""Scale of apple, pear and quince."""
STONE = _stages("stone", BBCH_STONE)
"""Scale of peach, nectarine, plum, apricot and cherry."""

_BOTH = {stage.code: stage for stage in (*STONE, *POME)}
ANY_CROP = tuple(_BOTH[code] for code in sorted(_BOTH))
"""Codes of both scales, for a crop whose own scale is not here."""

CROPS: Mapping[str, tuple[Stage, ...]] = MappingProxyType(
    {crop: POME if scale == "pome" else STONE for scale, *crops in ruled(_TABLES["crops"]) for crop in crops}
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
