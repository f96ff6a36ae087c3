"""Text from people: it is shown, and does nothing."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain import text
from roundtui.domain.text import MARK, cells, padded, sanitize


def test_ordinary_names_stay_as_they_are() -> None:
    assert sanitize("Lower Ten [/] = 3, Müller's Äcker 果樹園") == "Lower Ten [/] = 3, Müller's Äcker 果樹園"


@pytest.mark.parametrize("char", [*"\x1b\x00\x7f\x9b\u202e\u2066\u200f\u061c\ud800\ufeff"])
def test_what_would_act_on_the_terminal_is_one_visible_mark(char: str) -> None:
    assert sanitize(f"A{char}B") == f"A{MARK}B"


def test_breaks_become_blanks_so_that_a_note_stays_on_its_line() -> None:
    assert sanitize("half\nunder\tleaves\u2028dry") == "half under leaves dry"


def test_long_text_is_cut_to_its_cells_with_a_sign_that_it_was() -> None:
    assert sanitize("x" * 10_000, 10) == "x" * 9 + "…"
    assert sanitize("果樹園の北側", 6) == "果樹…"
    assert sanitize("abc", 0) == ""
    assert cells(padded("果樹園", 10)) == 10


def test_piled_up_accents_are_thinned_out() -> None:
    assert len(sanitize("e" + "\u0301" * 5000)) == 3


@given(st.text(max_size=60), st.integers(0, 30))
def test_nothing_wider_than_asked_and_nothing_that_acts(said: str, width: int) -> None:
    shown = sanitize(said, width)
    assert cells(shown) <= width
    assert not [char for char in shown if unicodedata.category(char) in {"Cc", "Cf", "Cs", "Zl", "Zp"}]


def test_characters_that_are_taken_as_they_are_are_those_that_the_tables_take_so() -> None:
    plain = "".join(sorted(text._PLAIN))
    assert text._shown(plain) == plain
    assert {unicodedata.east_asian_width(char) for char in plain} <= {"Na", "N", "A", "H"}
    assert not [char for char in plain if unicodedata.combining(char) or unicodedata.category(char) == "Cf"]
