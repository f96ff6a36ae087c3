"""How long a replay waits between two entries when it is played at the pace they were made."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

SPEEDS = (1, 5, 20, 100)
"""How many times faster than it was, in the order in which a key goes through them."""
LONGEST_SECONDS = 3.0
"""No wait is longer than this, whatever the speed. [s]"""
SHORTEST_SECONDS = 0.25
"""Nor shorter: entries that were recorded together are still seen one by one. [s]"""


@dataclass(frozen=True, slots=True)
class Wait:
    """A wait before the next entry."""

    seconds: float
    """How long it lasts when played. [s]"""
    shortened: bool
    """Whether it lasted longer even at that speed."""


def wait(gap: timedelta, speed: int) -> Wait:
    """The wait before an entry.

    Args:
        gap: What lay between it and the entry before; below zero where clocks disagree.
        speed: How many times faster it is played.
    """
    seconds = max(0.0, gap.total_seconds()) / speed
    return Wait(min(max(seconds, SHORTEST_SECONDS), LONGEST_SECONDS), seconds > LONGEST_SECONDS)


def next_speed(speed: int) -> int:
    """The speed after another; after the fastest the first."""
    return SPEEDS[(SPEEDS.index(speed) + 1) % len(SPEEDS)] if speed in SPEEDS else SPEEDS[0]


def in_words(gap: timedelta) -> str:
    """A span of time as a person says it, its two largest units at most."""
    seconds = round(abs(gap.total_seconds()))
    days, hours, minutes = seconds // 86_400, seconds // 3600 % 24, seconds // 60 % 60
    sign = "-" if gap < timedelta() and seconds else ""
    if days:
        return f"{sign}{days} d {hours} h"
    if hours:
        return f"{sign}{hours} h {minutes} min"
    if minutes:
        return f"{sign}{minutes} min {seconds % 60} s"
    return f"{sign}{seconds} s"
