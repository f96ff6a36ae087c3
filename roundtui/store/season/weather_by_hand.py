"""A day's temperatures entered by hand, off a thermometer that keeps its lowest and highest."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import date, datetime

from roundtui.domain.programme.farm import Programme
from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.season.weather_rows import (
    StationDays,
    against_past,
    hour_of,
    impossible,
    number_of,
    remarks,
)
from roundtui.domain.season_entries import TempsRead
from roundtui.domain.text import plain
from roundtui.domain.toml_table import shown
from roundtui.domain.units import TempUnit
from roundtui.errors import DoubtfulError, Problem, ProblemsError
from roundtui.store.connect import transaction
from roundtui.store.failures import plainly
from roundtui.store.journal import Author, record
from roundtui.store.rows import TEMPERATURES
from roundtui.store.season.weather import station_days

_SHOWN = 40


def check_temps(programme: Programme, entry: TempsRead, today: date) -> tuple[Problem, ...]:
    """What makes an entry impossible.

    Args:
        programme: What is set up.
        entry: The entry, temperatures as typed.
        today: The day; nothing later can have been read.
    """
    where = f"{plain(entry.station, _SHOWN)}, {entry.day}"
    problems = []
    if entry.station not in programme.stations:
        problems.append(Problem(where, f"there is no station {plain(entry.station, _SHOWN)}", "add it to stations.csv"))
    if entry.day > today:
        problems.append(Problem(where, f"{entry.day} is in the future", f"no day after {today} can have been read"))
    if hour_of(entry.observed_at) is None:
        problems.append(Problem(where, f"{shown(entry.observed_at)} is no hour", "write it as 07:00"))
    for name, text in (("minimum", entry.tmin), ("maximum", entry.tmax)):
        if number_of(text) is None:
            problems.append(Problem(where, f"the {name} {shown(text)} is no temperature", "write it as 12.5"))
    if not problems:
        problems += impossible(StationDays.of([_day(entry)]), where)
    return tuple(problems)


def enter_temps(
    conn: sqlite3.Connection,
    programme: Programme,
    entry: TempsRead,
    *,
    author: Author,
    now: datetime,
    today: date,
    sure: bool = False,
) -> tuple[TempsRead, tuple[Problem, ...]]:
    """Put a day's temperatures on record; an entry made for the day before is corrected by it.

    Args:
        conn: The store.
        programme: What is set up.
        entry: The entry, temperatures as typed; a comma stands for a point.
        author: Who and on which laptop.
        now: Instant of recording.
        today: The day; nothing later can have been read.
        sure: Whether a person said that temperatures far from the station's past are right.

    Returns:
        The entry as recorded, and what is odd about the day all the same.

    Raises:
        ProblemsError: It is impossible; nothing was recorded.
        DoubtfulError: It lies far from the station's past of that fortnight; nothing was recorded.
        RefusedError: It says just what stands already, or the entry of a person without a name.
        StoreError: The store cannot be written.
    """
    typed = replace(entry, tmin=_typed(entry.tmin), tmax=_typed(entry.tmax))
    problems = check_temps(programme, typed, today)
    if problems:
        raise ProblemsError("the temperatures were not recorded", problems)
    ready = replace(
        typed, tmin=_decimal(typed.tmin), tmax=_decimal(typed.tmax), observed_at=hour_of(typed.observed_at) or ""
    )
    with transaction(conn):
        before = [day for day in station_days(conn, ready.station) if day.on != ready.day]
        _, far = against_past(StationDays.of([_day(ready)]), StationDays.of(before))
        if far and not sure:
            raise DoubtfulError(
                "the temperatures were not recorded", tuple(far), "enter them again, or say they are right"
            )
        standing = standing_temps(conn, ready.station, ready.day)
        if standing is not None:
            ready = replace(ready, replaces=standing.id)
        (recorded,) = record(conn, [ready], author, now)
        days = station_days(conn, ready.station)
    return recorded, tuple(odd for odd in remarks(StationDays.of(days)) if odd.where.endswith(f", {ready.day}"))


def standing_temps(conn: sqlite3.Connection, station: str, day: date) -> TempsRead | None:
    """The entry by hand that stands for a day.

    Args:
        conn: The store.
        station: Code of the station.
        day: The day.
    """
    with plainly(conn):
        row = conn.execute(
            f"SELECT {TEMPERATURES.listed} FROM present_temperatures WHERE station = ? AND day = ?"  # noqa: S608
            " ORDER BY recorded_at DESC, id DESC LIMIT 1",
            (station, day.isoformat()),
        ).fetchone()
    return TEMPERATURES.entry(row) if row else None


def unit_used_last(conn: sqlite3.Connection, station: str) -> TempUnit | None:
    """Unit of a station's newest day, to be offered for the next; None where it has none.

    Args:
        conn: The store.
        station: Code of the station.
    """
    with plainly(conn):
        row = conn.execute(
            "SELECT unit FROM present_weather WHERE station = ? ORDER BY day DESC LIMIT 1", (station,)
        ).fetchone()
    return TempUnit(row[0]) if row else None


def _typed(text: str) -> str:
    return text.strip().replace(",", ".").replace("−", "-")


def _decimal(text: str) -> str:
    """A number as kept: no plus, no leading or trailing zeros that say nothing."""
    from decimal import Decimal

    return format(Decimal(text).normalize() + 0, "f")


def _day(entry: TempsRead) -> WeatherDay:
    return WeatherDay(entry.station, entry.day, float(entry.tmin), float(entry.tmax), entry.unit, entry.observed_at)
