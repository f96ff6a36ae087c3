"""What is put on record in a block beside its traps: looks at leaf and fruit, treatments, and what else was caught."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from roundtui.domain.recorded import Recorded, fact


class LookKind(StrEnum):
    """What is looked at."""

    LEAF = "leaf"
    """Leaves, shoots, clusters, trees: anything that pest or disease is looked for on."""
    FRUIT = "fruit"
    """Fruit, for injury."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look(Recorded):
    """One look at leaf or fruit of a block: how many units were looked at, and on how many something was found."""

    block: str = field(metadata=fact("Code of the block."))
    looked_on: date = field(metadata=fact("Day of the sample.", column="sampled_on"))
    kind: LookKind = field(metadata=fact("What was sampled.", column="sample"))
    pest: str = field(metadata=fact("What was looked for; blank for any injury of fruit."))
    looked_at: str = field(
        metadata=fact("What was examined: leaf, shoot, cluster, tree, truss, tap or fruit.", column="unit")
    )
    looked: int = field(metadata=fact("Units examined.", column="examined", least=1))
    found: int = field(metadata=fact("Units with it. Of fruit: those injured, stings apart.", least=0))
    plan: str = field(default="", metadata=fact("Id of the plan it was taken by; empty where none is published."))
    counted: int | None = field(default=None, metadata=fact("Single animals or marks on all units together.", least=0))
    grade: int | None = field(default=None, metadata=fact("Severity, 0 absent to 5 severe.", least=0, most=5))
    beneficials: int | None = field(default=None, metadata=fact("Units with a predator or parasite.", least=0))
    entries: int | None = field(default=None, metadata=fact("Fruit with an entry.", least=0))
    stings: int | None = field(default=None, metadata=fact("Fruit with a sting only.", least=0))
    other_injury: int | None = field(default=None, metadata=fact("Fruit injured by something else.", least=0))
    trees: int | None = field(default=None, metadata=fact("Trees the sample was spread over.", least=1))
    place: str = field(default="", metadata=fact("Where in the block, as people say it."))
    note: str = field(default="", metadata=fact("Free words."))


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentSaid(Recorded):
    """What a grower says was applied: a day, a target and a free word. Never advice."""

    block: str = field(metadata=fact("Code of the block."))
    species: str = field(metadata=fact("Abbreviation of the species it was against."))
    treated_on: date = field(metadata=fact("Day of the treatment."))
    words: str = field(default="", metadata=fact("What the grower called it."))
    said_by: str = field(default="", metadata=fact("Reported by."))


@dataclass(frozen=True, slots=True, kw_only=True)
class Specimen(Recorded):
    """Something in a trap that is not its species, or may not be: by kind, with a vial where one was taken."""

    trap: str = field(metadata=fact("Label of the trap."))
    read_on: date = field(metadata=fact("Day of the visit."))
    what: str = field(metadata=fact("Kind: a word of the table of kinds, a species, or unknown."))
    number: int = field(metadata=fact("How many.", least=0))
    vial: str = field(default="", metadata=fact("Number on the vial that was taken."))
    in_count: bool = field(default=False, metadata=fact("Counted as the trap's own species."))
    identified_on: date | None = field(default=None, metadata=fact("Day on which it was identified."))
    identified_by: str = field(default="", metadata=fact("Who identified it."))
    note: str = field(default="", metadata=fact("Free words."))
