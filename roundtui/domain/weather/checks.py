"""What is wrong, or only odd, with the daily temperatures of a station.

Only what cannot be is refused: a minimum above its maximum, a temperature no one ever measured, a day given twice with
different values. What is odd is let in as written and remarked, because somebody has to look at it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from operator import sub
from statistics import median

from roundtui.domain.plain import plain
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit
from roundtui.domain.weather.columns import StationDays, hour_code
from roundtui.domain.weather.days import MOST_FILLED_DAYS, WeatherDay
from roundtui.errors import Problem

ODD_JUMP_C = 30.0
"""Difference from both days beside it at which a day is remarked; common practice, no source. [°C]"""
ODD_RANGE_C = 45.0
"""Difference of maximum and minimum at which a day is remarked; common practice, no source. [°C]"""
_HALF_A_YEAR = 180
_MOST_REMARKS = 5


@dataclass(frozen=True, slots=True)
class Placed:
    """A day and where it was written."""

    where: str
    """File and line."""
    day: WeatherDay


def impossible(rows: Iterable[Placed]) -> list[Problem]:
    """What cannot be, told once for each station and kind, with how often it happens.

    Args:
        rows: Days as written, in any order.

    Returns:
        Problems; a file that has any is not to be taken in.
    """
    grouped: dict[str, list[Placed]] = {}
    for row in rows:
        grouped.setdefault(row.day.station, []).append(row)
    problems: list[Problem] = []
    for placed in grouped.values():
        crossed = [row for row in placed if row.day.tmin > row.day.tmax]
        out = [row for row in placed if _never_measured(row.day)]
        problems += _told(placed[0].day.station, crossed, out, len(placed))
    return problems


def impossible_days(days: StationDays, where: str) -> list[Problem]:
    """The same of the days of one station.

    Args:
        days: Days of one station.
        where: File name as problems show it.
    """

    def placed(places: Iterable[int]) -> list[Placed]:
        return [Placed(place(where, days.lines[at]), days.day(at)) for at in places]

    crossed = [at for at, (low, high) in enumerate(zip(days.tmin, days.tmax, strict=True)) if low > high]
    unit = days.one_unit
    sound = unit is not None and _measured(unit, min(days.tmin), max(days.tmin), min(days.tmax), max(days.tmax))
    out = [] if sound else [at for at in range(len(days)) if _never_measured(days.day(at))]
    return _told(days.station, placed(crossed), placed(out), len(days))


def place(where: str, line: int) -> str:
    """File and line as problems show them; the file alone for line 0."""
    return f"{where}, line {line}" if line else where


def _told(station: str, crossed: Sequence[Placed], out: Sequence[Placed], total: int) -> list[Problem]:
    name = plain(station, 40)
    problems = [_crossed(name, crossed, total)] if crossed else []
    return [*problems, _out_of_range(name, out, total)] if out else problems


def _measured(unit: TempUnit, *temps: float) -> bool:
    # Rounding to whole degrees may carry a true record half a degree further.
    return LOWEST[unit] - 0.5 <= min(temps) and max(temps) <= HIGHEST[unit] + 0.5


def _never_measured(day: WeatherDay) -> bool:
    return not _measured(day.unit, day.tmin, day.tmax)


def _crossed(station: str, rows: Sequence[Placed], total: int) -> Problem:
    day = rows[0].day
    message = f"{day.on}: the minimum {day.tmin:g} is above the maximum {day.tmax:g}"
    if len(rows) > 1:
        message += f"; so it is in {len(rows)} of {total} rows of {station}"
    swapped = len(rows) * 2 > total > 1
    return Problem(
        rows[0].where,
        message,
        "the columns tmin and tmax look swapped: swap their names in the header" if swapped else "swap or correct them",
    )


def _out_of_range(station: str, rows: Sequence[Placed], total: int) -> Problem:
    day = rows[0].day
    value = day.tmax if day.tmax > HIGHEST[day.unit] else day.tmin
    message = f"{day.on}: {value:g} {day.unit.sign} was never measured anywhere"
    if len(rows) > 1:
        message += f"; so it is in {len(rows)} of {total} rows of {station}"
    if day.unit is TempUnit.C and 0 < value <= HIGHEST[TempUnit.F]:
        hint = "it looks like °F: write F in the column unit"
    elif value % 1 == 0 and LOWEST[day.unit] <= value / 10 <= HIGHEST[day.unit]:
        hint = "it looks like tenths of a degree: divide by ten, or correct it"
    else:
        hint = "correct it, or take the row out"
    return Problem(rows[0].where, message, hint)


def remarks(days: Sequence[WeatherDay], most_filled: int = MOST_FILLED_DAYS) -> list[Problem]:
    """What is odd in the days of one station, and still taken in as written.

    Args:
        days: Days of one station, each day once, in order.
        most_filled: Longest gap that is filled. [d]

    Returns:
        Remarks: unlikely days, a unit that looks wrong, long gaps, the hour of observation.
    """
    return remarks_on(StationDays.of(days), most_filled)


def remarks_on(days: StationDays, most_filled: int = MOST_FILLED_DAYS) -> list[Problem]:
    """The same of days as columns.

    Args:
        days: Days of one station, each day once, in order.
        most_filled: Longest gap that is filled. [d]
    """
    if not len(days):
        return []
    return [*_unlikely(days), *_unit(days), *_gaps(days, most_filled), *_hours(days)]


def _few(found: list[Problem], station: str, what: str) -> list[Problem]:
    if len(found) <= _MOST_REMARKS:
        return found
    rest = len(found) - _MOST_REMARKS
    return [*found[:_MOST_REMARKS], Problem(station, f"and {rest} more {what}", "")]


def _unlikely(days: StationDays) -> list[Problem]:
    unit = days.one_unit or TempUnit.C
    degrees = 1.8 if unit is TempUnit.F else 1.0
    lows, highs = days.within(unit)
    wide = {at for at, range_ in enumerate(map(sub, highs, lows)) if range_ > ODD_RANGE_C * degrees}
    found = {at: [_wide(days.day(at))] for at in wide}
    for name, temps in (("minimum", lows), ("maximum", highs)):
        steps = list(map(sub, temps[1:], temps))
        jump = ODD_JUMP_C * degrees
        for at, step in enumerate(steps[:-1], start=1):
            if not -jump <= step <= jump and at not in wide:
                after = steps[at]
                if (step > jump and after < -jump) or (step < -jump and after > jump):
                    found.setdefault(at, []).append(_far(days.day(at), name))
    every = [problem for at in sorted(found) for problem in found[at]]
    return _few(every, plain(days.station, 40), "unlikely days")


def _wide(day: WeatherDay) -> Problem:
    limit = ODD_RANGE_C * (1.8 if day.unit is TempUnit.F else 1.0)
    words = f"from {day.tmin:g} to {day.tmax:g} {day.unit.sign} within one day is more than {limit:g}"
    return Problem(f"{plain(day.station, 40)}, {day.on}", words, "look at it again; kept as written")


def _far(day: WeatherDay, name: str) -> Problem:
    value = day.tmin if name == "minimum" else day.tmax
    words = f"the {name} {value:g} {day.unit.sign} is far from both days beside it"
    return Problem(f"{plain(day.station, 40)}, {day.on}", words, "look at it again; kept as written")


def _unit(days: StationDays) -> list[Problem]:
    station = plain(days.station, 40)
    if days.one_unit is TempUnit.F:
        long = days.days[-1] - days.days[0] >= _HALF_A_YEAR
        if long and max(days.tmax) < 45:
            return [
                Problem(station, "no day of at least half a year passes 45 °F", "are these °C? Then write C as unit")
            ]
    elif len(days) > _MOST_REMARKS and median(days.within(TempUnit.C)[1]) > 42:
        return [Problem(station, "half the days are hotter than 42 °C", "are these °F? Then write F as unit")]
    return []


def _gaps(days: StationDays, most_filled: int) -> list[Problem]:
    if days.days[-1] - days.days[0] + 1 == len(days):
        return []
    found = []
    for before, after in pairwise(days.days):
        missing = after - before - 1
        if missing > most_filled:
            first, last = date.fromordinal(before + 1), date.fromordinal(after - 1)
            words = f"no temperatures from {first} to {last}, {missing} days"
            found.append(Problem(plain(days.station, 40), words, "sums stop there: ask the station for the days"))
    return _few(found, plain(days.station, 40), "gaps")


def _hours(days: StationDays) -> list[Problem]:
    """A changed hour of observation shifts sums, for a season by days to weeks; a morning hour belongs to yesterday."""
    written = set(days.hours) - {0}
    if not written:
        return []
    station = plain(days.station, 40)
    found: list[Problem] = []
    known = [at for at, hour in enumerate(days.hours) if hour]
    for before, after in pairwise(known) if len(written) > 1 else ():
        if days.hours[before] != days.hours[after]:
            words = f"read at {days.hour(before)} until {days.on(before)}, at {days.hour(after)} from {days.on(after)}"
            hint = "sums before and after do not compare: one hour a station, or two stations"
            found.append(Problem(station, words, hint))
    if sum(days.hours[at] < hour_code("12:00") for at in known) * 2 > len(known):
        hint = "sums run about a day late against stations read at midnight; do not mix them"
        found.append(
            Problem(station, "read in the morning: the maximum of a row is mostly that of the day before", hint)
        )
    return _few(found, station, "changes of the hour")
