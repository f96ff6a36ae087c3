"""Tables of people's own, brought in as they are: what is right goes in, what is wrong is named, nothing half done."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.units import TempUnit
from roundtui.errors import ProblemsError, StoreError
from roundtui.store.begin import Beginning, begin
from roundtui.store.bring.answers import Days, Order, TableFound, read_answers
from roundtui.store.bring.bring import preview, write
from roundtui.store.bring.counts import CountsFound
from roundtui.store.bring.table import Kind
from roundtui.store.figures.summary import summary_of
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author
from roundtui.store.record.read import programme
from roundtui.store.season.weather import station_days
from tests.store.bring import tables

NOW = datetime(2026, 6, 1, 16, 30, tzinfo=UTC)
ADA = Author("Ada", "truck")


@pytest.fixture(scope="module")
def ready(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented programme with its traps, without an entry."""
    folder = tmp_path_factory.mktemp("ready") / "programme"
    begin(folder, Beginning(unit=TempUnit.F, timezone="America/New_York", farms=[("MB", "Mill Brook")]), NOW)
    (folder / "blocks.csv").write_text("block,farm,name,crop\nN,MB,North,apple\nS,MB,South,apple\n")
    (folder / "stations.csv").write_text("station,name\nVALE,Vale (invented)\n")
    rows = "".join(f"{trap},{block},CM,2026-04-20\n" for trap, block in tables.BLOCK.items())
    (folder / "traps.csv").write_text("trap,block,species,hung_on\n" + rows)
    open_folder(folder, now=NOW).conn.close()
    return folder


@pytest.fixture(scope="module")
def thirty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("thirty")


class Desk:
    """A coordinator at a folder of her own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.conn = open_folder(folder, now=NOW).conn

    def sample(self, kind: str, path: Path, given: Path | None = None, dates: str | None = None) -> TableFound:
        answers = read_answers(self.folder, Kind(kind), path, given, dates)
        return preview(self.conn, answers, scout="Ada", now=NOW)

    def bring(self, kind: str, path: Path, given: Path | None = None, dates: str | None = None) -> TableFound:
        found = self.sample(kind, path, given, dates)
        assert not found.questions, found.questions
        write(self.conn, found, author=ADA, now=NOW)
        return found

    def entries(self) -> dict[tuple[str, str], object]:
        rows = self.conn.execute("SELECT trap, read_on, count, no_reading FROM present_visits")
        return {(trap, on): reason if count is None else count for trap, on, count, reason in rows}


@pytest.fixture
def desk(ready: Path, tmp_path: Path) -> Iterator[Desk]:
    shutil.copytree(ready, tmp_path / "programme")
    made = Desk(tmp_path / "programme")
    with closing(made.conn):
        yield made


def sheet(tmp_path: Path, text: str, name: str = "sheet.csv") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("at", range(23))
def test_every_table_of_counts_says_the_same_untouched(desk: Desk, thirty: Path, at: int) -> None:
    made = sorted(thirty.glob("[012]*"))
    path = (tables.counts(thirty) if len(made) < 23 else made)[at]
    found = desk.bring("counts", path)
    assert desk.entries() == tables.EXPECTED, found.words
    assert found.problems == ()
    again = desk.bring("counts", path)
    assert desk.entries() == tables.EXPECTED
    assert again.problems == ()


def test_the_set_up_comes_from_tables_of_four_languages(thirty: Path, tmp_path: Path) -> None:
    begin(tmp_path / "new", Beginning(), NOW)
    desk = Desk(tmp_path / "new")
    with closing(desk.conn):
        for kind, path in tables.set_up(thirty):
            assert desk.bring(kind, path).problems == (), kind
        known = programme(desk.conn)
        assert {code: (farm.name, farm.grower) for code, farm in known.farms.items()} == {
            "MB": ("Mühlbach", "Jörg Weißdorn"),
            "OB": ("Oberfeld", "Ute Ährling"),
        }
        said = {code: (block.farm, block.crop, block.disrupted, block.area_ha) for code, block in known.blocks.items()}
        assert said == {"N": ("MB", "apple", True, 2.5), "S": ("OB", "pear", False, 1.25)}
        assert {row.trap: (row.block, row.species, row.edge, row.lot, row.hung_on) for row in known.traps} == {
            **{trap: ("N", "CM", False, "C-1", date(2026, 4, 20)) for trap in ("A1", "A2", "A3")},
            "B1": ("S", "OFM", True, "", date(2026, 4, 20)),
        }
        assert known.routes == {"east": ("B1", "A1", "A2")}
        assert (known.lots["C-1"].load_mg, known.lots["C-1"].life_days) == (1, 42)
        assert known.lots["C-1"].bought_on == date(2026, 3, 15)
        for kind, path in tables.set_up(thirty):
            assert desk.sample(kind, path).brings == 0, kind
        open_folder(desk.folder, now=NOW).conn.close()


def test_days_and_hours_of_weather_come_in_their_own_unit(desk: Desk, thirty: Path) -> None:
    days, hours = tables.weather(thirty)
    assert desk.bring("weather", days).problems == ()
    found = station_days(desk.conn, "VALE", date(2026, 5, 1), date(2026, 5, 3))
    assert [(day.tmin, day.tmax, day.unit) for day in found] == [
        (low, high, TempUnit.C) for low, high in zip(tables.LOWS, tables.HIGHS, strict=True)
    ]
    assert desk.bring("weather", hours).problems == ()
    first = station_days(desk.conn, "VALE", date(2026, 5, 1), date(2026, 5, 1))[0]
    assert (first.tmin, first.tmax, first.unit) == (41, 64, TempUnit.F)


def test_past_seasons_bring_their_hangings_and_right_figures(desk: Desk, tmp_path: Path) -> None:
    """8, 10 and 1 moths over 7, 12 and 6 days are 19 in 25 days: exactly 5.32 a week; the rule of exposure."""
    rows = (
        "Date,A1,A2,A3\n2024-05-06,8,8,8\n2024-05-18,10,10,10\n2024-05-24,1,1,1\n2025-05-05,3,3,3\n2025-05-12,6,6,6\n"
    )
    found = desk.bring("counts", sheet(tmp_path, rows))
    assert "6 hangings that the register has not: 3 in 2024, 3 in 2025;" in found.words
    hung = [(str(row.hung_on), str(row.down_on)) for row in programme(desk.conn).hangings["A1"]]
    assert hung == [("2024-04-29", "2024-05-24"), ("2025-04-28", "2025-05-12"), ("2026-04-20", "None")]
    for on, mean in (("2024-05-06", 8), ("2024-05-18", 10 * 7 / 12), ("2025-05-05", 3), ("2025-05-12", 6)):
        made = summary_of(desk.conn, read_office(desk.folder), date.fromisoformat(on))
        assert [float(row.mean_per_week or 0) for row in made.summary.blocks] == pytest.approx([mean])
    text = (desk.folder / "traps.csv").read_text()
    assert text.count("2024-04-29") == 3
    again = desk.bring("counts", sheet(tmp_path, rows))
    assert isinstance(again, CountsFound)
    assert again.hangings == []
    assert (desk.folder / "traps.csv").read_text() == text


def test_a_trap_hung_on_a_day_nobody_knows_gets_a_hanging_for_each_season(desk: Desk, tmp_path: Path) -> None:
    (desk.folder / "traps.csv").write_text("trap,block,species\nZ1,N,CM\n")
    open_folder(desk.folder, now=NOW).conn.close()
    desk.bring("counts", sheet(tmp_path, "date,trap,count\n2025-05-05,Z1,3\n2025-05-12,Z1,4\n2026-05-04,Z1,5\n"))
    made = summary_of(desk.conn, read_office(desk.folder), date(2026, 5, 4))
    assert [float(row.mean_per_week or 0) for row in made.summary.blocks if row.counted] == [5]


def test_a_longer_table_adds_what_is_new_and_a_changed_one_is_named(desk: Desk, tmp_path: Path) -> None:
    desk.bring("counts", sheet(tmp_path, "date,A1\n2026-04-27,3\n"))
    desk.bring("counts", sheet(tmp_path, "date,A1\n2026-04-27,3\n2026-05-04,0\n"))
    assert desk.entries() == {("A1", "2026-04-27"): 3, ("A1", "2026-05-04"): 0}
    path = sheet(tmp_path, "date,A1\n2026-04-27,4\n2026-05-11,1\n")
    found = desk.sample("counts", path)
    brought = write(desk.conn, found, author=ADA, now=NOW)
    assert "count is 4 in the file and 3 on record" in str(brought.problems[0])
    assert desk.entries()["A1", "2026-04-27"] == 3
    assert desk.entries()["A1", "2026-05-11"] == 1


def test_an_order_of_dates_that_nothing_proves_is_asked_once(desk: Desk, tmp_path: Path) -> None:
    path = sheet(tmp_path, "date,A1\n03/05/2025,3\n10/05/2025,4\n")
    found = desk.sample("counts", path)
    assert [one.about for one in found.questions] == ["dates"]
    assert desk.entries() == {}
    desk.bring("counts", path, dates="dmy")
    assert desk.entries() == {("A1", "2025-05-03"): 3, ("A1", "2025-05-10"): 4}
    assert desk.sample("counts", path).questions == []


def test_other_rows_prove_the_order_and_so_does_a_day_to_come(desk: Desk, tmp_path: Path) -> None:
    desk.bring("counts", sheet(tmp_path, "date,A1\n04/05/2026,3\n18/05/2026,4\n"))
    assert ("A1", "2026-05-04") in desk.entries()
    desk.bring("counts", sheet(tmp_path, "date,A2\n05/04/2026,3\n05/11/2026,4\n"))
    assert ("A2", "2026-05-11") in desk.entries()


def test_a_mark_that_nobody_explained_is_asked_and_never_zero(desk: Desk, tmp_path: Path) -> None:
    path = sheet(tmp_path, "date,A1,A2,A3\n2026-04-27,-,0,hm\n2026-05-04,-,,weg\n")
    found = desk.sample("counts", path)
    assert [(one.about, one.of) for one in found.questions] == [("mark", "-"), ("mark", "hm")]
    given = sheet(tmp_path, '[marks]\n"-" = "blank"\nhm = "damaged"\n', "map.toml")
    desk.bring("counts", path, given)
    assert desk.entries() == {("A2", "2026-04-27"): 0, ("A3", "2026-04-27"): "damaged", ("A3", "2026-05-04"): "missing"}
    assert desk.sample("counts", path).questions == []  # What was said is kept.


def test_faults_come_by_kind_and_all_kinds_at_once(desk: Desk, tmp_path: Path) -> None:
    rows = [f"2026-13-{day % 28 + 1:02d},A1,1" for day in range(120)]
    rows += ["2026-05-04,T9,1", "2026-05-04,A1,3.5", "2026-05-04,A2,7", "2026-07-06,A3,1", "2026-04-20,A3,1"]
    found = desk.bring("counts", sheet(tmp_path, "date,trap,count\n" + "\n".join(rows) + "\n"))
    said = "\n".join(map(str, found.problems))
    assert "120 times: '2026-13-01'" in said
    assert "'T9' is no trap that is set up" in said
    assert "'3.5' is no count" in said
    assert "is still to come" in said
    assert "so a count has no days" in said
    assert len(found.problems) == 5
    assert desk.entries() == {("A2", "2026-05-04"): 7}


def test_a_sum_below_the_counts_is_no_row_without_a_date(desk: Desk, tmp_path: Path) -> None:
    trap = next(iter(tables.BLOCK))
    found = desk.bring("counts", sheet(tmp_path, f"Trap,Date,Count\n{trap},2026-05-18,4\nTotal,,4\n,,4\n"))
    assert desk.entries() == {(trap, "2026-05-18"): 4}
    assert [str(one) for one in found.problems] == [
        "sheet.csv, line 4: no date stands there (write the day of the reading)"
    ]


def test_two_counts_for_one_trap_and_day_are_both_left_out(desk: Desk, tmp_path: Path) -> None:
    found = desk.bring(
        "counts", sheet(tmp_path, "date,trap,count\n2026-05-04,A1,3\n2026-05-04,A1,4\n2026-05-04,A2,1\n")
    )
    assert "is there twice with two counts" in str(found.problems[0])
    assert desk.entries() == {("A2", "2026-05-04"): 1}


def test_everything_that_stands_beside_the_count_comes_with_it(desk: Desk, tmp_path: Path) -> None:
    head = "Datum;Falle;Fang;Leimboden;Köder;Bemerkung;Kontrolleur;BBCH\n"
    rows = f"{head}4.5.2026;A1;4;x;;halb verdeckt;Ute;65\n4.5.2026;A2;;;;;;65\n"
    desk.bring("counts", sheet(tmp_path, rows))
    row = desk.conn.execute("SELECT count, liner, lure, note, scout FROM visits").fetchall()
    assert row == [(4, 1, None, "halb verdeckt", "Ute")]
    assert desk.conn.execute("SELECT block, code FROM stages").fetchall() == [("N", "65")]


def test_a_species_that_is_not_the_traps_is_named(desk: Desk, tmp_path: Path) -> None:
    found = desk.bring("counts", sheet(tmp_path, "date,trap,species,count\n2026-05-04,A1,Cydia molesta,3\n"))
    assert "is not the species of the trap, which is for CM" in str(found.problems[0])
    assert desk.entries() == {}


def test_columns_that_nobody_knows_are_asked_for_and_kept(desk: Desk, tmp_path: Path) -> None:
    path = sheet(tmp_path, "Wann,Wo,Wieviel\n2026-05-04,A1,3\n")
    found = desk.sample("counts", path)
    assert [one.of for one in found.questions] == ["trap", "read_on", "count"]
    given = sheet(tmp_path, '[columns]\nWann = "read_on"\nWo = "trap"\nWieviel = "count"\n', "map.toml")
    desk.bring("counts", path, given)
    assert desk.entries() == {("A1", "2026-05-04"): 3}
    assert desk.sample("counts", path).questions == []


def test_a_mapping_that_is_wrong_is_refused_by_name(desk: Desk, tmp_path: Path) -> None:
    given = sheet(tmp_path, '[columns]\nWann = "whenever"\n[marks]\nx = "perhaps"\n', "map.toml")
    with pytest.raises(ProblemsError) as refused:
        desk.sample("counts", sheet(tmp_path, "a,b\n1,2\n"), given)
    assert len(refused.value.problems) == 2


def test_rows_of_the_set_up_that_cannot_be_are_left_out(desk: Desk, tmp_path: Path) -> None:
    head = "trap,block,species,hung on\n"
    rows = f"{head}C1,N,CM,2026-05-01\nC2,NN,CM,2026-05-01\nC3,N,moth,2026-05-01\nA1,N,OFM,2026-05-01\n"
    found = desk.bring("traps", sheet(tmp_path, rows))
    said = "\n".join(map(str, found.problems))
    assert "'NN' is no block that is set up" in said
    assert "'moth' is no species known here" in said
    assert "'A1' is a trap for CM and cannot become one for OFM" in said
    assert {row.trap for row in programme(desk.conn).traps} == {"A1", "A2", "A3", "B1", "C1"}


def test_what_is_interrupted_brings_nothing(desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = sheet(tmp_path, "date,A1,A2\n2025-05-05,3,3\n2026-05-04,1,1\n")
    found = desk.sample("counts", path)
    before = (desk.folder / "traps.csv").read_bytes()

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write(desk.conn, found, author=ADA, now=NOW, progress=stop)
    assert desk.entries() == {}
    assert len(programme(desk.conn).traps) == 4
    assert (desk.folder / "traps.csv").read_bytes() == before


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("old.xls", b"\xd0\xcf\x11\xe0rest", "save it as"),
        ("broken.xlsx", b"PK\x03\x04rest", "cannot be read as a spreadsheet"),
        ("page.pdf", b"%PDF-1.7", "is no table"),
        ("empty.csv", b"", "holds no table"),
        ("head.csv", b"date,trap,count\n", "holds no table"),
    ],
)
def test_what_is_no_table_is_named(desk: Desk, tmp_path: Path, name: str, content: bytes, words: str) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(StoreError) as refused:
        desk.sample("counts", tmp_path / name)
    assert words in f"{refused.value.message} {refused.value.hint}"


def test_a_cool_table_without_a_unit_is_asked_for_it(desk: Desk, tmp_path: Path) -> None:
    path = sheet(tmp_path, "date,min,max\n2025-07-01,12,27\n2025-07-02,13,30\n")
    assert [one.about for one in desk.sample("weather", path).questions] == ["unit"]
    desk.bring("weather", path, sheet(tmp_path, 'unit = "C"\n', "map.toml"))
    assert station_days(desk.conn, "VALE", date(2025, 7, 1), date(2025, 7, 1))[0].unit is TempUnit.C
    warm = sheet(tmp_path, "date,min,max\n2025-07-03,55,81\n", "warm.csv")
    assert "no unit is stated: taken as °F" in desk.bring("weather", warm).words


def test_days_to_come_are_no_readings(desk: Desk, tmp_path: Path) -> None:
    rows = "date,tmin (C),tmax (C),forecast\n2026-05-30,8,20,no\n2026-05-31,8,20,yes\n2026-06-05,8,20,\n"
    found = desk.bring("weather", sheet(tmp_path, rows))
    assert "2 rows of a forecast or of days to come are no readings; 2 of them go to forecast.csv" in found.words
    assert len(station_days(desk.conn, "VALE", date(2026, 5, 1), date(2026, 6, 30))) == 1


def test_wrong_temperatures_are_named(desk: Desk, tmp_path: Path) -> None:
    head = "date,tmin °C,tmax °C\n"
    rows = f"{head}2025-07-01,30,12\n2025-07-02,warm,20\n2025-07-03,10,95\n2025-07-04,10,20\n2025-07-05,-9999,20\n"
    found = desk.bring("weather", sheet(tmp_path, rows))
    assert len(found.problems) == 3
    assert len(station_days(desk.conn, "VALE", date(2025, 7, 1), date(2025, 7, 31))) == 1


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("2026-04-13", None, "2026-04-13"),
        ("13.04.2026", Order.DMY, "2026-04-13"),
        ("4/13/2026", Order.MDY, "2026-04-13"),
        ("26/04/13", Order.YMD, "2026-04-13"),
        ("13. März 2026", Order.DMY, "2026-03-13"),
        ("1er août 2026", Order.DMY, None),
        ("13 de mayo de 2026", Order.DMY, "2026-05-13"),
        ("Apr 13, 2026", Order.MDY, "2026-04-13"),
        ("20260413", None, "2026-04-13"),
        ("46125", None, "2026-04-13"),
        ("31.02.2026", Order.DMY, None),
        ("soon", Order.DMY, None),
    ],
)
def test_days_in_every_order(text: str, order: Order | None, day: str | None) -> None:
    """46125 is 13 April 2026 as spreadsheets count days: ECMA-376 part 1, 18.17.4.1, 1 January 1900 being 1."""
    found = Days(order).day(text)
    assert (found.isoformat() if found else None) == day


def test_the_invented_programme_stays_the_same_size() -> None:
    assert len(tables.EXPECTED) == 15
    assert timedelta(days=7) == tables.DAYS[1] - tables.DAYS[0]


def test_what_no_column_has_is_asked_once_for_all_rows(desk: Desk, tmp_path: Path) -> None:
    path = sheet(tmp_path, "Trap,Block,Tag\nD1..D3,N,17\n")
    found = desk.sample("traps", path)
    question = found.questions[0]
    assert (question.about, question.of) == ("column", "species")
    assert question.choices[-1] == ("", "none of them: it is the same for all rows")
    found.answers.take(question, "")
    again = preview(desk.conn, found.answers, scout="Ada", now=NOW)
    assert [one.about for one in again.questions] == ["species"]
    found.answers.take(again.questions[0], "codling moth")
    last = preview(desk.conn, found.answers, scout="Ada", now=NOW)
    assert last.problems == ()
    write(desk.conn, last, author=ADA, now=NOW)
    assert {row.species for row in programme(desk.conn).traps if row.trap.startswith("D")} == {"CM"}
    assert desk.sample("traps", path).questions == []


def test_a_label_is_known_with_and_without_leading_zeros(desk: Desk, tmp_path: Path) -> None:
    desk.bring("counts", sheet(tmp_path, "date,trap,count\n2026-05-04,A01,3\n2026-05-04,a-2,1\n"))
    assert desk.entries() == {("A1", "2026-05-04"): 3, ("A2", "2026-05-04"): 1}
