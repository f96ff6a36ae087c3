"""Treatments from the command line: told late, watched, withdrawn, in letters and in nothing that is public."""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from roundtui.store.connect import open_store
from roundtui.store.record.read import programme
from tests.cli.test_cli import run
from tests.conftest import NOW, MakeFolder

HOLD = """
[[rule]]
id = "sum"
species = "CM"
kind = "cumulative"
low = 20
high = 30
after_treatment = "hold"
days = 12
source = "the test"
date = 2026-01-01
"""
"""What is caught in the twelve days after a treatment is not added up."""
TRAPS = (
    "trap,block,species,style,hung_on\n"
    "A1,N,CM,delta,2026-04-08\nA2,N,CM,delta,2026-04-08\nA3,N,CM,delta,2026-04-08\nA4,S,OFM,delta,2026-04-08\n"
)
WEEKS = ("2026-04-15", "2026-04-22", "2026-04-29", "2026-05-06", "2026-05-13", "2026-05-20")
COUNTS = (6, 8, 7, 7, 4, 3)
"""Moths in each of the three traps, week by week."""


@pytest.fixture
def farm(make_folder: MakeFolder, tmp_path: Path) -> Path:
    """Six weeks of a block whose rule adds moths up."""
    folder = make_folder(traps=TRAPS, thresholds=HOLD)
    for on, count in zip(WEEKS, COUNTS, strict=True):
        sheet = tmp_path / f"{on}.csv"
        sheet.write_text("trap,read_on,count\n" + "".join(f"A{at},{on},{count}\n" for at in (1, 2, 3)))
        assert run("enter", folder, sheet, "--scout", "Ada").code == 0
    return folder


def treat(farm: Path, on: str, *more: object) -> Any:
    return run("treatment", farm, "n", "codling moth", on, "--scout", "Bo", *more)


def block(farm: Path, on: str = WEEKS[-1]) -> dict[str, Any]:
    found = json.loads(run("summary", farm, "--on", on, "--json").out)
    return dict(next(row for row in found["blocks"] if row["block"] == "N"))


def watch(farm: Path, *more: object) -> dict[str, Any]:
    return dict(json.loads(run("treatments", farm, "--json", *more).out)[0])


def letter(farm: Path, to: Path, on: str) -> str:
    assert run("letters", farm, "--on", on, "--to", to).code == 0
    return " ".join((to / f"letter-{on}-HF.txt").read_text().split())


def test_a_treatment_told_three_weeks_late_judges_the_rounds_since_anew(farm: Path, tmp_path: Path) -> None:
    """Seven days with 6, 8, 7, 7, 4 and 3 moths a trap: the sums are 6, 14, 21, 28, 32 and 35, so that 20 May was over
    30. On that day the grower tells of 29 April. The twelve days from the 30th to 11 May fall out: the week to 6 May
    with its 7, and five days of the next, 4 * 5/7. Left are 35 - 7 - 20/7 = 176/7, and that is within."""
    to = tmp_path / "letters"
    before = {on: letter(farm, to, on) for on in WEEKS[-2:]}
    assert "over threshold" in before["2026-05-20"]
    assert "Treatment" not in before["2026-05-20"]

    asked = treat(farm, "2026-04-29")
    assert (asked.code, asked.out) == (1, "")
    for words in (
        "N CM, 2026-05-20: over becomes within; the sum its rule compares, 35.0, becomes 25.1",
        "N CM, 2026-05-13: over becomes within; the sum its rule compares, 32.0, becomes 22.1",
        "N CM, 2026-05-06: the sum its rule compares, 28.0, becomes 21.0, still within",
        "Hollow Farm, 2026-05-20: the letter written on",
        "Hollow Farm, 2026-05-13: the letter written on",
        "is out of date with this; write it again",
        "add --yes to make it",
    ):
        assert words in asked.err, words
    assert block(farm)["status"] == "over"
    assert json.loads(run("treatments", farm, "--json").out) == []

    notified = treat(farm, "2026-04-29", "--yes", "--said-by", "Ada Birch", "--words", "first cover")
    assert notified.code == 0
    assert "re-entry and pre-harvest intervals" in notified.err
    row = block(farm)
    assert (row["status"], row["rule"]["value"]) == ("within", pytest.approx(176 / 7))
    assert block(farm, "2026-04-29")["rule"]["value"] == 21

    after = letter(farm, to, "2026-05-20")
    assert "This letter replaces the one of" in after
    assert "between the two numbers" in after
    assert "You told us of a treatment against codling moth on Wed 29 Apr 2026: " in after
    assert "first cover" not in after
    assert "This letter replaces" not in letter(farm, to, "2026-05-20")


def test_a_sum_that_begins_anew(farm: Path) -> None:
    """From 30 April on: 7, 4 and 3 moths a trap."""
    (farm / "thresholds.toml").write_text(HOLD.replace('"hold"\ndays = 12', '"restart"'))
    assert block(farm)["rule"]["value"] == 35
    assert treat(farm, "2026-04-29", "--yes").code == 0
    row = block(farm)
    assert (row["status"], row["rule"]["value"]) == ("below", 14)


def test_a_sum_held_for_degree_days_waits_for_the_temperatures(make_folder: MakeFolder, farm: Path) -> None:
    """50 °F and 70 °F over a lower threshold of 50 °F are about ten degree-days a day: a hundred are accumulated on the
    tenth day after 29 April, so that from 10 May on moths count again. Without temperatures all days since are out."""
    (farm / "thresholds.toml").write_text(HOLD.replace("days = 12", "degree_days = 100"))
    assert treat(farm, "2026-04-29", "--yes").code == 0
    assert block(farm)["rule"]["value"] == 21
    days = [*(f"2026-04-{day:02}" for day in range(1, 31)), *(f"2026-05-{day:02}" for day in range(1, 21))]
    (farm / "stations.csv").write_text("station,name\nV,Vale\n")
    (farm / "weather.csv").write_text("station,date,tmin,tmax,unit\n" + "".join(f"V,{on},50,70,F\n" for on in days))
    (farm / "blocks.csv").write_text("block,farm,name,crop,station\nN,HF,North,apple,V\nS,HF,South,apple,\n")
    assert run("load", farm).code == 0
    assert block(farm)["rule"]["value"] == pytest.approx(21 + 4 * 4 / 7 + 3)


def test_a_spray_between_two_checks(farm: Path) -> None:
    """Treated on Friday 1 May: the week to 6 May lies across it, on neither side. Before are the weeks that began on 3
    April or later, with 6, 8 and 7; the last of them set it off and is left out. After are 4 and 3. Nobody looked at an
    untreated block, so there is no verdict."""
    assert treat(farm, "2026-05-01", "--yes").code == 0
    found = watch(farm)
    assert (found["before"]["per_week"], found["after"]["per_week"], found["straddling"]) == (7, 3.5, 3)
    assert (found["verdict"], found["awaited"], found["over"]) == ("nothing to compare with", 1, False)
    assert found["why"] == "lower than before; nothing to compare with, and a flight falls by itself"
    assert found["traps"] == ["A1", "A2", "A3"]
    assert set(found) == {
        *("farm", "block", "species", "treated_on", "words", "said_by", "entries", "verdict", "why", "before", "after"),
        *("traps", "left_out", "awaited", "until", "over", "chance", "fell_before", "straddling", "set_aside"),
        *("lures", "earlier", "following", "last_read", "back_at"),
        *("untreated", "share", "share_low", "share_high", "expected"),
    }
    shown = " ".join(run("treatments", farm).out.split())
    assert "7.0 a trap a week before (42 moths, 42 trap-days), 3.5 since (21 moths, 42 trap-days), in 3 traps." in shown
    assert "The product label is the law" in shown
    assert "No insecticide on open bloom" in shown
    assert "Post-treatment check" in run("summary", farm).out


def test_a_watch_is_told_as_it_stood(farm: Path) -> None:
    assert treat(farm, "2026-04-29", "--yes").code == 0
    assert watch(farm, "--on", "2026-05-06")["verdict"] == "too early to say"
    assert watch(farm, "--on", "2026-05-13")["verdict"] == "nothing to compare with"
    assert watch(farm)["over"]
    assert run("treatments", farm, "--on", "2026-04-28").out.startswith("No treatment is on record")


def test_a_treatment_withdrawn_judges_anew_too(farm: Path) -> None:
    notified = treat(farm, "2026-04-29", "--yes")
    entry = notified.out.strip()
    asked = run("withdraw", farm, entry, "--reason", "another block", "--scout", "Bo")
    assert asked.code == 1
    assert "N CM, 2026-05-20: within becomes over; the sum its rule compares, 25.1, becomes 35.0" in asked.err
    assert "N CM, 2026-05-13: within becomes over; the sum its rule compares, 22.1, becomes 32.0" in asked.err
    assert run("withdraw", farm, entry, "--reason", "another block", "--scout", "Bo", "--yes").code == 0
    assert block(farm)["status"] == "over"
    assert json.loads(run("treatments", farm, "--json").out) == []
    assert treat(farm, "2026-04-29", "--yes").code == 0


def test_what_cannot_be_is_refused(farm: Path) -> None:
    ran = run("treatment", farm, "NN", "codling", "2026-04-29", "--scout", "Bo")
    assert ran.code == 1
    assert "there is no block NN" in ran.err
    assert "'codling' is no species known here" in ran.err
    ran = treat(farm, "2098-01-01")
    assert (ran.code, "is still to come" in ran.err) == (1, True)
    assert run("treatment", farm, "N", "CM", "2026-04-29").code == 2
    assert treat(farm, "2026-04-29", "--yes").code == 0
    again = treat(farm, "2026-04-29", "--yes")
    assert (again.code, "recorded already" in again.err) == (1, True)
    ran = treat(farm, "2026-05-06", "--yes", "--no-entry-before", "2026-05-05")
    assert (ran.code, "lies before the treatment" in ran.err) == (1, True)
    assert len(json.loads(run("treatments", farm, "--json").out)) == 1


def test_the_day_of_entry_goes_to_the_register_with_it(farm: Path) -> None:
    assert treat(farm, "2026-05-20", "--yes", "--no-entry-before", "2026-05-24").code == 0
    with closing(open_store(farm, now=NOW)) as conn:
        assert str(programme(conn).blocks["N"].no_entry_before) == "2026-05-24"
