"""The evenings that a reading covers, and whether it was warm enough at sunset on one of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from roundtui.domain.biofix_rules import BiofixRule
from roundtui.domain.biofix_words import Look
from roundtui.domain.units import TempUnit


@dataclass(frozen=True, slots=True)
class Sunsets:
    """Temperatures at sunset of one station."""

    temp: Callable[[date, TempUnit], float | None]
    """Temperature at sunset of a day; None where it is not known. [the unit asked for]"""
    why_not: str = ""
    """In words, why none is known at all; empty where some are."""


class Evenings:
    """Whether it was warm enough at sunset, and on which evenings nobody knows.

    Args:
        rule: What is asked of an evening, if anything is.
        sunsets: Temperatures at sunset; None: none is known.
    """

    def __init__(self, rule: BiofixRule, sunsets: Sunsets | None) -> None:
        self._rule = rule
        self._sunsets = sunsets

    def warm(self, look: Look) -> bool:
        """Whether an evening of the look reached the temperature, or one that nobody knows may have."""
        return self._rule.sunset is None or self._reached(look) is not False

    def doubts(self, look: Look) -> list[str]:
        """In words, that the evenings of a look are not known."""
        if self._rule.sunset is None or self._reached(look):
            return []
        why = f": {self._sunsets.why_not}" if self._sunsets is not None and self._sunsets.why_not else ""
        return [f"the temperature at sunset is not known for the reading of {look.on}{why}"]

    def _reached(self, look: Look) -> bool | None:
        """Whether one of the evenings reached the temperature; None where those that are known do not tell."""
        temps = self._temps(look)
        known = [temp for temp in temps if temp is not None]
        if self._rule.sunset is not None and known and max(known) >= self._rule.sunset:
            return True
        return False if len(known) == len(temps) else None

    def _temps(self, look: Look) -> list[float | None]:
        temps: list[float | None] = []
        for start, end in zip(look.starts, look.ends, strict=True):
            # A reading of one day covers the evenings from the day it began to the day before it was read.
            first = start if start is not None and start < end else end - timedelta(days=1)
            days = [first + timedelta(days=at) for at in range((end - first).days)]
            temps += [self._sunsets.temp(day, self._rule.sunset_unit) if self._sunsets else None for day in days]
        return temps
