"""Opening the Season screen beside a bare Textual app that draws one chart with the same library, the two in turn.

python -m tests.bench.season
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time

from tests.bench.app import demo_folder, ours
from tests.bench.terminal import Terminal

STARTS = 12
BARE = """
from plotille import Canvas
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        canvas = Canvas(74, 20, 0, 0, 200, 15)
        for week in range(28):
            canvas.line(week * 7, week * 5 % 13, week * 7 + 7, (week + 1) * 5 % 13)
        yield Static(canvas.plot() + "\\nchart-is-drawn", markup=False)
Bare().run()
"""


def times() -> None:
    """Process start to the chart; from the desk, once all of it stands, the key alone, then once more, then at once."""
    base: list[float] = []
    desk: list[float] = []
    key: list[float] = []
    again: list[float] = []
    at_once: list[float] = []
    with tempfile.TemporaryDirectory() as scratch:
        folder, on = demo_folder(scratch)
        for _ in range(STARTS):
            one = Terminal([sys.executable, "-c", BARE])
            one.wait_for("chart-is-drawn")
            base.append(time.perf_counter() - one.began)
            one.close()
            one = ours(folder, on)
            one.wait_for("Desk")
            desk.append(time.perf_counter() - one.began)
            one.wait_for("Next ten days")
            one.settle(0.4)
            key.append(one.key("d", "moths a trap a week"))
            one.settle(0.4)
            one.send("\x1b")
            one.settle(0.4)
            again.append(one.key("d", "moths a trap a week"))
            one.close()
            one = ours(folder, on)
            one.wait_for("Desk")
            one.settle(0.1)
            at_once.append(one.key("d", "moths a trap a week"))
            one.close()
    a, b, c, d, e = (statistics.median(found) for found in (base, desk, key, again, at_once))
    print(f"start to one chart           bare {a * 1e3:5.0f} ms")
    print(f"start to desk                ours {b * 1e3:5.0f} ms   ratio {b / a:.2f}")
    print(f"d to the season's chart      ours {c * 1e3:5.0f} ms   ratio {c / a:.2f}")
    print(f"opened again                 ours {d * 1e3:5.0f} ms   ratio {d / a:.2f}")
    print(f"start, then d, to the chart  ours {(b + c) * 1e3:5.0f} ms   ratio {(b + c) / a:.2f}")
    print(f"the same, typed ahead        ours {(b + e) * 1e3:5.0f} ms   ratio {(b + e) / a:.2f}")


if __name__ == "__main__":
    times()
