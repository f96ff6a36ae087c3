"""What people call their files, columns and species, and the columns that came later."""

from __future__ import annotations

from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from roundtui.domain.programme.species import SHIPPED_SPECIES, SPECIES, species_code, take_office_species
from roundtui.errors import ProblemsError
from roundtui.store.folder import open_folder
from roundtui.store.office import newer_files, read_office
from roundtui.store.record.read import programme
from roundtui.store.set_up.load import write_in_place
from tests.conftest import FARMS, TRAPS, MakeFolder

NOW = datetime(2026, 5, 20, 16, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def no_office_species() -> object:
    yield
    take_office_species(())


def test_a_file_and_its_columns_are_known_however_a_spreadsheet_wrote_them(make_folder: MakeFolder) -> None:
    folder = make_folder(farms=None, traps=None)
    (folder / "Farms.csv").write_text(FARMS.replace("farm,name", "Farm, Name ", 1))
    (folder / "TRAPS.CSV").write_text(
        TRAPS.replace("trap,block,species,style,hung_on", "Trap,Block,SPECIES,Style,Hung On")
    )
    with closing(open_folder(folder, now=NOW).conn) as conn:
        known = programme(conn)
        assert list(known.farms) == ["HF"]
        assert str(known.hangings["A1"][0].hung_on) == "2026-04-20"
        assert not newer_files(conn, folder)
        (folder / "Farms.csv").write_text(FARMS + "LF,Low Farm,,\n")
        assert newer_files(conn, folder)


def test_two_files_for_one_table_are_refused_by_name(make_folder: MakeFolder) -> None:
    folder = make_folder()
    (folder / "Farms.csv").write_text(FARMS)
    with pytest.raises(ProblemsError) as refused:
        open_folder(folder, now=NOW)
    assert "Farms.csv and farms.csv are files for one table" in str(refused.value.problems[0])
    assert not (folder / "roundtui.db").exists()


def test_a_column_that_stands_twice_under_two_spellings_is_refused(make_folder: MakeFolder) -> None:
    folder = make_folder(farms="farm,name,Farm\nHF,Hollow Farm,HF\n")
    with pytest.raises(ProblemsError) as refused:
        open_folder(folder, now=NOW)
    assert "the column farm is there twice" in str(refused.value.problems[0])


def test_the_set_up_written_anew_leaves_one_file_a_table(make_folder: MakeFolder) -> None:
    folder = make_folder(farms=None)
    (folder / "Farms.csv").write_text(FARMS)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        _, kept = write_in_place(conn, folder, NOW)
        assert kept is not None
        assert (kept / "Farms.csv").read_text() == FARMS
        assert not (folder / "Farms.csv").exists()
        assert (folder / "farms.csv").exists()
        open_folder(folder, now=NOW).conn.close()


def test_thresholds_are_found_under_their_name_in_any_case(make_folder: MakeFolder) -> None:
    folder = make_folder()
    (folder / "Thresholds.toml").write_text('[season]\nstarts_on = "03-01"\n')
    assert read_office(folder).season_starts_on == (3, 1)
    (folder / "THRESHOLDS.toml").write_text("")
    with pytest.raises(ProblemsError, match="cannot be used"):
        read_office(folder)


def test_property_unit_market_and_lure_columns_come_through(make_folder: MakeFolder) -> None:
    folder = make_folder(
        farms="farm,name,property_no,group\nHF,Hollow Farm,P-117,valley\n",
        blocks="block,farm,name,crop,unit_no,markets\nN,HF,North,apple,4,export; juice\nS,HF,South,apple,,\n",
        lures="lot,species,kind,substrate\nCM26,CM,combination,rubber septum\nOFM26,OFM,,\n",
    )
    with closing(open_folder(folder, now=NOW).conn) as conn:
        known = programme(conn)
    assert (known.farms["HF"].property_no, known.farms["HF"].group) == ("P-117", "valley")
    assert (known.blocks["N"].unit_no, known.blocks["N"].markets) == ("4", ("export", "juice"))
    assert known.blocks["S"].markets == ()
    assert (known.lots["CM26"].kind, known.lots["CM26"].substrate) == ("combination", "rubber septum")


def test_a_species_of_the_office_is_known_in_its_files_and_only_there(make_folder: MakeFolder) -> None:
    """Synonymy of Grapholita molesta: EPPO Global Database, LASPMO lists Cydia molesta among other names."""
    assert species_code("Cydia molesta") == "OFM"
    assert species_code("light brown apple moth") is None
    folder = make_folder(
        species=(
            "species,name,latin,synonyms,lure_days\n"
            "LBAM,light brown apple moth,Epiphyas postvittana,Tortrix postvittana; Wicklerdoppel,35\n"
            "CM,codling,,the worm,\n"
        ),
        traps="trap,block,species\nA1,N,Tortrix postvittana\nA2,N,the worm\nA3,S,wicklerdoppel\n",
        lures=None,
        routes=None,
    )
    with closing(open_folder(folder, now=NOW).conn) as conn:
        assert {row.trap: row.species for row in programme(conn).traps} == {"A1": "LBAM", "A2": "CM", "A3": "LBAM"}
    assert SPECIES["LBAM"].lure_life_days == 35
    assert SPECIES["CM"].name == "codling"
    assert SPECIES["CM"].latin == SHIPPED_SPECIES["CM"].latin
    with closing(open_folder(make_folder("other"), now=NOW).conn):
        assert species_code("LBAM") is None
        assert SPECIES["CM"].name == "codling moth"


def test_a_faulty_folder_leaves_no_species_behind(make_folder: MakeFolder) -> None:
    folder = make_folder(species="species,name\nLBAM,light brown apple moth\n", farms="farm\nHF\n")
    with pytest.raises(ProblemsError):
        open_folder(folder, now=NOW)
    assert species_code("LBAM") is None


def test_a_species_is_never_called_by_a_word_of_the_tally(make_folder: MakeFolder) -> None:
    folder = make_folder(species="species,name\nnone,no insect\n")
    with pytest.raises(ProblemsError) as refused:
        open_folder(folder, now=NOW)
    assert "a species cannot be called 'NONE'" in str(refused.value.problems[0])


def test_a_folder_with_another_file_only_says_so(tmp_path: Path) -> None:
    from roundtui.errors import StoreError

    (tmp_path / "traps.xlsx").write_bytes(b"PK\x03\x04")
    with pytest.raises(StoreError, match=r"holds no scouting programme, only traps\.xlsx") as refused:
        open_folder(tmp_path, now=NOW)
    assert "roundtui bring" in refused.value.hint
