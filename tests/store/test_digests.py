"""Every entry carries a digest of what it says, and that of the entry before it on its lane."""

from __future__ import annotations

import hashlib
import json
import random
import sqlite3
from dataclasses import replace
from datetime import date, datetime

import pytest

from roundtui.domain.entries import (
    Assembled,
    BiofixSettled,
    Form,
    Notified,
    PartKind,
    PartNoted,
    PartState,
    Sample,
    SampleKind,
    SetUpChanged,
    Specimen,
    StageSeen,
    Stocked,
    StockKind,
    TempsRead,
    TreatmentSaid,
    Visit,
)
from roundtui.domain.round.recounts import CheckResult, Question, QuestionWord, TrapChecked
from roundtui.domain.units import TempUnit
from roundtui.errors import RefusedError
from roundtui.store.exchange.lines import _as_written, decoded_object, line_of, row_of
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.lanes import lane_names
from roundtui.store.record.rows import (
    DIGEST_FORM,
    HEAD,
    JOURNALS,
    TABLES,
    VISITS,
    Row,
    Table,
    canonical,
    digest_of,
    text_of,
)
from roundtui.store.set_up.columns import FILES, rows_in
from roundtui.store.set_up.columns import digest_of as row_digest

ADA = Author("Ada", "truck")
ON = date(2026, 5, 20)
FORGED = 1500


def fill(conn: sqlite3.Connection, now: datetime) -> None:
    entries = [
        Visit(trap="A1", read_on=ON, count=4, note='half under leaves "[/]" \u202e\x07'),
        StageSeen(block="N", seen_on=ON, code="65"),
        Notified(block="N", species="CM", round_on=ON, status="over", notified_on=ON, by="Bo", how="phone"),
        BiofixSettled(block="N", species="CM", season=2026, generation=1, day=ON, proposed=ON, rule="our-cm"),
        TempsRead(station="V", day=ON, tmin="41.5", tmax="66", unit=TempUnit.F, note="porch"),
        Question(entry="e" * 36, says=QuestionWord.ASKED, words="40 or 4?", about_on=ON, trap="A1"),
        Sample(block="N", sampled_on=ON, kind=SampleKind.LEAF, pest="OBLR", looked_at="shoot", looked=60, found=1),
        TreatmentSaid(block="N", species="CM", treated_on=ON, words="cover spray"),
        Specimen(trap="A1", read_on=ON, what="unknown", number=2, vial="V-7", in_count=True),
        PartNoted(label="D1", part=PartKind.BODY, species="CM", state=PartState.STORED, noted_on=ON),
        Assembled(trap="A1", species="CM", assembled_on=ON, body_label="D1"),
        Stocked(lot="CM26", stocked_on=ON, kind=StockKind.COUNTED, number=12),
        TrapChecked(trap="A1", checked_on=ON, result=CheckResult.PLANTED, planted=10, recovered=8),
        SetUpChanged(
            file="traps.csv",
            change="edited",
            done_on=ON,
            was='{"row": "3"}',
            becomes='{"row": "4"}',
            row='["A1",""]',
            trap="A1",
        ),
    ]
    withdraw(conn, record(conn, entries, ADA, now)[0].id, "wrong sheet", ADA, now)


def test_the_digest_is_that_of_a_text_anyone_can_make(store: sqlite3.Connection, now: datetime) -> None:
    fill(store, now)
    entry_id, digest, no, lane, previous = store.execute(
        "SELECT id, digest, no, name, previous FROM visits JOIN lanes USING (lane)"
    ).fetchone()
    before = f'"previous":"{previous.hex()}",' if previous else ""
    said = (
        f'{{"count":4,"device":"truck","form":1,"id":"{entry_id}","kind":"visit","lane":"{lane}","no":{no},'
        '"note":"half under leaves \\"[/]\\" \u202e\\u0007",'
        f'{before}"read_on":"2026-05-20",'
        '"recorded_at":"2026-05-20T16:30:00.000000Z","scout":"Ada","trap":"A1"}'
    )
    assert digest == hashlib.sha256(said.encode()).digest()


def test_a_line_that_roundtui_wrote_is_read_the_quick_way_and_no_other_is(
    store: sqlite3.Connection, now: datetime
) -> None:
    fill(store, now)
    names = lane_names(store)
    for table in JOURNALS:
        for row in store.execute(f"SELECT {table.whole} FROM {table.name}"):
            line = line_of(table, row, names)
            said = json.loads(line)
            slowly = row_of({name: value for name, value in said.items() if name != "sha256"}, said["sha256"])
            whole = (table, (*row[:-5], names[row[-5]], *row[-4:]))
            assert _as_written(line.decode().removesuffix("\n")) == slowly == whole
            for changed in ({**said, "reason": "x"}, {**said, "moonlit": 1}, {**said, "no": said["no"] + 0.0}):
                assert _as_written(canonical(changed).decode()) is None
            assert _as_written(line.decode().replace(":", ": ", 1)) is None


def test_the_quick_way_takes_nothing_that_a_close_look_refuses(store: sqlite3.Connection, now: datetime) -> None:
    """Letters changed at random, and the digest made anew, as a forger would."""
    fill(store, now)
    names, rng, taken = lane_names(store), random.Random(1), 0
    lines = [line_of(t, row, names) for t in JOURNALS for row in store.execute(f"SELECT {t.whole} FROM {t.name}")]
    for turn in range(FORGED):
        said = json.loads(lines[turn % len(lines)])
        del said["sha256"]
        text = list(canonical(said).decode())
        at = rng.randrange(len(text))
        text[at : at + rng.randrange(3)] = rng.choices('0123459"\\,:{}truefalsnu-é \x07', k=rng.randrange(3))
        forged, digest = "".join(text), hashlib.sha256("".join(text).encode()).digest()
        if (quick := _as_written(forged, digest)) is not None:
            taken += 1
            assert row_of(decoded_object(forged.encode()), digest.hex()) == quick
    assert taken > FORGED // 20


def test_each_entry_holds_the_digest_of_the_one_before_it_on_its_lane(store: sqlite3.Connection, now: datetime) -> None:
    fill(store, now)
    lanes = store.execute("SELECT lane, last_no, last_digest FROM lanes").fetchall()
    assert lanes
    for lane, last, digest in lanes:
        rows = sorted(
            row
            for table in JOURNALS
            for row in store.execute(f"SELECT no, previous, digest FROM {table.name} WHERE lane = ?", (lane,))
        )
        assert [row[0] for row in rows] == list(range(1, len(rows) + 1))
        assert [row[1] for row in rows] == [b"", *(row[2] for row in rows[:-1])]
        assert (last, digest) == (rows[-1][0], rows[-1][2])


def said_by(table: Table, row: Row, lane: str) -> dict[str, object]:
    """What an entry says, by the rule as docs/open-files.md has it, without the quick way."""
    extra, _, no, previous, form, _ = row[len(table.columns) :]
    said = {"kind": table.kind, "lane": lane, "no": no, "form": form}
    said |= {"previous": previous.hex()} if previous else {}
    said |= {name: value for name, value in zip(HEAD, row, strict=False) if value not in (None, "")}
    for one, value in zip(table.own, row[len(HEAD) : len(table.columns)], strict=True):
        if one.required or value != one.default:
            said[one.name] = value == 1 if one.form is Form.FLAG else value
    return said | (json.loads(extra) if extra else {})


def test_the_quick_way_to_the_text_of_an_entry_writes_what_the_rule_says(
    store: sqlite3.Connection, now: datetime
) -> None:
    fill(store, now)
    lanes, kinds = lane_names(store), 0
    for table in TABLES.values():
        for row in store.execute(f"SELECT {table.whole} FROM {table.name}"):
            lane, at = lanes[row[-5]], len(table.columns)
            said = said_by(table, row, lane)
            assert canonical(said).decode() == text_of(table, row, lane).decode()
            assert canonical(said | {"sha256": "ab"}) == text_of(table, row, lane, "ab")
            assert canonical(said | {"moonlit": 1}) == text_of(
                table, (*row[:at], '{"moonlit":1}', *row[at + 1 :]), lane
            )
        kinds += bool(store.execute(f"SELECT 1 FROM {table.name}").fetchone())
    assert kinds > 10


def test_a_field_that_is_added_changes_no_digest_of_before(store: sqlite3.Connection, now: datetime) -> None:
    """An entry that says nothing of a field has the digest that it had when nobody knew the field."""
    (entry,) = record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, now)
    values, lane, rest = VISITS.values(entry), "1" * 12 + "." + "2" * 12 + ".1", (1, 1, b"", DIGEST_FORM)
    known = replace(VISITS, kind="visit")
    known.__dict__["own"] = tuple(one for one in VISITS.own if one.name != "females")
    without = tuple(value for name, value in zip(VISITS.columns, values, strict=True) if name != "females")
    assert digest_of(VISITS, (*values, "", *rest), lane) == digest_of(known, (*without, "", *rest), lane)
    sexed = VISITS.values(replace(entry, females=2))
    newer = (*without, '{"females":2}', *rest)
    assert digest_of(VISITS, (*sexed, "", *rest), lane) == digest_of(known, newer, lane)


def test_entries_are_never_changed(store: sqlite3.Connection, now: datetime) -> None:
    fill(store, now)
    for table in JOURNALS:
        if store.execute(f"SELECT 1 FROM {table.name}").fetchone():
            with pytest.raises(sqlite3.IntegrityError, match="never changed or erased"):
                store.execute(f"UPDATE {table.name} SET digest = zeroblob(32)")


def test_an_entry_longer_than_any_bundle_may_carry_is_refused(store: sqlite3.Connection, now: datetime) -> None:
    (entry,) = record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, now)
    with pytest.raises(RefusedError, match="a text has 20001 characters"):
        withdraw(store, entry.id, "x" * 20_001, ADA, now)
    assert withdraw(store, entry.id, "x" * 20_000, ADA, now).reason == "x" * 20_000
    file = SetUpChanged(file="letters.toml", change="edited", done_on=ON, row="[]", becomes=f"[{'1' * 199_998}]")
    assert record(store, [file], ADA, now)[0].becomes == file.becomes, "a whole file of the office's own may be longer"
    with pytest.raises(RefusedError, match="a text has 200001 characters"):
        record(store, [replace(file, becomes=f"[{'1' * 199_999}]")], ADA, now)


def test_the_digest_of_a_set_up_row_is_one_anyone_can_make(store: sqlite3.Connection) -> None:
    file = next(file for file in FILES if file.name == "blocks.csv")
    said = '["blocks.csv",["block","N"],["crop","apple"],["farm","HF"],["name","North"]]'
    assert row_digest(file, rows_in(store, file)['["N"]']) == hashlib.sha256(said.encode()).hexdigest()
