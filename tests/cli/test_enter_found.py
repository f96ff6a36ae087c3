"""A tally sheet on which wrong lures were found: what each of them changes is named when it is entered."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from roundtui.cli import main
from tests.conftest import MakeFolder

TRAPS = "trap,block,species,hung_on\nA1,N,CM,2026-05-01\nA2,N,CM,2026-05-01\nA3,N,CM,2026-05-01\nB1,N,OFM,2026-05-01\n"
WEEKS = "trap,read_on,count,lure\nA1,2026-05-08,2,\nA2,2026-05-08,9,yes\nA3,2026-05-08,1,\nB1,2026-05-08,4,\n"


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    """Three CM traps and one for OFM, read a week after they were hung; A2 got a new lure that day."""
    folder = make_folder(
        farms="farm,name\nF1,Fernhollow\n",
        blocks="block,farm,name,crop\nN,F1,North,apple\n",
        lures=None,
        traps=TRAPS,
        routes="route,position,trap\none,1,A1\none,2,A2\none,3,A3\none,4,B1\n",
    )
    enter(folder, WEEKS, "weeks.csv")
    return folder


def enter(folder: Path, tally: str, name: str = "sheet.csv") -> list[str]:
    """Enter a tally file; what was said on standard error, line by line."""
    path = folder.parent / name
    path.write_text(tally, encoding="utf-8")
    done = CliRunner().invoke(main, ["enter", str(folder), str(path), "--scout", "Ida"])
    assert done.exit_code == 0, done.output
    assert done.stdout == ""
    return done.stderr.splitlines()


def test_a_wrong_lure_names_since_when_how_many_readings_and_what_the_block_shows_now(farm: Path) -> None:
    said = enter(
        farm,
        "trap,read_on,count,lure_found\nA1,2026-05-15,2,\nA2,2026-05-15,9,OFM\nA3,2026-05-15,1,\nB1,2026-05-15,4,\n",
    )
    assert said == [
        "sheet.csv: 4 added",
        "  A2 on 2026-05-15: lure found; wrong since 8 May: 1 reading suspect; N CM within at 4.0, now below at 1.5",
    ]


def test_two_lures_found_on_one_sheet_are_a_pair_and_each_is_named(farm: Path) -> None:
    said = enter(farm, "trap,read_on,count,lure_found\nA3,2026-05-15,1,OFM\nB1,2026-05-15,4,CM\n")
    assert [line.strip().split(":")[0] for line in said[1:]] == ["A3 on 2026-05-15", "B1 on 2026-05-15"]
    assert "swapped with B1 since 1 May: 2 readings suspect" in said[1]
    assert "swapped with A3 since 1 May: 2 readings suspect" in said[2]


def test_a_sheet_without_a_find_says_nothing_of_lures_and_one_stage_is_one(farm: Path) -> None:
    assert enter(farm, "trap,read_on,count,stage\nA1,2026-05-15,2,71\n") == ["sheet.csv: 1 added, 1 stage added"]
    assert enter(farm, "trap,read_on,count,stage\nA1,2026-05-15,2,71\n") == ["sheet.csv: 1 on record before"]


def test_two_rules_that_fit_equally_well_do_not_take_the_entries_back(farm: Path) -> None:
    rule = '[[rule]]\nid = "{}"\nspecies = "CM"\nkind = "mean"\nlow = 3\nhigh = 5\nsource = "us"\ndate = 2026-01-01\n'
    (farm / "thresholds.toml").write_text(rule.format("one") + rule.format("two"), encoding="utf-8")
    said = enter(farm, "trap,read_on,count,lure_found\nA2,2026-05-15,9,OFM\n")
    assert said[0] == "sheet.csv: 1 added"
    assert said[1] == (
        "  A2 on 2026-05-15: lure found; wrong since 8 May: 1 reading suspect; N CM 9.0, now –, still unknown"
    )
