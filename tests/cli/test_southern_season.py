"""A season of the south, from 1 July on: biofix, degree-days and outlook over New Year."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.cli.test_cli import run
from tests.cli.test_season_commands import data
from tests.conftest import MakeFolder

STATIONS = "station,name\nV,Vale\n"
BLOCKS = "block,farm,name,crop,station\nN,HF,North,apple,V\n"
TRAPS = "trap,block,species,style,hung_on\nA,N,CM,delta,2025-12-01\nB,N,PTB,delta,2025-12-01\n"
THRESHOLDS = '[season]\nstarts_on = "07-01"\n'
OWN = """[[model]]
id = "ours"
species = "PTB"
lower = 50
unit = "F"
method = "average"
starts = "{}"
source = "office practice"
date = 2025-03-01
[[model.event]]
name = "first moths"
degree_days = 200
"""


def weather(first: date, last: date) -> str:
    """Every day gathers 20 degree-days over 50 °F."""
    days = (first + timedelta(days=at) for at in range((last - first).days + 1))
    return "station,date,tmin,tmax,unit\n" + "".join(f"V,{day},60,80,F\n" for day in days)


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    """Three seasons before this one, and a flight that begins about New Year."""
    folder = make_folder(
        stations=STATIONS,
        blocks=BLOCKS,
        traps=TRAPS,
        routes=None,
        thresholds=THRESHOLDS,
        weather=weather(date(2022, 7, 1), date(2026, 1, 31)),
    )
    counts = (("2025-12-15", 0), ("2025-12-22", 0), ("2025-12-29", 2), ("2026-01-05", 3), ("2026-01-12", 4))
    sheet = folder.parent / "sheet.csv"
    sheet.write_text("trap,read_on,count\n" + "".join(f"A,{day},{count}\n" for day, count in counts))
    assert run("enter", folder, sheet, "--scout", "Ada").code == 0
    return folder


def biofix(farm: Path, on: str) -> dict[str, Any]:
    return next(row for row in data("biofix", farm, "--on", on) if row["species"] == "CM")


def event(farm: Path, on: str, species: str = "CM") -> dict[str, Any]:
    return next(row for row in data("outlook", farm, "--on", on) if row["species"] == species)


def test_a_run_over_new_year_is_one_biofix_of_the_season_that_began_in_july(farm: Path) -> None:
    found = biofix(farm, "2026-01-12")
    assert (found["season"], found["proposed"], found["doubtful"]) == (2025, "2025-12-29", False)
    confirm = ("biofix", farm, "--confirm", "N", "--species", "CM", "--scout", "Bo", "--on", "2026-01-12")
    assert run(*confirm, "--day", "2026-01-02", "--reason", "moths seen at dusk").code == 0
    assert biofix(farm, "2026-06-30")["confirmed"] == "2026-01-02"
    # The day before it nobody knew of it, and the season after is another one.
    assert biofix(farm, "2026-01-01")["confirmed"] is None
    later = biofix(farm, "2026-07-01")
    assert (later["season"], later["proposed"], later["confirmed"]) == (2026, None, None)


def test_degree_days_run_over_new_year(farm: Path) -> None:
    total = data("degree-days", farm, "--station", "V", "--species", "CM", "--from", "2025-12-29", "--to", "2026-01-10")
    assert (len(total["rows"]), total["total"]) == (13, 260)


def test_the_outlook_of_december_reaches_into_january_by_the_seasons_before(farm: Path) -> None:
    """220 from the biofix day on, 29 December: full on the eleventh day, 8 January."""
    early = event(farm, "2026-01-05")
    assert (early["event"], early["accumulated"], early["expected_on"]) == ("egg hatch begins", 160, "2026-01-08")
    assert (early["earliest"], early["latest"], early["years"]) == ("2026-01-07", "2026-01-09", 3)
    confirm = ("biofix", farm, "--confirm", "N", "--species", "CM", "--scout", "Bo", "--on", "2026-01-12")
    assert run(*confirm).code == 0
    december = event(farm, "2025-12-30")
    assert (december["accumulated"], december["expected_on"], december["years"]) == (40, "2026-01-08", 3)
    assert event(farm, "2026-01-12")["reached_on"] == "2026-01-08"


def test_a_model_from_january_counts_from_the_january_inside_the_season(farm: Path) -> None:
    (farm / "models.toml").write_text(OWN.format("01-01"))
    before = event(farm, "2025-12-30", "PTB")
    assert (before["accumulated"], before["reached_on"], before["expected_on"]) == (None, None, None)
    assert "counting begins on 2026-01-01" in run("outlook", farm, "--on", "2025-12-30").out
    after = event(farm, "2026-01-12", "PTB")
    assert (after["accumulated"], after["reached_on"]) == (240, "2026-01-10")
    # One that starts in midwinter of the south starts there, in the calendar year before.
    (farm / "models.toml").write_text(OWN.format("08-01"))
    assert event(farm, "2026-01-12", "PTB")["reached_on"] == "2025-08-10"


def test_a_january_that_is_summer_stands_in_for_no_biofix(farm: Path) -> None:
    """The models that ship count from midwinter of the north; an office's own may say another day."""
    unread = (farm / "traps.csv").read_text() + "C,M,CM,delta,2025-12-01\n"
    (farm / "blocks.csv").write_text(BLOCKS + "M,HF,Middle,apple,V\n")
    (farm / "traps.csv").write_text(unread)
    rows = [row for row in data("outlook", farm, "--on", "2026-01-12") if row["block"] == "M"]
    assert {(row["reached_on"], row["expected_on"]) for row in rows} == {(None, None)}
    flight = OWN.replace("ours", "flight").format("biofix")
    own = (flight + OWN.format("12-20")).replace("PTB", "CM")
    (farm / "models.toml").write_text(own)
    # 200 from 20 December are full on the 29th, and 200 from there on 7 January.
    rows = [row for row in data("outlook", farm, "--on", "2026-01-12") if row["block"] == "M"]
    assert [row["reached_on"] for row in rows] == ["2026-01-07"]
    assert "no biofix is set: worked out from the year's degree-days" in run("outlook", farm, "--on", "2026-01-12").out
