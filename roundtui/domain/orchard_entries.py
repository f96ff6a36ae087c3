"""What is put on record in a block beside its traps: looks at leaf and fruit, treatments, and what else was caught."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundtui.domain.recorded import Recorded


class LookKind(StrEnum):
    """What is looked at."""

    LEAF = "leaf"
    """Leaves, shoots, clusters, trees: anything that pest or disease is looked for on."""
    FRUIT = "fruit"
    """Fruit, for injury."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look(Recorded):
    """One look at leaf or fruit of a block: how many units were looked at, and on how many something was found."""

    block: str
    """Code of the block."""
    looked_on: date
    """Day of the look."""
    kind: LookKind
    """Leaf or fruit."""
    pest: str
    """What was looked for: a code of the table of looks, or a free word; for fruit empty where any injury counts."""
    looked_at: str
    """What was counted: leaf, shoot, cluster, tree, truss, tap or fruit."""
    looked: int
    """Units looked at."""
    found: int
    """Units with it. Of fruit: those injured, stings apart."""
    plan: str = ""
    """Id of the plan it was walked by; empty where none is published."""
    counted: int | None = None
    """Single animals or marks on all units together; None where only presence was noted."""
    grade: int | None = None
    """Severity, 0 absent to 5 severe; None where none was given."""
    beneficials: int | None = None
    """Units with a predator or parasite; None where nobody looked for them."""
    entries: int | None = None
    """Of fruit: those with an entry."""
    stings: int | None = None
    """Of fruit: those with a sting only, which are not among ``found``."""
    other_injury: int | None = None
    """Of fruit: those injured by something else."""
    trees: int | None = None
    """Trees it was spread over."""
    place: str = ""
    """Where in the block, as people say it."""
    note: str = ""
    """Free words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentSaid(Recorded):
    """What a grower says was applied: a day, a target and a free word. Never advice."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species it was against."""
    treated_on: date
    """Day of it."""
    words: str = ""
    """What the grower called it."""
    said_by: str = ""
    """Who said so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Specimen(Recorded):
    """Something in a trap that is not its species, or may not be: by kind, with a vial where one was taken."""

    trap: str
    """Label of the trap."""
    read_on: date
    """Day of the visit."""
    what: str
    """Kind: a word of ``domain.specimens``, a species, or unknown."""
    number: int
    """How many."""
    vial: str = ""
    """Number on the vial that was taken; empty where none was."""
    in_count: bool = False
    """Whether they were counted as the trap's own species."""
    identified_on: date | None = None
    """Day on which somebody who knows them named them; None until then."""
    identified_by: str = ""
    """Who named them."""
    note: str = ""
    """Free words."""
