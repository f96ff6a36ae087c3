"""A wrong lure found on the walk: what it changes stands under the field, and after Enter at the next trap."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.walk.screen import WalkScreen
from roundtui.domain.entries import Visit
from roundtui.domain.figures import integrity
from roundtui.errors import StoreError
from tests.app.folder import LAST_WEEK, on_record, open_session, past, screen_text

Start = Callable[..., RoundtuiApp]


def below(app: RoundtuiApp) -> str:
    """The line under the field."""
    assert isinstance(app.screen, WalkScreen)
    return str(app.screen.parts["said"].content).strip()


async def test_what_a_wrong_lure_changes_is_named_before_it_is_recorded_and_at_the_next_trap(
    folder: Path, start: Start
) -> None:
    """A1 holds an OFM lure. Its two readings turn suspect with this one, and 500 moths leave the mean."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "enter", "w", "2")
        assert below(app).startswith("! Wrong since 22 Apr: 2 readings suspect")
        assert on_record(app.session) == {}
        await pilot.press(*"500")
        assert below(app).startswith("! Wrong since 22 Apr: 3 readings suspect; A CM over ")
        assert below(app).endswith(", now unknown")
        assert all(len(line) <= 80 for line in screen_text(app).splitlines())
        await pilot.press("enter")
        shown = screen_text(app)
        assert "Trap A2 " in shown
        assert "! unlikely: 500? 50 would fit; wrong since 22 Apr: 3 suspect" in shown
        (trouble,) = app.session.day_summary().summary.integrity
        assert (trouble.trap, trouble.found, f"{trouble.since}") == ("A1", "OFM", "2031-04-22")
        await pilot.press("0", "enter")
        assert "wrong since" not in screen_text(app)


async def test_a_find_called_off_says_nothing_and_a_second_one_sees_the_first(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "enter", "w", "2", "w")
        assert "Wrong since" not in below(app)
        await pilot.press("w", "2", "1", "enter")
        assert "! wrong since 22 Apr: 3 suspect, A CM now unknown, z fixes it" in screen_text(app)
        await pilot.press("w", "2")
        assert below(app).startswith("! Wrong since 22 Apr: 2 readings suspect")
        await pilot.press("w", "z", "w", "w", "1", "3")
        assert below(app).startswith("! No lure since 22 Apr")


async def test_what_cannot_be_worked_out_does_not_stop_the_hands(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise StoreError("the store is locked by another process")

    monkeypatch.setattr("roundtui.store.figures.found_lures.found_lure", fail)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "enter", "w", "2", "4")
        assert below(app) == "! What this changes is not known yet: the summary will show it"
        await pilot.press("enter")
        assert list(on_record(app.session)) == ["A1"]


async def test_an_ordinary_entry_asks_nothing_of_lures(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("an entry without a find looked at lures")

    monkeypatch.setattr("roundtui.store.figures.found_lures.found_lure", never)
    session = open_session(folder)
    past(session, Visit(trap="B1", read_on=LAST_WEEK, lure_found="OFM"))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "enter", *"4o12lr", "enter", *"xml", "enter")
        assert len(on_record(app.session)) == 2
        assert isinstance(app.screen, WalkScreen)
        assert app.screen.round._finds is None


async def test_a_note_that_is_opened_again_is_changed(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "enter", "4", "n", *"lid", "escape", "n")
        assert "Edit the note" in screen_text(app)
        await pilot.press("backspace", "backspace", *"p", "escape", "enter")
        assert on_record(app.session) == {"A1": "4 n:lip"}


async def test_only_traps_that_may_be_in_trouble_are_followed(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A1 gets the body that was in A2: of all traps these two."""
    followed, examine = [], integrity.examine

    def watched(*of: Any, suspect: set[str] | None = None) -> integrity.Integrity:
        followed.append(suspect)
        found, whole = examine(*of, suspect=suspect), examine(*of)
        assert (found.troubles, found.spells) == (whole.troubles, whole.spells)
        return found

    session = open_session(folder)
    past(session, Visit(trap="A2", read_on=LAST_WEEK, count=3, body="B7"))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("enter", "4", "b", *"B7", "enter")
        monkeypatch.setattr(integrity, "examine", watched)
        await pilot.press("w", "1")
        assert "suspect" in below(app)
    assert followed == [{"A1", "A2"}] * 2
