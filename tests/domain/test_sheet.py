"""Rows, totals, order and paste of a paper sheet; the question whether it is the right one; keys of a row."""

from __future__ import annotations

import random
from datetime import date, timedelta
from functools import reduce

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.entries import Draft
from roundtui.domain.paper.double_entry import alike
from roundtui.domain.paper.sheet import (
    Ask,
    Line,
    SheetRow,
    Typing,
    control_words,
    day_written,
    in_order,
    in_words,
    moved,
    pasted,
    press,
    totals,
)
from roundtui.domain.round.tally import parse_tally
from roundtui.errors import Problem

ON = date(2031, 6, 3)
ROWS = [SheetRow(trap=f"A{n}", read_on=ON) for n in range(1, 7)]


def typed(keys: str) -> Typing:
    return reduce(press, keys, Typing())


def counted(*counts: int) -> list[SheetRow]:
    rows = [SheetRow(trap=f"A{at + 1}", read_on=ON, draft=Draft(count=count)) for at, count in enumerate(counts)]
    return [*rows, ROWS[5]]


@pytest.mark.parametrize(
    ("counts", "paper", "words"),
    [
        ((4, 12, 0), 16, "The paper's total, 16, is that of the rows"),
        ((4, 1, 0), 16, "The paper says 16, the rows 5. Look at A2 1: 12?"),
        ((40, 12, 3), 19, "The paper says 19, the rows 55. Look at A1 40: 4?"),
        ((4, 21, 0), 16, "The paper says 16, the rows 25. Look at A2 21: 12?"),
        ((5, 5), 12, "The paper says 12, the rows 10. Look at each row again"),
    ],
    ids=["fits", "a digit lost", "a zero too many", "two digits swapped", "no slip of one key"],
)
def test_the_papers_own_total_finds_a_lost_digit(counts: tuple[int, ...], paper: int, words: str) -> None:
    assert control_words(counted(*counts), paper) == words


# --- totals and order ------------------------------------------------------------------------------------------------


def test_totals_keep_zero_blank_and_no_reading_apart() -> None:
    drafts = [parse_tally(text)[0] if text else None for text in ("4o3", "0", "xm", "xd", "", "l", "12c")]
    found = totals(drafts)
    assert (found.rows, found.count, found.others, found.blank) == (7, 16, 3, 1)
    assert str(found) == "count 16   others 3   blank 1   not read 2 (1 missing, 1 down)"


@given(st.lists(st.sampled_from("abcdefgh"), unique=True), st.lists(st.sampled_from("abcdefghxyz")))
def test_a_kept_order_loses_no_trap_and_invents_none(walk: list[str], kept: list[str]) -> None:
    order = in_order(walk, kept)
    assert sorted(order) == sorted(walk)
    assert [trap for trap in order if trap in kept] == [trap for trap in dict.fromkeys(kept) if trap in walk]


def test_a_new_trap_follows_the_one_it_follows_on_the_way() -> None:
    assert in_order(["a", "b", "c", "d"], ["c", "a", "d"]) == ("c", "a", "b", "d")
    assert moved(("a", "b", "c"), "c", 0) == ("c", "a", "b")


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2031-06-01", date(2031, 6, 1)),
        ("06-01", date(2031, 6, 1)),
        ("601", date(2031, 6, 1)),
        ("1", date(2031, 6, 1)),
        ("29", date(2031, 5, 29)),
        ("12-31", date(2030, 12, 31)),
        ("3", ON),
    ],
)
def test_a_day_is_the_last_one_it_can_be(text: str, day: date) -> None:
    assert day_written(text, ON) == day


@pytest.mark.parametrize("text", ["40", "2031-06-04", "06-04", "13-40", "x", "2031-6-1-1", "١", "-", "99999"])
def test_what_is_no_day_or_still_to_come_is_said(text: str) -> None:
    assert isinstance(day_written(text, ON), Problem)


# --- paste -----------------------------------------------------------------------------------------------------------


def test_a_column_of_numbers_is_a_row_each_and_a_blank_one_stays_blank() -> None:
    drafts, problems = pasted("4\r\n0\r\n\r\n12 c\n", ROWS)
    assert (problems, drafts) == ((), (Draft(count=4), Draft(count=0), None, Draft(count=12, cleared=False)))


def test_labels_beside_the_numbers_are_checked() -> None:
    assert pasted("A1\t4\na2\t5", ROWS)[0] == (Draft(count=4), Draft(count=5))
    drafts, (problem,) = pasted("A1\t4\nA3\t5", ROWS)
    assert (drafts, problem.where, problem.message) == ((), "row of A2", "the pasted row is of A3")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1\n" * 7, "7 lines are pasted, and 6 rows are left"),
        ("4\nfour", "is no mark here"),
        ("4\n1,204", "is no mark here"),
        ("4\n-3", "is no mark here"),
        ("A1\t4\t5", "3 columns are pasted"),
        ("=1+1\n4", "is no mark here"),
        ("4\n[/]\x1b[2J\u202e", "is no mark here"),
        ("9" * 10_000 + "\n1", "is more than a trap can hold"),
    ],
)
def test_a_column_that_cannot_be_read_gives_no_row_at_all(text: str, says: str) -> None:
    drafts, problems = pasted(text, ROWS)
    assert drafts == ()
    assert says in str(problems[0])
    assert str(problems[0]).isprintable()


def test_nothing_is_pasted_over_an_entry() -> None:
    rows = [ROWS[0], SheetRow(trap="A2", read_on=ON, draft=Draft(count=7)), *ROWS[2:]]
    assert "is an entry already" in str(pasted("1\n2", rows)[1][0])
    assert pasted("1\n\n3", rows)[1] == ()


# --- the right sheet -------------------------------------------------------------------------------------------------


def test_last_week_s_figures_typed_again_are_asked_about_before_the_tenth_row() -> None:
    week = [3, 0, 12, 1, 0, 7, 2, 0, 25, 4, 0, 1, 9]
    asked = [at for at in range(len(week)) if alike(week[: at + 1], {"last": week}, {})]
    assert asked
    assert asked[0] <= 9


def test_a_neighbouring_sheet_is_known_wherever_its_rows_stand() -> None:
    other = [1, 1, 0, 5, 14, 3, 22, 8, 30, 2]
    found = alike([5, 14, 3, 22, 8, 30], {}, {"north": other})
    assert found is not None
    assert (found.name, found.rows) == ("north", 6)


def test_zeros_agree_everywhere_and_are_no_reason_to_ask() -> None:
    assert alike([0] * 40, {"last": [0] * 39 + [3]}, {"north": [0] * 40}) is None
    assert alike([None] * 40, {"last": [None] * 40}, {}) is None


def test_honest_sheets_are_hardly_ever_asked_about() -> None:
    """Weekly sheets of small counts, against last week's and three neighbours."""
    dice = random.Random(4)

    def sheet() -> list[int | None]:
        return [dice.choice([0, 0, 0, 0, 1, 1, 2, 3, 5, 8]) for _ in range(40)]

    asked = 0
    for _ in range(25):
        keyed, last, near = sheet(), sheet(), {name: sheet() for name in "abc"}
        asked += any(alike(keyed[: at + 1], {"last": last}, near) for at in range(40))
    assert asked == 0


# --- keys of a row ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["4lr", "0", "xm", "12c o3", "4 r:LOT l", "7 n:half g d p", 'b:"A 1" 3', "4o12lr"])
def test_a_row_takes_the_notation_as_it_stands(text: str) -> None:
    assert typed(text).text == text
    assert typed(text).keys == len(text)


def test_the_number_pad_writes_marks_but_not_inside_words() -> None:
    assert typed("4+*.").text == "4lrc"
    assert typed("/3").text == "xm"
    assert typed("4n:1+1, 2/3-4").text == "4n:1+1, 2/3-4"
    assert typed("4r:A+1").text == "4r:A+1"
    assert typed("4r:A+1 +").text == "4r:A+1 l"


def test_letters_that_are_no_mark_act_only_while_the_row_is_blank() -> None:
    assert typed("g").line is Line.GO_TO
    assert typed("s").ask is Ask.SUMMARY
    assert typed("xs").text == "xs"
    assert typed("a").said.startswith("a is no mark")
    assert (typed("-").ask, typed("4-").text, typed("4-").ask) == (Ask.UP, "4", Ask.NOTHING)


def test_escape_drops_what_is_typed_on_the_second_only() -> None:
    once = press(typed("4l"), "escape")
    assert (once.text, "not saved yet" in once.said) == ("4l", True)
    assert press(once, "escape").text == ""
    assert press(press(once, "1"), "escape").text == "4l1"
    assert press(typed("4l"), "home").said.startswith("NumLock is off")


@given(st.text(alphabet='4lrbwnx:" AQ+', max_size=20))
def test_whatever_is_typed_inside_words_is_left_as_it_is(text: str) -> None:
    if text and in_words(text):
        assert press(Typing(text=text), "+").text == f"{text}+"


def test_a_held_key_stops_at_what_a_row_holds() -> None:
    full = Typing(text="n:" + "x" * 19_998)
    assert len(press(full, "x").text) == 20_000
    assert press(full, "x").said


def test_days_do_not_run_ahead() -> None:
    assert day_written((ON + timedelta(days=1)).isoformat(), ON) == Problem(
        "", "2031-06-04 is still to come", "the day is 2031-06-03"
    )
