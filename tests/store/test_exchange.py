"""Laptops that meet in a shared folder need think no further."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import ExitStack
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest

from roundtui.domain.entries import Visit
from roundtui.errors import RefusedError, StoreError
from roundtui.store.exchange.exchange import ExchangeReport, exchange
from roundtui.store.exchange.lines import MANIFEST
from roundtui.store.record.journal import Author, record
from roundtui.store.record.lanes import state_folder
from tests.conftest import NOW
from tests.long.faults import (
    LAPTOPS,
    Meeting,
    kill_entering,
    kill_restore,
    meet_at_random,
    run_fuzz,
    walk,
)
from tests.store.bad_bundles import BAD
from tests.store.laptops import ON, Laptops, rows_of

NAMES = ("truck", "van [/]", "desk")

SET_UP = 13
"""Rows of the small programme, each of which came by an entry of the laptop that loaded it first."""


@pytest.fixture
def three(tmp_path: Path) -> Iterator[Laptops]:
    with ExitStack() as stack:
        yield Laptops(tmp_path, [timedelta()] * 3, stack)


@pytest.fixture
def shared(tmp_path: Path) -> Path:
    path = tmp_path / "shared"
    path.mkdir()
    return path


def enter(there: Laptops, at: int, trap: str, count: int = 4) -> Visit:
    visit = Visit(trap=trap, read_on=ON, count=count)
    return record(there.stores[at], [visit], Author(f"scout {at}", NAMES[at]), NOW)[0]


@pytest.fixture
def meet(three: Laptops, shared: Path, monkeypatch: pytest.MonkeyPatch) -> object:
    """A pass on one of the laptops, each of which has a state of its own."""
    states = state_folder().parent

    def meet(at: int) -> ExchangeReport:
        monkeypatch.setenv("XDG_STATE_HOME", str(states / str(at)))
        folder = three.root / f"laptop-{at}"
        return exchange(three.stores[at], folder, shared, device=NAMES[at], now=NOW)

    return meet


def test_three_laptops_know_the_same_after_two_rounds(three: Laptops, shared: Path, meet: object) -> None:
    for at in range(3):
        enter(three, at, f"A{at + 1}")
    for at in (0, 1, 2, 0, 1):
        meet(at)  # type: ignore[operator]
    everything = [rows_of(conn) for conn in three.stores[:3]]
    assert everything[0] == everything[1] == everything[2]
    assert len([row for row in everything[0].values() if row[0] == "visits"]) == 3
    names = sorted(path.name for path in shared.iterdir())
    assert [name.rsplit("-", 2)[0] for name in names] == ["desk", "truck", "van"]


def test_nothing_new_writes_nothing(three: Laptops, shared: Path, meet: object) -> None:
    enter(three, 0, "A1")
    for at in (0, 1, 0, 1):
        meet(at)  # type: ignore[operator]
    before = {path.name: (path.stat().st_mtime_ns, path.read_bytes()) for path in shared.iterdir()}
    for at in (0, 1, 0, 1):
        report = meet(at)  # type: ignore[operator]
        assert (report.packed, report.merged, report.same) == (None, {}, 1)
    assert {path.name: (path.stat().st_mtime_ns, path.read_bytes()) for path in shared.iterdir()} == before


def test_a_laptop_hands_on_what_came_by_a_stick_from_one_that_is_not_in_the_folder(
    three: Laptops, shared: Path, meet: object
) -> None:
    entry = enter(three, 2, "A3")
    three.merge(0, three.pack(2))
    meet(0)  # type: ignore[operator]
    meet(1)  # type: ignore[operator]
    assert entry.id in rows_of(three.stores[1])
    meet(2)  # type: ignore[operator]
    report = meet(0)  # type: ignore[operator]
    assert report.packed is not None
    assert report.packed.entries == SET_UP
    with zipfile.ZipFile(next(shared.glob("truck-*"))) as bundle:
        assert len(json.loads(bundle.read(MANIFEST))["without"]) == 1


def test_as_many_entries_as_before_are_not_always_the_same_ones(three: Laptops, shared: Path, meet: object) -> None:
    """One entry that was handed on leaves the bundle in the pass in which one of the laptop's own comes in."""
    enter(three, 2, "A3")
    three.merge(0, three.pack(2))
    meet(0)  # type: ignore[operator]
    meet(2)  # type: ignore[operator]
    own = enter(three, 0, "A1")
    assert meet(0).packed.entries == SET_UP + 1  # type: ignore[operator]
    meet(1)  # type: ignore[operator]
    assert own.id in rows_of(three.stores[1])


def test_two_laptops_of_one_name_keep_bundles_apart(
    three: Laptops, shared: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for at in (0, 1, 0):
        monkeypatch.setenv("XDG_STATE_HOME", str(three.root / f"state-{at}"))
        record(
            three.stores[at],
            [Visit(trap=f"A{at + 1}", read_on=ON, count=at, recount=True)],
            Author("Ada", "laptop"),
            NOW,
        )
        exchange(three.stores[at], three.root / f"laptop-{at}", shared, device="laptop", now=NOW)
    assert len(list(shared.iterdir())) == 2
    assert len([row for row in rows_of(three.stores[0]).values() if row[0] == "visits"]) == 3


@pytest.mark.parametrize("what", ["the first half of a bundle", "an empty file", "a bundle without its last byte"])
def test_a_file_on_its_way_is_left_for_the_next_pass(three: Laptops, shared: Path, meet: object, what: str) -> None:
    entry = enter(three, 1, "A2")
    whole = three.pack(1).read_bytes()
    coming = shared / "van-00000000.bundle"
    coming.write_bytes(BAD[what](whole))
    report = meet(0)  # type: ignore[operator]
    assert (report.refused, report.merged) == ([], {})
    assert coming.name in report.unfinished[0].message
    coming.write_bytes(whole)
    assert meet(0).merged[coming.name].new == 1  # type: ignore[operator]
    assert entry.id in rows_of(three.stores[0])


def test_names_that_finished_bundles_never_have_are_not_looked_at(three: Laptops, shared: Path, meet: object) -> None:
    enter(three, 1, "A2")
    bundle = three.pack(1)
    for name in (".van.bundle.unfinished-7", "~van.bundle", "van.bundle.tmp", ".van.bundle", "notes.txt"):
        shutil.copy(bundle, shared / name)
    (shared / "old").mkdir()
    report = meet(0)  # type: ignore[operator]
    assert (report.merged, report.unfinished, report.refused) == ({}, [], [])


def test_a_bad_bundle_is_named_and_keeps_none_of_the_others_out(three: Laptops, shared: Path, meet: object) -> None:
    entry = enter(three, 1, "A2")
    good = three.pack(1)
    (shared / "a-bad.bundle").write_bytes(BAD["an entry changed, and the manifest with it"](good.read_bytes()))
    shutil.copy(good, shared / "b-good.bundle")
    (shared / "c.bundle").mkdir()
    report = meet(0)  # type: ignore[operator]
    assert [problem.message.split(" ", 1)[0] for problem in report.refused] == [
        "a-bad.bundle",
        str(shared / "c.bundle"),
    ]
    assert report.merged["b-good.bundle"].new == 1
    assert entry.id in rows_of(three.stores[0])


def test_a_store_in_the_shared_folder_is_warned_of(three: Laptops, shared: Path, meet: object) -> None:
    (shared / "roundtui.db").write_bytes(b"")
    report = meet(0)  # type: ignore[operator]
    assert "must not lie in a folder that is shared or synced" in report.remarks[0].message


def test_the_two_folders_must_be_apart(three: Laptops, shared: Path) -> None:
    conn, folder = three.stores[0], three.root / "laptop-0"
    inside = folder / "shared"
    inside.mkdir()
    for wrong in (folder, inside):
        with pytest.raises(RefusedError, match="lies in the scouting folder"):
            exchange(conn, folder, wrong, device="truck", now=NOW)
    with pytest.raises(RefusedError, match="the scouting folder lies in"):
        exchange(conn, folder, three.root, device="truck", now=NOW)
    with pytest.raises(StoreError, match="there is no folder"):
        exchange(conn, folder, shared / "none", device="truck", now=NOW)


def test_an_older_store_reverted_gets_everything_again(three: Laptops, shared: Path, meet: object) -> None:
    """What was merged is remembered in the store itself, so a backup remembers no more than it has."""
    enter(three, 1, "A2")
    meet(1)  # type: ignore[operator]
    with sqlite3.connect(three.root / "backup.db") as backup:
        three.stores[0].backup(backup)
    meet(0)  # type: ignore[operator]
    assert len(rows_of(three.stores[0])) == SET_UP + 1
    with sqlite3.connect(three.root / "backup.db") as backup:
        backup.backup(three.stores[0])
    backup.close()
    assert len(rows_of(three.stores[0])) == SET_UP
    meet(0)  # type: ignore[operator]
    assert len(rows_of(three.stores[0])) == SET_UP + 1


def test_a_backup_put_in_place_gets_back_what_lies_in_the_shared_folder(tmp_path: Path) -> None:
    """Exchange, enter, exchange, restore an older backup, exchange: the own bundle is read, not written over."""
    meeting = Meeting(tmp_path, Random(1))
    meeting.enter("truck", "A1")
    meeting.exchange("truck")
    meeting.backup("truck")
    lost = meeting.enter("truck", "A2")
    meeting.exchange("truck")
    meeting.restore("truck")
    assert lost not in meeting.known("truck")
    meeting.exchange("truck")
    assert lost in meeting.known("truck")
    meeting.exchange("van")
    assert meeting.entered <= meeting.known("van")


def test_laptops_hand_back_what_the_truck_lost_with_its_store_and_the_shared_folder(tmp_path: Path) -> None:
    meeting = Meeting(tmp_path, Random(1))
    meeting.enter("truck", "A1")
    meeting.backup("truck")
    lost = meeting.enter("truck", "A2")
    meeting.exchange("truck")
    meeting.exchange("desk")
    meeting.restore("truck")
    meeting.lose_shared("")
    meeting.exchange("truck")  # Its bundle holds A1 alone, and as many lanes as ever.
    meeting.enter("truck", "A3")
    meeting.exchange("desk")
    meeting.exchange("van")
    assert lost in meeting.known("van")
    meeting.exchange("truck")
    assert meeting.entered <= meeting.known("truck")


def test_a_bundle_of_this_laptop_that_cannot_be_read_is_left_and_another_put_beside_it(
    three: Laptops, shared: Path, meet: object
) -> None:
    enter(three, 0, "A1")
    meet(0)  # type: ignore[operator]
    (own,) = shared.iterdir()
    torn = own.read_bytes()[:-9]
    own.write_bytes(torn)
    entry = enter(three, 0, "A2")
    report = meet(0)  # type: ignore[operator]
    assert own.name in report.unfinished[0].message
    assert own.read_bytes() == torn
    assert sorted(path.name for path in shared.iterdir()) == [f"{own.stem}-2.bundle", own.name]
    meet(1)  # type: ignore[operator]
    assert entry.id in rows_of(three.stores[1])
    assert meet(0).packed is None  # type: ignore[operator]


@pytest.mark.parametrize("seed", range(1))
def test_laptops_that_restore_and_lose_the_folder_lose_no_entry(tmp_path: Path, seed: int) -> None:
    """More of it: python -m tests.long.faults exchange."""
    entered, lacking = meet_at_random(tmp_path, Random(seed), 12)
    assert entered
    assert lacking == dict.fromkeys(LAPTOPS, 0)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no process is split in two here")
def test_whatever_is_killed_loses_and_doubles_nothing() -> None:
    """Two thousand of them: python -m tests.long.faults kills 2000."""
    rng = Random(4)
    for kills, lost, doubled in (kill_entering(walk, 1, rng), kill_restore(1, rng)):
        assert kills
        assert (lost, doubled) == (0, 0)


def test_spoiled_inputs_are_refused_in_words() -> None:
    """A hundred thousand of them: python -m tests.long.faults fuzz 100000."""
    assert "0 that were no refusal in words" in run_fuzz(60, 5)
