"""Intervals of a share: between which two shares a block may well lie, when so many of so many units had it.

Both take units as if each were picked by itself. Leaves of one tree are more alike than those of the block, so a sample
at few trees knows less than its interval says.

How far a new year may lie from the years before it: a range that holds as often as it says.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from math import exp, inf, isinf, lgamma, log, log1p, sqrt

CONFIDENCE = 0.95
"""How often such an interval holds the true share. [1]"""
_SMALLEST = 1e-300
_CLOSE = 1e-15
_MOST_TERMS = 5000


def wilson(found: int, looked: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Score interval of a share: short, and right on the average.

    Args:
        found: Units with it, from 0 to ``looked``.
        looked: Units looked at, at least one.
        confidence: How often it is to hold the true share, between 0 and 1. [1]

    Returns:
        Lower and upper end. [1]

    Raises:
        ValueError: The numbers are no such count.

    Source: Wilson, E. B., 1927, Probable inference, the law of succession, and statistical inference, Journal of the
    American Statistical Association 22:209-212.
    """
    from statistics import NormalDist

    _check(found, looked, confidence)
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    share = found / looked
    spread = z * sqrt(share * (1 - share) / looked + z * z / (4 * looked * looked))
    middle, scale = share + z * z / (2 * looked), 1 + z * z / looked
    low = 0.0 if found == 0 else (middle - spread) / scale
    return low, 1.0 if found == looked else (middle + spread) / scale


def clopper_pearson(found: int, looked: int, confidence: float = CONFIDENCE) -> tuple[float, float]:
    """Exact interval of a share: never holds less often than it says, and is longer for it.

    Args:
        found: Units with it, from 0 to ``looked``.
        looked: Units looked at, at least one.
        confidence: How often it is to hold the true share, between 0 and 1. [1]

    Returns:
        Lower and upper end. [1]

    Raises:
        ValueError: The numbers are no such count.

    Source: Clopper, C. J. and Pearson, E. S., 1934, The use of confidence or fiducial limits illustrated in the case of
    the binomial, Biometrika 26:404-413.
    """
    _check(found, looked, confidence)
    return _exact(found, looked, (1 - confidence) / 2)


def _exact(found: float, looked: float, tail: float) -> tuple[float, float]:
    low = 0.0 if found == 0 else _share_at(tail, found, looked)
    return low, 1.0 if found == looked else _share_at(1 - tail, found + 1, looked)


def at_least(found: float, looked: float, share: float) -> float:
    """How likely so many units or more have it.

    Args:
        found: Units with it.
        looked: Units looked at.
        share: True share of units that have it. [1]

    Returns:
        Upper tail of the binomial distribution. [1]
    """
    if found <= 0:
        return 1.0
    if found > looked:
        return 0.0
    return incomplete_beta(found, looked - found + 1, share)


def design_effect(units: int, trees: int, alike: float) -> float:
    """How many times as many units a sample of few trees needs: 1 + (units a tree - 1) · alike.

    Args:
        units: Units looked at.
        trees: Trees, or bins, they came from.
        alike: Correlation of two units of one tree. For fruit injured by codling moth a trial found none beyond
            chance (Cellier 1960, Aust. J. Agric. Res. 11:186-196); no other was found published. [1]
    """
    return 1 + (units / trees - 1) * alike


ALIKE = 0.1
"""How alike two units of one tree are taken to be: nothing of the record says it. In simulation an
interval so widened holds in 95 of 100 samples or more at any likeness up to this, from five trees on: see
``tests/long/alike.py``. [1]"""


def clean_chance(units: int, trees: int, share: float, alike: float) -> float:
    """How often a sample finds nothing although a share of all units has it.

    Args:
        units: Units looked at.
        trees: Trees, or bins, they came from.
        share: Share that has it. [1]
        alike: Correlation of two units of one tree. [1]

    Source: beta-binomial within a tree, Binns, Nyrop & van der Werf 2000, chapter 4 (a copy, 123dok.com).
    """
    if not alike:
        return (1 - share) ** units
    many, each = (1 - alike) / alike, units / trees
    clean = (1 - share) * many
    return exp(trees * (lgamma(clean + each) - lgamma(clean) + lgamma(many) - lgamma(many + each)))


FEWEST_TREES = 5
"""From fewer trees nothing is said with 95 %."""


def clustered(found: int, looked: int, trees: int | None) -> tuple[float, float] | None:
    """The exact interval for as many units as a sample of few trees is worth.

    Args:
        found: Units with it.
        looked: Units looked at.
        trees: Trees they came from; None where nobody wrote it down.

    Returns:
        Lower and upper end; None where it would not hold as often as it says. [1]

    Source: the design effect of Kish 1965 in the exact interval, as Korn and Graubard 1998 have it, Survey Methodology
    24:193 (both from memory); how alike: an assumption.
    """
    if trees is None or trees < FEWEST_TREES:
        return None
    effect = design_effect(looked, min(trees, looked), ALIKE)
    return _exact(found / effect, looked / effect, (1 - CONFIDENCE) / 2)


@lru_cache(4096)
def _share_at(tail: float, found: float, looked: float) -> float:
    """The share at which ``found`` or more are as likely as ``tail``: halved until nothing is left between."""
    low, high = 0.0, 1.0
    while (middle := (low + high) / 2) not in (low, high):
        if at_least(found, looked, middle) < tail:
            low = middle
        else:
            high = middle
    return middle


def incomplete_beta(a: float, b: float, x: float) -> float:
    """Regularised incomplete beta function, by its continued fraction.

    Args:
        a: First parameter, above 0.
        b: Second parameter, above 0.
        x: Where, from 0 to 1.

    Source: NIST Digital Library of Mathematical Functions, 8.17.22, by the method of Lentz.
    """
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    if x > (a + 1) / (a + b + 2):
        return 1 - incomplete_beta(b, a, 1 - x)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a
    d = 1 / _not_zero(1 - (a + b) * x / (a + 1))
    c, total = 1.0, d
    for m in range(1, _MOST_TERMS):
        for term in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1 / _not_zero(1 + term * d)
            c = _not_zero(1 + term / c)
            total *= c * d
        if abs(c * d - 1) < _CLOSE:
            break
    return front * total


def _not_zero(value: float) -> float:
    return value if abs(value) > _SMALLEST else _SMALLEST


def _check(found: int, looked: int, confidence: float) -> None:
    if looked < 1 or not 0 <= found <= looked or not 0 < confidence < 1:
        raise ValueError(f"{found} of {looked} at {confidence} has no interval")


def halved(over: Callable[[float], bool]) -> float:
    """Where something stops to hold, to the last digit.

    Args:
        over: Whether it holds at a value; it does at 0, and not from some value on.
    """
    low, high = 0.0, 1.0
    while over(high):
        low, high = high, 2 * high
    while (middle := (low + high) / 2) not in (low, high):
        low, high = (middle, high) if over(middle) else (low, middle)
    return middle


def student(value: float, freedom: float) -> float:
    """Chance of Student's t at or below a value.

    Args:
        value: The value.
        freedom: Degrees of freedom, above 0.

    Source: NIST Digital Library of Mathematical Functions, 8.17; the tests hold it against ``scipy.stats.t``.
    """
    tail = incomplete_beta(freedom / 2, 0.5, freedom / (freedom + value * value)) / 2
    return tail if value < 0 else 1 - tail


@lru_cache(maxsize=1024)
def student_t(share: float, freedom: float) -> float:
    """Quantile of Student's t.

    Args:
        share: Share of the distribution below it, from a half to under 1.
        freedom: Degrees of freedom, above 0.
    """
    return halved(lambda value: student(value, freedom) < share)


def expected(waits: Sequence[float]) -> float:
    """The middle of the waits of all years; infinite where it was not reached in half of them.

    Args:
        waits: Wait of each past year; infinite for a year that never got there. [d]

    Returns:
        The median. [d]
    """
    from statistics import median

    ordered = sorted(waits)
    middle = len(ordered) // 2
    return inf if isinf(ordered[middle]) else median(ordered)


def likely(waits: Sequence[float], coverage: float) -> tuple[float, float] | None:
    """Range in which a further year of the same kind falls with a stated probability.

    Mean and scatter of the past years, widened for their small number: mean ± t·s·sqrt(1 + 1/n). Tried beside ranks of
    the past years on decades of a real station, it held more nearly as often as it says, above all for short waits.

    Args:
        waits: Wait of each past year; infinite for a year that never got there. [d]
        coverage: Probability, as 0.8.

    Returns:
        The range, its end infinite where more years than one tail holds never got there; None for fewer than two years
        that did. [d]
    """
    from statistics import fmean, stdev

    known = [wait for wait in waits if not isinf(wait)]
    if len(known) < 2:
        return None
    tail = (1 - coverage) / 2
    width = student_t(1 - tail, len(known) - 1) * stdev(known) * sqrt(1 + 1 / len(known))
    middle = fmean(known)
    never = 1 - len(known) / len(waits)
    return middle - width, inf if never > tail else middle + width
