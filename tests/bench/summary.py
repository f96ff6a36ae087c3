"""The summary of ten seasons of 500 traps beside that of one, as whole commands and inside one process.

python tests/bench/summary.py [SEASONS] [TRAPS]
"""

from __future__ import annotations

import contextlib
import gc
import io
import random
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.domain.figures.summary import summarise
from roundtui.domain.visits import StageSeen, Visit
from roundtui.report.figures.summary import summary_json
from roundtui.store.connect import open_store
from roundtui.store.figures.history import history
from roundtui.store.journal import Author, record
from roundtui.store.office import read_office
from roundtui.store.read import programme_for
from roundtui.store.set_up.load import load_folder

LAST = 2025
WEEKS = 24
SPECIES = ("CM", "OFM", "OBLR", "CM")


def build(folder: Path, seasons: int, traps: int) -> date:
    """A programme of so many traps, read weekly over so many seasons; the last of them is the same for every length.

    Returns:
        The day of the last reading.
    """
    folder.mkdir()
    blocks = [f"B{at:03}" for at in range(traps // 8)]
    labels = [(f"T{at:04}", blocks[at * len(blocks) // traps], SPECIES[at % 4]) for at in range(traps)]
    years = range(LAST - seasons + 1, LAST + 1)
    files = {
        "farms.csv": ["farm,name", *(f"F{at},Farm {at}" for at in range(12))],
        "blocks.csv": ["block,farm,name,crop", *(f"{b},F{at % 12},Block {b},apple" for at, b in enumerate(blocks))],
        "lures.csv": ["lot,species,life_days", "LC,CM,42", "LO,OFM,42", "LB,OBLR,42"],
        "traps.csv": [
            "trap,block,species,style,hung_on,down_on",
            *(
                f"{trap},{block},{species},delta,{year}-04-14,{f'{year}-09-30' if year < LAST else ''}"
                for year in years
                for trap, block, species in labels
            ),
        ],
        "routes.csv": ["route,position,trap", *(f"R{at % 6},{at},{trap}" for at, (trap, _, _) in enumerate(labels))],
    }
    for name, lines in files.items():
        (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    conn = open_store(folder, now=datetime.now(UTC))
    load_folder(conn, folder, datetime.now(UTC))
    author = Author("Bench", "bench")
    lots = {"CM": "LC", "OFM": "LO", "OBLR": "LB"}
    for year in years:
        chance = random.Random(year)
        first = date(year, 4, 21)
        entries: list[Visit | StageSeen] = []
        for week in range(WEEKS):
            on = first + timedelta(days=7 * week)
            for at, (trap, _, species) in enumerate(labels):
                lure = lots[species] if week % 6 == 5 else None
                if at == week * 7 % traps:
                    lure = lots["OFM" if species == "CM" else "CM"]
                entries.append(Visit(trap=trap, read_on=on, count=chance.randint(0, 9), lure=lure, liner=week % 4 == 3))
            entries += [StageSeen(block=block, seen_on=on, code=f"{55 + week}") for block in blocks]
        record(conn, entries, author, datetime(year, 10, 1, tzinfo=UTC))
    conn.close()
    return first + timedelta(days=7 * (WEEKS - 1))


def inside(folder: Path, on: date) -> float:
    """Seconds for one summary inside the process, the store opened anew."""
    gc.collect()  # What the run before left behind is not this one's cost.
    began = time.perf_counter()
    conn = open_store(folder, now=datetime.now(UTC))
    office = read_office(folder)
    programme = programme_for(conn, on, office)
    summary_json(summarise(programme, history(conn, programme, on, office), office, on))
    conn.close()
    return time.perf_counter() - began


def command(folder: Path, on: date) -> float:
    """Seconds for one summary as a command."""
    began = time.perf_counter()
    argv = [sys.executable, "-m", "roundtui", "summary", str(folder), "--on", on.isoformat(), "--json"]
    subprocess.run(argv, check=True, capture_output=True)
    return time.perf_counter() - began


def main(seasons: int, traps: int) -> None:
    """Time the two in turn."""
    with tempfile.TemporaryDirectory() as scratch:
        short, long = Path(scratch) / "one", Path(scratch) / "many"
        with contextlib.redirect_stderr(io.StringIO()):
            on = build(short, 1, traps)
            build(long, seasons, traps)
        for day in (on, on - timedelta(days=70)):
            for name, timed in (("inside the process", inside), ("as a command", command)):
                times: dict[Path, list[float]] = {short: [], long: []}
                for folder in times:
                    timed(folder, day)
                for _ in range(9):
                    for folder, found in times.items():
                        found.append(timed(folder, day))
                a, b = (statistics.median(times[folder]) for folder in (short, long))
                print(
                    f"summary of {day} {name:18}  1 season {a * 1e3:6.0f} ms   {seasons} seasons {b * 1e3:6.0f} ms"
                    f"   ratio {b / a:.2f}"
                )


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    main(*(numbers + [10, 500][len(numbers) :]))
