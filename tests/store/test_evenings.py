"""Sunset from a station's place, the temperature at that moment from its hours on record, and why it is not known."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from roundtui.domain.programme.farm import Station
from roundtui.domain.units import TempUnit
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author
from roundtui.store.record.read import programme
from roundtui.store.season.weather import sunset, sunsets_of
from roundtui.store.season.weather_load import import_weather
from tests.conftest import MakeFolder

SECOND_LIBRARY = (
    (51.4769, 0.0, "2024-03-20T18:13:49"),
    (51.4769, 0.0, "2024-06-21T20:20:57"),
    (51.4769, 0.0, "2024-12-21T15:53:15"),
    (40.1, -77.2, "2024-05-10T00:12:18"),
    (40.1, -77.2, "2024-06-22T00:41:34"),
    (40.1, -77.2, "2026-10-01T22:50:55"),
    (38.54, -121.74, "2024-03-21T02:19:33"),
    (38.54, -121.74, "2024-12-22T00:49:37"),
    (-42.88, 147.33, "2024-06-21T06:42:58"),
    (-42.88, 147.33, "2024-12-21T09:49:18"),
    (-43.53, 172.64, "2026-10-01T06:36:00"),
    (-0.18, -78.47, "2024-05-09T23:13:32"),
    (69.65, 18.96, "2024-05-09T20:58:24"),
)
"""Latitude, longitude and sunset in UTC by ephem 4.2.1: the sun's centre 50' below the horizon."""
ALMANAC = (
    ("Europe/London", 51.48, 0.0, "2020-06-20T21:21"),
    ("America/New_York", 40.71, -74.01, "2021-06-21T20:31"),
    ("America/New_York", 40.71, -74.01, "2021-12-21T16:32"),
)
"""Sunsets to the minute as tables print them, from memory: London and New York about the solstices."""
NEAR = timedelta(seconds=90)


@pytest.mark.parametrize(("lat", "lon", "said"), SECOND_LIBRARY)
def test_a_sunset_is_that_of_a_second_library(lat: float, lon: float, said: str) -> None:
    expected = datetime.fromisoformat(said).replace(tzinfo=UTC)
    on = (expected + timedelta(hours=lon / 15)).date()
    found = sunset(lat, lon, on, ZoneInfo(f"Etc/GMT{-round(lon / 15):+d}"))
    assert found is not None
    assert abs(found - expected) < NEAR


@pytest.mark.parametrize(("clock", "lat", "lon", "said"), ALMANAC)
def test_a_sunset_is_that_of_a_printed_table(clock: str, lat: float, lon: float, said: str) -> None:
    expected = datetime.fromisoformat(said).replace(tzinfo=ZoneInfo(clock))
    found = sunset(lat, lon, expected.date(), ZoneInfo(clock))
    assert found is not None
    assert abs(found - expected) < NEAR


def test_where_the_sun_does_not_set_there_is_no_evening() -> None:
    assert sunset(69.65, 18.96, date(2024, 6, 21), ZoneInfo("Europe/Oslo")) is None
    assert sunset(69.65, 18.96, date(2024, 12, 21), ZoneInfo("Europe/Oslo")) is None


# --- the temperature -------------------------------------------------------------------------------------------------

VALE = Station("V", "Vale", 40.1, -77.2, 160, "America/New_York")
MAY_9 = date(2026, 5, 9)
"""The sun sets at 20:12 in summer time, 00:12 UTC of the next day."""


@pytest.fixture
def conn(farm: Path, now: datetime) -> object:
    with closing(open_folder(farm, now=now).conn) as opened:
        yield opened


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    return make_folder(
        stations="station,name,lat,lon,elevation_m,timezone\nV,Vale,40.1,-77.2,160,America/New_York\nR,Ridge,,,,\n"
    )


def take_in(conn: sqlite3.Connection, farm: Path, now: datetime, text: str, name: str = "hours.csv") -> tuple[int, int]:
    (farm / name).write_text("station,time,temp,unit\n" + text)
    author = Author("Ada", "truck")
    report = import_weather(conn, farm, farm / name, programme(conn), station="V", author=author, now=now)
    return report.added, report.hours


def temp(conn: sqlite3.Connection, on: date = MAY_9, unit: TempUnit = TempUnit.F) -> float | None:
    return sunsets_of(conn, VALE).temp(on, unit)


UTC_HOURS = "V,2026-05-09T23:00Z,64,F\nV,2026-05-10T00:00Z,62,F\nV,2026-05-10T01:00Z,52,F\n"


def test_hours_are_kept_and_give_the_temperature_at_sunset(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    # No day is whole, so no extremes are kept; the evening is known all the same: twelve minutes past 62, on to 52.
    assert take_in(conn, farm, now, UTC_HOURS) == (0, 2)
    assert temp(conn) == pytest.approx(60, abs=0.1)
    assert temp(conn, unit=TempUnit.C) == pytest.approx(15.55, abs=0.06)
    assert temp(conn, MAY_9 - timedelta(days=1)) is None
    assert take_in(conn, farm, now, UTC_HOURS) == (0, 0)


def test_hourly_times_without_an_offset_run_by_the_stations_standard_time(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    # A logger keeps no summer time: 20:12 by the wall is 19:12 by it.
    take_in(conn, farm, now, "V,2026-05-09T19:00,16,C\nV,2026-05-09T20:00,11,C\n")
    assert temp(conn, unit=TempUnit.C) == pytest.approx(15, abs=0.1)


def test_hours_corrected_stand_and_the_earlier_ones_stay_on_record(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    take_in(conn, farm, now, UTC_HOURS)
    assert take_in(conn, farm, now, UTC_HOURS.replace(",62,", ",72,")) == (0, 1)
    assert temp(conn) == pytest.approx(68, abs=0.2)
    assert conn.execute("SELECT count(*) FROM weather_hours WHERE day = '2026-05-10'").fetchone() == (2,)
    with pytest.raises(sqlite3.IntegrityError, match="never changed or erased"):
        conn.execute("DELETE FROM weather_hours")
    # Another file of the same hours by the other clock: the one that came last is gone by, and never a mixture.
    take_in(conn, farm, now, "V,2026-05-09T19:00,50,F\nV,2026-05-09T20:00,50,F\n", "logger.csv")
    assert temp(conn) == 50


def test_hours_too_far_apart_tell_nothing_of_the_evening(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    take_in(conn, farm, now, "V,2026-05-09T22:00Z,64,F\nV,2026-05-10T02:00Z,52,F\n")
    assert temp(conn) is None


def test_what_is_missing_is_said(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    assert sunsets_of(conn, None).why_not == "the block has no station"
    assert sunsets_of(conn, VALE).why_not == "no hourly temperatures of the station V are on record"
    take_in(conn, farm, now, UTC_HOURS)
    assert sunsets_of(conn, VALE).why_not == ""
    for part in ({"lat": None}, {"lon": None}, {"timezone": ""}):
        without = sunsets_of(conn, replace(VALE, **part))  # type: ignore[arg-type]
        assert without.why_not == "the station V has no lat, lon and timezone in stations.csv"
        assert without.temp(MAY_9, TempUnit.F) is None
    elsewhere = sunsets_of(conn, replace(VALE, timezone="Mars/Olympus")).why_not
    assert elsewhere == "the time zone Mars/Olympus of the station V is unknown here"
