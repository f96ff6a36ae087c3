"""A table brought in at the keys: what it was read as stands there before anything is written."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.store.begin import Beginning, begin
from roundtui.store.bring.bring import BringDesk, Brought
from tests.app.folder import screen_text

Start = Callable[..., RoundtuiApp]


async def test_a_table_is_shown_asked_about_and_written_once_it_is_told_to(folder: Path, start: Start) -> None:
    """An order of days that nothing proves, a mark nobody knows, a trap nobody hung; then a key and a yes."""
    table = folder / "may.csv"
    table.write_text("Trap;Date;Count\nA1;5/2/2031;30\nA2;5/2/2031;weg\nA3;5/2/2031;??\nZ9;5/2/2031;1\n")
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("b", *"nowhere.csv", "enter")
        assert "there is no file nowhere.csv" in screen_text(app)
        await pilot.press("ctrl+u", *"may.csv", "enter", "c", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "day or month first? Enter answers." in screen_text(app)
        await pilot.press("enter", "3", "enter")
        assert "Write the number before an answer" in screen_text(app)
        await pilot.press("ctrl+u", "2", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "What does ?? stand for" in screen_text(app)
        await pilot.press("enter", "1", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        shown = screen_text(app)
        assert "weg (1): missing" in shown
        assert "A2    2031-05-02         missing" in shown
        assert "'Z9' is no trap that is set up" in shown
        assert "Nothing is written yet. Enter writes 2 rows." in shown
        await pilot.press("enter", "escape")
        assert all(one.count != 30 for one in app.session.visits("A1"))
        await pilot.press("enter", "y")
        await app.workers.wait_for_complete()
        await pilot.pause()
        shown = screen_text(app)
        assert "2 added; f brings another" in shown
        assert "! Left out:" in shown, "what was left out is still said, so that it can be brought later"
        assert "'Z9' is no trap that is set up" in shown
        await pilot.press("f")
        assert "may.csv" in screen_text(app), "the same file again is Enter"
        await pilot.press("escape")
        await pilot.press("escape")
        assert [str(one.read_on) for one in app.session.visits("A1") if one.count == 30] == ["2031-05-02"]


async def test_escape_stops_what_is_being_written(folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "may.csv").write_text("Trap;Date;Count\nA1;2031-05-02;30\nA2;2031-05-02;4\n")
    app, write = start(folder), BringDesk.write

    def slow(desk: BringDesk, progress: Callable[[int], None]) -> Brought:
        def tell(done: int) -> None:
            app.call_from_thread(app.screen.run_action, "back")
            progress(done)

        return write(desk, tell)

    monkeypatch.setattr(BringDesk, "write", slow)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("b", *"may.csv", "enter", "c", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        await pilot.press("enter", "y")
        await pilot.pause(0.1)
        assert "you stopped it" in screen_text(app)
        await pilot.press("escape")
        assert "Nothing was written" in screen_text(app)
        assert all(one.count != 30 for one in app.session.visits("A1"))


async def test_a_programme_that_has_just_begun_is_led_to_its_first_round(tmp_path: Path, start: Start) -> None:
    """The desk names one step at a time; Enter opens the register there, b brings a table of it."""
    begin(tmp_path / "valley", Beginning(farms=[("HF", "Hollow Farm (invented)")]), datetime(2031, 6, 3, tzinfo=UTC))
    app = start(tmp_path / "valley")
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Next: blocks." in screen_text(app)
        (tmp_path / "fields.csv").write_text("Block,Farm,Name,Crop,Acres\nN1,HF,North,apple,4.5\n")
        await pilot.press("b", *"../fields.csv", "enter", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "1 row: 1 new" in screen_text(app)
        assert "1.82108539" in screen_text(app), "4.5 international acres of 0.40468564224 ha (NIST SP 811)"
        await pilot.press("enter", "y")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Next: traps, each a label, its block" in screen_text(app)
        assert "1 row added; f brings traps" in screen_text(app)
        await pilot.press("escape", "enter")
        assert "[1 Traps]" in screen_text(app), "Enter at the desk opens the register at the next step"
        await pilot.press("a", *"T01..T24", "enter", *"N1", "enter", *"cm", "tab", "tab", "tab", "tab")
        await pilot.press("ctrl+u", *"2031-05-27", "pagedown", "enter", "escape")
        assert "> routes" in screen_text(app)
        await pilot.press("e", "a", *"home", "enter", *"T01..T24", "pagedown", "enter", "escape")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "home" in screen_text(app)
        assert "due        24 traps" in screen_text(app)
        await pilot.press("enter")
        assert "T01" in screen_text(app)
        assert "of 24" in screen_text(app)
