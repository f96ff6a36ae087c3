"""The summary of ten seasons beside that of one, with certainty beside without, and what a whole command takes.

python -m tests.bench.summary [FOLDER OF ONE SEASON] [FOLDER OF TEN]

Without folders it makes programmes of 500 traps; ``tests/bench/programmes.py`` makes larger ones, to be kept. All times
are of the processor.
"""

from __future__ import annotations

import gc
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path
from unittest.mock import patch

from roundtui.domain.figures import certainty
from roundtui.domain.figures.learned import nothing_learned
from roundtui.report.figures.summary import summary_json
from roundtui.store.connect import open_store
from roundtui.store.figures import summary
from roundtui.store.figures.learned import renew
from roundtui.store.office import read_office
from tests.bench.programmes import LAST, WEEKS, build

ON = date(LAST, 4, 21) + timedelta(days=7 * (WEEKS - 1))
RUNS = 9


def inside(folder: Path, on: date, *, certain: bool = True, cold: bool = False) -> float:
    """Seconds for one summary inside the process, the store opened anew; cold: no table of a scatter is kept."""
    for one in vars(certainty).values() if cold else ():
        if hasattr(one, "cache_clear"):
            one.cache_clear()
    gc.collect()  # What the run before left behind is not this one's cost.
    began = time.process_time()
    conn = open_store(folder, now=datetime.now(UTC))
    if certain:
        summary_json(summary.summary_of(conn, read_office(folder), on).summary)
    else:
        with patch.object(summary, "learned_by", lambda *_: nothing_learned):
            summary_json(summary.summary_of(conn, read_office(folder), on).summary)
    conn.close()
    return time.process_time() - began


def without(folder: Path, on: date) -> float:
    """The same, saying nothing of how sure it is."""
    return inside(folder, on, certain=False)


def certain(folder: Path) -> Iterator[str]:
    """A summary with certainty beside one without, tables kept from before and none kept."""
    a, *both = medians(
        partial(without, folder, ON), partial(inside, folder, ON), partial(inside, folder, ON, cold=True)
    )
    yield f"without {a * 1e3:.0f} ms"
    for words, b in zip(("with", "with, caches cold,"), both, strict=True):
        yield f" {words} {b * 1e3:.0f} ms  ratio {b / a:.2f}"


def command(folder: Path, on: date) -> float:
    """Seconds for one summary as a command."""
    began = resource.getrusage(resource.RUSAGE_CHILDREN)
    argv = [sys.executable, "-m", "roundtui", "summary", str(folder), "--on", on.isoformat(), "--json"]
    subprocess.run(argv, check=True, capture_output=True)
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    return ended.ru_utime + ended.ru_stime - began.ru_utime - began.ru_stime


def medians(*timed: Callable[[], float]) -> list[float]:
    """Of several things, taken in turn."""
    for one in timed:
        one()
    times = zip(*([one() for one in timed] for _ in range(RUNS)), strict=True)
    return [statistics.median(found) for found in times]


def main(short: Path, long: Path) -> None:
    """Time them in turn."""
    for folder in (short, long):
        conn = open_store(folder, now=datetime.now(UTC))
        began = time.process_time()
        renew(conn, read_office(folder))
        print(f"what the rounds taught, kept: {folder.name} {time.process_time() - began:.2f} s")
        conn.close()
    for day in (ON, ON - timedelta(days=70)):
        for name, timed in (("inside the process", inside), ("as a command", command)):
            a, b = medians(
                lambda timed=timed, day=day: timed(short, day), lambda timed=timed, day=day: timed(long, day)
            )
            print(f"summary of {day} {name:18}  1 season {a * 1e3:5.0f} ms  10 {b * 1e3:5.0f} ms  ratio {b / a:.2f}")
    for folder in (short, long):
        print(f"certainty, {folder.name}:", *certain(folder))


if __name__ == "__main__":
    if len(sys.argv) > 2:
        main(Path(sys.argv[1]), Path(sys.argv[2]))
    else:
        with tempfile.TemporaryDirectory() as scratch:
            build(Path(scratch) / "one", 1, 500)
            build(Path(scratch) / "ten", 10, 500)
            main(Path(scratch) / "one", Path(scratch) / "ten")
