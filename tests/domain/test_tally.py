"""The tally notation: what a scout writes on a sheet, and what it means."""

from __future__ import annotations

import string
from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from roundtui.domain.entries import MOST_MOTHS, NONE, YES, Draft, NoReading
from roundtui.domain.round.tally import REASONS, draft_of, format_tally, parse_tally


def said(text: str) -> Draft:
    draft, problems = parse_tally(text)
    assert problems == ()
    assert draft is not None
    return draft


def refused(text: str) -> str:
    draft, problems = parse_tally(text, where="line 3")
    assert draft is None
    assert all(problem.where.startswith("line 3") for problem in problems)
    assert all(problem.hint for problem in problems)
    return "; ".join(problem.message for problem in problems)


def test_a_clean_trap_is_its_digits_and_zero_is_a_count() -> None:
    assert said("4") == Draft(count=4)
    assert said("0") == Draft(count=0)
    assert said("0").count is not None


def test_blank_is_no_zero() -> None:
    assert refused("") == "nothing is written"
    assert refused("  \t ") == "nothing is written"


@pytest.mark.parametrize("text", ["4 l r", "4lr", "l4r", " r  l 4 ", "4LR", "4\tl\nr"])
def test_spaces_order_and_letter_case_are_free(text: str) -> None:
    assert said(text) == Draft(count=4, liner=True, lure=YES)


def test_a_whole_entry_as_the_count_field_takes_it() -> None:
    assert said("4o12lr") == Draft(count=4, others=12, liner=True, lure=YES)
    assert said("xml") == Draft(no_reading=NoReading.MISSING, liner=True)
    assert said("XML") == Draft(no_reading=NoReading.MISSING, liner=True)


@pytest.mark.parametrize(("letter", "reason"), [(k, v) for k, v in REASONS.items() if k != "o"])
def test_every_reason_has_its_letter(letter: str, reason: NoReading) -> None:
    assert said(f"x{letter}") == said(f"x {letter}") == Draft(no_reading=reason)


def test_another_reason_needs_its_note() -> None:
    assert refused("xo") == "'other' needs a note"
    assert said("xo n: dog") == Draft(no_reading=NoReading.OTHER, note="dog")


def test_a_note_runs_to_the_end_whatever_stands_in_it() -> None:
    assert said("12 c n:half under leaves, x4 [/] n: l") == Draft(
        count=12, cleared=False, note="half under leaves, x4 [/] n: l"
    )
    assert said("12 n half") == said("12n:half") == Draft(count=12, note="half")


def test_lots_bodies_and_lures_found_are_named_after_a_colon() -> None:
    assert said("4 r:CM-24a") == Draft(count=4, lure="CM-24a")
    assert said('4 r:"CM 24 ""a""" l') == Draft(count=4, lure='CM 24 "a"', liner=True)
    assert said("4 r:None") == Draft(count=4, lure=NONE)
    assert said("4 b") == said("4 b:yes") == Draft(count=4, body=YES)
    assert said("4 b: D17") == Draft(count=4, body="D17")
    assert said("4 w:OFM") == Draft(count=4, lure_found="OFM")
    assert said("w:NONE") == Draft(lure_found=NONE)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("4 x m", "a count and 'missing' cannot both be entered"),
        ("4 5", "a count is there twice"),
        ("4 l l", "l is there twice"),
        ("4 f", "'f' is no mark here"),
        ("x", "x gives no reason"),
        ("x 3", "x 3 gives no reason"),
        ("4 o", "the number of others is missing"),
        ("4 n:", "the note is empty"),
        ("4 w", "w does not say what was found"),
        ("4 w:yes", "'yes' is neither a lot nor a species"),
        ("4 r:", "nothing stands after r:"),
        ("4 r:no", "'no' is no lot"),
        ("4 b:none", "'none' is no label of a body"),
        ("e", "an estimate without a count"),
        ("n:only words", "neither a count nor a reason nor a mark"),
        ("10000", "10000 is more than a trap can hold"),
        ("9" * 5000, "99999999999… is more than a trap can hold"),
        ("-1", "'-' is no mark here"),
        ("4.5", "'.' is no mark here"),
        ("٤", "'٤' is no mark here"),
        ("\x1b[31m4", "'\N{REPLACEMENT CHARACTER}' is no mark here"),
    ],
)
def test_what_cannot_be_is_said_in_words(text: str, words: str) -> None:
    assert words in refused(text)


def test_the_place_of_a_fault_is_named() -> None:
    _, problems = parse_tally("4 l q", where="sheet.csv, line 7")
    assert [problem.where for problem in problems] == ["sheet.csv, line 7, character 5"]
    assert [problem.where for problem in parse_tally("4 l q")[1]] == ["character 5"]


def test_leading_zeros_do_not_matter() -> None:
    assert said("0004") == said("00000004") == Draft(count=4)
    assert said(str(MOST_MOTHS)).count == MOST_MOTHS


labels = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=12).filter(
    lambda text: text == text.strip() and text.casefold() not in ("yes", "no", "none")
)
drafts = st.builds(
    Draft,
    count=st.none() | st.integers(0, MOST_MOTHS),
    no_reading=st.none() | st.sampled_from(NoReading),
    cleared=st.booleans(),
    liner=st.booleans(),
    lure=st.none() | st.sampled_from([YES, NONE]) | labels,
    kill_strip=st.booleans(),
    body=st.none() | st.just(YES) | labels,
    note=st.text(st.characters(exclude_categories=("Cs",)), max_size=30).map(str.strip),
    others=st.none() | st.integers(0, MOST_MOTHS),
    estimated=st.booleans(),
    lure_found=st.none() | st.just(NONE) | labels,
)


@given(drafts)
def test_what_is_written_in_the_notation_is_read_back(draft: Draft) -> None:
    assume(draft.count is None or draft.no_reading is None)
    assume(draft.no_reading is not NoReading.OTHER or draft.note)
    assume(draft.count is not None or not draft.estimated)
    assume(draft.visit("A1", date(2026, 5, 1)).says_something)
    assert parse_tally(format_tally(draft)) == (draft, ())


@given(drafts)
def test_an_entry_keeps_what_the_draft_says(draft: Draft) -> None:
    visit = draft.visit("A1", date(2026, 5, 1), scout="Ada", recount=True)
    assert draft_of(visit) == draft
    assert (visit.trap, visit.read_on, visit.scout, visit.recount) == ("A1", date(2026, 5, 1), "Ada", True)


@given(st.text(string.printable + "٤\u202e\x00", max_size=30))
def test_any_text_is_answered_and_never_both_ways(text: str) -> None:
    draft, problems = parse_tally(text)
    assert (draft is None) == bool(problems)
