"""A long weather.csv: only stations whose lines changed are understood again, and nothing comes out otherwise."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roundtui.domain.season.weather_files import WeatherParser, parse_weather
from roundtui.domain.units import TempUnit
from roundtui.errors import ProblemsError
from roundtui.store.db import DB_NAME
from roundtui.store.failures import Store
from roundtui.store.folder import open_folder
from roundtui.store.season.weather import station_days
from roundtui.store.set_up.load import load_folder
from roundtui.store.set_up.load_checks import FileReport
from tests.conftest import MakeFolder

STATIONS = "station,name\nV,Vale\nR,Ridge\nS,South\n"
HEADER = "station,date,tmin,tmax,unit\n"
FIRST = date(2026, 1, 1)


def rows(station: str, count: int = 60, low: int = 40) -> str:
    return "".join(f"{station},{FIRST + timedelta(days=at)},{low},{low + 20},F\n" for at in range(count))


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    return make_folder(stations=STATIONS, weather=HEADER + rows("R") + rows("V"))


@pytest.fixture
def conn(farm: Path, now: datetime) -> object:
    with closing(open_folder(farm, now=now).conn) as opened:
        yield opened


def loaded(conn: sqlite3.Connection, farm: Path, now: datetime, text: str) -> FileReport:
    (farm / "weather.csv").write_text(text)
    return load_folder(conn, farm, now).files["weather.csv"]


def counts(report: FileReport) -> tuple[int, int, int]:
    return report.added, report.changed, report.same


@pytest.fixture
def understood(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Lines that were understood, not only summed up."""
    found: list[str] = []
    feed = WeatherParser.feed

    def notified(self: WeatherParser, lines: Iterable[str]) -> None:
        some = list(lines)
        found.extend(some)
        feed(self, some)

    monkeypatch.setattr(WeatherParser, "feed", notified)
    return found


def test_one_changed_row_has_its_own_station_understood_again(
    conn: sqlite3.Connection, farm: Path, now: datetime, understood: list[str]
) -> None:
    text = (HEADER + rows("R") + rows("V")).replace("V,2026-02-03,40", "V,2026-02-03,39")
    assert counts(loaded(conn, farm, now, text)) == (0, 1, 119)
    assert {line[0] for line in understood} == {"V"}
    assert [day.tmin for day in station_days(conn, "V", date(2026, 2, 3), date(2026, 2, 3))] == [39]
    assert conn.execute("SELECT count(*) FROM weather_days").fetchone() == (121,)


def test_a_fault_in_a_station_that_changed_is_told_with_its_line_in_the_file(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    with pytest.raises(ProblemsError) as caught:
        loaded(conn, farm, now, HEADER + rows("R") + "V,2026-03-02,70,50,F\nV,2026-03-03,x,50,F\n" + rows("V"))
    assert [problem.where for problem in caught.value.problems] == [f"weather.csv, line {n}" for n in (63, 62)]
    assert len(station_days(conn, "V")) == 60
    # It was not taken for read: corrected, it is loaded.
    assert counts(loaded(conn, farm, now, HEADER + rows("R") + rows("V", 61))) == (1, 0, 120)


def test_one_day_in_two_places_of_the_file_is_seen(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    with pytest.raises(ProblemsError, match="was not loaded") as caught:
        loaded(conn, farm, now, HEADER + rows("R") + rows("V") + " R ,2026-01-05,41,60,F\n")
    assert "R, 2026-01-05 is given twice, with different values" in str(caught.value.problems[0])
    assert "the one in weather.csv, line 6" in str(caught.value.problems[0])


def test_another_header_or_unit_has_everything_understood_again(
    conn: sqlite3.Connection, farm: Path, now: datetime, understood: list[str]
) -> None:
    swapped = HEADER.replace("tmin,tmax", "tmax,tmin")
    with pytest.raises(ProblemsError):
        loaded(conn, farm, now, swapped + rows("R") + rows("V"))
    assert len(understood) == 120
    (farm / "models.toml").write_text("[weather]\nfill_days = 5\n")
    assert counts(loaded(conn, farm, now, HEADER + rows("R") + rows("V") + "\n")) == (0, 0, 120)
    assert len(understood) > 200


def test_a_faulty_file_leaves_no_new_store_and_a_good_one_is_loaded(make_folder: MakeFolder, now: datetime) -> None:
    farm = make_folder("new", stations=STATIONS, weather=HEADER + rows("R") + "V,2026-01-01,70,50,F\n")
    with pytest.raises(ProblemsError):
        open_folder(farm, now=now)
    assert not (farm / DB_NAME).exists()
    (farm / "weather.csv").write_text(HEADER + rows("R") + rows("V", 5))
    with closing(open_folder(farm, now=now).conn) as conn:
        assert (len(station_days(conn, "R")), len(station_days(conn, "V"))) == (60, 5)


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_end_as_they_like(make_folder: MakeFolder, now: datetime, end: str) -> None:
    farm = make_folder("ends", stations=STATIONS, weather="\ufeff" + (HEADER + rows("R")).replace("\n", end))
    with closing(open_folder(farm, now=now).conn) as conn:
        assert len(station_days(conn, "R")) == 60


# --- against the whole file, read at once ----------------------------------------------------------------------------

Row = tuple[str, int, int]
states = st.lists(
    st.lists(
        st.tuples(st.sampled_from("VRS"), st.integers(0, 9), st.integers(40, 43)),
        max_size=25,
        unique_by=lambda row: row[:2],
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(states, st.tuples(st.booleans(), st.booleans()))
def test_whatever_changes_the_record_says_what_the_file_says(
    conn: sqlite3.Connection, farm: Path, now: datetime, files: list[list[Row]], form: tuple[bool, bool]
) -> None:
    """The file in any order of rows, with quotes or without, loaded again and again; the judge reads it whole."""
    quoted, station_last = form
    expected: dict[tuple[str, date], float] = {}
    with closing(sqlite3.connect(":memory:", isolation_level=None, factory=Store)) as fresh:
        conn.backup(fresh)
        fresh.execute("DROP TRIGGER weather_days_no_delete")
        fresh.execute("DELETE FROM weather_days")
        fresh.execute("DELETE FROM loaded WHERE file = 'weather.csv'")
        for at, rows_ in enumerate(files):
            text = "date,tmin,tmax,unit,station\n" if station_last else HEADER
            for station, day, low in rows_:
                on, name = FIRST + timedelta(days=day), f'"{station}"' if quoted else station
                text += f"{on},{low},{low + 20},F,{name}\n" if station_last else f"{name},{on},{low},{low + 20},F\n"
            report = loaded(fresh, farm, now + timedelta(minutes=at), text)
            read = parse_weather(text.splitlines(keepends=True), unit=TempUnit.F).days
            before = dict(expected)
            expected |= {(one.station, one.on): one.tmin for one in read}
            same = sum(before.get((one.station, one.on)) == one.tmin for one in read)
            if counts(report) != (0, 0, 0):  # The very same file again is not even looked into.
                assert report.same == same
                assert report.added == len(expected) - len(before)
            shown = {(one.station, one.on): one.tmin for code in "VRS" for one in station_days(fresh, code)}
            assert shown == expected
