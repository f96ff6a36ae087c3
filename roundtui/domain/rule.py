"""One threshold rule: the figure it judges, its band, where it holds and where it is from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction


class RuleKind(StrEnum):
    """Which figure a rule looks at."""

    MEAN = "mean"
    """Mean of the block's traps, per trap per week."""
    SINGLE_TRAP = "single-trap"
    """The highest single trap, per week."""
    RUNNING = "running"
    """The least weekly mean of the last so many weeks: the block stood there in each of them."""
    CUMULATIVE = "cumulative"
    """Mean catch per trap added up over days."""


HANGING = "hanging"
"""``Rule.since``: from the day the trap was hung."""
BIOFIX = "biofix"
"""``Rule.since``: from the biofix."""
HOLD = "hold"
"""``Rule.after_treatment``: catches of the time after a treatment are not added."""
RESTART = "restart"
"""``Rule.after_treatment``: the sum starts anew after a treatment."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A band for one species, the figure it judges, and where it holds."""

    id: str
    """Short name, as a summary shows it."""
    species: str
    """Abbreviation of the species."""
    kind: RuleKind
    """Figure that is compared."""
    low: Fraction
    """Below it: ``below``. [moths per trap per week; cumulative: moths per trap]"""
    high: Fraction
    """At or over it: ``over``; in between: ``within``. Same unit."""
    source: str
    """Who published it, or that nobody did."""
    date: date | None
    """Day of the source, or on which the office took it up."""
    weeks: int | None = None
    """Running: so many weeks."""
    since: str | None = None
    """Cumulative: ``hanging``, ``biofix`` or a two-digit stage; None: from the start of the season."""
    months: tuple[int, ...] = ()
    """Months in which it holds; empty: all."""
    load_mg: tuple[Fraction, Fraction] | None = None
    """Lure loads for which it holds, both ends included. [mg]"""
    disrupted: bool | None = None
    """Holds only with, or only without, mating disruption; None: for both."""
    edge: bool = False
    """Whether edge traps are taken into its figure."""
    after_treatment: str | None = None
    """Cumulative: ``hold`` or ``restart`` after a treatment."""
    days: int | None = None
    """How long a treatment holds the sum, or after how long it restarts. [d]"""
    degree_days: Fraction | None = None
    """The same in degree-days of the species."""
    office: bool = False
    """Whether the office wrote it; the office's rules come before those that ship."""

    @property
    def specificity(self) -> int:
        """How many of months, lure load and disruption it states; the most specific fitting rule wins."""
        return bool(self.months) + (self.load_mg is not None) + (self.disrupted is not None)
