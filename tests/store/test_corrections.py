"""Corrections are looked at before they are made, and every one can be followed back."""

from __future__ import annotations

import sqlite3
from datetime import date, timedelta

import pytest

from roundtui.domain.entries import Draft, Visit
from roundtui.domain.round.tally import parse_tally
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store.record.chains import chain
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import programme, same_day
from roundtui.store.round.changes import correction, preview
from tests.conftest import NOW

ADA = Author("Ada", "truck")
BO = Author("Bo", "desk")
ON = date(2026, 5, 20)
HOUR = timedelta(hours=1)


def draft(text: str) -> Draft:
    found, problems = parse_tally(text)
    assert found is not None, problems
    return found


def corrected(store: sqlite3.Connection, entry_id: str, text: str, **more: object) -> Visit:
    values = {"reason": "misread", "scout": "Bo", "today": ON, **more}
    return correction(store, programme(store), entry_id, draft(text), **values)  # type: ignore[arg-type]


def test_a_preview_shows_the_change_and_changes_nothing(store: sqlite3.Connection) -> None:
    (first,) = record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    new = corrected(store, first.id, "40 l")
    counts = preview(
        store, lambda: record(store, [new], BO, NOW), lambda: [visit.count for visit in same_day(store, "A1", ON)]
    )
    assert counts == ([4], [40])
    assert same_day(store, "A1", ON) == (first,)
    assert len(chain(store, first.id)) == 1


def test_a_preview_of_what_would_be_refused_is_refused(store: sqlite3.Connection) -> None:
    (first,) = record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    withdraw(store, first.id, "wrong sheet", ADA, NOW)
    with pytest.raises(RefusedError, match="withdrawn already"):
        preview(store, lambda: withdraw(store, first.id, "again", BO, NOW), lambda: None)
    assert not store.in_transaction


def test_a_chain_tells_who_changed_what_when_and_why(store: sqlite3.Connection) -> None:
    (first,) = record(store, [Visit(trap="A1", read_on=ON, count=4)], ADA, NOW)
    (second,) = record(store, [corrected(store, first.id, "14", reason="a digit short")], BO, NOW + HOUR)
    (third,) = record(store, [corrected(store, second.id, "14", trap="a2", reason="next tree")], ADA, NOW + 2 * HOUR)
    record(store, [Visit(trap="A1", read_on=ON, count=1)], ADA, NOW)
    undone = withdraw(store, third.id, "not ours", BO, NOW + 3 * HOUR)
    expected = [
        (first.id, "Ada", "truck", NOW, "", False),
        (second.id, "Bo", "desk", NOW + HOUR, "a digit short", False),
        (third.id, "Ada", "truck", NOW + 2 * HOUR, "next tree", False),
        (undone.id, "Bo", "desk", NOW + 3 * HOUR, "not ours", True),
    ]
    for row_id in (first.id, second.id, third.id, undone.id):
        rows = chain(store, row_id)
        assert [
            (r.id, r.entry.scout, r.entry.device, r.recorded_at, r.entry.reason, r.present) for r in rows
        ] == expected
    assert rows[-1].trap == "A2"
    with pytest.raises(RefusedError, match="there is no entry"):
        chain(store, "nobody's")


def test_taking_a_correction_back_brings_nothing_back_by_itself(store: sqlite3.Connection) -> None:
    (first,) = record(store, [Visit(trap="A1", read_on=ON, count=4, note="as read")], ADA, NOW)
    (second,) = record(store, [corrected(store, first.id, "14")], BO, NOW + HOUR)
    withdraw(store, second.id, "it was 4 after all", BO, NOW + 2 * HOUR)
    assert same_day(store, "A1", ON) == ()


def test_a_correction_is_held_against_what_is_possible(store: sqlite3.Connection) -> None:
    first, _ = record(store, [Visit(trap=trap, read_on=ON, count=4) for trap in ("A1", "A2")], BO, NOW)
    with pytest.raises(ProblemsError) as caught:
        corrected(store, first.id, "14", trap="A9")
    assert "there is no trap A9" in str(caught.value.problems[0])
    with pytest.raises(ProblemsError) as caught:
        corrected(store, first.id, "14", trap="A2")
    assert "has read this trap that day" in str(caught.value.problems[0])
    with pytest.raises(RefusedError, match="needs a reason"):
        corrected(store, first.id, "14", reason=" ")
    record(store, [corrected(store, first.id, "14")], BO, NOW)
    with pytest.raises(RefusedError, match="corrected or withdrawn already") as refused:
        corrected(store, first.id, "15")
    (standing,) = same_day(store, "A1", ON)
    assert standing.id in refused.value.hint
