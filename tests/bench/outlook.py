"""Biofix and outlook of a large programme, beside the same with a third of the past years.

python tests/bench/outlook.py [STATIONS] [BLOCKS]
"""

from __future__ import annotations

import random
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.domain.entries import Visit
from roundtui.store.figures.learned import renew
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.season.season import SeasonRecord

ON = date(2025, 7, 15)
HUNG = date(2025, 4, 21)
SPECIES = ("CM", "OFM", "OBLR")
RUNS = 5


def build(folder: Path, stations: int, blocks: int, years: int) -> None:
    """A programme in its running season, with so many years of invented temperatures before it."""
    folder.mkdir()
    chance = random.Random(1)
    codes = [f"S{at}" for at in range(stations)]
    labels = [(f"T{at}{species}", f"B{at}", species) for at in range(blocks) for species in SPECIES]
    first = date(ON.year - years, 1, 1)
    rows = []
    for code in codes:
        for at in range((ON - first).days + 1):
            day = first + timedelta(days=at)
            low = round(55 - 35 * abs(day.timetuple().tm_yday - 200) / 183 + chance.gauss(0, 5))
            rows.append(f"{code},{day},{low},{low + chance.randint(8, 28)},F")
    files = {
        "stations.csv": ["station,name", *(f"{code},{code}" for code in codes)],
        "farms.csv": ["farm,name", "F,Farm"],
        "blocks.csv": ["block,farm,name,crop,station", *(f"B{b},F,B,apple,S{b % stations}" for b in range(blocks))],
        "traps.csv": ["trap,block,species,hung_on", *(f"{t},{b},{s},{HUNG}" for t, b, s in labels)],
        "weather.csv": ["station,date,tmin,tmax,unit", *rows],
    }
    for name, lines in files.items():
        (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    with closing(open_folder(folder, now=datetime.now(UTC)).conn) as conn:
        weeks = [HUNG + timedelta(days=7 * week) for week in range(1, 13)]
        visits = [Visit(trap=t, read_on=day, count=chance.randint(0, 9)) for day in weeks for t, *_ in labels]
        record(conn, visits, Author("Bench", "bench"), datetime.now(UTC))
        renew(conn, read_office(folder))


def main() -> None:
    """Time both, each as it is asked for: from an open store to every event dated."""
    stations, blocks = (int(arg) for arg in (*sys.argv[1:], "10", "100")[:2])
    with tempfile.TemporaryDirectory() as scratch:
        for years in (10, 30):
            folder = Path(scratch) / f"years-{years}"
            build(folder, stations, blocks, years)
            times = ", ".join(f"{what} {ms:.0f} ms" for what, ms in measured(folder).items())
            pairs = blocks * len(SPECIES)
            print(f"{stations} stations, {pairs} pairs of block and species, {years} years before: {times}")


def measured(folder: Path) -> dict[str, float]:
    """Time of each thing that is asked of the season. [ms]"""
    with closing(open_folder(folder, now=datetime.now(UTC)).conn) as conn:
        office = read_office(folder)

        def season() -> SeasonRecord:
            return SeasonRecord(conn, folder, ON, office)

        return {
            "record": middle(season),
            "biofix": middle(lambda: season().biofix_rows()),
            "outlook": middle(lambda: season().outlook_rows()),
            "one block's season": middle(lambda: season().block("B0", "CM")),
        }


def middle(what: Callable[[], object]) -> float:
    """Median time of the processor for a call. [ms]"""
    times = []
    for _ in range(RUNS):
        begin = time.process_time()
        what()
        times.append(1000 * (time.process_time() - begin))
    return statistics.median(times)


if __name__ == "__main__":
    main()
