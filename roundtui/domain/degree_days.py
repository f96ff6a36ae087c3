"""Degree-days of a day from its lowest and highest temperature, in closed forms.

Between the extremes the temperature is taken to follow a curve: a triangle or a sine, whole (single) or as two halves
(double: up from the day's own minimum, down to the next day's). A day's degree-days are the area between that curve
and the lower threshold, less what the cutoff takes off above the upper one. The two averages need no curve.

Every temperature is in one unit, °F or °C, and the result is in that unit times days.

Sources: definitions of methods and cutoffs after University of California IPM, About Degree-Days,
ipm.ucanr.edu/WEATHER/ddmoreinfo.html; cases of the sine after Snyder 2001, biomet.ucdavis.edu/DegreeDays/DDsine.htm;
forms from memory after Baskerville & Emin 1969, Allen 1976 and Zalom et al. 1983, and held here by integration.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import atan2, inf, isfinite, pi, sqrt
from operator import le

from roundtui.domain.units import TempUnit


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


CUTOFFS: dict[Method, tuple[Cutoff, ...]] = {
    Method.AVERAGE: (Cutoff.NONE,),
    Method.MODIFIED_AVERAGE: (Cutoff.NONE, Cutoff.HORIZONTAL),
    Method.SINGLE_TRIANGLE: tuple(Cutoff),
    Method.DOUBLE_TRIANGLE: tuple(Cutoff),
    Method.SINGLE_SINE: tuple(Cutoff),
    Method.DOUBLE_SINE: tuple(Cutoff),
}
"""Cutoffs that each method knows."""


@dataclass(frozen=True, slots=True)
class Development:
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
        after = None if tmin_after is None else [tmin_after]
        return series(tmin, tmax, self.lower, self.upper, method=self.method, cutoff=self.cutoff, tmin_after=after)

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
    following = None if tmin_next is None else [tmin_next]
    return series([tmin], [tmax], lower, upper, method=method, cutoff=cutoff, tmin_after=following)[0]


def series(
    tmin: Sequence[float],
    tmax: Sequence[float],
    lower: float,
    upper: float | None = None,
    *,
    method: Method = Method.SINGLE_SINE,
    cutoff: Cutoff = Cutoff.NONE,
    tmin_after: Sequence[float] | None = None,
) -> list[float]:
    """Degree-days of each of a run of days without a gap.

    Args:
        tmin: Minima, one a day. [°F or °C]
        tmax: Maxima of the same days. [same unit]
        lower: Threshold below which nothing develops. [same unit]
        upper: Threshold above which ``cutoff`` acts. [same unit]
        method: How the temperature runs between the extremes.
        cutoff: What becomes of development above ``upper``.
        tmin_after: At most one value: the minimum of the day after the last, for the double methods; without it the
            last day ends on its own minimum. [same unit]

    Returns:
        Degree-days, one a day. [unit·d]

    Raises:
        ValueError: As for ``day``, or the two sequences differ in length.
    """
    check(lower, upper, method, cutoff)
    _check_days(tmin, tmax)
    ceiling = inf if upper is None or cutoff is Cutoff.NONE else upper
    if method is Method.AVERAGE:
        return [max((low + high) / 2 - lower, 0.0) for low, high in zip(tmin, tmax, strict=True)]
    if method is Method.MODIFIED_AVERAGE:
        return [
            (min(max(low, lower), ceiling) + min(max(high, lower), ceiling)) / 2 - lower
            for low, high in zip(tmin, tmax, strict=True)
        ]
    area = _sine if method in (Method.SINGLE_SINE, Method.DOUBLE_SINE) else _triangle
    rising = area(tmin, tmax, lower, ceiling, cutoff)
    if not method.double:
        return rising
    after = [*tmin[1:], *(tmin_after or tmin)[-1:]]
    if not all(map(isfinite, after)):
        raise ValueError("the next day's minimum is not a number")
    # Where the next minimum lies above the maximum, the half-curve is the same one walked the other way.
    falling = area(list(map(min, after, tmax)), list(map(max, after, tmax)), lower, ceiling, cutoff)
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


def _check_days(tmin: Sequence[float], tmax: Sequence[float]) -> None:
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
