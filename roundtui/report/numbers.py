"""Figures, bands and days as people read them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from fractions import Fraction

NONE = "–"
"""What stands where a figure does not exist; never a zero."""
_MOST_DECIMALS = 6


def figure(value: Fraction | None, edges: Iterable[Fraction] = (), *, decimals: int = 1) -> str:
    """Write a rate so that rounding never moves it over an edge of its band.

    Args:
        value: Figure, in the unit of its column; None where it does not exist.
        edges: Edges of the band it is compared with: the text stays on the side of each on which the figure is.
        decimals: Decimals wanted; more are written where an edge needs them.

    Returns:
        The rounded figure, as ``4.96`` rather than ``5.0`` where the band ends at 5.
    """
    if value is None:
        return NONE
    sides = tuple(edges)
    for places in range(decimals, _MOST_DECIMALS + 1):
        rounded = round(value, places)
        if all((rounded < edge) == (value < edge) and (rounded > edge) == (value > edge) for edge in sides):
            return _fixed(rounded, places)
    edge = min(sides, key=lambda side: abs(side - value))
    return f"{'<' if value < edge else '>'}{number(edge)}"


def _fixed(rounded: Fraction, places: int) -> str:
    """A fraction that was rounded to so many places, written with all of them."""
    digits = str(abs(int(rounded * 10**places))).rjust(places + 1, "0")
    sign = "-" if rounded < 0 else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def number(value: Fraction) -> str:
    """Write a number of a rule: whole where it is whole, else without idle zeros.

    Args:
        value: A number as a rule states it.

    Returns:
        As ``3`` or ``4.7``.
    """
    return str(value.numerator) if value.denominator == 1 else f"{float(value):.6f}".rstrip("0").rstrip(".")


def band(limits: tuple[Fraction, Fraction] | None) -> str:
    """Write a rule's band.

    Args:
        limits: Low and high; equal where the rule is one number.

    Returns:
        As ``3–5``, one number for a band of one, or the mark for none.
    """
    if limits is None:
        return NONE
    low, high = limits
    return number(low) if low == high else f"{number(low)}–{number(high)}"


def days(exposed: tuple[int, ...]) -> str:
    """Write the days of exposure behind a figure.

    Args:
        exposed: Days of exposure, or the shortest and the longest of them. [d]

    Returns:
        As ``7`` or ``6–12``, or the mark for none.
    """
    if not exposed:
        return NONE
    least, most = min(exposed), max(exposed)
    return str(least) if least == most else f"{least}–{most}"


def day(on: date | None) -> str:
    """Write a day.

    Args:
        on: The day; None where nobody wrote it down.

    Returns:
        The ISO form, or words.
    """
    return "a day not on record" if on is None else on.isoformat()


def several(amount: int, one: str, many: str = "") -> str:
    """Write an amount with its noun.

    Args:
        amount: How many.
        one: The noun for one.
        many: The noun for several; ``one`` with an s where empty.

    Returns:
        As ``1 day`` or ``3 days``.
    """
    return f"{amount} {one if amount == 1 else many or one + 's'}"


def listed(words: Iterable[str]) -> str:
    """Join words as a sentence does.

    Args:
        words: What to list.

    Returns:
        As ``A2``, ``A2 and A3`` or ``A2, A3 and A10``.
    """
    items = list(words)
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""
