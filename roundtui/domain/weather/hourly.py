"""Hourly temperatures: read from text, reduced to daily extremes, and looked up at an instant such as sunset."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from itertools import pairwise

from roundtui.domain.plain import plain
from roundtui.domain.table import shown
from roundtui.domain.units import TempUnit, unit_of
from roundtui.domain.weather.days import MOST_FILLED_DAYS, WeatherDay
from roundtui.domain.weather.rows import Faults, WeatherRead, finish, number_of, numbered
from roundtui.errors import Problem

LONGEST_WITHOUT = timedelta(hours=3)
"""Longest time without a reading in a day that is still taken as whole; common practice, no source."""
_COLUMNS = ("station", "time", "temp")
_NAMED = 3


@dataclass(frozen=True, slots=True)
class Moment:
    """One temperature at one instant."""

    at: datetime
    """Instant; with its offset from UTC, or on the station's own clock without one."""
    temp: float
    """Air temperature."""


@dataclass(frozen=True, slots=True)
class HourlyRead:
    """What a file of hourly temperatures held."""

    moments: dict[str, tuple[Moment, ...]]
    """Readings by station, in order of time."""
    units: dict[str, TempUnit]
    """Unit of each station's readings."""
    problems: tuple[Problem, ...] = ()
    """What cannot be; the file is refused."""


def parse_hourly(lines: Iterable[str], *, unit: TempUnit | None = None, where: str = "hourly.csv") -> HourlyRead:
    """Read a file with the columns station, time, temp and, where there is one, unit.

    Args:
        lines: The file's lines.
        unit: Unit of rows that state none.
        where: File name as problems show it.

    Returns:
        Readings by station. A time is written in ISO 8601, with its offset (``2025-05-09T14:00-04:00``, ``…Z``) or
        without one for the station's own clock; the hour that autumn doubles is best told apart by an offset.
    """
    faults = Faults(where)
    rows = numbered(lines, faults)
    line, header = next(rows, (1, []))
    header = [name.removeprefix("\ufeff").strip() for name in header]
    if set(header) - {"unit"} != set(_COLUMNS) or len(set(header)) != len(header):
        if not faults.listed():
            faults.add(
                line,
                "",
                f"the header is {shown(','.join(header))}",
                f"write {','.join(_COLUMNS)}, and unit if you like",
            )
        return HourlyRead({}, {}, faults.listed())
    gathered: dict[str, list[Moment]] = {}
    units: dict[str, TempUnit] = {}
    for line, row in rows:
        if len(row) != len(header):
            faults.add(line, "", f"has {len(row)} fields, the header {len(header)}", "check the commas")
            continue
        fields = dict(zip(header, row, strict=True))
        moment = _moment(fields, line, faults)
        stated = unit_of(fields.get("unit", "")) or (unit if not fields.get("unit") else None)
        if stated is None:
            faults.add(line, "unit", f"{shown(fields.get('unit', ''))} is no unit", "write F or C")
        elif not fields["station"]:
            faults.add(line, "station", "is blank", "write the station's code")
        elif moment:
            held = gathered.setdefault(fields["station"], [])
            if units.setdefault(fields["station"], stated) is not stated:
                faults.add(line, "unit", "changes within the station", "write one unit a station")
            elif held and (held[0].at.tzinfo is None) != (moment.at.tzinfo is None):
                faults.add(line, "time", "some times have an offset from UTC and some have none", "write all one way")
            else:
                held.append(moment)
    if faults.listed():
        return HourlyRead({}, {}, faults.listed())
    return HourlyRead({name: tuple(sorted(held, key=lambda m: m.at)) for name, held in gathered.items()}, units)


def _moment(fields: dict[str, str], line: int, faults: Faults) -> Moment | None:
    text = fields["time"]
    try:
        at = datetime.fromisoformat(text) if len(text) > 10 else None
    except ValueError:
        at = None
    if at is None:
        faults.add(line, "time", f"{shown(text)} is no date and time", "write it as 2025-05-09T14:00-04:00")
    temp = number_of(fields["temp"])
    # A blank temperature is an hour nobody read: no fault, and no reading.
    if temp is None and fields["temp"]:
        faults.add(line, "temp", f"{shown(fields['temp'])} is no temperature", "write it as 12.5")
    return Moment(at, temp) if at is not None and temp is not None else None


def daily_extremes(
    moments: Sequence[Moment],
    station: str,
    unit: TempUnit,
    *,
    tz: tzinfo | None = None,
    where: str = "hourly.csv",
    longest_without: timedelta = LONGEST_WITHOUT,
    most_filled: int = MOST_FILLED_DAYS,
) -> WeatherRead:
    """Reduce readings through the day to its lowest and highest.

    Args:
        moments: Readings of one station, in order of time.
        station: Code of the station.
        unit: Unit of the readings.
        tz: Clock by which a day runs from midnight to midnight, for readings that have an offset.
        where: File name as remarks show it.
        longest_without: A day with a longer time without a reading is left out: its extreme may lie in there.
        most_filled: Longest gap that is filled, for the remarks. [d]

    Returns:
        Days that are whole, with problems and with remarks on those left out.

    Raises:
        ValueError: The readings have an offset and no clock is given.
    """
    by_day: dict[date, list[tuple[datetime, float]]] = {}
    for moment in moments:
        at = moment.at
        if at.tzinfo is not None:
            if tz is None:
                raise ValueError("readings with an offset from UTC need the clock of their station")
            at = at.astimezone(tz).replace(tzinfo=None)
        by_day.setdefault(at.date(), []).append((at, moment.temp))
    placed: list[tuple[int, WeatherDay]] = []
    partial: list[str] = []
    for on, readings in by_day.items():
        midnight = datetime.combine(on, time())
        clock = [midnight, *(at for at, _ in readings), midnight + timedelta(days=1)]
        if max(later - earlier for earlier, later in pairwise(sorted(clock))) > longest_without:
            partial.append(str(on))
            continue
        temps = [temp for _, temp in readings]
        placed.append((0, WeatherDay(station, on, min(temps), max(temps), unit, "24:00")))
    left_out = []
    if partial:
        named = ", ".join(partial[:_NAMED]) + (" …" if len(partial) > _NAMED else "")
        hours = longest_without / timedelta(hours=1)
        words = f"{plain(station, 40)}: days with more than {hours:g} hours without a reading: {len(partial)} ({named})"
        left_out.append(Problem(where, words, "they count as not read"))
    return finish(placed, (), tuple(left_out), where, most_filled)


def temp_at(moments: Sequence[Moment], at: datetime, longest_without: timedelta = LONGEST_WITHOUT) -> float | None:
    """Temperature at an instant, on a straight line between the readings beside it.

    Args:
        moments: Readings of one station, in order of time.
        at: Instant, as of sunset; with an offset if the readings have one.
        longest_without: Readings further apart tell nothing of the time between.

    Returns:
        The temperature; None where there is no reading on either side, or they lie too far apart.
    """
    place = bisect_left(moments, at, key=lambda moment: moment.at)
    if place < len(moments) and moments[place].at == at:
        return moments[place].temp
    if place in {0, len(moments)}:
        return None
    before, after = moments[place - 1], moments[place]
    span = after.at - before.at
    if span > longest_without:
        return None
    return before.temp + (after.temp - before.temp) * ((at - before.at) / span)
