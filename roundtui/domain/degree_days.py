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
from math import inf, isfinite
from operator import le

from roundtui.domain.curves import Curve, Cutoff, check_days, curve
from roundtui.domain.units import TempUnit

__all__ = ["CUTOFFS", "Cutoff", "Development", "Method", "check", "day", "series"]


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
    rising: Sequence[float],
    known: Curve,
    tmin: Sequence[float],
    tmax: Sequence[float],
    tmin_after: Sequence[float] | None,
) -> list[float]:
    """Mean of the half-day up and the half-day down to the next minimum."""
    after = [*tmin[1:], *(tmin_after or tmin)[-1:]]
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
