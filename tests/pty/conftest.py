"""A folder with a past, and the app on it in a terminal."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.app.folder import last_week, open_session, write_folder
from tests.conftest import made_once
from tests.pty.terminal import Terminal


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, and a home that is nobody's."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_STATE_HOME", raising=False)
    monkeypatch.delenv("NO_COLOR", raising=False)
    return Path(shutil.copytree(made_once("pty", _make), tmp_path / "farm"))


def _make(folder: Path) -> None:
    session = open_session(write_folder(folder))
    last_week(session)
    session.conn.close()


@pytest.fixture
def terminal(folder: Path) -> Iterator[Terminal]:
    """The app at the first trap of its round."""
    one = Terminal(folder)
    one.open_round()
    yield one
    one.close()
