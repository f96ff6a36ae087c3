"""The sample farm in the folder is the one its generator makes, and it is as large and as varied as it says."""

from __future__ import annotations

import csv
import itertools
from collections import Counter
from datetime import date, timedelta

import pytest

from tests.sample.invented_weather import GAPS
from tests.sample.make_sample import FOLDER, sample_files
from tests.sample.programme import NORTH, RUNNING_DAY, SOUTH


@pytest.fixture(scope="module")
def files() -> dict[str, str]:
    return sample_files()


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(text.splitlines()))


def test_the_folder_holds_what_the_generator_makes(files: dict[str, str]) -> None:
    in_folder = {
        path.relative_to(FOLDER).as_posix(): path.read_bytes().decode()
        for path in FOLDER.rglob("*")
        if path.is_file() and not path.name.startswith("roundtui.db")
    }
    assert sorted(in_folder) == sorted(files)
    assert [name for name in files if files[name] != in_folder[name]] == []


def test_its_size_is_as_told(files: dict[str, str]) -> None:
    assert len(rows(files["farms.csv"])) == 5
    assert len(rows(files["blocks.csv"])) == 10
    assert (len(NORTH), len(SOUTH)) == (18, 30)
    assert len({place.trap for place in NORTH + SOUTH}) == 48
    assert {place.species for place in NORTH + SOUTH} == {"CM", "OFM", "OBLR", "GPTB", "AM"}


def test_each_route_walks_each_block_in_one_go(files: dict[str, str]) -> None:
    for places in (NORTH, SOUTH):
        changes = [a.block != b.block for a, b in itertools.pairwise(places)]
        assert sum(changes) + 1 == len({place.block for place in places})


def test_rounds_are_weekly_and_the_north_round_is_due(files: dict[str, str]) -> None:
    read: dict[str, set[date]] = {"north": set(), "south": set()}
    for name in files:
        if name.endswith(("-north.csv", "-south.csv")):
            read[name.rsplit("-", 1)[1].removesuffix(".csv")].add(date.fromisoformat(name.split("/")[1][:10]))
    for days in read.values():
        gaps = Counter((b - a).days for a, b in zip(sorted(days), sorted(days)[1:], strict=False))
        assert set(gaps) - {7} == {gap for gap in gaps if gap > 150}  # two winters
        assert sum(gaps.values()) - gaps[7] == 2
    assert max(read["north"]) == RUNNING_DAY - timedelta(days=7)
    assert max(read["south"]) == RUNNING_DAY - timedelta(days=1)


def test_nothing_lies_after_the_running_day(files: dict[str, str]) -> None:
    for name, text in files.items():
        if name.startswith("tallies/2"):
            assert all(date.fromisoformat(row["read_on"]) <= RUNNING_DAY for row in rows(text))
    assert max(row["date"] for row in rows(files["weather.csv"])) == RUNNING_DAY.isoformat()
    assert files["running_day.txt"].strip() == RUNNING_DAY.isoformat()


def test_every_tally_has_its_scout(files: dict[str, str]) -> None:
    listed = [row["file"] for row in rows(files["tallies/scouts.csv"])]
    assert listed == sorted(name.removeprefix("tallies/") for name in files if name.startswith("tallies/2"))
    assert all(row["scout"] for row in rows(files["tallies/scouts.csv"]))


def test_the_weather_has_its_two_holes_and_no_other(files: dict[str, str]) -> None:
    weather = rows(files["weather.csv"])
    for station, (first, last) in GAPS.items():
        days = [date.fromisoformat(row["date"]) for row in weather if row["station"] == station]
        breaks = [(a, b) for a, b in itertools.pairwise(days) if (b - a).days != 1]
        assert breaks == [(first - timedelta(days=1), last + timedelta(days=1))]
        assert (days[-1] - days[0]).days > 6 * 365
    assert all(int(row["tmin"]) < int(row["tmax"]) for row in weather)


def test_names_are_invented_and_addresses_lead_nowhere(files: dict[str, str]) -> None:
    # .example is reserved for examples (RFC 2606), and 555-01xx is kept free for invented telephone numbers.
    for farm in rows(files["farms.csv"]):
        assert farm["email"].endswith(".example")
        assert farm["phone"].startswith("555-01")
    assert "INVENTED" in files["ABOUT.txt"]
