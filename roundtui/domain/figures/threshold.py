"""Which rule a block is judged by, and where it stands against it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.figures.figures import BlockFigure, Series, cumulative, weeks
from roundtui.domain.figures.rules import HOLD, RESTART, Rule, RuleKind
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Block
from roundtui.domain.visits import StageSeen


class ThresholdTieError(Exception):
    """Two rules fit a block equally well, so that nobody can say which one holds.

    Args:
        block: Code of the block.
        rules: Ids of the rules.
    """

    def __init__(self, block: str, rules: tuple[str, ...]) -> None:
        super().__init__(f"block {block}: the rules {' and '.join(rules)} fit equally well")
        self.block = block
        self.rules = rules


@dataclass(frozen=True, slots=True)
class Treatment:
    """That something was applied in a block against a species; never what."""

    block: str
    species: str
    on: date


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What a rule needs to know of a block beside its readings."""

    on: date
    season_start: date
    stages: Sequence[StageSeen] = ()
    """Stages seen in the season, oldest first."""
    biofix: date | None = None
    """Confirmed biofix of the species; None where none is."""
    treatments: Sequence[date] = ()
    """Days of treatment against the species, oldest first."""
    days_to_gather: Callable[[date, Fraction], date | None] | None = None
    """Day by which so many degree-days were gathered from a day; None where they were not."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Where a block stands, and why."""

    status: Status
    value: Fraction | None = None
    why: str = ""


def fits(rule: Rule, block: Block, loads: Sequence[Fraction | None], on: date, *, at_all: bool = False) -> bool:
    """Whether a rule speaks about a block on a day.

    Args:
        rule: The rule; its species is taken as right.
        block: The block.
        loads: Lure load of each of the block's traps that the rule looks at; None where not on record. [mg]
        on: The day.
        at_all: Ask only about the months, as if disruption and load were no matter.

    Returns:
        True where months, mating disruption and lure load agree. A rule that says nothing of one of them fits any.
    """
    if rule.months and on.month not in rule.months:
        return False
    if at_all:
        return True
    if rule.disrupted is not None and rule.disrupted != block.disrupted:
        return False
    if rule.load_mg is not None:
        least, most = rule.load_mg
        return bool(loads) and all(load is not None and least <= load <= most for load in loads)
    return True


def choose(
    rules: Sequence[Rule], block: Block, *, at_all: bool, on: date, loads: Mapping[bool, Sequence[Fraction | None]]
) -> Rule | None:
    """The rule a block is judged by: the office's before the shipped ones, then the one that says most.

    Args:
        rules: Rules of the species.
        block: The block.
        at_all: Ask only about the months, as if disruption and load were no matter; then no tie is an error.
        on: The day.
        loads: Lure loads of the traps without (False) and with (True) those at the edge. [mg]

    Returns:
        None where none fits.

    Raises:
        ThresholdTieError: Two fit equally well.
    """
    fitting = [rule for rule in rules if fits(rule, block, loads[rule.edge], on, at_all=at_all)]
    if not fitting:
        return None
    best = max((rule.office, rule.specificity) for rule in fitting)
    first, *more = [rule for rule in fitting if (rule.office, rule.specificity) == best]
    if more and not at_all:
        raise ThresholdTieError(block.block, (first.id, *(rule.id for rule in more)))
    return first


def compare(value: Fraction, rule: Rule) -> Status:
    """Where a figure stands in a rule's band: at the upper edge it is over."""
    if value >= rule.high:
        return Status.OVER
    return Status.WITHIN if value >= rule.low else Status.BELOW


def judge(
    rule: Rule, traps: Sequence[Series], everyone: Sequence[Series], figure: BlockFigure, now: Circumstances
) -> Verdict:
    """Judge a block that has a figure.

    Args:
        rule: The rule.
        traps: Series of the traps the rule looks at.
        everyone: All series of the block and species.
        figure: The block's figure over those traps.
        now: What else the rule may need.

    Returns:
        The verdict with the value compared, or ``cannot-tell`` with the reason.
    """
    if rule.kind is RuleKind.RUNNING:
        return _running(rule, traps, everyone, now.on)
    if rule.kind is RuleKind.CUMULATIVE:
        return _cumulative(rule, traps, now)
    value = figure.mean
    if rule.kind is RuleKind.SINGLE_TRAP and figure.highest is not None:
        value = figure.highest.per_week
    if value is None:
        return Verdict(Status.CANNOT_TELL, why="no trap has a figure that can be trusted")
    return Verdict(compare(value, rule), value)


def _running(rule: Rule, traps: Sequence[Series], everyone: Sequence[Series], on: date) -> Verdict:
    number = rule.weeks or 1
    found = weeks(traps, everyone, on, number)
    least = min(week.least for week in found)
    limits = [week.most for week in found if week.most is not None]
    most = min(limits) if limits else None
    at_least = compare(least, rule)
    at_most = Status.OVER if most is None else compare(most, rule)
    if at_least is not at_most:
        unread = sum(1 for week in found if not week.known)
        return Verdict(Status.CANNOT_TELL, why=f"{unread} of the last {number} weeks open, and the verdict hangs on it")
    return Verdict(
        at_least, least if least == most else None, why="" if least == most else "whatever the open week held"
    )


def _cumulative(rule: Rule, traps: Sequence[Series], now: Circumstances) -> Verdict:
    first, why = _since(rule, now)
    if first is None:
        return Verdict(Status.CANNOT_TELL, why=why)
    held: list[tuple[date, date]] = []
    for day in [one for one in now.treatments if first <= one <= now.on]:
        until = _held_until(rule, day, now)
        if rule.after_treatment == RESTART:
            first, why = until + timedelta(days=1), f"the sum begins anew after the treatment of {day.isoformat()}"
        elif rule.after_treatment == HOLD:
            held.append((day + timedelta(days=1), until))
    if first > now.on:
        return Verdict(compare(Fraction(), rule), Fraction(), why=why)
    value = cumulative(traps, first, now.on, held=held)
    if value is None:
        return Verdict(Status.CANNOT_TELL, why=f"nothing was read since {first.isoformat()}")
    return Verdict(compare(value, rule), value)


def _held_until(rule: Rule, day: date, now: Circumstances) -> date:
    """Last day that a treatment keeps out of a sum; the day itself where the rule begins anew at once."""
    if rule.days is not None:
        return day + timedelta(days=rule.days)
    if rule.degree_days is None and rule.after_treatment == RESTART:
        return day
    gathered = None
    if rule.degree_days is not None and now.days_to_gather is not None:
        gathered = now.days_to_gather(day, rule.degree_days)
    # Where nobody knows when they were gathered, nothing is counted that should not be.
    return gathered or now.on


def _since(rule: Rule, now: Circumstances) -> tuple[date | None, str]:
    """First day that counts, or why there is none; a stage not reached yet starts the sum tomorrow."""
    if rule.since in (None, "hanging"):
        return now.season_start, ""
    if rule.since == "biofix":
        return now.biofix, "no biofix is confirmed"
    if not now.stages:
        return None, "no stage was seen in the block"
    reached = next((seen.seen_on for seen in now.stages if seen.code >= (rule.since or "")), None)
    if reached is None:
        return now.on + timedelta(days=1), f"stage {rule.since} is not reached yet"
    return reached, ""
