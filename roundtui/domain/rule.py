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
    """The highest single trap, per week; with ``weeks`` the trap whose least of so many weeks is the highest."""
    RUNNING = "running"
    """The least weekly mean of the last so many weeks: the block stood there in each of them."""
    CUMULATIVE = "cumulative"
    """Mean catch per trap added up over days."""


HANGING = "hanging"
"""``Rule.since``: from the day the trap was hung."""
BIOFIX = "biofix"
"""``Rule.since``: from the biofix."""
ROLLING = "days"
"""``Rule.since``: over the last ``days`` days."""
PERIODS = "degree-days"
"""``Rule.since``: from the biofix in periods of ``degree_days``, each from zero."""
HOLD = "hold"
"""``Rule.after_treatment``: catches of the time after a treatment are not added."""
RESTART = "restart"
"""``Rule.after_treatment``: the sum starts anew after a treatment."""
AT_OR_OVER, OVER_ONLY = ">=", ">"
"""``Rule.compare``: a figure exactly on an edge has reached it, or has not yet."""
UNBAITED = "unbaited"
"""Lure kind of a trap that hangs without a lure on purpose."""
BAITED = "baited"
"""``Rule.lure_kind``: any kind but ``unbaited``."""


def kind_word(text: str) -> str:
    """A lure kind or trap style as it is compared: letter case, spaces and the sign of multiplication are no matter.

    Args:
        text: As written in a set-up file or a rule, as "10×" or "Large delta".
    """
    return "-".join(text.casefold().replace("×", "x").replace("_", " ").replace("-", " ").split())


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
    """Running, and single-trap where one trap must stand there in each of them: so many weeks."""
    since: str | None = None
    """Cumulative: ``hanging``, ``biofix``, a two-digit stage, ``days`` or ``degree-days``; None: from the start of the
    season."""
    months: tuple[int, ...] = ()
    """Months in which it holds; empty: all."""
    load_mg: tuple[Fraction, Fraction] | None = None
    """Lure loads for which it holds, both ends included. [mg]"""
    lure_kind: tuple[str, ...] = ()
    """Kinds of lure for which it holds, as ``kind_word`` has them; ``baited`` is any but unbaited; empty: all."""
    style: tuple[str, ...] = ()
    """Trap styles for which it holds, as ``kind_word`` has them; empty: all."""
    ha_per_trap: tuple[Fraction, Fraction] | None = None
    """Ground to one trap for which it holds, both ends included. [ha]"""
    disrupted: bool | None = None
    """Holds only with, or only without, mating disruption; None: for both."""
    market: str = ""
    """Market for which the fruit of the block must be meant; empty: for all."""
    region: str = ""
    """Where it was printed for; an office chooses by it, no block is asked."""
    compare: str = AT_OR_OVER
    """Whether a figure exactly on an edge has reached it."""
    timing_only: bool = False
    """Print says that the catch times and does not decide: such a rule gives no verdict, only its source."""
    edge: bool = False
    """Whether edge traps are taken into its figure."""
    after_treatment: str | None = None
    """Cumulative: ``hold`` or ``restart`` after a treatment."""
    days: int | None = None
    """How long a treatment holds the sum, or after how long it restarts; or the length of a rolling sum. [d]"""
    degree_days: Fraction | None = None
    """The same in degree-days of the species; or the length of a period."""
    office: bool = False
    """Whether the office wrote it; the office's rules come before those that ship."""

    @property
    def specificity(self) -> int:
        """How many conditions on block and lure it states; the most specific fitting rule wins."""
        stated = (self.months, self.load_mg, self.lure_kind, self.style, self.ha_per_trap, self.market)
        return sum(map(bool, stated)) + (self.disrupted is not None)
