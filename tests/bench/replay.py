"""Key to screen while stepping through a round, the sample's and one of 500 traps, beside a key in a bare Textual app.

python tests/bench/replay.py [TRAPS]
"""

from __future__ import annotations

import contextlib
import io
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.programmes import build
from tests.bench.terminal import Terminal, bare

RIGHT, LEFT, DOWN = "\x1b[C", "\x1b[D", "\x1b[B"
HEAD = 0
"""The line that says which entry is shown."""
MOST = 40
"""Entries of a round that are stepped through."""


def steps(folder: Path, on: str, before: Sequence[str], name: str) -> None:
    """Step through a round, back and on again, each key timed until the head has its number, in turn with a bare."""
    terminal, other = Terminal([sys.executable, "-m", "roundtui", str(folder), "--on", on, "--scout", "Bench"]), bare()
    terminal.wait_for("Desk")
    other.wait_for("ready-to-type")
    terminal.settle(1.0)
    other.settle()
    for key in before:
        terminal.send(key)
        terminal.settle(0.3)
    opening = terminal.until("r", HEAD, "entry 1 of")
    terminal.settle(0.5)
    times: dict[str, list[float]] = {}
    least: list[float] = []
    last = min(MOST, int(terminal.line(HEAD).split()[-1]))
    forth, back = range(2, last + 1), range(last - 1, 0, -1)
    for kind, key, numbers in (("first time", RIGHT, forth), ("back", LEFT, back), ("again", RIGHT, forth)):
        for at in numbers:
            least.append(other.key(str(at % 10), str(at % 10)))
            other.settle(0.05)
            other.send("\x7f")
            other.settle(0.05)
            times.setdefault(kind, []).append(terminal.until(key, HEAD, f"entry {at} of"))
            terminal.settle(0.05)
    terminal.close()
    other.close()
    bare_key = statistics.median(least)
    print(f"{name}: opening {opening * 1e3:.0f} ms, {last} steps; a key in a bare app: median {bare_key * 1e3:.1f} ms")
    for kind, found in times.items():
        median, worst = statistics.median(found), max(found)
        ratio = f"ratio {median / bare_key:.2f}"
        print(f"  {kind:10} median {median * 1e3:5.1f} ms   worst {worst * 1e3:5.1f} ms   {ratio}")


def main(traps: int) -> None:
    """Time both."""
    with tempfile.TemporaryDirectory() as scratch:
        sample, large = Path(scratch) / "sample", Path(scratch) / "large"
        subprocess.run([sys.executable, "-m", "roundtui", "demo", "--no-open", "--to", str(sample)], check=True)
        on = (sample / "running_day.txt").read_text(encoding="utf-8").strip()
        steps(sample, on, [DOWN], "sample, 30 traps")
        with contextlib.redirect_stderr(io.StringIO()):
            day = build(large, 1, traps)
        steps(large, day.isoformat(), [], f"{traps} traps, one route of six")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
