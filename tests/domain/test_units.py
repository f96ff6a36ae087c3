"""Units of temperature."""

from __future__ import annotations

import pytest

from roundtui.domain.units import HIGHEST, LOWEST, TempUnit, convert_temp, unit_of
from tests.real_weather import convert_degree_days

F, C = TempUnit.F, TempUnit.C


def test_freezing_and_boiling_convert_both_ways() -> None:
    assert (convert_temp(32, F, C), convert_temp(212, F, C)) == (0, 100)
    assert (convert_temp(0, C, F), convert_temp(100, C, F)) == (32, 212)
    assert convert_temp(-40, F, C) == convert_temp(-40, C, C) == -40


def test_degree_days_convert_without_the_zero_of_the_scale() -> None:
    """97 °C degree-days from 1 January are the 175 of the Fahrenheit table (Jones et al. 2008; WSU Tree Fruit)."""
    assert convert_degree_days(97, C, F) == pytest.approx(174.6)
    assert convert_degree_days(175, F, C) == pytest.approx(97.2, abs=0.05)
    assert convert_degree_days(5, F, F) == 5


@pytest.mark.parametrize(
    ("text", "unit"),
    [("F", F), (" °f ", F), ("Fahrenheit", F), ("c", C), ("°C", C), ("Celsius", C), ("K", None), ("", None)],
)
def test_a_unit_is_read_as_people_write_it(text: str, unit: TempUnit | None) -> None:
    assert unit_of(text) is unit


def test_limits_and_signs_are_the_same_in_both_units() -> None:
    assert convert_temp(HIGHEST[C], C, F) == pytest.approx(HIGHEST[F], abs=0.1)
    assert convert_temp(LOWEST[C], C, F) == pytest.approx(LOWEST[F], abs=0.1)
    assert (F.sign, C.sign) == ("°F", "°C")
