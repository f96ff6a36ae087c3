"""The register from the command line, and a trap moved in mid-season with the letters of before and after."""

from __future__ import annotations

import json
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from roundtui.store.connect import open_store
from roundtui.store.record.read import programme
from tests.cli.test_cli import run
from tests.conftest import NOW, MakeFolder

HUNG = date(2026, 4, 20)
MOVED_ON = date(2026, 5, 18)
TRAPS = "trap,block,species,style,row,tree,hung_on\n" + "".join(
    f"{label},{block},CM,delta,{row},5,{HUNG}\n"
    for label, block, row in (
        *(("A1", "N", 4), ("A2", "N", 8), ("A3", "N", 12), ("A4", "N", 16)),
        *(("B1", "S", 4), ("B2", "S", 8), ("B3", "S", 12)),
    )
)
ROUTES = "route,position,trap\n" + "".join(
    f"home,{at},{label}\n" for at, label in enumerate(("A1", "A2", "A3", "A4", "B1", "B2", "B3"), 1)
)


@pytest.fixture
def farm(make_folder: MakeFolder, tmp_path: Path) -> Path:
    """A folder with five weekly rounds on record: A4 catches what the others do not."""
    folder = make_folder(traps=TRAPS, routes=ROUTES)
    for week in range(1, 6):
        on = HUNG + timedelta(days=7 * week)
        rows = "".join(
            f"{label},{on},{14 if label == 'A4' else 1}\n" for label in ("A1", "A2", "A3", "A4", "B1", "B2", "B3")
        )
        (tmp_path / "sheet.csv").write_text(f"trap,read_on,count\n{rows}")
        assert run("enter", folder, tmp_path / "sheet.csv", "--scout", "Ada").code == 0
    return folder


def row(farm: Path, block: str, on: date) -> dict[str, object]:
    found = json.loads(run("summary", farm, "--on", on, "--json").out)
    return dict(next(one for one in found["blocks"] if one["block"] == block))


def letter(farm: Path, on: date, to: Path) -> str:
    assert run("letters", farm, "--on", on, "--to", to).code == 0
    (path,) = to.rglob("*.txt")
    return " ".join(path.read_text().split())


def test_a_trap_moved_in_mid_season_is_told_in_both_blocks_and_its_old_catch_stays_where_it_was_made(
    farm: Path, tmp_path: Path
) -> None:
    last = HUNG + timedelta(days=35)
    before = row(farm, "N", last), row(farm, "S", last)
    assert (before[0]["mean_per_week"], before[1]["mean_per_week"]) == (4.25, 1.0)
    assert "moved" not in letter(farm, last, tmp_path / "before")

    asked = run(
        "move", farm, "A4", "--on", MOVED_ON, "--block", "S", "--row", "16", "--scout", "Bo", "--why", "too shady"
    )
    assert (asked.code, asked.out) == (1, "")
    assert f"N CM, {last}: status within becomes below" in asked.err
    assert "add --yes" in asked.err
    done = run(
        "move",
        farm,
        "A4",
        "--on",
        MOVED_ON,
        "--block",
        "S",
        "--row",
        "16",
        "--scout",
        "Bo",
        "--why",
        "too shady",
        "--yes",
    )
    assert (done.code, len(done.out.split())) == (0, 2)

    north, south = row(farm, "N", last), row(farm, "S", last)
    assert (north["mean_per_week"], north["hung"]) == (1.0, 3)
    assert (south["mean_per_week"], south["hung"]) == (4.25, 4)
    # What A4 caught in the north stays a part of the north's season: five weeks of four traps, the last week of three.
    assert row(farm, "N", MOVED_ON)["mean_per_week"] == 4.25
    after = letter(farm, last, tmp_path / "after")
    assert "Trap A4 was moved to S South on Mon 18 May 2026: its series here ends." in after
    assert "Trap A4 was moved here from N North on Mon 18 May 2026: a new series begins." in after
    (page,) = (tmp_path / "after").rglob("*.html")
    assert page.read_text().count("A trap was moved on Mon 18 May: the curve is another from there on.") == 2
    assert page.read_text().count(">moved</text>") == 2
    summary = " ".join(run("summary", farm, "--on", MOVED_ON + timedelta(days=3)).out.split())
    assert "A4 moved from N North to S South on Mon 18 May 2026: a new series begins" in summary

    entries = json.loads(run("register", farm, "--changes", "A4", "--json").out)
    assert [(one["scout"], one["change"], one["words"]) for one in entries] == [("Bo", "moved", "too shady")] * 2
    assert entries[1]["becomes"] == entries[1]["was"] | {"down_on": "2026-05-18"}
    back = run("revert", farm, done.out.split()[0], "--scout", "Ada", "--yes")
    assert back.code == 0
    assert row(farm, "N", last)["mean_per_week"] == 4.25
    assert "moved" not in letter(farm, last, tmp_path / "again")
    said = run("register", farm, "--changes", "A4")
    assert "reverts what Bo changed" in " ".join(said.out.split())


def test_a_trap_is_taken_down_hung_again_and_a_new_one_hung(farm: Path) -> None:
    day = HUNG + timedelta(days=36)
    assert run("take-down", farm, "B3", "--on", day, "--scout", "Ada", "--yes").code == 0
    assert "B3 is down since 2026-05-26" in run("move", farm, "B3", "--on", day, "--row", "9", "--scout", "Ada").err
    assert run("hang", farm, "B3", "--on", day + timedelta(days=2), "--row", "13", "--scout", "Ada", "--yes").code == 0
    assert run("hang", farm, "B4", "--on", day, "--block", "S", "--species", "CM", "--scout", "Ada", "--yes").code == 0
    wrong = run("hang", farm, "B5", "--on", day, "--block", "X", "--species", "CM", "--scout", "Ada")
    assert (wrong.code, "block: there is no block X" in wrong.err) == (1, True)
    traps = {one["trap"]: one for one in json.loads(run("register", farm, "--on", day, "--json").out)["traps"]}
    assert [one["hung_on"] for one in traps["B3"]["series"]] == ["2026-04-20", "2026-05-28"]
    assert traps["B4"]["hangs"]


def test_the_files_follow_by_command_and_are_nothing_new_in_place(farm: Path, tmp_path: Path) -> None:
    assert run("move", farm, "A1", "--on", MOVED_ON, "--row", "5", "--scout", "Ada", "--yes").code == 0
    behind = json.loads(run("register", farm, "--json").out)["not_in_files"]
    assert [one["row"] for one in behind] == ["A1 2026-04-20", "A1 2026-05-18"]
    assert "not in traps.csv yet: A1,N,CM,delta,5" in run("conflicts", farm).out

    assert run("set-up", farm).code == 2
    assert run("set-up", farm, "--to", farm).code == 1
    assert run("set-up", farm, "--to", tmp_path / "new").code == 0
    assert run("load", tmp_path / "new").code == 0
    with closing(open_store(farm, now=NOW)) as one, closing(open_store(tmp_path / "new", now=NOW)) as other:
        assert programme(one) == programme(other)
    done = run("set-up", farm, "--in-place")
    assert "the files of before are in" in done.err
    assert "nothing new" in run("load", farm).err
    assert json.loads(run("register", farm, "--json").out)["not_in_files"] == []


def test_the_register_says_what_is_published_who_prints_it_and_who_does_not(make_folder: MakeFolder) -> None:
    traps = (
        "trap,block,species,hung_on,row,lat,lon\n"
        "A1,N,CM,2026-04-20,1,48.00000,-123.0\nA2,N,CM,2026-04-20,9,48.00030,-123.0\n"
    )
    folder = make_folder(traps=traps, routes=None)
    found = json.loads(run("register", folder, "--on", "2026-05-20", "--json").out)
    (a1, _) = found["traps"]
    assert [(one["asks"], one["partner"]) for one in a1["advice"]] == [("rows-in", None), ("same-species", "A2")]
    assert "Ontario Ministry of Agriculture" in a1["advice"][0]["source"]
    assert "Washington State University" in a1["advice"][0]["otherwise"]
    text = " ".join(run("register", folder, "--on", "2026-05-20").out.split())
    assert "! A1 in N: hangs 33 m from A2" in text
    assert "published advice" in text
