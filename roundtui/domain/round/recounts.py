"""Questions pinned to an entry: asked, answered and closed, each word an entry of its own.

Which traps of a round are to be counted a second time by somebody else.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from enum import StrEnum
from statistics import NormalDist, fmean, stdev
from zlib import crc32

from roundtui.domain.entries import Recorded, fact
from roundtui.domain.intervals import wilson
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.programme.rounds import RoundState


class QuestionWord(StrEnum):
    """What a row says in the talk about an entry."""

    ASKED = "asked"
    ANSWERED = "answered"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question(Recorded):
    """One word about an entry. Trap, block and day are those of the entry when it was asked about."""

    entry: str = field(metadata=fact("Id of the entry it is pinned to."))
    says: QuestionWord = field(metadata=fact("Whether it asks, answers, or closes the matter."))
    words: str = field(default="", metadata=fact("The question or the answer; may be empty where it only closes."))
    about_on: date = field(metadata=fact("Day that the entry is about."))
    trap: str | None = field(default=None, metadata=fact("Trap the entry is about; None for a block's."))
    block: str | None = field(default=None, metadata=fact("Block the entry is about; None for a trap's."))


@dataclass(frozen=True, slots=True)
class Talk:
    """All that stands about one entry, in the order recorded."""

    rows: tuple[Question, ...]
    """At least one."""

    @property
    def entry(self) -> str:
        """Id of the entry it is about."""
        return self.rows[0].entry

    @property
    def newest(self) -> Question:
        """What was said last."""
        return self.rows[-1]

    @property
    def open(self) -> bool:
        """Whether nobody has closed it: an answer alone does not, since whoever asked should have seen it."""
        return self.newest.says is not QuestionWord.CLOSED

    @property
    def answered(self) -> bool:
        """Whether the newest word is an answer."""
        return self.newest.says is QuestionWord.ANSWERED


def talks(rows: Iterable[Question]) -> Mapping[str, Talk]:
    """What stands about each entry.

    Args:
        rows: Words that stand, in any order, recorded all of them.

    Returns:
        By id of the entry, the one spoken about last at the end.
    """
    by_entry: dict[str, list[Question]] = {}
    for row in sorted(rows, key=_order):
        by_entry.setdefault(row.entry, []).append(row)
    found = [Talk(tuple(words)) for words in by_entry.values()]
    return {talk.entry: talk for talk in sorted(found, key=lambda talk: _order(talk.newest))}


def open_talks(rows: Iterable[Question]) -> Sequence[Talk]:
    """Those that nobody has closed, the one spoken about last at the end."""
    return [talk for talk in talks(rows).values() if talk.open]


def _order(row: Question) -> tuple[str, str]:
    return ("" if row.recorded_at is None else row.recorded_at.isoformat(), row.id)


def in_words(gap: timedelta) -> str:
    """A span of time as a person says it, its two largest units at most."""
    seconds = round(abs(gap.total_seconds()))
    days, hours, minutes = seconds // 86_400, seconds // 3600 % 24, seconds // 60 % 60
    sign = "-" if gap < timedelta() and seconds else ""
    if days:
        return f"{sign}{days} d {hours} h"
    if hours:
        return f"{sign}{hours} h {minutes} min"
    if minutes:
        return f"{sign}{minutes} min {seconds % 60} s"
    return f"{sign}{seconds} s"


ASKED_SHARE = 20
"""One trap in so many is counted a second time: a few in a hundred (common practice, no source)."""


def asked_in(route: str, state: RoundState, on: date) -> tuple[str, ...]:
    """Traps of a round that are asked for a second count.

    Args:
        route: Name of the route.
        state: How far the round has come.
        on: The day; the round's first day takes its place once it has begun, so that the choice stays.
    """
    return asked_again(state.traps, f"{route} {(state.started_on or on).isoformat()}")


def asked_again(traps: Iterable[str], seed: str) -> tuple[str, ...]:
    """Which traps of a round are to be counted a second time by somebody else: one in twenty, at least one.

    Args:
        traps: Labels of the round's traps.
        seed: What the choice hangs on, as route and day: the same seed always chooses the same traps.

    Returns:
        Their labels, none where there are no traps.
    """
    labels = list(dict.fromkeys(traps))
    drawn = sorted(labels, key=lambda label: _scattered(crc32(f"{seed}\n{label}".encode())))
    return tuple(sorted(drawn[: math.ceil(len(labels) / ASKED_SHARE)], key=natural_key))


def _scattered(value: int) -> int:
    """A number of 32 bits as another one, so that near ones lie far apart: a checksum alone favours some labels."""
    for shift, factor in ((16, 0x85EBCA6B), (13, 0xC2B2AE35), (16, 1)):
        value = (value ^ value >> shift) * factor & 0xFFFFFFFF
    return value


LEAST_PAIRS = 10
"""Fewest pairs from which anything is said of how far counters agree (common practice, no source)."""
CONFIDENCE = 0.95
"""How often an interval holds the true value. [1]"""
PUBLISHED = ((0.80, "males"), (0.85, "females"))
"""Probability that an unskilled person's trap count was exactly right, in a published trial."""
PUBLISHED_SOURCE = (
    "Blackshaw 1987, Annals of Applied Biology, zendy.io/title/10.1111/j.1744-7348.1987.tb03254.x: unskilled "
    "operators; the error did not go with the size of the catch"
)
"""Source of ``PUBLISHED``."""


@dataclass(frozen=True, slots=True)
class Pair:
    """One catch counted by two people."""

    trap: str
    """Label of the trap."""
    read_on: date
    """Day of the count."""
    first: str
    """Who counted first."""
    first_count: int
    """What they counted, before any of it was named as another species. [moths]"""
    second: str
    """Who counted again."""
    second_count: int
    """What they counted. [moths]"""

    @property
    def difference(self) -> int:
        """Second count less the first. [moths]"""
        return self.second_count - self.first_count


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far the counts of some pairs agree."""

    pairs: tuple[Pair, ...]
    """What it is worked out from."""
    alike: int
    """Pairs exactly alike."""
    share_interval: tuple[float, float] | None
    """Interval of the share exactly alike, after Wilson 1927; None without pairs."""
    mean_difference: float | None
    """Mean of second less first; None without pairs. [moths]"""
    limits: tuple[float, float] | None
    """Limits within which 95 of 100 differences lie, after Bland and Altman 1986; None below two pairs. [moths]"""
    icc: float | None
    """Intraclass correlation, one-way random, single count; None where there are too few pairs or all catches are one
    number."""
    icc_interval: tuple[float, float] | None
    """Its interval; None where there is no ``icc``."""
    kappa: float | None
    """Cohen's kappa on whether there was any catch; None where there are too few pairs, or where nobody ever found
    none, or anything."""

    @property
    def enough(self) -> bool:
        """Whether there are enough pairs to say how far counters agree."""
        return len(self.pairs) >= LEAST_PAIRS

    @property
    def share(self) -> float | None:
        """Share of pairs exactly alike; None without pairs."""
        return self.alike / len(self.pairs) if self.pairs else None


def agreement(pairs: Iterable[Pair]) -> Agreement:
    """How far two people who count the same catch agree.

    Args:
        pairs: Catches counted twice.

    Sources: intraclass correlation and its interval, Shrout and Fleiss 1979, Psychological Bulletin 86:420, case 1, and
    McGraw and Wong 1996, Psychological Methods 1:30; limits of agreement, Bland and Altman 1986, Lancet 327:307; kappa,
    Cohen 1960, Educational and Psychological Measurement 20:37 (all from memory).
    """
    every = tuple(sorted(pairs, key=lambda pair: (pair.read_on, natural_key(pair.trap))))
    alike = sum(1 for pair in every if pair.difference == 0)
    differences = [pair.difference for pair in every]
    mean = fmean(differences) if differences else None
    limits = None
    if mean is not None and len(differences) > 1:
        reach = _normal(CONFIDENCE) * stdev(differences)
        limits = (mean - reach, mean + reach)
    correlation: tuple[float, tuple[float, float]] | None = None
    kappa = None
    if len(every) >= LEAST_PAIRS:
        correlation = intraclass([(pair.first_count, pair.second_count) for pair in every])
        kappa = cohens_kappa([(pair.first_count > 0, pair.second_count > 0) for pair in every])
    return Agreement(
        pairs=every,
        alike=alike,
        share_interval=wilson(alike, len(every), CONFIDENCE) if every else None,
        mean_difference=mean,
        limits=limits,
        icc=correlation[0] if correlation else None,
        icc_interval=correlation[1] if correlation else None,
        kappa=kappa,
    )


def intraclass(ratings: Sequence[Sequence[float]]) -> tuple[float, tuple[float, float]] | None:
    """Intraclass correlation, one-way random effects, of a single rating: ICC(1,1), with its interval.

    Who counts differs from trap to trap, so that a counter's own habit cannot be told from chance: the one-way model,
    and the lowest of the correlations.

    Args:
        ratings: For each target its ratings, as many for each; at least two targets and two ratings.

    Returns:
        The correlation and its interval at ``CONFIDENCE``; None where every rating of every target is one number.
        Where all ratings of each target agree, both are 1.
    """
    targets, raters = len(ratings), len(ratings[0])
    if targets < 2 or raters < 2:
        raise ValueError("at least two targets and two ratings of each")
    means = [fmean(row) for row in ratings]
    centre = fmean(means)
    between = raters * sum((mean - centre) ** 2 for mean in means) / (targets - 1)
    within = sum((one - mean) ** 2 for row, mean in zip(ratings, means, strict=True) for one in row)
    within /= targets * (raters - 1)
    if between == 0 and within == 0:
        return None
    if within == 0:
        return 1.0, (1.0, 1.0)
    ratio = between / within
    numerator, denominator = targets - 1, targets * (raters - 1)
    above = 1 - (1 - CONFIDENCE) / 2
    lowest = ratio / f_quantile(above, numerator, denominator)
    highest = ratio * f_quantile(above, denominator, numerator)
    return _correlation(ratio, raters), (_correlation(lowest, raters), _correlation(highest, raters))


def _correlation(ratio: float, raters: int) -> float:
    return (ratio - 1) / (ratio + raters - 1)


def cohens_kappa(pairs: Sequence[tuple[bool, bool]]) -> float | None:
    """Cohen's kappa of two people's yes or no.

    Args:
        pairs: What each of the two said of each.

    Returns:
        1 where they always agree, 0 where they agree as often as by chance; None where all said one thing throughout,
        so that chance alone explains it.
    """
    number = len(pairs)
    first, second = (sum(1 for pair in pairs if pair[at]) / number for at in (0, 1))
    by_chance = first * second + (1 - first) * (1 - second)
    if math.isclose(by_chance, 1):
        return None
    agreed = sum(1 for one, other in pairs if one == other) / number
    return (agreed - by_chance) / (1 - by_chance)


def f_quantile(probability: float, numerator: int, denominator: int) -> float:
    """The value that an F-distributed number stays below with a probability.

    Args:
        probability: More than 0 and less than 1.
        numerator: Degrees of freedom of the numerator.
        denominator: Degrees of freedom of the denominator.
    """
    # Loaded on first use: opening the app needs none of it.
    from mpmath import betainc, findroot

    half = (numerator / 2, denominator / 2)
    # With x = d1 F / (d1 F + d2), the probability is the regularised incomplete beta function at x.
    x = findroot(lambda at: betainc(*half, 0, at, regularized=True) - probability, (0, 1), solver="bisect")
    return float(denominator * x / (numerator * (1 - x)))


def _normal(confidence: float) -> float:
    return NormalDist().inv_cdf(1 - (1 - confidence) / 2)
