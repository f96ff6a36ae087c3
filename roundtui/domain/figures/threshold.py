"""Which rule a block is judged by, and where it stands against it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.entries import StageSeen
from roundtui.domain.figures import rules as kinds
from roundtui.domain.figures.figures import DAYS_A_WEEK, SHORT_DAYS, BlockFigure, Series, Week, cumulative, weeks
from roundtui.domain.figures.rules import Rule, RuleKind, kind_word
from roundtui.domain.figures.verdicts import Status
from roundtui.domain.programme.farm import Block
from roundtui.domain.records import Frozen


class Treatment(Frozen):
    """That something was applied in a block against a species; never what."""

    block: str
    species: str
    on: date


class TrapAsHung(Frozen):
    """What is on record of a trap behind a figure."""

    style: str
    """Its style as written; blank where nobody wrote it."""
    lures: tuple[tuple[Fraction | None, str], ...] = ((None, ""),)
    """Load and kind of each lure that hung in it over those days; None and blank where not on record. [mg]"""


class Site(Frozen):
    """What is on record of a block and species that a rule may ask for."""

    block: Block
    on: date
    traps: Mapping[bool, Sequence[TrapAsHung]]
    """Its valid traps, without (False) and with (True) those at the edge."""
    ha_per_trap: Fraction | None = None
    """Its ground to one trap; None where the area is not on record. [ha]"""


class Choice(Frozen):
    """The rule a block is judged by, or why there is none."""

    rule: Rule | None = None
    tied: tuple[Rule, ...] = ()
    """The rules that fit equally well; then none of them is chosen."""
    assumed: tuple[str, ...] = ()
    """Set-up columns that nobody filled in and the rule asks for."""
    why: str = ""
    """What stands against the rules of the species, where none fits."""


class Circumstances(Frozen):
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
    """Day by which so many degree-days were accumulated from a day; None where they were not."""


class Verdict(Frozen):
    """Where a block stands, and why."""

    status: Status
    value: Fraction | None = None
    why: str = ""


def misfit(rule: Rule, site: Site) -> str:
    """What stands against judging a block by a rule.

    Args:
        rule: The rule; its species is taken as right.
        site: The block and its traps.

    Returns:
        The condition it does not meet, in words; empty where the rule fits. What nobody wrote down meets any condition.
    """
    if rule.months and site.on.month not in rule.months:
        return "holds in other months"
    if rule.disrupted is not None and rule.disrupted != site.block.disrupted:
        return f"is for blocks {'under' if rule.disrupted else 'without'} mating disruption"
    if rule.market and kind_word(rule.market) not in map(kind_word, site.block.markets):
        return f"is for fruit for {rule.market}"
    if rule.ha_per_trap and site.ha_per_trap is not None and not _inside(site.ha_per_trap, rule.ha_per_trap):
        return f"is for a trap to {_span(rule.ha_per_trap)} ha, not to {float(site.ha_per_trap):.2g}"
    return next(_trap_misfits(rule, site.traps[rule.edge]), "")


def _trap_misfits(rule: Rule, traps: Sequence[TrapAsHung]) -> Iterator[str]:
    for trap in traps:
        if rule.style and trap.style and kind_word(trap.style) not in rule.style:
            yield f"is for {' or '.join(rule.style)} traps, not {trap.style}"
        for load, kind in trap.lures:
            if rule.load_mg and load is not None and not _inside(load, rule.load_mg):
                yield f"is for lures of {_span(rule.load_mg)} mg, not {float(load):g}"
            if rule.lure_kind and not _is_kind(rule, kind):
                yield f"is for {' or '.join(rule.lure_kind)} traps, not {kind or kinds.BAITED}"


def _is_kind(rule: Rule, kind: str) -> bool:
    """Whether a lure is of a kind a rule is for; a trap has a lure unless it is written that it has none."""
    word = kind_word(kind)
    if word in rule.lure_kind:
        return True
    return word != kinds.UNBAITED and (
        kinds.BAITED in rule.lure_kind or (not word and rule.lure_kind != (kinds.UNBAITED,))
    )


def _inside(value: Fraction, ends: tuple[Fraction, Fraction]) -> bool:
    return ends[0] <= value <= ends[1]


def _span(ends: tuple[Fraction, Fraction]) -> str:
    return "–".join(dict.fromkeys(f"{float(end):.2g}" for end in ends))


def _assumed(rule: Rule, site: Site) -> tuple[str, ...]:
    traps = site.traps[rule.edge]
    lures = [lure for trap in traps for lure in trap.lures]
    asked = (
        ("load_mg", rule.load_mg and any(load is None and kind_word(kind) != kinds.UNBAITED for load, kind in lures)),
        ("kind", set(rule.lure_kind) - {kinds.UNBAITED} and any(not kind for _, kind in lures)),
        ("style", rule.style and any(not trap.style for trap in traps)),
        ("area_ha", rule.ha_per_trap and traps and site.ha_per_trap is None),
    )
    return tuple(column for column, is_assumed in asked if is_assumed)


def choose(rules: Sequence[Rule], site: Site) -> Choice:
    """The rule a block is judged by: the office's before the shipped ones, then the one that says most.

    Args:
        rules: Rules of the species.
        site: The block and its traps.

    Returns:
        The rule; the rules that tie, where two say equally much; or why none fits.
    """
    against = [(rule, misfit(rule, site)) for rule in rules]
    fitting = [rule for rule, reason in against if not reason]
    if not fitting:
        return Choice(why="; ".join(f"{rule.name} {reason}" for rule, reason in against))
    best = max((rule.office, rule.specificity) for rule in fitting)
    first, *more = [rule for rule in fitting if (rule.office, rule.specificity) == best]
    if more:
        return Choice(tied=(first, *more))
    return Choice(first, assumed=_assumed(first, site))


def undisrupted(rules: Sequence[Rule], on: date) -> Rule | None:
    """The rule that a block would have without mating disruption, whatever its lures and traps.

    Args:
        rules: Rules of the species.
        on: The day.

    Returns:
        None where none is for that month.
    """
    found = [
        rule
        for rule in rules
        if not rule.disrupted and not rule.timing_only and (not rule.months or on.month in rule.months)
    ]
    return max(found, key=lambda rule: (rule.office, rule.specificity), default=None)


def compare(value: Fraction, rule: Rule) -> Status:
    """Where a figure stands against a rule: on an edge it has reached it, unless the rule says "more than"."""
    if rule.compare == kinds.OVER_ONLY:
        return Status.OVER if value > rule.high else Status.WITHIN if value > rule.low else Status.BELOW
    return Status.OVER if value >= rule.high else Status.WITHIN if value >= rule.low else Status.BELOW


def judge(
    rule: Rule,
    traps: Sequence[Series],
    everyone: Sequence[Series],
    figure: BlockFigure,
    *,
    on: date,
    circumstances: Callable[[date], Circumstances],
) -> Verdict:
    """Judge a block that has a figure.

    Args:
        rule: The rule.
        traps: Series of the traps the rule looks at.
        everyone: All series of the block and species.
        figure: The block's figure over those traps.
        on: The day.
        circumstances: What else a rule may need on a day.

    Returns:
        The verdict with the value compared, or ``cannot-tell`` with the reason.
    """
    if rule.timing_only:
        return Verdict(Status.NO_RULE, why="print says that the catch does not decide")
    if rule.kind is RuleKind.RUNNING:
        return _running(rule, weeks(traps, everyone, on, rule.weeks or 1))
    if rule.kind is RuleKind.SINGLE_TRAP and rule.weeks is not None:
        counted = {trap.hanging for trap in figure.traps}
        return _running(rule, _highest_weeks((one for one in traps if one.hanging in counted), on, rule.weeks))
    if rule.kind is RuleKind.CUMULATIVE:
        return _cumulative(rule, traps, circumstances(on))
    highest = figure.highest if rule.kind is RuleKind.SINGLE_TRAP else None
    value = highest.per_week if highest else figure.mean or Fraction()
    return Verdict(compare(value, rule), value)


def _running(rule: Rule, found: Sequence[Week]) -> Verdict:
    number = rule.weeks or 1
    least = min(week.least for week in found)
    limits = [week.most for week in found if week.most is not None]
    most = min(limits) if limits else None
    at_least = compare(least, rule)
    at_most = Status.OVER if most is None else compare(most, rule)
    if at_least is not at_most:
        unread = sum(1 for week in found if not week.known)
        which = f"{unread} of the last {number} weeks open" if len(found) == number else "a trap has an open week"
        return Verdict(Status.CANNOT_TELL, why=f"{which}, and the verdict depends on it")
    return Verdict(
        at_least, least if least == most else None, why="" if least == most else "whatever the open week held"
    )


def _highest_weeks(traps: Iterable[Series], on: date, number: int) -> list[Week]:
    """One week that stands for all: the least of its weeks, of the trap where that is the highest."""
    least = most = Fraction()
    open_ended = False
    for one in traps:
        if (
            one.hanging.hung_on is not None
            and (on - one.hanging.hung_on).days < DAYS_A_WEEK * (number - 1) + SHORT_DAYS
        ):
            # It has not hung long enough to have caught in every one of the weeks.
            continue
        found = weeks([one], [one], on, number)
        least = max(least, min(week.least for week in found))
        limits = [week.most for week in found if week.most is not None]
        open_ended = open_ended or not limits
        most = max(most, min(limits, default=Fraction()))
    return [Week(least, None if open_ended else most)]


def _cumulative(rule: Rule, traps: Sequence[Series], now: Circumstances) -> Verdict:
    first, why = _since(rule, now)
    if first is None:
        return Verdict(Status.CANNOT_TELL, why=why)
    held: list[tuple[date, date]] = []
    # One from the season before is not held against degree-days, which are at hand for the season alone.
    since = now.season_start if rule.days is None else date.min
    for day in (one for one in now.treatments if since <= one <= now.on):
        until = _held_until(rule, day, now)
        if rule.after_treatment == kinds.RESTART and until >= first:
            first, why = until + timedelta(days=1), f"the sum starts again after the treatment of {day.isoformat()}"
        elif rule.after_treatment == kinds.HOLD:
            held.append((day + timedelta(days=1), until))
    if rule.since == kinds.PERIODS:
        first = _period(rule, first, now)
    if first > now.on:
        return Verdict(compare(Fraction(), rule), Fraction(), why=why)
    value = cumulative(traps, first, now.on, held=held)
    if value is None:
        return Verdict(Status.CANNOT_TELL, why=f"nothing was read since {first.isoformat()}")
    return Verdict(compare(value, rule), value)


def _held_until(rule: Rule, day: date, now: Circumstances) -> date:
    """Last day that a treatment keeps out of a sum; the day itself where the rule begins anew at once."""
    if rule.since in (kinds.ROLLING, kinds.PERIODS):
        return day
    if rule.days is not None:
        return day + timedelta(days=rule.days)
    if rule.degree_days is None and rule.after_treatment == kinds.RESTART:
        return day
    accumulated = None
    if rule.degree_days is not None and now.days_to_gather is not None:
        accumulated = now.days_to_gather(day, rule.degree_days)
    # Where nobody knows when they were accumulated, nothing is counted that should not be.
    return accumulated or now.on


def _period(rule: Rule, first: date, now: Circumstances) -> date:
    """First day of the period of so many degree-days that a day lies in."""
    while first <= now.on and rule.degree_days is not None and now.days_to_gather is not None:
        ended = now.days_to_gather(first - timedelta(days=1), rule.degree_days)
        if ended is None or ended >= now.on:
            break
        first = ended + timedelta(days=1)
    return first


def _since(rule: Rule, now: Circumstances) -> tuple[date | None, str]:
    """First day that counts, or why there is none; a stage not reached yet starts the sum tomorrow."""
    if rule.since in (None, kinds.HANGING):
        return now.season_start, ""
    if rule.since == kinds.ROLLING:
        return now.on - timedelta(days=(rule.days or 1) - 1), ""
    if rule.since in (kinds.BIOFIX, kinds.PERIODS):
        return now.biofix, "no biofix is confirmed"
    if not now.stages:
        return None, "no stage was seen in the block"
    reached = next((seen.seen_on for seen in now.stages if seen.code >= (rule.since or "")), None)
    if reached is None:
        return now.on + timedelta(days=1), f"stage {rule.since} is not reached yet"
    return reached, ""
