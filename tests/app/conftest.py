"""Folders and apps for the tests of the screens."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.store.session import Session
from tests.app.folder import last_week, open_session, write_folder
from tests.app.settle import install

install()


@pytest.fixture(scope="session")
def made_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with its past, made once."""
    folder = write_folder(tmp_path_factory.mktemp("made") / "farm")
    session = open_session(folder)
    last_week(session)
    session.conn.close()
    return folder


@pytest.fixture
def folder(made_folder: Path, tmp_path: Path) -> Path:
    """A copy of it for one test."""
    return Path(shutil.copytree(made_folder, tmp_path / "farm"))


@pytest.fixture
def start() -> Iterator[Callable[..., RoundtuiApp]]:
    """Opens apps, and closes their stores afterwards."""
    opened: list[Session] = []

    def open_app(folder: Path, **more: object) -> RoundtuiApp:
        session = open_session(folder, **more)  # type: ignore[arg-type]
        opened.append(session)
        return RoundtuiApp(session)

    yield open_app
    for session in opened:
        session.conn.close()
