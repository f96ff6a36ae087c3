"""From no folder to the first count, typed in a pseudo-terminal: steps, keys, and how long they take a person.

Run it as ``python -m tests.long.first_count``. It begins a small programme by forms alone, then one of nine farms, 26
blocks, 120 traps, four routes and three past seasons by tables, everything invented. A key is taken at 0.28 s and each
step at 1.35 s of thought, as the keystroke-level model has them for a person who is no typist (Card, Moran and Newell
1980, Communications of the ACM 23, 396-410; values from memory); what the machine takes is added as measured.
"""

from __future__ import annotations

import csv
import random
import sqlite3
import time
from collections.abc import Iterable, Sequence
from contextlib import chdir, closing
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.pty.terminal import Terminal

KEY_SECONDS, THOUGHT_SECONDS = 0.28, 1.35
ENTER, DOWN, PAGE_DOWN = "\r", "\x1b[B", "\x1b[6~"
ON = "2026-04-27"


class Person:
    """Types, and is counted.

    Args:
        folder: The folder to open.
    """

    def __init__(self, folder: Path) -> None:
        self.steps = 1
        self.keys = len(f"roundtui {folder.name}\n")
        self.began = time.monotonic()
        self.at = Terminal(folder, on=ON, scout="Ada Birch")

    def does(self, words: str, *keys: str) -> None:
        """One step: some keys, then what shows that they were taken."""
        self.steps += 1
        self.keys += sum(1 if key.startswith("\x1b") else len(key) for key in keys)
        for key in keys:  # A form moves on when it has seen Enter: nobody types on sooner.
            self.at.child.send(key)
            self.at.read(0.3)
        self.at.wait_for(words)

    def says(self, what: str) -> str:
        """What it took."""
        waited = time.monotonic() - self.began
        minutes = (self.steps * THOUGHT_SECONDS + self.keys * KEY_SECONDS + waited) / 60
        return f"{what}: {self.steps} steps, {self.keys} keys, {waited:.0f} s of the machine, {minutes:.1f} minutes"

    def brings(self, path: Path, kind: str, *, first: bool = False) -> None:
        """Bring a table, as it is."""
        self.does("File", "b" if first else "f")
        self.does("Holds", str(path.name), ENTER)
        self.does("Nothing is written yet", kind, ENTER)
        self.does("[y] yes", ENTER)
        self.does("f brings another", "y")


def by_forms(folder: Path) -> str:
    """One farm, one block, four traps, one route, a station and a threshold of one's own, then a count."""
    person = Person(folder)
    person.at.wait_for("Its crop")
    fields = ("Hollow Valley Scouting", "HF", "Hollow Farm", "N1", "North")
    person.does("Next: traps", *(part for text in fields for part in (text, ENTER)), ENTER)
    person.does("[6 Stations]", "e", "6")
    person.does("Add to stations.csv", "a")
    person.does("Saved, added", "VALE", ENTER, "Vale", ENTER, PAGE_DOWN, ENTER)
    person.does("Add to traps.csv", "1", "a")
    person.does("T01", "T01..T04", ENTER, "N1", ENTER, "CM", *[DOWN] * 4, "2026-04-20", PAGE_DOWN, ENTER)
    person.does("Add to routes.csv", "5", "a")
    person.does("Saved, added", "home", ENTER, "T01..T04", PAGE_DOWN, ENTER)
    person.does("> home", "\x1b")
    person.does("Trap T01", ENTER)
    person.does("T02", ENTER, "0", ENTER)
    person.at.leave()
    return person.says("one farm, one block, four traps, by forms")


def by_tables(folder: Path) -> tuple[str, str]:
    """Nine farms, 26 blocks, 120 traps, four routes and three past seasons, by tables; then a count."""
    tables = make_tables(folder.parent)
    person = Person(folder)
    person.at.wait_for("Its crop")
    person.does("Next: farms", "Hollow Valley Scouting", PAGE_DOWN, ENTER)
    for at, (kind, path) in enumerate(tables[:4]):
        person.brings(path, kind, first=not at)
    person.does("> east", "\x1b")
    said = person.says("nine farms, 26 blocks, 120 traps, four routes, by tables")
    person.steps = person.keys = 0
    person.began = time.monotonic()
    for at, (kind, path) in enumerate(tables[4:]):
        person.brings(path, kind, first=not at)
    past = person.says("three past seasons of 120 traps")
    person.at.send("\x1b", "> east")
    person.at.leave()
    return said, past


def make_tables(where: Path) -> list[tuple[str, Path]]:
    """The tables of an invented office, each with what it holds."""
    rng = random.Random(13)
    labels = [f"{'ABCDEFGHIJKLMNOPQRSTUVWXYZ'[at % 26]}{at // 26 + 1}" for at in range(120)]
    blocks = [(f"Block {n + 1}", f"Farm {n % 9 + 1}", "apple") for n in range(26)]
    traps = [(label, blocks[at % 26][0], "CM", "2026-04-20") for at, label in enumerate(labels)]
    routes = [(["north", "south", "east", "west"][at % 4], label) for at, label in enumerate(labels)]
    made = [
        ("farms", "farms.txt", ("Farm", "Grower"), [(f"Farm {n + 1}", "somebody invented") for n in range(9)]),
        ("blocks", "blocks.txt", ("Block", "Farm", "Crop"), blocks),
        ("traps", "traps.txt", ("Trap", "Block", "Pest", "Date hung"), traps),
        ("routes", "routes.txt", ("Route", "Trap"), routes),
    ]
    for year in (2023, 2024, 2025):
        days = [date(year, 4, 24) + timedelta(days=7 * week) for week in range(22)]
        rows = [(f"{day:%d.%m.%Y}", *(rng.choice((0, 0, 1, 2, 5, 9)) for _ in labels)) for day in days]
        made.append(("counts", f"{year}.txt", ("Date", *labels), rows))
    return [(kind, _write(where / name, head, rows)) for kind, name, head, rows in made]


def _write(path: Path, head: Sequence[str], rows: Iterable[Sequence[object]]) -> Path:
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, delimiter=";").writerows([head, *rows])
    return path


def main() -> None:
    """Type both, and say what they took."""
    with TemporaryDirectory() as where, chdir(where):
        print(by_forms(Path("valley")), flush=True)
        folder = Path("hollow")
        print(*by_tables(folder), sep="\n")
        with closing(sqlite3.connect(folder / "roundtui.db")) as conn:
            counts, hangings, farms = (
                conn.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("visits", "traps", "farms")
            )
        print(f"on record: {counts} counts, {hangings} hangings, {farms} farms")


if __name__ == "__main__":
    main()
