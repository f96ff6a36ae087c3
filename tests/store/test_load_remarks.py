"""A register that contradicts itself or the record is taken in, and what is odd in it is named."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date, datetime

import pytest

from roundtui.domain.entries import Visit
from roundtui.store.connect import open_store
from roundtui.store.record.journal import Author, record
from roundtui.store.set_up.load import load_folder
from tests.conftest import MakeFolder

HEAD = "trap,block,species,hung_on,down_on,lot,body_label\n"


def remarks(make_folder: MakeFolder, now: datetime, traps: str, *entries: Visit, **files: str) -> list[str]:
    """What is remarked on when a register is loaded a second time, with other traps in it."""
    folder = make_folder()
    with closing(open_store(folder, now=now)) as conn:
        load_folder(conn, folder, now)
        if entries:
            record(conn, entries, Author("Ada", "truck"), now)
        make_folder(traps=HEAD + traps, **files)
        report = load_folder(conn, folder, now)
    return [str(remark) for remark in report.remarks]


def test_a_register_without_contradictions_is_taken_in_silently(make_folder: MakeFolder, now: datetime) -> None:
    traps = "A1,N,CM,2026-04-20,2026-05-01,CM26,X1\nA1,N,CM,2026-05-01,,CM26,X1\nA2,N,CM,2026-04-20,,,X2\n"
    assert [said for said in remarks(make_folder, now, traps) if "A1" in said or "A2" in said] == []


def test_readings_that_a_new_day_leaves_without_a_trap_are_named(make_folder: MakeFolder, now: datetime) -> None:
    """The office mistypes the day a trap was taken down: the reading after it would silently leave every figure."""
    visit = Visit(trap="A1", read_on=date(2026, 5, 15), count=7)
    said = remarks(make_folder, now, "A1,N,CM,2026-04-20,2026-05-10,,\n", visit)
    assert (
        "traps.csv: A1 has an entry on days on which it did not hang, the first on 2026-05-15 (they are in no figure;"
        " give the trap a row for each season with the days it hung, or correct the entry)"
    ) in said


@pytest.mark.parametrize(
    ("traps", "words"),
    [
        (
            "B1,N,CM,2026-04-20,2026-05-10,,\nB1,N,CM,2026-05-01,,,\n",
            "B1 hung from 2026-04-20 to 2026-05-10 and is hung again on 2026-05-01 already",
        ),
        ("B1,N,CM,2026-04-20,,,X9\nB2,S,OFM,2026-05-01,,,X9\n", "body X9 is in B1 and in B2 from 2026-05-01"),
        ("B1,N,CM,2026-04-20,,,\nb1,N,CM,2026-04-20,,,\n", "B1 and b1 are two traps whose labels differ in the case"),
        ("B1,N,CM,2026-04-20,,OFM26,\n", "B1 is a trap for CM and is down as hung with lot OFM26, a lure for OFM"),
    ],
)
def test_contradictions_are_named(make_folder: MakeFolder, now: datetime, traps: str, words: str) -> None:
    assert any(words in said for said in remarks(make_folder, now, traps))


def test_a_lot_that_expired_before_it_was_bought_is_named(make_folder: MakeFolder, now: datetime) -> None:
    lures = "lot,species,bought_on,expires_on\nCM26,CM,2026-03-01,2025-03-01\nOFM26,OFM,,\n"
    said = remarks(make_folder, now, "A1,N,CM,2026-04-20,,,\n", lures=lures)
    assert any("lot CM26 expired on 2025-03-01, before it was bought on 2026-03-01" in one for one in said)


def test_the_store_is_not_searched_where_the_register_stayed_as_it_was(
    store: sqlite3.Connection, make_folder: MakeFolder, now: datetime
) -> None:
    folder = make_folder()
    load_folder(store, folder, now)
    assert load_folder(store, folder, now).remarks == []


def test_traps_that_hang_in_no_route_are_named_at_load(make_folder: MakeFolder, now: datetime) -> None:
    """A register of many traps and a route of one: no round would ever come to the others."""
    traps = "A1,N,CM,2026-04-20,,,\n" + "".join(f"B{n},S,OFM,2026-04-20,,,\n" for n in range(1, 15))
    said = remarks(make_folder, now, traps, routes="route,position,trap\neast,1,A1\n")
    (one,) = (words for words in said if "no route" in words)
    assert "traps hang in no route: " in one
    assert "B1, B2, B3" in one
    assert " and " in one


def test_a_block_for_a_market_without_its_number_is_named(make_folder: MakeFolder, now: datetime) -> None:
    blocks = "block,farm,name,crop,unit_no,markets\nN,HF,North,apple,,Taiwan\nS,HF,South,apple,U-2,Taiwan\n"
    said = [one for one in remarks(make_folder, now, "A1,N,CM,2026-04-20,,,\n", blocks=blocks) if "unit_no" in one]
    assert len(said) == 1
    assert said[0].startswith("blocks.csv: N is meant for Taiwan and has no unit_no")
