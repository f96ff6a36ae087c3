"""Outlook: when the events of a species' life cycle were reached, or are to be expected, with a range.

What is left of an event's degree-days is looked up in the station's own past: from the same calendar day on, each past
year took so many days to gather it. Their median is the date expected, their scatter gives the range. A date is never
an order to spray: the cautions of the programme stand beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from math import ceil, floor, inf, isinf

from roundtui.domain.intervals import expected, likely
from roundtui.domain.records import Frozen
from roundtui.domain.season.models import LifeEvent, SpeciesModel, start_of
from roundtui.domain.season.weather import Reached, StationYears, WeatherDay, same_day
from roundtui.domain.units import TempUnit

COVERAGE = 0.8
"""How often the range is meant to hold."""
_DAY = timedelta(days=1)


class StandIn(Frozen):
    """What stands in for a biofix that is not set yet: an amount of degree-days from a day of the year."""

    model: SpeciesModel
    """A model that starts on a day of the year; its first event stands in."""
    station: StationYears
    """The station, counted as that model counts."""
    normal: StationYears | None = None
    """Its normal temperatures, counted as that model counts."""


class EventOutlook(Frozen):
    """One event: reached, expected, or neither."""

    event: LifeEvent
    """The event."""
    generation: int
    """Generation of the season it belongs to."""
    accumulated: float | None
    """Degree-days so far; None where counting has not begun. [unit of the model]"""
    reached_on: date | None = None
    """Day it was reached."""
    expected_on: date | None = None
    """Day it is expected."""
    earliest: date | None = None
    """First day of the range; None where too few years give one."""
    latest: date | None = None
    """Last day of the range; None where too few years give one, or too many never got there."""
    years: int = 0
    """Past years that gave a date, or told that they never got there."""
    never: int = 0
    """Of these, years that did not get there before the season ended."""
    by_normal: bool = False
    """Whether the date is reckoned from stated normals, for want of past years."""
    by_forecast: bool = False
    """Whether forecast days went into the date."""
    why: str = ""
    """In words, what stands behind the date or why there is none."""


class Outlook(Frozen):
    """The season of one block and species, seen from one day."""

    model: SpeciesModel
    """The model."""
    start: date | None
    """Day from which it counts; None where that day is still to come."""
    provisional: bool
    """Whether a stand-in was used because no biofix is set."""
    counted_to: date | None
    """Last day counted."""
    events: tuple[EventOutlook, ...]
    """Every event of the model."""
    coverage: float
    """How often the ranges are meant to hold."""
    why: str = ""
    """In words, what is odd: no biofix, or temperatures that end early."""


def outlook(
    model: SpeciesModel,
    station: StationYears,
    *,
    on: date,
    biofix: date | None = None,
    stand_in: StandIn | None = None,
    generation: int = 1,
    season_begins: date | None = None,
    season_ends: date | None = None,
    normal: StationYears | None = None,
    forecast: StationYears | None = None,
    coverage: float = COVERAGE,
) -> Outlook:
    """Look ahead from a day.

    Args:
        model: The species' model.
        station: The station's days, counted as the model counts.
        on: Day from which one looks; later days are not used.
        biofix: Biofix of the generation, where one is set.
        stand_in: What to go by as long as no biofix is set.
        generation: Generation of the biofix.
        season_begins: First day of the season; None: 1 January.
        season_ends: Last day looked at; None: 31 December.
        normal: Normal temperatures of the season's days, for a station with fewer than two past years.
        forecast: Days to come as they are forecast, counted as the model counts; those that follow on the last reading
            are used, and a reading always stands before them.
        coverage: How often the range is to hold.

    Returns:
        Every event of the model: reached, or expected with a range.
    """
    view = _View(model, station, on, season_ends or date(on.year, 12, 31), normal, coverage, generation, forecast)
    begins = season_begins or date(on.year, 1, 1)
    start = start_of(model, begins, biofix)
    wait = None
    if start is None and stand_in is not None:
        wait = _wait(stand_in, begins, on)
        start = wait.reached if wait else None
    if start is not None and start <= on:
        return view.counting(start, provisional=wait is not None)
    if wait is not None and stand_in is not None:
        return view.waiting(stand_in, wait)
    return view.nothing("no biofix is set" if start is None else f"counting begins on {start}", start)


def normal_days(
    normals: Mapping[tuple[int, int], tuple[float, float]], unit: TempUnit, first: date, last: date
) -> tuple[WeatherDay, ...]:
    """Days of a season as they normally are, for a station with fewer than two past years.

    Args:
        normals: Normal minimum and maximum by month and day. [``unit``]
        unit: Unit of the normals.
        first: First day wanted.
        last: Last day wanted.

    Returns:
        The days that have a normal; 29 February takes that of 28 February where it has none of its own.
    """
    found = []
    for at in range((last - first).days + 1):
        on = first + timedelta(days=at)
        pair = normals.get((on.month, on.day)) or (normals.get((2, 28)) if (on.month, on.day) == (2, 29) else None)
        if pair:
            found.append(WeatherDay("normal", on, *pair, unit))
    return tuple(found)


class _Wait(Frozen):
    """How far a stand-in is."""

    counted_to: date
    left: float
    reached: date | None


def _wait(stand_in: StandIn, season_begins: date, on: date) -> _Wait | None:
    begins = start_of(stand_in.model, season_begins)
    counted = stand_in.station.counted_to(begins, on) if begins else None
    if begins is None or counted is None:
        return None
    amount = stand_in.model.events[0].degree_days
    reached = stand_in.station.reach(begins, amount, counted).on
    return _Wait(counted, amount - stand_in.station.total(begins, counted), reached)


_Arrives = Callable[[StationYears, LifeEvent, date, date], Reached]
"""When an event comes in one year: the year's days, the event, first and last day to look at."""


class _View(Frozen):
    """One look ahead: what all its events have in common."""

    model: SpeciesModel
    station: StationYears
    on: date
    ends: date
    normal: StationYears | None
    coverage: float
    generation: int
    forecast: StationYears | None = None

    def nothing(self, why: str, start: date | None = None, *, provisional: bool = False) -> Outlook:
        """No event can be dated."""
        events = tuple(EventOutlook(event, self._generation(event), None, why=why) for event in self.model.events)
        return Outlook(self.model, start, provisional, None, events, self.coverage, why)

    def counting(self, start: date, *, provisional: bool) -> Outlook:
        """From a day that has come."""
        counted = self.station.counted_to(start, self.on)
        if counted is None:
            return self.nothing(f"there are no temperatures of {start}", start, provisional=provisional)
        total = self.station.total(start, counted)
        to, more = self._forecast_to(counted)

        def arrives(years: StationYears, event: LifeEvent, first: date, last: date) -> Reached:
            return years.reach(first, event.degree_days - total - more, last)

        events = []
        for event in self.model.events:
            reached = self.station.reach(start, event.degree_days, counted).on
            if reached is not None:
                events.append(EventOutlook(event, self._generation(event), total, reached_on=reached, why="reached"))
                continue
            soon = self._by_forecast(event, total, counted, to)
            dated = soon or self._ahead(event, total, to, arrives)
            events.append(replace(dated, by_forecast=to > counted and dated.expected_on is not None))
        return Outlook(
            self.model, start, provisional, counted, tuple(events), self.coverage, self._why(counted, provisional)
        )

    def waiting(self, stand_in: StandIn, wait: _Wait) -> Outlook:
        """From a day that is itself still to come, when the stand-in reaches its amount."""

        def arrives(years: StationYears, event: LifeEvent, first: date, last: date) -> Reached:
            own = stand_in.station if years is self.station else stand_in.normal or years
            begin = own.reach(first, wait.left, last)
            return begin if begin.on is None else years.reach(begin.on, event.degree_days, last)

        events = tuple(self._ahead(event, None, wait.counted_to, arrives) for event in self.model.events)
        why = self._why(wait.counted_to, provisional=True)
        return Outlook(self.model, None, True, wait.counted_to, events, self.coverage, why)

    def _forecast_to(self, counted: date) -> tuple[date, float]:
        """Last day of the forecast that follows on the readings, and its degree-days."""
        to = None if self.forecast is None else self.forecast.counted_to(counted + _DAY, self.ends)
        if self.forecast is None or to is None:
            return counted, 0.0
        return to, self.forecast.total(counted + _DAY, to)

    def _by_forecast(self, event: LifeEvent, total: float, counted: date, to: date) -> EventOutlook | None:
        """An event that the forecast reaches; None where it does not."""
        if self.forecast is None or to == counted:
            return None
        found = self.forecast.reach(counted + _DAY, event.degree_days - total, to).on
        if found is None:
            return None
        return EventOutlook(event, self._generation(event), total, expected_on=found, why="by the forecast; no range")

    def _generation(self, event: LifeEvent) -> int:
        return self.generation + event.generation - 1

    def _why(self, counted: date, provisional: bool) -> str:
        parts = ["no biofix is set: worked out from the year's degree-days"] if provisional else []
        if counted < self.on:
            parts.append(f"temperatures are known only up to {counted}")
        return "; ".join(parts)

    def _ahead(self, event: LifeEvent, total: float | None, counted: date, arrives: _Arrives) -> EventOutlook:
        """An event that is still to come, from the station's own past or else from a normal."""
        first = counted + _DAY
        waits = self._waits(event, first, arrives)
        sanitize = EventOutlook(event, self._generation(event), total, years=len(waits), never=waits.count(inf))
        if len(waits) < 2 and self.normal is not None:
            found = arrives(self.normal, event, first, self.ends).on
            if found is not None:
                why = "by normal temperatures; too few past years for a range"
                return replace(sanitize, expected_on=found, by_normal=True, why=why)
        if not waits:
            return replace(sanitize, why="no past year of the station reaches so far")
        middle = expected(waits)
        if isinf(middle):
            return replace(
                sanitize, why=f"not reached by the end of the season in {sanitize.never} of {sanitize.years} years"
            )
        day = floor(middle)  # Half a day counts as the earlier: a warning may come early, not late.
        span = likely(waits, self.coverage)
        why = f"median of {sanitize.years} past years" if sanitize.years > 1 else "by the one past year; no range"
        dated = replace(sanitize, expected_on=first + timedelta(days=day), why=why)
        if span is None:
            return dated
        # Years that agree to the day do not make a forecast that sure; nothing is expected on a day already counted.
        earliest = first + timedelta(days=max(min(day - 1, ceil(span[0])), 0))
        latest = None if isinf(span[1]) else first + timedelta(days=max(day + 1, floor(span[1])))
        return replace(dated, earliest=earliest, latest=latest)

    def _waits(self, event: LifeEvent, first: date, arrives: _Arrives) -> list[float]:
        """Days from the same calendar day on, in each past year of which it is known; infinite where it never came."""
        begins = self.station.first
        waits: list[float] = []
        for year in range(begins.year if begins else first.year, first.year):
            start = same_day(first, year)
            last = same_day(self.ends, self.ends.year - first.year + year)
            found = arrives(self.station, event, start, last) if start <= last else Reached(None, known=False)
            if found.known:
                waits.append(inf if found.on is None else (found.on - start).days)
        return waits
