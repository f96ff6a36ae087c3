"""A hundred thousand counts brought in and entered, against reading the same file and inserting its cells, in one run.

Run it as ``python -m tests.bench.bring [ROWS]``. It prints ratios of processor time, and the most memory held. One bare
table has three columns and nothing else, one has every column of the table of visits and nothing else, one its key and
indexes too, and the last is the very table, with limits and triggers.
"""

from __future__ import annotations

import csv
import resource
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

TRAPS = 1000


def main() -> None:
    """Make the file, read it all ways, and say how they compare."""
    if len(sys.argv) > 2:
        _commands(sys.argv[2:])
        return
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with TemporaryDirectory() as where:
        folder = Path(where)
        subprocess.run([sys.executable, "-m", "tests.bench.bring", str(rows), "make", where], check=True)
        ours = {
            "bring": _spent(["bring", f"{folder}/brought", f"{folder}/counts.csv", "--as", "counts", "--yes"]),
            "enter": _spent(["enter", f"{folder}/entered", f"{folder}/tally.csv"]),
            "enter, the whole command": _spent(["enters", f"{folder}/learned", f"{folder}/tally.csv"]),
        }
        bare = {
            "three bare columns": _timed(lambda: _three_columns(folder)),
            "all columns, bare": _timed(lambda: _whole_table(folder, "bare")),
            "key and indexes": _timed(lambda: _whole_table(folder, "indexed")),
            "the very table": _timed(lambda: _whole_table(folder, "visits")),
        }
        print(f"{rows} rows: " + ", ".join(f"{name} {spent:.2f} s" for name, spent in bare.items()))
        for name, (spent, most) in ours.items():
            ratios = ", ".join(f"{spent / other:.1f} times {what}" for what, other in bare.items())
            print(f"{name} {spent:.2f} s, {most:.0f} MB: {ratios}")


def _timed(work: Callable[[], None]) -> float:
    started = time.process_time()
    work()
    return time.process_time() - started


def _spent(words: list[str]) -> tuple[float, float]:
    """Processor time of a command, and the most memory it held."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "tests.bench.bring", "0", *words, "--scout", "Ada"]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, float(said.split()[-1])


def _three_columns(folder: Path) -> None:
    with closing(sqlite3.connect(folder / "three.db")) as conn, (folder / "counts.csv").open(newline="") as file:
        conn.execute("CREATE TABLE bare (trap TEXT, read_on TEXT, count TEXT)")
        conn.executemany("INSERT INTO bare VALUES (?, ?, ?)", csv.reader(file))
        conn.commit()


def _whole_table(folder: Path, table: str) -> None:
    """The file into the table of visits as the store has it, every cell but three the same in all rows.

    Args:
        folder: Where it lies.
        table: ``visits``; or ``bare``, the same columns without types, key, indexes, limits and triggers; or
            ``indexed``, the same with key and indexes.
    """
    from roundtui.store.connect import open_store
    from roundtui.store.record.rows import VISITS

    place = folder / table
    place.mkdir()
    now = datetime.now(UTC)
    with closing(open_store(place, now=now)) as conn, (folder / "counts.csv").open(newline="") as file:
        rows = csv.reader(file)
        next(rows)
        head, none = (f"{now:%Y-%m-%dT%H:%M:%S.%fZ}", "Ada", "bench", None, ""), bytes(32)
        rest = (*(one.default for one in VISITS.own[3:]), "", 1)
        conn.execute("BEGIN IMMEDIATE")
        conn.execute("INSERT INTO lanes (lane, name) VALUES (1, 'bare')")
        insert = VISITS.insert.replace("visits", table, 1)
        if table != "visits":
            columns = insert.partition("(")[2].partition(")")[0]
            key = columns.replace("id", "id TEXT NOT NULL PRIMARY KEY", 1) if table == "indexed" else columns
            indexes = conn.execute("SELECT sql FROM sqlite_master WHERE type = 'index' AND tbl_name = 'visits'")
            made = [sql for (sql,) in indexes if sql and table == "indexed"]
            conn.execute(f"CREATE TABLE {table} ({key})")
            for sql in made:
                conn.execute(sql.replace("INDEX visits", "INDEX indexed", 1).replace("ON visits", f"ON {table}", 1))
        conn.executemany(
            insert,
            ((f"{at:036}", *head, *row, *rest, at, none, 1, none) for at, row in enumerate(rows, 1)),
        )
        conn.execute("COMMIT")


def _make(folder: Path, rows: int) -> None:
    from roundtui.store.begin import Beginning, begin
    from roundtui.store.folder import open_folder

    now = datetime.now(UTC)
    for name in ("brought", "entered", "learned"):
        begin(folder / name, Beginning(farms=[("HF", "Hollow Farm (invented)")]), now)
        (folder / name / "blocks.csv").write_text(
            "block,farm,name,crop\n" + "".join(f"B{n},HF,Block {n},apple\n" for n in range(TRAPS // 20))
        )
        with (folder / name / "traps.csv").open("w", newline="") as file:
            traps = ((f"T{n}", f"B{n // 20}", "CM", "2020-01-01") for n in range(TRAPS))
            csv.writer(file).writerows([("trap", "block", "species", "hung_on"), *traps])
        open_folder(folder / name, now=now).conn.close()
    for name, heads in (("counts.csv", ("trap", "date", "count")), ("tally.csv", ("trap", "read_on", "count"))):
        with (folder / name).open("w", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(heads)
            first = date(2020, 1, 6)
            writer.writerows((f"T{n % TRAPS}", first + timedelta(days=7 * (n // TRAPS)), n % 23) for n in range(rows))


def _commands(words: list[str]) -> None:
    if words[0] == "make":
        _make(Path(words[1]), int(sys.argv[1]))
        return
    if words[0] == "enter":
        _enter(Path(words[1]), Path(words[2]))
    else:
        words[0] = words[0].removesuffix("s")
        from roundtui.cli import main as commands

        commands(words, prog_name="roundtui", standalone_mode=False)
    status = Path("/proc/self/status").read_text()
    print(int(status.split("VmHWM:")[1].split()[0]) / 1024)


def _enter(folder: Path, tally: Path) -> None:
    """The command without what it learns of the rounds afterwards."""
    from roundtui.store.folder import open_folder
    from roundtui.store.record.journal import Author
    from roundtui.store.round.enter import enter_tally

    now = datetime.now(UTC)
    with closing(open_folder(folder, now=now).conn) as conn:
        enter_tally(conn, tally, Author("Ada", "bench"), now, now.date())


if __name__ == "__main__":
    main()
