"""A sample while it is counted: what each key does, and how few are needed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.entries import SampleKind
from roundtui.domain.sampling.counting import (
    Counting,
    Step,
    Wish,
    counting_of,
    marks_of,
    press,
    read,
    written,
)
from roundtui.domain.sampling.data import SHIPPED_SAMPLES
from roundtui.domain.sampling.findings import check_sample, plans_on
from roundtui.domain.sampling.records import Plan, Sought
from tests.domain.test_samples import ORCHARD

JULY = (7, 14)


def sought(code: str, kind: SampleKind = SampleKind.LEAF) -> Sought:
    return next(one for one in SHIPPED_SAMPLES if one.code == code and one.kind is kind)


def begun(code: str, kind: SampleKind = SampleKind.LEAF, plan: str = "") -> Counting:
    what = sought(code, kind)
    plans = plans_on(what, JULY)
    chosen: Plan | None = next((one for one in what.plans if one.id == plan), plans[0] if plans else None)
    return Counting(block="N", sampled_on=date(2031, 7, 14), sought=what, plan=chosen, plans=plans)


def keyed(now: Counting, *keys: str) -> Counting:
    for key in keys:
        now = press(now, key)
    return now


@pytest.mark.parametrize("code", [one.code for one in SHIPPED_SAMPLES if one.kind is SampleKind.LEAF])
@pytest.mark.parametrize("found", [0, 1, 2, 3, 4, 7, 16, 25])
def test_a_leaf_sample_takes_a_key_for_each_find_and_two_more(code: str, found: int) -> None:
    """At most two keys more than there are finds, whatever the plan: 100 leaves with k found are k + 2 keys."""
    if code in {"OFM", "PTB"} and found > 20:
        found = 20
    keys = [*["f"] * found, "enter", "enter"]
    now = keyed(begun(code), *keys)
    assert now.wish is Wish.RECORD
    assert now.sample.found == found
    assert now.sample.looked >= 20


def test_a_hundred_leaves_are_a_hundred() -> None:
    now = keyed(begun("ERM"), *["f"] * 12, "enter")
    assert (now.sample.looked, now.sample.found, now.wish) == (100, 12, Wish.NOTHING)
    assert keyed(now, "enter").wish is Wish.RECORD


def test_a_fruit_sample_tells_entries_stings_and_the_rest_apart() -> None:
    now = keyed(begun("", SampleKind.FRUIT), "e", "j", "j", "o", "f", "5", "0", "0", "enter")
    sample = now.sample
    assert (sample.looked, sample.found, sample.entries, sample.stings, sample.other_injury) == (500, 3, 1, 2, 1)
    assert keyed(now, "enter").wish is Wish.RECORD
    assert check_sample(sample, ORCHARD) == ()


def test_the_leafroller_look_goes_from_stop_to_stop() -> None:
    now = keyed(begun("OBLR"), "f", "f", "6", "0", "enter")
    assert now.verdict.words == "30 more"
    now = keyed(now, "enter")
    assert (now.looked, now.verdict.words) == (90, "stop: below")
    more = keyed(now, "f")
    assert (more.verdict.words, more.ends_at) == ("10 more", 100)
    assert keyed(more, "enter", "enter").sample.looked == 100


def test_unfinished_samples_are_recorded_only_when_asked_to() -> None:
    now = keyed(begun("ERM"), "f", "4", "0", "enter")
    assert now.verdict.words == "60 more"
    assert keyed(now, "menu-1").wish is Wish.RECORD
    assert keyed(now, "enter").looked == 100
    assert keyed(begun("ERM"), "menu-1").wish is Wish.NOTHING


def test_mites_on_each_leaf_make_a_sum_only_when_all_were_counted() -> None:
    now = keyed(begun("ERM"), "h", "1", "2", "enter", "*", "3", "enter")
    assert (now.found, now.counted) == (2, 15)
    assert keyed(now, "f").counted is None
    assert keyed(now, "h", "0", "enter").found == 2
    assert keyed(now, "h", "escape").step is Step.COUNT
    assert keyed(begun("GAA"), "h").step is Step.COUNT


def test_backspace_takes_the_last_back_and_says_what_it_was() -> None:
    now = keyed(begun("ERM"), "f", "h", "1", "2", "enter", "enter")
    assert keyed(now, "backspace").said == "Undone: 100 looked at"
    assert keyed(now, "backspace", "backspace").said == "Undone: one with 12 mites"
    assert keyed(now, *["backspace"] * 3).marks == ()
    assert keyed(now, *["backspace"] * 4).said == "Nothing to undo"


def test_fewer_looked_at_than_found_is_refused() -> None:
    now = keyed(begun("ERM"), "f", "f", "f", "2", "enter")
    assert now.looked == 0
    assert now.said == "2 checked is not possible: 3 at the least"
    now = keyed(now, "3", "enter", "f", "menu-1")
    assert now.wish is Wish.NOTHING
    assert "type how many by now" in now.said


def test_a_find_typed_behind_digits_is_not_lost_among_them() -> None:
    now = keyed(begun("ERM"), "1", "0", "f")
    assert now.found == 0
    assert "10 is typed" in now.said


def test_what_else_is_noted_by_key() -> None:
    now = keyed(begun("ERM"), "f", "menu-3", "4", "enter", "menu-4", "1", "0", "enter", "menu-5", "3")
    assert (now.beneficials, now.trees, now.grade) == (4, 10, 3)
    assert now.said == "Grade 3: moderate, above"
    assert keyed(now, "menu-5", "6").said == "No grade 6: 0 absent to 5 severe"
    noted = press(press(now, "n"), "f")
    assert noted.found == 1
    assert press(replace(noted, line="  by the\thedge "), "enter").note == "by the hedge"
    assert press(replace(press(noted, "escape"), line=""), "f").found == 2


def test_another_plan_or_none_is_chosen_by_key() -> None:
    now = begun("ERM")
    assert now.plan is not None
    names = []
    for _ in range(len(now.plans) + 1):
        names.append(now.plan.id if now.plan else "")
        now = press(now, "menu-2")
    assert names[0] == "mites-penn-early-summer"
    assert "" in names
    assert len(set(names)) == len(now.plans) + 1
    assert "interval" in press(begun("WAA"), "menu-2").said


KEYS = st.lists(st.sampled_from([*"fegombtv0123456789", "enter", "backspace", "escape"]), max_size=40)


@given(KEYS, st.sampled_from([one for one in SHIPPED_SAMPLES if one.code in {"ERM", "OBLR", "", "RAA"}]))
def test_whatever_is_pressed_only_a_possible_look_is_asked_for_and_its_draft_is_the_same(
    keys: list[str], what: Sought
) -> None:
    now = begun(what.code, what.kind)
    for key in keys:
        now = press(now, key)
        ((sample, marks),) = read(written([now]))
        assert counting_of(sample, marks, SHIPPED_SAMPLES, JULY).sample == now.sample
        if now.wish is Wish.RECORD and not (now.grade == 0 and now.found) and (now.beneficials or 0) <= now.looked:
            assert check_sample(now.sample, ORCHARD) == ()


@given(
    st.sampled_from(("ERM", "OBLR")),
    st.lists(st.integers(1, 40), max_size=12),
    st.booleans(),
)
def test_a_sample_on_record_is_keyed_anew_as_it_stands(code: str, on_each: list[int], counted: bool) -> None:
    now = begun(code)
    for number in on_each:
        now = keyed(now, *(("h", *str(number), "enter") if counted else ("f",)))
    sample = keyed(now, "enter").sample
    assert replace(now, marks=marks_of(sample)).sample == sample


def test_a_kept_draft_that_was_spoilt_is_left_out() -> None:
    good = keyed(begun("ERM"), "f")
    ((sample, marks),) = read(written([good]))
    assert counting_of(sample, marks, SHIPPED_SAMPLES, JULY).sample == good.sample
    for spoilt in ("", "{", "[1]", '{"a": 1}', "null", written([good]).replace('"f"', '"zz"'), "[{}]"):
        assert read(spoilt) == ()
