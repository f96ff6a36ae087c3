"""What is put on record of the kit: parts of traps, what was assembled of them, lures in stock, and the register."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from roundtui.domain.recorded import Recorded, fact


class PartKind(StrEnum):
    """Which part of a trap."""

    BODY = "body"
    FUNNEL = "funnel"
    LID = "lid"


class PartState(StrEnum):
    """What became of a part."""

    NEW = "new"
    """Bought and labelled, never used."""
    STORED = "stored"
    """Taken down and put away with those of its species."""
    LOST = "lost"
    """Not found where it hung."""
    DISCARDED = "discarded"
    """Broken, or its scent is not its own: never to be used again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartNoted(Recorded):
    """What became of a labelled part, and for which species it is."""

    label: str = field(metadata=fact("Label on the part."))
    part: PartKind = field(metadata=fact("Which part it is."))
    species: str = field(metadata=fact("Abbreviation of the species it is for, for life."))
    state: PartState = field(metadata=fact("What became of it."))
    noted_on: date = field(metadata=fact("Day of it."))
    place: str = field(default="", metadata=fact("Where it is kept."))
    note: str = field(default="", metadata=fact("Free words."))


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembled(Recorded):
    """A trap put together before it is hung: its parts, and the lure put in."""

    trap: str = field(metadata=fact("Label of the trap; it may not hang anywhere yet."))
    species: str = field(metadata=fact("Abbreviation of the trap's species."))
    assembled_on: date = field(metadata=fact("Day on which the trap was assembled."))
    body_label: str = field(default="", metadata=fact("Label of the trap body."))
    funnel_label: str = field(default="", metadata=fact("Label of the funnel."))
    lid_label: str = field(default="", metadata=fact("Label of the lid."))
    lot: str = field(default="", metadata=fact("Lot of the lure put in; empty: none yet."))
    despite: str = field(
        default="",
        metadata=fact("Why the trap was put together all the same; blank where nothing was wrong.", column="override"),
    )


class StockKind(StrEnum):
    """How a number of lures came on record."""

    BOUGHT = "bought"
    """So many more."""
    COUNTED = "counted"
    """So many are there, whatever was before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stocked(Recorded):
    """Lures of a lot that were bought, or counted in the store."""

    lot: str = field(metadata=fact("The lot."))
    stocked_on: date = field(metadata=fact("Day on which the lures were bought or counted."))
    kind: StockKind = field(metadata=fact("Bought or counted.", column="event"))
    number: int = field(metadata=fact("How many lures.", least=0))
    note: str = field(default="", metadata=fact("Free words."))


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpChanged(Recorded):
    """A change of the register made in the app: a row of a set-up file as it was, and as it is from then on."""

    file: str = field(metadata=fact("Set-up file that the row belongs in, as traps.csv."))
    deed: str = field(
        metadata=fact("What was done: loaded, added, edited, moved, taken-down, restored, reordered.", column="change")
    )
    done_on: date = field(metadata=fact("Day it holds from."))
    row: str = field(metadata=fact("What tells the row from others for good: its labels when it came, a JSON array."))
    was: str = field(
        default="",
        metadata=fact("The row before, a JSON object of its columns that are not blank; empty where there was none."),
    )
    becomes: str = field(default="", metadata=fact("The row after, likewise; empty where it is gone."))
    after: str = field(
        default="", metadata=fact("Versions of the row that this one took the place of, set apart by blanks.")
    )
    trap: str | None = field(default=None, metadata=fact("Trap it is about; None for what is not about one."))
    block: str | None = field(default=None, metadata=fact("Block it is about; None for what is not about one."))
    words: str = field(default="", metadata=fact("Why, in the words of who did it."))


def deed_words(entry: SetUpChanged) -> str:
    """What was done, as people say it: a trap that was down and hangs in a row of its own was hung, not restored.

    Args:
        entry: The change.
    """
    if entry.deed == "restored" and not entry.was:
        return "hung"
    return entry.deed.replace("-", " ")
