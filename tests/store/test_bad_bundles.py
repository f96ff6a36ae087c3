"""A bundle from anywhere can be anything: it is refused with a word, and nothing changes."""

from __future__ import annotations

import json
import sqlite3
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from roundtui.domain.entries import (
    Assembled,
    BiofixSettled,
    Form,
    Notified,
    PartKind,
    PartNoted,
    PartState,
    Recorded,
    Sample,
    SampleKind,
    Specimen,
    StageSeen,
    Stocked,
    StockKind,
    TreatmentSaid,
    Visit,
)
from roundtui.domain.round.recounts import CheckResult, Question, QuestionWord, TrapChecked
from roundtui.errors import RefusedError, RoundtuiError, StoreError
from roundtui.store.exchange.bundle import Since, pack
from roundtui.store.exchange.lines import BundleError, Why
from roundtui.store.exchange.merge import merge
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.rows import VISITS, table_of
from tests.conftest import NOW
from tests.store.bad_bundles import BAD, signed, with_lines, with_visit
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


OBSERVATIONS = (
    StageSeen(block="N", seen_on=ON, code="65"),
    Notified(block="N", species="CM", round_on=ON, status="over", notified_on=ON, by="Bo", how="phone"),
    BiofixSettled(block="N", species="CM", season=2026, generation=1, day=ON, proposed=ON, reason="cold"),
    Question(entry="", says=QuestionWord.ASKED, about_on=ON, words="40 or 4?"),
    Sample(block="N", sampled_on=ON, kind=SampleKind.LEAF, pest="OBLR", looked_at="shoot", looked=60, found=3),
    TreatmentSaid(block="N", species="CM", treated_on=ON),
    Specimen(trap="A1", read_on=ON, what="sawfly", number=2, identified_on=ON, identified_by="Bo"),
    PartNoted(label="D1", part=PartKind.BODY, species="CM", state=PartState.NEW, noted_on=ON),
    Assembled(trap="A1", species="CM", assembled_on=ON),
    Stocked(lot="CM26", stocked_on=ON, kind=StockKind.BOUGHT, number=3),
    TrapChecked(trap="A1", checked_on=ON, result=CheckResult.PASSED),
)
"""An entry of each kind that is about a day, visits apart."""


@pytest.mark.parametrize("entry", OBSERVATIONS, ids=lambda one: type(one).__name__)
def test_no_bundle_brings_a_day_an_instant_or_a_number_that_nobody_could_enter(two: Laptops, entry: Recorded) -> None:
    kind = table_of(type(entry))
    if isinstance(entry, Question):
        entry = replace(entry, entry=next(iter(rows_of(two.stores[2]))))
    two.merge(2, two.pack(0))
    (done,) = record(two.stores[2], [entry], ADA, NOW)
    good = two.pack(2)
    days = [one.name for one in kind.own if one.form is Form.DAY]
    numbers = [one.name for one in kind.own if one.form is Form.WHOLE]
    forged: list[tuple[str, object, str]] = [
        (day, f"{year}-12-31", "slip of the keys") for day in days for year in (1850, 9999)
    ]
    forged += [(day, "2031-05-20", "a day to come") for day in days[:1]]
    forged += [(number, 10**6, "impossible") for number in numbers]
    forged += [("recorded_at", "9999-12-31T23:59:59.999999Z", "was recorded in 9999")]
    bad = two.root / "forged.bundle"
    for name, value, words in forged:
        bad.write_bytes(forge(done.id, name, value)(good.read_bytes()))
        with pytest.raises(BundleError) as caught:
            merge(two.stores[1], [bad], today=ON)
        assert words in caught.value.message, (name, value)
    assert merge(two.stores[1], [good], today=ON).new


def forge(entry: str, name: str, value: object) -> Callable[[bytes], bytes]:
    """One field of one entry made to say something else, with digests that fit."""

    def edit(lines: list[bytes]) -> list[bytes]:
        said = [json.loads(line) for line in lines]
        return [
            signed(one | {name: value}) if one["id"] == entry else line for one, line in zip(said, lines, strict=True)
        ]

    return with_lines(edit)


def test_a_day_to_come_does_no_harm_once_it_is_corrected(two: Laptops) -> None:
    (slip,) = record(two.stores[2], [Visit(trap="A2", read_on=ON.replace(year=2031), count=1)], ADA, NOW)
    with pytest.raises(BundleError, match="a day to come"):
        merge(two.stores[1], [two.pack(2)], today=ON)
    record(two.stores[2], [replace(slip, read_on=ON, replaces=slip.id, reason="clock")], ADA, NOW)
    assert merge(two.stores[1], [two.pack(2)], today=ON).new
