"""Every entry carries a digest of what it says, those recorded before there were digests too."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from datetime import date, datetime
from pathlib import Path

import pytest

from roundtui.domain.kit.entries import Assembled, PartKind, PartNoted, PartState, SetUpChanged, Stocked, StockKind
from roundtui.domain.orchard_entries import Look, LookKind, Specimen, TreatmentSaid
from roundtui.domain.questions import Question, QuestionWord
from roundtui.domain.season_entries import BiofixSettled, TempsRead
from roundtui.domain.units import TempUnit
from roundtui.domain.visits import StageSeen, Told, Visit
from roundtui.errors import RefusedError
from roundtui.store.connect import DB_NAME, open_store
from roundtui.store.journal import Author, record, withdraw
from roundtui.store.migrations import APPLICATION_ID
from roundtui.store.rows import JOURNALS, VISITS
from roundtui.store.set_up.columns import FILES
from roundtui.store.set_up.load import load_folder
from roundtui.store.set_up.row_digests import digest_of, renew_digests, rows_in
from roundtui.store.trouble import FIRST

ADA = Author("Ada", "truck")
ON = date(2026, 5, 20)


def fill(conn: sqlite3.Connection, now: datetime) -> None:
    entries = [
        Visit(trap="A1", read_on=ON, count=4, note='half under leaves "[/]" \u202e\x07'),
        StageSeen(block="N", seen_on=ON, code="65"),
        Told(block="N", species="CM", round_on=ON, status="over", told_on=ON, by="Bo", how="phone"),
        BiofixSettled(block="N", species="CM", season=2026, generation=1, day=ON, proposed=ON, rule="our-cm"),
        TempsRead(station="V", day=ON, tmin="41.5", tmax="66", unit=TempUnit.F, note="porch"),
        Question(entry="e" * 36, says=QuestionWord.ASKED, words="40 or 4?", about_on=ON, trap="A1"),
        Look(block="N", looked_on=ON, kind=LookKind.LEAF, pest="OBLR", looked_at="shoot", looked=60, found=1),
        TreatmentSaid(block="N", species="CM", treated_on=ON, words="cover spray"),
        Specimen(trap="A1", read_on=ON, what="unknown", number=2, vial="V-7", in_count=True),
        PartNoted(label="D1", part=PartKind.BODY, species="CM", state=PartState.STORED, noted_on=ON),
        Assembled(trap="A1", species="CM", assembled_on=ON, body_label="D1"),
        Stocked(lot="CM26", stocked_on=ON, kind=StockKind.COUNTED, number=12),
        SetUpChanged(
            file="traps.csv", deed="edited", done_on=ON, was='{"row": "3"}', becomes='{"row": "4"}', trap="A1"
        ),
    ]
    withdraw(conn, record(conn, entries, ADA, now)[0].id, "wrong sheet", ADA, now)


def test_the_digest_is_that_of_a_json_array_anyone_can_make(store: sqlite3.Connection, now: datetime) -> None:
    fill(store, now)
    entry_id, digest = store.execute("SELECT id, digest FROM visits").fetchone()
    said = (
        f'["visit","{entry_id}","2026-05-20T16:30:00.000000Z","Ada","truck",null,"","A1","2026-05-20",4,null,1,0,null,0,'
        'null,"half under leaves \\"[/]\\" \u202e\\u0007",null,0,null,0]'
    )
    assert digest == hashlib.sha256(said.encode()).digest()


def test_a_record_of_before_gets_its_digests_and_keeps_its_guards(folder: Path, now: datetime) -> None:
    path = folder / DB_NAME
    with closing(sqlite3.connect(path, isolation_level=None)) as conn:
        for statement in FIRST:
            conn.execute(statement)
        for table, row in (
            (
                "visits",
                ("v" * 36, *("2026-05-20T16:30:00.000000Z", "Ada", "truck", None, "", "A1", "2026-05-20", 4, None)),
            ),
        ):
            marks = ", ".join("?" * (len(row) + 10))
            conn.execute(f"INSERT INTO {table} VALUES ({marks})", (*row, 1, 0, None, 0, None, "", None, 0, None, 0))
        conn.execute(
            "CREATE TABLE _sqlite_migrations (migration_set TEXT, name TEXT, applied_at TEXT,"
            " PRIMARY KEY (migration_set, name))"
        )
        conn.execute("INSERT INTO _sqlite_migrations VALUES ('roundtui', 'the_record', '2026-05-20')")
        conn.execute("PRAGMA user_version = 1")
        conn.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    with closing(open_store(folder, now=now)) as conn:
        row = conn.execute(f"SELECT {VISITS.listed}, digest FROM visits").fetchone()
        assert row[-1] == VISITS.digest(row[:-1])
        fill(conn, now)
        for table in JOURNALS:
            with pytest.raises(sqlite3.IntegrityError, match="never changed or erased"):
                conn.execute(f"UPDATE {table.name} SET digest = x''")


def test_an_entry_longer_than_any_parcel_may_carry_is_refused(store: sqlite3.Connection, now: datetime) -> None:
    (entry,) = record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, now)
    with pytest.raises(RefusedError, match="a text has 20001 characters"):
        withdraw(store, entry.id, "x" * 20_001, ADA, now)


def test_rows_loaded_before_digests_could_be_compared_are_not_taken_for_changed_ones(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    """As long as a row is as it was loaded, a store of before knows it under the new digest."""
    before = store.execute("SELECT * FROM loaded ORDER BY 1, 2").fetchall()
    for file in FILES:
        for key, values in rows_in(store, file).items():
            former = hashlib.blake2b(repr(sorted(values.items())).encode(), digest_size=12).hexdigest()
            store.execute("UPDATE loaded SET digest = ? WHERE file = ? AND key = ?", (former, file.name, key))
    assert store.execute("SELECT * FROM loaded ORDER BY 1, 2").fetchall() != before
    renew_digests(store)
    assert store.execute("SELECT * FROM loaded ORDER BY 1, 2").fetchall() == before
    assert not load_folder(store, folder, now).changed


def test_the_digest_of_a_set_up_row_is_one_anyone_can_make(store: sqlite3.Connection) -> None:
    file = next(file for file in FILES if file.name == "blocks.csv")
    said = '["blocks.csv",["block","N"],["crop","apple"],["farm","HF"],["name","North"]]'
    assert digest_of(file, rows_in(store, file)['["N"]']) == hashlib.sha256(said.encode()).hexdigest()
