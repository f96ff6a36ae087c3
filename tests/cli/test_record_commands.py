"""Correcting, carrying and checking the record from the command line."""

from __future__ import annotations

import json
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.store.connect import open_store
from tests.cli.test_cli import TODAY, TRAPS, Ran, run
from tests.conftest import FARMS, MakeFolder, write_folder

SHEET = f"trap,read_on,count\nA1,{TODAY},4\nA2,{TODAY},3\nA3,{TODAY},2\n"


def sheet(tmp_path: Path, content: str = SHEET, name: str = "sheet.csv") -> Path:
    path = tmp_path / name
    path.write_text(content)
    return path


@pytest.fixture
def farm(make_folder: MakeFolder, tmp_path: Path) -> Path:
    """A folder with a round on record."""
    folder = make_folder(traps=TRAPS)
    assert run("enter", folder, sheet(tmp_path), "--scout", "Ada").code == 0
    return folder


def entry(farm: Path, trap: str = "A1") -> str:
    rows = json.loads(run("replay", farm, "--on", TODAY, "--json").out)
    return str(next(row["id"] for row in rows if row["trap"] == trap and row["present"]))


def status(farm: Path, *more: object) -> str:
    found = json.loads(run("summary", farm, "--json", *more).out)
    return str(next(row["status"] for row in found["blocks"] if row["block"] == "N"))


def test_a_correction_says_what_it_changes_and_waits_for_a_yes(farm: Path) -> None:
    first = entry(farm)
    asked = run("correct", farm, first, "40", "--reason", "a digit short", "--scout", "Bo")
    assert (asked.code, asked.out) == (1, "")
    assert f"N CM, {TODAY}: status below becomes over" in asked.err
    assert "add --yes" in asked.err
    assert status(farm) == "below"
    done = run("correct", farm, first, "40", "--reason", "a digit short", "--scout", "Bo", "--yes")
    assert (done.code, status(farm)) == (0, "over")
    chain = run("history", farm, first)
    assert "because: a digit short" in " ".join(chain.out.split())
    rows = json.loads(run("history", farm, done.out.strip(), "--json").out)
    assert [(row["id"], row["present"]) for row in rows] == [(first, False), (done.out.strip(), True)]


def test_a_correction_that_changes_only_a_figure_needs_no_yes(farm: Path) -> None:
    done = run("correct", farm, entry(farm), "5 n:counted again", "--reason", "misread", "--scout", "Bo")
    assert done.code == 0
    assert "1.5 a week becomes 1.7, still below" in done.err


def test_a_correction_that_cannot_be_is_refused(farm: Path) -> None:
    for words, message in (("4x", "the correction"), ("40 e e q", "the correction"), ("", "nothing is written")):
        ran = run("correct", farm, entry(farm), words, "--reason", "misread", "--scout", "Bo", "--yes")
        assert (ran.code, ran.out) == (1, "")
        assert message in ran.err
    ran = run("correct", farm, entry(farm), "4", "--trap", "A9", "--reason", "misread", "--scout", "Bo", "--yes")
    assert (ran.code, "there is no trap A9" in ran.err) == (1, True)
    assert run("correct", farm, entry(farm), "4", "--reason", "misread").code == 2


def test_an_entry_is_withdrawn(farm: Path) -> None:
    first = entry(farm)
    ran = run("withdraw", farm, first, "--reason", "wrong sheet", "--scout", "Bo", "--yes")
    assert ran.code == 0
    assert json.loads(run("history", farm, first, "--json").out)[-1]["takes_back"] == first
    again = run("withdraw", farm, first, "--reason", "wrong sheet", "--scout", "Bo", "--yes")
    assert (again.code, "withdrawn already" in again.err) == (1, True)


def test_a_farm_that_was_closed_is_withdrawn_by_any_of_its_traps(farm: Path) -> None:
    tally = farm / "closed.csv"
    rows = "".join(f"{trap},{date.today() - timedelta(days=1)},closed\n" for trap in ("A1", "A2"))  # noqa: DTZ011
    tally.write_text(f"trap,read_on,no_reading\n{rows}")
    assert run("enter", farm, tally, "--scout", "Bo").code == 0
    found = json.loads(run("replay", farm, "--on", TODAY, "--json").out)
    one, other = (row["id"] for row in found if row.get("no_reading") == "closed")
    ran = run("withdraw", farm, other, "--reason", "it was open", "--scout", "Bo", "--yes")
    assert len(ran.out.split()) == 2
    assert json.loads(run("history", farm, one, "--json").out)[-1]["takes_back"] == one


def test_the_summary_as_it_was_on_record(farm: Path) -> None:
    before = datetime.now().astimezone().isoformat()
    run("correct", farm, entry(farm), "40", "--reason", "a digit short", "--scout", "Bo", "--yes")
    assert status(farm) == "over"
    assert status(farm, "--as-recorded-at", before) == "below"
    assert status(farm, "--as-recorded-at", "2020-01-01T00:00", "--on", TODAY) == "not-read"
    assert run("summary", farm, "--as-recorded-at", "yesterday").code == 2


def other(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "other", traps=TRAPS)


def test_a_folder_is_no_tally_and_the_file_is_asked_for(farm: Path, tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    assert (
        "sheets: is a folder, not a file (name the CSV file"
        in run("enter", farm, tmp_path / "sheets", "--scout", "Ada").err
    )


def test_entries_go_from_one_laptop_to_another_and_conflicts_are_said(farm: Path, tmp_path: Path) -> None:
    there = other(tmp_path)
    bundle = tmp_path / "ada.bundle"
    packed = run("pack", farm, "--to", bundle)
    assert (packed.code, packed.out) == (0, "")
    assert "ada.bundle: 3 visits, 13 set-up changes" in packed.err
    merged = run("merge", there, bundle, bundle)
    assert (merged.code, merged.out) == (0, "")
    assert "merged: 3 visits added, 13 set-up changes added, 16 on record before" in merged.err
    assert json.loads(run("summary", farm, "--json").out) == json.loads(run("summary", there, "--json").out)
    run("enter", there, sheet(tmp_path, SHEET.replace(",4", ",9"), "bo.csv"), "--scout", "Bo")
    mark = packed.err.split("--since ")[1].strip()
    run("pack", there, "--since", mark, "--to", tmp_path / "bo.bundle")
    again = run("merge", farm, tmp_path / "bo.bundle")
    assert "3 conflicts are open; see roundtui conflicts" in again.err
    listed = run("conflicts", farm)
    assert listed.out.count("two counts of one trap on one day\n") == 3
    assert entry(farm) in listed.out


def test_set_up_rows_that_differ_are_listed_side_by_side_and_no_figure_changes(farm: Path, tmp_path: Path) -> None:
    there = other(tmp_path)
    for folder, row in ((there, "A1,N,CM,bucket"), (farm, "A1,S,CM,delta")):
        assert run("load", folder).code == 0
        assert run("load", write_folder(folder, traps=TRAPS.replace("A1,N,CM,delta", row))).code == 0
    run("pack", farm, "--to", tmp_path / "ada.bundle")
    merged = run("merge", there, tmp_path / "ada.bundle")
    assert "1 set-up row differs; see roundtui conflicts" in merged.err
    listed = run("conflicts", there)
    assert (listed.code, "traps.csv A1" in listed.out, "changed in both places" in " ".join(listed.out.split())) == (
        0,
        True,
        True,
    )
    assert [line.split() for line in listed.out.splitlines() if "block" in line] == [["block", "N", "S"]]
    assert "settle set-up rows in the app: m o at the desk, then Tab" in listed.err


def test_a_row_changed_in_the_file_and_here_is_named_by_load_which_ends_with_1(farm: Path) -> None:
    with closing(open_store(farm, now=datetime.now(UTC))) as conn:
        conn.execute("UPDATE farms SET phone = '555-0000'")
    write_folder(farm, farms=FARMS.replace("555-0101", "555-0199"), traps=TRAPS + "A9,S,OFM,delta,2026-05-01\n")
    ran = run("load", farm)
    assert (ran.code, ran.out) == (1, "")
    assert "farms.csv, line 2: HF was changed in the file and here as well" in ran.err
    assert "traps.csv: 1 row added" in ran.err
    assert run("load", farm).code == 0
    assert "farms.csv of this folder" in run("conflicts", farm).out.replace("\n", " ")


def test_a_refused_bundle_is_one_message(farm: Path, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.bundle"
    wrong.write_bytes(b"PK\x03\x04 and no more")
    ran = run("merge", farm, wrong)
    assert (ran.code, ran.out) == (1, "")
    assert ran.err == (
        "wrong.bundle is incomplete: its end is missing\nWhat to do: have it sent again; nothing was changed.\n"
    )


def test_a_mark_that_is_none_is_refused(farm: Path, tmp_path: Path) -> None:
    ran = run("pack", farm, "--since", "last week", "--to", tmp_path / "a.bundle")
    assert (ran.code, "there is no entry last week" in ran.err) == (1, True)
    ran = run("pack", farm, "--since", TODAY + timedelta(days=2), "--to", tmp_path / "a.bundle")
    assert (ran.code, ran.err) == (0, "a.bundle: nothing new\n")


def test_a_shared_folder_needs_no_further_thought(farm: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    there, shared = other(tmp_path), tmp_path / "shared"
    shared.mkdir()

    def meet(folder: Path) -> Ran:
        monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / f"state-{folder.name}"))
        return run("exchange", folder, shared)

    assert "put there: 3 visits" in meet(farm).err
    assert "3 visits added" in meet(there).err
    (shared / "coming.bundle").write_bytes(b"")
    assert "not complete yet" in meet(farm).err
    assert run("exchange", farm, farm).code == 1


def test_verify_prints_what_it_checked(farm: Path) -> None:
    ran = run("verify", farm)
    assert (ran.code, ran.err) == (0, "")
    assert "digests of entries: 16 looked at, sound\n" in ran.out
    import sqlite3

    conn = sqlite3.connect(farm / "roundtui.db", isolation_level=None)
    conn.execute("DROP TRIGGER visits_no_update")
    conn.execute("UPDATE visits SET count = 40")
    conn.close()
    ran = run("verify", farm)
    assert ran.code == 1
    assert "digests of entries: 16 looked at, 3 faults\n" in ran.out
    assert "roundtui restore" in ran.err


def test_two_tally_files_are_compared(tmp_path: Path) -> None:
    first = sheet(tmp_path)
    assert run("compare", first, first).err == "3 rows compared, 0 of them differ\n"
    second = sheet(tmp_path, SHEET.replace("A1,", "a1,").replace(",3", ",33"), "second.csv")
    ran = run("compare", first, second)
    assert (ran.code, ran.err) == (1, "3 rows compared, 1 of them differ\n")
    assert ran.out.split() == ["Trap", "Day", "What", "sheet.csv", "second.csv", "A2", str(TODAY), "count", "3", "33"]
    ran = run("compare", first, tmp_path / "none.csv")
    assert (ran.code, "there is no such file" in ran.err) == (1, True)


def test_dates_in_a_hostile_sheet_are_shown_harmlessly(tmp_path: Path) -> None:
    first = sheet(tmp_path, f"trap,read_on,count,note\nA1,{date(2026, 5, 20)},1,\x1b[31m[/red]\n")
    second = sheet(tmp_path, f"trap,read_on,count,note\nA1,{date(2026, 5, 20)},1,\u202e\n", "second.csv")
    ran = run("compare", first, second)
    assert ran.code == 1
    assert not {"\x1b", "\u202e"} & set(ran.out)


def test_a_summary_says_of_conflicts_that_are_not_two_readings(farm: Path, tmp_path: Path) -> None:
    """One entry moved to two days by two laptops: each day has one count, and the tables list no conflict."""
    there = other(tmp_path)
    run("pack", farm, "--to", tmp_path / "first.bundle")
    run("merge", there, tmp_path / "first.bundle")
    first = entry(farm, "A3")
    for folder, days in ((farm, 1), (there, 2)):
        day = (date.fromisoformat(str(TODAY)) - timedelta(days=days)).isoformat()
        words = ("--read-on", day, "--reason", "another day", "--scout", "Bo", "--yes")
        assert run("correct", folder, first, "2", *words).code == 0
    assert run("summary", farm).err == ""
    run("pack", there, "--to", tmp_path / "second.bundle")
    run("merge", farm, tmp_path / "second.bundle")
    assert "1 more conflict of these days open; see roundtui conflicts" in run("summary", farm).err
    assert json.loads(run("summary", farm, "--json").out)["conflicts"] == []


def test_verify_against_a_bundle_names_what_is_missing(farm: Path, tmp_path: Path) -> None:
    import sqlite3

    bundle = tmp_path / "stick.bundle"
    assert run("pack", farm, "--to", bundle).code == 0
    ran = run("verify", farm, "--against", bundle)
    assert (ran.code, "held against stick.bundle: 16 looked at, sound\n" in ran.out) == (0, True)
    assert run("new", tmp_path / "other").code == 0
    ran = run("verify", tmp_path / "other", "--against", bundle)
    assert (ran.code, ran.err) == (1, "What to do: roundtui merge adds what is there and not here.\n")
    conn = sqlite3.connect(farm / "roundtui.db", isolation_level=None)
    conn.execute("DROP TRIGGER visits_no_delete")
    conn.execute("DELETE FROM visits WHERE trap = 'A1'")
    conn.close()
    ran = run("verify", farm, "--against", bundle)
    assert ran.code == 1
    assert "held against stick.bundle: 16 looked at, 1 fault\n" in ran.out
    assert "is there and not here" in ran.out
    assert run("verify", farm, "--against", tmp_path / "gone.db").code == 1


def test_a_visit_of_a_day_to_come_is_not_let_in_and_is_no_day_to_go_by(farm: Path, tmp_path: Path) -> None:
    """The desk's clock ran a year ahead; its bundle is refused, and on the desk itself today stays the day."""
    import shutil
    import sqlite3

    from roundtui.domain.entries import Visit
    from roundtui.store.record.journal import Author, record

    assert run("pack", farm, "--to", tmp_path / "set-up.bundle").code == 0
    there = write_folder(tmp_path / "there", traps=TRAPS)
    assert run("load", there).code == 0
    before = json.loads(run("summary", farm, "--json").out)["on"]
    for year, words in ((TODAY.year + 1, "a day to come"), (1850, "a slip of the keys")):
        copy = Path(shutil.copytree(farm, tmp_path / f"desk-{year}"))
        with closing(open_store(copy, now=datetime.now(UTC))) as conn:
            record(
                conn,
                [Visit(trap="A1", read_on=TODAY.replace(year=year, day=1), count=1)],
                Author("Bo", "desk"),
                datetime.now(UTC),
            )
        assert json.loads(run("summary", copy, "--json").out)["on"] == before
        bundle = tmp_path / f"{year}.bundle"
        assert run("pack", copy, "--to", bundle).code == 0
        ran = run("merge", there, bundle)
        assert (ran.code, words in ran.err) == (1, True), ran.err
        with closing(sqlite3.connect(there / "roundtui.db")) as conn:
            assert conn.execute("SELECT count(*) FROM visits").fetchone() == (0,)
    assert run("merge", there, tmp_path / "set-up.bundle").code == 0
