"""Giving the record out and withdrawing it, at the command line."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from roundtui.cli import main
from roundtui.store.folder import open_folder
from roundtui.store.hub.regular import meet
from tests.conftest import NOW, MakeFolder, write_folder
from tests.store.stored import add_newer


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def farm(folder: Path, tmp_path: Path) -> Path:
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("trap,read_on,count\nA1,2026-05-18,4\nA2,2026-05-18,0\n")
    assert run("enter", folder, sheet, "--scout", "Ada").exit_code == 0
    return folder


def test_everything_goes_out_and_comes_back(farm: Path, tmp_path: Path) -> None:
    done = run("export", farm, "--to", tmp_path / "out", "--on", "2026-05-18")
    assert done.exit_code == 0, done.stderr
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "calendar.ics",
        "data",
        "datapackage.json",
        "routes.gpx",
        "traps.geojson",
    ]
    assert "routes.gpx: no trap that hangs has coordinates" in done.stderr
    assert done.stdout == ""
    back = run("import", tmp_path / "again", tmp_path / "out")
    assert back.exit_code == 0, back.stderr
    assert "again: 1 farm, 2 blocks, 2 lots, 4 traps, 4 stops, 2 visits, 13 set-up changes\n" in back.stderr
    words = ("summary", "--on", "2026-05-18", "--json")
    assert run(words[0], tmp_path / "again", *words[1:]).stdout == run(words[0], farm, *words[1:]).stdout


@pytest.mark.parametrize("most", [1, 2])
def test_what_only_a_newer_program_knows_is_said_however_it_comes(tmp_path: Path, most: int) -> None:
    say, need = (("1 of them says", "1 of them needs"), ("2 of them say", "2 of them need"))[most - 1]
    line = f"{say} something that only a newer roundtui understands: it is kept and handed on; install the newer"
    desk, van, truck, car = (write_folder(tmp_path / name) for name in ("desk", "van", "truck", "car"))
    with closing(open_folder(desk, now=NOW).conn) as conn:
        add_newer(conn, most)
    assert run("export", desk, "--to", tmp_path / "out").exit_code == 0
    assert line in run("import", tmp_path / "again", tmp_path / "out").stderr
    assert run("pack", desk, "--to", tmp_path / "one.bundle").exit_code == 0
    assert line in run("merge", van, tmp_path / "one.bundle").stderr
    (shared := tmp_path / "shared").mkdir()
    assert "of them" not in run("exchange", desk, shared).stderr
    assert meet(truck, str(shared), "truck", NOW).words.endswith(f"taken in, {need} a newer roundtui")
    assert line in run("exchange", car, shared).stderr


def test_one_form_alone(farm: Path, tmp_path: Path) -> None:
    assert run("export", farm, "--to", tmp_path / "out", "--format", "ics").exit_code == 0
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["calendar.ics"]


def test_traps_without_coordinates_are_named(make_folder: MakeFolder, tmp_path: Path) -> None:
    traps = "trap,block,species,lat,lon\nA1,N,CM,-48.87,-123.39\nA2,N,CM,,\nA3,N,CM,,\nA4,S,OFM,,\n"
    done = run("export", make_folder(traps=traps), "--to", tmp_path / "out", "--format", "gpx")
    assert "routes.gpx: 1 trap\n" in done.stderr
    assert "without coordinates: A2, A3, A4" in done.stderr


def test_the_scouting_folder_itself_is_no_place_for_them(farm: Path) -> None:
    before = sorted(farm.iterdir())
    done = run("export", farm, "--to", farm)
    assert (done.exit_code, sorted(farm.iterdir())) == (1, before)
    assert "name another folder" in done.stderr


@pytest.mark.parametrize("form", ["gpx", "ics"])
def test_a_route_nobody_has(farm: Path, tmp_path: Path, form: str) -> None:
    done = run("export", farm, "--to", tmp_path / "out", "--format", form, "--route", "hoem")
    assert done.exit_code == 1
    assert done.stderr.startswith("there is no route hoem")


def test_a_folder_in_use_is_not_overwritten(farm: Path, tmp_path: Path) -> None:
    run("export", farm, "--to", tmp_path / "out")
    done = run("import", farm, tmp_path / "out")
    assert done.exit_code == 1
    assert "is there already" in done.stderr


FARMS = "farm,name,grower,phone,property_no\nHF,Hill Farm,Wren,555-0101,NZ-77\nGF,Glen Farm,Secret Name,555-0199,\n"
BLOCKS = "block,farm,name,crop,unit_no,markets\nN,HF,North,apple,U-1,Taiwan\nS,GF,South,apple,,\n"
TRAPS = (
    "trap,block,species,hung_on,down_on\nA1,N,CM,2026-04-20,2026-05-12\nA1,S,CM,2026-05-12,\nA2,N,CM,2026-04-20,\n"
    "A3,N,CM,2026-04-20,\nA4,S,OFM,2026-04-20,\n"
)


def test_the_inspectors_file_is_complete_and_holds_no_word_of_another_farm(
    make_folder: MakeFolder, tmp_path: Path
) -> None:
    """A1 moved to the neighbour on 12 May: what it caught there is the neighbour's."""
    folder, sheet, out = make_folder(farms=FARMS, blocks=BLOCKS, traps=TRAPS), tmp_path / "sheet.csv", tmp_path / "out"
    sheet.write_text(
        "trap,read_on,count,note\nA1,2026-05-04,4,\nA1,2026-05-18,9,glen gate\nA2,2026-05-18,0,\nA4,2026-05-18,3,glen\n"
    )
    assert run("enter", folder, sheet, "--scout", "Ada").exit_code == 0
    done = run("export", folder, "--farm", "HF", "--to", out)
    assert done.exit_code == 0, done.stderr
    page = (out / "inspection.txt").read_text()
    assert "Property number: NZ-77" in page
    assert "N North: unit U-1, area not on record, markets: Taiwan" in page
    assert "Check of the whole record: sound. Digest of datapackage.json (SHA-256): " in page
    visits = (out / "data" / "visits.csv").read_text()
    assert [visits.count(words) for words in ("2026-05-04", "2026-05-18")] == [1, 1]
    everything = " ".join(path.read_text() for path in out.rglob("*.*"))
    assert not any(words in everything for words in ("Glen", "glen", "Secret", "555-0199", "A4"))
    assert run("export", folder, "--farm", "XX", "--to", out).exit_code == 1

    # What was sent is kept, and the next one says what came since: a correction of a week that the agency has.
    assert "Sent to agencies before\n  nothing on record" in page
    sent = ("export", folder, "--farm", "HF", "--sent-to", "Ministry", "--scout", "Ada", "--to")
    assert run(*sent, tmp_path / "first").exit_code == 0
    sheet.write_text("trap,read_on,count,read_at,position\nA3,2026-05-18,1,09:40,47.40000 -120.30000\n")
    assert run("enter", folder, sheet, "--scout", "Ada").exit_code == 0
    assert run(*sent, tmp_path / "second").exit_code == 0
    assert (
        " UTC to Ministry by Ada, 1 entry or correction of these since; digest "
        in (tmp_path / "second" / "inspection.txt").read_text()
    )
    assert ",09:40,47.40000 -120.30000," in (tmp_path / "second" / "data" / "visits.csv").read_text()
