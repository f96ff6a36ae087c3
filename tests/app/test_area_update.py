"""The area update from the Letters screen: shown first, written by a second key, and kept as the command keeps it."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.form import ErrorDialog
from roundtui.app.screens.letters.screen import LettersScreen
from roundtui.cli import main
from roundtui.domain.entries import Visit
from roundtui.store.connect import open_store
from roundtui.store.db import DB_NAME
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from tests.app.folder import screen_text
from tests.conftest import ready_demo

Start = Callable[..., RoundtuiApp]

ON = date(2025, 7, 15)
WHEN = datetime(2025, 7, 15, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return ready_demo(tmp_path_factory.mktemp("area") / "farm").folder


@pytest.fixture
def farm(sample: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(sample, tmp_path / "farm"))


DOWN = ["end"]
"""To the last row, past five farms."""


def kept(folder: Path) -> list[tuple[str, str]]:
    """What the store keeps as published."""
    with closing(sqlite3.connect(folder / DB_NAME)) as conn:
        return conn.execute("SELECT key, value FROM settings WHERE key LIKE 'area%' ORDER BY key").fetchall()


async def see(app: RoundtuiApp, pilot: object, *keys: str) -> str:
    await pilot.press(*keys)  # type: ignore[attr-defined]
    for _ in range(3):
        await app.workers.wait_for_complete()
        await pilot.pause()  # type: ignore[attr-defined]
    return screen_text(app)


async def test_the_update_is_shown_first_and_a_second_key_writes_and_keeps_what_the_command_would(
    farm: Path, sample: Path, tmp_path: Path, start: Start
) -> None:
    by_command = Path(shutil.copytree(sample, tmp_path / "other"))
    done = CliRunner().invoke(main, ["update", str(by_command), "--on", str(ON), "--to", str(tmp_path / "out")])
    assert done.exit_code == 0
    app = start(farm, on=ON)
    async with app.run_test(size=(80, 24)) as pilot:
        text = await see(app, pilot, "l", *DOWN)
        assert "! Before it goes out: not read: " in text
        assert "Enter publishes it for good" in text
        assert "Enter publish file, sends nothing" in text
        assert "call made" not in text, "nobody is called about what is for everybody"
        assert "not published" in text
        assert kept(farm) == []
        assert not (farm / "updates").exists()
        text = await see(app, pilot, "enter", "y")
        assert "Area update written, nothing sent: " in text
        assert f"week to {ON.day} {ON:%b}" in text
    assert kept(farm) == kept(by_command) != []
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert sorted(path.name for path in (farm / "updates").iterdir()) == names
    for name in names:
        assert (farm / "updates" / name).read_bytes() == (tmp_path / "out" / name).read_bytes()
    assert not (farm / "letters").exists()


async def test_escape_or_another_farm_leaves_the_update_unwritten(farm: Path, start: Start) -> None:
    app = start(farm, on=ON)
    async with app.run_test(size=(80, 24)) as pilot:
        text = await see(app, pilot, "l", *DOWN, "enter")
        assert "Publish the area update" in text
        text = await see(app, pilot, "enter", "escape", "up")
        assert isinstance(app.screen, LettersScreen)
        assert "what your traps show" in text
        assert "publishes it" not in text
    assert kept(farm) == []


async def test_what_changed_since_it_was_shown_is_shown_again_before_it_is_published(farm: Path, start: Start) -> None:
    app = start(farm, on=ON)
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot, "l", *DOWN)
        with closing(open_store(farm, now=WHEN)) as conn:
            traps = programme(conn).routes["north"]
            record(conn, [Visit(trap=trap, read_on=ON, count=9) for trap in traps], Author("Bo", "desk"), WHEN)
        text = await see(app, pilot, "enter", "y")
        assert "CHANGED in the meantime." in text
        assert kept(farm) == []
        assert "Area update written" in await see(app, pilot, "enter", "y")
    assert kept(farm) != []


async def test_a_season_without_a_whole_week_has_no_update(farm: Path, start: Start) -> None:
    app = start(farm, on=date(2026, 1, 2))
    async with app.run_test(size=(80, 24)) as pilot:
        text = await see(app, pilot, "l", *DOWN)
        assert isinstance(app.screen, ErrorDialog)
        assert "There is no area update to show" in text
        assert "no week of the season is over" in text
