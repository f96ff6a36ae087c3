"""Days of one station as columns of numbers: a million of them are some thirty megabytes, as records ten times that."""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from roundtui.domain.units import TempUnit
from roundtui.domain.weather.days import WeatherDay

_UNITS = (TempUnit.F, TempUnit.C)
_NO_HOUR = 0


@dataclass(slots=True)
class StationDays:
    """Days of one station, in the order of their file until ``sort`` was called."""

    station: str
    """Code of the station."""
    days: array[int] = field(default_factory=lambda: array("i"))
    """The days, as ordinals."""
    tmin: array[float] = field(default_factory=lambda: array("d"))
    """Minima. [unit of the day]"""
    tmax: array[float] = field(default_factory=lambda: array("d"))
    """Maxima. [unit of the day]"""
    units: bytearray = field(default_factory=bytearray)
    """Their units, as ``unit_code`` has them."""
    hours: array[int] = field(default_factory=lambda: array("H"))
    """Hours of observation, as ``hour_code`` has them."""
    lines: array[int] = field(default_factory=lambda: array("L"))
    """Lines they were read from; 0 where there is none."""

    @classmethod
    def of(cls, days: Iterable[WeatherDay]) -> StationDays:
        """Columns of days that are records.

        Args:
            days: Days of one station.
        """
        found = cls("")
        for day in days:
            found.station = day.station
            codes = unit_code(day.unit), hour_code(day.observed_at)
            found.add(day.on.toordinal(), day.tmin, day.tmax, codes, 0)
        return found

    def __len__(self) -> int:
        return len(self.days)

    def add(self, day: int, tmin: float, tmax: float, codes: tuple[int, int], line: int) -> None:
        """Put one more day at the end; ``codes`` are those of unit and hour."""
        self.days.append(day)
        self.tmin.append(tmin)
        self.tmax.append(tmax)
        self.units.append(codes[0])
        self.hours.append(codes[1])
        self.lines.append(line)

    def day(self, at: int) -> WeatherDay:
        """One of them as a record."""
        low, high, unit, hour = self.tmin[at], self.tmax[at], self.unit(at), self.hour(at)
        return WeatherDay(self.station, date.fromordinal(self.days[at]), low, high, unit, hour)

    def on(self, at: int) -> date:
        """Day of one of them."""
        return date.fromordinal(self.days[at])

    def unit(self, at: int) -> TempUnit:
        """Unit of one of them."""
        return _UNITS[self.units[at]]

    def hour(self, at: int) -> str:
        """Hour of observation of one of them, HH:MM; empty where nobody wrote it down."""
        return hour_text(self.hours[at])

    @property
    def one_unit(self) -> TempUnit | None:
        """The unit of all; None where they differ, or there is none."""
        count = self.units.count(1)
        return None if count not in {0, len(self)} or not len(self) else _UNITS[count > 0]

    def within(self, unit: TempUnit) -> tuple[Sequence[float], Sequence[float]]:
        """All minima and maxima in a unit."""
        if self.one_unit is unit:
            return self.tmin, self.tmax
        pairs = [self.day(at).within(unit) for at in range(len(self))]
        return [low for low, _ in pairs], [high for _, high in pairs]

    def ordered(self) -> bool:
        """Whether each day comes once, and in order."""
        return all(map(int.__lt__, self.days, self.days[1:]))

    def taken(self, places: Sequence[int]) -> StationDays:
        """Some of them, in an order wanted."""
        found = StationDays(self.station)
        for at in places:
            codes = self.units[at], self.hours[at]
            found.add(self.days[at], self.tmin[at], self.tmax[at], codes, self.lines[at])
        return found


def unit_code(unit: TempUnit) -> int:
    """A unit as a small number."""
    return _UNITS.index(unit)


def unit_of_code(code: int) -> TempUnit:
    """The unit of a small number."""
    return _UNITS[code]


def hour_code(text: str) -> int:
    """An hour HH:MM as a number; 0 for none."""
    return 1 + 60 * int(text[:2]) + int(text[3:]) if len(text) == 5 else _NO_HOUR


@lru_cache(maxsize=2048)
def hour_text(code: int) -> str:
    """The hour of such a number."""
    return "" if code == _NO_HOUR else f"{(code - 1) // 60:02d}:{(code - 1) % 60:02d}"


@lru_cache(maxsize=100_000)
def day_text(ordinal: int) -> str:
    """A day in ISO 8601, as the store has it."""
    return date.fromordinal(ordinal).isoformat()
