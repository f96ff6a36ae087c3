from __future__ import annotations

from fractions import Fraction

import pytest

from roundtui.report.text import band, days, figure, listed, number, several


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(5), "5.0"),
        (Fraction(14, 3), "4.7"),
        (Fraction(28, 5), "5.6"),
        (Fraction(0), "0.0"),
        (Fraction(1, 3), "0.3"),
        (Fraction(69993), "69993.0"),
        (None, "–"),
    ],
)
def test_a_figure_has_one_decimal_and_none_is_no_zero(value: Fraction | None, text: str) -> None:
    assert figure(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(499, 100), "4.99"),
        (Fraction(501, 100), "5.01"),
        (Fraction(5), "5.0"),
        (Fraction(299, 100), "2.99"),
        (Fraction(5) - Fraction(1, 10**9), "<5"),
        (Fraction(3) + Fraction(1, 10**9), ">3"),
    ],
)
def test_rounding_never_moves_a_figure_over_an_edge_of_its_band(value: Fraction, text: str) -> None:
    assert figure(value, (Fraction(3), Fraction(5))) == text


def test_bands_days_and_words() -> None:
    assert band((Fraction(3), Fraction(5))) == "3–5"
    assert band((Fraction(2), Fraction(2))) == "2"
    assert band((Fraction(47, 10), Fraction(5))) == "4.7–5"
    assert band(None) == "–"
    assert number(Fraction(1, 8)) == "0.125"
    assert [days(()), days((7,)), days((7, 7)), days((6, 12))] == ["–", "7", "7", "6–12"]
    assert [several(1, "day"), several(2, "day"), several(0, "moth")] == ["1 day", "2 days", "0 moths"]
    assert [listed(()), listed(["A2"]), listed(["A2", "A3", "A10"])] == ["", "A2", "A2, A3 and A10"]
