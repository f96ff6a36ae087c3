"""What is put on record of the kit: parts of traps, what was assembled of them, lures in stock, and the register."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roundtui.domain.recorded import Recorded


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

    label: str
    """Label on the part."""
    part: PartKind
    """Which part it is."""
    species: str
    """Abbreviation of the species it is for, for life."""
    state: PartState
    """What became of it."""
    noted_on: date
    """Day of it."""
    place: str = ""
    """Where it is kept."""
    note: str = ""
    """Free words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembled(Recorded):
    """A trap put together before it is hung: its parts, and the lure put in."""

    trap: str
    """Label of the trap; it may not hang anywhere yet."""
    species: str
    """Abbreviation of the trap's species."""
    assembled_on: date
    """Day of it."""
    body_label: str = ""
    """Label of the body; empty where it bears none."""
    funnel_label: str = ""
    """Label of the funnel, likewise."""
    lid_label: str = ""
    """Label of the lid, likewise."""
    lot: str = ""
    """Lot of the lure put in; empty: none yet."""
    despite: str = ""
    """Reason for the override; empty where there was no objection."""


class StockKind(StrEnum):
    """How a number of lures came on record."""

    BOUGHT = "bought"
    """So many more."""
    COUNTED = "counted"
    """So many are there, whatever was before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stocked(Recorded):
    """Lures of a lot that were bought, or counted in the store."""

    lot: str
    """The lot."""
    stocked_on: date
    """Day of it."""
    kind: StockKind
    """Bought or counted."""
    number: int
    """How many lures."""
    note: str = ""
    """Free words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpChanged(Recorded):
    """A change of the register made in the app: a row of a set-up file as it was, and as it is from then on."""

    file: str
    """Set-up file that the row belongs in, as traps.csv."""
    deed: str
    """What was done: added, edited, moved, taken-down, restored, reordered."""
    done_on: date
    """Day it holds from."""
    was: str = ""
    """The row before, a JSON object of its columns that are not blank; empty where there was none."""
    becomes: str = ""
    """The row after, likewise; empty where it is gone."""
    trap: str | None = None
    """Trap it is about; None for what is not about one."""
    block: str | None = None
    """Block it is about; None for what is not about one."""
    words: str = ""
    """Why, in the words of who did it."""


def deed_words(entry: SetUpChanged) -> str:
    """What was done, as people say it: a trap that was down and hangs in a row of its own was hung, not restored.

    Args:
        entry: The change.
    """
    if entry.deed == "restored" and not entry.was:
        return "hung"
    return entry.deed.replace("-", " ")
