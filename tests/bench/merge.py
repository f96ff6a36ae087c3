"""Merging a parcel beside a bare ``executemany`` of the same parcel into the same table, in one run.

python tests/bench/merge.py [ENTRIES] [FOLDER ON A REAL DISK]
"""

from __future__ import annotations

import json
import resource
import sqlite3
import sys
import tempfile
import time
import zipfile
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.domain.visits import Visit
from roundtui.store.folder import open_folder
from roundtui.store.journal import Author, record
from roundtui.store.merge import merge
from roundtui.store.parcel import pack
from roundtui.store.rows import VISITS
from tests.conftest import write_folder

TRAPS = 500
HUNG = date(2016, 1, 1)


def folder(path: Path) -> Path:
    """A programme of many traps."""
    rows = "".join(f"T{at},N,CM,delta,{HUNG}\n" for at in range(TRAPS))
    return write_folder(path, traps=f"trap,block,species,style,hung_on\n{rows}", routes=None)


def bare(conn: sqlite3.Connection, parcel: Path) -> None:
    """What anyone would write first."""
    columns = (*VISITS.columns, "sha256")
    with zipfile.ZipFile(parcel) as file, file.open("visits.jsonl") as lines:
        conn.execute("BEGIN IMMEDIATE")
        conn.executemany(
            VISITS.insert,
            (
                tuple(bytes.fromhex(row[c]) if c == "sha256" else row[c] for c in columns)
                for row in map(json.loads, lines)
            ),
        )
        conn.execute("COMMIT")


def main(entries: int, where: str | None) -> None:
    """Make a parcel, and time the two in turn."""
    now = datetime(2026, 1, 1, tzinfo=UTC)
    with tempfile.TemporaryDirectory(dir=where) as scratch:
        parcel = Path(scratch) / "all.parcel"
        with closing(open_folder(folder(Path(scratch) / "from"), now=now).conn) as conn:
            visits = [
                Visit(
                    trap=f"T{at % TRAPS}",
                    read_on=HUNG + timedelta(days=7 * (1 + at // TRAPS)),
                    count=at % 13,
                    liner=at % 4 == 0,
                    lure="CM26" if at % 6 == 0 else None,
                    note="windy" if at % 9 == 0 else "",
                )
                for at in range(entries)
            ]
            record(conn, visits, Author("Bench", "bench"), now)
            began = time.perf_counter()
            pack(conn, parcel, "bench", now)
            print(f"pack   {time.perf_counter() - began:6.2f} s   {parcel.stat().st_size / 1e6:.1f} MB")
        del visits
        for turn in range(2):
            times = {}
            for name, work in (("bare", bare), ("merge", lambda conn, path: merge(conn, [path]))):
                with closing(open_folder(folder(Path(scratch) / f"{name}{turn}"), now=now).conn) as conn:
                    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
                    began = time.perf_counter()
                    work(conn, parcel)
                    times[name] = time.perf_counter() - began
                    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
                    count = conn.execute("SELECT count(*) FROM visits").fetchone()[0]
                print(f"{name:6} {times[name]:6.2f} s   {count} entries   peak memory grew {grown / 1024:.1f} MB")
            print(f"ratio  {times['merge'] / times['bare']:6.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000, sys.argv[2] if len(sys.argv) > 2 else None)
