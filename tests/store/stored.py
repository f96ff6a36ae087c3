"""Stores as released schemas left them, kept as SQL text; every later program opens them.

python -m tests.store.stored          # writes tests/data/stores/schema-N.sql for the present schema, before its release
"""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from roundtui.store.db import APPLICATION_ID, DB_NAME, SCHEMA_VERSION
from roundtui.store.exchange import reading as staging
from roundtui.store.exchange.lines import row_of
from roundtui.store.folder import open_folder
from roundtui.store.record.rows import canonical
from tests.conftest import write_folder
from tests.store.test_digests import fill

STORES = Path(__file__).parents[1] / "data" / "stores"
NEWER = {"form": 1, "lane": "0123456789ab.ba9876543210.1", "scout": "Cy", "device": "newer"}
"""A laptop with a program of next year."""


def newer_entries() -> list[dict[str, object]]:
    """A visit with a field, and an entry of a kind, that only a newer program knows."""
    at = "2026-05-21T08:00:00.000000Z"
    first = {**NEWER, "kind": "visit", "id": "019e5000-0000-7000-8000-000000000001", "no": 1, "recorded_at": at} | {
        "trap": "A3",
        "read_on": "2026-05-20",
        "count": 2,
        "moonlit": True,
    }
    previous = hashlib.sha256(canonical(first)).hexdigest()
    second = {**NEWER, "kind": "frost", "id": "019e5000-0000-7000-8000-000000000002", "no": 2, "recorded_at": at} | {
        "block": "S",
        "seen_on": "2026-05-20",
        "browned": 3,
        "previous": previous,
    }
    return [first, second]


def add_newer(conn: sqlite3.Connection, most: int = 2) -> None:
    """Put what a newer laptop said on record, as a bundle brings it; so many of its entries at most."""
    rows = [row_of(said, hashlib.sha256(canonical(said)).hexdigest(), newer=True) for said in newer_entries()[:most]]
    with staging.tables(conn):
        staging.add(conn, rows)
        staging.add_staged(conn)


def restored(path: Path, schema: int) -> None:
    """Make the store of a released schema.

    Args:
        path: Where.
        schema: Number of the schema.
    """
    with closing(sqlite3.connect(path)) as conn:
        conn.executescript((STORES / f"schema-{schema}.sql").read_text(encoding="utf-8"))


def main() -> None:
    """Write the present one."""
    now = datetime(2026, 5, 20, 16, 30, tzinfo=UTC)
    with TemporaryDirectory() as scratch:
        folder = write_folder(Path(scratch) / "farm", stations="station,name\nV,Vale\n")
        (folder / "thresholds.toml").write_text("# None of our own yet.\n")
        with closing(open_folder(folder, now=now).conn) as conn:
            fill(conn, now)
            add_newer(conn)
        with closing(sqlite3.connect(folder / DB_NAME)) as conn:
            lines = [
                *conn.iterdump(),
                f"PRAGMA application_id = {APPLICATION_ID};",
                f"PRAGMA user_version = {SCHEMA_VERSION};",
            ]
    STORES.mkdir(parents=True, exist_ok=True)
    (STORES / f"schema-{SCHEMA_VERSION}.sql").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
