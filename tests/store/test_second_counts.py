"""Which catches count as counted by two people."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import Specimen, Visit
from roundtui.domain.figures.rules import Office
from roundtui.domain.round.recounts import CheckResult, Pair, Share, TrapChecked
from roundtui.report.round.recounts import quality_json, quality_words
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from roundtui.store.round.recounts import asked_on, pairs, read_quality, season_of
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


def test_how_the_scouting_was_done_by_person_route_and_week(conn: sqlite3.Connection, make_folder: MakeFolder) -> None:
    """Hung Monday 20 April, every seven days asked: on the 27th by Ida, on 5 May a day late by Ben, then nobody.

    Demands: a supervisor's visit with reasons of failure (ICA 2020; NAPPO RSPM 20), planted specimens recovered (San
    Mateo County 2009), training on record (Washington State University, export sampling), moths a trap a day (FTD).
    """
    folder = make_folder(
        people="person,may_identify,trained_on,valid_until\nIda,CM,2026-03-01,2026-04-30\nBen,,2026-03-01,\n"
    )
    (folder / "plan.toml").write_text('[[visits]]\nevery = "FREQ=WEEKLY"\nspecies = "CM"\nsource = "ours"\n')
    load_folder(conn, folder, now=NOW)
    count(conn, "Ida", 7, read_on=date(2026, 4, 27))
    count(conn, "Ben", 3, read_on=date(2026, 5, 5))
    count(conn, "Ida", 0, read_on=date(2026, 5, 5), trap="A4")
    for result, more in (("passed", {}), ("label-gone", {}), ("planted", {"planted": 10, "recovered": 8})):
        checked = TrapChecked(trap="A1", checked_on=date(2026, 4, 28), result=CheckResult(result), **more)
        record(conn, [checked], Author("Sue", "desk"), NOW)
    for by in ("Ida", "Ben"):
        vial = Specimen(
            trap="A1", read_on=date(2026, 5, 5), what="sawfly", number=1, identified_by=by, identified_on=DAY
        )
        record(conn, [vial], Author("Sue", "desk"), NOW)
    on = date(2026, 5, 13)
    found = read_quality(conn, folder, Office(), on)
    on_time, trained = found.shares["visits on time"], found.shares["visits by trained people"]
    assert on_time["person"] == {"Ben": Share(0, 1), "Ida": Share(1, 1), "nobody yet": Share(0, 3)}, "A1, A2 and A3"
    assert on_time["week"] == {"2026-04-27": Share(1, 3), "2026-05-04": Share(0, 1), "2026-05-11": Share(0, 1)}
    assert on_time["route"]["home"] == Share(1, 5)
    assert trained["person"] == {"Ben": Share(1, 1), "Ida": Share(1, 2)}, "hers ended on 30 April"
    assert found.shares["identified by those who may"]["person"] == {"Ben": Share(0, 1), "Ida": Share(1, 1)}
    assert found.shares["checks passed"]["person"] == {"Ida": Share(1, 2)}, "she had read it the day before"
    assert found.failures == {"label-gone": 1}
    assert found.shares["planted found"]["person"] == {"Ben": Share(8, 10)}, "the next to read it"
    assert found.caught == {"CM": (10, 15, 0), "OFM": (0, 15, 0)}
    words = "\n".join(quality_words(found))
    assert "  person Ida: 1 of 2 (1-99 %)\n" in words
    assert "CM: 10 insects in 15 trap-days, 0.67 a trap a day, 4.7 a week" in words
    assert quality_json(found)["caught"]["CM"]["per_week"] == pytest.approx(14 / 3)


@pytest.mark.parametrize(("wild", "sterile", "ratio"), [(2, 80, 40), (2, 79, 39.5), (0, 80, None), (2, None, None)])
def test_sterile_to_wild_is_pooled_and_no_ratio_without_a_wild_moth(
    conn: sqlite3.Connection, folder: Path, wild: int, sterile: int | None, ratio: float | None
) -> None:
    """The target is 40 to 1; 80 to none is no ratio, and a blank is not told apart.

    Source of the target: Judd & Gardiner 2016, Insects 7(4):68; the numbers are derived.
    """
    count(conn, "Ida", wild, read_on=date(2026, 4, 27), sterile=sterile)
    found = read_quality(conn, folder, Office(), date(2026, 5, 13))
    said = quality_json(found)["caught"]["CM"]
    assert (said["sterile"], said["sterile_to_wild"]) == (sterile or 0, ratio)
    assert (f"{sterile} sterile" in "\n".join(quality_words(found))) is (sterile is not None)
