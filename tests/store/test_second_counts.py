"""Which catches count as counted by two people."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from roundtui.domain.entries import Specimen, Visit
from roundtui.domain.figures.rules import Office
from roundtui.domain.round.recounts import Pair
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from roundtui.store.round.recounts import asked_on, pairs, season_of
from roundtui.store.set_up.load import load_folder
from tests.conftest import NOW, MakeFolder

DAY = date(2026, 5, 12)


@pytest.fixture
def conn(make_folder: MakeFolder) -> Iterator[sqlite3.Connection]:
    folder = make_folder()
    with closing(open_folder(folder, now=NOW).conn) as conn:
        load_folder(conn, folder, now=NOW)
        yield conn


def count(conn: sqlite3.Connection, scout: str, moths: int, *, at: datetime = NOW, **more: object) -> Visit:
    visit = Visit(**{"trap": "A1", "read_on": DAY, "count": moths, **more})  # type: ignore[arg-type]
    return record(conn, [visit], Author(scout, "truck"), at)[0]


def found(conn: sqlite3.Connection) -> tuple[Pair, ...]:
    return pairs(conn, programme(conn), date(2026, 1, 1), DAY)


def test_the_earliest_second_count_by_somebody_else_is_held_against_the_first(conn: sqlite3.Connection) -> None:
    count(conn, "Ida", 4)
    assert found(conn) == ()
    count(conn, "Ida", 5, recount=True, at=NOW + timedelta(minutes=1))
    assert found(conn) == ()
    count(conn, "Ben", 6, recount=True, at=NOW + timedelta(minutes=2))
    count(conn, "Cleo", 7, recount=True, at=NOW + timedelta(minutes=3))
    assert found(conn) == (Pair("A1", DAY, "Ida", 4, "Ben", 6),)


def test_whoever_corrects_a_count_did_not_count(conn: sqlite3.Connection) -> None:
    first = count(conn, "Ida", 4)
    count(conn, "Ben", 6, recount=True)
    record(conn, [replace(first, id="", replaces=first.id, reason="sheet says 5", count=5)], Author("Ben", "desk"), NOW)
    assert found(conn) == (Pair("A1", DAY, "Ida", 5, "Ben", 6),)


def test_what_was_named_as_a_stranger_since_is_no_disagreement(conn: sqlite3.Connection) -> None:
    count(conn, "Ida", 4)
    count(conn, "Ben", 6, recount=True)
    wasp = Specimen(
        trap="A1", read_on=DAY, what="wasp", number=2, in_count=True, identified_on=DAY, identified_by="Wren"
    )
    record(conn, [wasp], Author("Ana", "desk"), NOW)
    assert found(conn) == (Pair("A1", DAY, "Ida", 6, "Ben", 6),)


def test_estimates_and_open_conflicts_make_no_pair(conn: sqlite3.Connection) -> None:
    count(conn, "Ida", 400, estimated=True)
    count(conn, "Ben", 380, recount=True)
    count(conn, "Ida", 4, trap="A2")
    count(conn, "Cleo", 5, trap="A2")
    count(conn, "Ben", 5, trap="A2", recount=True)
    assert found(conn) == ()


def test_a_round_under_way_asks_for_the_same_traps_to_its_end(conn: sqlite3.Connection) -> None:
    known = programme(conn)
    count(conn, "Ida", 4)
    asked = asked_on(conn, known, DAY)
    assert len(asked["home"]) == 1
    assert [asked_on(conn, known, DAY + timedelta(days=later)) for later in (1, 3, 6)] == [asked] * 3


def test_a_season_ends_before_the_next_or_on_the_day() -> None:
    office = Office(season_starts_on=(7, 1))
    assert season_of(office, DAY, None) == (date(2025, 7, 1), DAY)
    assert season_of(office, DAY, 2024) == (date(2024, 7, 1), date(2025, 6, 30))
