"""Loading a programme's long weather.csv, beside a bare ``executemany`` of the same rows.

python tests/bench/weather.py [STATIONS] [YEARS]
"""

from __future__ import annotations

import random
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.store.folder import open_folder

FIRST = date(1996, 1, 1)
STEPS = ("bare", "first", "one row", "nothing", "other order", "first by day")
"""What is timed, each in a process of its own, so that its memory is its own as well."""
MEGABYTE = 1024 * 1024


def build(folder: Path, stations: int, years: int) -> None:
    """Set-up files of a farm whose stations have invented temperatures in whole degrees."""
    chance = random.Random(1)
    codes = [f"S{at}" for at in range(stations)]
    (folder / "farms.csv").write_text("farm,name\nF,Farm\n")
    (folder / "stations.csv").write_text("station,name\n" + "".join(f"{code},{code}\n" for code in codes))
    with (folder / "weather.csv").open("w") as file:
        file.write("station,date,tmin,tmax,unit\n")
        for code in codes:
            for at in range(int(years * 365.2425)):
                day = FIRST + timedelta(days=at)
                low = round(55 - 35 * abs(day.timetuple().tm_yday - 200) / 183 + chance.gauss(0, 5))
                file.write(f"{code},{day},{low},{low + chance.randint(8, 28)},F\n")


def rows(folder: Path) -> Iterator[tuple[str, str, float, float, str]]:
    """Rows of the file as cheaply as they can be had."""
    with (folder / "weather.csv").open() as file:
        next(file)
        for line in file:
            station, day, low, high, unit = line.rstrip("\n").split(",")
            yield station, day, float(low), float(high), unit


def bare(folder: Path) -> None:
    """The floor: one table of the same columns and key, the same journal, one transaction, nothing checked."""
    with closing(sqlite3.connect(folder / "bare.db", isolation_level=None)) as conn:
        conn.execute("PRAGMA journal_mode = WAL")
        conn.execute("PRAGMA synchronous = FULL")
        conn.execute(
            "CREATE TABLE days (station TEXT, day TEXT, import INTEGER, tmin REAL, tmax REAL, unit TEXT,"
            " observed_at TEXT, PRIMARY KEY (station, day, import)) WITHOUT ROWID"
        )
        conn.execute("BEGIN")
        conn.executemany("INSERT INTO days VALUES (?, ?, 1, ?, ?, ?, '')", rows(folder))
        conn.execute("COMMIT")


def change_one_row(folder: Path) -> None:
    """The minimum of a day in the midst of the file is corrected."""
    lines = (folder / "weather.csv").read_text().splitlines(keepends=True)
    station, day, low, *more = lines[len(lines) // 2].split(",")
    lines[len(lines) // 2] = ",".join((station, day, str(int(low) - 1), *more))
    (folder / "weather.csv").write_text("".join(lines))


def order_by_day(folder: Path) -> None:
    """The same rows, all stations of a day together."""
    header, *lines = (folder / "weather.csv").read_text().splitlines(keepends=True)
    lines.sort(key=lambda line: line.split(",", 2)[1])
    (folder / "weather.csv").write_text("".join((header, *lines)))


def step(folder: Path, what: str) -> None:
    """Do one step and print its time and its memory."""
    begin = time.perf_counter()
    if what == "bare":
        bare(folder)
    else:
        open_folder(folder, now=datetime.now(UTC)).conn.close()
    took = time.perf_counter() - begin
    print(took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)


def alone(*args: object) -> str:
    """What this script prints when it does something in a process of its own."""
    done = subprocess.run([sys.executable, __file__, *map(str, args)], capture_output=True, text=True, check=True)
    return done.stdout


def prepare(folder: Path, what: str) -> None:
    """What comes before a step."""
    if what == "one row":
        change_one_row(folder)
    elif what == "other order":
        order_by_day(folder)
    elif what == "first by day":
        for path in folder.glob("roundtui.*"):
            path.unlink()


def main() -> None:
    """Time every step."""
    if sys.argv[1:2] == ["--step"]:
        step(Path(sys.argv[2]), sys.argv[3])
        return
    if sys.argv[1:2] == ["--build"]:
        build(Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))
        return
    if sys.argv[1:2] == ["--prepare"]:
        prepare(Path(sys.argv[2]), sys.argv[3])
        return
    stations, years = (int(arg) for arg in (*sys.argv[1:], "100", "30")[:2])
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        alone("--build", folder, stations, years)
        size = (folder / "weather.csv").stat().st_size / MEGABYTE
        print(f"{stations} stations, {years} years each, {size:.0f} MB of weather.csv")
        floor = 0.0
        for what in STEPS:
            alone("--prepare", folder, what)
            took, memory = map(float, alone("--step", folder, what).split())
            floor = floor or took
            print(f"{what:12} {took:6.2f} s  {took / floor:5.2f} times the bare one  {memory:4.0f} MB")


if __name__ == "__main__":
    main()
