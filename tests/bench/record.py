"""Recording an entry beside a bare committed insert into the same table, with its indexes, checks and triggers.

python tests/bench/record.py [FOLDER ON A REAL DISK]
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from roundtui.domain.entries import Visit
from roundtui.store.connect import open_store
from roundtui.store.record.journal import Author, record
from roundtui.store.record.lanes import new_id
from roundtui.store.record.rows import DIGEST_FORM, VISITS, digest_of

ENTRIES = 1000


def main(where: str | None) -> None:
    """Time the two in turn, on two stores in one folder."""
    author = Author("Bench", "bench")
    with tempfile.TemporaryDirectory(dir=where) as scratch:
        folders = [Path(scratch) / name for name in ("ours", "bare")]
        for folder in folders:
            folder.mkdir()
        ours, bare = (open_store(folder, now=datetime.now(UTC)) for folder in folders)
        table = VISITS
        bare.execute("INSERT INTO lanes (lane, name) VALUES (1, 'bare')")
        times: dict[str, list[float]] = {"ours": [], "bare": []}
        for at in range(ENTRIES):
            now = datetime.now(UTC)
            visit = Visit(trap=f"A{at}", read_on=date(2025, 5, 8), count=4, scout="Bench", device="bench")
            began = time.perf_counter()
            record(ours, [visit], author, now)
            times["ours"].append(time.perf_counter() - began)
            values = table.values(replace(visit, id=new_id(now), recorded_at=now))
            row = (*values, "", 1, at + 1, b"", DIGEST_FORM)
            row = (*row, digest_of(table, row, "bare"))
            began = time.perf_counter()
            bare.execute("BEGIN IMMEDIATE")
            bare.execute(table.insert, row)
            bare.execute("COMMIT")
            times["bare"].append(time.perf_counter() - began)
        a, b = (statistics.median(times[who]) for who in ("bare", "ours"))
        print(f"one entry, committed: bare {a * 1e3:.3f} ms   ours {b * 1e3:.3f} ms   ratio {b / a:.2f}   ({ENTRIES})")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None)
