"""Areas under a day's temperature curve, triangle or sine, in closed forms; ``degree_days`` says what they mean."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from functools import lru_cache
from itertools import islice
from math import atan2, isfinite, pi, sqrt
from operator import le


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
