"""Biofix: the date from which a generation's degree-days are counted, proposed from the readings of a block.

A proposal is explained in words and never acts by itself: the coordinator confirms it, or sets another date with a
reason. Suspect readings never set it. Where something speaks against it, it is doubtful and says why.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import groupby, pairwise

from roundtui.domain.biofix_rules import TRAP, BiofixKind, BiofixRule
from roundtui.domain.biofix_words import Look, amount, insects, named, number, running, wanted
from roundtui.domain.weather.evenings import Evenings, Sunsets

ROUND_DAYS = 6
"""Longest time between the first and the last trap of one round of a block. [d]"""


@dataclass(frozen=True, slots=True)
class TrapReading:
    """What one trap caught between two days."""

    trap: str
    """Label of the trap."""
    start: date | None
    """Day the exposure began; None where nobody knows."""
    end: date
    """Day it was read."""
    net: Fraction | int | None
    """Moths caught in between; None where that cannot be told."""
    suspect: bool = False
    """Whether lure or body was wrong on a day it covers."""

    @property
    def valid(self) -> bool:
        """Whether it may set a biofix."""
        return self.net is not None and not self.suspect


@dataclass(frozen=True, slots=True)
class BiofixProposal:
    """What a rule finds in a block's readings."""

    rule: BiofixRule
    """The rule."""
    generation: int
    """Generation of the season, counted from 1."""
    on: date | None
    """Proposed date; None where the rule is not met yet."""
    why: str
    """In words, what was found, or what is still missing."""
    doubts: tuple[str, ...] = ()
    """In words, what speaks against it."""

    @property
    def doubtful(self) -> bool:
        """Whether something speaks against it."""
        return bool(self.doubts)


def propose(
    rule: BiofixRule,
    readings: Iterable[TrapReading],
    *,
    generation: int = 1,
    not_before: date | None = None,
    sunsets: Sunsets | None = None,
) -> BiofixProposal:
    """Propose a biofix for one block and species.

    Args:
        rule: What has to be caught.
        readings: All readings of the block's traps of the species in this season, in any order.
        generation: Generation of the season, counted from 1.
        not_before: For a later generation: first day whose readings count.
        sunsets: Temperatures at sunset, for a rule that asks for them.

    Returns:
        The proposal: the first reading of the run, or the reading that reaches the total.
    """
    known = sorted(readings, key=lambda reading: (reading.end, reading.trap))
    rounds = _rounds(known, rule)
    counted = [look for look in rounds if not_before is None or look.on >= not_before]
    evenings = Evenings(rule, sunsets)
    if rule.kind is BiofixKind.TOTAL:
        found, why = _total(rule, counted, evenings)
        holes: list[str] = []
    elif rule.kind is BiofixKind.RUN and rule.scope == TRAP:
        found, why, holes = _trap_runs(rule, known, not_before, evenings)
    else:
        found, why, holes = _run(rule, counted, evenings)
    if found is None:
        return BiofixProposal(rule, generation, None, why)
    doubts = [*_before(rule, rounds, generation, not_before), *holes, *evenings.doubts(found)]
    if rule.sunset is not None:
        met = "asked, but not known" if evenings.doubts(found) else "reached"
        why += f"; sunset temperature {rule.sunset:g} {rule.sunset_unit.sign} {met}"
    return BiofixProposal(rule, generation, found.first_catch, why, tuple(doubts))


def _rounds(readings: Sequence[TrapReading], rule: BiofixRule) -> list[Look]:
    """Readings by round: a round ends where a trap is read again, or after six days."""
    batches: list[list[TrapReading]] = []
    for end, same_day in groupby(readings, key=lambda reading: reading.end):
        day = list(same_day)
        current = batches[-1] if batches else []
        read = {reading.trap for reading in current}
        if current and (end - current[0].end).days <= ROUND_DAYS and read.isdisjoint(reading.trap for reading in day):
            current.extend(day)
        else:
            batches.append(day)
    return [_look(batch, rule) for batch in batches]


def _look(readings: Sequence[TrapReading], rule: BiofixRule) -> Look:
    valid = [reading for reading in readings if reading.valid]
    nets = [Fraction(reading.net or 0) for reading in valid]
    caught = [reading.end for reading, net in zip(valid, nets, strict=True) if net > 0]
    ends = [reading.end for reading in valid or readings]
    return Look(
        on=ends[0],
        starts=tuple(reading.start for reading in valid or readings),
        ends=tuple(ends),
        moths=sum(nets, Fraction(0)),
        traps=len(valid),
        caught_in=sum(rule.enough(net) for net in nets),
        first_catch=min(caught, default=ends[0]),
        unknown=not valid,
    )


def _qualifies(rule: BiofixRule, look: Look) -> bool:
    if look.unknown:
        return False
    if rule.kind is BiofixKind.MEAN:
        return rule.enough(look.moths / look.traps)
    if rule.kind is BiofixKind.TRAPS_OF:
        return look.caught_in >= _traps_needed(rule, look.traps)
    return rule.enough(look.moths)


def _traps_needed(rule: BiofixRule, traps: int) -> int:
    """So many of so many traps as a share of those read, rounded up, and never fewer than the rule names."""
    least = rule.traps or 1
    return max(least, -(-traps * least // (rule.of or least)))


def _run(rule: BiofixRule, looks: Sequence[Look], evenings: Evenings) -> tuple[Look | None, str, list[str]]:
    """The first of so many looks running that qualify; a look of which nothing is known is stepped over, in doubt."""
    run: list[Look] = []
    stepped_over: list[str] = []
    for look in looks:
        if look.unknown:
            if run:
                stepped_over.append(f"the reading of {look.on} is suspect or unknown and was left out of the run")
            continue
        if not _qualifies(rule, look) or (not run and not evenings.warm(look)):
            run, stepped_over = [], []
            continue
        run.append(look)
        if len(run) == rule.readings:
            first = "first reading" if rule.readings == 1 else f"first of {running(rule)}"
            return run[0], f"{first} with {wanted(rule)}: {named(rule, run)}", [*stepped_over, *_holes(run)]
    so_far = f"; so far {len(run)}: {named(rule, run)}" if run else ""
    return None, f"no {running(rule)} with {wanted(rule)}{so_far}", []


def _trap_runs(
    rule: BiofixRule, readings: Sequence[TrapReading], not_before: date | None, evenings: Evenings
) -> tuple[Look | None, str, list[str]]:
    """The earliest run in any one trap."""
    best: tuple[Look, str, list[str]] | None = None
    waiting = ""
    for trap in dict.fromkeys(reading.trap for reading in readings):
        own = [_look([reading], rule) for reading in readings if reading.trap == trap]
        counted = [look for look in own if not_before is None or look.on >= not_before]
        found, why, holes = _run(rule, counted, evenings)
        if found is None:
            waiting = waiting or why
        elif best is None or found.on < best[0].on:
            best = found, f"trap {trap}, {why}", holes
    return best or (None, waiting or "no readings yet", [])


def _total(rule: BiofixRule, looks: Sequence[Look], evenings: Evenings) -> tuple[Look | None, str]:
    total = Fraction(0)
    for look in looks:
        total += look.moths
        if look.moths and rule.enough(total) and evenings.warm(look):
            return look, f"reading that reached {amount(rule)} in all: {number(total)} by {look.first_catch}"
    return None, f"{amount(rule)} in all not reached: {number(total)} so far"


def _holes(run: Sequence[Look]) -> list[str]:
    """Time between two readings of a run that no trap was watching."""
    words = []
    for before, after in pairwise(run):
        starts = [start for start in after.starts if start is not None]
        if starts and min(starts) > max(before.ends):
            words.append(f"no trap was watching from {max(before.ends)} to {min(starts)}, within the run")
    return words


def _before(rule: BiofixRule, looks: Sequence[Look], generation: int, not_before: date | None) -> list[str]:
    """Whether the readings before the flight show that there was none yet."""
    known = [look for look in looks if not look.unknown]
    if generation == 1:
        if known and known[0].moths:
            held = insects(rule, known[0].moths)
            reading = f"the first reading of the season, {known[0].first_catch}, already held {held}"
            return [f"{reading}: the flight may have begun before it"]
        return []
    earlier = [look for look in known if not_before is not None and look.on < not_before]
    if earlier and earlier[-1].moths:
        held = insects(rule, earlier[-1].moths)
        return [f"the reading of {earlier[-1].on} before it still held {held}: the flight before may not have ended"]
    return []
