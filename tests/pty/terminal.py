"""The app behind a real pseudo-terminal, seen as a person sees it."""

from __future__ import annotations

import os
import select
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import pexpect
import pyte

from tests.app.folder import DAY

ROOT = Path(__file__).parents[2]
PATIENCE = 60.0
"""How long a test waits for something to show: long, since it may have the machine to itself or not. [s]"""
HELP = "Tab next place"
"""Shows while the keys are listed, and nowhere else."""


class Terminal:
    """A terminal of 80x24 with the app in it.

    Args:
        folder: The scouting folder.
        env: Environment to add.
        under: Command line to run it under, such as a tracer of system calls.
        on: The day it is opened on.
        scout: Who opens it.
        step: Seconds that go by whenever the app looks at its clock: at 1.0 every key is meant, below 0.15 one is held.
    """

    def __init__(
        self,
        folder: Path,
        env: dict[str, str] | None = None,
        under: Sequence[str] = (),
        *,
        on: str = DAY.isoformat(),
        scout: str = "Ida",
        step: float = 1.0,
    ) -> None:
        self.screen = pyte.Screen(80, 24)
        self.stream = pyte.ByteStream(self.screen)
        # With COLUMNS or LINES set, as where tests run side by side, a program never learns of another size.
        outside = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
        base = {**outside, "TERM": "xterm-256color", "COLORTERM": "truecolor", "PYTHONPATH": str(ROOT)}
        opening = [str(folder), "--on", on, "--scout", scout]
        command = [*under, sys.executable, "-m", "tests.pty.clocked", str(step), *opening]
        self.child = pexpect.spawn(
            command[0],
            command[1:],
            dimensions=(24, 80),
            env={**base, **(env or {})},
            timeout=PATIENCE,
        )
        self.child.delaybeforesend = None

    @property
    def text(self) -> str:
        """What is on the screen."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def read(self, seconds: float = 0.0) -> str:
        """Take in what is printed for a while."""
        until = time.monotonic() + seconds
        while True:
            try:
                self.stream.feed(self.child.read_nonblocking(65536, timeout=max(0.01, until - time.monotonic())))
            except pexpect.TIMEOUT:
                pass
            except pexpect.EOF:
                return self.text
            if time.monotonic() >= until:
                return self.text

    def wait_until(self, holds: Callable[[], bool], what: str) -> str:
        """Read until something holds of the screen."""
        until = time.monotonic() + PATIENCE
        while not holds():
            assert time.monotonic() < until, f"{what} did not show:\n{self.text}"
            # Asleep until something is printed: to look again and again takes the processor from the app.
            select.select([self.child.fileno()], [], [], 1.0)
            self.read(0.02)
        return self.text

    def wait_for(self, words: str) -> str:
        """Read until some words are on the screen."""
        return self.wait_until(lambda: words in self.text, repr(words))

    def wait_for_header(self, words: str, width: int) -> None:
        """Read until some words show and the first line reaches to the right edge, as it does once it is redrawn."""

        def drawn() -> bool:
            return words in self.text and width - 2 <= len(self.screen.display[0].rstrip()) <= width

        self.wait_until(drawn, f"{words!r} in a window {width} wide")

    def send(self, keys: str, words: str) -> str:
        """Type, all at once, and wait for words."""
        self.child.send(keys)
        return self.wait_for(words)

    def catch_up(self) -> str:
        """Wait until everything typed has been dealt with: the keys are shown behind it, and put away again."""
        before = self.send("\x1bOP", HELP)
        self.child.send("\x1b")
        self.wait_until(lambda: HELP not in self.text, "the screen behind the keys")
        return before

    def open_round(self) -> None:
        """From the desk to the first trap."""
        self.wait_for("> hill")
        self.send("\r", "Trap A1 ")

    def resize(self, width: int, height: int) -> None:
        """Give the window another size."""
        self.screen.resize(height, width)
        self.child.setwinsize(height, width)

    def leave(self) -> int:
        """Leave by ctrl+q; the exit code."""
        self.child.send("\x11")
        self.child.expect(pexpect.EOF)
        self.child.close()
        return int(self.child.exitstatus if self.child.exitstatus is not None else -1)

    def close(self) -> None:
        """End it in any case."""
        self.child.close(force=True)
