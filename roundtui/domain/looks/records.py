"""What is looked for on leaf and fruit, and the published plans that say when enough was looked at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from roundtui.domain.orchard_entries import LookKind

MonthDay = tuple[int, int]
"""Month and day of any year."""
COMMON = "common practice, no source"
"""Stands where nothing was found in print."""


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
    high: int | None
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
    kind: LookKind
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
    """What else is in print about it."""

    @property
    def key(self) -> tuple[LookKind, str, str]:
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
