"""A treated block's catch held against untreated blocks of the same rounds: by how much more did it fall?

A catch falls by itself at the end of a flight and in cold weather, and a block is treated when its catch is high, which
is partly luck. So the fall is measured against blocks that nobody treated, the scatter of traps and the timing that
each block has of its own are allowed for, and the reading that set off the treatment is left out by the caller.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field
from datetime import date
from math import exp, log, sqrt

from roundtui.domain.figures.certainty import START, Catch
from roundtui.domain.intervals import halved, student, student_t
from roundtui.domain.records import Frozen

READINGS = 3
"""Readings of each trap for which a treatment is watched. Common practice, no source."""
FALL = 0.5
"""A catch has come down where it is at most this share of what the untreated blocks lead one to expect. Common
practice, no source."""
DOWN_AT_MOST = 0.05
"""It is said to come down where an unaffected block would show such a fall at most so often. [1]"""
NOT_DOWN_AT_MOST = 0.10
"""It is said not to where one that came down to half would show so small a fall at most so often. [1]"""
LEAST_EXPECTED = 5
"""Moths to expect after the treatment, below which nothing is said."""
LEAST_BEFORE = 5
"""Moths that an untreated block has to have had before, to be held against. Common practice, no source."""
FEWEST_ASSUMED = 3
"""Untreated blocks wanted where the blocks' own timing is assumed. No source."""
MOST_DEGREES = 20
"""Degrees of freedom that the record's timing is worth at most: it is of other weeks. No source."""
_CLOSE = 1e-12


class Sides(Frozen):
    """One block's catch before and after a day, in the same traps."""

    before: Catch
    after: Catch

    @property
    def change(self) -> float:
        """Logarithm of the rate after over the rate before. [1]"""
        return self.after.log_rate - self.before.log_rate

    def variance(self, k: float) -> float:
        """Variance of the change that moths and scatter of traps alone bring.

        Args:
            k: Scatter. [1]
        """
        return (
            1 / (self.after.moths + 0.5)
            + 1 / (self.before.moths + 0.5)
            + (1 / self.before.weeks + 1 / self.after.weeks) / k
        )


class Timing(Frozen):
    """How far untreated blocks change apart beyond what moths and traps do: each one's flight has a time of its own."""

    variance: float
    """[1]"""
    degrees: float
    """What it rests on, in degrees of freedom."""
    assumed: bool = False
    """Whether there is no record to draw it from."""


ASSUMED = Timing(0.2, 5, assumed=True)
"""Before a programme has rounds of its own to draw it from: an assumption without source."""
_BLOCKS_A_DEGREE = 5


class Experience(Frozen):
    """What the rounds of a species teach, for holding blocks against each other."""

    k: float = START
    """Scatter. [1]"""
    own: Timing = ASSUMED
    """The blocks' own timing."""


NO_EXPERIENCE = Experience()
"""Before there is a record."""


class Against(Frozen):
    """What treated blocks are held against."""

    experience: Mapping[str, Experience] = field(default_factory=dict)
    """By species."""
    treated: Mapping[tuple[str, str], Collection[date]] = field(default_factory=dict)
    """Days of all treatments, by block and species: a treated block is no measure for another."""

    def of(self, species: str) -> Experience:
        """What is known of a species."""
        return self.experience.get(species, NO_EXPERIENCE)


def timing(rounds: Sequence[Sequence[Sides]], k: float) -> Timing:
    """The blocks' own timing from rounds of the past, each untreated block taken in turn as if it had been treated.

    Args:
        rounds: For each day of the past that is looked at, the untreated blocks before and after it.
        k: Scatter. [1]

    Returns:
        ``ASSUMED`` where there are too few.

    Source: Paule and Mandel 1982, J. Res. Natl. Bur. Stand. 87:377; as described in Veroniki et al. 2016, Res. Synth.
    Methods 7:55.
    """
    mocks = []
    for blocks in rounds:
        known = [(one.change, one.variance(k)) for one in blocks]
        weights = sum(1 / variance for _, variance in known)
        total = sum(change / variance for change, variance in known)
        for change, variance in known if len(known) > 1 else ():
            others = weights - 1 / variance
            mocks.append((change - (total - change / variance) / others, variance + 1 / others))
    if len(mocks) < _BLOCKS_A_DEGREE * ASSUMED.degrees:
        return ASSUMED
    return Timing(_between(mocks), min(MOST_DEGREES, len(mocks) / _BLOCKS_A_DEGREE))


def _between(mocks: Sequence[tuple[float, float]]) -> float:
    """Variance beyond that of the single ones, halved until nothing is left between; 0 where there is none."""

    def over(variance: float) -> bool:
        return sum(d * d / (s + variance) for d, s in mocks) > len(mocks)

    return halved(over) if over(0.0) else 0.0


class Comparison(Frozen):
    """A treated block beside untreated ones."""

    controls: int
    """How many untreated ones."""
    fall: float
    """Logarithm of the catch after, over what they lead one to expect. [1]"""
    error: float
    """Its standard error. [1]"""
    degrees: float
    """Degrees of freedom of Student's distribution."""
    timing: float
    """Variance of the blocks' own timing used. [1]"""
    others: float
    """Share of their own catch before that the untreated ones have after. [1]"""
    expected: float
    """Moths to expect after in the treated one."""

    @property
    def share(self) -> float:
        """Catch after, over what was to be expected. [1]"""
        return exp(self.fall)

    @property
    def interval(self) -> tuple[float, float]:
        """Limits between which that share lies four times in five. [1]"""
        reach = self.error * student_t(0.9, self.degrees)
        return exp(self.fall - reach), exp(self.fall + reach)

    @property
    def by_luck(self) -> float:
        """How often an unaffected block would show such a fall. [1]"""
        return student(self.fall / self.error, self.degrees)

    @property
    def half_by_luck(self) -> float:
        """How often a block that came down to half would show so small a fall. [1]"""
        return student(-(self.fall - log(FALL)) / self.error, self.degrees)

    @property
    def is_down(self) -> bool | None:
        """Whether it came down; None where too little can be told."""
        if self.expected < LEAST_EXPECTED:
            return None
        if self.share <= FALL and self.by_luck <= DOWN_AT_MOST:
            return True
        return False if self.half_by_luck <= NOT_DOWN_AT_MOST else None


def compare(treated: Sides, controls: Sequence[Sides], k: float, own: Timing) -> Comparison | None:
    """Hold a treated block against untreated ones.

    Args:
        treated: Its catch before and after.
        controls: Theirs, over the same rounds.
        k: Scatter. [1]
        own: The blocks' own timing, of the record.

    Returns:
        None without an untreated block, and with fewer than ``FEWEST_ASSUMED`` where the timing is assumed.

    Source: derived; controls after the design before-after-control-impact, Smith 2002, Encyclopedia of Environmetrics
    1:141. Ratios to one untreated plot are biased: Fleming and Retnakaran 1985, J. Econ. Entomol. 78:1179.
    """
    if not controls or (own.assumed and len(controls) < FEWEST_ASSUMED):
        return None
    changes = [one.change for one in controls]
    variances = [one.variance(k) for one in controls]
    mean_variance = sum(variances) / len(variances)
    degrees = own.degrees + len(controls) - 1
    now = own.variance
    for _ in range(500):
        weights, mean = _pooled(changes, variances, now)
        scatter = sum(w * (change - mean) ** 2 for w, change in zip(weights, changes, strict=True))
        record = own.degrees * (own.variance + mean_variance) / (now + mean_variance)
        new = max(0.0, (now + mean_variance) * (record + scatter) / degrees - mean_variance)
        settled, now = abs(new - now) < _CLOSE, new
        if settled:
            break
    weights, mean = _pooled(changes, variances, now)
    return Comparison(
        controls=len(controls),
        fall=treated.change - mean,
        error=sqrt(treated.variance(k) + now + 1 / sum(weights)),
        degrees=degrees,
        timing=now,
        others=exp(mean),
        expected=treated.before.moths / treated.before.weeks * treated.after.weeks * exp(mean),
    )


def _pooled(changes: Sequence[float], variances: Sequence[float], timing: float) -> tuple[list[float], float]:
    weights = [1 / (variance + timing) for variance in variances]
    return weights, sum(w * change for w, change in zip(weights, changes, strict=True)) / sum(weights)


_NAMES = "a twentieth,a tenth,an eighth,a sixth,a fifth,a quarter,a third,half,two thirds,three quarters,all"
_SHARES = dict(zip((0.05, 0.1, 0.125, 1 / 6, 0.2, 0.25, 1 / 3, 0.5, 2 / 3, 0.75, 1), _NAMES.split(","), strict=True))
_WHOLE = 1.2
"""Up to so much is all of it."""


def of_what_words(share: float) -> str:
    """A share before what it is a share of."""
    said = share_words(share)
    return "as much as" if said == "all" else f"{said}{' of' if share <= _WHOLE else ''} what"


def share_words(share: float) -> str:
    """A share as people say it, to the nearest of a few.

    Args:
        share: The share, above 0; more than the whole too.
    """
    if share < 1 / 28:
        return "less than a twentieth"
    if share > _WHOLE:
        return f"{share:.1f} times" if share < 10 else f"{share:.0f} times"
    return _SHARES[min(_SHARES, key=lambda one: abs(log(one / share)))]


def between_words(low: float, high: float) -> str:
    """Two shares between which a third lies, as people say it."""
    return f"between {share_words(low)} and {share_words(high)}{' that' if high > _WHOLE else ''}"
