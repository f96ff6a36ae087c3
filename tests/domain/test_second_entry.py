"""Entry a sheet twice finds every slip of one of the two, and none that is not there."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.entries import NONE, YES, Draft, NoReading
from roundtui.domain.paper.double_entry import KeyedRow, compare

ON = date(2026, 5, 20)


def row(trap: str, count: int | None = None, on: date = ON, **more: object) -> KeyedRow:
    stage = str(more.pop("stage", ""))
    return KeyedRow(trap=trap, read_on=on, draft=Draft(count=count, **more), stage=stage)  # type: ignore[arg-type]


def paper(rows: int, dice: random.Random) -> list[KeyedRow]:
    """Sheets of forty traps over weeks, with all that a row can say."""
    sheet = []
    for at in range(rows):
        more: dict[str, object] = {}
        if dice.random() < 0.2:
            more |= {"liner": True}
        if dice.random() < 0.1:
            more |= {"lure": dice.choice([YES, NONE, "CM26"]), "kill_strip": True}
        if dice.random() < 0.1:
            more |= {"note": "half under leaves", "others": dice.randrange(9)}
        unread = dice.random() < 0.1
        count = None if unread else dice.randrange(60)
        if unread:
            more |= {"no_reading": dice.choice([NoReading.SKIPPED, NoReading.DOWN])}
        sheet.append(row(f"T{at % 40}", count, ON + timedelta(days=7 * (at // 40)), **more))
    return sheet


def slip(keyed: KeyedRow, dice: random.Random) -> KeyedRow | None:
    """One slip of the finger; None: the row was skipped."""
    draft = keyed.draft
    slips: list[KeyedRow | None] = [
        None,
        replace(keyed, trap=f"9{keyed.trap}"),
        replace(keyed, read_on=keyed.read_on + timedelta(days=1)),
        replace(keyed, draft=replace(draft, liner=not draft.liner)),
        replace(keyed, draft=replace(draft, cleared=not draft.cleared)),
        replace(keyed, draft=replace(draft, lure="OFM26")),
        replace(keyed, draft=replace(draft, note=f"{draft.note}x")),
        replace(keyed, draft=replace(draft, others=77)),
        replace(keyed, stage="65"),
    ]
    if draft.count is not None:
        digits = str(draft.count)
        slips += [
            replace(keyed, draft=replace(draft, count=int(f"{digits}{dice.randrange(10)}") + 1)),
            replace(keyed, draft=replace(draft, count=draft.count + dice.choice([1, 3, 10]))),
            replace(keyed, draft=replace(draft, count=None, no_reading=NoReading.SKIPPED)),
            replace(keyed, draft=Draft()),
        ]
    else:
        slips.append(replace(keyed, draft=replace(draft, no_reading=None, count=0)))
    return dice.choice(slips)


@pytest.mark.parametrize("seed", range(5))
def test_each_of_two_hundred_slips_is_shown_and_none_invented(seed: int) -> None:
    dice = random.Random(seed)
    first = paper(1000, dice)
    wrong = set(dice.sample(range(len(first)), 200))
    second = [slip(keyed, dice) if at in wrong else keyed for at, keyed in enumerate(first)]
    found = compare(first, [keyed for keyed in second if keyed is not None])
    assert {first.index(one.first) for one in found.differences if one.first} == wrong
    moved = [at for at in wrong if second[at] is not None and second[at].place != first[at].place]  # type: ignore[union-attr]
    alone = [one.second for one in found.differences if one.first is None]
    assert alone == [second[at] for at in sorted(moved)]
    assert len(found.same) == 800
    for one in found.differences:
        if one.first and one.second:
            assert one.fields
            assert all(len(set(one.values(field))) == 2 for field in one.fields)


@given(st.integers(0, 2**32), st.integers(1, 60), st.data())
def test_double_entry_are_told_apart_row_by_row_whatever_the_order(seed: int, size: int, data: st.DataObject) -> None:
    dice = random.Random(seed)
    first = paper(size, dice)
    second = data.draw(st.permutations(first))
    assert compare(first, second).differences == ()
    assert set(compare(first, second).same) == set(first)


def test_a_blank_is_not_a_zero() -> None:
    (found,) = compare([row("A1")], [row("A1", 0)]).differences
    assert (found.fields, found.values("count")) == (("count",), ("blank", "0"))


def test_letter_case_and_blanks_of_a_label_are_no_difference_and_those_of_a_note_are() -> None:
    assert compare([row("A1", 4, lure="cm26")], [row(" a1 ", 4, lure="CM26")]).differences == ()
    (found,) = compare([row("A1", 4, note="Wet")], [row("A1", 4, note="wet")]).differences
    assert found.fields == ("note",)


def test_a_row_keyed_twice_by_one_hand_is_shown_once() -> None:
    first = [row("A1", 4), row("A2", 5)]
    (found,) = compare([*first, row("A1", 7)], first).differences
    assert (found.first, found.second) == (row("A1", 7), None)
    assert found.values("") == ("keyed", "no such row")
