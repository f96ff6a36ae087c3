"""Merging a bundle beside a bare ``executemany`` of the same bundle into the same table, in time of the processor.

python tests/bench/merge.py [ENTRIES] [FOLDER ON A REAL DISK]
"""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.domain.entries import Visit
from roundtui.store.exchange.bundle import pack
from roundtui.store.exchange.merge import merge
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from roundtui.store.record.rows import VISITS
from tests.conftest import write_folder

TRAPS = 500
HUNG = date(2016, 1, 1)


def folder(path: Path) -> Path:
    """A programme of many traps."""
    rows = "".join(f"T{at},N,CM,delta,{HUNG}\n" for at in range(TRAPS))
    return write_folder(path, traps=f"trap,block,species,style,hung_on\n{rows}", routes=None)


def bare(conn: sqlite3.Connection, bundle: Path) -> None:
    """What anyone would write first."""
    unset: dict[str, Any] = {"reason": "", "read_at": "", "position": "", "note": "", "extra": "", "cleared": 1}
    unset |= dict.fromkeys(("estimated", "liner", "kill_strip", "recount"), 0)
    names = [*VISITS.columns, "extra", "lane", "no", "previous", "form", "digest"]

    def values(row: dict[str, Any]) -> Iterator[Any]:
        row |= {"lane": lane, "previous": bytes.fromhex(row["previous"]), "digest": bytes.fromhex(row["sha256"])}
        return (row.get(name, unset.get(name)) for name in names)

    with zipfile.ZipFile(bundle) as file, file.open("entries.jsonl") as lines:
        conn.execute("BEGIN IMMEDIATE")
        (lane,) = conn.execute(
            "INSERT INTO lanes (name) VALUES ('aaaaaaaaaaaa.bbbbbbbbbbbb.1') RETURNING lane"
        ).fetchone()
        rows = (row for row in map(json.loads, lines) if row["kind"] == "visit")
        conn.executemany(VISITS.insert, (tuple(values(row)) for row in rows))
        conn.execute("COMMIT")


def main(entries: int, where: str | None) -> None:
    """Make a bundle, and time the two in turn."""
    now = datetime(2026, 1, 1, tzinfo=UTC)
    with tempfile.TemporaryDirectory(dir=where) as scratch:
        bundle = Path(scratch) / "all.bundle"
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
            pack(conn, bundle, "bench", now)
            print(f"pack   {time.perf_counter() - began:6.2f} s   {bundle.stat().st_size / 1e6:.1f} MB")
        for turn in range(2):
            times = {}
            for name in WORK:
                where_to = folder(Path(scratch) / f"{name}{turn}")
                command = [sys.executable, __file__, "--one", name, str(bundle), str(where_to)]
                took, entries_there, grown = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)
                times[name] = took
                print(f"{name:6} {took:6.2f} s   {entries_there} entries   peak memory grew {grown:.1f} MB")
            print(f"ratio  {times['merge'] / times['bare']:6.2f}")


def one(name: str, bundle: Path, where: Path) -> None:
    """One merge in a process of its own, whose peak memory is then its own as well."""
    with closing(open_folder(where, now=datetime(2026, 1, 1, tzinfo=UTC)).conn) as conn:
        before = peak_mb(anew=True)
        began = time.process_time()
        WORK[name](conn, bundle)
        took = time.process_time() - began
        grown = peak_mb() - before
        print(json.dumps((took, conn.execute("SELECT count(*) FROM visits").fetchone()[0], grown)))


def peak_mb(*, anew: bool = False) -> float:
    """Most memory this process has held, or holds now where the peak is to be taken anew. [MB]"""
    if anew:
        Path("/proc/self/clear_refs").write_text("5")
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


WORK = {"bare": bare, "merge": lambda conn, path: merge(conn, [path])}


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(sys.argv[2], Path(sys.argv[3]), Path(sys.argv[4]))
        sys.exit()
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200_000, sys.argv[2] if len(sys.argv) > 2 else None)
