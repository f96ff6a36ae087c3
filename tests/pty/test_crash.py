"""The app fails by a fault of its own, or its terminal is gone: nothing entered is lost, nobody sees a traceback."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import SimpleNamespace

import pexpect
import pytest

from roundtui.app.app import TypedApp
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


def test_an_app_whose_terminal_is_gone_leaves_in_order_though_no_signal_tells_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    app, left = TypedApp[int](), []
    terminal, own = os.openpty()
    monkeypatch.setattr(app, "_driver", SimpleNamespace(fileno=own))
    monkeypatch.setattr(app, "exit", lambda: left.append(True))
    app._leave_where_hung_up()
    os.write(terminal, b"4")
    app._leave_where_hung_up()
    assert not left, "somebody may type yet"
    os.close(terminal)
    app._leave_where_hung_up()
    os.close(own)
    assert left
