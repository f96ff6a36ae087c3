"""Traps assembled and bodies put away, through the store: what a summary reads of them is all that matters."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings

from roundtui.domain.entries import Assembled, PartKind, PartNoted, PartState, Visit
from roundtui.domain.figures.integrity import examine
from roundtui.domain.figures.rules import SHIPPED_RULES, Office
from roundtui.store.checks.trouble import find_suspect, missed
from roundtui.store.figures.history import history
from roundtui.store.figures.summary import summary_of
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import programme, programme_for
from roundtui.store.set_up.load import load_folder
from roundtui.store.traps.assembled import override
from tests.conftest import write_folder
from tests.judge.naive_integrity import Found
from tests.judge.test_integrity_property import BLOCKS, FARMS, LOTS, Past, seasons_with_kit

ADA = Author("Ada", "truck")
OFFICE = Office(rules=SHIPPED_RULES)
ON = date(2026, 5, 20)
MADE = date(2026, 4, 1)


def assembled(trap: str, lot: str = "CM26", body: str = "", species: str = "CM", **more: str) -> Assembled:
    return Assembled(trap=trap, species=species, assembled_on=MADE, body_label=body, lot=lot, **more)


def body(label: str, species: str, state: PartState = PartState.STORED) -> PartNoted:
    return PartNoted(label=label, part=PartKind.BODY, species=species, state=state, noted_on=MADE)


def suspect(conn: sqlite3.Connection) -> list[str]:
    return [row[0] for row in conn.execute("SELECT trap FROM suspect_traps ORDER BY trap")]


@pytest.mark.parametrize(
    ("entries", "expected"),
    [
        ([assembled("A1", body="K1")], []),
        ([assembled("A1", "OFM26")], ["A1"]),
        ([assembled("Z9", "OFM26", species="OFM")], []),
        ([assembled("A1", "OFM26", species="OFM")], ["A1"]),
        ([assembled("A1", body="K1"), assembled("A4", "OFM26", "K1", "OFM")], ["A1", "A4"]),
        ([assembled("A1", body="K1"), Visit(trap="A4", read_on=ON, body="K1")], ["A1", "A4"]),
        ([assembled("A1", body="K1"), body("K1", "CM")], []),
        ([assembled("A1", body="K1"), body("K1", "OFM")], ["A1"]),
        ([body("K1", "OFM"), assembled("A1", body="K1")], ["A1"]),
        ([body("K1", "OFM"), Visit(trap="A1", read_on=ON, body="K1")], ["A1"]),
        ([body("K1", "OFM", PartState.NEW), assembled("A1", body="K1")], []),
    ],
)
def test_traps_whose_bodies_may_smell_are_known_as_entries_come_in_and_after_a_load(
    store: sqlite3.Connection, now: datetime, entries: list[Assembled | PartNoted | Visit], expected: list[str]
) -> None:
    for entry in entries:
        record(store, [entry], ADA, now)
    assert suspect(store) == expected
    find_suspect(store)
    assert suspect(store) == expected
    store.execute("DELETE FROM suspect_traps")
    assert missed(store) == expected


def test_a_wrong_lure_taken_out_before_hanging_is_named_and_its_count_left_out(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    write_folder(folder, traps="trap,block,species,hung_on,body_label\nA1,N,CM,2026-05-01,K1\nA2,N,CM,2026-05-01,\n")
    load_folder(store, folder, now)
    wrong, _ = record(store, [assembled("A1", "OFM26", "K1"), assembled("A1", "CM26", "K1")], ADA, now)
    record(store, [Visit(trap=trap, read_on=ON, count=n) for trap, n in (("A1", 30), ("A2", 0))], ADA, now)
    made = summary_of(store, OFFICE, ON).summary
    (trouble,) = made.integrity
    assert (trouble.kind, trouble.trap, trouble.found, trouble.since) == (
        "scented-body",
        "A1",
        "OFM",
        date(2026, 5, 1),
    )
    assert [(row.block, row.counted, row.mean_per_week) for row in made.blocks if row.species == "CM"] == [("N", 1, 0)]
    withdraw(store, wrong.id, "it was the trap beside it", ADA, now)
    assert summary_of(store, OFFICE, ON).summary.integrity == ()


def test_a_hanging_is_read_with_what_it_was_assembled_with(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    write_folder(
        folder,
        traps="trap,block,species,hung_on,down_on\nA1,N,CM,2025-04-20,2025-09-01\nA1,N,CM,2026-04-20,\n"
        "A2,N,CM,2025-04-20,2025-09-01\nA2,N,CM,2026-04-20,\nA4,S,OFM,2026-04-20,\n",
    )
    load_folder(store, folder, now)
    record(store, [replace(assembled("A1", body="K1"), assembled_on=date(2025, 4, 20))], ADA, now)
    record(store, [assembled("A1", "CM26", "K2", despite="nothing else was there")], ADA, now)
    record(store, [replace(assembled("A2", body="K3"), assembled_on=date(2025, 4, 20))], ADA, now)
    for known in (programme(store), programme_for(store, ON, OFFICE)):
        assert [row.body_label for row in known.hangings["A2"]] == ["K3", ""], "taken by the hanging of that day"
        assert [row.body_label for row in known.hangings["A1"]] == ["K1", "K2"]
        assert [row.body_label for row in known.hangings["A4"]] == [""]
    assert [one.despite for one in override(store, ON, ON)] == ["nothing else was there"]
    assert override(store, date(2025, 5, 1), date(2025, 5, 1)) == ()


def in_store(past: Past, folder: Path) -> sqlite3.Connection:
    """A history on record: the set-up as files, everything else as entries in the order recorded."""
    now = datetime(2026, 9, 1, 12).astimezone()
    columns = ("trap", "block", "species", "hung_on", "down_on", "lot", "body_label")
    rows = [",".join(str(getattr(row, name) or "") for name in columns) for row in past.programme.traps]
    write_folder(
        folder,
        farms="farm,name\n" + "".join(f"{code},{farm.name}\n" for code, farm in FARMS.items()),
        blocks="block,farm,name,crop\n"
        + "".join(f"{code},{block.farm},{block.name},{block.crop}\n" for code, block in BLOCKS.items()),
        traps="\n".join((",".join(columns), *rows, "")),
        lures="lot,species\n" + "".join(f"{lot},{one.species}\n" for lot, one in LOTS.items()),
        routes="route,position,trap\n" + "".join(f"{s.route},{s.position},{s.trap}\n" for s in past.programme.stops),
    )
    conn = open_folder(folder, now=now).conn
    entries = [*past.visits, *past.assembled, *past.parts]
    for entry in sorted(entries, key=lambda one: (one.recorded_at, one.id)):
        if isinstance(entry, Visit) and not (entry.count is not None or entry.lure or entry.body or entry.lure_found):
            continue
        record(conn, [replace(entry, id="", scout="")], ADA, entry.recorded_at or now)
    return conn


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(seasons_with_kit())
def test_what_a_summary_reads_of_the_kit_is_all_that_matters(past: Past) -> None:
    """The judge sees the whole history; the product what its store gives a summary of the day."""
    with TemporaryDirectory() as place, closing(in_store(past, Path(place) / "farm")) as conn:
        assert missed(conn) == []
        known = programme_for(conn, past.on, OFFICE)
        read = history(conn, known, past.on, OFFICE)
        said = examine(known, read.scent, past.on, read.assembled, read.bodies)
        assert {
            t.trap: Found(t.kind.value, t.found, t.since, t.partner) for t in said.troubles
        } == past.diary.troubles()
        for trap in {row.trap for row in past.programme.traps}:
            for days in (1, 8, 40):
                end = past.on - timedelta(days=days - 1)
                start = end - timedelta(days=5)
                assert said.suspect(trap, start, end) == past.diary.suspect(trap, start, end)


NEWEST = date(2026, 9, 1)


def seasons_on_record(folder: Path, seasons: int) -> Path:
    """Thirty traps assembled, hung, read, taken down and put away each year; one body is the wrong one in the first."""
    traps = ["trap,block,species,hung_on,down_on"]
    entries: list[Assembled | PartNoted | Visit] = []
    for year in range(NEWEST.year - seasons + 1, NEWEST.year + 1):
        for n in range(30):
            traps.append(f"T{n},N,CM,{year}-04-20,{f'{year}-09-20' if year < NEWEST.year else ''}")
            lot = "OFM26" if n == 0 and year == NEWEST.year - 1 else "CM26"
            made = assembled(f"T{n}", lot, f"K{n}", despite="no other" if n < 2 else "")
            entries.append(replace(made, assembled_on=date(year, 4, 1)))
            entries += [
                Visit(trap=f"T{n}", read_on=date(year, 5, 1) + timedelta(days=7 * week), count=1) for week in range(8)
            ]
            if year < NEWEST.year:
                entries.append(replace(body(f"K{n}", "CM"), noted_on=date(year, 9, 21)))
    write_folder(folder, traps="\n".join((*traps, "")), routes=None)
    now = datetime(2026, 10, 1).astimezone()
    with closing(open_folder(folder, now=now).conn) as conn:
        record(conn, entries, ADA, now)
    return folder


def test_the_cost_of_a_summary_does_not_grow_with_the_years_of_assembling(tmp_path: Path) -> None:
    """Counted in steps of the database's own machine, which no busy computer changes; a hanging is read up to two
    seasons back, so that three seasons are the least that can be held against more."""
    steps = []
    for seasons in (4, 12):
        now = datetime(2026, 10, 1).astimezone()
        with closing(open_folder(seasons_on_record(tmp_path / str(seasons), seasons), now=now).conn) as conn:
            taken = 0

            def step() -> int:
                nonlocal taken
                taken += 1
                return 0

            conn.set_progress_handler(step, 100)
            made = summary_of(conn, OFFICE, NEWEST)
            steps.append(taken)
            assert [(t.trap, t.kind.value) for t in made.summary.integrity] == [("T0", "scented-body")]
            assert [one.trap for one in made.observations.override] == ["T0", "T1"]
    # The one trap in trouble is followed through all years; nothing else grows.
    assert steps[1] <= 1.2 * steps[0], steps
