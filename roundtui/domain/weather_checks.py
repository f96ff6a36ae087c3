"""What is wrong, or only odd, with the daily temperatures of a station.

Only what cannot be is refused: a minimum above its maximum, a temperature no one ever measured, a day given twice with
different values. What is odd is let in as written and remarked, because somebody has to look at it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from statistics import median

from roundtui.domain.plain import plain
from roundtui.domain.units import HIGHEST, LOWEST, TempUnit
from roundtui.domain.weather import MOST_FILLED_DAYS, WeatherDay
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
    for station, placed in grouped.items():
        name = plain(station, 40)
        crossed = [row for row in placed if row.day.tmin > row.day.tmax]
        if crossed:
            problems.append(_crossed(name, crossed, len(placed)))
        out = [row for row in placed if _never_measured(row.day)]
        if out:
            problems.append(_out_of_range(name, out, len(placed)))
    return problems


def _never_measured(day: WeatherDay) -> bool:
    # Rounding to whole degrees may carry a true record half a degree further.
    low, high = LOWEST[day.unit] - 0.5, HIGHEST[day.unit] + 0.5
    return not (low <= day.tmin <= high and low <= day.tmax <= high)


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
    if not days:
        return []
    return [*_unlikely(days), *_unit(days), *_gaps(days, most_filled), *_hours(days)]


def _few(found: list[Problem], station: str, what: str) -> list[Problem]:
    if len(found) <= _MOST_REMARKS:
        return found
    rest = len(found) - _MOST_REMARKS
    return [*found[:_MOST_REMARKS], Problem(station, f"and {rest} more {what}", "")]


def _unlikely(days: Sequence[WeatherDay]) -> list[Problem]:
    found: list[Problem] = []
    scale = 1.8 if days[0].unit is TempUnit.F else 1.0
    celsius = [day.within(TempUnit.C) for day in days]
    for at, day in enumerate(days):
        low, high = celsius[at]
        if high - low > ODD_RANGE_C:
            words = (
                f"from {day.tmin:g} to {day.tmax:g} {day.unit.sign} within one day is more than {ODD_RANGE_C * scale:g}"
            )
            found.append(Problem(f"{plain(day.station, 40)}, {day.on}", words, "look at it again; kept as written"))
            continue
        beside = celsius[max(at - 1, 0) : at] + celsius[at + 1 : at + 2]
        for name, value, others in (
            ("minimum", day.tmin, [low - other[0] for other in beside]),
            ("maximum", day.tmax, [high - other[1] for other in beside]),
        ):
            if len(others) == 2 and (min(others) > ODD_JUMP_C or max(others) < -ODD_JUMP_C):
                words = f"the {name} {value:g} {day.unit.sign} is far from both days beside it"
                found.append(Problem(f"{plain(day.station, 40)}, {day.on}", words, "look at it again; kept as written"))
    return _few(found, plain(days[0].station, 40), "unlikely days")


def _unit(days: Sequence[WeatherDay]) -> list[Problem]:
    station = plain(days[0].station, 40)
    highs = [day.within(TempUnit.C)[1] for day in days]
    if all(day.unit is TempUnit.F for day in days):
        long = (days[-1].on - days[0].on).days >= _HALF_A_YEAR
        if long and max(day.tmax for day in days) < 45:
            return [
                Problem(station, "no day of at least half a year passes 45 °F", "are these °C? Then write C as unit")
            ]
    elif len(highs) > _MOST_REMARKS and median(highs) > 42:
        return [Problem(station, "half the days are hotter than 42 °C", "are these °F? Then write F as unit")]
    return []


def _gaps(days: Sequence[WeatherDay], most_filled: int) -> list[Problem]:
    found = []
    for before, after in pairwise(days):
        missing = (after.on - before.on).days - 1
        if missing > most_filled:
            span = f"no temperatures from {before.on + timedelta(days=1)} to {after.on - timedelta(days=1)}"
            found.append(
                Problem(
                    plain(days[0].station, 40),
                    f"{span}, {missing} days",
                    "sums stop there: ask the station for the days",
                )
            )
    return _few(found, plain(days[0].station, 40), "gaps")


def _hours(days: Sequence[WeatherDay]) -> list[Problem]:
    """A changed hour of observation shifts sums, for a season by days to weeks; a morning hour belongs to yesterday."""
    station = plain(days[0].station, 40)
    found: list[Problem] = []
    known = [day for day in days if day.observed_at]
    for before, after in pairwise(known):
        if before.observed_at != after.observed_at:
            words = f"read at {before.observed_at} until {before.on}, at {after.observed_at} from {after.on}"
            hint = "sums before and after do not compare: one hour a station, or two stations"
            found.append(Problem(station, words, hint))
    if known and sum(day.observed_at < "12:00" for day in known) * 2 > len(known):
        hint = "sums run about a day late against stations read at midnight; do not mix them"
        found.append(
            Problem(station, "read in the morning: the maximum of a row is mostly that of the day before", hint)
        )
    return _few(found, station, "changes of the hour")
