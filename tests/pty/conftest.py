"""A folder with a past, and the app on it in a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.app.folder import last_week, open_session, write_folder
from tests.pty.terminal import Terminal


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, and a home that is nobody's."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_STATE_HOME", raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    folder = write_folder(tmp_path / "farm")
    session = open_session(folder)
    last_week(session)
    session.conn.close()
    return folder


@pytest.fixture
def terminal(folder: Path) -> Iterator[Terminal]:
    """The app at the first trap of its round."""
    one = Terminal(folder)
    one.open_round()
    yield one
    one.close()
