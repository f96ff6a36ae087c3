"""Key to screen while stepping through a round: the sample's of thirty traps, and one of a programme of 500.

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
from tests.bench.terminal import Terminal

RIGHT, LEFT, DOWN = "\x1b[C", "\x1b[D", "\x1b[B"


def steps(folder: Path, on: str, before: Sequence[str], name: str, most: int = 60) -> None:
    """Step on through a round, back and on again, each key timed until its number shows."""
    terminal = Terminal([sys.executable, "-m", "roundtui", str(folder), "--on", on, "--scout", "Bench"])
    terminal.wait_for("Desk")
    terminal.settle(1.0)
    for key in before:
        terminal.key(key, "")
        terminal.settle(0.3)
    opening = terminal.key("r", "entry 1 of")
    terminal.settle(0.3)
    times: dict[str, list[float]] = {"first time": [], "back": [], "again": []}
    last = 1
    for at in range(2, most + 1):
        try:
            times["first time"].append(terminal.key(RIGHT, f"entry {at} of"))
        except (TimeoutError, AssertionError):
            break
        last = at
        terminal.settle(0.05)
    for at in range(last - 1, 0, -1):
        times["back"].append(terminal.key(LEFT, f"entry {at} of"))
        terminal.settle(0.02)
    for at in range(2, last + 1):
        times["again"].append(terminal.key(RIGHT, f"entry {at} of"))
        terminal.settle(0.02)
    terminal.close()
    print(f"{name}: opening {opening * 1e3:.0f} ms, {last} steps")
    for kind, found in times.items():
        median, worst = statistics.median(found), max(found)
        print(f"  {kind:10} median {median * 1e3:5.1f} ms   worst {worst * 1e3:5.1f} ms")


def main(traps: int) -> None:
    """Time both."""
    with tempfile.TemporaryDirectory() as scratch:
        sample, large = Path(scratch) / "sample", Path(scratch) / "large"
        subprocess.run([sys.executable, "-m", "roundtui", "demo", "--no-open", "--to", str(sample)], check=True)
        on = (sample / "running_day.txt").read_text(encoding="utf-8").strip()
        steps(sample, on, [DOWN], "sample, 30 traps", 38)
        with contextlib.redirect_stderr(io.StringIO()):
            day = build(large, 1, traps)
        steps(large, day.isoformat(), [], f"{traps} traps, one route of six", 40)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
