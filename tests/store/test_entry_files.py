"""Files of what was done beside the weekly count: a fruit sample on paper, a delivery of lures, a shelf of bodies."""

from __future__ import annotations

import sqlite3
from datetime import date, datetime
from pathlib import Path

import pytest

from roundtui.domain.entries import Assembled, PartNoted, Recorded, Sample, SampleKind, Specimen, Stocked, TreatmentSaid
from roundtui.errors import ProblemsError
from roundtui.store.record.journal import Author, withdraw
from roundtui.store.record.observations import present
from roundtui.store.record.rows import TABLES
from roundtui.store.round.tally_file import KINDS, columns_of, record_file

ADA = Author("Ada", "truck")
TODAY = date(2026, 5, 20)
FILES = {
    "samples": "block,sampled_on,sample,pest,unit,examined,found,plan\nn,2026-05-19,LEAF,OBLR,shoot,60,1,\n",
    "treatments": "block,species,treated_on,words,said_by\nN,cm,2026-05-19,=cover spray,Bo\n",
    "specimens": "trap,read_on,what,number,vial,in_count\na1,2026-05-19,unknown,2,V-7,no\n",
    "parts": "label,part,species,state,noted_on,place\nD1,body,CM,stored,2026-05-19,loft\n",
    "assemblies": "trap,species,assembled_on,body_label,lot\nA1,CM,2026-05-19,D1,CM26\n",
    "checks": "trap,checked_on,result,planted,recovered\na1,2026-05-19,planted,10,8\n",
    "stock": "lot,stocked_on,event,number\ncm26,2026-05-19,counted,12\n",
}


def enter(conn: sqlite3.Connection, folder: Path, kind: str, text: str, now: datetime) -> tuple[list[Recorded], int]:
    path = folder / f"{kind}-file.csv"
    path.write_text(text, encoding="utf-8")
    report = record_file(conn, path, kind, ADA, now=now, today=TODAY)
    return report.added, report.known


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_is_recorded_once_and_a_second_time_adds_nothing(
    kind: str, store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    added, known = enter(store, folder, kind, FILES[kind], now)
    assert (len(added), known) == (1, 0)
    assert enter(store, folder, kind, FILES[kind], now) == ([], 1)
    table = TABLES[KINDS[kind][0]]
    assert present(store, table, TODAY.replace(day=1), TODAY) == added


def test_what_was_withdrawn_is_not_brought_back_by_the_same_file(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    (entry,), _ = enter(store, folder, "stock", FILES["stock"], now)
    withdraw(store, entry.id, "wrong shelf", ADA, now)
    assert enter(store, folder, "stock", FILES["stock"], now) == ([], 1)


def test_each_kind_becomes_its_own_record_with_labels_as_they_are_set_up(
    store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    found = {kind: enter(store, folder, kind, text, now)[0][0] for kind, text in FILES.items()}
    sample, said, one = found["samples"], found["treatments"], found["specimens"]
    assert isinstance(sample, Sample)
    assert (sample.block, sample.kind, sample.found, sample.grade) == ("N", SampleKind.LEAF, 1, None)
    assert isinstance(said, TreatmentSaid)
    assert (said.species, said.words) == ("CM", "=cover spray")
    assert isinstance(one, Specimen)
    assert (one.trap, one.in_count, one.identified_on) == ("A1", False, None)
    assert isinstance(found["parts"], PartNoted)
    assert isinstance(found["assemblies"], Assembled)
    assert isinstance(found["stock"], Stocked)
    assert found["stock"].lot == "CM26"


@pytest.mark.parametrize(
    ("kind", "text", "words"),
    [
        (
            "samples",
            "block,sampled_on,sample,pest,unit,examined,found\nQ,2026-05-19,leaf,OBLR,shoot,60,1\n",
            "no block Q",
        ),
        ("samples", "block,sampled_on,sample,pest,unit,examined,found\nN,2026-05-19,bark,OBLR,shoot,60,1\n", "bark"),
        ("stock", "lot,stocked_on,event,number\nCM26,2026-05-21,counted,12\n", "in the future"),
        ("stock", "lot,stocked_on,event,number\nCM26,2026-05-19,,12\n", "is blank"),
        ("stock", "lot,stocked_on,event,number\nCM26,2026-05-19,counted,a dozen\n", "no whole number"),
        ("parts", "label,part,species,noted_on\nD1,body,CM,2026-05-19\n", "the column state is missing"),
        ("specimens", "trap,read_on,what,number\nZ9,2026-05-19,bee,1\n", "no trap Z9"),
    ],
)
def test_a_faulty_row_keeps_the_whole_file_out_and_is_named(
    kind: str, text: str, words: str, *, store: sqlite3.Connection, folder: Path, now: datetime
) -> None:
    good = FILES[kind].splitlines()[1]
    whole = f"{text}{good}\n" if text.splitlines()[0] == FILES[kind].splitlines()[0] else text
    with pytest.raises(ProblemsError) as caught:
        enter(store, folder, kind, whole, now)
    assert any(words in str(problem) for problem in caught.value.problems)
    assert "line" in caught.value.problems[0].where
    assert present(store, TABLES[KINDS[kind][0]], TODAY.replace(day=1), TODAY) == []


def test_columns_are_those_of_the_record() -> None:
    needed, more = columns_of("samples")
    assert needed == ("block", "sampled_on", "sample", "pest", "unit", "examined", "found")
    assert {"plan", "grade", "entries", "note"} <= set(more)
