"""Two windows on one folder: no entry is lost, and nobody sees a traceback."""

from __future__ import annotations

import subprocess
import sys
from contextlib import closing
from datetime import date, datetime
from pathlib import Path

import pytest

from roundtui.domain.visits import Visit
from roundtui.errors import StoreError
from roundtui.store import connect
from roundtui.store.connect import open_store, transaction
from roundtui.store.folder import open_folder
from roundtui.store.journal import Author, record
from roundtui.store.read import journal_rows

DAY = date(2026, 5, 20)
ENTRIES = 200
WRITER = """
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from roundtui.domain.visits import Visit
from roundtui.store.folder import open_folder
from roundtui.store.journal import Author, record
folder, scout, entries = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
conn = open_folder(folder, now=datetime.now(UTC)).conn
print("ready", flush=True)
sys.stdin.readline()
for count in range(entries):
    visit = Visit(trap="A1", read_on=date(2026, 5, 20), count=count)
    record(conn, [visit], Author(scout, "laptop"), datetime.now(UTC))
    print(count, flush=True)
"""


def test_two_processes_enter_two_hundred_counts_each_at_once(folder: Path, now: datetime) -> None:
    """Both also make the store, since neither finds one."""
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(folder), scout, str(ENTRIES)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for scout in ("Ada", "Bo")
    ]
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write("go\n")
        writer.stdin.flush()
    for writer in writers:
        said, errors = writer.communicate(timeout=60)
        assert (writer.returncode, errors) == (0, "")
        assert said.split() == [str(count) for count in range(ENTRIES)]
    with closing(open_store(folder, now=now)) as conn:
        rows = journal_rows(conn, DAY, DAY)
        assert conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    for scout in ("Ada", "Bo"):
        counts = [row.entry.count for row in rows if row.entry.scout == scout]  # type: ignore[union-attr]
        assert counts == list(range(ENTRIES))


def test_a_store_that_another_holds_is_waited_for_and_then_told(
    folder: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connect, "WAIT_SECONDS", 0.05)
    visit = Visit(trap="A1", read_on=DAY, count=1)
    with closing(open_folder(folder, now=now).conn) as one, closing(open_store(folder, now=now)) as other:
        with transaction(one), pytest.raises(StoreError, match="in use by another window") as caught:
            record(other, [visit], Author("Ada", "truck"), now)
        assert "try again in a moment" in caught.value.hint
        record(other, [visit], Author("Ada", "truck"), now)
        assert len(journal_rows(one, DAY, DAY)) == 1


def test_reading_goes_on_while_another_writes(folder: Path, now: datetime) -> None:
    with (
        closing(open_folder(folder, now=now).conn) as one,
        closing(open_store(folder, now=now)) as other,
        transaction(one),
    ):
        record(one, [Visit(trap="A1", read_on=DAY, count=1)], Author("Ada", "truck"), now)
        assert journal_rows(other, DAY, DAY) == ()
        assert len(journal_rows(one, DAY, DAY)) == 1
