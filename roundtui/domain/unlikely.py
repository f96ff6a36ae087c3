"""Counts that a trap's own past makes unlikely: an extra zero, a slipped key, the wrong sheet."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

TIMES = 10
"""A slipped zero multiplies by ten, the commonest slip of the kind.

Source: Thimbleby and Cairns 2010, Reducing number entry errors, J. R. Soc. Interface 7:1429."""
FAR_MOTHS = 10
"""No count below this is remarked on, and one more than this above three times the highest of the past is.
Common practice, no source."""
FAR_TIMES = 3
"""See ``FAR_MOTHS``. Common practice, no source."""
PAST_READINGS = 12
"""How many of a trap's own readings are looked at."""
LEAST_PAST = 2
"""With fewer readings than this a trap has no past to speak of."""


def usual(past: Sequence[Fraction]) -> Fraction | None:
    """Mean of a trap's own past.

    Args:
        past: Its rates before, the newest last. [moths/trap/week]

    Returns:
        None where too few readings were made. [moths/trap/week]
    """
    newest = past[-PAST_READINGS:]
    return sum(newest, Fraction()) / len(newest) if len(newest) >= LEAST_PAST else None


def is_unlikely(now: Fraction, past: Sequence[Fraction]) -> bool:
    """Whether a catch is ten times a trap's own past, or far above all of it.

    Args:
        now: The catch. [moths/trap/week]
        past: Its rates before, the newest last. [moths/trap/week]

    Returns:
        False where the trap has no past to speak of. Nothing is refused for it: the count is only remarked on.
    """
    mean = usual(past)
    if mean is None or now < FAR_MOTHS:
        return False
    return now >= TIMES * mean or now > FAR_TIMES * max(past[-PAST_READINGS:]) + FAR_MOTHS
