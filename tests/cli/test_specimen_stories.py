"""Stories of a look-alike named after letters were written, and of an estimate, by command and with the letters."""

from __future__ import annotations

import json
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import Notified, Specimen, Visit
from roundtui.report.letters.compose import compose
from roundtui.report.letters.letter import figures
from roundtui.report.letters.material import read_material
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.read import visits_of
from tests.cli.test_specimen_commands import AT, FOUND, enter, farm, row_of, run
from tests.conftest import MakeFolder

__all__ = ["farm"]
WEEK_LATER = FOUND + timedelta(days=7)


def letters(folder: Path, on: date, to: Path) -> str:
    """Write the letters of a day, and give that of the one farm as a line."""
    run("letters", folder, "--on", on, "--to", to)
    (text,) = to.glob(f"letter-{on}-*.txt")
    return " ".join(text.read_text(encoding="utf-8").split())


def test_a_look_alike_named_after_the_call_brings_the_block_down_and_a_new_letter_says_why(
    farm: Path, tmp_path: Path
) -> None:
    notified = Notified(
        block="N", species="CM", round_on=FOUND, status="over", notified_on=FOUND, by="Ana", how="phone"
    )
    enter(farm, [notified], "Ana", AT + timedelta(hours=5))
    before = letters(farm, FOUND, tmp_path / "letters")
    assert "N North, Codling moth: over threshold" in before
    assert (
        "2 of the moths counted in trap A1 in N North on Tue 12 May are being identified; the figure may change."
    ) in before

    refused = run("identify", farm, "V-12", "lesser appleworm", "--by", "Wren Tallow", "--scout", "Ana", code=1)
    said = " ".join(refused.stderr.split())
    assert "N CM, 2026-05-12: status over becomes within" in said
    assert "the grower was called on an older figure; told over, shows within" in said
    assert "Hollow Farm, 2026-05-12: the letter written on" in said
    assert "is out of date with this; write it again" in said

    run(
        "identify",
        farm,
        "V-12",
        "lesser appleworm",
        "--by",
        "Wren Tallow",
        "--scout",
        "Ana",
        "--yes",
        "--on",
        WEEK_LATER,
    )
    assert row_of(farm)["status"] == "within"
    after = letters(farm, FOUND, tmp_path / "letters")
    assert "N North, Codling moth: between the two numbers" in after
    assert ", since V-12 from trap A1 was identified as lesser appleworm." in after
    assert (
        "Corrected: 2 of the moths counted in trap A1 in N North on Tue 12 May were lesser appleworm, identified by "
        "Wren Tallow on Tue 19 May, and are taken off the count."
    ) in after
    assert "Corrected: N North, Codling moth, was told as over threshold" in after
    page = (next((tmp_path / "letters").glob(f"letter-{FOUND}-*.html"))).read_text(encoding="utf-8")
    assert "since V-12 from trap A1 was identified as lesser appleworm" in page

    run("identify", farm, "V-12", "codling moth", "--by", "Wren Tallow", "--scout", "Ana", "--yes", "--on", WEEK_LATER)
    again = letters(farm, FOUND, tmp_path / "letters")
    assert "over threshold" in again
    assert "lesser appleworm" not in again.partition("IN SHORT")[2], "only what the letter before said names it"
    assert ", since V-12 from trap A1 was identified as codling moth." in again


def test_a_moth_left_out_that_is_the_traps_own_waits_in_the_letter_and_then_counts(farm: Path, tmp_path: Path) -> None:
    enter(farm, [Specimen(trap="A2", read_on=FOUND, what="unknown", number=1, vial="V-13")])
    before = letters(farm, FOUND, tmp_path / "letters")
    assert (
        "1 from trap A2 in N North on Tue 12 May is being identified, and in no figure unless it turns out to be "
        "codling moth."
    ) in before
    run("identify", farm, "V-13", "CM", "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
    after = letters(farm, FOUND, tmp_path / "letters")
    assert (
        "Corrected: 1 more from trap A2 in N North on Tue 12 May was codling moth, identified by Wren on Tue 12 "
        "May, and is put on"
    ) in after


def test_an_estimate_is_told_as_one_in_summary_letter_season_and_years(farm: Path, tmp_path: Path) -> None:
    counts = (("A1", 1377, True), ("A2", 0, False), ("A3", 3, False))
    enter(farm, [Visit(trap=trap, read_on=WEEK_LATER, count=n, estimated=e) for trap, n, e in counts])
    summary = " ".join(run("summary", farm, "--on", WEEK_LATER).stdout.split())
    assert "mean of the block 460.0" in summary
    assert "1 count is an estimate" in summary
    letter = letters(farm, WEEK_LATER, tmp_path / "letters")
    assert "Catch 460.0~, threshold 3–5" in letter
    assert "~ 1 of the counts behind the catch is an estimate, not a count of every insect." in letter
    assert "Highest trap: 1377.0 (~ with an estimate)." in letter
    assert "the count is an estimate" in letter
    page = (next((tmp_path / "letters").glob(f"letter-{WEEK_LATER}-*.html"))).read_text(encoding="utf-8")
    assert ">460.0~</td>" in page
    assert "1 count is an estimate." in run("season-end", farm, "--on", WEEK_LATER).stdout
    years = run("years", farm, "--species", "CM", "--on", WEEK_LATER).stdout
    assert "Counts that are estimates: 1 in 2026." in years
    next_week = WEEK_LATER + timedelta(days=7)
    enter(farm, [Visit(trap=trap, read_on=next_week, count=0) for trap, _, _ in counts])
    later = " ".join(run("summary", farm, "--on", next_week).stdout.split())
    assert "Previous 460.0 (estimated)" in later
    assert "down from 460.0 the time before, an estimate" in letters(farm, next_week, tmp_path / "letters")


@pytest.mark.parametrize("on", [FOUND, WEEK_LATER])
def test_every_figure_about_a_vial_is_that_of_the_list_of_vials(farm: Path, on: date) -> None:
    enter(farm, [Specimen(trap="A2", read_on=FOUND, what="unknown", number=1, vial="V-13")])
    run("identify", farm, "V-12", "wasp", "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
    vials = {row["id"]: row for row in json.loads(run("vials", farm, "--on", on, "--json").stdout)}
    with closing(open_folder(farm, now=datetime.now(UTC)).conn) as conn:
        letter = compose(read_material(conn, farm, on, read_office(farm)), "HF")
    found = [figure for figure in figures(letter) if figure.place[0] == "vials"]
    assert len(found) == (5 if on == FOUND else 0)
    for figure in found:
        value = figure.value.isoformat() if isinstance(figure.value, date) else figure.value
        assert vials[figure.place[1]][figure.place[2]] == value


def test_the_area_is_told_how_many_traps_rest_on_an_estimate_and_never_which(
    make_folder: MakeFolder, tmp_path: Path
) -> None:
    folder = make_folder(
        farms="farm,name\n" + "".join(f"{farm},Farm {farm}\n" for farm in "ABCD"),
        blocks="block,farm,name,crop\n" + "".join(f"N{farm},{farm},North,apple\n" for farm in "ABCD"),
        traps="trap,block,species,style,hung_on\n"
        + "".join(f"T{farm},N{farm},CM,delta,2026-04-20\n" for farm in "ABCD"),
        routes="route,position,trap\n" + "".join(f"all,{at},T{farm}\n" for at, farm in enumerate("ABCD", 1)),
    )
    run("load", folder)
    weeks = [FOUND - timedelta(days=7), FOUND]
    for day in weeks:
        enter(folder, [Visit(trap=f"T{f}", read_on=day, count=9, estimated=f in "AB" and day == FOUND) for f in "ABCD"])
    out = tmp_path / "out"
    run("update", folder, "--on", FOUND, "--to", out)
    text = " ".join(next(out.glob("*.txt")).read_text(encoding="utf-8").split())
    assert (
        "Codling moth: 9, farms 4, traps 4; up from 4 the week before; blocks without mating disruption; 2 of the "
        "traps rest on"
    ) in text
    assert "; 2 of the traps rest on estimated counts" in next(out.glob("*.html")).read_text(encoding="utf-8")
    # What was published stays, so that a correction tells nobody whose the estimate was.
    with closing(open_folder(folder, now=AT).conn) as conn:
        (old,) = visits_of(conn, "TA", FOUND, FOUND)
    enter(folder, [replace(old, estimated=False, replaces=old.id, id="", reason="counted after all")])
    run("update", folder, "--on", FOUND, "--to", out)
    assert "2 of the traps rest on estimated" in " ".join(next(out.glob("*.txt")).read_text(encoding="utf-8").split())


def test_a_second_count_that_differs_changes_no_letter_and_is_weighed_against_the_first(
    farm: Path, tmp_path: Path
) -> None:
    before = letters(farm, FOUND, tmp_path / "before")
    sheet = tmp_path / "second.csv"
    sheet.write_text(f"trap,read_on,count,recount\nA2,{FOUND},5,yes\n", encoding="utf-8")
    run("enter", farm, sheet, "--scout", "Bo")
    assert row_of(farm)["mean_per_week"] == 5.0
    assert "N North, Codling moth: over threshold" in before
    assert letters(farm, FOUND, tmp_path / "after") == before
    found = json.loads(run("agreement", farm, "--json").stdout)
    assert (found["pairs"], found["alike"], found["mean_difference"]) == (1, 0, 2)
    (pair,) = found["counts"]
    assert (pair["first_count"], pair["second_count"], pair["second"]) == (3, 5, "Bo")
