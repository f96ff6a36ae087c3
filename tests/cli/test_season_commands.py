"""Weather, degree-days, biofix and outlook on the command line: exact keys, words apart from data, exit codes."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.cli.test_cli import run
from tests.conftest import MakeFolder

POINTS = json.loads((Path(__file__).parents[1] / "data" / "degree_day_points.json").read_text())["points"]
STATIONS = "station,name,timezone\nV,Vale,America/New_York\nW,Windmill,\n"
BLOCKS = "block,farm,name,crop,station\nN,HF,North,apple,V\nS,HF,South,apple,\n"
TRAPS = "trap,block,species,style,hung_on\nA,N,CM,delta,2024-04-22\n"
HEADER = "station,date,tmin,tmax,unit\n"


def weather(first: date, last: date, low: float = 60, high: float = 80, *gaps: date) -> str:
    """The same temperatures on every day but those of the gaps."""
    days = [first + timedelta(days=at) for at in range((last - first).days + 1)]
    return HEADER + "".join(f"V,{day},{low},{high},F\n" for day in days if day not in gaps)


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    """A trap in a block with a station of four years; every day gathers 20 degree-days over 50 °F."""
    return make_folder(
        stations=STATIONS,
        blocks=BLOCKS,
        traps=TRAPS,
        routes=None,
        weather=weather(date(2021, 1, 1), date(2024, 6, 30)),
    )


def read(farm: Path, *counts: tuple[str, int]) -> None:
    """Enter the trap's counts, written as MM-DD of 2024."""
    sheet = farm.parent / "sheet.csv"
    sheet.write_text("trap,read_on,count\n" + "".join(f"A,2024-{day},{count}\n" for day, count in counts))
    assert run("enter", farm, sheet, "--scout", "Ada").code == 0


def data(*args: object) -> Any:
    done = run(*args, "--json")
    assert done.code == 0, done.err
    return json.loads(done.out)


# --- degree-days of one day ------------------------------------------------------------------------------------------


def one_day(**options: object) -> list[object]:
    return [
        "degree-days",
        *(part for name, value in options.items() for part in (f"--{name.replace('_', '-')}", value)),
    ]


@pytest.mark.parametrize("point", [p for p in POINTS if not p[5].startswith("average (")][::6])
def test_printed_days_come_out_as_printed(point: list[Any]) -> None:
    tmin, tmax, unit, lower, upper, method, expected, *_ = point
    options = {"tmin": tmin, "tmax": tmax, "lower": lower, "unit": unit, "method": method, "cutoff": "none"}
    if upper is not None:
        options |= {"upper": upper, "cutoff": "horizontal"}
    assert data(*one_day(**options)) == {"degree_days": expected, "unit": unit}


def test_a_day_has_just_its_keys_and_words_for_people() -> None:
    options: dict[str, object] = {"tmin": 40, "tmax": 60, "lower": 50, "unit": "F", "method": "single-sine"}
    options |= {"cutoff": "none"}
    found = data(*one_day(**options))
    assert list(found) == ["degree_days", "unit"]
    assert found["degree_days"] == pytest.approx(3.1831, abs=5e-5)
    assert run(*one_day(**options)).out == "3.183 °F degree-days\n"


def test_a_double_method_without_the_next_morning_says_so() -> None:
    options = {"tmin": 40, "tmax": 60, "lower": 50, "unit": "C", "method": "double-sine", "cutoff": "none"}
    alone = run(*one_day(**options), "--json")
    assert "the day ends on its own minimum" in alone.err
    both = data(*one_day(**options, tmin_next=55))
    assert json.loads(alone.out)["degree_days"] < both["degree_days"]


def test_a_minimum_above_its_maximum_is_a_problem_in_the_data() -> None:
    done = run(*one_day(tmin=60, tmax=40, lower=50, unit="F"))
    assert (done.code, done.out) == (1, "")
    assert "the minimum 60 is above the maximum 40" in done.err


@pytest.mark.parametrize(
    "options",
    [
        {"tmin": 40, "lower": 50, "unit": "F"},
        {"tmin": 40, "tmax": 60, "lower": 50, "unit": "K"},
        {"tmin": 40, "tmax": 60, "lower": 50, "unit": "F", "method": "cosine"},
        {"tmin": 40, "tmax": 60, "lower": 50, "unit": "F", "cutoff": "horizontal"},
        {"tmin": 40, "tmax": 60, "lower": 50, "unit": "F", "upper": 50, "cutoff": "horizontal"},
        {"tmin": 40, "tmax": 60, "lower": 50, "upper": 88, "unit": "F", "method": "average", "cutoff": "vertical"},
        {"tmin": "nan", "tmax": 60, "lower": 50, "unit": "F"},
        {"tmin": 40, "tmax": 60, "lower": 50, "unit": "F", "station": "V"},
    ],
)
def test_a_wrong_call_ends_with_two(options: dict[str, object]) -> None:
    done = run(*one_day(**options))
    assert (done.code, done.out) == (2, "")


# --- a running sum ---------------------------------------------------------------------------------------------------


def a_sum(farm: Path, first: str, last: str, **more: str) -> list[object]:
    about = {"station": "V", "species": "CM", **more}
    return ["degree-days", farm, "--from", first, "--to", last, *(p for k, v in about.items() for p in (f"--{k}", v))]


def test_a_sum_counts_its_first_and_last_day(farm: Path) -> None:
    found = data(*a_sum(farm, "2024-05-01", "2024-05-03"))
    row = {"tmin": 60, "tmax": 80, "degree_days": 20, "filled": False}
    assert found == {
        "unit": "F",
        "total": 60,
        "rows": [{"date": f"2024-05-0{n}", **row, "total": 20 * n} for n in (1, 2, 3)],
    }
    assert list(found["rows"][0]) == ["date", "tmin", "tmax", "degree_days", "total", "filled"]
    shown = run(*a_sum(farm, "2024-05-01", "2024-05-03"))
    assert "60.0 °F degree-days at V from Wed 1 May 2024 to Fri 3 May 2024" in shown.out


def test_two_missing_days_are_filled_and_marked_a_longer_gap_stops_the_sum(farm: Path) -> None:
    two = (date(2024, 5, 2), date(2024, 5, 3))
    three = tuple(date(2024, 6, day) for day in (10, 11, 12))
    other = weather(date(2024, 5, 1), date(2024, 6, 30), 60, 80, *two, *three)
    (farm / "other.csv").write_text(other)
    assert run("weather", farm, "other.csv", "--station", "W").code == 0
    filled = data(*a_sum(farm, "2024-05-01", "2024-05-04", station="W"))
    assert [row["filled"] for row in filled["rows"]] == [False, True, True, False]
    assert filled["total"] == 80
    stopped = run(*a_sum(farm, "2024-06-08", "2024-06-15", station="W"), "--json")
    assert stopped.code == 1
    assert [row["date"] for row in json.loads(stopped.out)["rows"]] == ["2024-06-08", "2024-06-09"]
    assert "no temperatures from 2024-06-10 to 2024-06-12, 3 days; at most 2 are filled" in stopped.err
    # An office that fills longer gaps says so.
    (farm / "models.toml").write_text("[weather]\nfill_days = 3\n")
    assert len(data(*a_sum(farm, "2024-06-08", "2024-06-15", station="W"))["rows"]) == 8


def test_days_still_to_come_are_no_fault_and_are_told(farm: Path) -> None:
    done = run(*a_sum(farm, "2024-06-29", "2024-07-04"), "--json")
    assert done.code == 0
    assert json.loads(done.out)["total"] == 40
    assert "temperatures end on 2024-06-30" in done.err


def test_what_is_unknown_is_told(farm: Path) -> None:
    for args, said in (
        (a_sum(farm, "2024-05-01", "2024-05-03", station="VV"), "there is no station VV"),
        (a_sum(farm, "2024-05-01", "2024-05-03", species="TABM"), "there is no model for TABM"),
        (a_sum(farm, "2019-05-01", "2019-05-03"), "temperatures begin only on 2021-01-01"),
        (a_sum(farm, "2024-05-01", "2024-05-03", station="W"), "there are no temperatures"),
    ):
        done = run(*args)
        assert done.code == 1
        assert said in done.err
    assert run(*a_sum(farm, "2024-05-03", "2024-05-01")).code == 2
    assert run(*a_sum(farm, "2024-05-01", "2024-05-03"), "--tmin", 5).code == 2
    assert run("degree-days", farm, "--station", "V").code == 2


def test_an_offices_model_comes_before_the_one_that_ships(farm: Path) -> None:
    (farm / "models.toml").write_text(
        '[[model]]\nid = "ours"\nspecies = "CM"\nlower = 10\nunit = "C"\nmethod = "average"\nstarts = "biofix"\n'
        'source = "office practice"\ndate = 2025-03-01\n[[model.event]]\nname = "egg hatch begins"\ndegree_days = 120\n'
    )
    found = data(*a_sum(farm, "2024-05-01", "2024-05-01"))
    # 60 to 80 °F are 15.56 to 26.67 °C: 21.11 on the mean, 11.11 over 10.
    assert (found["unit"], found["total"]) == ("C", pytest.approx(100 / 9))
    (farm / "models.toml").write_text('[[model]]\nid = "ours"\n')
    faulty = run(*a_sum(farm, "2024-05-01", "2024-05-01"))
    assert faulty.code == 1
    assert "models.toml cannot be used" in faulty.err


# --- biofix ----------------------------------------------------------------------------------------------------------

BIOFIX_KEYS = ["block", "species", "season", "generation", "proposed", "confirmed", "rule", "doubtful"]
RULE = '[[biofix]]\nid = "ours"\nspecies = "CM"\nkind = "{}"\nmoths = {}\n{}source = "{}"\ndate = 2024-01-01\n'


def first_biofix(farm: Path) -> dict[str, Any]:
    found = data("biofix", farm)
    assert [list(row) for row in found] == [BIOFIX_KEYS] * len(found)
    return dict(found[0])


def test_a_biofix_is_proposed_and_confirmed(farm: Path) -> None:
    read(farm, ("04-29", 0), ("05-06", 2), ("05-13", 3))
    expected = {"block": "N", "species": "CM", "season": 2024, "generation": 1, "proposed": "2024-05-06"}
    expected |= {"confirmed": None, "rule": "shipped-cm-sustained", "doubtful": False}
    assert first_biofix(farm) == expected
    done = run("biofix", farm, "--confirm", "N", "--species", "cm", "--scout", "Bo")
    assert (done.code, done.out.count("\n")) == (0, 1)
    assert first_biofix(farm)["confirmed"] == "2024-05-06"
    shown = " ".join(run("biofix", farm).out.split())
    assert "Mon 6 May 2024 confirmed by Bo" in shown
    assert "first of two readings running with 1 moth or more" in shown
    entry = next(row for row in data("replay", farm, "--on", "2024-05-06") if row["kind"] == "biofix")
    assert (entry["id"], entry["scout"], entry["proposed"]) == (done.out.strip(), "Bo", "2024-05-06")


def test_a_changed_biofix_says_what_it_changes_and_asks(farm: Path) -> None:
    read(farm, ("04-29", 0), ("05-06", 2), ("05-13", 3))
    confirm = ["biofix", farm, "--confirm", "N", "--species", "CM", "--scout", "Bo"]
    assert run(*confirm).code == 0
    assert run(*confirm).code == 1  # It stands just so.
    bare = run(*confirm, "--day", "2024-05-04")
    assert bare.code == 1
    assert "the rule proposes 2024-05-06" in bare.err
    asked = run(*confirm, "--day", "2024-05-04", "--reason", "moths seen at dusk")
    assert asked.code == 1
    assert "biofix 2024-05-06 becomes 2024-05-04" in asked.err
    assert "egg hatch begins, generation 1: expected 2024-05-16 becomes expected 2024-05-14" in asked.err
    assert "add --yes" in asked.err
    assert first_biofix(farm)["confirmed"] == "2024-05-06"
    done = run(*confirm, "--day", "2024-05-04", "--reason", "moths seen at dusk", "--yes")
    assert done.code == 0
    assert first_biofix(farm)["confirmed"] == "2024-05-04"
    shown = " ".join(run("biofix", farm).out.split())
    assert "Sat 4 May 2024 set by Bo, not Mon 6 May 2024 as proposed (moths seen at dusk)" in shown
    (chain, _) = data("history", farm, done.out.strip())
    assert chain["present"] is False


def test_taking_a_biofix_back_says_what_becomes_of_it(farm: Path) -> None:
    read(farm, ("04-29", 0), ("05-06", 2), ("05-13", 3))
    confirm = ["biofix", farm, "--confirm", "N", "--species", "CM", "--scout", "Bo"]
    entry = run(*confirm, "--day", "2024-05-04", "--reason", "moths seen at dusk").out.strip()
    asked = run("withdraw", farm, entry, "--reason", "it was a mayfly", "--scout", "Bo")
    assert asked.code == 1
    assert "N CM generation 1, 2024-05-13: biofix 2024-05-04 becomes 2024-05-06" in asked.err
    assert run("withdraw", farm, entry, "--reason", "it was a mayfly", "--scout", "Bo", "--yes").code == 0
    assert (first_biofix(farm)["proposed"], first_biofix(farm)["confirmed"]) == ("2024-05-06", None)


def test_loading_tells_of_a_faulty_models_file(farm: Path) -> None:
    (farm / "weather.csv").unlink()
    (farm / "models.toml").write_text("[weather]\nunit = 5\n")
    done = run("load", farm)
    assert done.code == 1
    assert "The set-up files are loaded, but models.toml cannot be used" in done.err


def test_wrong_calls_of_biofix_end_with_two(farm: Path) -> None:
    read(farm, ("04-29", 0), ("05-06", 2))
    assert run("biofix", farm, "--species", "CM").code == 2
    assert run("biofix", farm, "--confirm", "N").code == 2
    assert run("biofix", farm, "--confirm", "N", "--species", "CM").code == 2  # Nobody is named.
    assert run("biofix", farm, "--on", "soon").code == 2
    assert run("biofix", farm, "--confirm", "X", "--species", "CM", "--scout", "Bo").code == 1


def test_a_total_is_reached_on_the_ninth_of_may(farm: Path) -> None:
    """Purdue, fff.hort.purdue.edu/article/codling-moth: one moth, then three the next weekend; biofix 9 May."""
    (farm / "models.toml").write_text(RULE.format("total", 3, "", "Purdue"))
    read(farm, ("05-02", 1), ("05-09", 3))
    found = first_biofix(farm)
    assert (found["proposed"], found["rule"]) == ("2024-05-09", "ours")


def test_moths_on_two_days_running_are_a_biofix_on_the_first(farm: Path) -> None:
    """Grower list, 2007, lists.ibiblio.org/pipermail/nafex/2007-April/026078.html: the 24th, 26th and 27th of April."""
    read(farm, ("04-23", 0), ("04-24", 1), ("04-25", 0), ("04-26", 1), ("04-27", 1))
    assert (first_biofix(farm)["proposed"], first_biofix(farm)["doubtful"]) == ("2024-04-26", False)


def test_a_first_reading_with_moths_makes_it_doubtful(farm: Path) -> None:
    read(farm, ("04-29", 1), ("05-06", 2))
    assert (first_biofix(farm)["proposed"], first_biofix(farm)["doubtful"]) == ("2024-04-29", True)


# --- outlook ---------------------------------------------------------------------------------------------------------

OUTLOOK_KEYS = [
    *("block", "species", "generation", "event", "degree_days", "accumulated", "reached_on", "expected_on"),
    *("earliest", "latest", "years", "source"),
]


def test_an_event_is_reached_or_expected_with_a_range(farm: Path) -> None:
    read(farm, ("04-29", 0), ("05-06", 2), ("05-13", 3), ("05-20", 4))
    found = data("outlook", farm)
    assert [list(row) for row in found] == [OUTLOOK_KEYS] * len(found)
    # 20 a day from 6 May on, that day included: 300 by 20 May. 220 were there on the 11th day, 16 May; 325 are two days
    # more: 22 May.
    by_name = {(row["event"], row["generation"]): row for row in found}
    hatch, peak = by_name["egg hatch begins", 1], by_name["flight peaks (earliest published)", 1]
    assert (hatch["reached_on"], hatch["expected_on"], hatch["accumulated"]) == ("2024-05-16", None, 300)
    assert {key: peak[key] for key in OUTLOOK_KEYS[4:11]} == {
        "degree_days": 325,
        "accumulated": 300,
        "reached_on": None,
        "expected_on": "2024-05-22",
        "earliest": "2024-05-21",
        "latest": "2024-05-23",
        "years": 3,
    }
    assert "Utah State University" in peak["source"]
    shown = run("outlook", farm).out
    assert "The next ten days" in shown
    assert "reached Thu 16 May" in shown
    assert "label is the law" in " ".join(shown.split())


def test_the_outlook_of_an_earlier_day_uses_nothing_later(farm: Path) -> None:
    read(farm, ("04-29", 0), ("05-06", 2), ("05-13", 3), ("05-20", 4))
    hatch = data("outlook", farm, "--on", "2024-05-13")[0]
    assert (hatch["reached_on"], hatch["expected_on"], hatch["accumulated"]) == (None, "2024-05-16", 160)


def test_a_block_without_a_station_is_told_without_dates(farm: Path) -> None:
    (farm / "blocks.csv").write_text("block,farm,name,crop,station\nN,HF,North,apple,\nS,HF,South,apple,\n")
    read(farm, ("04-29", 0), ("05-06", 2), ("05-13", 3))
    for row in data("outlook", farm):
        assert (row["accumulated"], row["reached_on"], row["expected_on"], row["years"]) == (None, None, None, 0)


def test_a_changed_hour_of_observation_is_told_beside_the_outlook(farm: Path) -> None:
    rows = "".join(f"V,2024-06-{day:02},60,80,F,{'17:00' if day < 5 else '07:00'}\n" for day in range(1, 10))
    (farm / "late.csv").write_text("station,date,tmin,tmax,unit,observed_at\n" + rows)
    assert run("weather", farm, "late.csv", "--station", "V").code == 0
    read(farm, ("06-10", 0))
    done = run("outlook", farm, "--json")
    assert done.code == 0
    assert "read at 17:00 until 2024-06-04, at 07:00 from 2024-06-05" in done.err


# --- weather ---------------------------------------------------------------------------------------------------------


def test_a_file_of_temperatures_is_taken_in_once(farm: Path) -> None:
    lines = "XX1,20240501,TMAX,183,,,W,2400\nXX1,20240501,TMIN,44,,,W,2400\n"
    (farm / "xx1.dly.csv").write_text(lines)
    done = run("weather", farm, farm / "xx1.dly.csv", "--station", "W", "--format", "ghcn")
    assert (done.code, done.out) == (0, "")
    assert "xx1.dly.csv: 1 day added" in done.err
    assert "1 on record before" in run("weather", farm, farm / "xx1.dly.csv", "--station", "W").err
    assert data(*a_sum(farm, "2024-05-01", "2024-05-01", station="W"))["rows"][0]["tmin"] == pytest.approx(39.92)


def test_a_faulty_file_changes_nothing(farm: Path) -> None:
    (farm / "bad.csv").write_text(HEADER + "V,2024-05-01,80,60,F\n")
    done = run("weather", farm, "bad.csv", "--station", "W")
    assert (done.code, done.out) == (1, "")
    assert "bad.csv, line 2: 2024-05-01: the minimum 80 is above the maximum 60" in done.err
    assert run("weather", farm, "none.csv", "--station", "W").code == 1
    assert run("weather", farm, "bad.csv").code == 2


# --- sunset ----------------------------------------------------------------------------------------------------------

PLACED = "station,name,lat,lon,timezone\nV,Vale,40.1,-77.2,America/New_York\nW,Windmill,,,\n"


def evenings(first: date, *temps: float) -> str:
    """Hours of a station from noon to midnight in its standard time, as warm all evening as said."""
    days = ((first + timedelta(days=at), temp) for at, temp in enumerate(temps))
    rows = (f"V,{day}T{hour:02}:00-05:00,{temp},F\n" for day, temp in days for hour in range(12, 24))
    return "station,time,temp,unit\n" + "".join(rows)


def test_moths_on_three_days_running_wait_for_a_warm_sunset(farm: Path) -> None:
    """University of California IPM, Pear: Pheromone Traps: moths on 3 consecutive days and 62 °F at sunset."""
    rule = RULE.format("run", 1, 'readings = 3\nsunset = 62\nunit = "F"\n', "University of California IPM, Pear")
    (farm / "models.toml").write_text(rule)
    counts = (("04-23", 0), ("04-24", 1), ("04-25", 2), ("04-26", 1), ("04-27", 3), ("04-28", 2), ("04-29", 4))
    read(farm, *counts)
    # Without hours and place the condition is open: the run stands, doubtful, and says why.
    assert (first_biofix(farm)["proposed"], first_biofix(farm)["doubtful"]) == ("2024-04-24", True)
    assert "the station V has no lat, lon and timezone in stations.csv" in " ".join(run("biofix", farm).out.split())
    (farm / "stations.csv").write_text(PLACED)
    assert "no hourly temperatures of the station V are on record" in " ".join(run("biofix", farm).out.split())
    # Sunsets of 23 to 26 April: moths fly from the first, but only the fourth evening is warm enough.
    (farm / "hours.csv").write_text(evenings(date(2024, 4, 23), 58, 60, 61.9, 62, 60))
    taken = run("weather", farm, "hours.csv", "--station", "V")
    assert taken.code == 0, taken.err
    assert "kept with their hours" in taken.err
    found = first_biofix(farm)
    assert (found["proposed"], found["rule"], found["doubtful"]) == ("2024-04-27", "ours", False)
    words = " ".join(run("biofix", farm).out.split())
    assert "first of three readings running with 1 moth or more: Sat 27 Apr 2024 (3 moths)" in words
    assert "sunset temperature 62 °F reached" in words


# --- normals ---------------------------------------------------------------------------------------------------------

NORMALS_HEADER = "station,month_day,tmin,tmax,unit\n"


def normals(low: float, high: float, unit: str = "F", *gaps: str) -> str:
    """The same temperatures on every day of the year but those of the gaps."""
    days = [f"{date(2024, 1, 1) + timedelta(days=at):%m-%d}" for at in range(366)]
    return NORMALS_HEADER + "".join(f"V,{day},{low},{high},{unit}\n" for day in days if day not in gaps)


def hatch(farm: Path) -> dict[str, Any]:
    return dict(data("outlook", farm, "--on", "2024-05-13")[0])


def test_a_station_with_too_few_past_years_goes_by_its_normals_and_says_so(farm: Path) -> None:
    """20 a day from 6 May make 160 by the 13th; the 60 that are left take four days at 15 a day, six at 10."""
    read(farm, ("04-29", 0), ("05-06", 2), ("05-13", 3))
    assert (hatch(farm)["expected_on"], hatch(farm)["years"]) == ("2024-05-16", 3)
    (farm / "normals.csv").write_text(normals(55, 75))
    # Three past years of its own come first.
    assert hatch(farm)["expected_on"] == "2024-05-16"
    assert "by normal" not in run("outlook", farm, "--on", "2024-05-13").out


@pytest.mark.parametrize(("first", "years"), [(date(2023, 1, 1), 1), (date(2024, 1, 1), 0)])
def test_one_past_year_or_none_gives_a_date_by_normal_without_a_range(
    make_folder: MakeFolder, first: date, years: int
) -> None:
    young = weather(first, date(2024, 6, 30))
    farm = make_folder(
        "young", stations=STATIONS, blocks=BLOCKS, traps=TRAPS, routes=None, weather=young, normals=normals(55, 75)
    )
    read(farm, ("04-29", 0), ("05-06", 2), ("05-13", 3))
    found = hatch(farm)
    assert (found["expected_on"], found["earliest"], found["latest"]) == ("2024-05-17", None, None)
    assert found["years"] == years
    said = run("outlook", farm, "--on", "2024-05-13").out
    assert "expected Fri 17 May by normal" in said
    assert "Fri 17 May by normal CM egg hatch begins" in said
    # Colder normals, written in °C: 55 to 65 °F are a good 10 a day.
    (farm / "normals.csv").write_text(normals(12.8, 18.4, "C"))
    assert hatch(farm)["expected_on"] == "2024-05-19"
    # A long gap in them dates nothing beyond it, and a load says where it is.
    (farm / "normals.csv").write_text(normals(55, 75, "F", "05-15", "05-16", "05-17"))
    assert "V has no normals of 3 days (05-15, 05-16, 05-17)" in run("load", farm).err


def test_before_any_biofix_normals_serve_the_stand_in_too(make_folder: MakeFolder) -> None:
    """175 from 1 January at 4 a day of a cold spring, then by normal."""
    young = weather(date(2024, 1, 1), date(2024, 2, 9), 50, 58)
    farm = make_folder(
        "young", stations=STATIONS, blocks=BLOCKS, traps=TRAPS, routes=None, weather=young, normals=normals(55, 75)
    )
    # 40 days of 4 are 160 by 9 February; 15 more are there on the 10th, 220 from that day on the 24th, its fifteenth.
    found = data("outlook", farm, "--on", "2024-02-09")
    assert found == []  # No trap hangs yet.
    (farm / "traps.csv").write_text(TRAPS.replace("2024-04-22", "2024-02-01"))
    found = data("outlook", farm, "--on", "2024-02-09")[0]
    assert (found["event"], found["expected_on"]) == ("egg hatch begins", "2024-02-24")
