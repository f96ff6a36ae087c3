"""What a scout leaves on record: visits to traps, fruit stages seen, growers told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum

YES = "yes"
"""``Visit.lure``: a lure of the trap's own species; ``Visit.body``: a clean body without a label."""
NONE = "none"
"""``Visit.lure`` and ``Visit.lure_found``: no lure in the trap."""
MOST_MOTHS = 9999
"""Highest count that can be entered; more is impossible in a trap of this trade (common practice, no source)."""


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
class Visit:
    """One entry about one trap on one day, as it stands now.

    Zero is a count, None is no count: the two are never the same. What was done on a visit acts after its count.
    """

    trap: str
    """Label of the trap."""
    read_on: date
    """Day of the visit."""
    count: int | None = None
    """Moths of the trap's species in the trap, those left in earlier included; None: not counted."""
    no_reading: NoReading | None = None
    """Why it was not counted."""
    cleared: bool = True
    """Whether the moths were taken out."""
    liner: bool = False
    """Liner replaced."""
    lure: str | None = None
    """None: left alone; a lot; ``YES``: own species; ``NONE``: taken out and none put in."""
    kill_strip: bool = False
    """Kill strip replaced."""
    body: str | None = None
    """None: left alone; ``YES``: a clean body without a label; else the label of the new body."""
    note: str = ""
    """Free words."""
    others: int | None = None
    """Other insects in the trap."""
    estimated: bool = False
    """The count is an estimate."""
    lure_found: str | None = None
    """What was found in the trap: a lot, a species, or ``NONE``; None where nothing was remarked."""
    recount: bool = False
    """A second look at a catch already counted; never a catch of its own."""
    scout: str = ""
    """Who."""
    device: str = ""
    """Which laptop."""
    recorded_at: datetime | None = None
    """Instant of recording, UTC."""
    id: str = ""
    """Time-ordered universal id; empty until recorded."""
    replaces: str | None = None
    """Id of the entry that this one corrects."""
    reason: str = ""
    """Why it was corrected."""

    @property
    def says_something(self) -> bool:
        """Whether there is a count, a reason, or a flag: a note alone is no entry."""
        return (
            self.count is not None
            or self.no_reading is not None
            or not self.cleared
            or self.liner
            or self.lure is not None
            or self.kill_strip
            or self.body is not None
            or self.others is not None
            or self.lure_found is not None
        )

    @property
    def order(self) -> tuple[date, datetime, str]:
        """Sort key: by day, within a day as recorded."""
        return (self.read_on, self.recorded_at or _NEVER, self.id)


@dataclass(frozen=True, slots=True, kw_only=True)
class StageSeen:
    """The fruit stage of a block on a day."""

    block: str
    """Code of the block."""
    seen_on: date
    """Day of the look."""
    code: str
    """Two-digit BBCH code on the scale of the block's crop."""
    unchanged: bool = False
    """Confirmed as last time rather than chosen anew."""
    scout: str = ""
    """Who."""
    device: str = ""
    """Which laptop."""
    recorded_at: datetime | None = None
    """Instant of recording, UTC."""
    id: str = ""
    """Time-ordered universal id; empty until recorded."""
    replaces: str | None = None
    """Id of the entry that this one corrects."""
    reason: str = ""
    """Why it was corrected."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """That a grower was told what a block showed."""

    block: str
    """Code of the block."""
    species: str
    """Abbreviation of the species."""
    round_on: date
    """Day of the summary that was told."""
    status: str
    """Status that was told: below, within, over, cannot-tell …"""
    told_on: date
    """Day of the telling."""
    by: str
    """Who told."""
    how: str
    """Phone, letter, in person …"""
    scout: str = ""
    """Who entered it."""
    device: str = ""
    """Which laptop."""
    recorded_at: datetime | None = None
    """Instant of recording, UTC."""
    id: str = ""
    """Time-ordered universal id; empty until recorded."""
    replaces: str | None = None
    """Id of the entry that this one corrects."""
    reason: str = ""
    """Why it was corrected."""


_NEVER = datetime.max.replace(tzinfo=UTC)
