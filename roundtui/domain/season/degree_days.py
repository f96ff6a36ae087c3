"""Areas under a day's temperature curve, triangle or sine, in closed forms; ``degree_days`` says what they mean.

Degree-days of a day from its lowest and highest temperature, in closed forms.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from functools import lru_cache
from itertools import islice
from math import atan2, inf, isfinite, pi, sqrt
from operator import le

from roundtui.domain.records import Frozen
from roundtui.domain.units import TempUnit


class Cutoff(StrEnum):
    """What becomes of development above the upper threshold."""

    NONE = "none"
    """It goes on rising; no upper threshold is needed."""
    HORIZONTAL = "horizontal"
    """It stays at the rate of the upper threshold."""
    INTERMEDIATE = "intermediate"
    """It falls as fast as it rose: what lies above is taken off twice."""
    VERTICAL = "vertical"
    """It stops."""


_MOST_KNOWN = 16_384
"""Pairs of extremes that are kept; a station read in whole degrees meets some 6,000 in its life."""
_SAMPLE = 64


class Curve(dict[tuple[float, float], float]):
    """Areas under a curve by minimum and maximum, remembered.

    Thermometers are read in whole degrees, so the same pairs come again and again: looking them up takes half the time
    of computing them. Where they do not come again nothing is gained and little lost.
    """

    def __init__(self, lower: float, upper: float, cutoff: Cutoff, *, sine: bool) -> None:
        super().__init__()
        self._thresholds = lower, upper, cutoff
        self._area = _sine if sine else _triangle

    def __missing__(self, pair: tuple[float, float]) -> float:
        """Compute a pair that was not met before, and keep it while there is room."""
        low, high = (pair[0],), (pair[1],)
        check_days(low, high)
        area = self._area(low, high, *self._thresholds)[0]
        if len(self) < _MOST_KNOWN:
            self[pair] = area
        return area

    def areas(self, tmin: Sequence[float], tmax: Sequence[float]) -> list[float]:
        """Area of each day.

        Args:
            tmin: Minima, one a day. [°F or °C]
            tmax: Maxima of the same days. [same unit]

        Returns:
            Degree-days, one a day. [unit·d]

        Raises:
            ValueError: A minimum is above its maximum, a temperature is no number, or the lengths differ.
        """
        if len(tmin) != len(tmax):
            raise ValueError(f"{len(tmin)} minima do not go with {len(tmax)} maxima")
        step = max(len(tmin) // _SAMPLE, 1)
        sample = list(zip(tmin[::step], tmax[::step], strict=False))
        # A pair that is not known costs as much as fifteen that are.
        if sum(pair not in self for pair in sample) * 32 <= len(sample):
            return list(map(self.__getitem__, zip(tmin, tmax, strict=True)))
        check_days(tmin, tmax)
        found = self._area(tmin, tmax, *self._thresholds)
        if len(self) < _MOST_KNOWN:
            pairs = zip(zip(tmin, tmax, strict=True), found, strict=True)
            self.update(islice(pairs, _MOST_KNOWN - len(self)))
        return found


@lru_cache(maxsize=8)
def curve(lower: float, upper: float, cutoff: Cutoff, sine: bool) -> Curve:
    """The curve of a pair of thresholds; one and the same for the same thresholds.

    Args:
        lower: Lower threshold. [°F or °C]
        upper: Upper threshold; infinite for none. [same unit]
        cutoff: What becomes of development above it.
        sine: A sine; else a triangle.
    """
    return Curve(lower, upper, cutoff, sine=sine)


def check_days(tmin: Sequence[float], tmax: Sequence[float]) -> None:
    """Refuse days that cannot be.

    Args:
        tmin: Minima, one a day.
        tmax: Maxima of the same days.

    Raises:
        ValueError: A minimum is above its maximum, a temperature is no number, or the lengths differ.
    """
    if len(tmin) != len(tmax):
        raise ValueError(f"{len(tmin)} minima do not go with {len(tmax)} maxima")
    # A value that is no number is not less or equal either, and makes a sum no number: both tests run without a loop.
    if all(map(le, tmin, tmax)) and isfinite(sum(tmin)) and isfinite(sum(tmax)):
        return
    for low, high in zip(tmin, tmax, strict=True):
        if low > high:
            raise ValueError(f"the minimum {low:g} is above the maximum {high:g}")
        if not (isfinite(low) and isfinite(high)):
            raise ValueError(f"minimum {low:g} and maximum {high:g} are not both numbers")


_TIMES_TAKEN_OFF = {Cutoff.NONE: 0, Cutoff.HORIZONTAL: 1, Cutoff.INTERMEDIATE: 2, Cutoff.VERTICAL: 1}
"""How often the area above the upper threshold is taken off."""


# The two loops below hold their formulas inline and twice, for the lower and for the upper threshold: calling a
# function for each made many seasons three times slower.


def _sine(tmin: Sequence[float], tmax: Sequence[float], lower: float, upper: float, cutoff: Cutoff) -> list[float]:
    """Areas under half-sines.

    With ``rise`` the mean less a threshold and ``chord`` the sine's swing times the cosine of where it crosses, the
    curve is above the threshold for the angle atan2(chord, -rise). The chord is taken from the distances to the two
    extremes: so nothing under the root can be negative, however closely a threshold is touched.
    """
    times, vertical = _TIMES_TAKEN_OFF[cutoff], cutoff is Cutoff.VERTICAL
    areas: list[float] = []
    for low, high in zip(tmin, tmax, strict=True):
        if high <= lower:
            areas.append(0.0)
            continue
        area = rise = (low + high) * 0.5 - lower
        if low < lower:
            chord = sqrt((high - lower) * (lower - low))
            area = (rise * atan2(chord, -rise) + chord) / pi
        if high > upper:
            rise = (low + high) * 0.5 - upper
            if low >= upper:
                area -= times * rise + (upper - lower if vertical else 0.0)
            else:
                chord = sqrt((high - upper) * (upper - low))
                above = atan2(chord, -rise)
                area -= times * (rise * above + chord) / pi
                if vertical:
                    area -= (upper - lower) * above / pi
        areas.append(area)
    return areas


def _triangle(tmin: Sequence[float], tmax: Sequence[float], lower: float, upper: float, cutoff: Cutoff) -> list[float]:
    """Areas under straight lines from one extreme to the other."""
    times, vertical = _TIMES_TAKEN_OFF[cutoff], cutoff is Cutoff.VERTICAL
    areas: list[float] = []
    for low, high in zip(tmin, tmax, strict=True):
        if high <= lower:
            areas.append(0.0)
            continue
        mean = (low + high) * 0.5
        area = mean - lower if low >= lower else (high - lower) * (high - lower) * 0.5 / (high - low)
        if high > upper:
            if low >= upper:
                area -= times * (mean - upper) + (upper - lower if vertical else 0.0)
            else:
                area -= times * (high - upper) * (high - upper) * 0.5 / (high - low)
                if vertical:
                    area -= (upper - lower) * (high - upper) / (high - low)
        areas.append(area)
    return areas


class Method(StrEnum):
    """How a day's temperatures are taken to run between its extremes."""

    AVERAGE = "average"
    """Mean of the extremes less the lower threshold, never below 0."""
    MODIFIED_AVERAGE = "modified-average"
    """Extremes clipped to the thresholds, then their mean less the lower threshold."""
    SINGLE_TRIANGLE = "single-triangle"
    """Straight up from the minimum to the maximum, straight down to the same minimum."""
    DOUBLE_TRIANGLE = "double-triangle"
    """Straight up from the minimum, straight down to the next day's."""
    SINGLE_SINE = "single-sine"
    """A sine through the minimum, the maximum and the same minimum."""
    DOUBLE_SINE = "double-sine"
    """Half a sine up from the minimum, half a sine down to the next day's."""

    @property
    def double(self) -> bool:
        """Whether the second half of the day runs down to the next day's minimum."""
        return self in (Method.DOUBLE_TRIANGLE, Method.DOUBLE_SINE)


CUTOFFS: dict[Method, tuple[Cutoff, ...]] = {
    Method.AVERAGE: (Cutoff.NONE,),
    Method.MODIFIED_AVERAGE: (Cutoff.NONE, Cutoff.HORIZONTAL),
    Method.SINGLE_TRIANGLE: tuple(Cutoff),
    Method.DOUBLE_TRIANGLE: tuple(Cutoff),
    Method.SINGLE_SINE: tuple(Cutoff),
    Method.DOUBLE_SINE: tuple(Cutoff),
}
"""Cutoffs that each method knows."""


class Development(Frozen):
    """Between which temperatures something develops, and how its degree-days are counted."""

    lower: float
    """Threshold below which nothing develops. [``unit``]"""
    upper: float | None
    """Threshold above which ``cutoff`` acts; None for none. [``unit``]"""
    unit: TempUnit
    """Unit of the thresholds and of the degree-days."""
    method: Method = Method.SINGLE_SINE
    """How a day's temperatures are taken to run."""
    cutoff: Cutoff = Cutoff.NONE
    """What becomes of development above ``upper``."""

    def series(self, tmin: Sequence[float], tmax: Sequence[float], tmin_after: float | None = None) -> list[float]:
        """Degree-days of each of a run of days without a gap.

        Args:
            tmin: Minima, one a day. [``unit``]
            tmax: Maxima of the same days. [``unit``]
            tmin_after: Minimum of the day after the last, where it is known. [``unit``]

        Returns:
            Degree-days, one a day. [``unit``·d]
        """
        thresholds, method, cutoff = (self.lower, self.upper), self.method, self.cutoff
        return series(tmin, tmax, *thresholds, method=method, cutoff=cutoff, tmin_after=tmin_after)

    def __str__(self) -> str:
        """In words: 50/88 °F, single-sine, horizontal cutoff."""
        thresholds = f"{self.lower:g}" if self.upper is None else f"{self.lower:g}/{self.upper:g}"
        cutoff = "no" if self.cutoff is Cutoff.NONE else self.cutoff
        return f"{thresholds} {self.unit.sign}, {self.method}, {cutoff} cutoff"


def day(
    tmin: float,
    tmax: float,
    lower: float,
    upper: float | None = None,
    *,
    method: Method = Method.SINGLE_SINE,
    cutoff: Cutoff = Cutoff.NONE,
    tmin_next: float | None = None,
) -> float:
    """Degree-days of one day.

    Args:
        tmin: Day's minimum air temperature. [°F or °C]
        tmax: Day's maximum; not below ``tmin``. [same unit]
        lower: Threshold below which nothing develops. [same unit]
        upper: Threshold above which ``cutoff`` acts; not looked at with cutoff none. [same unit]
        method: How the temperature runs between the extremes.
        cutoff: What becomes of development above ``upper``.
        tmin_next: The next day's minimum, for the double methods; the day's own where it is not known yet. A night
            warmer than the day before it is possible: the second half of the day then runs up to it. [same unit]

    Returns:
        Degree-days; below 0 only with the intermediate cutoff, on a day that lies mostly above
        ``2 * upper - lower``. [unit·d]

    Raises:
        ValueError: ``tmin`` is above ``tmax``, a temperature is no number, the method does not know the cutoff, or
            ``upper`` is missing or not above ``lower``.
    """
    return series([tmin], [tmax], lower, upper, method=method, cutoff=cutoff, tmin_after=tmin_next)[0]


def series(
    tmin: Sequence[float],
    tmax: Sequence[float],
    lower: float,
    upper: float | None = None,
    *,
    method: Method = Method.SINGLE_SINE,
    cutoff: Cutoff = Cutoff.NONE,
    tmin_after: float | None = None,
) -> list[float]:
    """Degree-days of each of a run of days without a gap.

    Args:
        tmin: Minima, one a day. [°F or °C]
        tmax: Maxima of the same days. [same unit]
        lower: Threshold below which nothing develops. [same unit]
        upper: Threshold above which ``cutoff`` acts. [same unit]
        method: How the temperature runs between the extremes.
        cutoff: What becomes of development above ``upper``.
        tmin_after: Minimum of the day after the last, for the double methods; without it the last day ends on its own
            minimum. [same unit]

    Returns:
        Degree-days, one a day. [unit·d]

    Raises:
        ValueError: As for ``day``, or the two sequences differ in length.
    """
    check(lower, upper, method, cutoff)
    ceiling = inf if upper is None or cutoff is Cutoff.NONE else upper
    if method not in (Method.AVERAGE, Method.MODIFIED_AVERAGE):
        known = curve(lower, ceiling, cutoff, method in (Method.SINGLE_SINE, Method.DOUBLE_SINE))
        rising = known.areas(tmin, tmax)
        return _halved(rising, known, tmin, tmax, tmin_after) if method.double else rising
    check_days(tmin, tmax)
    if method is Method.AVERAGE:
        return [max((low + high) / 2 - lower, 0.0) for low, high in zip(tmin, tmax, strict=True)]
    return [
        (min(max(low, lower), ceiling) + min(max(high, lower), ceiling)) / 2 - lower
        for low, high in zip(tmin, tmax, strict=True)
    ]


def _halved(
    rising: Sequence[float], known: Curve, tmin: Sequence[float], tmax: Sequence[float], tmin_after: float | None
) -> list[float]:
    """Mean of the half-day up and the half-day down to the next minimum."""
    after = [*tmin[1:], *(tmin[-1:] if tmin_after is None else [tmin_after])]
    if not all(map(isfinite, after)):
        raise ValueError("the next day's minimum is not a number")
    tops: Sequence[float] = tmax
    if not all(map(le, after, tmax)):
        # Where the next minimum lies above the maximum, the half-curve is the same one walked the other way.
        after, tops = list(map(min, after, tmax)), list(map(max, after, tmax))
    falling = known.areas(after, tops)
    return [(up + down) / 2 for up, down in zip(rising, falling, strict=True)]


def check(lower: float, upper: float | None, method: Method, cutoff: Cutoff) -> None:
    """Refuse thresholds that do not go with a method and a cutoff.

    Args:
        lower: Lower threshold. [°F or °C]
        upper: Upper threshold; None for none. [same unit]
        method: Method.
        cutoff: Cutoff.

    Raises:
        ValueError: They do not go together; the message says why.
    """
    if not isfinite(lower) or (upper is not None and not isfinite(upper)):
        raise ValueError("a threshold is not a number")
    if cutoff not in CUTOFFS[method]:
        known = ", ".join(CUTOFFS[method])
        raise ValueError(f"the method {method} does not know the cutoff {cutoff}; it knows {known}")
    if cutoff is not Cutoff.NONE and upper is None:
        raise ValueError(f"the cutoff {cutoff} needs an upper threshold")
    if upper is not None and upper <= lower:
        raise ValueError(f"the upper threshold {upper:g} is not above the lower one {lower:g}")
