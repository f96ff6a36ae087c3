"""A program in a pseudo-terminal of 80×24, timed from the outside: what a hand at the keyboard would see."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import sys
import termios
import time
from pathlib import Path

import pyte

ESCAPES = re.compile(rb"\x1b\[[0-9;:?<=>]*[ -/]*[@-~]|\x1b[\]P_^].*?(?:\x07|\x1b\\)|\x1b[()][0-9A-B]|\x1b.")


class Terminal:
    """A child process behind a pseudo-terminal.

    Args:
        argv: Command line.
        env: Environment to add.
    """

    def __init__(self, argv: list[str], env: dict[str, str] | None = None) -> None:
        self.began = time.perf_counter()
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            os.environ.update({"TERM": "xterm-256color", "COLORTERM": "truecolor", "COLUMNS": "80", "LINES": "24"})
            os.environ.update(env or {})
            os.execvp(argv[0], argv)
        fcntl.ioctl(self.fd, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.seen = b""
        self._screen = pyte.Screen(80, 24)
        self._stream = pyte.ByteStream(self._screen)
        self._unshown = bytearray()

    def read_some(self, timeout: float) -> bool:
        """Add what has been printed to ``seen``; False where nothing came in time."""
        ready, _, _ = select.select([self.fd], [], [], timeout)
        if not ready:
            return False
        try:
            part = os.read(self.fd, 65536)
            self.seen += part
            self._unshown += part
        except OSError:
            return False
        return True

    def wait_for(self, text: str, timeout: float = 20.0) -> float:
        """Seconds until a text stands in what was printed since the last ``forget``.

        Raises:
            TimeoutError: It did not come.
        """
        began = time.perf_counter()
        wanted = text.encode()
        while wanted not in ESCAPES.sub(b"", self.seen):
            left = timeout - (time.perf_counter() - began)
            if left <= 0 or not self.read_some(left):
                shown = ESCAPES.sub(b"", self.seen)[-400:]
                raise TimeoutError(f"{text!r} did not show; the last that did: {shown!r}")
        return time.perf_counter() - began

    def line(self, number: int) -> str:
        """What a line of the screen says; only the cells that changed are printed."""
        self._stream.feed(bytes(self._unshown))
        self._unshown.clear()
        return self._screen.display[number]

    def until(self, key: str, line: int, shows: str = "") -> float:
        """Seconds from a key to another text on a line of the screen, with some words in it."""
        before, began = self.line(line), time.perf_counter()
        self.send(key)
        took = 0.0
        while (now := self.line(line)) == before or shows not in now:
            if not self.read_some(20.0):
                raise TimeoutError(f"line {line + 1} says {now!r}, and not {shows!r}")
            took = time.perf_counter() - began
        return took

    def settle(self, quiet: float = 0.15) -> None:
        """Read until nothing is printed for a while, and forget it."""
        while self.read_some(quiet):
            pass
        self.seen = b""

    def send(self, keys: str) -> None:
        """Type."""
        os.write(self.fd, keys.encode())

    def key(self, key: str, shows: str) -> float:
        """Seconds from a key to its effect on the screen."""
        self.seen = b""
        began = time.perf_counter()
        self.send(key)
        self.wait_for(shows)
        return time.perf_counter() - began

    def memory_mb(self) -> float:
        """Resident memory. [MB]"""
        status = Path(f"/proc/{self.pid}/status").read_text(encoding="ascii")
        return int(re.search(r"VmRSS:\s+(\d+)", status)[1]) / 1024  # type: ignore[index]

    def close(self) -> None:
        """End it."""
        try:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
            os.close(self.fd)
        except OSError:
            pass


BARE = """
from textual.app import App
from textual.widgets import Input
class Bare(App):
    def compose(self):
        yield Input(placeholder="ready-to-type")
Bare().run()
"""


def bare() -> Terminal:
    """A Textual app with one Input and nothing else."""
    return Terminal([sys.executable, "-c", BARE])
