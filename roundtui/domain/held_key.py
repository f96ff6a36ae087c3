"""Enter at the stage line: whether somebody pressed it there, or it comes from a key that is held or struck twice.

A held key repeats after a moment of up to 0.7 s, and then faster than ten times a second. So an Enter soon after
another Enter waits a moment: a further Enter shows that the key is held, any other key that somebody types ahead.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

HELD_SECONDS = 0.15
"""Enters that follow each other faster come from one key, held or chattering. [s]"""
DOUBTED_SECONDS = 1.0
"""Within this time of the Enter before, an Enter may be the first repeat of a held key. [s]"""


class Pressed(StrEnum):
    """What an Enter at the stage line is."""

    MEANT = "meant"
    DOUBTFUL = "doubtful"
    """It waits for what follows within ``HELD_SECONDS``."""
    HELD = "held"


@dataclass(slots=True)
class EnterWatch:
    """The Enters of one sitting, told one by one."""

    last: float
    """When Enter was pressed last; the one that opened the round counts. [s]"""
    _waiting: bool = False
    _soon: bool = False
    _in_run: bool = False

    def enter(self, at: float, *, at_stage: bool) -> Pressed:
        """An Enter is pressed.

        Args:
            at: When. [s]
            at_stage: Whether the stage line waits for it.
        """
        gap, self.last = at - self.last, at
        waiting, self._waiting = self._waiting, False
        self._soon = gap < HELD_SECONDS
        if not at_stage:
            return Pressed.MEANT
        if self._soon and (waiting or self._in_run):
            self._in_run = True
            return Pressed.HELD
        self._in_run = False
        if gap >= DOUBTED_SECONDS:
            return Pressed.MEANT
        self._waiting = True
        return Pressed.DOUBTFUL

    def other(self) -> bool:
        """Another key is pressed.

        Returns:
            Whether an Enter that waited was meant, because somebody types ahead.
        """
        waiting = self._waiting
        self._waiting = self._in_run = False
        self.last = float("-inf")
        return waiting

    def elapsed(self) -> Pressed | None:
        """``HELD_SECONDS`` have gone by since an Enter was doubtful.

        Returns:
            What it was after all; None where another key has settled it already.
        """
        if not self._waiting:
            return None
        self._waiting = False
        return Pressed.HELD if self._soon else Pressed.MEANT
