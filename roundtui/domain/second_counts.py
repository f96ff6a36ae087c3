"""Which traps of a round are to be counted a second time by somebody else."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date
from zlib import crc32

from roundtui.domain.farm import natural_key
from roundtui.domain.rounds import RoundState

ASKED_SHARE = 20
"""One trap in so many is counted a second time: a few in a hundred (common practice, no source)."""


def asked_in(route: str, state: RoundState, on: date) -> tuple[str, ...]:
    """Traps of a round that are asked for a second count.

    Args:
        route: Name of the route.
        state: How far the round has come.
        on: The day; the round's first day takes its place once it has begun, so that the choice stays.
    """
    return asked_again(state.traps, f"{route} {(state.started_on or on).isoformat()}")


def asked_again(traps: Iterable[str], seed: str) -> tuple[str, ...]:
    """Which traps of a round are to be counted a second time by somebody else: one in twenty, at least one.

    Args:
        traps: Labels of the round's traps.
        seed: What the choice hangs on, as route and day: the same seed always chooses the same traps.

    Returns:
        Their labels, none where there are no traps.
    """
    labels = list(dict.fromkeys(traps))
    drawn = sorted(labels, key=lambda label: _scattered(crc32(f"{seed}\n{label}".encode())))
    return tuple(sorted(drawn[: math.ceil(len(labels) / ASKED_SHARE)], key=natural_key))


def _scattered(value: int) -> int:
    """A number of 32 bits as another one, so that near ones lie far apart: a checksum alone favours some labels."""
    for shift, factor in ((16, 0x85EBCA6B), (13, 0xC2B2AE35), (16, 1)):
        value = (value ^ value >> shift) * factor & 0xFFFFFFFF
    return value
