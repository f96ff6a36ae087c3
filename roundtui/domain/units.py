"""Units of temperature: °F and °C, and how degree-days change between them."""

from __future__ import annotations

from enum import StrEnum


class TempUnit(StrEnum):
    """Unit of a temperature, and of degree-days counted with it."""

    F = "F"
    """Degrees Fahrenheit."""
    C = "C"
    """Degrees Celsius."""

    @property
    def sign(self) -> str:
        """The unit as people read it: °F or °C."""
        return f"°{self.value}"


HIGHEST = {TempUnit.C: 56.7, TempUnit.F: 134.1}
"""Highest air temperature ever measured, 56.7 °C; from memory, after the World Meteorological Organization."""
LOWEST = {TempUnit.C: -89.2, TempUnit.F: -128.6}
"""Lowest air temperature ever measured, -89.2 °C; from memory, after the World Meteorological Organization."""


def unit_of(text: str) -> TempUnit | None:
    """The unit a word stands for.

    Args:
        text: A unit as people write it: F, °C, c, celsius, fahrenheit, in any letter case.

    Returns:
        The unit; None for a blank or a word nobody knows.
    """
    word = text.strip().lstrip("°").strip().casefold()
    if word in {"f", "fahrenheit", "degf"}:
        return TempUnit.F
    if word in {"c", "celsius", "centigrade", "degc"}:
        return TempUnit.C
    return None


def convert_temp(value: float, unit: TempUnit, to: TempUnit) -> float:
    """A temperature in another unit.

    Args:
        value: Temperature. [``unit``]
        unit: Unit it is in.
        to: Unit wanted.

    Returns:
        The same temperature. [``to``]
    """
    if unit is to:
        return value
    return (value - 32) * 5 / 9 if to is TempUnit.C else value * 9 / 5 + 32
