"""The summary in the app, and who was told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.office import CallDialog
from roundtui.app.screens.summary.screen import SummaryScreen
from roundtui.domain.entries import Visit
from tests.app.folder import DAY, TRAPS, open_session, past, screen_text

Start = Callable[..., RoundtuiApp]


async def test_who_was_told_how_and_when_is_an_entry(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=9) for label in (*TRAPS["A"], *TRAPS["C"])))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("s")
        assert isinstance(app.screen, SummaryScreen)
        await pilot.press("c")
        await pilot.pause()
        assert isinstance(app.screen, CallDialog)
        assert "Fernhollow, 555-0111" in screen_text(app)
        await pilot.press(*["backspace"] * 5, *"visit", "tab", "tab", *["backspace"] * 10, *"June", "enter", "enter")
        assert "write a day" in screen_text(app)
        await pilot.press(*["backspace"] * 4, *"2031-06-04", "enter", "enter")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
    notified = app.session.history.notified
    assert [(one.block, one.status, one.how, one.notified_on.isoformat(), one.by) for one in notified] == [
        ("A", "over", "visit", "2031-06-04", "Ida")
    ]


async def test_telling_can_be_called_off(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("s", "c")
        await pilot.pause()
        await pilot.press("down", "escape")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
    assert app.session.history.notified == ()
