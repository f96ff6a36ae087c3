"""Days typed in a hurry."""

from __future__ import annotations

from datetime import date

import pytest

from roundtui.domain.text import parse_short_day

TODAY = date(2031, 6, 3)
"""A Tuesday."""


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "2031-06-03"),
        ("2031-05-20", "2031-05-20"),
        ("2031-06-20", "2031-06-20"),
        ("06-03", "2031-06-03"),
        ("6-4", "2030-06-04"),
        ("02-29", "2028-02-29"),
        ("3", "2031-06-03"),
        ("4", "2031-05-04"),
        ("31", "2031-05-31"),
        ("tue", "2031-06-03"),
        ("We", "2031-05-28"),
        ("monday", "2031-06-02"),
        ("-2", "2031-06-01"),
    ],
)
def test_a_short_day_is_the_last_one_it_can_mean(text: str, expected: str) -> None:
    assert str(parse_short_day(text, TODAY)) == expected


@pytest.mark.parametrize(
    "text", ["t", "s", "32", "0", "13-01", "02-30", "2031-02-30", "soon", "3/6", "-999", "٣", "--1"]
)
def test_what_is_no_day_or_could_be_two_is_none(text: str) -> None:
    assert parse_short_day(text, TODAY) is None
