"""What a scout leaves on record: visits to traps, fruit stages seen, growers told."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any

from roundtui.domain.recorded import Recorded, fact

YES = "yes"
"""``Visit.lure``: a lure of the trap's own species; ``Visit.body``: a clean body without a label."""
NONE = "none"
"""``Visit.lure`` and ``Visit.lure_found``: no lure in the trap."""
MOST_MOTHS = 9999
"""Highest count that can be entered; more is impossible in a trap of this trade (common practice, no source)."""


_FOR_GROWER = ("grower:", "g:")


def for_grower(note: str) -> str:
    """What a note says to the grower, as ``grower: half under leaves``; empty where it is the scout's own.

    Args:
        note: As the scout wrote it.
    """
    words = note.strip()
    mark = next((one for one in _FOR_GROWER if words.casefold().startswith(one)), None)
    return words[len(mark) :].strip() if mark else ""


_OF_ALL = frozenset(one.name for one in fields(Recorded))


class NoReading(StrEnum):
    """Why a trap that was due has no count."""

    SKIPPED = "skipped"
    CLOSED = "closed"
    MISSING = "missing"
    DOWN = "down"
    DAMAGED = "damaged"
    OTHER = "other"

    @property
    def restarts_exposure(self) -> bool:
        """Whether the days of exposure begin anew on this visit."""
        return self in (NoReading.MISSING, NoReading.DOWN, NoReading.DAMAGED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft(Recorded):
    """What one entry says of a trap, whichever trap and day it is.

    Zero is a count, None is no count: the two are never the same. What was done on a visit acts after its count.
    """

    count: int | None = field(
        default=None,
        metadata=fact(
            "Moths in the trap, those left in earlier included. Zero is a count; blank is no count.",
            least=0,
            most=MOST_MOTHS,
        ),
    )
    no_reading: NoReading | None = field(default=None, metadata=fact("Why it was not counted.", mark="x"))
    estimated: bool = field(default=False, metadata=fact("The count is an estimate.", mark="e", short="estimate"))
    cleared: bool = field(default=True, metadata=fact("Whether the moths were taken out.", mark="c", short="left in"))
    liner: bool = field(default=False, metadata=fact("Liner replaced.", mark="l", short="liner"))
    lure: str | None = field(
        default=None,
        metadata=fact(
            "Lure replaced: a lot, yes for the trap's own species, none for taken out; blank: left alone.", mark="r"
        ),
    )
    kill_strip: bool = field(default=False, metadata=fact("Kill strip replaced.", mark="k", short="kill strip"))
    body: str | None = field(
        default=None,
        metadata=fact("Body replaced: its label, or yes for a clean one without; blank: left alone.", mark="b"),
    )
    others: int | None = field(
        default=None,
        metadata=fact("Other insects in the trap.", mark="o", short="others", least=0, most=MOST_MOTHS),
    )
    females: int | None = field(
        default=None,
        metadata=fact(
            "Females among the count; blank: not sexed, which is never zero.",
            mark="h",
            short="females",
            least=0,
            most=MOST_MOTHS,
        ),
    )
    lure_found: str | None = field(
        default=None,
        metadata=fact("Wrong lure found in the trap: a lot, a species, or none; blank: nothing remarked.", mark="w"),
    )
    note: str = field(default="", metadata=fact("Free words.", mark="n"))

    @property
    def says_something(self) -> bool:
        """Whether there is a count, a reason, or a mark: a note alone is no entry."""
        return any(getattr(self, name) != default for name, default in _SAYING)

    def visit(self, trap: str, read_on: date, **more: Any) -> Visit:
        """The entry, now of a trap and a day.

        Args:
            trap: Label of the trap.
            read_on: Day of the visit.
            more: Further fields: whether it is a recount, who recorded it and when, and what it replaces.
        """
        return Visit(trap=trap, read_on=read_on, **{name: getattr(self, name) for name in SAID}, **more)


_SAYING = tuple(
    (one.name, one.default) for one in fields(Draft) if one.name not in {*_OF_ALL, "note", "estimated", "females"}
)


SAID = tuple(one.name for one in fields(Draft) if one.name not in _OF_ALL)
"""What an entry says, without its trap, day and author."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit(Draft):
    """One entry about one trap on one day, as it stands now."""

    trap: str = field(metadata=fact("Label of the trap; it keeps its species for life."))
    read_on: date = field(metadata=fact("Day of the visit."))
    recount: bool = field(
        default=False, metadata=fact("A recount of a catch already counted; never a catch of its own.", short="recount")
    )

    @property
    def order(self) -> tuple[date, datetime, str]:
        """Sort key: by day, within a day as recorded."""
        return (self.read_on, self.recorded_at or _NEVER, self.id)


@dataclass(frozen=True, slots=True, kw_only=True)
class StageSeen(Recorded):
    """The fruit stage of a block on a day."""

    block: str = field(metadata=fact("Code of the block."))
    seen_on: date = field(metadata=fact("Day of the sample."))
    code: str = field(metadata=fact("Two-digit BBCH code on the scale of the block's crop.", pattern="[0-9]{2}"))
    unchanged: bool = field(default=False, metadata=fact("Confirmed as last time rather than chosen anew."))


@dataclass(frozen=True, slots=True, kw_only=True)
class Told(Recorded):
    """That a grower was told what a block showed."""

    block: str = field(metadata=fact("Code of the block."))
    species: str = field(metadata=fact("Abbreviation of the species."))
    round_on: date = field(metadata=fact("Day of the summary of which the grower was notified."))
    status: str = field(metadata=fact("Status of which the grower was notified."))
    told_on: date = field(metadata=fact("Day of the call."))
    by: str = field(metadata=fact("Who called.", column="told_by"))
    how: str = field(metadata=fact("Phone, letter, in person."))


_NEVER = datetime.max.replace(tzinfo=UTC)
