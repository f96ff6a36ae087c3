"""Tally files: what is new goes on record, what is known is left, what disagrees is named."""

from __future__ import annotations

import csv
import io
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import NONE, YES, NoReading, StageSeen, Visit
from roundtui.errors import ProblemsError
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import journal_rows, same_day, visits_of
from roundtui.store.round.enter import EnterReport, enter_tally
from roundtui.store.round.tally_file import OPTIONAL, REQUIRED
from tests.conftest import write_folder

TODAY = date(2026, 5, 20)
ADA = Author("Ada", "truck")
BO = Author("Bo", "desk")


def enter(
    conn: sqlite3.Connection, folder: Path, text: str | bytes, now: datetime, author: Author = ADA
) -> EnterReport:
    path = folder / "sheet.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return enter_tally(conn, path, author, now, TODAY)


def faults(conn: sqlite3.Connection, folder: Path, text: str | bytes, now: datetime) -> list[str]:
    with pytest.raises(ProblemsError) as caught:
        enter(conn, folder, text, now)
    assert conn.execute("SELECT count(*) FROM visits").fetchone() == (0,)
    assert conn.execute("SELECT count(*) FROM stages").fetchone() == (0,)
    assert all(problem.hint for problem in caught.value.problems)
    return [f"{problem.where}: {problem.message}" for problem in caught.value.problems]


SHEET = """trap,read_on,count,no_reading,liner,lure,note,stage
A1,2026-05-20,4,,yes,CM26,half under leaves,65
A2,2026-05-20,0,,,,,
A3,2026-05-20,,missing,,,gone,
A4,2026-05-20,,,,,,
"""


def on_record(store: sqlite3.Connection) -> list[Visit]:
    return [visit for trap in ("A1", "A2", "A3", "A4") for visit in same_day(store, trap, TODAY)]


def test_a_sheet_goes_on_record(store: sqlite3.Connection, folder: Path, now: datetime) -> None:
    report = enter(store, folder, SHEET, now)
    assert report.added == 3
    a1, a2, a3 = on_record(store)
    assert (a1.count, a1.liner, a1.lure, a1.note, a1.scout, a1.device) == (
        *(4, True, "CM26", "half under leaves", "Ada", "truck"),
    )
    assert (a2.count, a2.no_reading) == (0, None)
    assert (a3.count, a3.no_reading) == (None, NoReading.MISSING)
    assert [(seen.block, seen.code) for seen in report.stages] == [("N", "65")]
    assert [str(problem) for problem in report.no_entry] == [
        "sheet.csv, line 5: A4 has neither a count nor a reason, so it is no entry"
        " (0 for an empty trap, or a reason under no_reading)"
    ]
    assert visits_of(store, "A1", TODAY, TODAY) == (a1,)


def test_the_same_sheet_again_adds_nothing(store: sqlite3.Connection, folder: Path, now: datetime) -> None:
    enter(store, folder, SHEET, now)
    again = enter(store, folder, SHEET, now + timedelta(days=1))
    assert (again.added, again.stages, again.disagreements, again.known) == (0, [], [], 3)
    assert len(journal_rows(store, TODAY, TODAY)) == 4


def test_a_mended_sheet_adds_what_is_new_and_says_what_disagrees(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    enter(store, folder, SHEET, now)
    mended = SHEET.replace("A2,2026-05-20,0", "A2,2026-05-20,7").replace("A4,2026-05-20,,", "A4,2026-05-20,2,")
    report = enter(store, folder, mended.replace(",65", ",67"), now)
    assert report.added == 1
    assert [visit.count for visit in same_day(store, "A4", TODAY)] == [2]
    assert [problem.where for problem in report.disagreements] == ["sheet.csv, line 3", "sheet.csv, line 2"]
    assert [problem.message for problem in report.disagreements] == [
        "A2 on 2026-05-20 disagrees with the record: count is 7 in the file and 0 on record",
        "the stage of block N on 2026-05-20 is 67 in the file and is 65 on record",
    ]
    assert same_day(store, "A2", TODAY)[0].count == 0


def test_a_blank_is_not_a_zero_when_file_and_record_are_compared(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    enter(store, folder, "trap,read_on,count,liner\nA1,2026-05-20,0,yes\n", now)
    report = enter(store, folder, "trap,read_on,count,liner\nA1,2026-05-20,,yes\n", now)
    assert [problem.message for problem in report.disagreements] == [
        "A1 on 2026-05-20 disagrees with the record: count is blank in the file and 0 on record"
    ]


def test_a_row_that_was_corrected_disagrees_until_the_file_is_mended(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    sheet = "trap,read_on,count\nA1,2026-05-20,4\n"
    enter(store, folder, sheet, now)
    (first,) = on_record(store)
    record(store, [replace(first, count=14, replaces=first.id, id="")], BO, now)
    assert len(enter(store, folder, sheet, now).disagreements) == 1
    mended = enter(store, folder, sheet.replace(",4", ",14"), now)
    assert (mended.added, mended.disagreements, mended.known) == (0, [], 1)


def test_a_row_that_was_moved_or_withdrawn_is_not_added_again(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    sheet = "trap,read_on,count\nA1,2026-05-20,4\nA2,2026-05-20,5\n"
    enter(store, folder, sheet, now)
    first, second = on_record(store)
    record(store, [replace(first, trap="A3", replaces=first.id)], BO, now)
    withdraw(store, second.id, "wrong sheet", BO, now)
    report = enter(store, folder, sheet, now)
    assert [problem.message for problem in report.disagreements] == [
        "A1 on 2026-05-20 disagrees with the record: the record has moved it to A3 on 2026-05-20",
        "A2 on 2026-05-20 was withdrawn on record",
    ]
    assert report.added == 0


def test_another_scout_and_a_recount_are_entries_of_their_own(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    sheet = "trap,read_on,count,recount\nA1,2026-05-20,4,\n"
    enter(store, folder, sheet, now)
    assert enter(store, folder, sheet, now, BO).added == 1
    assert enter(store, folder, "trap,read_on,count,recount\nA1,2026-05-20,5,yes\n", now).added == 1
    assert enter(store, folder, sheet, now, Author("ADA ", "desk")).known == 1
    assert len(same_day(store, "A1", TODAY)) == 3


def test_labels_are_taken_in_any_letter_case(store: sqlite3.Connection, folder: Path, now: datetime) -> None:
    sheet = "trap,read_on,count,lure,lure_found\na1,2026-05-20,4,cm26,ofm\n"
    (visit,) = enter(store, folder, sheet, now).found
    assert (visit.trap, visit.lure, visit.lure_found) == ("A1", "CM26", "OFM")


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("trap,count\nA1,4\n", "sheet.csv, line 1: the column read_on is missing"),
        ("trap,read_on,cuont\nA1,2026-05-20,4\n", "sheet.csv, line 1: unknown column cuont"),
        ("trap,read_on,count\nA1,2026-05-20\n", "sheet.csv, line 2: 2 fields where the header has 3"),
        ("trap,read_on,count\nA1,2026-05-20,4,5\n", "sheet.csv, line 2: 4 fields where the header has 3"),
        ("trap,read_on,count\nA1,20.5.2026,4\n", "sheet.csv, line 2, read_on: '20.5.2026' is no date"),
        ("trap,read_on,count\nA1,,4\n", "sheet.csv, line 2, read_on: is blank"),
        ("trap,read_on,count\n,2026-05-20,4\n", "sheet.csv, line 2, trap: is blank"),
        (
            "trap,read_on,count\nA1,2026-05-20,four\n",
            "sheet.csv, line 2, count: 'four' is no whole number from 0 to 9999",
        ),
        ("trap,read_on,count\nA1,2026-05-20,-1\n", "sheet.csv, line 2, count: '-1' is no whole number from 0 to 9999"),
        (
            "trap,read_on,count\nA1,2026-05-20,4.0\n",
            "sheet.csv, line 2, count: '4.0' is no whole number from 0 to 9999",
        ),
        (
            "trap,read_on,no_reading\nA1,2026-05-20,lost\n",
            "sheet.csv, line 2, no_reading: 'lost' is none of the words known here",
        ),
        ("trap,read_on,count,liner\nA1,2026-05-20,4,x\n", "sheet.csv, line 2, liner: 'x' is neither yes nor no"),
        ("trap,read_on,count,lure\nA1,2026-05-20,4,no\n", "sheet.csv, line 2, lure: 'no' can be read in two ways"),
        ("trap,read_on,count,lure\nA1,2026-05-20,4,CM62\n", "sheet.csv, line 2: there is no lure lot CM62"),
        ("trap,read_on,count,body\nA1,2026-05-20,4,none\n", "sheet.csv, line 2, body: 'none' is no label"),
        ("trap,read_on,count,stage\nA1,2026-05-20,4,7\n", "sheet.csv, line 2, stage: '7' is no stage"),
        (
            "trap,read_on,count,stage\nA1,2026-05-20,4,65\nA2,2026-05-20,4,67\n",
            "sheet.csv, line 3, stage: block N has 67 here and 65 on line 2",
        ),
        (
            "trap,read_on,count,no_reading\nA1,2026-05-20,4,down\n",
            "sheet.csv, line 2: a count and 'down' cannot both be entered",
        ),
        ("trap,read_on,no_reading\nA1,2026-05-20,other\n", "sheet.csv, line 2: 'other' needs a note"),
        ("trap,read_on,count,estimated\nA1,2026-05-20,,yes\n", "sheet.csv, line 2: an estimate without a count"),
        ("trap,read_on,count\nA1,2026-05-21,4\n", "sheet.csv, line 2: 2026-05-21 is still to come"),
        ("trap,read_on,count\nA9,2026-05-20,4\n", "sheet.csv, line 2: there is no trap A9"),
        ("trap,read_on,count\nA9,2026-05-20,\n", "sheet.csv, line 2: there is no trap A9"),
        ("trap,read_on,count\nA1,2026-04-19,4\n", "sheet.csv, line 2: A1 did not hang on 2026-04-19"),
        (
            "trap,read_on,count\nA1,2026-04-20,4\n",
            "sheet.csv, line 2: A1 was hung on 2026-04-20, so a count has no days",
        ),
        (
            "trap,read_on,count\nA1,2026-05-20,4\nA1,2026-05-20,4\n",
            "sheet.csv, line 3: a second row for A1 on 2026-05-20",
        ),
        ("", "sheet.csv: is empty"),
        (b"trap,read_on,count,note\nA1,2026-05-20,4,h\xe9\n", "sheet.csv, line 2: is not UTF-8 text"),
    ],
)
def test_anything_malformed_and_nothing_is_added(
    store: sqlite3.Connection, folder: Path, now: datetime, text: str | bytes, fault: str
) -> None:
    good = b"A3,2026-05-20,1" + b"," * (text.split("\n")[0].count(",") - 2 if isinstance(text, str) else 1) + b"\n"
    whole = (text.encode() if isinstance(text, str) else text) + (good if text else b"")
    assert fault in faults(store, folder, whole, now)


def test_a_missing_file_is_named(store: sqlite3.Connection, folder: Path, now: datetime) -> None:
    with pytest.raises(ProblemsError) as caught:
        enter_tally(store, folder / "nowhere.csv", ADA, now, TODAY)
    assert "there is no such file" in str(caught.value.problems[0])


def test_a_stage_that_goes_back_is_recorded_and_remarked_on(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    record(store, [StageSeen(block="N", seen_on=date(2026, 5, 13), code="69")], ADA, now)
    report = enter(store, folder, "trap,read_on,count,stage\nA1,2026-05-20,4,65\n", now)
    assert [seen.code for seen in report.stages] == ["65"]
    assert [remark.message for remark in report.remarks] == ["block N goes back from stage 69 on 2026-05-13 to 65"]


def test_a_row_with_a_stage_alone_keeps_the_stage(store: sqlite3.Connection, folder: Path, now: datetime) -> None:
    report = enter(store, folder, "trap,read_on,count,stage\nA1,2026-05-20,,65\n", now)
    assert (report.added, len(report.stages), len(report.no_entry)) == (0, 1, 1)


def test_a_row_costs_no_more_when_seasons_are_on_record(tmp_path: Path, now: datetime) -> None:
    """Statements to the store, counted: of a first half season of ten traps, and of one after a season and a half."""
    traps = "trap,block,species,hung_on\n" + "".join(f"T{n},N,CM,2024-01-01\n" for n in range(10))
    folder = write_folder(tmp_path / "big", traps=traps, routes=None)
    statements: list[str] = []
    costs = []
    with closing(open_folder(folder, now=now).conn) as conn:
        conn.set_trace_callback(statements.append)
        for first, last in ((0, 15), (15, 50), (50, 65)):
            days = [date(2024, 1, 8) + timedelta(days=7 * week) for week in range(first, last)]
            rows = "".join(f"T{n},{day},{n % 9}\n" for day in days for n in range(10))
            statements.clear()
            assert enter(conn, folder, f"trap,read_on,count\n{rows}", now).added == 10 * len(days)
            costs.append(len(statements))
        conn.set_trace_callback(None)
    assert costs[2] == costs[0]
    assert costs[0] < 10 * 150


lures = st.none() | st.sampled_from([YES, NONE, "CM26", "OFM26"])
notes = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\x00"), max_size=20).map(str.strip)
entries = st.builds(
    Visit,
    trap=st.sampled_from(["A1", "A2", "A3", "A4"]),
    read_on=st.dates(date(2026, 4, 21), TODAY),
    count=st.none() | st.integers(0, 9999),
    no_reading=st.none() | st.sampled_from(NoReading),
    cleared=st.booleans(),
    liner=st.booleans(),
    lure=lures,
    kill_strip=st.booleans(),
    body=st.none() | st.sampled_from([YES, "D 17", "é"]),
    note=notes,
    others=st.none() | st.integers(0, 9999),
    estimated=st.booleans(),
    lure_found=st.none() | st.sampled_from([NONE, "CM26", "OBLR"]),
    recount=st.booleans(),
)


def as_csv(visits: list[Visit]) -> str:
    """A tally file that says what entries say."""
    text = io.StringIO()
    writer = csv.writer(text)
    columns = [column for column in (*REQUIRED, *OPTIONAL) if column != "stage"]
    writer.writerow(columns)
    for visit in visits:
        values = [getattr(visit, column) for column in columns]
        writer.writerow(["yes" if v is True else "no" if v is False else "" if v is None else str(v) for v in values])
    return text.getvalue()


@given(st.lists(entries, max_size=6, unique_by=lambda v: (v.trap, v.read_on, v.recount)))
@settings(deadline=None, max_examples=10, suppress_health_check=list(HealthCheck))
def test_file_to_record_to_file_and_back_says_the_same(
    store: sqlite3.Connection, folder: Path, now: datetime, visits: list[Visit]
) -> None:
    for visit in visits:
        assume(visit.count is None or visit.no_reading is None)
        assume(visit.no_reading is not NoReading.OTHER or visit.note)
        assume(visit.count is not None or not (visit.estimated or visit.recount))
        assume(visit.says_something)
    store.execute("SAVEPOINT example")
    try:
        assert enter(store, folder, as_csv(visits), now).added == len(visits)
        recorded = [row.entry for row in journal_rows(store, date(2026, 4, 1), TODAY)]
        blank = {"id": "", "recorded_at": None, "scout": "", "device": ""}
        assert sorted(str(replace(entry, **blank)) for entry in recorded) == sorted(map(str, visits))  # type: ignore[arg-type]
        again = enter(store, folder, as_csv(visits), now)
        assert (again.added, again.disagreements, again.known) == (0, [], len(visits))
    finally:
        store.execute("ROLLBACK TO example")
        store.execute("RELEASE example")
