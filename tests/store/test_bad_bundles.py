"""A bundle from anywhere can be anything: it is refused with a word, and nothing changes."""

from __future__ import annotations

import sqlite3
import tracemalloc
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import StageSeen, Visit
from roundtui.errors import RefusedError, RoundtuiError, StoreError
from roundtui.store.exchange.bundle import Since, pack
from roundtui.store.exchange.form import BundleError, Why
from roundtui.store.journal import Author, record, withdraw
from roundtui.store.rows import VISITS
from tests.conftest import NOW
from tests.store.bad_bundles import BAD, with_visit
from tests.store.bundle_words import PAGE, WORDS
from tests.store.laptops import ON, Laptops, rows_of

ADA = Author("Ada", "laptop 0")
BO = Author("Bo", "laptop 1")


@pytest.fixture
def two(tmp_path: Path) -> Iterator[Laptops]:
    with ExitStack() as stack:
        there = Laptops(tmp_path, [timedelta()] * 3, stack)
        first, second = record(there.stores[0], [Visit(trap=t, read_on=ON, count=4) for t in ("A1", "A2")], ADA, NOW)
        record(there.stores[0], [StageSeen(block="N", seen_on=ON, code="65")], ADA, NOW)
        record(there.stores[0], [replace(second, count=5, replaces=second.id)], ADA, NOW)
        withdraw(there.stores[0], first.id, "wrong sheet", ADA, NOW)
        for store in there.stores[1:3]:
            record(store, [Visit(trap="A3", read_on=ON, count=4)], BO, NOW)
        yield there


def state(conn: sqlite3.Connection) -> tuple[object, ...]:
    """Everything a merge could have touched."""
    return (
        rows_of(conn),
        conn.execute("SELECT * FROM suspect_traps").fetchall(),
        conn.execute("SELECT * FROM bodies").fetchall(),
        conn.execute("SELECT * FROM settings").fetchall(),
        conn.execute("SELECT count(*) FROM sqlite_temp_master").fetchone(),
        conn.in_transaction,
    )


@pytest.mark.parametrize("what", BAD)
def test_a_bad_bundle_is_refused_with_its_word_and_changes_nothing(two: Laptops, what: str) -> None:
    good, other = two.pack(0), two.pack(2)
    bad = two.root / "from-a-stick.bundle"
    bad.write_bytes(BAD[what](good.read_bytes()))
    assert bad.read_bytes() != good.read_bytes()
    before = state(two.stores[1])
    with pytest.raises(BundleError) as caught:
        two.merge(1, other, bad)
    assert state(two.stores[1]) == before
    assert {path.name for path in two.root.iterdir() if path.is_file()} == {good.name, other.name, bad.name}
    assert caught.value.hint.endswith("nothing was changed")
    assert WORDS[what].fullmatch(caught.value.message), caught.value.message
    assert two.merge(1, good, other).new == 6


def test_every_way_to_refuse_is_tried_and_every_word_stands_on_the_page() -> None:
    assert set(WORDS) == set(BAD)
    tried = {why for why in Why if any(f" {why}:" in words.pattern.replace("\\", "") for words in WORDS.values())}
    assert set(Why) == tried
    assert "## Bundles" in PAGE


def test_an_id_on_record_with_other_content_is_a_clash_and_named(two: Laptops) -> None:
    good = two.pack(0)
    two.merge(1, good)
    forged = two.root / "forged.bundle"
    forged.write_bytes(with_visit(count=99)(good.read_bytes()))
    before = state(two.stores[1])
    with pytest.raises(BundleError, match="of Ada says something else than on record here") as caught:
        two.merge(1, forged)
    assert caught.value.why is Why.CLASH
    assert state(two.stores[1]) == before


def test_an_id_on_record_as_another_kind_is_a_clash(two: Laptops) -> None:
    good = two.pack(0)
    (stage,) = record(two.stores[1], [StageSeen(block="N", seen_on=ON, code="65")], BO, NOW)
    forged = two.root / "forged.bundle"
    forged.write_bytes(with_visit(id=stage.id)(good.read_bytes()))
    with pytest.raises(BundleError, match=r"is both a (visit and a stage|stage and a visit)|withdraws"):
        two.merge(1, forged)


@pytest.mark.parametrize("what", ["a bomb", "a line without end", "brackets without end"])
def test_what_would_fill_the_memory_is_refused_before_it_does(two: Laptops, what: str) -> None:
    bad = two.root / "bad.bundle"
    bad.write_bytes(BAD[what](two.pack(0).read_bytes()))
    tracemalloc.start()
    try:
        with pytest.raises(BundleError):
            two.merge(1, bad)
        assert tracemalloc.get_traced_memory()[1] < 12_000_000
    finally:
        tracemalloc.stop()


def test_a_bundle_that_is_no_file_is_refused(two: Laptops) -> None:
    with pytest.raises(StoreError, match="is not there"):
        two.merge(1, two.root / "nothing.bundle")
    with pytest.raises(StoreError, match="is no file"):
        two.merge(1, two.root)


def test_packing_writes_over_nothing_and_leaves_nothing_half_done(two: Laptops) -> None:
    good = two.pack(0)
    before = good.read_bytes()
    with pytest.raises(RefusedError, match="is there already"):
        pack(two.stores[0], good, "truck", NOW)
    assert good.read_bytes() == before
    for to, since in ((two.root / "none" / "a.bundle", None), (two.root / "a.bundle", Since(entry="nobody's"))):
        with pytest.raises(RoundtuiError):
            pack(two.stores[0], to, "truck", NOW, since)
    assert [path.name for path in two.root.iterdir() if path.is_file()] == [good.name]
    assert not two.stores[0].in_transaction


def test_a_damaged_entry_is_not_handed_on(two: Laptops) -> None:
    conn = two.stores[0]
    conn.execute("DROP TRIGGER visits_no_update")
    conn.execute("UPDATE visits SET count = 77 WHERE trap = 'A1'")
    (entry_id,) = conn.execute("SELECT id FROM visits WHERE trap = 'A1'").fetchone()
    with pytest.raises(StoreError, match=f"entry {entry_id} is not what was recorded"):
        two.pack(0)
    assert VISITS.name == "visits"
