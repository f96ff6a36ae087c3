"""Errors that people see, and the exit codes of the command line."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class ExitCode(IntEnum):
    """What the command line ends with."""

    DONE = 0
    PROBLEM = 1
    USAGE = 2


class RoundtuiError(Exception):
    """Something a person has to know: what happened, to what, and what to do next.

    Args:
        message: What happened, naming trap, block, farm, file or line.
        hint: What to do next; may be empty.
    """

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint


STOPPED = RoundtuiError(
    "stopped by Ctrl-C: what was saved before stays, and every file there is whole",
    "give the same command again when it is to be done",
)
"""A person stopped a command."""


class StoreError(RoundtuiError):
    """The store, or a file beside it, cannot be read or written."""


class RefusedError(RoundtuiError):
    """An entry cannot be recorded as it stands; nothing was changed."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault in something a person wrote, as a value."""

    where: str
    """File, line and column, or trap and day."""
    message: str
    """What is wrong."""
    hint: str = ""
    """What to write instead."""

    def __str__(self) -> str:
        text = f"{self.where}: {self.message}" if self.where else self.message
        return f"{text} ({self.hint})" if self.hint else text


class ProblemsError(RoundtuiError):
    """Several faults in a file or folder; nothing was changed.

    Args:
        message: What was refused.
        problems: Each fault with its place.
        hint: What to do next.
    """

    def __init__(self, message: str, problems: tuple[Problem, ...], hint: str = "") -> None:
        super().__init__(message, hint)
        self.problems = problems


class DoubtfulError(ProblemsError):
    """What a person has to say once is right as it stands; nothing was changed."""
