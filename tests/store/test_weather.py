"""Daily temperatures on record: what files and people say of a day, the last word of both, and nothing lost."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import TempsRead
from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.season.weather_rows import StationDays
from roundtui.domain.units import TempUnit
from roundtui.errors import DoubtfulError, ProblemsError, RoundtuiError
from roundtui.store.db import transaction
from roundtui.store.failures import Store
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import journal_rows, programme
from roundtui.store.season.weather import BY_HAND, Adding, station_days
from roundtui.store.season.weather_load import (
    enter_temps,
    import_weather,
    standing_temps,
    unit_used_last,
)
from roundtui.store.set_up.load import load_folder
from roundtui.store.set_up.load_checks import LoadReport
from tests.conftest import MakeFolder

ADA = Author("Ada", "truck")
MAY_1 = date(2026, 5, 1)
STATIONS = "station,name,timezone\nV,Vale,America/New_York\nR,Ridge,\n"
HEADER = "station,date,tmin,tmax,unit,observed_at\n"
ROWS = "V,2026-05-01,41.5,66,F,17:00\nV,2026-05-02,44,70,F,17:00\nV,2026-05-03,40,61,F,17:00\n"


def versions(conn: sqlite3.Connection) -> list[tuple[float, str, str, datetime]]:
    """Highs of 1 May as files and people said them, oldest first, each with its file, who and when."""
    rows = conn.execute(
        "SELECT d.tmax, i.source, i.scout, i.recorded_at AS at, i.id AS id FROM weather_days AS d"
        " JOIN weather_imports AS i ON i.import = d.import WHERE d.station = 'V' AND d.day = ?1 UNION ALL"
        " SELECT CAST(tmax AS REAL), ?2, scout, recorded_at, id FROM temperatures WHERE station = 'V' AND day = ?1"
        " ORDER BY at, id",
        (MAY_1.isoformat(), BY_HAND),
    )
    return [(tmax, source, scout, datetime.fromisoformat(at)) for tmax, source, scout, at, _ in rows]


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    return make_folder(stations=STATIONS, weather=HEADER + ROWS)


@pytest.fixture
def conn(farm: Path, now: datetime) -> sqlite3.Connection:
    return open_folder(farm, now=now).conn


@pytest.fixture(autouse=True)
def _closed(conn: sqlite3.Connection) -> object:
    with closing(conn):
        yield


def rewritten(conn: sqlite3.Connection, farm: Path, now: datetime, rows: str) -> LoadReport:
    (farm / "weather.csv").write_text(HEADER + rows)
    return load_folder(conn, farm, now)


def highs(conn: sqlite3.Connection, station: str = "V") -> list[float]:
    return [day.tmax for day in station_days(conn, station)]


def by_hand(tmin: str, tmax: str, day: date = MAY_1, unit: TempUnit = TempUnit.F) -> TempsRead:
    return TempsRead(station="V", day=day, tmin=tmin, tmax=tmax, unit=unit)


def enter(conn: sqlite3.Connection, entry: TempsRead, now: datetime) -> TempsRead:
    recorded, _ = enter_temps(conn, programme(conn), entry, author=ADA, now=now, today=now.date())
    return recorded


def test_a_file_loaded_twice_adds_nothing(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    assert highs(conn) == [66, 70, 61]
    before = conn.execute("SELECT count(*) FROM weather_days").fetchone()
    assert not load_folder(conn, farm, now).changed
    again = rewritten(conn, farm, now, ROWS + "V,2026-05-04,50,77,F,17:00\n").files["weather.csv"]
    assert (again.added, again.changed, again.same) == (1, 0, 3)
    assert conn.execute("SELECT count(*) FROM weather_days").fetchone() == (before[0] + 1,)


def test_a_later_correction_of_a_day_keeps_the_earlier_value_on_record(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    later = now + timedelta(days=1)
    report = rewritten(conn, farm, later, ROWS.replace("41.5,66", "41.5,69"))
    assert (report.files["weather.csv"].added, report.files["weather.csv"].changed) == (0, 1)
    assert highs(conn) == [69, 70, 61]
    assert [(tmax, source, at) for tmax, source, _, at in versions(conn)] == [
        (66, "weather.csv", now),
        (69, "weather.csv", later),
    ]


def _past(year: int, unit: str = "F") -> str:
    """Two months of an even spring: 40 to 60 °F, or the same in °C."""
    days = (date(year, 5, 1) + timedelta(days=at) for at in range(61))
    ends = "40,60" if unit == "F" else "4.5,15.5"
    return "".join(f"V,{day},{ends},F,\n" for day in days)


def test_61_days_of_celsius_read_as_fahrenheit_are_asked_about_once(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    rewritten(conn, farm, now, _past(2024) + _past(2025))
    known, later = len(highs(conn)), now.replace(month=8)
    text = HEADER + _past(2024) + _past(2025) + _past(2026, "C")
    (farm / "weather.csv").write_text(text)
    with pytest.raises(DoubtfulError) as notified:
        load_folder(conn, farm, later)
    (problem,) = notified.value.problems
    words = "V: 61 days from 2026-05-01 to 2026-06-30 do not fit this station's past in °F; as °C they fit"
    assert words == problem.message
    assert len(highs(conn)) == known
    load_folder(conn, farm, later, sure=True)
    assert highs(conn)[-1] == 15.5
    assert not load_folder(conn, farm, later).changed  # It is asked once.


def test_a_file_of_one_season_is_held_against_the_days_on_record(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    rewritten(conn, farm, now, _past(2025))
    path = farm / "logger.csv"
    path.write_text(HEADER + _past(2026, "C"))

    def brought(*, sure: bool) -> int:
        known, later = programme(conn), now.replace(month=8)
        return import_weather(conn, farm, path, known, station="V", author=ADA, now=later, sure=sure).added

    with pytest.raises(DoubtfulError, match=r"logger\.csv was not taken in"):
        brought(sure=False)
    assert brought(sure=True) == 58  # Three of its days stood from before.


def test_one_day_far_from_the_stations_past_goes_in_and_is_remarked(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    text = _past(2024) + _past(2025) + ROWS.replace("44,70", "44,99")
    remarks = [str(remark) for remark in rewritten(conn, farm, now, text).remarks]
    assert any("the maximum 99 °F is far from 60, this station's usual for the time" in remark for remark in remarks)
    assert 99 in highs(conn)


def test_a_thermometer_entry_that_fits_only_in_the_other_unit_is_asked_about(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    rewritten(conn, farm, now, _past(2024) + _past(2025))
    with pytest.raises(DoubtfulError) as notified:
        enter(conn, by_hand("5", "16"), now)
    assert "as °C it fits" in notified.value.problems[0].message
    recorded, _ = enter_temps(
        conn, programme(conn), by_hand("5", "16"), author=ADA, now=now, today=now.date(), sure=True
    )
    assert recorded.tmax == "16"


def test_versions_are_never_changed_or_erased(conn: sqlite3.Connection) -> None:
    for statement in ("UPDATE weather_days SET tmax = 99", "DELETE FROM weather_days", "DELETE FROM weather_imports"):
        with pytest.raises(sqlite3.IntegrityError, match="never changed or erased"):
            conn.execute(statement)


def test_a_day_without_a_temperature_is_remarked_and_not_kept(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    report = rewritten(conn, farm, now, ROWS + "V,2026-05-04,50,,F,\nV,2026-05-05,,,,\n")
    assert len(highs(conn)) == 3
    assert "tmax is blank (the day counts as not read)" in " ".join(map(str, report.remarks))


def test_a_file_that_states_no_unit_is_in_the_offices(make_folder: MakeFolder, now: datetime) -> None:
    sanitize = "station,date,tmin,tmax\nV,2026-05-01,5,19\n"
    farm = make_folder("other", stations=STATIONS, weather=sanitize)
    opened = open_folder(farm, now=now)
    with closing(opened.conn) as conn:
        assert station_days(conn, "V")[0].unit is TempUnit.F
        assert opened.report is not None
        assert "no column unit: taken as °F" in str(opened.report.remarks[0])
        (farm / "models.toml").write_text('[weather]\nunit = "C"\n')
        report = load_folder(conn, farm, now + timedelta(hours=1))
        assert station_days(conn, "V")[0].unit is TempUnit.C
        assert (report.files["weather.csv"].changed, report.remarks) == (1, [])


def test_a_faulty_models_file_is_told_where_temperatures_need_it(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    (farm / "models.toml").write_text('[weather]\nunit = "K"\n')
    load_folder(conn, farm, now)  # Temperatures that are on record as they stand need no model.
    with pytest.raises(ProblemsError) as caught:
        rewritten(conn, farm, now, ROWS + "V,2026-05-04,50,70,F,\n")
    assert "models.toml, weather" in str(caught.value.problems[0])


@pytest.mark.parametrize(
    ("rows", "fault"),
    [
        ("V,2026-05-01,5,70,C,\n", "70 °C was never measured anywhere"),
        ("V,2026-05-01,66,41,F,\nV,2026-05-02,70,44,F,\n", "the columns tmin and tmax look swapped"),
        ("V,2026-05-01,41,66,F,\nV,2026-05-01,42,66,F,\n", "is given twice, with different values"),
        ("V,2026-05-21,41,66,F,\n", "2026-05-21 is in the future"),
        ("V,2026-02-29,41,66,F,\n", "2026 has no 29 February"),
        ("V,2026-05-01,41,66,,\n", "unit: is not stated"),
        ("X,2026-05-01,41,66,F,\n", 'station: "X" is unknown'),
    ],
)
def test_what_cannot_be_is_named_with_its_line_and_nothing_is_changed(
    conn: sqlite3.Connection, farm: Path, now: datetime, rows: str, fault: str
) -> None:
    with pytest.raises(ProblemsError) as caught:
        rewritten(conn, farm, now, rows)
    said = " ".join(map(str, caught.value.problems))
    assert "weather.csv, line" in said
    assert fault in said
    assert highs(conn) == [66, 70, 61]


def test_rows_out_of_order_and_a_changed_hour_are_remarked(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    report = rewritten(conn, farm, now, "V,2026-05-05,50,70,F,07:00\n" + ROWS)
    said = " ".join(map(str, report.remarks))
    assert "the rows are not in order" in said
    assert "read at 17:00 until 2026-05-03, at 07:00 from 2026-05-05" in said


# --- by hand ----------------------------------------------------------------------------------------------------------


def test_a_thermometer_read_by_hand_stands_until_somebody_says_otherwise(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    later = now + timedelta(minutes=5)
    first = enter(conn, by_hand("40", " 68,50 "), later)
    assert (first.tmin, first.tmax) == ("40", "68.5")
    assert station_days(conn, "V", MAY_1, MAY_1) == (WeatherDay("V", MAY_1, 40, 68.5, TempUnit.F),)
    second = enter(conn, by_hand("40", "67"), later + timedelta(minutes=1))
    assert second.replaces == first.id
    assert standing_temps(conn, "V", MAY_1) == second
    # The file says of the day just what it said before: the hand keeps the last word, whatever else is new in it.
    rewritten(conn, farm, later + timedelta(hours=1), ROWS + "V,2026-05-04,50,77,F,17:00\n")
    assert highs(conn) == [67, 70, 61, 77]
    assert [one[:3] for one in versions(conn)] == [
        (66, "weather.csv", ""),
        (68.5, BY_HAND, "Ada"),
        (67, BY_HAND, "Ada"),
    ]
    assert unit_used_last(conn, "V") is TempUnit.F


def test_a_file_that_says_something_new_of_a_day_entered_by_hand_has_the_last_word_and_names_it(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    enter(conn, by_hand("40", "68"), now + timedelta(minutes=5))
    report = rewritten(conn, farm, now + timedelta(hours=1), ROWS.replace("41.5,66", "41,65"))
    assert highs(conn)[0] == 65
    assert "V 2026-05-01: 40 to 68 °F by Ada" in str(report.remarks[-1])


def test_an_entry_withdrawn_leaves_what_the_file_says(conn: sqlite3.Connection, now: datetime) -> None:
    entry = enter(conn, by_hand("40", "68"), now + timedelta(minutes=5))
    withdraw(conn, entry.id, "the wrong thermometer", ADA, now + timedelta(minutes=6))
    assert highs(conn)[0] == 66


def test_two_laptops_that_read_one_day_leave_one_day(conn: sqlite3.Connection, now: datetime) -> None:
    record(conn, [by_hand("40", "68")], ADA, now + timedelta(minutes=1))
    record(conn, [by_hand("40", "69")], Author("Bo", "office"), now + timedelta(minutes=2))
    assert highs(conn) == [69, 70, 61]


def test_what_a_hand_cannot_have_read_is_refused(conn: sqlite3.Connection, now: datetime) -> None:
    for entry, fault in (
        (by_hand("66", "41"), "the minimum 66 is above the maximum 41"),
        (by_hand("5", "70", unit=TempUnit.C), "70 °C was never measured anywhere"),
        (by_hand("", "41"), "the minimum"),
        (by_hand("nan", "41"), "is no temperature"),
        (by_hand("40", "60", date(2026, 5, 21)), "is in the future"),
        (replace(by_hand("40", "60"), station="X"), "there is no station X"),
        (replace(by_hand("40", "60"), observed_at="25:00"), "is no hour"),
    ):
        with pytest.raises(ProblemsError) as caught:
            enter(conn, entry, now)
        assert fault in " ".join(map(str, caught.value.problems))
    assert highs(conn) == [66, 70, 61]


def test_an_odd_day_is_recorded_and_remarked(conn: sqlite3.Connection, now: datetime) -> None:
    _, odd = enter_temps(
        conn, programme(conn), by_hand("-40", "60"), author=ADA, now=now + timedelta(minutes=1), today=now.date()
    )
    assert "within one day is more than 81" in str(odd[0])
    assert highs(conn)[0] == 60


def test_an_entry_by_hand_is_in_the_replay_of_its_day(conn: sqlite3.Connection, now: datetime) -> None:
    entry = enter(conn, by_hand("40", "68"), now)
    (row,) = journal_rows(conn, MAY_1, MAY_1)
    assert (row.kind, row.id, row.trap, row.block, row.read_on) == ("temperature", entry.id, None, None, MAY_1)
    assert journal_rows(conn, MAY_1, MAY_1, traps={"A1"}, blocks={"N"}) == ()


# --- files from elsewhere ---------------------------------------------------------------------------------------------

GHCN = """\
XX000000001,20260501,TMAX,183,,,W,2400
XX000000001,20260501,TMIN,44,,,W,2400
XX000000001,20260502,TMAX,999,,X,W,2400
XX000000001,20260502,TMIN,50,,,W,2400
XX000000001,20260503,TMAX,211,,,W,2400
XX000000001,20260503,TMIN,61,,,W,2400
"""


def take_in(
    conn: sqlite3.Connection, farm: Path, now: datetime, text: str, *, station: str = "R", **more: str
) -> tuple[int, int, int, str]:
    path = farm / "elsewhere.txt"
    path.write_text(text)
    report = import_weather(
        conn,
        farm,
        path,
        programme(conn),
        station=station,
        author=ADA,
        now=now,
        **more,  # type: ignore[arg-type]
    )
    return report.added, report.changed, report.same, " ".join(map(str, report.remarks))


def test_ghcn_daily_is_taken_in_and_its_quality_flags_are_honoured(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    added, changed, same, said = take_in(conn, farm, now, GHCN)
    assert (added, changed, same) == (2, 0, 0)
    assert "values with a quality flag, not used: 1 (XX000000001 2026-05-02)" in said
    assert [day.within(TempUnit.C) for day in station_days(conn, "R")] == [(4.4, 18.3), (6.1, 21.1)]
    assert take_in(conn, farm, now, GHCN)[:3] == (0, 0, 2)


def test_a_file_of_several_stations_needs_a_word_which(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    two = GHCN + GHCN.replace("XX000000001", "XX000000002").replace("183", "203")
    with pytest.raises(RoundtuiError, match="holds several stations"):
        take_in(conn, farm, now, two)
    assert take_in(conn, farm, now, two, found_as="XX000000002")[0] == 2
    assert highs(conn, "R")[0] == 20.3


def test_the_offices_own_form_is_taken_in_for_another_station(
    conn: sqlite3.Connection, farm: Path, now: datetime
) -> None:
    assert take_in(conn, farm, now, HEADER + ROWS)[0] == 3
    assert [day.station for day in station_days(conn, "R")] == ["R"] * 3


def test_hours_become_days_by_the_stations_standard_time(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    # 1 May in New York's standard time runs from 05:00 to 05:00 UTC; the lowest is at its very end.
    hours = [datetime(2026, 5, 1, 5, tzinfo=UTC) + timedelta(hours=at) for at in range(24)]
    text = "station,time,temp,unit\n" + "".join(
        f"port,{at:%Y-%m-%dT%H:%M}Z,{10 - 7 * (n == 23) + 9 * (n == 12)},C\n" for n, at in enumerate(hours)
    )
    assert take_in(conn, farm, now, text, station="V")[:2] == (0, 1)
    assert station_days(conn, "V", MAY_1, MAY_1)[0].within(TempUnit.C) == (3, 19)
    with pytest.raises(RoundtuiError, match="has no time zone"):
        take_in(conn, farm, now, text, station="R")


def test_a_file_that_is_none_of_these_is_told(conn: sqlite3.Connection, farm: Path, now: datetime) -> None:
    for text, fault in (
        ("some words\n", "this is no GHCN-Daily file"),
        (HEADER + "V,2026-05-01,66,41,F,\n", "the minimum 66 is above the maximum 41"),
        ("PK\x03\x04", "is no text"),
    ):
        with pytest.raises(ProblemsError) as caught:
            take_in(conn, farm, now, text)
        assert fault in " ".join(map(str, caught.value.problems))
    with pytest.raises(RoundtuiError, match="there is no station Q"):
        take_in(conn, farm, now, GHCN, station="Q")
    assert highs(conn, "R") == []


# --- a store of before ------------------------------------------------------------------------------------------------


# --- against a naive judge --------------------------------------------------------------------------------------------

RegisterChange = tuple[str, int, int]
"""What is done, which day it is about, and the maximum it says."""
changes = st.lists(
    st.tuples(st.sampled_from(["file", "other", "hand", "back"]), st.integers(0, 2), st.integers(60, 63))
)


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(changes)
def test_the_last_word_stands_whatever_came_before(
    conn: sqlite3.Connection, now: datetime, done: list[RegisterChange]
) -> None:
    """Two files, a hand, and entries withdrawn, in any order; the judge keeps every word that was said of each day."""
    words: dict[int, list[tuple[str, int, str]]] = {}
    with closing(sqlite3.connect(":memory:", isolation_level=None, factory=Store)) as fresh:
        conn.backup(fresh)
        with transaction(fresh):
            for at, (what, number, high) in enumerate(done):
                day, when = MAY_1 + timedelta(days=30 + number), now + timedelta(minutes=at)
                said = words.setdefault(number, [])
                if what == "back":
                    mine = [word for word in said if word[0] == "hand"]
                    if mine:
                        withdraw(fresh, mine[-1][2], "the wrong thermometer", ADA, when)
                        said.remove(mine[-1])
                elif what == "hand":
                    standing = [word for word in said if word[0] == "hand"]
                    entry = replace(by_hand("40", str(high), day), replaces=standing[-1][2] if standing else None)
                    (recorded,) = record(fresh, [entry], ADA, when)
                    for word in standing:
                        said.remove(word)
                    said.append((what, high, recorded.id))
                else:
                    with transaction(fresh):
                        one = StationDays.of([WeatherDay("V", day, 40, high, TempUnit.F)])
                        Adding(fresh, (what, "weather"), ADA, when).add(one)
                    before = [word for word in said if word[0] == what]
                    if not (said and said[-1][1] == high) and not (before and before[-1][1] == high):
                        said.append((what, high, ""))
        shown = {day.on: day.tmax for day in station_days(fresh, "V", MAY_1 + timedelta(days=30))}
    expected = {MAY_1 + timedelta(days=30 + number): said[-1][1] for number, said in words.items() if said}
    assert shown == expected
