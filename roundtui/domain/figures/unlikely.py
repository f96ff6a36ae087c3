"""Counts that a trap's past and the other traps of the round make unlikely: an extra zero, a key doubled, a digit lost.

Such a count is recorded as typed; the mark names the slip that would explain it. What is expected of a trap is its own
height among the traps of its species times what the others caught in the round. How far a count may lie from that, the
record itself says: a mark is set so high that honest counts of the past would have had one in sixty at most.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from math import exp, lgamma, log

from roundtui.domain.figures.certainty import at_least
from roundtui.domain.records import Frozen

LEAST_RATIO = 50
"""A count with a digit too many is marked only where the one without it is so many times likelier.

Slips of a digit are the commonest: Thimbleby and Cairns 2010, Reducing number entry errors, J. R. Soc. Interface
7:1429. The number is this project's."""
LEAST_LOST = 10
"""The same for a digit too few."""
LEAST_TAIL = 1e-4
"""A count is marked where so many or more would come less often than this, slip or not."""
FALSE_MARKS = (150, 130, 400)
"""One in so many counts of the past may pass a mark: a digit too many, one too few, far above."""
SHORT = 2.0
"""How much farther off the last of these lies where the record has fewer counts: tried on simulated single traps."""
NEWEST = 500
"""Counts of the past that the marks are drawn from: enough for one in four hundred."""
LOWEST_LEVEL = 0.02
"""Level of a round below which none is taken. [moths/trap/week]"""
ADDED = 0.3
"""Moths and trap-weeks added to a round's, so that the first zero of it is not taken for its level."""
UNKNOWN_MEAN, UNKNOWN_SCATTER = 2.0, 0.3
"""Of a trap of which nothing is on record. No source. [moths/trap/week], [1]"""
START = 0.8
"""Scatter of a count around what was expected, before a record shows it. No source. [1]"""
SCATTERS = (0.15, 20.0)
"""Between which it is looked for. [1]"""
STALE_WEEKS = 4
"""After so many weeks the level of the last round says nothing of this one. [week]"""


GOLDEN = (5**0.5 - 1) / 2
_NO_OTHERS = 1e-9


class Known(StrEnum):
    """What an expectation rests on."""

    OTHERS = "others"
    """Other traps of the species, read in the round so far."""
    FIRST = "first"
    """The level of the last round: none is read yet in this one."""
    ALONE = "alone"
    """The trap's own last two readings: no other trap of the species was read with it."""
    NOTHING = "nothing"
    """Nothing on record."""


class SlipKind(StrEnum):
    """What would explain an unlikely count."""

    ZERO = "extra zero"
    DOUBLED = "digit doubled"
    LOST = "digit lost"
    HIGH = "far above"


class Seen(Frozen):
    """A valid reading of a round."""

    trap: str
    """The trap where it hangs: label and block, since one moved begins anew."""
    moths: int
    """Net count."""
    weeks: float
    """Exposure. [week]"""


class Marks(Frozen):
    """From where on a count is marked."""

    scatter: float = START
    """Scatter of counts around what was expected. [1]"""
    more: float = log(LEAST_RATIO)
    """Log ratio above which a digit is too many."""
    fewer: float = log(LEAST_LOST)
    """Log ratio above which a digit is missing."""
    tail: float = LEAST_TAIL
    """Chance below which a count is far above."""


UNKNOWN = Marks(UNKNOWN_SCATTER, more=log(2000))
"""Where nothing is on record: 49 and more are marked."""


class Past(Frozen):
    """What is on record of a species up to a round."""

    heights: Mapping[str, tuple[int, float]] = field(default_factory=dict)
    """Per trap, moths caught and moths that the others led one to expect, over all rounds where it hangs."""
    level: float = 0.0
    """Level of the last round. [moths/trap/week]"""
    week: int | None = None
    """Number of the week of the last round; None where there was none."""
    traps: int = 0
    """Traps read in the last round."""
    recent: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    """Per trap, its last rates, two at most. [moths/trap/week]"""
    marks: Mapping[Known, Marks] = field(default_factory=dict)
    """From where on a count is marked."""
    kept: Mapping[Known, tuple[tuple[int, float], ...]] = field(default_factory=dict)
    """Newest counts and what each way of expecting would have expected of them: the marks are drawn from these."""

    def marks_of(self, known: Known) -> Marks:
        """From where on a count is marked, by what was known when it was expected.

        Args:
            known: What it was expected from.
        """
        return UNKNOWN if known is Known.NOTHING else self.marks.get(known, Marks())

    def height(self, trap: str) -> float:
        """What a trap catches beside the others, 1 as much as they do. [1]"""
        moths, expected = self.heights.get(trap, (0, 0.0))
        return (1 + moths) / (1 + expected)


class Slip(Frozen):
    """Why a count is marked."""

    kind: SlipKind
    instead: int | None
    """Count that would fit; the least of ten where a digit is missing; None where none is named."""
    expected: float
    """Moths expected in the trap."""

    def words(self, count: int) -> str:
        """As it is said to the scout.

        Args:
            count: The count as typed.
        """
        about = f"{self.expected:.1f} expected" if self.expected < 9.95 else f"{self.expected:.0f} expected"
        if self.instead is None:
            return f"{count}? far above the usual ({about})"
        fits = f"{self.instead} to {self.instead + 9}" if self.kind is SlipKind.LOST else str(self.instead)
        return f"{count}? {fits} would fit ({about})"


@dataclass(slots=True)
class Others:
    """The other traps of the species read in a round so far."""

    moths: int = 0
    """Moths in them together."""
    weeks: float = 0.0
    """Their trap-weeks, each times the trap's height."""
    number: int = 0
    """How many."""

    def add(self, past: Past, one: Seen) -> None:
        """One more is read.

        Args:
            past: The record up to the round before.
            one: Its reading.
        """
        self.moths += one.moths
        self.weeks += past.height(one.trap) * one.weeks
        self.number += 1


def others_of(past: Past, seen: Iterable[Seen]) -> Others:
    """Some readings of a round together.

    Args:
        past: The record up to the round before.
        seen: The readings.
    """
    others = Others()
    for one in seen:
        others.add(past, one)
    return others


def expected(past: Past, now: Seen, others: Others, week: int) -> tuple[float, Known]:
    """Moths to expect of a reading, and what that rests on.

    Args:
        past: The record up to the round before.
        now: The reading; its moths are not looked at.
        others: The other traps of the species read in the round so far.
        week: Number of the week of the round.
    """
    return first_of(_means(past, now, others, week), now)


def first_of(means: Mapping[Known, float], now: Seen) -> tuple[float, Known]:
    """Of several ways to expect the one that rests on most.

    Args:
        means: What each would expect, the one that rests on most first.
        now: The reading.
    """
    kind = next(iter(means), Known.NOTHING)
    return means.get(kind, UNKNOWN_MEAN * now.weeks), kind


def means_in_order(past: Past, week: int, seen: Iterable[Seen]) -> list[dict[Known, float]]:
    """What each way of expecting would expect of each reading, from those before it.

    Args:
        past: The record up to the round before.
        week: Number of the week of the round.
        seen: Its valid readings in the order read.
    """
    others, found = Others(), []
    for one in seen:
        found.append(_means(past, one, others, week))
        others.add(past, one)
    return found


def _means(past: Past, now: Seen, others: Others, week: int) -> dict[Known, float]:
    """What each way of expecting would expect, where it can; the trap alone where no other was read with it."""
    fresh = past.week is not None and week - past.week <= STALE_WEEKS
    last = past.level if fresh else 1.0
    height, own = past.height(now.trap), past.recent.get(now.trap, ())
    found = {}
    if others.weeks:
        level = (others.moths + ADDED * min(1.0, last)) / (others.weeks + ADDED)
        found[Known.OTHERS] = height * max(level, LOWEST_LEVEL) * now.weeks
    if fresh and past.traps > 1:
        found[Known.FIRST] = height * max(last, LOWEST_LEVEL) * now.weeks
    elif fresh and own:
        found[Known.ALONE] = (sum(own) + ADDED) / len(own) * now.weeks
    return found


def slip(count: int, mean: float, marks: Marks, carried: int = 0) -> Slip | None:
    """Why a count is marked, if it is.

    Args:
        count: The count as typed.
        mean: Moths expected in the exposure.
        marks: From where on a count is marked.
        carried: Moths left in before, which are in the count.
    """
    k = marks.scatter
    here = log_chance(count - carried, mean, k)
    # Up to the mean no tail is rare, and from there on no longer number likelier.
    high = count - carried > mean
    shorter = [(kind, one) for kind, one in _shorter(count) if one >= carried]
    if shorter:
        kind, best = max(shorter, key=lambda pair: log_chance(pair[1] - carried, mean, k))
        if log_chance(best - carried, mean, k) - here > marks.more:
            return Slip(kind, best, mean)
    if high and at_least(count - carried, mean, k) < marks.tail:
        return Slip(SlipKind.HIGH, None, mean)
    if count >= 1 and not high and _lost(count, mean, k, carried) - here > marks.fewer:
        return Slip(SlipKind.LOST, 10 * count, mean)
    return None


def _shorter(count: int) -> Iterable[tuple[SlipKind, int]]:
    """Counts that one key too many would have made this one."""
    text = str(count)
    if count >= 10 and text[-1] == "0":
        yield SlipKind.ZERO, count // 10
    for at in range(1, len(text)):
        if text[at] == text[at - 1]:
            yield SlipKind.DOUBLED, int(text[:at] + text[at + 1 :])


def _lost(count: int, mean: float, k: float, carried: int) -> float:
    """Logarithm of the chance of any count with one digit more."""
    # ``log_chance`` of each, what they share worked out once.
    least, none, whole, share = 10 * count - carried, k * log(k / (k + mean)), lgamma(k), log(mean / (k + mean))
    logs = [none + (lgamma(k + c) - whole - lgamma(c + 1) + c * share) for c in range(least, least + 10)]
    most = max(logs)
    return most + log(sum(exp(value - most) for value in logs))


def log_chance(count: int, mean: float, k: float) -> float:
    """Logarithm of the chance of a negative binomial count.

    Args:
        count: The count.
        mean: Its mean, above 0.
        k: Its scatter. [1]
    """
    value = k * log(k / (k + mean))
    if count:
        value += lgamma(k + count) - lgamma(k) - lgamma(count + 1) + count * log(mean / (k + mean))
    return value


def after_round(past: Past, week: int, seen: Sequence[Seen], means: Iterable[Mapping[Known, float]]) -> Past:
    """The record with one round more; its marks are as they were.

    Args:
        past: The record up to the round before.
        week: Number of the week of the round.
        seen: Its valid readings in the order read.
        means: What was expected of them.
    """
    heights, recent = dict(past.heights), dict(past.recent)
    kept = {kind: list(rows) for kind, rows in past.kept.items()}
    others = others_of(past, seen)
    for one, each in zip(seen, means, strict=True):
        for kind, mean in each.items():
            kept.setdefault(kind, []).append((one.moths, mean))
    for one in seen:
        weeks = others.weeks - past.height(one.trap) * one.weeks
        if weeks > _NO_OTHERS:
            had, due = heights.get(one.trap, (0, 0.0))
            heights[one.trap] = had + one.moths, due + one.weeks * (others.moths - one.moths) / weeks
        recent[one.trap] = (*recent.get(one.trap, ())[-1:], one.moths / one.weeks)
    return Past(
        heights,
        others.moths / others.weeks if others.weeks else 0.0,
        week,
        len(seen),
        recent,
        past.marks,
        {kind: tuple(rows[-NEWEST:]) for kind, rows in kept.items()},
    )


def with_marks(past: Past) -> Past:
    """The record with its marks drawn anew.

    Args:
        past: The record.
    """
    return replace(past, marks={kind: _marks(rows) for kind, rows in past.kept.items()})


def _marks(kept: Sequence[tuple[int, float]]) -> Marks:
    """From where on a count is marked, so that honest ones of the past seldom would have been."""
    k = _scatter(kept)
    more, fewer, tails = [], [], []
    for count, mean in kept:
        here = log_chance(count, mean, k)
        shorter = [log_chance(one, mean, k) for _, one in _shorter(count)]
        if shorter:
            more.append(max(shorter) - here)
        if 0 < count <= mean:
            fewer.append(_lost(count, mean, k, 0) - here)
        if count > 2 * mean:
            tails.append(-log(max(at_least(count, mean, k), 1e-300)))
    u, v, w = (
        _passed_by(values, len(kept) // one) for values, one in zip((more, fewer, tails), FALSE_MARKS, strict=True)
    )
    w = max(w, -log(LEAST_TAIL)) + SHORT * log(max(1.0, FALSE_MARKS[2] / (1 + len(kept))))
    return Marks(k, max(log(LEAST_RATIO), u), max(log(LEAST_LOST), v), exp(-w))


def _passed_by(values: list[float], number: int) -> float:
    """The value that so many of them pass; 0 where the record is too short for one."""
    return max(0.0, sorted(values, reverse=True)[number]) if 0 < number < len(values) else 0.0


def _scatter(kept: Sequence[tuple[int, float]]) -> float:
    """Scatter under which the counts are likeliest, by golden section over its logarithm."""
    numbers = Counter(count for count, _ in kept)

    def badness(log_k: float) -> float:
        # ``log_chance`` of all of them, without what does not hang on k.
        k = exp(log_k)
        own = sum(number * (lgamma(k + count) - lgamma(k)) for count, number in numbers.items() if count)
        own += len(kept) * k * log_k - sum((k + count) * log(k + mean) for count, mean in kept)
        return (log_k - log(START)) ** 2 / 2 - own

    low, high = log(SCATTERS[0]), log(SCATTERS[1])
    inner = [high - GOLDEN * (high - low), low + GOLDEN * (high - low)]
    values = [badness(one) for one in inner]
    while high - low > 0.15:
        if values[0] < values[1]:
            high, inner[1], values[1] = inner[1], inner[0], values[0]
            inner[0] = high - GOLDEN * (high - low)
            values[0] = badness(inner[0])
        else:
            low, inner[0], values[0] = inner[0], inner[1], values[1]
            inner[1] = low + GOLDEN * (high - low)
            values[1] = badness(inner[1])
    return exp((low + high) / 2)
