"""Vials, their naming and second counts by command."""

from __future__ import annotations

import json
from collections.abc import Iterable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from roundtui.cli import main
from roundtui.domain.entries import Specimen, Visit
from roundtui.domain.round.specimens import taken_off
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from roundtui.store.round.recounts import other_catch
from tests.conftest import MakeFolder

FOUND = date(2026, 5, 12)
AT = datetime(2026, 5, 12, 9, tzinfo=UTC)


def enter(folder: Path, entries: Iterable[Any], scout: str = "Ida", at: datetime = AT) -> None:
    with closing(open_folder(folder, now=at).conn) as conn:
        record(conn, list(entries), Author(scout, "truck"), at)


def run(*arguments: object, code: int = 0) -> Result:
    found = CliRunner().invoke(main, [str(one) for one in arguments])
    assert found.exit_code == code, (found.output, found.stderr)
    return found


@pytest.fixture
def farm(make_folder: MakeFolder) -> Path:
    """Three traps of block N read on the same day: 9, 3 and 3; two of the nine are doubtful."""
    folder = make_folder()
    run("load", folder)
    week_before = [Visit(trap=trap, read_on=date(2026, 5, 5), count=0) for trap in ("A1", "A2", "A3")]
    enter(folder, week_before, at=datetime(2026, 5, 5, 9, tzinfo=UTC))
    enter(folder, [Visit(trap=trap, read_on=FOUND, count=n) for trap, n in (("A1", 9), ("A2", 3), ("A3", 3))])
    enter(folder, [Specimen(trap="A1", read_on=FOUND, what="look-alike", number=2, vial="V-12", in_count=True)])
    return folder


def row_of(folder: Path, on: date = FOUND) -> dict[str, Any]:
    rows = json.loads(run("summary", folder, "--on", on, "--json").stdout)["blocks"]
    return next(row for row in rows if row["block"] == "N")


def test_a_look_alike_is_named_and_the_status_falls_from_over_to_within(farm: Path) -> None:
    assert (row_of(farm)["mean_per_week"], row_of(farm)["status"]) == (5.0, "over")
    notified = run("summary", farm, "--on", FOUND).stdout
    assert (
        "2 look-alikes in vial V-12 not identified yet, counted as the trap's pest until then: the figure may change"
        in " ".join(notified.split())
    )
    refused = run("identify", farm, "V-12", "lesser appleworm", "--by", "Wren", "--scout", "Ana", code=1)
    assert "N CM, 2026-05-12: status over becomes within" in refused.stderr
    assert "add --yes" in refused.stderr
    assert row_of(farm)["status"] == "over"
    done = run("identify", farm, "v-12", "Lesser Appleworm", "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
    assert "V-12 is lesser appleworm, named by Wren: 2 taken off; the count is 7" in done.stderr
    assert (row_of(farm)["mean_per_week"], row_of(farm)["status"]) == (13 / 3, "within")
    notified = " ".join(run("summary", farm, "--on", FOUND).stdout.split())
    assert "V-12 is lesser appleworm, named Tue 12 May 2026 by Wren; 2 taken off its count" in notified
    (vial,) = json.loads(run("vials", farm, "--json").stdout)
    assert (vial["open"], vial["own"], vial["taken_off"], vial["id"]) == (False, False, 2, done.stdout.strip())
    both = json.loads(run("replay", farm, "--on", FOUND, "--json").stdout)
    fixed = [row for row in both if row["kind"] == "visit" and row["replaces"]]
    assert [(row["count"], row["present"]) for row in fixed] == [(7, True)]
    assert len([row for row in both if row["kind"] == "specimen"]) == 2


WATCH = """[[find]]
species = "CM"
finds = 2
within_m = 1000
days = 60
zones_m = [1000]
clear_days = 84
act_hours = 48
source = "an invented work plan"
"""
PLACES = (
    "trap,block,species,style,hung_on,lat,lon\n"
    "A1,N,CM,delta,2026-04-20,47.4,-120.3\nA2,N,CM,delta,2026-04-20,47.40719,-120.3\n"
    "A3,N,CM,delta,2026-04-20,47.409,-120.3\nA4,S,OFM,delta,2026-04-20,47.4001,-120.3\n"
)


def test_finds_are_watched_until_the_wait_is_over_and_across_the_new_year(make_folder: MakeFolder) -> None:
    """799 m apart is an outbreak; the zone, the deadline and the wait are said, and the traps that hold it.

    On the first days of the next season the wait goes on, though no trap of that season has caught anything.
    """
    folder = make_folder(traps=PLACES)
    assert "plan.toml watches for nothing" in run("finds", folder).stdout
    (folder / "plan.toml").write_text(WATCH, encoding="utf-8")
    enter(folder, [Visit(trap="A1", read_on=date(2026, 11, 3), count=1), Visit(trap="A3", read_on=FOUND, count=0)])
    assert "CM, 2 within 1000 m in 60 days: not met. an invented work plan" in run("finds", folder).stdout
    enter(folder, [Specimen(trap="A3", read_on=date(2026, 11, 3), what="unknown", number=1, vial="V-1")])
    assert "cannot tell (the catch of A3 is not settled)" in run("finds", folder).stdout
    enter(folder, [Visit(trap="A2", read_on=date(2026, 12, 15), count=1)], at=datetime(2026, 12, 15, 9, tzinfo=UTC))
    for on in (date(2026, 12, 31), date(2027, 1, 1)):
        said = run("finds", folder, "--on", on).stdout
        assert ": met." in said
        assert "  A2 [N], 2026-12-15: 1\n  A1 [N], 2026-11-03: 1, 799 m from the last\n" in said
        assert "within 1000 m of a find: traps A1, A2 and A3; blocks N and S" in said
        assert "the rule gives until 2026-12-17 09:00 UTC" in said
        assert said.endswith("the wait since the last find ends on 2027-03-09\n")
    late = run("finds", folder, "--on", "2027-03-09").stdout
    assert late.endswith("ends on 2027-03-09; not read since: A1, A2 and A3\n")
    (row,) = json.loads(run("finds", folder, "--on", "2027-03-09", "--json").stdout)
    assert (row["met"], row["clear_on"], row["not_read"]) == (True, "2027-03-09", ["A1", "A2", "A3"])
    assert [(one["trap"], one["number"], one["metres"]) for one in row["near"]] == [("A2", 1, 0), ("A1", 1, 799)]


def test_no_catch_near_a_block_is_said_only_as_far_as_the_traps_can_tell(make_folder: MakeFolder) -> None:
    folder = make_folder(traps=PLACES)
    near = ("finds", folder, "--near", "codling moth", "s", "800", "--on", FOUND)
    assert "2026-05-12: nobody can say." in run(*near).stdout, "nobody has read a trap yet"
    enter(
        folder, [Visit(trap=trap, read_on=date(2026, 5, 11), count=n) for trap, n in (("A1", 0), ("A2", 0), ("A3", 5))]
    )
    enter(folder, [Specimen(trap="A1", read_on=date(2026, 5, 11), what="wasp", number=2)])
    said = run(*near).stdout
    assert said.startswith("CM within 800 m of S, 2026-01-01 to 2026-05-12: no catch.\nTraps: A1 and A2.")
    assert "Valid readings: 2. Trap-nights: 42 covered, 2 not." in said
    enter(folder, [Specimen(trap="A2", read_on=date(2026, 5, 11), what="unknown", number=1, vial="V-1")])
    said = run(*near).stdout
    assert "nobody can say." in said
    assert "Not settled: the catch of A2." in said
    assert json.loads(run(*near, "--json").stdout)["not_settled"] == ["A2"]
    for species, block, words in (("XX", "S", "no species XX"), ("CM", "Q", "no block Q")):
        assert words in run("finds", folder, "--near", species, block, "800", code=1).stderr


def test_a_name_is_undone_by_naming_again(farm: Path) -> None:
    for what, count, status in (("lesser appleworm", 7, "within"), ("CM", 9, "over"), ("unknown", 9, "over")):
        run("identify", farm, "V-12", what, "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
        with closing(open_folder(farm, now=AT).conn) as conn:
            assert [one.what for one in other_catch(conn, FOUND)] == [what]
        replay = json.loads(run("replay", farm, "--on", FOUND, "--json").stdout)
        (visit,) = [r for r in replay if r["kind"] == "visit" and r["present"] and r["trap"] == "A1"][-1:]
        assert (visit["count"], row_of(farm)["status"]) == (count, status)
    assert "V-12" in run("vials", farm, "--open", "--on", FOUND).stdout


def test_the_traps_own_that_was_left_out_goes_on_top(farm: Path) -> None:
    enter(farm, [Specimen(trap="A2", read_on=FOUND, what="unknown", number=3, vial="V-13")])
    done = run("identify", farm, "V-13", "codling moth", "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
    assert "V-13 is CM, named by Wren: 3 put on; the count is 6" in done.stderr
    assert row_of(farm)["mean_per_week"] == 6.0


def test_part_of_a_vial_is_named_and_the_rest_waits(farm: Path) -> None:
    run("identify", farm, "V-12", "wasp", "--by", "Wren", "--number", 1, "--scout", "Ana", "--yes", "--on", FOUND)
    rows = json.loads(run("vials", farm, "--on", FOUND, "--json").stdout)
    assert sorted((row["what"], row["number"], row["open"]) for row in rows) == [
        ("look-alike", 1, True),
        ("wasp", 1, False),
    ]
    assert row_of(farm)["mean_per_week"] == 14 / 3


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["V-99", "wasp", "--by", "Wren"], "there is no vial V-99"),
        (["V-12", "codlin moth", "--by", "Wren"], "did you mean codling moth?"),
        (["V-12", "wasp", "--by", "  "], "a name needs who gave it"),
        (["V-12", "wasp", "--by", "Wren", "--number", "3"], "3 of 2 cannot be named"),
        (["V-12", "wasp", "--by", "Wren", "--on", "2026-05-01"], "named before it was found"),
        (["V-12", "look-alike", "--by", "", "--number", "2"], "a name needs who gave it"),
    ],
)
def test_what_cannot_be_named_is_refused_in_words(farm: Path, arguments: list[str], message: str) -> None:
    found = run("identify", farm, *arguments, "--scout", "Ana", code=1)
    assert message in found.stderr
    assert "Traceback" not in found.output


def test_one_number_on_two_vials_is_asked_about_with_their_ids(farm: Path) -> None:
    enter(farm, [Specimen(trap="A3", read_on=FOUND, what="unknown", number=1, vial="V-12", in_count=True)], "Ben")
    found = run("identify", farm, "V-12", "wasp", "--by", "Wren", "--scout", "Ana", "--yes", code=1)
    assert "V-12 stands for several: A1 on 2026-05-12" in found.stderr
    ids = [row["id"] for row in json.loads(run("vials", farm, "--on", FOUND, "--json").stdout)]
    run("identify", farm, ids[-1], "wasp", "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
    assert row_of(farm)["mean_per_week"] == 14 / 3


def test_a_specimen_on_which_a_count_hangs_is_not_simply_withdrawn(farm: Path) -> None:
    done = run("identify", farm, "V-12", "wasp", "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
    found = run("withdraw", farm, done.stdout.strip(), "--reason", "slip", "--scout", "Ana", "--yes", code=1)
    assert "a count depends on V-12 being wasp" in found.stderr
    run("identify", farm, "V-12", "unknown", "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
    (open_id,) = [row["id"] for row in json.loads(run("vials", farm, "--open", "--on", FOUND, "--json").stdout)]
    run("withdraw", farm, open_id, "--reason", "slip", "--scout", "Ana", "--yes")
    with closing(open_folder(farm, now=AT).conn) as conn:
        known = programme(conn)
        assert [taken_off(one, known) for one in other_catch(conn, FOUND)] == []
    assert row_of(farm)["mean_per_week"] == 5.0


def test_a_file_of_specimens_leaves_naming_to_the_command(farm: Path, tmp_path: Path) -> None:
    path = tmp_path / "more.csv"
    path.write_text(
        "trap,read_on,what,number,vial,in_count\nA2,2026-05-12,spider,1,,no\nA2,2026-05-12,unknown,1,V-14,yes\n"
    )
    run("record", "specimens", farm, path, "--scout", "Ida")
    assert len(json.loads(run("vials", farm, "--on", FOUND, "--json").stdout)) == 3
    assert "1 spider" in run("summary", farm, "--on", FOUND).stdout
    path.write_text(
        "trap,read_on,what,number,in_count,identified_on,identified_by\nA3,2026-05-12,wasp,1,yes,2026-05-12,Wren\n"
    )
    assert "name it with roundtui identify" in run("record", "specimens", farm, path, "--scout", "Ida", code=1).stderr


def test_second_counts_are_no_catch_and_say_how_far_two_people_agree(farm: Path) -> None:
    before = row_of(farm)
    again = [Visit(trap=trap, read_on=FOUND, count=n, recount=True) for trap, n in (("A1", 9), ("A2", 4), ("A3", 3))]
    enter(farm, again, "Ben")
    assert row_of(farm) == before
    run("identify", farm, "V-12", "lesser appleworm", "--by", "Wren", "--scout", "Ana", "--yes", "--on", FOUND)
    found = json.loads(run("agreement", farm, "--on", FOUND, "--json").stdout)
    # Both saw nine at the trap: that two were named since is no disagreement, and Ana, who entered it, counted nothing.
    assert (found["pairs"], found["alike"], found["enough"], found["kappa"]) == (3, 2, False, None)
    assert found["scouts"] == [{"first": "Ida", "second": "Ben", "pairs": 3, "alike": 2, "mean_difference": 1 / 3}]
    assert found["asked"]["home"] in (["A1"], ["A2"], ["A3"], ["A4"])
    newest = json.loads(run("agreement", farm, "--json").stdout)
    assert (newest["on"], newest["pairs"]) == (FOUND.isoformat(), 3), "from the newest day on record, not from today"
    words = run("agreement", farm, "--on", FOUND).stdout
    assert "Too few to say how far counters agree: it takes 10." in words
    assert "Exactly alike: 2 of 3, 67 in 100" in words
    assert "Ben after Ida: 2 of 3 alike, +0.3 on average." in words


def test_a_season_of_second_counts_gives_the_statistic_and_reaches_the_seasons_end(farm: Path) -> None:
    days = [FOUND + timedelta(days=7 * week) for week in range(1, 5)]
    enter(
        farm,
        [
            Visit(trap=t, read_on=d, count=(7 * at + k) % 11)
            for at, d in enumerate(days)
            for k, t in enumerate(("A1", "A2", "A3"))
        ],
    )
    enter(
        farm,
        [
            Visit(trap=t, read_on=d, count=(7 * at + k) % 11 + (k == 2), recount=True)
            for at, d in enumerate(days)
            for k, t in enumerate(("A1", "A2", "A3"))
        ],
        "Ben",
    )
    found = json.loads(run("agreement", farm, "--on", days[-1], "--json").stdout)
    assert (found["pairs"], found["alike"], found["enough"]) == (12, 8, True)
    assert found["kappa"] is not None
    end = run("season-end", farm, "--on", days[-1]).stdout
    assert "12 catches recounted by another person." in end
    assert f"Cohen's kappa: {found['kappa']:.2f}" in end
    past = json.loads(run("agreement", farm, "--season", "2025", "--on", days[-1], "--json").stdout)
    assert (past["pairs"], past["on"], past["share"], past["asked"]) == (0, "2025-12-31", None, {})
