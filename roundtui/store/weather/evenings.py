"""Temperatures at sunset: the hour from the station's place, the temperature from its readings through the day."""

from __future__ import annotations

import sqlite3
from datetime import date, datetime, tzinfo
from functools import cache

from roundtui.domain.farm import Station
from roundtui.domain.plain import plain
from roundtui.domain.units import TempUnit
from roundtui.domain.weather.evenings import Sunsets
from roundtui.domain.weather.hourly import temp_at
from roundtui.store.weather.hours import has_hours, moments_near

_SHOWN = 40


def sunset(lat: float, lon: float, on: date, clock: tzinfo) -> datetime | None:
    """When the sun sets: its upper edge on a level horizon, with the usual refraction.

    Args:
        lat: Latitude, north positive. [degrees]
        lon: Longitude, east positive. [degrees]
        on: Day by the clock.
        clock: Clock of the place.

    Returns:
        The instant, on that clock; None where the sun does not set on that day.
    """
    from astral import Observer
    from astral.sun import sunset as computed

    try:
        return computed(Observer(lat, lon), on, clock)
    except ValueError:
        return None


def sunsets_of(conn: sqlite3.Connection, station: Station | None) -> Sunsets:
    """What is known of a station's evenings.

    Args:
        conn: The store.
        station: The station; None: the block has none.

    Returns:
        Temperatures at sunset; none, and why, where the station's place, its clock or its readings are not known.
    """
    if station is None:
        return _unknown("the block has no station")
    name = plain(station.station, _SHOWN)
    if station.lat is None or station.lon is None or not station.timezone:
        return _unknown(f"the station {name} has no lat, lon and timezone in stations.csv")
    clock = _clock(station.timezone)
    if clock is None:
        return _unknown(f"the time zone {plain(station.timezone, _SHOWN)} of the station {name} is unknown here")
    if not has_hours(conn, station.station):
        return _unknown(f"no hourly temperatures of the station {name} are on record")
    lat, lon = station.lat, station.lon

    @cache
    def temp(on: date, unit: TempUnit) -> float | None:
        at = sunset(lat, lon, on, clock)
        return None if at is None else temp_at(moments_near(conn, station.station, on, clock, unit), at)

    return Sunsets(temp)


def _unknown(why: str) -> Sunsets:
    return Sunsets(lambda _on, _unit: None, why)


def _clock(name: str) -> tzinfo | None:
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None
