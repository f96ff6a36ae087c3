"""Daily temperatures of a station, the gaps in them, and running sums of degree-days.

Gaps of at most two days (an office may say otherwise) are filled on a straight line between the days beside them and
marked; a longer one ends the sum, which says so. Two days: one day is safe to fill, two or three already uneasy, weeks
are wrong (Filling gaps in temperature records, University of Bonn,
hortibonn.github.io/Tree-Phenology/filling-gaps-in-temperature-records.html).

Degree-days of a station day by day over all its years, so that "when is so much reached" is one sample.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from itertools import accumulate

from roundtui.domain.records import Frozen
from roundtui.domain.season.degree_days import Development
from roundtui.domain.units import TempUnit, convert_temp

MOST_FILLED_DAYS = 2
"""Longest gap that is filled, unless an office says otherwise. [d]"""
_DAY = timedelta(days=1)


class WeatherDay(Frozen):
    """A day's lowest and highest air temperature at a station, as written."""

    station: str
    """Code of the station."""
    on: date
    """The day."""
    tmin: float
    """Minimum. [``unit``]"""
    tmax: float
    """Maximum. [``unit``]"""
    unit: TempUnit
    """Unit they were written in."""
    observed_at: str = ""
    """Hour at which the thermometer was read, HH:MM on the station's clock; empty where nobody wrote it down."""

    def within(self, unit: TempUnit) -> tuple[float, float]:
        """Minimum and maximum in a unit."""
        return convert_temp(self.tmin, self.unit, unit), convert_temp(self.tmax, self.unit, unit)


class Run(Frozen):
    """Days of one station without a gap, short gaps filled."""

    first: date
    """First day."""
    tmin: tuple[float, ...]
    """Minima, one a day."""
    tmax: tuple[float, ...]
    """Maxima, one a day."""
    filled: tuple[bool, ...]
    """For each day, whether it was filled and not measured."""

    @property
    def last(self) -> date:
        """Last day."""
        return self.first + timedelta(days=len(self.tmin) - 1)


def runs(days: Iterable[WeatherDay], unit: TempUnit, most_filled: int = MOST_FILLED_DAYS) -> tuple[Run, ...]:
    """Cut a station's days at its long gaps, and fill the short ones.

    Args:
        days: Days of one station, each day once, in order.
        unit: Unit wanted.
        most_filled: Longest gap that is filled. [d]

    Returns:
        Runs in order; their temperatures are in ``unit``.

    Raises:
        ValueError: The days are not in order, or a day comes twice.
    """
    found: list[Run] = []
    first: date | None = None
    lows: list[float] = []
    highs: list[float] = []
    filled: list[bool] = []
    before = date.min
    for day in days:
        low, high = day.within(unit)
        if first is not None and day.on <= before:
            raise ValueError(f"{day.on} comes after {before} in a station's days")
        missing = (day.on - before).days - 1 if first is not None else 0
        if first is None or missing > most_filled:
            if first is not None:
                found.append(Run(first, tuple(lows), tuple(highs), tuple(filled)))
            first, lows, highs, filled = day.on, [], [], []
        elif missing:
            for step in range(1, missing + 1):
                share = step / (missing + 1)
                lows.append(lows[-step] + (low - lows[-step]) * share)
                highs.append(highs[-step] + (high - highs[-step]) * share)
                filled.append(True)
        lows.append(low)
        highs.append(high)
        filled.append(False)
        before = day.on
    if first is not None:
        found.append(Run(first, tuple(lows), tuple(highs), tuple(filled)))
    return tuple(found)


class SumRow(Frozen):
    """One day of a running sum."""

    on: date
    tmin: float
    """Minimum. [unit of the sum]"""
    tmax: float
    """Maximum. [unit of the sum]"""
    degree_days: float
    """Of this day. [unit·d]"""
    total: float
    """From the first day up to and with this one. [unit·d]"""
    filled: bool
    """Whether the temperatures were filled and not measured."""


class DegreeDaySum(Frozen):
    """A running sum of degree-days, first and last day included."""

    unit: TempUnit
    """Unit of temperatures and degree-days."""
    rows: tuple[SumRow, ...]
    """The days, in order."""
    stopped_on: date | None = None
    """First day asked for that could not be counted; None where the sum is whole."""
    why: str = ""
    """In words, why it stopped."""

    @property
    def total(self) -> float:
        """Degree-days of all its days. [unit·d]"""
        return self.rows[-1].total if self.rows else 0.0

    @property
    def filled(self) -> int:
        """How many days were filled. [d]"""
        return sum(row.filled for row in self.rows)


def degree_day_sum(
    days: Sequence[WeatherDay], development: Development, first: date, last: date, most_filled: int = MOST_FILLED_DAYS
) -> DegreeDaySum:
    """Sum the degree-days of a station from one day to another.

    Days outside the span are looked at only to fill a gap at its edge and, by the double methods, for the minimum
    of the morning after; where that is not known yet the last day ends on its own minimum.

    Args:
        days: Days of one station, each day once, in order.
        development: How its degree-days are counted.
        first: First day, included.
        last: Last day, included.
        most_filled: Longest gap that is filled. [d]

    Returns:
        The sum, up to the last day or to the day before a gap that is not filled.
    """
    unit = development.unit
    pieces = runs(days, unit, most_filled)
    run = next((piece for piece in pieces if piece.first <= first <= piece.last), None)
    if first > last:
        return DegreeDaySum(unit, ())
    if run is None:
        return DegreeDaySum(unit, (), first, _why_stopped(pieces, first, most_filled))
    start = (first - run.first).days
    stop = min((last - run.first).days, len(run.tmin) - 1) + 1
    lows, highs = run.tmin[start:stop], run.tmax[start:stop]
    amounts = development.series(lows, highs, run.tmin[stop] if stop < len(run.tmin) else None)
    rows = tuple(
        SumRow(first + timedelta(days=at), low, high, amount, total, is_filled)
        for at, (low, high, amount, total, is_filled) in enumerate(
            zip(lows, highs, amounts, accumulate(amounts), run.filled[start:stop], strict=True)
        )
    )
    if last <= run.last:
        return DegreeDaySum(unit, rows)
    stopped_on = run.last + _DAY
    return DegreeDaySum(unit, rows, stopped_on, _why_stopped(pieces, stopped_on, most_filled))


def _why_stopped(pieces: Sequence[Run], on: date, most_filled: int) -> str:
    before = max((piece.last for piece in pieces if piece.last < on), default=None)
    after = min((piece.first for piece in pieces if piece.first > on), default=None)
    if before is None and after is None:
        return "there are no temperatures"
    if before is None:
        return f"temperatures begin only on {after}"
    if after is None:
        return f"temperatures end on {before}"
    missing = (after - before).days - 1
    return f"no temperatures from {before + _DAY} to {after - _DAY}, {missing} days; at most {most_filled} are filled"


class Reached(Frozen):
    """What became of a wait for an amount of degree-days."""

    on: date | None
    """Day that reached it; None where it was not reached."""
    known: bool
    """Whether the temperatures tell: up to that day, or up to the last day that was looked at."""


class _Span(Frozen):
    """A run of days: the sum before each day and after the last, and the highest sum up to each."""

    first: int
    sums: tuple[float, ...]
    peaks: tuple[float, ...]

    @property
    def last(self) -> int:
        return self.first + len(self.sums) - 2


class StationYears:
    """Degree-days of one station for one way of counting.

    Args:
        days: Days of one station, each day once, in order.
        development: How its degree-days are counted.
        most_filled: Longest gap that is filled. [d]
    """

    def __init__(
        self, days: Sequence[WeatherDay], development: Development, most_filled: int = MOST_FILLED_DAYS
    ) -> None:
        self.development = development
        """How its degree-days are counted."""
        self._spans: list[_Span] = []
        for run in runs(days, development.unit, most_filled):
            sums = tuple(accumulate(development.series(run.tmin, run.tmax), initial=0.0))
            self._spans.append(_Span(run.first.toordinal(), sums, tuple(accumulate(sums, max))))
        self._firsts = [span.first for span in self._spans]

    @property
    def first(self) -> date | None:
        """First day of all."""
        return date.fromordinal(self._spans[0].first) if self._spans else None

    def counted_to(self, start: date, last: date) -> date | None:
        """Last day up to which a sum from ``start`` is whole, not after ``last``; None where it cannot even start."""
        span = self._span(start.toordinal())
        if span is None or last < start:
            return None
        return date.fromordinal(min(span.last, last.toordinal()))

    def total(self, start: date, last: date) -> float:
        """Degree-days from one day to another, both included.

        Args:
            start: First day.
            last: Last day; both have to lie in one run, as ``counted_to`` gives it.

        Returns:
            The sum. [unit·d]

        Raises:
            ValueError: There is a gap between the two days.
        """
        first, end = start.toordinal(), last.toordinal()
        span = self._span(first)
        if span is None or end > span.last:
            raise ValueError(f"the sum from {start} to {last} has a gap")
        return span.sums[end + 1 - span.first] - span.sums[first - span.first] if end >= first else 0.0

    def reach(self, start: date, amount: float, last: date) -> Reached:
        """Wait from a day on until so many degree-days have accumulated.

        Args:
            start: First day that counts.
            amount: Degree-days to gather. [unit·d]
            last: Last day that is looked at.

        Returns:
            The first day whose sum reaches the amount, or that it was not reached, or that nobody knows.
        """
        first, end = start.toordinal(), last.toordinal()
        span = self._span(first)
        if span is None:
            return Reached(None, known=False)
        at = first - span.first
        # Sums fall only by the intermediate cutoff, on days too hot to be: the peaks make the sample safe there.
        goal = span.sums[at] + amount
        found = bisect_left(span.peaks, goal - 1e-9, at + 1)
        while found < len(span.sums) and span.sums[found] < goal - 1e-9:
            found += 1
        day = span.first + found - 1
        if found < len(span.sums) and day <= end:
            return Reached(date.fromordinal(day), known=True)
        return Reached(None, known=end <= span.last)

    def _span(self, ordinal: int) -> _Span | None:
        at = bisect_right(self._firsts, ordinal) - 1
        span = self._spans[at] if at >= 0 else None
        return span if span is not None and ordinal <= span.last else None


def same_day(on: date, year: int) -> date:
    """The same calendar day in another year; 29 February is 1 March where there is none."""
    try:
        return on.replace(year=year)
    except ValueError:
        return date(year, 3, 1)
