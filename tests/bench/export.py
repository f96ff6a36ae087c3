"""Exporting a record beside a bare dump of the same rows, importing it beside a bare insert, and years of many farms.

python tests/bench/export.py [VISITS] [FARMS] [FOLDER ON A REAL DISK]
"""

from __future__ import annotations

import csv
import resource
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from multiprocessing import Process
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.domain.entries import Visit
from roundtui.store.exchange.importing import import_package
from roundtui.store.exchange.package import write_package
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.record.rows import VISITS
from roundtui.store.season.years import YearsRecord
from tests.conftest import write_folder

NOW = datetime(2026, 1, 1, tzinfo=UTC)
SEASONS = (2023, 2024, 2025)
ROUNDS = 25
TRAPS = 3


def programme(path: Path, farms: int) -> Path:
    """Farms with one block of three traps each, hung every spring."""
    traps = "".join(
        f"T{farm}-{at},B{farm},CM,delta,{year}-04-07,{year}-10-01\n"
        for farm in range(farms)
        for at in range(TRAPS)
        for year in SEASONS
    )
    return write_folder(
        path,
        farms="farm,name\n" + "".join(f"F{farm},Farm {farm}\n" for farm in range(farms)),
        blocks="block,farm,name,crop\n" + "".join(f"B{farm},F{farm},Block {farm},apple\n" for farm in range(farms)),
        traps=f"trap,block,species,style,hung_on,down_on\n{traps}",
        lures=None,
        routes=None,
    )


def fill(conn: sqlite3.Connection, farms: int, visits: int) -> int:
    """Put rounds on record until there are so many visits."""
    rounds = [date(year, 4, 14) + timedelta(weeks=week) for year in SEASONS for week in range(ROUNDS)]
    entries = [
        Visit(trap=f"T{farm}-{at}", read_on=on, count=(farm + at + on.toordinal()) % 9, note="windy" if at else "")
        for on in rounds
        for farm in range(farms)
        for at in range(TRAPS)
    ][:visits]
    for start in range(0, len(entries), 20_000):
        record(conn, entries[start : start + 20_000], Author("Ada", "truck"), NOW)
    return len(entries)


def _fill_folder(folder: Path, farms: int, visits: int) -> None:
    with closing(open_folder(folder, now=NOW).conn) as conn:
        fill(conn, farms, visits)


def timed(work: Callable[[], object]) -> float:
    """Seconds of the processor that something takes."""
    start = time.process_time()
    work()
    return time.process_time() - start


def bare_csv(conn: sqlite3.Connection, to: Path) -> None:
    """What anyone would write first."""
    with to.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(conn.execute(f"SELECT {VISITS.listed} FROM visits"))


def bare_insert(table: Path, to: Path) -> None:
    """The visits of a package into a table without a limit."""
    with closing(sqlite3.connect(to)) as conn, table.open(encoding="utf-8", newline="") as file:
        rows = csv.reader(file)
        header = next(rows)
        conn.execute(f"CREATE TABLE visits ({', '.join(f'{column} TEXT' for column in header)})")
        conn.executemany(f"INSERT INTO visits VALUES ({', '.join('?' * len(header))})", rows)
        conn.commit()


def memory_mb() -> float:
    """Most memory held so far. [MB]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main(visits: int, farms: int, where: str | None) -> None:
    """Time each beside its bare baseline."""
    with tempfile.TemporaryDirectory(dir=where) as scratch:
        base = Path(scratch)
        folder = programme(base / "farm", farms)
        with closing(open_folder(folder, now=NOW).conn) as conn:
            # Filled by another process, so that its memory is not taken for that of the export.
            filling = Process(target=_fill_folder, args=(folder, farms, visits))
            filling.start()
            filling.join()
            (entries,) = conn.execute("SELECT count(*) FROM visits").fetchone()
            print(f"{entries} visits, {farms} farms, {farms * TRAPS} traps")
            before = memory_mb()
            sanitize = timed(lambda: bare_csv(conn, base / "bare"))
            took = timed(lambda: write_package(conn, folder, base / "out", NOW))
            print(f"data package: {took:.2f} s, bare dump of the visits {sanitize:.2f} s, {took / sanitize:.1f} times")
            print(f"memory grown by {memory_mb() - before:.0f} MB")
            before = memory_mb()
            sanitize = timed(lambda: bare_insert(base / "out" / "data" / "visits.csv", base / "bare.db"))
            took = timed(lambda: import_package(base / "again", base / "out", NOW))
            print(f"import: {took:.2f} s, bare insert of the visits {sanitize:.2f} s, {took / sanitize:.1f} times")
            print(f"memory grown by {memory_mb() - before:.0f} MB")
            start = time.process_time()
            years = YearsRecord(conn, folder, date(2025, 12, 31), read_office(folder))
            ends = years.ends(["", *(f"F{farm}" for farm in range(farms))])
            took = time.process_time() - start
            print(f"season's end of {len(ends)} reports over {len(years.seasons)} seasons: {took:.2f} s")


if __name__ == "__main__":
    words = sys.argv[1:]
    main(int(words[0]) if words else 30_000, int(words[1]) if words[1:] else 100, words[2] if words[2:] else None)
