"""Two programs record into one folder at once while a third reads."""

from __future__ import annotations

import subprocess
import sys
from contextlib import closing
from pathlib import Path

from roundtui.store.checks.verify import verify
from roundtui.store.connect import open_store
from roundtui.store.folder import open_folder
from tests.conftest import NOW, TRAPS, write_folder

ENTRIES = 600

WRITER = """
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from roundtui.domain.entries import Visit
from roundtui.store.connect import open_store
from roundtui.store.record.journal import Author, record

folder, who, entries = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
conn = open_store(folder, now=datetime.now(UTC))
print("ready", flush=True)
sys.stdin.readline()
for at in range(entries):
    visit = Visit(trap="A1", read_on=date(2026, 5, 20), count=at, recount=True)
    record(conn, [visit], Author(who, who), datetime.now(UTC))
"""

READER = """
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from roundtui.domain.figures.rules import SHIPPED_RULES, Office
from roundtui.domain.figures.summary import summarise
from roundtui.store.connect import open_store
from roundtui.store.figures.history import history
from roundtui.store.record.read import newest_read_on, programme

folder, entries = Path(sys.argv[1]), int(sys.argv[2])
conn, office, seen, looks = open_store(folder, now=datetime.now(UTC)), Office(rules=SHIPPED_RULES), 0, 0
print("ready", flush=True)
sys.stdin.readline()
while seen < 2 * entries:
    on = newest_read_on(conn) or date(2026, 5, 20)
    known = programme(conn)
    summarise(known, history(conn, known, on, office), office, on)
    (now,) = conn.execute("SELECT count(*) FROM present_visits").fetchone()
    assert now >= seen, "an entry vanished"
    seen, looks = now, looks + 1
print(looks)
"""


def started(code: str, *args: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", code, *map(str, args)]
    return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_nothing_is_lost_and_nothing_doubled(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "farm", traps=TRAPS)
    open_folder(folder, now=NOW).conn.close()
    running = [
        started(WRITER, folder, "Ada", ENTRIES),
        started(WRITER, folder, "Bo", ENTRIES),
        started(READER, folder, ENTRIES),
    ]
    try:
        for process in running:
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
        for process in running:
            assert process.stdin is not None
            process.stdin.write("go\n")
            process.stdin.flush()
        said = [process.communicate(timeout=120) for process in running]
    finally:
        for process in running:
            process.kill()
            process.communicate()
    assert [(process.returncode, errors) for process, (_, errors) in zip(running, said, strict=True)] == [(0, "")] * 3
    assert int(said[2][0]) > 1
    with closing(open_store(folder, now=NOW)) as conn:
        for who in ("Ada", "Bo"):
            rows = conn.execute("SELECT count FROM visits WHERE scout = ? ORDER BY rowid", (who,)).fetchall()
            assert [row[0] for row in rows] == list(range(ENTRIES))
        assert [fault for check in verify(conn, "Ada") for fault in check.faults] == []
