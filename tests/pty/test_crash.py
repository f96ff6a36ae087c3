"""The app fails by a fault of its own, or its terminal is gone: nothing entered is lost, nobody sees a traceback."""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

import pexpect
import pytest

from roundtui.app import run_app
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


def test_an_app_whose_terminal_is_gone_ends_where_hang_ups_were_ignored_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard = []
    monkeypatch.setattr("roundtui.app.app.run_app", lambda *_, **__: heard.append(signal.getsignal(signal.SIGHUP)) or 0)
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        assert run_app(tmp_path) == 0
    finally:
        signal.signal(signal.SIGHUP, before)
    assert heard == [signal.SIG_DFL]
