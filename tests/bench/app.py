"""Start, keys and memory of the app beside a bare Textual app with one Input, the two in turn.

python tests/bench/app.py [KEYS] [FOLDER DAY ...]

With folders, as ``tests/bench/programmes.py`` makes them, and a day for each: the first screen alone, in time of the
processor, and the memory held then.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.bench.terminal import Terminal, bare

STARTS = 12
KEYS = int(sys.argv[1]) if len(sys.argv) > 1 else 600
PROMPT = "Count"
"""Word beside the count field."""
HEAD = 1
"""The line of the walk that every entry changes: the route and the number of the trap."""


def demo_folder(to: str) -> tuple[Path, str]:
    """A prepared copy of the sample farm, and its running day."""
    folder = Path(to) / "farm"
    subprocess.run([sys.executable, "-m", "roundtui", "demo", "--no-open", "--to", str(folder)], check=True)
    return folder, (folder / "running_day.txt").read_text(encoding="utf-8").strip()


def ours(folder: Path, on: str) -> Terminal:
    """The app on the demo's running day."""
    return Terminal([sys.executable, "-m", "roundtui", str(folder), "--on", on, "--scout", "Bench"])


def quantile(times: list[float], share: float) -> float:
    """The time that so great a share of all does not pass."""
    return sorted(times)[min(len(times) - 1, int(share * len(times)))]


def starts(folder: Path, on: str) -> None:
    """Process start to first prompt, in turn, and the memory held there."""
    desk: list[float] = []
    prompt: list[float] = []
    base: list[float] = []
    memory: list[tuple[float, float]] = []
    for _ in range(STARTS):
        one = bare()
        one.wait_for("ready-to-type")
        base.append(time.perf_counter() - one.began)
        one.settle()
        held = one.memory_mb()
        one.close()
        one = ours(folder, on)
        one.wait_for("Desk")
        desk.append(time.perf_counter() - one.began)
        one.settle()
        prompt.append(one.key("\r", PROMPT))
        one.settle()
        memory.append((held, one.memory_mb()))
        one.close()
    a, b, c = (statistics.median(times) for times in (base, desk, prompt))
    print(f"start to screen   bare {a * 1e3:6.0f} ms   ours {b * 1e3:6.0f} ms   ratio {b / a:.2f}")
    print(f"+ Enter to prompt                  ours {c * 1e3:6.0f} ms   start and Enter: ratio {(b + c) / a:.2f}")
    a, b = map(statistics.median, zip(*memory, strict=True))
    print(f"memory            bare {a:6.1f} MB   ours {b:6.1f} MB   ratio {b / a:.2f}")


def first_screens(opened: list[tuple[str, str]]) -> None:
    """Time of the processor and memory until a first screen stands, in turn."""
    found: dict[str, list[tuple[float, float]]] = {}
    for _ in range(STARTS):
        for name, on in [("", ""), *opened]:
            one, word = (ours(Path(name), on), "Desk") if name else (bare(), "ready-to-type")
            one.wait_for(word)
            tasks = Path(f"/proc/{one.pid}/task").glob("*/schedstat")
            spent = sum(int(task.read_text(encoding="ascii").split()[0]) for task in tasks) / 1e9
            found.setdefault(name, []).append((spent, one.memory_mb()))
            one.close()
    middle = {name: [statistics.median(values) for values in zip(*rows, strict=True)] for name, rows in found.items()}
    for name, (spent, memory) in middle.items():
        ratios = f"{spent / middle[''][0]:.2f} and {memory / middle[''][1]:.2f} times the bare one" if name else ""
        print(f"{name or 'bare':40} {spent * 1e3:5.0f} ms {memory:5.1f} MB   {ratios}")


def keys(folder: Path, on: str) -> None:
    """Key to screen in the count field and in a bare Input, in turn."""
    one, other = bare(), ours(folder, on)
    one.wait_for("ready-to-type")
    other.wait_for("Desk")
    other.settle(0.5)
    other.key("\r", PROMPT)
    one.settle(0.5)
    other.settle(0.5)
    times: dict[str, list[float]] = {"bare": [], "ours": []}
    for at in range(KEYS):
        digit = str(1 + at % 9)
        for name, terminal in (("bare", one), ("ours", other)):
            times[name].append(terminal.key(digit, digit))
            terminal.settle(0.02)
            terminal.send("\x7f")
            terminal.settle(0.02)
    for share, name in ((0.5, "p50"), (0.95, "p95")):
        a, b = (quantile(times[who], share) for who in ("bare", "ours"))
        print(
            f"key to screen {name} bare {a * 1e3:6.2f} ms   ours {b * 1e3:6.2f} ms   ratio {b / a:.2f}   ({KEYS} keys)"
        )
    enters = []
    for _ in range(8):
        other.settle(0.3)
        other.send("4")
        other.settle(0.3)
        enters.append(other.until("\r", HEAD))
    half, most = (quantile(enters, share) * 1e3 for share in (0.5, 0.95))
    print(f"Enter to next prompt, committed on disk   p50 {half:.1f} ms   p95 {most:.1f} ms")
    one.close()
    other.close()


if __name__ == "__main__":
    if len(sys.argv) > 2:
        first_screens(list(zip(sys.argv[2::2], sys.argv[3::2], strict=True)))
        sys.exit()
    with tempfile.TemporaryDirectory() as scratch:
        starts(*demo_folder(scratch))
    with tempfile.TemporaryDirectory() as scratch:
        keys(*demo_folder(scratch))
