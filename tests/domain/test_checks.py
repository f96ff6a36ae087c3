"""Entries that cannot be: only the impossible is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from roundtui.domain.entries import NONE, YES, NoReading, Visit
from roundtui.domain.programme.farm import Block, Farm, Lot, Programme, Trap
from roundtui.domain.round.checks import as_registered, check_visit, same_scout
from roundtui.domain.round.tally import parse_tally

TODAY = date(2026, 5, 20)
PROGRAMME = Programme(
    farms={"HF": Farm("HF", "Hollow Farm")},
    blocks={"N": Block("N", "HF", "North", "apple")},
    traps=(
        Trap("A1", "N", "CM", hung_on=date(2026, 4, 20)),
        Trap("A2", "N", "CM", hung_on=date(2025, 4, 20), down_on=date(2025, 9, 1)),
        Trap("A2", "N", "CM", hung_on=date(2026, 5, 6)),
        Trap("A10", "N", "OFM"),
        Trap("M1", "N", "CM", hung_on=date(2026, 4, 20)),
        Trap("M1", "N", "CM", hung_on=date(2026, 5, 13)),
    ),
    lots={"CM-26": Lot("CM-26", "CM"), "OFM-26": Lot("OFM-26", "OFM")},
)


def visit(trap: str = "A1", on: date = date(2026, 5, 20), **more: object) -> Visit:
    return Visit(trap=trap, read_on=on, scout="Ada", **more)  # type: ignore[arg-type]


def words(entry: Visit, *same_day: Visit) -> str:
    problems = check_visit(entry, PROGRAMME, today=TODAY, same_day=same_day)
    assert all(problem.where and problem.hint for problem in problems)
    return "; ".join(problem.message for problem in problems)


@pytest.mark.parametrize(
    "entry",
    [
        visit(count=0),
        visit(count=9999),
        visit(no_reading=NoReading.MISSING, liner=True),
        visit(lure="CM-26"),
        visit(count=4, lure="OFM-26"),
        visit(count=4, lure=NONE, lure_found="OBLR"),
        visit(count=4, lure_found="OFM-26", body="D17"),
        visit("A10", date(2020, 5, 1), count=1),
        visit("A2", date(2026, 5, 6), liner=True),
        visit("A2", date(2026, 5, 6), count=3, recount=True),
    ],
)
def test_what_can_be_is_taken(entry: Visit) -> None:
    assert words(entry) == ""


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (visit("A3", count=1), "there is no trap A3"),
        (visit("A2", date(2025, 12, 1), count=1), "A2 did not hang on 2025-12-01"),
        (visit("A2", date(2026, 5, 6), count=1), "A2 was hung on 2026-05-06, so a count has no days"),
        (visit(on=date(2026, 5, 21), count=1), "2026-05-21 is still to come"),
        (
            visit(count=1, no_reading=NoReading.DOWN),
            ("a count and 'down' cannot both be entered"),
        ),
        (visit(no_reading=NoReading.OTHER, note=" "), "'other' needs a note"),
        (visit(count=-1), "the count -1 is impossible"),
        (visit(count=10_000), "the count 10000 is impossible"),
        (visit(count=1, others=10_000), "the number of other insects 10000 is impossible"),
        (visit(estimated=True), "an estimate without a count"),
        (visit(recount=True, liner=True), "a recount without a count"),
        (visit(), "neither a count nor a reason nor a mark"),
        (visit(note="words"), "neither a count nor a reason nor a mark"),
        (visit(count=1, note="n" * 20_001), "the note has 20001 characters"),
        (visit(count=1, lure="CM"), "there is no lure lot CM"),
        (visit(count=1, lure_found="moth balls"), "the lure found, moth balls, is neither a lot nor a species"),
    ],
)
def test_the_impossible_is_refused_in_words(entry: Visit, said: str) -> None:
    assert words(entry) == said


def test_a_label_close_to_a_known_one_is_offered() -> None:
    problems = check_visit(visit("A11", count=1), PROGRAMME, today=TODAY)
    assert [problem.hint for problem in problems] == ["did you mean A1 or A10?"]


def test_a_trap_read_for_the_last_time_on_the_day_it_is_moved_is_taken() -> None:
    assert words(visit("M1", date(2026, 5, 13), count=5)) == ""


def test_a_second_reading_by_the_same_scout_is_offered_as_a_correction() -> None:
    first = visit(count=4)
    first = replace(first, id="1", scout="ADA ")
    problems = check_visit(visit(count=5), PROGRAMME, today=TODAY, same_day=[first])
    assert [str(problem) for problem in problems] == [
        "A1 on 2026-05-20: Ada has read this trap that day: 4 moths (correct that entry instead)"
    ]


def test_a_correction_a_recount_and_another_scout_are_no_second_reading() -> None:
    first = replace(visit(count=4), id="1")
    assert words(visit(count=5, replaces="1"), first) == ""
    assert words(visit(count=5, recount=True), first) == ""
    assert words(replace(visit(count=5), scout="Bo"), first) == ""


def test_labels_are_taken_in_any_letter_case_where_they_can_mean_one_thing() -> None:
    typed = visit("a1", count=1, lure="cm-26", lure_found="ofm")
    assert as_registered(typed, PROGRAMME) == visit("A1", count=1, lure="CM-26", lure_found="OFM")
    assert as_registered(visit("a1", lure=YES), PROGRAMME) == visit("A1", lure=YES)
    two = replace(PROGRAMME, traps=(*PROGRAMME.traps, Trap("a1", "N", "CM")))
    assert as_registered(visit("A1"), two).trap == "A1"
    assert as_registered(visit("a1"), two).trap == "a1"


def test_hostile_labels_are_shown_harmlessly() -> None:
    problems = check_visit(visit("\x1b[2J\u202eA" + "x" * 10_000, count=1), PROGRAMME, today=TODAY)
    assert all(problem.message.isprintable() and len(str(problem)) < 250 for problem in problems)


def test_a_scout_is_known_in_any_letter_case() -> None:
    assert same_scout("Ada Birch", " ada  BIRCH")
    assert not same_scout("Ada", "Bo")


def test_sterile_moths_stand_beside_the_count_of_wild_ones() -> None:
    """They are told by squashing: the gut is dyed. Source: goodfruit.com, on the programme of the Okanagan."""
    for text, sterile in (("2 d80", 80), ("2", None)):
        draft, problems = parse_tally(text)
        assert (draft and (draft.count, draft.sterile), problems) == ((2, sterile), ())
    assert "sterile moths without a count" in words(visit(sterile=80))
    assert words(visit(count=2, sterile=80)) == "", "more sterile than wild is what a programme wants"
