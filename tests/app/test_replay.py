"""A round replayed in the app: stepping, playing, questions, and corrections that say what they change."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import sleep

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.entry import ChangeDialog
from roundtui.app.dialogs.form import ErrorDialog
from roundtui.app.screens.replay.screen import HistoryScreen, ReplayScreen
from roundtui.app.screens.summary.screen import SummaryScreen
from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.figures.summary import Consequence, summarise
from roundtui.report.round.replay import RoundReplay
from roundtui.store.connect import go_on, open_store
from roundtui.store.figures.history import history
from roundtui.store.figures.learned import learned_by
from roundtui.store.record import journal
from roundtui.store.round import changes
from roundtui.store.round.recounts import open_questions
from roundtui.store.session import Session
from tests.app.folder import DAY, on_record, open_session, past, screen_text
from tests.app.settle import burst

Start = Callable[..., RoundtuiApp]
EIGHT = datetime(2031, 6, 3, 8, tzinfo=UTC)


@pytest.fixture
def walked(folder: Path) -> Path:
    """Today's round of block A: one trap passed over, forty where it should be four."""
    session = open_session(folder)
    for minutes, (trap, count) in enumerate({"A1": 2, "A2": 40, "A4": 3, "A3": 1, "A5": 0}.items()):
        at = EIGHT + timedelta(minutes=minutes)
        journal.record(session.conn, [Visit(trap=trap, read_on=DAY, count=count)], journal.Author("Ida", "truck"), at)
    session.conn.close()
    return folder


def replaying(app: RoundtuiApp) -> ReplayScreen:
    assert isinstance(app.screen, ReplayScreen)
    return app.screen


async def test_stepping_shows_the_record_as_it_stood_and_what_stands_out(walked: Path, start: Start) -> None:
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r")
        shown = screen_text(app)
        assert "entry 1 of 5" in shown
        assert " ▒▒▒░░░░░░░░░░░░░░░│░░░" in shown
        assert "1 of 18 traps" in shown
        assert "was ○ not read A Upper         CM         -" in shown
        assert "new ▽ below    A Upper         CM       2.0  ███░░░░░|      3–5 1/6!     7" in shown
        assert "─ What it changed then, as of Tue 3 Jun  ! few  | high ──" in shown
        await pilot.press("right")
        assert "was ▽ below    A Upper         CM       2.0" in screen_text(app)
        assert "! new: Unlikely count: A2, 40" in screen_text(app)
        await pilot.press("right")
        assert "! order: skipped A3" in screen_text(app)
        assert "by Ida on truck, Tue 3 Jun 2031 08:02:00 UTC, 1 min 0 s after the one before" in screen_text(app)
        await pilot.press("end", "home")
        assert "Before the first entry" in screen_text(app)
        assert "0 of 18 traps" in screen_text(app)
        await pilot.press("g", *"a5", "enter")
        assert "entry 5 of 5" in screen_text(app)
        await pilot.press("pageup")
        assert "Tue 27 May 2031" in screen_text(app).splitlines()[0]
        await pilot.press("pageup", "pageup")
        assert "Tue 20 May 2031" in screen_text(app).splitlines()[0]


async def test_a_round_is_played_from_its_start_to_its_end_and_space_stops_it(walked: Path, start: Start) -> None:
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r")
        screen = replaying(app)
        await pilot.press("space")
        assert "playing" in screen_text(app)
        await pilot.press("space")
        assert screen.playing is None
        screen.pace = 0.01
        await pilot.press("space")
        while screen.playing is not None:
            await pilot.pause()
        assert screen.at == 5


async def test_every_step_is_the_summary_of_what_was_recorded_by_then(walked: Path) -> None:
    session = open_session(walked)
    first = session.visits("A2")[-1]
    past(session, replace(first, count=4, replaces=first.id, reason="misread"), scout="Ben")
    conn = open_store(walked, now=EIGHT)
    replay = RoundReplay(session, conn, "hill", DAY)
    for at in range(len(replay.rows) + 1):
        later = open_session(walked)
        known = {row.id for row in replay.rows[:at]}
        full = history(later.conn, later.programme, DAY, later.office)
        gone = {row.entry.replaces for row in replay.rows[:at]}
        today = {row.id: row.entry for row in replay.rows if row.id in known - gone and isinstance(row.entry, Visit)}
        visits = {
            trap: [one for one in of_trap if one.read_on < DAY] + [one for one in today.values() if one.trap == trap]
            for trap, of_trap in full.visits.items()
        }
        taught = learned_by(later.conn, later.programme, later.office, DAY)
        expected = summarise(
            later.programme, replace(full, visits=visits), later.office, DAY, route="hill", learned=taught
        )
        assert replay.look_up(at, conn).blocks == expected.blocks
        assert replay.look_up(at, conn).unlikely == expected.unlikely
        later.conn.close()
    conn.close()
    session.conn.close()


async def test_a_correction_says_that_it_changes_the_status_before_it_is_accepted(walked: Path, start: Start) -> None:
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "right", "z", "4", "enter", *"smudge", "enter", "enter")
        shown = screen_text(app)
        assert shown.index("40 becomes 4 ") < shown.index("! A CM, Tue 3 Jun: over at 9.2 becomes below at 2.0")
        assert on_record(app.session)["A2"] == "40", "nothing is recorded yet"
        await pilot.press("y")
        await pilot.pause()
        assert "! corrected later by Ida (no. 6) to 4: smudge" in screen_text(app)
        assert [line[:8] for line in screen_text(app).splitlines()[-3:]] == [" Saved: ", " Space p", " ←→ entr"]
        assert on_record(app.session)["A2"] == "4"
        await pilot.press("end", "j")
        *_, marked, said, _, _ = screen_text(app).splitlines()
        assert (marked[:7], said[:8]) == (">   6 0", " j does "), "what is said covers no row"
        await pilot.press("left", "left", "left", "left")
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        (marked,) = (line for line in screen_text(app).splitlines() if line.startswith(">"))
        assert marked.rstrip().endswith("  ! corrected"), "what stands out goes before the name"
        await pilot.resize_terminal(80, 24)
        await pilot.press("h")
        assert isinstance(app.screen, HistoryScreen)
        assert "●2 A2 Tue 3 Jun 4 (corrects 1, Ida, truck" in screen_text(app)
        await pilot.press("escape", "u", *"it was 40", "enter", "enter")
        assert "becomes over at 9.2" in screen_text(app)
        await pilot.press("y")
        await pilot.pause()
        assert on_record(app.session)["A2"] == "40", "the former entry stands again"
        for said in ("40 l r", "40"):
            await pilot.press("end", "z", *said, "enter", *"seen", "enter", "enter")
            shown = screen_text(app)
            await pilot.press("y")
            await pilot.pause()
    lines = [line.strip("┃ ") for line in shown.splitlines() if re.search("becomes|noted|changes", line)]
    assert lines == ["40 l r becomes 40", "! liner and lure will no longer be noted"]


async def test_what_is_said_of_an_entry_is_whole_where_there_is_room(walked: Path, start: Start) -> None:
    session = open_session(walked)
    noted = Visit(trap="A6", read_on=DAY, count=0, note="grower: fresh entries in the fruit on two trees of this row")
    journal.record(session.conn, [noted], journal.Author("Ida", "truck"), EIGHT + timedelta(minutes=9))
    session.conn.close()
    app = start(walked)
    async with app.run_test(size=(60, 20)) as pilot:
        await pilot.press("r", "right", "z", "4", "enter", *"smudges on the old liner", "enter", "enter", "y")
        await pilot.press("q", *"was it wet?", "enter", "enter")
        await pilot.pause()
        shown = screen_text(app)
        assert "h shows all" not in shown
        assert "    liner\n  ! question asked by Ida: was it wet?\n" in shown
        assert "  and 1 more line: s shows all\n" in shown
        assert [line.rpartition("  ")[2] for line in shown.splitlines() if line[0] == ">"] == ["! asked, corrected"]
        await pilot.press("z")
        dialog = " ".join(screen_text(app).replace("┃", " ").split())
        assert "1 A2 Tue 3 Jun 40 (Ida, truck, 03 Jun 08:01)" in dialog, dialog
        assert "because: smudges on the old liner) Trap" in dialog
        assert "As on paper" in dialog
        await pilot.press("escape")
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert " ! asked, corrected\n" in screen_text(app)
        await pilot.resize_terminal(120, 36)
        await pilot.pause()
        rows = [line for line in screen_text(app).splitlines() if " A6 " in line]
        assert [row.partition("grower")[2][:58] for row in rows] == [f"{noted.note[6:]} Ida "]
        await pilot.press("h")
        assert re.search("●2 A2 Tue 3 Jun 4 .*because: smudges on the old liner\\)\n", screen_text(app)), "100 columns"


async def test_what_a_correction_changes_is_looked_up_beside_the_keys_and_escape_stops_it(
    walked: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Save, Save again because nothing seems to happen, then Escape; what was typed stays, and is saved after all."""
    look_up, begun, slow = changes.effects_of, [], [True]

    def slowly(session: Session, change: changes.Change) -> tuple[Consequence, ...]:
        begun.append(change)
        while slow:
            go_on("3 of 40")
            sleep(0.001)
        return look_up(session, change)

    monkeypatch.setattr(changes, "effects_of", slowly)
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "right", "z", "end", "backspace", "backspace", *"4", "enter", *"smudge", "enter")
        form = app.screen
        burst(app, "enter", "enter")
        while "Looking up what it changes … 3 of 40   [Esc] stop" not in screen_text(app):
            await asyncio.sleep(0.001)
        await pilot.press("escape")
        assert app.screen is form
        assert "Save as 4; both stay on record" in screen_text(app)
        assert (len(begun), on_record(app.session)["A2"]) == (1, "40")
        burst(app, "enter", "escape")
        await pilot.pause()
        assert app.screen is form
        slow.clear()
        await pilot.press("enter", "y")
    assert on_record(app.session)["A2"] == "4"


async def test_what_cannot_be_is_refused_in_the_dialog_and_escape_changes_nothing(walked: Path, start: Start) -> None:
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "z", *"4 x m", "enter", *"why", "enter", "enter")
        assert "! " in screen_text(app)
        await pilot.press("shift+tab", "end", *["backspace"] * 5, *"2", "pagedown", "enter")
        assert "that is recorded already" in screen_text(app)
        await pilot.press("escape", "y")
        assert isinstance(app.screen, ReplayScreen)
        await pilot.press("u", "enter", "enter")
        assert isinstance(app.screen, ChangeDialog)
        assert "say why" in screen_text(app)
        await pilot.press("escape")
    assert on_record(app.session)["A1"] == "2"


async def test_a_correction_made_meanwhile_is_the_one_that_is_corrected(walked: Path, start: Start) -> None:
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "right")
        first = app.session.visits("A2")[-1]
        author, noon = journal.Author("Ben", "van"), EIGHT + timedelta(hours=4)
        journal.record(app.session.conn, [replace(first, count=14, replaces=first.id, reason="sheet")], author, noon)
        await pilot.press("z")
        assert "●2 A2 Tue 3 Jun 14 (corrects 1, Ben, van" in screen_text(app)
        await pilot.press("escape")
        journal.withdraw(app.session.conn, app.session.newest_entry("A1").id, "not mine", author, noon)  # type: ignore[union-attr]
        await pilot.press("left", "z")
        assert isinstance(app.screen, ErrorDialog)
        assert "withdrawn and not replaced" in screen_text(app)


async def test_a_question_is_asked_answered_and_closed_and_stands_on_the_desk_meanwhile(
    walked: Path, start: Start
) -> None:
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "right", "q", *"40 or 4 [/]", "enter", "enter")
        await pilot.pause()
        assert "! question asked by Ida: 40 or 4 [/]" in screen_text(app)
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "! A2, 03 Jun: Ida asks: 40 or 4 [/]" in screen_text(app)
        await pilot.press("q")
        assert "entry 2 of 6" in screen_text(app), "the desk leads to the entry"
        await pilot.press("q", *"four", "enter", "enter")
        await pilot.pause()
        assert "answered by Ida: four" in screen_text(app)
        await pilot.press("q", "f5")
        await pilot.pause()
    assert open_questions(app.session.conn) == ()


async def test_the_whole_summary_as_it_was_at_a_step(walked: Path, start: Start) -> None:
    app = start(walked)
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.press("r", "s")
        assert isinstance(app.screen, SummaryScreen)
        shown = screen_text(app)
        assert "PAST: at Tue 3 Jun 2031 08:00:00 UTC" in shown
        assert app.screen.summary.blocks[0].read == 1
        await pilot.press("c")
        assert isinstance(app.screen, SummaryScreen), "nobody is told of the past"
        await pilot.press("d")
        assert "PAST" not in screen_text(app)
        await pilot.press("d", *"2031-06-03T08:02:30Z", "enter")
        await pilot.pause()
        assert next(row for row in app.screen.summary.blocks if row.block == "A").read == 3
        assert "PAST: at Tue 3 Jun 2031 08:02:30 UTC" in screen_text(app)


async def test_where_looking_up_takes_long_the_entry_shows_first(
    walked: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r")
        screen = replaying(app)
        look_up = screen._start_aside
        monkeypatch.setattr(screen, "_start_aside", lambda: None)
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert set(screen.replay.known) == {0, 1, 2, 3, 4}, "what comes next is looked up ahead"
        screen.replay.known.clear()
        await pilot.press("right")
        assert "entry 2 of 5" in screen_text(app)
        assert "Looking up what held then" in screen_text(app)
        look_up()
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "was ▽ below    A Upper " in screen_text(app)


def test_a_correction_that_is_withdrawn_can_give_way_to_what_it_had_replaced(folder: Path) -> None:
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=4, note="as read"))
    first = session.visits("A1")[-1]
    past(session, replace(first, count=14, replaces=first.id, reason="misread"))
    row = changes.standing_row(session, next(one for one in session.chain_of(first.id) if one.id == first.id))
    changes.make(session, changes.withdrawn(session, row, "it was 4", revert=True))
    (stands,) = (visit for visit in session.visits("A1") if visit.read_on == DAY)
    assert (stands.count, stands.note, stands.scout, stands.reason) == (4, "as read", "Ida", "it was 4")
    assert stands.replaces == row.id
    changes.make(session, changes.withdrawn(session, session.chain_of(stands.id)[-1], "not ours", revert=False))
    assert not [visit for visit in session.visits("A1") if visit.read_on == DAY], "nothing comes back by itself"
    session.conn.close()


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_hostile_text_fits_the_screen(folder: Path, start: Start, size: tuple[int, int]) -> None:
    session = open_session(folder)
    name, note = "Ida [/]\x1b[2J\u202e" + "n" * 40, "[red]\x07\u202e" + "x" * 9_000
    past(session, Visit(trap="A1", read_on=DAY, count=4, note=note), scout=name)
    first = session.visits("A1")[-1]
    past(session, replace(first, replaces=first.id, reason="=1+1 [/]\n" + "y" * 9_000), scout=name)
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=size) as pilot:
        for keys in (["r"], ["right"], ["c"], ["escape", "q"], ["escape", "h"]):
            await pilot.press(*keys)
            shown = screen_text(app)
            assert "\x1b" not in shown
            assert "\u202e" not in shown
            assert len(shown.splitlines()) == size[1]
            assert not app.screen.show_horizontal_scrollbar


async def test_a_route_nobody_has_walked_says_so(tmp_path: Path, start: Start) -> None:
    from tests.app.folder import write_folder

    app = start(write_folder(tmp_path / "farm"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "right", "space", "z", "q", "u", "s", "h", "pageup", "pagedown")
        assert "No entries of this route in these days" in screen_text(app)
        assert isinstance(app.screen, ReplayScreen)


async def test_a_farm_that_was_closed_is_one_entry_and_is_withdrawn_in_one_act(walked: Path, start: Start) -> None:
    session = open_session(walked)
    closed = [Visit(trap=trap, read_on=DAY, no_reading=NoReading.CLOSED) for trap in ("A6", "B1", "B2")]
    journal.record(session.conn, closed, journal.Author("Ida", "truck"), EIGHT + timedelta(minutes=9))
    session.conn.close()
    app = start(walked)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r", "end")
        shown = screen_text(app)
        assert "entry 6 of 6" in shown
        assert " A6     xc A6, B1, B2" in shown
        assert "8 of 18 traps" in shown
        await pilot.press("g", *"B2", "enter", "u", *"it was open", "enter", "enter", "y")
        await pilot.pause()
        shown = screen_text(app)
        assert "entry 6 of 7" in shown
        assert "withdraws 6" in shown
    assert set(on_record(app.session)) == {"A1", "A2", "A3", "A4", "A5"}
