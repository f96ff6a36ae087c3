"""A wrong lure for a week, and what becomes of its body next year: told at the command line, from file to summary."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from roundtui.cli import main
from tests.conftest import MakeFolder
from tests.hostile import WORST

TRAPS = """trap,block,species,style,hung_on,down_on,lot,body_label,row
A1,N,CM,delta,2025-04-20,2025-09-10,CM26,K1,4
A2,N,CM,delta,2025-04-20,,CM26,K2,9
A4,S,OFM,bucket,2025-04-20,2025-09-10,OFM26,K9,
"""
NEXT_YEAR = TRAPS + "A7,N,CM,delta,2026-04-20,,,,\n"


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def recorded(folder: Path, kind: str, text: str) -> Result:
    path = folder / f"{kind}-file.csv"
    path.write_text(text, encoding="utf-8")
    found = run("record", kind, folder, path, "--scout", "Ada")
    path.unlink()
    return found


@pytest.fixture
def autumn(make_folder: MakeFolder) -> Path:
    """In June somebody put a lure for oriental fruit moth into A1, for a week; in September it came down."""
    folder = make_folder(traps=TRAPS, routes="route,position,trap\nhome,1,A2\nhome,2,A1\n")
    tally = folder / "june.csv"
    tally.write_text("trap,read_on,count,lure\nA1,2025-06-02,1,OFM26\nA1,2025-06-09,9,CM26\n", encoding="utf-8")
    assert run("enter", folder, tally, "--scout", "Ada").exit_code == 0
    tally.unlink()
    parts = "label,part,species,state,noted_on,place\n"
    parts += "K1,body,CM,stored,2025-09-11,shed\nK9,body,OFM,stored,2025-09-11,shed\nK5,body,CM,new,2025-09-11,\n"
    assert recorded(folder, "parts", parts).exit_code == 0
    return folder


def test_the_close_of_the_season_names_what_hangs_what_is_kept_and_the_body_that_is_spoilt(autumn: Path) -> None:
    said = json.loads(run("take-down", autumn, "--on", "2025-09-12", "--json").stdout)
    assert [(row["route"], row["trap"], row["row"]) for row in said["traps"]] == [("home", "A2", "9")]
    assert [(row["species"], row["place"], row["labels"]) for row in said["stored"]] == [
        *(("CM", None, ["K5"]), ("OFM", "shed", ["K9"])),
    ]
    assert [(part["label"], part["foreign"]) for part in said["to_discard"]] == [("K1", ["OFM"])]
    assert said["losses"]["never_down"] == []
    words = " ".join(run("take-down", autumn, "--on", "2026-01-02").stdout.split())
    assert "Body K1 (CM) held OFM: do not use it again" in words
    assert "OFM: 1 body in shed: K9." in words
    assert "disposable gloves" in words
    end = json.loads(run("season-end", autumn, "--season", "2025", "--json").stdout)
    assert end["parts"]["to_discard"] == ["K1"]
    assert "Body K1 (CM) held OFM" in " ".join(run("season-end", autumn, "--season", "2025").stdout.split())
    assert json.loads(run("season-end", autumn, "--season", "2025", "--farm", "HF", "--json").stdout)["parts"]


def test_the_season_s_end_knows_what_was_put_away_after_the_last_reading(autumn: Path) -> None:
    end = json.loads(run("season-end", autumn, "--json").stdout)
    assert end["season"] == 2025
    assert end["parts"]
    made = "trap,species,assembled_on,body_label,lot\nA7,CM,2026-03-20,K5,CM26\n"
    assert recorded(autumn, "assemblies", made).exit_code == 0
    assert json.loads(run("season-end", autumn, "--json").stdout)["season"] == 2025


def test_a_body_tells_what_it_has_held(autumn: Path) -> None:
    (said,) = json.loads(run("bodies", autumn, "--label", "k1", "--json").stdout)
    assert (said["label"], said["state"], said["place"], said["foreign"]) == ("K1", "stored", "shed", ["OFM"])
    words = run("bodies", autumn, "--label", "K1").stdout
    assert "Sun 20 Apr 2025 to Mon 2 Jun 2025 CM in A1" in words, "the other lure ended it"
    assert "Mon 9 Jun 2025 on CM in A1" in words, "the day it was noted on the shelf is none of its trap"
    held = [(one["on"], one["species"], one["trap"], one["hung"]) for one in said["held"]]
    assert held == [
        ("2025-04-20", "CM", "A1", True),
        ("2025-06-02", "OFM", "A1", True),
        ("2025-06-09", "CM", "A1", True),
        ("2025-09-11", "CM", None, False),
    ]
    words = run("bodies", autumn).stdout
    assert "! K1: CM, stored since Thu 11 Sep 2025, shed" in words
    assert "Mon 2 Jun 2025 to Mon 9 Jun 2025 OFM in A1" in words
    assert "Thu 11 Sep 2025 noted as one for CM" in words
    assert max(map(len, words.splitlines())) <= 80


def test_next_year_its_count_is_left_out_and_the_reason_stands_in_the_summary(autumn: Path) -> None:
    (autumn / "traps.csv").write_text(NEXT_YEAR, encoding="utf-8")
    made = "trap,species,assembled_on,body_label,lot,override\nA7,CM,2026-04-01,K1,CM26,the shed was empty\n"
    found = recorded(autumn, "assemblies", made)
    assert found.exit_code == 0
    assert "  A7: body K1 held a lure for OFM, and plastic keeps the scent\n" in found.stderr
    tally = autumn / "may.csv"
    tally.write_text("trap,read_on,count\nA2,2026-04-27,0\nA7,2026-05-04,40\nA2,2026-05-04,0\n", encoding="utf-8")
    assert run("enter", autumn, tally, "--scout", "Ada").exit_code == 0
    said = json.loads(run("summary", autumn, "--on", "2026-05-04", "--json").stdout)
    assert [(t["kind"], t["trap"], t["found"], t["since"]) for t in said["integrity"]] == [
        ("scented-body", "A7", "OFM", "2026-04-20")
    ]
    (row,) = [row for row in said["blocks"] if row["species"] == "CM"]
    assert (row["read"], row["counted"], row["mean_per_week"], row["mean_with_suspect"]) == (2, 1, 0, 10.0)
    words = " ".join(run("summary", autumn, "--on", "2026-05-04").stdout.split())
    assert "Traps hung with a known problem" in words
    assert "A7 (CM), assembled on Wed 1 Apr 2026 of K1 with lot CM26" in words
    assert "Reason given: the shed was empty." in words


@pytest.mark.parametrize(
    ("kind", "text", "message"),
    [
        ("parts", "label,part,species,state,noted_on\nK1,body,XX,stored,2025-09-11\n", "XX"),
        (
            "parts",
            "label,part,species,state,noted_on\nyes,body,CM,stored,2025-09-11\n",
            "yes is not a label of a part",
        ),
        ("assemblies", "trap,species,assembled_on,lot\nA1,CM,2026-04-01,CM62\n", "there is no lot CM62"),
    ],
)
def test_only_the_impossible_is_refused(autumn: Path, kind: str, text: str, message: str) -> None:
    found = recorded(autumn, kind, text)
    assert found.exit_code == 1
    assert message in found.stderr


def test_what_speaks_against_a_trap_in_a_file_is_named_and_asked_a_reason_for(autumn: Path) -> None:
    made = "trap,species,assembled_on,body_label,lot\nA8,CM,2026-04-01,K5,OFM26\nA9,CM,2026-04-02,K5,CM26\n"
    found = recorded(autumn, "assemblies", made)
    assert found.exit_code == 0
    assert [line.strip() for line in found.stderr.splitlines()[1:]] == [
        "A8: lot OFM26 attracts OFM: the body is contaminated even if it is taken out again (the reason belongs in "
        "the column override)",
        "A9: body K5 held a lure for OFM, and plastic keeps the scent (the reason belongs in the column override)",
        "A9: body K5 is assembled in A8 since 2026-04-01 (the reason belongs in the column override)",
    ]


def test_a_body_nobody_knows(autumn: Path) -> None:
    found = run("bodies", autumn, "--label", "K11")
    assert (found.exit_code, found.stdout) == (1, "")
    assert "no body K11 is on record" in found.stderr


@pytest.mark.parametrize("label", [text for text in WORST if len(text) < 60 and not set(text) & set("\r\n\u2028\x85")])
def test_hostile_labels_are_harmless(autumn: Path, label: str) -> None:
    with (autumn / "parts-file.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["label", "part", "species", "state", "noted_on", "place"])
        writer.writerow(["K77", "body", "CM", "stored", "2025-09-11", label])
    assert run("record", "parts", autumn, autumn / "parts-file.csv", "--scout", "Ada").exit_code in (0, 1)
    for command in ("bodies", "take-down"):
        found = run(command, autumn, "--on", "2025-09-12")
        assert found.exit_code == 0
        assert not set(found.stdout) & set("\x1b\a\u202e\u2066")
