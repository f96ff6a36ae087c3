"""What a summary needs of the record: all of it that matters, at the cost of one season."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import NONE, YES, Notified, StageSeen, Visit
from roundtui.domain.figures.history import History, season_start
from roundtui.domain.figures.rules import SHIPPED_RULES, Office
from roundtui.domain.figures.summary import summarise
from roundtui.store.connect import open_store
from roundtui.store.figures.history import history
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import programme, programme_for, programme_on
from roundtui.store.record.rows import NOTIFICATIONS, STAGES, VISITS
from roundtui.store.set_up.load import load_folder
from tests.conftest import TRAPS, ready_demo, write_folder

ADA = Author("Ada", "truck")
OFFICE = Office(rules=SHIPPED_RULES)
ON = date(2026, 5, 20)


def whole_history(conn: sqlite3.Connection, on: date, office: Office) -> History:
    """Everything on record up to a day, the way one would write it with no thought of cost."""

    def present(table: object, on: date = on) -> list[object]:
        name, listed, day = table.name, table.listed, table.day  # type: ignore[attr-defined]
        rows = conn.execute(
            f"SELECT {listed} FROM present_{name} WHERE {day} <= ? ORDER BY {day}, recorded_at, id", (on.isoformat(),)
        )
        return [table.entry(row) for row in rows]  # type: ignore[attr-defined]

    known = programme(conn)
    visits: dict[str, list[Visit]] = {}
    service: dict[str, dict[str, Visit]] = {}
    for visit in present(VISITS):
        assert isinstance(visit, Visit)
        visits.setdefault(visit.trap, []).append(visit)
        hanging = known.hanging(visit.trap, on)
        if hanging is None or not hanging.hangs_on(visit.read_on):
            continue
        items = service.setdefault(visit.trap, {})
        lot = known.lots.get(visit.lure or "")
        items |= {"lure": visit} if visit.lure is not None else {}
        items |= {"liner": visit} if visit.liner else {}
        items |= {"kill-strip": visit} if visit.kill_strip else {}
        items |= {"body": visit} if visit.body is not None else {}
        items |= {"lot": visit} if lot is not None and lot.species == hanging.species else {}
    stage_log: dict[str, list[StageSeen]] = {}
    for seen in present(STAGES):
        assert isinstance(seen, StageSeen)
        if seen.seen_on >= season_start(on, office.season_starts_on):
            stage_log.setdefault(seen.block, []).append(seen)
    return History(
        visits=visits,
        scent=present(VISITS, date.max),  # type: ignore[arg-type]
        stages={block: log[-1] for block, log in stage_log.items()},
        stage_log=stage_log,
        notified=present(NOTIFICATIONS),  # type: ignore[arg-type]
        last_service=service,
    )


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return ready_demo(tmp_path_factory.mktemp("history") / "farm").folder


FIRST_ROUNDS = (date(2024, 4, 9), date(2025, 4, 15), date(2025, 4, 29), date(2025, 7, 2), date(2026, 1, 3))
"""Days on which some block has its previous figure in the season before."""


@pytest.mark.parametrize(
    "on",
    [
        *(date(2023, 4, 18), date(2023, 9, 26), date(2024, 7, 16), date(2024, 12, 1)),
        *(date(2025, 5, 13), date(2025, 7, 8), date(2025, 7, 14), date(2025, 7, 15)),
        *FIRST_ROUNDS,
    ],
)
def test_a_summary_of_what_was_read_is_that_of_the_whole_record(sample: Path, on: date) -> None:
    office = read_office(sample)
    with closing(open_store(sample, now=datetime.now().astimezone())) as conn:
        few, known = programme_for(conn, on, office), programme(conn)
        read = summarise(few, history(conn, few, on, office, whole=on.day % 2 == 0), office, on)
        whole = summarise(known, whole_history(conn, on, office), office, on)
    assert read == whole


def test_a_hanging_that_nobody_closed_ended_when_the_next_one_began_though_that_is_long_over(
    tmp_path: Path, now: datetime
) -> None:
    rows = "A1,N,CM,2019-04-01,\nA1,N,CM,2020-04-01,2020-09-30\nA2,N,CM,2019-04-01,2019-09-30\nA2,N,CM,2026-04-01,\n"
    write_folder(tmp_path / "farm", traps=f"trap,block,species,hung_on,down_on\n{rows}", routes=None)
    with closing(open_folder(tmp_path / "farm", now=now).conn) as store:
        for known in (programme(store), programme_for(store, ON, OFFICE), programme_on(store, ON)):
            assert known.hanging("A1", ON) is None
            assert known.hanging("A2", ON) is not None
        few = programme_on(store, ON)
        assert [(row.trap, row.hung_on) for row in few.traps if row.trap == "A2"] == [("A2", date(2026, 4, 1))]


def test_a_conflict_of_weeks_ago_is_named_although_older_visits_are_read_without_names(
    store: sqlite3.Connection,
) -> None:
    now = datetime(2026, 4, 1).astimezone()
    ben = Author("Ben", "truck")
    (first,) = record(store, [Visit(trap="A1", read_on=ON - timedelta(days=30), count=4, note="windy")], ADA, now)
    (second,) = record(store, [Visit(trap="A1", read_on=ON - timedelta(days=30), count=9)], ben, now)
    record(store, [Visit(trap="A1", read_on=ON - timedelta(days=20), count=1, note="calm")], ADA, now)
    record(store, [Visit(trap="A1", read_on=ON, count=2, note="wet")], ADA, now)
    known = programme(store)
    few = history(store, known, ON, OFFICE, whole=False)
    (conflict,) = summarise(known, few, OFFICE, ON).conflicts
    assert conflict.entries == (first.id, second.id)
    assert conflict.counts == (("Ada", 4), ("Ben", 9))
    assert [visit.note for visit in few.visits["A1"]] == ["windy", "", "calm", "wet"]
    record(store, [Visit(trap="A2", read_on=ON - timedelta(days=20), count=1, note="calm")], ADA, now)
    (plain,) = history(store, known, ON, OFFICE, whole=False).visits["A2"]
    assert (plain.count, plain.note, plain.scout) == (1, "", "")


def test_visits_reach_back_to_the_last_clean_restart(store: sqlite3.Connection) -> None:
    now = datetime(2026, 2, 1).astimezone()
    store.execute("UPDATE traps SET hung_on = '2025-01-10', style = 'bucket'")
    days = [date(2025, 11, day) for day in (3, 10, 17, 24)]
    left_in = [Visit(trap="A1", read_on=day, count=n, cleared=n == 2) for n, day in enumerate(days, 1)]
    (*_, second, third, fourth), (cleared,) = (
        record(store, left_in, ADA, now),
        record(store, [Visit(trap="A2", read_on=days[0], count=1)], ADA, now),
    )
    on = date(2026, 4, 1)
    record(store, [Visit(trap="A1", read_on=on, count=9)], ADA, now)
    read = history(store, programme(store), on, OFFICE)
    assert [visit.count for visit in read.visits["A1"]] == [2, 3, 4, 9]
    assert list(read.visits["A1"][:3]) == [second, third, fourth]
    assert list(read.visits["A2"]) == [cleared]


def test_a_liners_catch_is_counted_since_its_change_across_the_seasons_start(tmp_path: Path, now: datetime) -> None:
    """A season that starts on 1 July: 18 moths in it before, 14 since. The liner that was hung in June is full."""
    write_folder(tmp_path / "farm", traps="trap,block,species,style,hung_on\nA1,N,CM,delta,2025-06-16\n", routes=None)
    office = Office(rules=SHIPPED_RULES, season_starts_on=(7, 1))
    with closing(open_store(tmp_path / "farm", now=now)) as store:
        load_folder(store, tmp_path / "farm", now)
        for on, count in (
            (date(2025, 6, 20), 18),
            (date(2025, 6, 27), 0),
            (date(2025, 9, 20), 0),
            (date(2025, 9, 27), 14),
        ):
            record(store, [Visit(trap="A1", read_on=on, count=count)], ADA, now)
        for on in (date(2025, 9, 27), date(2025, 10, 1)):
            known = programme_for(store, on, office)
            said = summarise(known, history(store, known, on, office), office, on)
            (liner,) = (one for one in said.upkeep if one.item == "liner")
            assert liner.catch == 32


def test_scent_from_years_ago_is_followed_to_this_season(
    folder: Path, store: sqlite3.Connection, now: datetime
) -> None:
    write_folder(
        folder,
        traps="trap,block,species,hung_on,down_on\nA1,N,CM,2019-04-20,2019-09-20\nA1,N,CM,2026-04-20,\n"
        "A2,N,CM,2019-04-20,2019-09-20\nA2,N,CM,2026-04-20,\nA3,N,CM,2026-04-20,\nA4,S,OFM,2026-04-20,\n",
    )
    load_folder(store, folder, now)
    record(store, [Visit(trap="A1", read_on=date(2019, 6, 1), count=1, lure="OFM26")], ADA, now)
    few = programme_for(store, ON, OFFICE)
    assert {trap: len(hangings) for trap, hangings in few.hangings.items()} == {"A1": 2, "A2": 1, "A3": 1, "A4": 1}
    (trouble,) = summarise(few, history(store, few, ON, OFFICE), OFFICE, ON).integrity
    assert (trouble.trap, trouble.kind, trouble.found, trouble.since) == ("A1", "scented-body", "OFM", date(2019, 6, 1))


def test_what_was_corrected_or_withdrawn_is_not_in_it(store: sqlite3.Connection, now: datetime) -> None:
    first, second = record(store, [Visit(trap=trap, read_on=ON, count=4, lure=NONE) for trap in ("A1", "A2")], ADA, now)
    record(store, [Visit(trap="A1", read_on=ON, count=5, replaces=first.id)], ADA, now)
    withdraw(store, second.id, "wrong sheet", ADA, now)
    read = history(store, programme(store), ON, OFFICE)
    assert {trap: [visit.count for visit in visits] for trap, visits in read.visits.items()} == {"A1": [5]}
    assert read.scent == []
    assert read.last_service == {}


def test_nothing_after_the_day_is_in_it_but_what_was_done_to_lures(store: sqlite3.Connection, now: datetime) -> None:
    later = ON + timedelta(days=1)
    notified = Notified(block="N", species="CM", round_on=later, status="over", notified_on=later, by="Bo", how="phone")
    stage = StageSeen(block="N", seen_on=later, code="65")
    (visit, *_) = record(store, [Visit(trap="A1", read_on=later, count=4, lure=NONE), stage, notified], ADA, now)
    assert history(store, programme(store), ON, OFFICE) == History(
        visits={}, scent=[visit], suspect={"A1"}, stages={}, stage_log={}, notified=(), last_service={}
    )


@pytest.mark.parametrize(
    ("visits", "suspect"),
    [
        ([Visit(trap="A1", read_on=ON, count=1, lure=YES)], []),
        ([Visit(trap="A1", read_on=ON, count=1, lure="CM26")], []),
        ([Visit(trap="A1", read_on=ON, count=1, lure_found="CM")], []),
        ([Visit(trap="A1", read_on=ON, count=1, lure="OFM26")], ["A1"]),
        ([Visit(trap="A1", read_on=ON, count=1, lure=NONE)], ["A1"]),
        ([Visit(trap="A1", read_on=ON, count=1, lure_found="OBLR")], ["A1"]),
        ([Visit(trap="A1", read_on=ON, count=1, body="D1")], []),
        ([Visit(trap=trap, read_on=ON, count=1, body="D1") for trap in ("A1", "A4")], ["A1", "A4"]),
    ],
)
def test_the_traps_whose_whole_past_matters_are_known_as_entries_come_in(
    store: sqlite3.Connection, folder: Path, now: datetime, visits: list[Visit], suspect: list[str]
) -> None:
    record(store, visits, ADA, now)
    assert [row[0] for row in store.execute("SELECT trap FROM suspect_traps ORDER BY trap")] == suspect
    write_folder(folder, traps=TRAPS.replace("A2,N,CM,delta", "A2,N,CM,wing"))
    assert load_folder(store, folder, now).changed
    assert [row[0] for row in store.execute("SELECT trap FROM suspect_traps ORDER BY trap")] == suspect


def test_a_lot_that_turns_out_to_be_of_another_species_is_found(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    entry = record(store, [Visit(trap="A1", read_on=ON, count=1, lure="CM26")], ADA, now)
    write_folder(folder, lures="lot,species\nCM26,OBLR\nOFM26,OFM\n")
    load_folder(store, folder, now)
    assert history(store, programme(store), ON, OFFICE).scent == list(entry)


SEASONS = (2, 10)
NEWEST = date(2026, 9, 30)


@pytest.fixture(scope="module")
def short_and_long(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A record of two seasons and one of ten that ends with the same, of traps that hung from the first year on."""
    folders = []
    for seasons in SEASONS:
        traps = "".join(f"T{n},N,{'CM' if n % 2 else 'OFM'},2010-01-01\n" for n in range(40))
        folder = write_folder(
            tmp_path_factory.mktemp("years") / "farm", traps=f"trap,block,species,hung_on\n{traps}", routes=None
        )
        now = datetime(2026, 10, 1).astimezone()
        with closing(open_folder(folder, now=now).conn) as conn:
            visits = [
                Visit(
                    trap=f"T{n}",
                    read_on=NEWEST.replace(year=NEWEST.year - season) - timedelta(days=7 * week),
                    count=(n * week) % 9,
                    liner=week % 4 == 0,
                    lure=[None, YES, "CM26" if n % 2 else "OFM26"][week % 3] if week % 2 else None,
                )
                for season in range(seasons)
                for week in range(26)
                for n in range(40)
            ]
            record(conn, [*visits, Visit(trap="T1", read_on=NEWEST, lure="OFM26")], ADA, now)
        folders.append(folder)
    return folders[0], folders[1]


@contextmanager
def reading(folder: Path) -> Iterator[sqlite3.Connection]:
    with closing(open_store(folder, now=datetime.now().astimezone())) as conn:
        yield conn


@pytest.mark.parametrize("on", [NEWEST, date(2026, 6, 1)])
def test_the_cost_of_a_summary_is_that_of_a_season(short_and_long: tuple[Path, Path], on: date) -> None:
    """Counted in steps of the database's own machine, which no busy computer changes."""
    steps = []
    for folder in short_and_long:
        with reading(folder) as conn:
            known = programme(conn)
            taken = 0

            def step() -> int:
                nonlocal taken
                taken += 1
                return 0

            conn.set_progress_handler(step, 100)
            assert len(history(conn, known, on, OFFICE).visits) == 40
            steps.append(taken)
    # The one trap with another species' lure is followed through all years, in some 50 such steps; nothing else grows.
    assert steps[1] - steps[0] <= 60, steps


def test_no_question_reads_the_record_from_end_to_end(short_and_long: tuple[Path, Path]) -> None:
    with reading(short_and_long[1]) as conn:
        known = programme(conn)
        asked: list[str] = []
        conn.set_trace_callback(asked.append)
        history(conn, known, NEWEST, OFFICE)
        conn.set_trace_callback(None)
        questions = {question for question in asked if question.lstrip().startswith(("SELECT", "WITH"))}
        assert len(questions) > 10
        for question in questions:
            for *_, detail in conn.execute(f"EXPLAIN QUERY PLAN {question}"):
                assert not detail.startswith(("SCAN entry", "SCAN visits", "SCAN stages", "SCAN tellings")), (
                    f"{detail}\n{question}"
                )
