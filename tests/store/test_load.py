"""Set-up files: all of a folder or nothing, and each fault named with its place."""

from __future__ import annotations

import csv
import io
import sqlite3
from contextlib import closing
from datetime import date, datetime
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import Visit
from roundtui.domain.programme.farm import Farm, Station
from roundtui.errors import ProblemsError
from roundtui.store.connect import open_store
from roundtui.store.folder import open_folder
from roundtui.store.office import newer_files
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from roundtui.store.set_up.columns import BY_NAME
from roundtui.store.set_up.load import load_folder
from roundtui.store.set_up.register import carry_out, edited, row_of
from roundtui.store.set_up.versions import open_rows
from tests.conftest import BLOCKS, FARMS, TRAPS, MakeFolder, write_folder


def faults(folder: Path, now: datetime) -> list[str]:
    """What a load of a folder is refused for."""
    with pytest.raises(ProblemsError) as caught:
        open_folder(folder, now=now)
    assert all(problem.hint for problem in caught.value.problems)
    return [f"{problem.where}: {problem.message}" for problem in caught.value.problems]


def hints(folder: Path, now: datetime) -> list[str]:
    with pytest.raises(ProblemsError) as caught:
        open_folder(folder, now=now)
    return [problem.hint for problem in caught.value.problems]


def test_a_folder_is_read_as_it_stands(make_folder: MakeFolder, now: datetime) -> None:
    folder = make_folder(
        stations="station,name,lat,lon,elevation_m,timezone\nV,Vale,40.1,-77.2,160,America/New_York\n",
        blocks="block,farm,name,crop,variety,area_ha,disrupted,station,no_entry_before\n"
        "N,HF,North,apple,Rustwick,2.40,yes,V,2026-05-22\nS,HF,South,pear,,,,,\n",
        lures="lot,species,load_mg,life_days,note,bought_on,expires_on\n"
        "CM26,cm,0.1,42,cold store,2026-03-01,2027-12-31\nOFM26,Oriental Fruit Moth,,,,,\n",
        weather="station,date,tmin,tmax,unit,observed_at\nV,2026-05-01,41.5,66,F,17:00\nV,2026-05-02,,,,\n",
    )
    with closing(open_folder(folder, now=now).conn) as conn:
        known = programme(conn)
        weather = conn.execute("SELECT day, tmin, tmax, unit, observed_at FROM present_weather").fetchall()
    block = known.blocks["N"]
    assert (block.area_ha, block.disrupted, block.station) == (Fraction(12, 5), True, "V")
    assert block.no_entry_before == date(2026, 5, 22)
    assert known.blocks["S"].area_ha is None
    assert known.farms["HF"] == Farm("HF", "Hollow Farm", "Ada Birch", phone="555-0101")
    assert known.stations["V"] == Station("V", "Vale", 40.1, -77.2, 160.0, "America/New_York")
    assert known.lots["CM26"].load_mg == Fraction(1, 10)
    assert (known.lots["CM26"].species, known.lots["OFM26"].species) == ("CM", "OFM")
    assert known.routes == {"home": ("A1", "A2", "A3", "A4")}
    assert weather == [("2026-05-01", 41.5, 66.0, "F", "17:00")]


def test_loading_again_changes_nothing(folder: Path, store: sqlite3.Connection, now: datetime) -> None:
    assert not newer_files(store, folder)
    report = load_folder(store, folder, now)
    assert not report.changed
    assert {name: file.same for name, file in report.files.items()} == {
        "farms.csv": 1,
        "blocks.csv": 2,
        "lures.csv": 2,
        "traps.csv": 4,
        "routes.csv": 4,
    }


def test_a_row_that_changed_is_applied_and_the_others_are_left(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    write_folder(folder, farms=FARMS.replace("555-0101", "555-0199") + "LM,Long Meadow,,\n")
    report = load_folder(store, folder, now)
    assert (report.files["farms.csv"].added, report.files["farms.csv"].changed) == (1, 1)
    assert programme(store).farms["HF"].phone == "555-0199"


def test_a_row_that_vanished_stays_and_is_mentioned(folder: Path, store: sqlite3.Connection, now: datetime) -> None:
    write_folder(folder, traps=TRAPS.replace("A3,N,CM,delta,2026-04-20\n", ""), routes=None)
    remarks = [str(remark) for remark in load_folder(store, folder, now).remarks]
    assert "A3" in programme(store).hangings
    assert programme(store).routes == {"home": ("A1", "A2", "A3", "A4")}
    assert remarks == [
        "traps.csv: a row is no longer in the file: A3, 2026-04-20 (what was loaded before stays on record)",
        "routes.csv: is no longer in the folder (what was loaded before stays on record)",
    ]


def test_a_trap_hung_again_has_a_further_row(folder: Path, store: sqlite3.Connection, now: datetime) -> None:
    write_folder(folder, traps=TRAPS + "A1,S,CM,delta,2026-05-10\n")
    load_folder(store, folder, now)
    hangings = programme(store).hangings["A1"]
    assert [(row.block, row.hung_on, row.down_on) for row in hangings] == [
        ("N", date(2026, 4, 20), date(2026, 5, 10)),
        ("S", date(2026, 5, 10), None),
    ]


def test_a_row_overwritten_for_a_trap_that_moved_keeps_the_old_hanging(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    write_folder(folder, traps=TRAPS.replace("A1,N,CM,delta,2026-04-20", "A1,S,CM,delta,2026-05-10"))
    load_folder(store, folder, now)
    assert [row.block for row in programme(store).hangings["A1"]] == ["N", "S"]


def test_a_date_of_hanging_that_is_corrected_is_the_same_hanging(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    record(store, [Visit(trap="A1", read_on=date(2026, 4, 27), count=1)], Author("Ada", "truck"), now)
    write_folder(folder, traps=TRAPS.replace("A1,N,CM,delta,2026-04-20", "A1,N,CM,delta,2026-04-18"))
    report = load_folder(store, folder, now)
    assert [row.hung_on for row in programme(store).hangings["A1"]] == [date(2026, 4, 18)]
    assert [remark.message for remark in report.remarks] == ["A1 was hung on 2026-04-18, not on 2026-04-20"]
    assert not load_folder(store, folder, now).remarks


def test_a_new_date_with_readings_between_is_another_hanging(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    record(store, [Visit(trap="A1", read_on=date(2026, 4, 27), count=1)], Author("Ada", "truck"), now)
    write_folder(folder, traps=TRAPS.replace("A1,N,CM,delta,2026-04-20", "A1,N,CM,delta,2026-05-10"))
    load_folder(store, folder, now)
    assert [row.hung_on for row in programme(store).hangings["A1"]] == [date(2026, 4, 20), date(2026, 5, 10)]


def test_a_row_changed_in_the_app_as_well_is_a_conflict_to_settle(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    farms = BY_NAME["farms.csv"]
    edit = edited(farms, row_of(store, farms, "HF"), {"phone": "555-0000"}, now.date())
    carry_out(store, edit, Author("Ada", "desk"), now)
    assert not load_folder(store, folder, now).changed
    assert programme(store).farms["HF"].phone == "555-0000"
    write_folder(folder, farms=FARMS.replace("555-0101", "555-0199"))
    report = load_folder(store, folder, now)
    assert [str(problem) for problem in report.contested] == [
        "farms.csv, line 2: HF was changed in the file and here as well; it stays as it is here"
        " (see roundtui conflicts, and settle it in the app)"
    ]
    assert programme(store).farms["HF"].phone == "555-0000"
    assert load_folder(store, folder, now).contested == []
    (row,) = open_rows(store)
    assert (row.label, row.columns, [offer.values["phone"] for offer in row.offers]) == ("HF", ("phone",), ["555-0199"])
    write_folder(folder, farms=FARMS.replace("555-0101", "555-0000"))
    load_folder(store, folder, now)
    assert open_rows(store) == ()
    load_folder(store, folder, now)
    write_folder(folder, farms=FARMS.replace("555-0101", "555-0042"))
    load_folder(store, folder, now)
    assert programme(store).farms["HF"].phone == "555-0042"


def test_a_trap_never_gets_another_species(folder: Path, store: sqlite3.Connection, now: datetime) -> None:
    write_folder(folder, traps=TRAPS + "A1,N,OFM,delta,2026-05-10\n")
    with pytest.raises(ProblemsError) as caught:
        load_folder(store, folder, now)
    (problem,) = caught.value.problems
    assert problem.where == "traps.csv, line 6, species"
    assert problem.message == "A1 is a trap for CM and cannot become one for OFM"
    assert "hang a new trap" in problem.hint


def test_all_or_nothing(folder: Path, store: sqlite3.Connection, now: datetime) -> None:
    write_folder(folder, farms=FARMS + "LM,Long Meadow,,\n", routes="route,position,trap\nhome,1,A9\n")
    with pytest.raises(ProblemsError):
        load_folder(store, folder, now)
    assert list(programme(store).farms) == ["HF"]
    assert newer_files(store, folder)


@pytest.mark.parametrize(
    ("files", "fault"),
    [
        ({"farms": "farm,nmae\nHF,x\n"}, "farms.csv, line 1: unknown column nmae"),
        ({"farms": "farm,name,phone,phone\nHF,x,,\n"}, "farms.csv, line 1: the column phone is there twice"),
        ({"farms": "farm,name,\nHF,x,\n"}, "farms.csv, line 1: column 3 has no name"),
        ({"farms": "farm\nHF\n"}, "farms.csv, line 1: the column name is missing"),
        ({"farms": ""}, "farms.csv: is empty"),
        ({"farms": "farm,name\nHF\n"}, "farms.csv, line 2: 1 field where the header has 2"),
        ({"farms": "farm,name\nHF,Hollow, Farm\n"}, "farms.csv, line 2: 3 fields where the header has 2"),
        ({"farms": "farm,name\nHF,\n"}, "farms.csv, line 2, name: is blank"),
        ({"farms": "farm,name\n,x\n"}, "farms.csv, line 2, farm: is blank"),
        ({"farms": "farm,name\nHF,x\nHF,y\n"}, "farms.csv, line 3: a second row for HF"),
        ({"farms": "farm;name\nHF;x\n"}, "farms.csv, line 1: the columns are separated by semicolons"),
        ({"farms": "farm\tname\nHF\tx\n"}, "farms.csv, line 1: the columns are separated by tabs"),
        ({"farms": b"farm,name\nHF,x\nH\xfcgel,y\n"}, "farms.csv, line 3: is not UTF-8 text"),
        ({"farms": "farm,name\nHF,x\n".encode("utf-16")}, "farms.csv: is UTF-16, not UTF-8"),
        ({"farms": b"PK\x03\x04rest"}, "farms.csv: is a spreadsheet, not a CSV file"),
        ({"farms": b"farm,name\nHF,x\x00\n"}, "farms.csv, line 2: holds a NUL character, so it is no text"),
        ({"farms": 'farm,name\nHF,"x\n'}, "farms.csv, line 2: cannot be read as CSV: unexpected end of data"),
        (
            {"farms": "farm,name,visit_last\nHF,x,maybe\n"},
            "farms.csv, line 2, visit_last: 'maybe' is neither yes nor no",
        ),
        ({"farms": f"farm,name\n{'H' * 61},x\n"}, "farms.csv, line 2, farm: has 61 characters"),
        (
            {"farms": "farm,name\nH\u202eF,x\n"},
            "farms.csv, line 2, farm: 'H\N{REPLACEMENT CHARACTER}F' holds characters that cannot be seen",
        ),
        ({"blocks": BLOCKS.replace("S,HF", "S,HX")}, "blocks.csv, line 3, farm: there is no farm HX"),
        (
            {"blocks": 'block,farm,name,crop,area_ha\nN,HF,n,apple,"2,5"\nS,HF,s,apple,\n'},
            "blocks.csv, line 2, area_ha: '2,5' is no number",
        ),
        (
            {"blocks": "block,farm,name,crop,station\nN,HF,n,apple,V\nS,HF,s,apple,\n"},
            "blocks.csv, line 2, station: there is no station V",
        ),
        ({"lures": "lot,species\nCM26,CN\nOFM26,OFM\n"}, "lures.csv, line 2, species: 'CN' is no species known here"),
        ({"lures": "lot,species\nnone,CM\n"}, "lures.csv, line 2, lot: a lot cannot be called 'none'"),
        (
            {"lures": "lot,species,life_days\nCM26,CM,0\n"},
            "lures.csv, line 2, life_days: '0' is no whole number from 1 to 3660",
        ),
        (
            {"traps": TRAPS.replace("A2,N,CM,delta,2026-04-20", "A2,N,CM,delta,20.4.2026")},
            "traps.csv, line 3, hung_on: '20.4.2026' is no date",
        ),
        (
            {"traps": TRAPS.replace("A2,N,CM,delta,2026-04-20", "A2,N,CM,delta,2026-02-30")},
            "traps.csv, line 3, hung_on: '2026-02-30' is no date",
        ),
        ({"traps": TRAPS + "A1,N,CM,delta,2026-04-20\n"}, "traps.csv, line 6: a second row for A1, 2026-04-20"),
        ({"traps": TRAPS.replace("A2,N", "A2,M")}, "traps.csv, line 3, block: there is no block M"),
        (
            {"traps": "trap,block,species,hung_on,down_on\nA1,N,CM,2026-04-20,2026-04-19\n", "routes": None},
            "traps.csv, line 2, down_on: 2026-04-19 is before it was hung",
        ),
        (
            {"traps": "trap,block,species,lot\nA1,N,CM,CM62\n", "routes": None},
            "traps.csv, line 2, lot: there is no lot CM62",
        ),
        (
            {"traps": "trap,block,species,lat\nA1,N,CM,91\n", "routes": None},
            "traps.csv, line 2, lat: 91 is impossible",
        ),
        ({"routes": "route,position,trap\nhome,1,A9\n"}, "routes.csv, line 2, trap: there is no trap A9"),
        (
            {"routes": "route,position,trap\nhome,first,A1\n"},
            "routes.csv, line 2, position: 'first' is no whole number from 0 to 999999",
        ),
        ({"routes": "route,position,trap\nhome,1,A1\nhome,1,A2\n"}, "routes.csv, line 3: a second place for home, 1"),
        (
            {"weather": "station,date,tmin,tmax\nV,2026-05-01,1,2\n"},
            'weather.csv, line 2: station: "V" is unknown',
        ),
        (
            {"stations": "station,name\nV,Vale\n", "weather": "station,date,tmin,tmax\nV,2026-05-01,20,2\n"},
            "weather.csv, line 2: 2026-05-01: the minimum 20 is above the maximum 2",
        ),
        (
            {"stations": "station,name\nV,Vale\n", "weather": "station,date,tmin,tmax,unit\nV,2026-05-01,1,2,K\n"},
            'weather.csv, line 2: unit: "K" is no unit',
        ),
    ],
)
def test_each_fault_is_named_with_file_line_and_column(
    make_folder: MakeFolder, now: datetime, files: dict[str, str | bytes], fault: str
) -> None:
    assert fault in faults(make_folder(**files), now)


def test_a_line_is_counted_over_notes_of_several_lines(make_folder: MakeFolder, now: datetime) -> None:
    traps = 'trap,block,species,note\nA1,N,CM,"three\nlines\nlong"\nA2,N,CM\n'
    assert faults(make_folder(traps=traps, routes=None), now) == ["traps.csv, line 5: 3 fields where the header has 4"]


def test_near_misses_are_offered(make_folder: MakeFolder, now: datetime) -> None:
    assert hints(make_folder(blocks=BLOCKS.replace("crop", "corp")), now)[0] == "did you mean crop?"
    folder = make_folder("other", routes="route,position,trap\nhome,1,A11\n")
    assert hints(folder, now) == ["did you mean A1?"]


def test_a_file_that_is_a_folder_is_named(folder: Path, now: datetime) -> None:
    (folder / "farms.csv").unlink()
    (folder / "farms.csv").mkdir()
    assert "farms.csv: is a folder, not a file" in faults(folder, now)
    assert hints(folder, now)[0] == "move it away, and put the file in its place"


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_marks_of_spreadsheets_do_not_matter(make_folder: MakeFolder, now: datetime, ending: str) -> None:
    """A byte order mark, other line ends, spaces around values, and rows of nothing but commas at the end."""
    farms = ("\ufeff" + FARMS.replace("HF,Hollow", " HF , Hollow") + ",,,\n\n").replace("\n", ending)
    with closing(open_folder(make_folder(farms=farms), now=now).conn) as conn:
        assert programme(conn).farms["HF"].name == "Hollow Farm"


def test_text_from_people_is_kept_as_it_is(make_folder: MakeFolder, now: datetime) -> None:
    name = "=cmd|'/c calc'!A1 [red] [/] \x1b[2J \u202e" + "x" * 10_000
    text = io.StringIO()
    csv.writer(text).writerows([["farm", "name"], ["HF", name]])
    with closing(open_folder(make_folder(farms=text.getvalue()), now=now).conn) as conn:
        assert programme(conn).farms["HF"].name == name


words = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\x00"), max_size=20).map(str.strip)
codes = st.text("ABC1 2é-", min_size=1, max_size=6).filter(lambda text: text == text.strip())
farms = st.builds(Farm, codes, words.filter(bool), words, words, words, st.booleans())


@given(st.lists(farms, unique_by=lambda farm: farm.farm, min_size=1, max_size=5))
@settings(deadline=None, max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_file_that_was_loaded_is_read_back_as_it_was(tmp_path: Path, now: datetime, rows: list[Farm]) -> None:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["farm", "name", "grower", "email", "phone", "visit_last"])
    for farm in rows:
        values = [farm.farm, farm.name, farm.grower, farm.email, farm.phone, "yes" if farm.visit_last else "no"]
        writer.writerow(values)
    folder = tmp_path / "round-trip"
    folder.mkdir(exist_ok=True)
    (folder / "farms.csv").write_text(text.getvalue(), encoding="utf-8", newline="")
    for name in ("roundtui.db", "roundtui.folder"):
        (folder / name).unlink(missing_ok=True)
    with closing(open_store(folder, now=now)) as conn:
        conn.execute("PRAGMA journal_mode = DELETE")
        load_folder(conn, folder, now)
        assert programme(conn).farms == {farm.farm: farm for farm in rows}
