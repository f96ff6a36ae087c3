"""Forecast days: apart from readings, replaced by them, and named in every date that they went into."""

from __future__ import annotations

import json
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from click.testing import CliRunner

from roundtui.cli import main
from roundtui.domain.season.degree_days import Cutoff, Development, Method
from roundtui.domain.season.models import LifeEvent, SpeciesModel
from roundtui.domain.season.outlook import outlook
from roundtui.domain.season.weather import StationYears, WeatherDay
from roundtui.domain.units import TempUnit
from roundtui.store.folder import open_folder
from roundtui.store.season.weather import FORECAST, read_forecast

FLAT = Development(50, None, TempUnit.F, Method.SINGLE_SINE, Cutoff.NONE)
MODEL = SpeciesModel(
    id="flat",
    species="CM",
    development=FLAT,
    starts="01-01",
    events=(LifeEvent("egg hatch", 100.0, "invented"),),
    source="invented",
    date=None,
)
ON = date(2026, 1, 5)


def days(first: date, number: int, temp: float) -> list[WeatherDay]:
    """Days that are one temperature throughout: so many degrees above 50 are so many degree-days."""
    return [WeatherDay("V", first + timedelta(days=at), temp, temp, TempUnit.F) for at in range(number)]


def years(*parts: list[WeatherDay]) -> StationYears:
    return StationYears([day for part in parts for day in part], FLAT, 0)


def test_a_forecast_that_reaches_the_event_dates_it() -> None:
    """Ten degree-days a day to 5 January are 50; 20 a day from the 6th on reach 100 on the 8th."""
    read = years(days(date(2026, 1, 1), 5, 60))
    event = outlook(MODEL, read, on=ON, forecast=years(days(date(2026, 1, 6), 7, 70))).events[0]
    assert (event.expected_on, event.by_forecast, event.accumulated) == (date(2026, 1, 8), True, 50)


def test_what_the_forecast_leaves_is_looked_up_in_past_years() -> None:
    """Two forecast days bring 40 of the 50 that are left; past years at 10 a day need one more, the 8th."""
    past = [days(date(year, 1, 1), 31, 60) for year in (2024, 2025)]
    read = years(*past, days(date(2026, 1, 1), 5, 60))
    event = outlook(MODEL, read, on=ON, forecast=years(days(date(2026, 1, 6), 2, 70))).events[0]
    assert (event.expected_on, event.by_forecast, event.years) == (date(2026, 1, 8), True, 2)
    without = outlook(MODEL, read, on=ON).events[0]
    assert (without.expected_on, without.by_forecast) == (date(2026, 1, 10), False)


def test_a_forecast_that_does_not_follow_on_the_readings_is_not_used() -> None:
    read = years(days(date(2026, 1, 1), 5, 60))
    event = outlook(MODEL, read, on=ON, forecast=years(days(date(2026, 1, 8), 7, 70))).events[0]
    assert (event.expected_on, event.by_forecast) == (None, False)


def test_a_table_with_days_to_come_keeps_them_in_a_file_of_their_own(tmp_path: Path) -> None:
    folder = tmp_path / "p"

    def run(*words: str) -> str:
        done = CliRunner().invoke(main, [*words])
        assert done.exit_code == 0, done.output
        return done.stderr

    run("new", str(folder), "--unit", "C", "--farm", "HF=Hollow Farm")
    (folder / "stations.csv").write_text("station,name\nVALE,Vale (invented)\nRIDG,Ridge (invented)\n")
    run("load", str(folder))
    today = datetime.now(UTC).astimezone().date()
    rows = "".join(f"{today + timedelta(days=at)},{4 + at},{20 + at}\n" for at in range(-2, 5))
    (tmp_path / "vale.csv").write_text(f"date,tmin,tmax\n{rows}")
    (tmp_path / "map.toml").write_text('station = "VALE"\n')
    said = run(
        "bring",
        str(folder),
        str(tmp_path / "vale.csv"),
        "--as",
        "weather",
        "--map",
        str(tmp_path / "map.toml"),
        "--yes",
    )
    assert "3 days added, 4 days of a forecast in forecast.csv" in said
    ahead = read_forecast(folder, TempUnit.C)
    assert [day.on for day in ahead] == [today + timedelta(days=at) for at in range(1, 5)]
    with closing(open_folder(folder, now=datetime.now(UTC)).conn) as conn:
        assert conn.execute("SELECT max(day) FROM present_weather").fetchone()[0] == today.isoformat()
    (tmp_path / "vale.csv").write_text(f"date,tmin,tmax\n{today + timedelta(days=1)},1,9\n")
    run("bring", str(folder), str(tmp_path / "vale.csv"), "--as", "weather", "--yes")
    assert [(day.tmin, day.tmax) for day in read_forecast(folder, TempUnit.C)] == [(1, 9)]
    (folder / FORECAST).write_bytes(b"\xff\xfe not a table")
    assert read_forecast(folder, TempUnit.C) == ()
    assert json.loads(CliRunner().invoke(main, ["outlook", str(folder), "--json"]).stdout) == []
