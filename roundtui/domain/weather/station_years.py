"""Degree-days of a station day by day over all its years, so that "when is so much reached" is one look."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate

from roundtui.domain.degree_days import Development
from roundtui.domain.weather.days import MOST_FILLED_DAYS, WeatherDay, runs


@dataclass(frozen=True, slots=True)
class Reached:
    """What became of a wait for an amount of degree-days."""

    on: date | None
    """Day that reached it; None where it was not reached."""
    known: bool
    """Whether the temperatures tell: up to that day, or up to the last day that was looked at."""


@dataclass(frozen=True, slots=True)
class _Span:
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
        """Wait from a day on until so many degree-days have gathered.

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
        # Sums fall only by the intermediate cutoff, on days too hot to be: the peaks make the look safe there.
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
