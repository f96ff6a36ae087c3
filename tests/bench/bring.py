"""A hundred thousand counts brought in, against reading the same file and inserting its cells, in one run.

Run it as ``python -m tests.bench.bring [ROWS]``; it prints the ratio of processor time, and the most memory.
"""

from __future__ import annotations

import csv
import resource
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

TRAPS = 1000


def main() -> None:
    """Make the file, read it both ways, and say how they compare."""
    if len(sys.argv) > 2:
        _bring(Path(sys.argv[2]))
        return
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with TemporaryDirectory() as where:
        folder = Path(where)
        _make(folder, rows)
        started = time.process_time()
        with closing(sqlite3.connect(folder / "bare.db")) as conn, (folder / "counts.csv").open(newline="") as file:
            conn.execute("CREATE TABLE bare (trap TEXT, read_on TEXT, count TEXT)")
            conn.executemany("INSERT INTO bare VALUES (?, ?, ?)", list(csv.reader(file)))
            conn.commit()
        bare = time.process_time() - started
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-m", "tests.bench.bring", "0", str(folder)], check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        most = after.ru_maxrss / 1024
        print(f"{rows} rows: bare {bare:.2f} s, bring {spent:.2f} s, {spent / bare:.1f} times; most {most:.0f} MB")


def _make(folder: Path, rows: int) -> None:
    from roundtui.store.begin import Beginning, begin

    now = datetime.now(UTC)
    begin(folder / "programme", Beginning(farms=[("HF", "Hollow Farm (invented)")]), now)
    (folder / "programme" / "blocks.csv").write_text("block,farm,name,crop\nN,HF,North,apple\n")
    with (folder / "programme" / "traps.csv").open("w", newline="") as file:
        traps = ((f"T{n}", "N", "CM", "2020-01-01") for n in range(TRAPS))
        csv.writer(file).writerows([("trap", "block", "species", "hung_on"), *traps])
    with (folder / "counts.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("trap", "date", "count"))
        first = date(2020, 1, 6)
        writer.writerows((f"T{n % TRAPS}", first + timedelta(days=7 * (n // TRAPS)), n % 23) for n in range(rows))


def _bring(folder: Path) -> None:
    from roundtui.cli import main as commands

    words = [
        "bring",
        str(folder / "programme"),
        str(folder / "counts.csv"),
        "--as",
        "counts",
        "--scout",
        "Ada",
        "--yes",
    ]
    commands(words, prog_name="roundtui")


if __name__ == "__main__":
    main()
