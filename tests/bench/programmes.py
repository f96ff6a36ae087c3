"""Programmes of any size, invented: traps that scatter as real ones do, read weekly over so many seasons.

python -m tests.bench.programmes FOLDER [SEASONS] [TRAPS]

2,000 traps over ten seasons are 460,000 visits, and take some two minutes; made once, a folder serves every benchmark.
"""

from __future__ import annotations

import contextlib
import io
import math
import random
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from roundtui.domain.entries import StageSeen, Visit
from roundtui.store.connect import open_store
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record

LAST = 2025
WEEKS = 23
SPECIES = ("CM", "OFM", "OBLR", "CM")
LOTS = {"CM": "LC", "OFM": "LO", "OBLR": "LB"}
TRAPS_A_BLOCK = 8
SCATTER = 2.0
"""Of the traps of one block. [1]"""


def build(folder: Path, seasons: int, traps: int) -> date:
    """A programme of so many traps, read weekly over so many seasons; the last of them is the same for every length.

    Returns:
        The day of the last reading.
    """
    folder.mkdir(parents=True)
    number = max(1, traps // TRAPS_A_BLOCK)
    blocks = [f"B{at:03}" for at in range(number)]
    labels = [(f"T{at:04}", blocks[at * number // traps], SPECIES[at % 4]) for at in range(traps)]
    years = range(LAST - seasons + 1, LAST + 1)
    files = {
        "farms.csv": ["farm,name", *(f"F{at},Farm {at}" for at in range(12))],
        "blocks.csv": [
            "block,farm,name,crop,station",
            *(f"{b},F{at % 12},Block {b},apple,S{at % 2}" for at, b in enumerate(blocks)),
        ],
        "stations.csv": ["station,name", "S0,Station 0", "S1,Station 1"],
        "lures.csv": ["lot,species,life_days", *(f"{lot},{species},42" for species, lot in LOTS.items())],
        "traps.csv": [
            "trap,block,species,style,hung_on,down_on",
            *(
                f"{trap},{block},{species},delta,{year}-04-14,{f'{year}-09-30' if year < LAST else ''}"
                for year in years
                for trap, block, species in labels
            ),
        ],
        "routes.csv": ["route,position,trap", *(f"R{at % 6},{at},{trap}" for at, (trap, _, _) in enumerate(labels))],
        "weather.csv": ["station,date,tmin,tmax,unit", *(_weather(year, s) for year in years for s in ("S0", "S1"))],
    }
    for name, lines in files.items():
        (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    with contextlib.redirect_stderr(io.StringIO()):
        open_folder(folder, now=datetime.now(UTC)).conn.close()
    conn = open_store(folder, now=datetime.now(UTC))
    author = Author("Bench", "bench")
    height = {trap: random.Random(trap).gammavariate(4, 0.25) for trap, _, _ in labels}
    for year in years:
        chance = random.Random(year)
        first = date(year, 4, 21)
        for week in range(WEEKS):
            on = first + timedelta(days=7 * week)
            entries: list[Visit | StageSeen] = []
            luck = {(block, species): chance.gammavariate(6, 1 / 6) for block in blocks for species in LOTS}
            for at, (trap, block, species) in enumerate(labels):
                lure = LOTS[species] if week % 6 == 5 else None
                if at == week * 7 % traps:
                    lure = LOTS["OFM" if species == "CM" else "CM"]
                mean = 6 * _flight(week, species) * luck[block, species] * height[trap]
                count = _poisson(chance, mean * chance.gammavariate(2 * SCATTER, 0.5 / SCATTER))
                entries.append(Visit(trap=trap, read_on=on, count=count, lure=lure, liner=week % 4 == 3))
            entries += [StageSeen(block=block, seen_on=on, code=f"{55 + week}") for block in blocks]
            record(conn, entries, author, datetime(year, on.month, on.day, 18, tzinfo=UTC))
    conn.close()
    return first + timedelta(days=7 * (WEEKS - 1))


def _weather(year: int, station: str) -> str:
    chance, first = random.Random(f"{year} {station}"), date(year, 1, 1)
    rows = []
    for at in range((date(year, 12, 31) - first).days + 1):
        middle = 50 - 25 * math.cos(2 * math.pi * (at - 20) / 365) + chance.gauss(0, 6)
        rows.append(f"{station},{first + timedelta(days=at)},{middle - 10:.0f},{middle + 11:.0f},F")
    return "\n".join(rows)


def _flight(week: int, species: str) -> float:
    """Height of the flight in a week, two flights a season, 1 at its peak."""
    start = {"CM": 4, "OFM": 2, "OBLR": 6}[species]
    return 0.03 + sum(math.exp(-(((week - peak) / 2.2) ** 2)) for peak in (start, start + 10))


def _poisson(chance: random.Random, mean: float) -> int:
    if mean <= 0:
        return 0
    product, number, limit = chance.random(), 0, math.exp(-min(mean, 500.0))
    while product > limit:
        product *= chance.random()
        number += 1
    return number


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[2:]]
    print(build(Path(sys.argv[1]), *(numbers + [10, 2000][len(numbers) :])))
