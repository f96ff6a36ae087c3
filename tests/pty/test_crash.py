"""The app fails by a fault of its own: nothing entered is lost, and nobody sees a traceback."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pexpect

from tests.app.folder import DAY, on_record, open_session
from tests.pty.terminal import PATIENCE, ROOT


def test_a_crash_says_where_its_report_is_and_loses_nothing(folder: Path) -> None:
    child = pexpect.spawn(
        sys.executable,
        ["-m", "tests.pty.broken", "1.0", str(folder), "--on", DAY.isoformat(), "--scout", "Ida"],
        dimensions=(24, 200),
        env={**os.environ, "TERM": "xterm-256color", "PYTHONPATH": str(ROOT)},
        timeout=PATIENCE,
    )
    child.expect("hill")
    child.send("\r")
    child.expect("17 more")
    child.send("4\r")
    child.expect(pexpect.EOF)
    child.close()
    said = child.before.decode()
    assert child.exitstatus == 1
    assert "Everything entered is on the disk" in said
    assert "Traceback" not in said
    (report,) = folder.glob("roundtui-report-*.txt")
    assert report.name in said
    assert "a fault of its own" in report.read_text(encoding="utf-8")
    session = open_session(folder)
    assert on_record(session) == {"A1": "4"}
    session.conn.close()
