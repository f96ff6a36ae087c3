"""Three files of real temperatures that a package registry carries, brought in as they are.

Daily extremes of Seattle 2012-2015 [°C] and hourly temperatures of Seattle and San Francisco 2010 [°F]: public-domain
data of NOAA as vega_datasets 0.9.0 carries them (seattle-weather.csv, seattle-temps.csv, sf-temps.csv).
"""

from __future__ import annotations

import csv
import math
import shutil
from collections import defaultdict
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from roundtui.domain.season.degree_days import Cutoff, Method, series
from roundtui.domain.units import TempUnit
from roundtui.store.begin import Beginning, begin
from roundtui.store.bring.answers import read_answers
from roundtui.store.bring.bring import preview, write
from roundtui.store.bring.table import Kind
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author
from roundtui.store.season.weather import station_days
from tests.real_weather import DATA

NOW = datetime(2026, 6, 1, 16, 30, tzinfo=UTC)
LOWER, UPPER = 50.0, 88.0


def bring(folder: Path, name: str, mapping: str) -> tuple[list[tuple[date, float, float, TempUnit]], list[str]]:
    """Days of the station after a file was brought in."""
    begin(folder, Beginning(unit=TempUnit.F, timezone="America/Los_Angeles"), NOW)
    (folder / "stations.csv").write_text("station,name\nREAL,a real station\n")
    given = folder.parent / "map.toml"
    given.write_text(mapping)
    shutil.copy(DATA / name, folder.parent / name)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        path = folder.parent / name
        answers = read_answers(folder, Kind.WEATHER, path, given)
        found = preview(conn, answers, scout="Ada", now=NOW)
        assert not found.questions
        assert found.problems == ()
        write(conn, found, author=Author("Ada", "desk"), now=NOW)
        days = station_days(conn, "REAL", date(2000, 1, 1), date(2020, 12, 31))
        return [(day.on, day.tmin, day.tmax, day.unit) for day in days], found.words


def by_steps(low: float, high: float, lower: float, upper: float, steps: int = 4000) -> float:
    """Degree-days under a sine through a day's extremes, summed step by step; horizontal above the upper threshold."""
    middle, swing = (low + high) / 2, (high - low) / 2
    temps = (middle + swing * math.sin(2 * math.pi * (at + 0.5) / steps) for at in range(steps))
    return sum(min(max(temp, lower), upper) - lower for temp in temps) / steps


def test_daily_extremes_of_four_years_and_their_degree_days(tmp_path: Path) -> None:
    name = "daily_seattle_2012_2015.csv"
    days, words = bring(tmp_path / "p", name, 'unit = "C"\n')
    with (DATA / name).open(newline="") as file:
        said = [
            (date.fromisoformat(row["date"].replace("/", "-")), float(row["temp_min"]), float(row["temp_max"]))
            for row in csv.DictReader(file)
        ]
    assert len(said) == 1461
    assert [(on, low, high) for on, low, high, _ in days] == said
    assert {unit for *_, unit in days} == {TempUnit.C}
    assert "columns not taken: precipitation, wind, weather" in words
    lows, highs = ([value * 9 / 5 + 32 for value in column] for column in ([d[1] for d in days], [d[2] for d in days]))
    made = series(lows, highs, LOWER, UPPER, method=Method.SINGLE_SINE, cutoff=Cutoff.HORIZONTAL)
    for at in range(0, len(made), 5):
        assert made[at] == pytest.approx(by_steps(lows[at], highs[at], LOWER, UPPER), abs=2e-3), days[at][0]


@pytest.mark.parametrize(
    ("name", "day_at", "temp_at"), [("hourly_seattle_2010.csv", 0, 1), ("hourly_san_francisco_2010.csv", 1, 0)]
)
def test_hours_of_a_year_give_the_extremes_of_each_day(tmp_path: Path, name: str, day_at: int, temp_at: int) -> None:
    days, words = bring(tmp_path / "p", name, "")
    hours: dict[date, list[float]] = defaultdict(list)
    with (DATA / name).open(newline="") as file:
        for row in list(csv.reader(file))[1:]:
            hours[date.fromisoformat(row[day_at][:10].replace("/", "-"))].append(float(row[temp_at]))
    whole = {on: (min(temps), max(temps)) for on, temps in hours.items() if len(temps) == 24}
    assert len(whole) > 360
    assert {on: (low, high) for on, low, high, _ in days if on in whole} == whole
    assert "no unit is stated: taken as °F" in words
