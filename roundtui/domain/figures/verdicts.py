"""What a round's summary says, as values: block rows, troubles, upkeep, what was not read."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING

from roundtui.domain.records import Frozen

if TYPE_CHECKING:
    from roundtui.domain.entries import NoReading
    from roundtui.domain.figures.certainty import Sureness
    from roundtui.domain.figures.unlikely import Slip


TWO_COUNTS = "two counts"
"""What is said of a trap that two scouts read on one day with another count each."""


class Status(StrEnum):
    """Where a block stands against its rule."""

    BELOW = "below"
    WITHIN = "within"
    OVER = "over"
    CANNOT_TELL = "cannot-tell"
    NO_RULE = "no-rule"
    NOT_READ = "not-read"

    @property
    def words(self) -> str:
        """The same as people say it, in a word or two."""
        return "unknown" if self is Status.CANNOT_TELL else self.value.replace("-", " ")


class TroubleKind(StrEnum):
    """What is wrong between a trap and its lure or body; a trap bears one kind at a time, the first that fits."""

    SWAPPED_LURES = "swapped-lures"
    WRONG_LURE = "wrong-lure"
    NO_LURE = "no-lure"
    SCENTED_BODY = "scented-body"

    @property
    def words(self) -> str:
        """As a scout says it."""
        return "contaminated body" if self is TroubleKind.SCENTED_BODY else self.value.replace("-", " ")


class RuleApplied(Frozen):
    """The rule a block was judged by, and the figure it looked at."""

    id: str
    kind: str
    value: Fraction | None
    """Figure compared with the band, in the rule's own unit; None where it cannot be told."""
    source: str
    date: date | None


class Caught(Frozen):
    """What one trap of a mean caught."""

    trap: str
    """Its label."""
    moths: int
    """Net moths of its readings together."""
    days: int
    """Days of these readings together. [d]"""
    readings: tuple[int, ...] = ()
    """Days of each of them. [d]"""


class BlockRow(Frozen):
    """One block and species in a summary. Rates are moths per trap per week."""

    farm: str
    block: str
    species: str
    hung: int
    read: int
    counted: int
    mean_per_week: Fraction | None
    max_per_week: Fraction | None
    mean_with_suspect: Fraction | None
    edge_mean: Fraction | None
    previous_per_week: Fraction | None
    cumulative: Fraction | None
    """Mean moths per trap since the season began."""
    band: tuple[Fraction, Fraction] | None
    status: Status
    thin: bool
    rule: RuleApplied | None
    weak_evidence: bool
    stage: str | None
    """Two-digit BBCH code seen last in this season; None where none was."""
    why: str = ""
    """In words, what stands behind a status that is no plain comparison."""
    rules: tuple[str, ...] = ()
    """Ids of the rules that fit equally well, where two do; then there is no ``rule``."""
    assumed: tuple[str, ...] = ()
    """Set-up columns that nobody filled in and the rule asks for."""
    traps: tuple[Caught, ...] = ()
    """What each trap of the mean caught."""
    headline: tuple[str, ...] = ()
    """What an unlikely, corrected or withdrawn count does to the status, in words."""
    sure: Sureness | None = None
    """How sure the status is; None where nothing is said of it."""
    not_rated: str = ""
    """Why it is not worked out how sure the status is; empty where it is, or where nothing was compared."""
    previous_on: date | None = None
    """Day of the previous figure, where it is more than two weeks old."""
    past_peak: bool = False
    """Whether the flight is past its peak."""
    estimated: tuple[tuple[str, int], ...] = ()
    """Figures that rest on estimated counts, by field, and on how many."""

    @property
    def days(self) -> tuple[int, ...]:
        """Days of exposure behind the mean, shortest and longest. [d]"""
        spans = [trap.days for trap in self.traps]
        return (min(spans), max(spans)) if spans else ()

    @property
    def catch(self) -> int:
        """Net moths behind the mean."""
        return sum(trap.moths for trap in self.traps)

    @property
    def per_day(self) -> Fraction | None:
        """Moths over trap-days, pooled and no mean of rates; None where nothing is behind the mean. [moths/trap/day]"""
        return Fraction(self.catch, sum(trap.days for trap in self.traps)) if self.traps else None

    @property
    def unlike(self) -> tuple[int, int] | None:
        """Shortest and longest exposure behind the mean, where the longest is twice the shortest or more. [d]"""
        days = [one for trap in self.traps for one in trap.readings] or [1]
        return (min(days), max(days)) if max(days) >= 2 * min(days) else None

    def estimates(self, key: str) -> int:
        """How many estimated counts a figure rests on.

        Args:
            key: Name of its field.
        """
        return next((number for field, number in self.estimated if field == key), 0)


class Trouble(Frozen):
    """A trap whose catch cannot be relied on because of its lure or body."""

    kind: TroubleKind
    farm: str
    block: str
    trap: str
    species: str
    found: str | None
    """Species of the lure that is in it, or whose scent is in the body; None for no lure."""
    since: date | None
    """First day of the unbroken run; None where the trap was hung so without a date."""
    partner: str | None = None
    """The other trap of a swapped pair."""


class UpkeepDue(Frozen):
    """A lure, liner or kill strip that is due, or will be within a week."""

    trap: str
    item: str
    """lure, liner or kill-strip."""
    why: str
    """age or catch."""
    days_overdue: int | None
    """Days since it fell due; negative: days left. [d]"""
    catch: int | None
    """Net moths since the liner was changed; None for lure and kill strip."""
    block: str = ""
    since: date | None = None
    """Day it was put in."""
    life_days: int | None = None
    assumed: bool = False
    """Whether the life, or the day it was put in, is the usual one and not on record."""


class NotRead(Frozen):
    """A trap that hung and has no count in the window."""

    trap: str
    reason: NoReading | None
    block: str = ""
    note: str = ""
    left: bool = False
    """Whether it was taken down, or moved to another block, before somebody came."""


class Unlikely(Frozen):
    """A count that the trap's past and the round make unlikely; recorded as typed."""

    trap: str
    count: int
    block: str = ""
    read_on: date | None = None
    slip: Slip | None = None
    """What would explain it, and what was expected."""


class LongReading(Frozen):
    """A reading over so many days that it has no weekly rate."""

    trap: str
    read_on: date
    count: int
    """Moths in the trap as counted."""
    days: int
    """Days of exposure. [d]"""
    block: str = ""


class Conflict(Frozen):
    """Two counts of one trap on one day by two scouts, not yet settled."""

    trap: str
    read_on: date
    entries: tuple[str, ...]
    """Ids of the entries."""
    block: str = ""
    counts: tuple[tuple[str, int], ...] = ()
    """Scout and count of each."""

    @property
    def words(self) -> str:
        """As it is said everywhere."""
        return f"{TWO_COUNTS}, {' and '.join(f'{count} by {scout}' for scout, count in self.counts)}"


class OlderFigureCall(Frozen):
    """A grower who was told a status that the record no longer shows."""

    block: str
    species: str
    round_on: date
    notified: str
    now: Status
    notified_on: date
    by: str
    how: str


class AttentionKind(StrEnum):
    """Why something needs attention, the most urgent first."""

    OVER = "over"
    WITHIN = "within"
    SAMPLE = "sample"
    """A leaf or fruit sample over its plan."""
    SUSPECT = "suspect"
    """A trap whose catch cannot be relied on."""
    NOT_DOWN = "not-coming-down"
    """A catch that does not come down after a treatment."""
    CANNOT_TELL = "cannot-tell"
    CHANGED = "changed"
    """A block whose status hangs on a correction, a withdrawal or an unlikely count."""
    FEW_TRAPS = "few-traps"
    """A mean of fewer than three traps where three or more hang."""
    NEWER = "newer-entry"
    """What only a newer program understands; every figure stands without it."""


class Attention(Frozen):
    """One thing that needs attention."""

    kind: AttentionKind
    farm: str
    block: str
    species: str
    """Abbreviation; of a sample what was looked for, empty for any injury."""
    trap: str | None
    """Label, where it is about one trap."""
    words: str
    """What it is, with days in ISO 8601."""


class Summary(Frozen):
    """The summary of the seven days that end on ``on``."""

    on: date
    blocks: tuple[BlockRow, ...] = ()
    """Over first, then within, below and the rest."""
    integrity: tuple[Trouble, ...] = ()
    upkeep: tuple[UpkeepDue, ...] = ()
    not_read: tuple[NotRead, ...] = ()
    unlikely: tuple[Unlikely, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    older_figure_calls: tuple[OlderFigureCall, ...] = ()
    long_readings: tuple[LongReading, ...] = ()
    attention: tuple[Attention, ...] = ()
    """What needs attention; see ``attention.attention``."""
    route: str | None = None
