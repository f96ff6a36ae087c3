"""Cautions: what must never be missing beside a verdict."""

from __future__ import annotations

import pytest

from roundtui.domain.programme import cautions
from roundtui.domain.programme.cautions import (
    AREA_CAUTIONS,
    ENTRY_CHECK,
    KILL_STRIP,
    LETTER_CAUTIONS,
    SUMMARY_CAUTIONS,
)


@pytest.mark.parametrize("said_there", [SUMMARY_CAUTIONS, LETTER_CAUTIONS, AREA_CAUTIONS])
def test_every_place_says_what_could_hurt_someone(said_there: tuple[str, ...]) -> None:
    said = " ".join(said_there).casefold()
    for words in (
        "not a prescription",
        "label is the law",
        "local extension",
        "licensed applicators",
        "re-entry",
        "pre-harvest",
        "open bloom",
    ):
        assert words in said


def test_entering_a_farm_asks_about_the_entry_interval() -> None:
    assert "entry interval been checked with the grower?" in ENTRY_CHECK


def test_kill_strips_are_handled_with_gloves() -> None:
    assert "gloves" in KILL_STRIP


def test_a_caution_fits_on_a_screen_and_ends_as_a_sentence() -> None:
    every = [words for name, words in vars(cautions).items() if name.isupper() and isinstance(words, str)]
    assert set(SUMMARY_CAUTIONS) <= set(every)
    for text in (*every, *AREA_CAUTIONS):
        assert len(text) <= 240
        assert text.endswith(".")
