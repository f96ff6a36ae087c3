"""What is looked for on leaf and fruit, and the published plans that say when enough was looked at.

The running verdict of a sample: stop and what it says, or how many more, by a plan that was published.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction
from math import ceil, floor

from roundtui.domain.entries import SampleKind

MonthDay = tuple[int, int]
"""Month and day of any year."""
COMMON = "common practice, no source"
"""Stands where nothing was found published."""


class Measure(StrEnum):
    """What a plan compares."""

    SHARE = "share"
    """Units with it, of those looked at."""
    MEAN = "mean"
    """Single animals or marks, a unit."""
    STOPS = "stops"
    """Units with it, at certain numbers of units looked at."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of a sequential plan."""

    looked: int
    """Units looked at."""
    low: int
    """Stop below at so many units with it, or fewer."""
    high: int | None = None
    """Stop over at so many or more; None: never over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A published threshold or stopping rule."""

    id: str
    """Short name of its own."""
    measure: Measure
    """What it compares."""
    source: str
    """Who published it."""
    units: int
    """Units that it wants looked at; the last stop of a sequential plan."""
    units_source: str = ""
    """Where that number is from, where it is not from the plan's own source."""
    low: Fraction | None = None
    """Under it is below. A share, or animals a unit."""
    high: Fraction | None = None
    """At it is over; equal to ``low`` where the plan has one number."""
    above: bool = False
    """Over only when above the number, not at it."""
    stops: tuple[Stop, ...] = ()
    """Stops of a sequential plan, in order."""
    first: MonthDay | None = None
    """First day of the year on which it holds; None: all year."""
    last: MonthDay | None = None
    """Last day of the year on which it holds."""
    date: date | None = None
    """Day of the source."""
    note: str = ""
    """What is odd about it, and which other source says otherwise."""
    office: bool = False
    """Whether it is the office's own."""

    def holds_on(self, day: MonthDay) -> bool:
        """Whether a day of the year lies in its time.

        Args:
            day: Month and day, as in the north.
        """
        if self.first is None or self.last is None:
            return True
        if self.first <= self.last:
            return self.first <= day <= self.last
        return day >= self.first or day <= self.last


@dataclass(frozen=True, slots=True, kw_only=True)
class Sought:
    """Something that is looked for."""

    code: str
    """Code as it stands in an entry; empty: any injury of fruit."""
    name: str
    """Name as people say it."""
    kind: SampleKind
    """Leaf or fruit."""
    looked_at: str
    """The unit: leaf, shoot, cluster, tree, truss, tap, beat or fruit."""
    plans: tuple[Plan, ...] = ()
    """Published plans, the first one first; empty where none was found."""
    counted: str = ""
    """What is counted on a unit, in the plural; empty where presence is enough."""
    crops: tuple[str, ...] = ()
    """Crops it is looked for on; empty: any."""
    months: tuple[int, ...] = ()
    """Months in which it is looked for in the north; empty: all. Common practice, no source."""
    units: int = 100
    """Usual number of units where there is no plan."""
    spread: str = ""
    """How they are spread over trees."""
    by_presence: tuple[tuple[int, Fraction], ...] = ()
    """How many of 25 leaves have it, and animals a leaf that this stands for."""
    remark: str = ""
    """What else is published about it."""

    @property
    def key(self) -> tuple[SampleKind, str, str]:
        """What tells it from all others."""
        return self.kind, self.code, self.looked_at


def plural(unit: str, number: int = 2) -> str:
    """A unit in the number.

    Args:
        unit: As leaf.
        number: How many.
    """
    if number == 1 or unit == "fruit":
        return unit
    return {"leaf": "leaves", "truss": "trusses", "branch": "branches"}.get(unit, f"{unit}s")


class Outcome(StrEnum):
    """Where a sample stands against its plan."""

    BELOW = "below"
    WITHIN = "within"
    OVER = "over"
    MORE = "more"
    """Not enough was looked at."""
    CANNOT_TELL = "cannot-tell"
    """The plan says nothing of such a sample."""
    NO_PLAN = "no-plan"
    """It was walked by no plan."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen so far."""

    looked: int
    """Units looked at; 0 where nobody has said yet."""
    found: int
    """Units with it."""
    counted: int | None = None
    """Animals or marks on all of them together; None where they were not counted on every unit with it."""
    least: int = 0
    """Animals or marks counted at least, where not on every unit."""

    @property
    def at_least(self) -> int:
        """Animals or marks that there are at the least: one on every unit with it."""
        return max(self.found, self.least) if self.counted is None else self.counted


@dataclass(frozen=True, slots=True)
class SampleVerdict:
    """What a plan says of a sample."""

    outcome: Outcome
    """Where it stands."""
    more: int = 0
    """Units still to look at. With ``MORE`` only."""
    derived: bool = False
    """Whether it is arithmetic from the plan's number and stands nowhere in the plan itself."""
    why: str = ""
    """What stands behind it, where it is no plain comparison."""

    @property
    def words(self) -> str:
        """As it is said to whoever looks."""
        match self.outcome:
            case Outcome.MORE:
                return f"{self.more} more"
            case Outcome.CANNOT_TELL:
                return "cannot tell"
            case Outcome.NO_PLAN:
                return "no plan"
        return f"stop: {self.outcome}"


NO_PLAN = SampleVerdict(Outcome.NO_PLAN)
"""Where there is no plan, the interval is all that can be said."""


def judge(plan: Plan | None, seen: Seen, by_presence: Sequence[tuple[int, Fraction]] = ()) -> SampleVerdict:
    """What a plan says of what was seen so far.

    Args:
        plan: The plan; None where none is published.
        seen: What was seen.
        by_presence: Table that makes animals a unit out of units with any, where one is published.

    Returns:
        The verdict. Before all units are looked at it says stop only where nothing can change it any more: when so
        many are found that the number cannot be missed, or so few that it cannot be reached. That is arithmetic and
        marked as derived.
    """
    if plan is None:
        return NO_PLAN
    if plan.measure is Measure.STOPS:
        return _at_stops(plan.stops, seen)
    low, high = plan.low or Fraction(0), plan.high or Fraction(0)
    if plan.measure is Measure.SHARE:
        return _share(plan, seen, low, high)
    return _mean(plan, seen, (low, high), by_presence)


def least_over(high: Fraction, units: int, *, above: bool) -> int:
    """Fewest that make a sample of so many units over.

    Args:
        high: The number. [1 or animals a unit]
        units: Units looked at.
        above: Whether it has to be passed, not only reached.
    """
    return floor(high * units) + 1 if above else ceil(high * units)


def most_below(low: Fraction, units: int, *, above: bool) -> int:
    """Most that leave a sample of so many units below; -1 where none does.

    Args:
        low: The number. [1 or animals a unit]
        units: Units looked at.
        above: Whether reaching it is still below.
    """
    return floor(low * units) if above else ceil(low * units) - 1


def _share(plan: Plan, seen: Seen, low: Fraction, high: Fraction) -> SampleVerdict:
    units, left = max(plan.units, seen.looked), plan.units - seen.looked
    if seen.found >= least_over(high, units, above=plan.above):
        why = f"even if none of the other {left} had it, it is over" if left > 0 else ""
        return SampleVerdict(Outcome.OVER, derived=left > 0, why=why)
    if seen.looked and seen.found + max(left, 0) <= most_below(low, units, above=plan.above):
        why = f"even if all {left} left had it, it stays below" if left > 0 else ""
        return SampleVerdict(Outcome.BELOW, derived=left > 0, why=why)
    return SampleVerdict(Outcome.MORE, left) if left > 0 else SampleVerdict(Outcome.WITHIN)


def _mean(
    plan: Plan, seen: Seen, edges: tuple[Fraction, Fraction], by_presence: Sequence[tuple[int, Fraction]]
) -> SampleVerdict:
    low, high = edges
    units, left = max(plan.units, seen.looked), plan.units - seen.looked
    if seen.at_least >= least_over(high, units, above=plan.above):
        derived = left > 0 or seen.counted is None
        why = f"{seen.at_least} at the least on {units} already reaches it" if derived else ""
        return SampleVerdict(Outcome.OVER, derived=derived, why=why)
    if left > 0:
        return SampleVerdict(Outcome.MORE, left)
    if seen.counted is None and seen.found:
        between = presence(by_presence, seen.looked, seen.found)
        if between is not None:
            return _by_presence(between, low, high)
        return SampleVerdict(Outcome.CANNOT_TELL, why="they were not counted on every unit")
    if seen.at_least <= most_below(low, units, above=plan.above):
        return SampleVerdict(Outcome.BELOW)
    return SampleVerdict(Outcome.WITHIN)


def _by_presence(between: tuple[Fraction, Fraction | None], low: Fraction, high: Fraction) -> SampleVerdict:
    least, most = between
    why = "by the table of leaves with mites"
    if least >= high:
        return SampleVerdict(Outcome.OVER, derived=True, why=why)
    if most is not None and most < low:
        return SampleVerdict(Outcome.BELOW, derived=True, why=why)
    if least >= low and most is not None and most < high:
        return SampleVerdict(Outcome.WITHIN, derived=True, why=why)
    return SampleVerdict(Outcome.CANNOT_TELL, why="the table of leaves with mites leaves it open: count them")


OF_LEAVES = 25
"""Leaves that the published table of leaves with mites is made for."""


def presence(table: Sequence[tuple[int, Fraction]], looked: int, found: int) -> tuple[Fraction, Fraction | None] | None:
    """Animals a unit that so many units with any stand for.

    Args:
        table: Units of 25 with any, and animals a unit, rising.
        looked: Units looked at; those of another number are held against the table by their share.
        found: Units with any.

    Returns:
        The two rows of the table between which it lies, equal where it is on one; the second None above the last row,
        the first 0 below the first. None where there is no table or nothing was looked at.
    """
    if not table or not looked:
        return None
    of_25 = Fraction(found * OF_LEAVES, looked)
    least = max((animals for leaves, animals in table if leaves <= of_25), default=Fraction(0))
    most = min((animals for leaves, animals in table if leaves >= of_25), default=None)
    return least, most


def _at_stops(stops: Sequence[Stop], seen: Seen) -> SampleVerdict:
    for stop in stops:
        here = stop.looked == seen.looked
        # What is found only ever grows: few enough now were few enough at every stop that was passed.
        if stop.looked <= seen.looked and seen.found <= stop.low:
            return SampleVerdict(Outcome.BELOW, derived=not here, why="" if here else f"so at {stop.looked}")
        if here and stop.high is not None and seen.found >= stop.high:
            return SampleVerdict(Outcome.OVER)
    ahead = next((stop for stop in stops if stop.looked > seen.looked), None)
    if ahead is None:
        last = stops[-1].looked
        return SampleVerdict(Outcome.CANNOT_TELL, why=f"the plan ends at {last}, and does not say what that many mean")
    if ahead.high is not None and seen.found >= ahead.high:
        return SampleVerdict(Outcome.OVER, derived=True, why=f"so at {ahead.looked} too")
    return SampleVerdict(Outcome.MORE, ahead.looked - seen.looked)


def checkpoint(plan: Plan | None, units: int, seen: Seen) -> int:
    """How many units a sample of what was found so far most likely ends at: what Enter alone stands for.

    Args:
        plan: The plan; None where none is published.
        units: Usual number where there is no plan.
        seen: What was seen; ``looked`` is what somebody has said already.

    Returns:
        The plan's number; of a sequential plan the first stop still ahead at which so many found may stop.
    """
    if plan is None:
        return max(units, seen.looked)
    if plan.measure is not Measure.STOPS:
        return max(plan.units, seen.looked)
    ahead = [stop for stop in plan.stops if stop.looked > seen.looked]
    ends = (stop for stop in ahead if seen.found <= stop.low or (stop.high is not None and seen.found >= stop.high))
    chosen = next(ends, ahead[-1] if ahead else None)
    return max(chosen.looked if chosen else plan.units, seen.looked)
