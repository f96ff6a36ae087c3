"""Laptops that share a programme, each with a store, a clock and a mind of its own."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from roundtui.domain.figures.rules import SHIPPED_RULES, Office
from roundtui.domain.figures.summary import summarise
from roundtui.domain.figures.verdicts import Summary
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME
from roundtui.store.exchange.bundle import Since, pack
from roundtui.store.exchange.merge import MergeReport, merge
from roundtui.store.figures.history import history
from roundtui.store.folder import open_folder
from roundtui.store.record import lanes as ids
from roundtui.store.record.lanes import lane_names
from roundtui.store.record.read import programme
from roundtui.store.record.rows import JOURNALS
from tests.conftest import NOW, made_once, write_folder
from tests.store.changes import RegisterChange, do

OFFICE = Office(rules=SHIPPED_RULES)
ON = date(2026, 5, 20)


def template() -> Path:
    """A loaded store of the small programme, copied for each laptop."""

    def make(folder: Path) -> None:
        with closing(open_folder(write_folder(folder), now=NOW).conn) as conn:
            conn.execute("PRAGMA journal_mode = DELETE")

    return made_once("laptops", make) / DB_NAME


def rows_of(conn: sqlite3.Connection) -> dict[str, tuple[Any, ...]]:
    """Everything on record, by id."""
    lanes = lane_names(conn)
    return {
        row[0]: (table.name, *row[:-5], lanes[row[-5]], *row[-4:])
        for table in JOURNALS
        for row in conn.execute(f"SELECT {table.whole} FROM {table.name}")
    }


def add_row(conn: sqlite3.Connection, row: tuple[Any, ...]) -> None:
    """Put on record what ``rows_of`` gave of another store."""
    table = next(table for table in JOURNALS if table.name == row[0])
    conn.execute("INSERT OR IGNORE INTO lanes (name) VALUES (?)", (row[-5],))
    lane = {name: lane for lane, name in lane_names(conn).items()}[row[-5]]
    conn.execute(table.insert, (*row[1:-5], lane, *row[-4:]))


def summary_of(conn: sqlite3.Connection, on: date = ON) -> Summary:
    known = programme(conn)
    return summarise(known, history(conn, known, on, OFFICE), OFFICE, on)


@dataclass
class Laptops:
    """Some laptops, and one besides them that sees at once whatever any of them records."""

    root: Path
    skews: list[timedelta]
    stack: ExitStack
    stores: list[sqlite3.Connection] = field(default_factory=list)
    bundles: int = 0

    def __post_init__(self) -> None:
        for at in range(len(self.skews) + 1):
            self.stores.append(self.open(f"laptop-{at}"))

    @property
    def all_seeing(self) -> sqlite3.Connection:
        return self.stores[-1]

    def open(self, name: str) -> sqlite3.Connection:
        """A further store of the programme."""
        folder = self.root / name
        folder.mkdir()
        shutil.copy(template(), folder / DB_NAME)
        conn = self.stack.enter_context(closing(open_store(folder, now=NOW)))
        conn.execute("PRAGMA synchronous = OFF")
        return conn

    def do(self, change: RegisterChange) -> None:
        """Let somebody do something on one of them."""
        ids._last_ms = 0  # Each laptop runs a program of its own.
        conn = self.stores[change.laptop]
        before = rows_of(conn)
        do(conn, change, self.skews[change.laptop])
        for entry_id, row in rows_of(conn).items():
            if entry_id not in before:
                add_row(self.all_seeing, row)

    def pack(self, at: int, since: Since | None = None) -> Path:
        """A bundle of one of them."""
        self.bundles += 1
        path = self.root / f"{self.bundles}.bundle"
        pack(self.stores[at], path, f"laptop {at}", NOW + self.skews[at], since)
        return path

    def merge(self, at: int, *bundles: Path) -> MergeReport:
        """Merge bundles on one of them."""
        return merge(self.stores[at], bundles)
