"""Plan, packing, stock and labels as commands."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from roundtui.cli import main
from tests.conftest import MakeFolder

LAST_YEAR = (
    "trap,block,species,style,hung_on,down_on,lot\n"
    "A1,N,CM,delta,2025-04-22,2025-09-30,CM25\nA2,N,CM,delta,2025-04-22,2025-09-30,CM25\n"
    "A4,S,OFM,delta,2025-04-22,2025-09-30,OFM25\n"
)
LURES = (
    "lot,species,load_mg,life_days,expires_on\nCM25,CM,1,42,2025-12-31\nCM26,CM,1,42,2027-12-31\n"
    "OFM25,OFM,0.1,42,2026-12-31\n"
)
TALLY = (
    "trap,read_on,count,no_reading,lure\n"
    "A1,2025-04-29,0,,\nA2,2025-04-29,0,,\nA4,2025-04-29,6,,\n"
    "A1,2025-05-06,2,,\nA2,2025-05-06,0,,\nA4,2025-05-06,9,,\n"
    "A1,2025-06-03,4,,CM25\nA2,2025-06-03,,missing,\n"
)
Run = Callable[..., Result]


@pytest.fixture
def run() -> Run:
    def call(*args: object, ends: int = 0) -> Result:
        result = CliRunner().invoke(main, [str(arg) for arg in args])
        assert result.exit_code == ends, result.output
        return result

    return call


@pytest.fixture
def orchard(make_folder: MakeFolder, run: Run) -> Path:
    """A folder of last season: codling moth caught first on 6 May, oriental fruit moth at the first check."""
    folder = make_folder(traps=LAST_YEAR, lures=LURES, routes="route,position,trap\nhome,1,A1\nhome,2,A2\n")
    (folder / "tally.csv").write_text(TALLY, encoding="utf-8")
    run("enter", folder, folder / "tally.csv", "--scout", "Ada")
    return folder


def asked(run: Run, *args: object) -> Any:
    return json.loads(run(*args, "--json").stdout)


def test_a_plan_says_how_many_traps_hang_by_which_day_and_why(run: Run, orchard: Path) -> None:
    found = asked(run, "plan", orchard, "--on", "2026-03-01")
    assert (found["season"], found["first"], found["last"], found["ends_on"]) == (
        2026,
        "2026-01-01",
        "2026-12-31",
        "2026-09-30",
    )
    moth, fruit_moth = found["rows"]
    assert (moth["block"], moth["species"], moth["traps"], moth["hang_by"]) == ("N", "CM", 2, "2026-04-22")
    assert (moth["state"], moth["days_left"], moth["decided_by"]) == ("later", 52, "first-catch")
    assert moth["last_season"]["lost"] == ["A2"]
    assert [reason["rule"] for reason in moth["reasons"]] == ["first-catch", "cm-pink", "cm-122"]
    assert all(reason["source"] for reason in moth["reasons"])
    assert (fruit_moth["last_season"]["hung_too_late"], fruit_moth["hang_by"]) == (True, "2026-04-08")
    words = run("plan", orchard, "--on", "2026-04-30").stdout
    assert "overdue 8 days" in words
    assert "Hung too late" in words
    assert "Lost last season" in words


def test_the_plan_of_a_day_after_all_traps_are_down_is_that_of_next_season(run: Run, orchard: Path) -> None:
    assert asked(run, "plan", orchard, "--on", "2025-11-25")["season"] == 2026
    assert asked(run, "plan", orchard, "--on", "2025-06-03")["season"] == 2025
    assert asked(run, "plan", orchard, "--on", "2025-06-03", "--season", "2026")["season"] == 2026


def test_an_offices_plan_file_comes_first_and_a_faulty_one_is_named(run: Run, orchard: Path) -> None:
    ours = '[[hang]]\nid = "ours"\nspecies = "CM"\non = "04-01"\nsource = "our practice"\ndate = 2026-01-15\n'
    (orchard / "plan.toml").write_text(ours, encoding="utf-8")
    assert asked(run, "plan", orchard, "--on", "2026-03-01")["rows"][0]["hang_by"] == "2026-04-01"
    (orchard / "plan.toml").write_text(ours.replace("04-01", "04-31"), encoding="utf-8")
    said = run("plan", orchard, "--on", "2026-03-01", ends=1).stderr
    assert 'plan.toml, hang 1 (ours): on: "04-31" is no day of every year' in said


def stock(folder: Path, rows: str) -> Path:
    path = folder / "store.csv"
    path.write_text(f"lot,stocked_on,event,number\n{rows}", encoding="utf-8")
    return path


def test_stock_is_what_was_counted_and_bought_less_what_was_put_out(run: Run, orchard: Path) -> None:
    """Three bought on 1 April, two hung on the 22nd, one put in on 3 June: none left."""
    run("record", "stock", orchard, stock(orchard, "CM25,2025-04-01,bought,3\n"), "--scout", "Ada")
    found = asked(run, "stock", orchard, "--on", "2025-06-03")
    lots = {lot["lot"]: lot for lot in found["lots"]}
    assert {key: lots["CM25"][key] for key in ("left", "bought", "used", "counted", "since")} == {
        "left": 0,
        "bought": 3,
        "used": 3,
        "counted": None,
        "since": "2025-04-01",
    }
    assert lots["CM25"]["state"] == "enough"
    assert lots["CM26"]["left"] is None
    assert lots["CM26"]["needed"] > 0
    assert lots["CM26"]["state"] == "not counted"
    assert "not counted" in run("stock", orchard, "--on", "2025-06-03").stdout


def test_a_lot_that_runs_out_stands_in_the_summary_and_in_no_key_of_its_json(run: Run, orchard: Path) -> None:
    """One lure of either lot is left: they go on 3 June, and on 15 July none is there. A trap of 2024 tells the end."""
    rows = "CM25,2025-05-01,counted,1\nCM26,2025-05-01,counted,1\n"
    run("record", "stock", orchard, stock(orchard, rows), "--scout", "Ada")
    hanging = LAST_YEAR.replace(",2025-09-30", ",")
    (orchard / "traps.csv").write_text(f"{hanging}B1,S,CM,delta,2024-04-22,2024-09-30,CM25\n", encoding="utf-8")
    words = " ".join(run("summary", orchard, "--on", "2025-05-06").stdout.split())
    assert (
        "Lures in stock ! Lot CM25 (CM) will be used up on Tue 15 Jul 2025: 1 left, 1 required in four weeks" in words
    )
    as_json = json.loads(run("summary", orchard, "--on", "2025-05-06", "--json").stdout)
    assert "stock" not in as_json
    assert not any("CM25" in str(part) for part in as_json.values())


def test_a_file_with_an_impossible_row_is_refused_as_a_whole(run: Run, orchard: Path) -> None:
    path = stock(orchard, "CM25,2025-04-01,bought,3\nCM25,2025-04-02,bought,0\n")
    assert "none were bought" in run("record", "stock", orchard, path, "--scout", "Ada", ends=1).stderr
    lots = {lot["lot"]: lot for lot in asked(run, "stock", orchard, "--on", "2025-06-03")["lots"]}
    assert lots["CM25"]["left"] is None


def test_packing_for_the_season_and_for_the_next_round(run: Run, orchard: Path) -> None:
    season = asked(run, "packing", orchard, "--on", "2026-03-01")
    assert (season["route"], season["season"], season["round_on"]) == (None, 2026, None)
    lines = {(line["item"], line["species"]): line for line in season["lines"]}
    assert (lines["trap body", "CM"]["needed"], lines["trap body", "CM"]["to_buy"]) == (3, None)
    assert lines["lure", "CM"]["detail"] == "CM26"
    asked_round = asked(run, "packing", orchard, "--route", "home", "--on", "2025-06-03")
    assert (asked_round["route"], asked_round["round_on"], asked_round["season"]) == ("home", "2025-06-10", 2025)
    again = {(line["item"], line["species"]): line for line in asked_round["lines"]}["trap body", "CM"]
    assert again["traps"] == ["A2"]
    assert "1 to hang again" in run("packing", orchard, "--route", "home", "--on", "2025-06-03").stdout


def test_a_route_nobody_set_up_is_named(run: Run, orchard: Path) -> None:
    assert "there is no route hoem" in run("packing", orchard, "--route", "hoem", ends=1).stderr
    run("packing", orchard, "--route", "home", "--season", "2026", ends=2)


def test_labels_of_all_traps_or_of_some_as_a_page_or_a_text(run: Run, orchard: Path, tmp_path: Path) -> None:
    page, text = tmp_path / "labels.html", tmp_path / "labels.txt"
    said = run("labels", orchard, "--to", page, "--size", "letter-3x10", "--on", "2026-03-01").stderr
    assert "3 labels on 1 sheet letter-3x10" in said
    assert page.read_text(encoding="utf-8").count("<svg ") == 3
    run("labels", orchard, "--to", text, "--traps", "a4, A1", "--on", "2026-03-01")
    assert [line for line in text.read_text(encoding="utf-8").splitlines() if not line.startswith(" ") and line] == [
        "A4",
        "A1",
    ]
    assert "there is no trap A9" in run("labels", orchard, "--to", text, "--traps", "A1,A9", ends=1).stderr
    run("labels", orchard, "--to", tmp_path / "labels.pdf", ends=2)


def test_a_folder_without_a_trap_has_nothing_to_label_and_nothing_to_plan(
    run: Run, make_folder: MakeFolder, tmp_path: Path
) -> None:
    bare = make_folder("bare", traps=None, routes=None)
    assert "there is no trap to label" in run("labels", bare, "--to", tmp_path / "l.txt", ends=1).stderr
    assert asked(run, "plan", bare, "--on", date(2026, 3, 1))["rows"] == []
    assert "nothing to plan" in run("plan", bare, "--on", "2026-03-01").stdout
