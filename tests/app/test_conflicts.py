"""Conflicts in the app: side by side, with what each choice would change, settled by one key."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.conflicts.screen import ConflictsScreen
from roundtui.domain.entries import Visit
from roundtui.store.record.read import journal_rows
from roundtui.store.round.conflicts import open_conflicts
from tests.app.folder import DAY, TRAPS, on_record, open_session, past, reads_slowly, screen_text
from tests.app.settle import burst

Start = Callable[..., RoundtuiApp]


def two_readings(folder: Path) -> None:
    """Block A was read by Ida, A1 by Ben as well; with his count the block is over."""
    session = open_session(folder)
    past(session, *(Visit(trap=trap, read_on=DAY, count=4) for trap in TRAPS["A"]))
    past(session, Visit(trap="A1", read_on=DAY, count=12, note="[/] half under leaves"), scout="Ben")
    session.conn.close()


async def test_two_readings_are_shown_side_by_side_and_settled_by_one_key_and_yes(folder: Path, start: Start) -> None:
    two_readings(folder)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "two counts of one trap on one day" in screen_text(app)
        await pilot.press("m", "o")
        assert isinstance(app.screen, ConflictsScreen)
        said: list[str] = []
        put = app.screen.put
        app.screen.put = lambda part, words: (put(part, words), said.append(str(words)))  # type: ignore[assignment, func-returns-value]
        app.screen.say("")
        assert any("Working out what each choice would change" in words for words in said), "shown before it is tried"
        app.screen._choose(2)
        assert isinstance(app.screen, ConflictsScreen), "a key of the moment before chooses nothing"
        await pilot.pause()
        shown = screen_text(app)
        assert "> A1, Tue 3 Jun: two counts of one trap on one day" in shown
        assert "[1] keeps this" in shown
        assert "12 n:[/] half under leaves" in shown
        assert "12 moths, “[/] half under leaves”" in shown
        assert "by Ben, laptop truck" in shown
        assert "Before: 0 on 27 May, 0 on 20 May" in shown
        assert "! A CM, status  4.0 within  same  5.3 over" in shown
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        narrow = screen_text(app)
        assert "[1]   [2]       [x] none" in narrow, "each choice has its column"
        assert "! A CM, status" in narrow, "what a row is about is whole"
        assert "←→ the others" in narrow
        assert "Tab" not in narrow, "set-up rows agree"
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        await pilot.press("2", "y")
        await pilot.pause()
        assert "No conflict is open" in screen_text(app)
        assert open_conflicts(app.session.conn, app.session.programme) == ()
    assert on_record(app.session)["A1"] == "12 n:[/] half under leaves"
    settled = [row.entry for row in journal_rows(app.session.conn, DAY, DAY, {"A1"}) if row.entry.reason == "settled"]
    assert [entry.scout for entry in settled] == ["Ida", "Ida"]


async def test_the_other_count_can_be_kept_as_a_second_sample(folder: Path, start: Start) -> None:
    two_readings(folder)
    app = start(folder)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("m", "o", "right")
        shown = screen_text(app)
        assert "kept as recounts" in shown
        assert "─ A, catch of the week to Tue 3 Jun; · not read ─" in shown, (
            "a high terminal shows what hangs around it"
        )
        await pilot.press("9", "1", "y")
        await pilot.pause()
    assert on_record(app.session)["A1"] == "4 + 12 n:[/] half under leaves"
    assert [visit.recount for visit in app.session.visits("A1") if visit.read_on == DAY] == [False, True]


async def test_two_corrections_show_what_they_corrected_and_none_need_hold(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=40))
    first = session.visits("A1")[-1]
    past(session, replace(first, count=14, replaces=first.id, reason="smudge"))
    second = replace(first, count=4, replaces=None)
    past(session, replace(second, read_on=DAY - timedelta(days=1)), scout="Ben")
    # As another laptop's correction of the same entry comes with a bundle: it names what was corrected here already.
    session.conn.execute("DROP TRIGGER visits_no_update")
    session.conn.execute(
        "UPDATE visits SET replaces = ?, reason = 'sheet', digest = zeroblob(32) WHERE scout = 'Ben'", (first.id,)
    )
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("m", "o")
        shown = screen_text(app)
        assert "two corrections of one entry" in shown
        assert "corrects 40 by Ida" in shown
        assert "because: smudge" in shown
        await pilot.press("x", "y")
        await pilot.pause()
        assert "No conflict is open" in screen_text(app)
    assert "A1" not in on_record(app.session)


async def test_an_open_conflict_is_left_alone_by_other_keys(folder: Path, start: Start) -> None:
    two_readings(folder)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("m", "o", "3", "0", "down", "up", "enter", "2", "enter", "escape", "escape")
        assert not isinstance(app.screen, ConflictsScreen)
    assert len(open_conflicts(app.session.conn, app.session.programme)) == 1


async def test_two_corrections_that_moved_one_entry_to_two_traps_stand_on_the_desk(folder: Path, start: Start) -> None:
    """Each trap has one count, so the summary lists no conflict; the desk names both traps."""
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=40))
    first = session.visits("A1")[-1]
    past(session, replace(first, trap="A2", replaces=first.id, reason="wrong tree"))
    past(session, replace(first, trap="A3", replaces=None), scout="Ben")
    # As another laptop's correction of the same entry comes with a bundle: it names what was corrected here already.
    session.conn.execute("DROP TRIGGER visits_no_update")
    session.conn.execute(
        "UPDATE visits SET replaces = ?, reason = 'sheet', digest = zeroblob(32) WHERE scout = 'Ben'", (first.id,)
    )
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        shown = screen_text(app)
        assert "! A2 and A3, Tue 3 Jun: two corrections of one entry" in shown


async def test_of_many_traps_the_record_is_read_beside_the_keys_once_a_conflict_is_settled(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    two_readings(folder)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("m", "o")
        await pilot.pause()
        await pilot.press("2")
        slow = reads_slowly(monkeypatch)
        burst(app, "y")
        while "Reading what is on record" not in screen_text(app):
            await asyncio.sleep(0.001)
        slow.clear()
        await pilot.pause()
        assert "No conflict is open" in screen_text(app)
        assert "Settled by Ida: A1, Tue 3 Jun, 2 is kept" in screen_text(app)
        slow.append(True)
        app.session.forget()
        await pilot.press("escape")
        burst(app, "m", "o")
        while "Reading what is on record" not in screen_text(app):
            await asyncio.sleep(0.001)
        burst(app, "escape")
        while isinstance(app.screen, ConflictsScreen):
            await asyncio.sleep(0.001)
        slow.clear()
