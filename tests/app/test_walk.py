"""The count loop: what each key does on the screen and in the store."""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from textual import events
from textual.pilot import Pilot

from roundtui.app import count_screen
from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.form import ErrorDialog
from roundtui.app.dialogs.season import TreatmentDialog
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.screens.help.screen import HelpScreen
from roundtui.app.screens.sample.screen import SampleScreen
from roundtui.app.screens.summary.screen import SummaryScreen
from roundtui.app.screens.walk.screen import WalkScreen
from roundtui.app.screens.walk.view import toggles
from roundtui.app.widgets.board import listed
from roundtui.app.widgets.count_input import CountInput
from roundtui.domain.entries import StageSeen, Visit
from roundtui.domain.round.entry import Asked, begin
from roundtui.domain.round.walk import DueItem
from roundtui.domain.text import spoken_day
from roundtui.errors import StoreError
from roundtui.store.figures import learned as learned_store
from roundtui.store.record import journal
from roundtui.store.record.read import JournalRow, journal_rows
from roundtui.store.round.enter import enter_tally
from tests.app.folder import DAY, ORDER, Ticks, on_record, open_session, past, reads_slowly, screen_text, write_folder
from tests.app.settle import burst

Start = Callable[..., RoundtuiApp]


@asynccontextmanager
async def walking(app: RoundtuiApp) -> AsyncIterator[Pilot[int]]:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        assert isinstance(app.screen, WalkScreen)
        yield pilot


async def test_blank_is_not_zero_and_a_held_enter_records_nothing(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press(*["enter"] * 8)
        assert "Blank is not zero" in screen_text(app)
        assert on_record(app.session) == {}
        await pilot.press("0", "enter", "enter", "enter")
        assert on_record(app.session) == {"A1": "0"}
        assert "Trap A2 " in screen_text(app)


async def test_what_is_always_in_sight(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("enter", "4", "l", "enter")
        shown = screen_text(app)
        for words in (
            "Round hill",
            "Tue 3 Jun 2031",
            "trap 2 of 18, none missed",
            "16 more: A3",
            "Last saved: A1  4, liner",
            "Last readings",
        ):
            assert words in shown
        assert "Last readings  20 May 27 May" in shown
        assert "moths             0      0" in shown or "moths             1      1" in shown


async def test_enter_that_comes_with_the_opening_is_dropped_and_says_so(folder: Path, start: Start) -> None:
    ticks = Ticks()
    ticks.step = 0.05
    app = start(folder, ticks=ticks)
    async with walking(app) as pilot:
        await pilot.press("enter")
        assert "came too soon after opening and was dropped" in screen_text(app)
        assert "> Fruit stage" in screen_text(app)
        ticks.step = 1.0
        await pilot.press("enter")
        assert "seen, unchanged" in screen_text(app)


async def test_an_unlikely_count_is_recorded_and_named_at_the_next_trap(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("0", "enter", *"99", "enter")
        assert on_record(app.session) == {"A1": "0", "A2": "99"}
        assert "! unlikely: 99? 9 would fit" in screen_text(app)
        assert "^" not in screen_text(app)
        await pilot.press("z")
        (over,) = (line.split() for line in screen_text(app).splitlines() if "^" in line)
        assert over == ["^", "off", "scale", "^"], "the mark of a column says what it means"


async def test_z_sets_the_last_entry_right_and_both_stay_on_record(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press(*"41l", "enter", "z")
        shown = screen_text(app)
        assert "Trap A1 " in shown
        assert "was: 41, liner" in shown
        await pilot.press("enter")
        assert "Nothing changed" in screen_text(app)
        await pilot.press("4", "enter")
        shown = screen_text(app)
        assert "Trap A2 " in shown
        assert "Last saved: A1  4, liner, was 41" in shown
        rows = [row for row in journal_rows(app.session.conn, DAY, DAY) if row.kind == "visit"]
        assert [(row.entry.count, row.present) for row in rows] == [(41, False), (4, True)]
        assert rows[1].entry.replaces == rows[0].id
        assert rows[1].entry.reason


async def test_z_and_z_again_goes_one_further_back_and_escape_goes_on(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("z")
        assert "Nothing recorded in this round yet" in screen_text(app)
        await pilot.press("1", "enter", "2", "enter", "z", "z")
        assert "was: 1" in screen_text(app)
        await pilot.press("escape")
        assert "Trap A3 " in screen_text(app)


async def test_looking_at_a_neighbour_drops_what_was_typed_with_a_word(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("1", "enter", *"77", "down")
        shown = screen_text(app)
        assert "Trap A3 " in shown
        assert "A2: 77 dropped, not saved" in shown
        await pilot.press("enter")
        assert "Nothing recorded" in screen_text(app) or "Blank" in screen_text(app)
        await pilot.press("up", "up")
        assert "on record: 1" in screen_text(app)
        await pilot.press("enter")
        assert "NumLock is off" in screen_text(app)
        await pilot.press("escape")
        assert "Trap A2 " in screen_text(app)
        assert on_record(app.session) == {"A1": "1"}


async def test_a_trap_read_already_is_offered_as_a_correction(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("1", "enter", "up", *"15", "enter")
        assert "read already: z makes this a correction" in screen_text(app)
        await pilot.press("z", "enter")
        assert on_record(app.session) == {"A1": "15"}
        assert "Trap A2 " in screen_text(app)


async def test_going_to_a_label_and_back_to_what_was_passed_over(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("g", *"c6", "enter")
        assert "Trap C6 " in screen_text(app)
        await pilot.press("5", "enter")
        shown = screen_text(app)
        assert "Trap A1 " in shown
        assert "Back to a trap that was skipped" in shown
        await pilot.press("g", *"zz", "enter")
        assert "No trap zz" in screen_text(app)


async def test_the_entry_check_stands_there_on_entering_a_farm_and_costs_no_key(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        assert "! Has the entry interval been checked with the grower?" in screen_text(app)
        await pilot.press("1", "enter")
        assert "Has the entry interval" not in screen_text(app)
        await pilot.press("g", *"C1", "enter")
        assert "Has the entry interval" in screen_text(app)


async def test_a_block_not_to_be_entered_yet_says_so_at_each_of_its_traps(tmp_path: Path, start: Start) -> None:
    blocks = [{"block": b, "farm": "F1", "name": b, "crop": "apple", "no_entry_before": "2031-06-05"} for b in "ABC"]
    app = start(write_folder(tmp_path / "farm", blocks=blocks))
    async with walking(app) as pilot:
        await pilot.press("1", "enter")
        assert "! NO ENTRY before Thu 5 Jun into block A" in screen_text(app)


async def test_a_round_left_half_way_goes_on_where_it_stopped_up_to_six_days_later(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=1) for label in ("A1", "A2", "A3")))
    session.conn.close()
    for days in (0, 1, 6):
        app = start(folder, on=DAY + timedelta(days=days))
        async with walking(app) as pilot:
            shown = screen_text(app)
            assert "Trap A4 " in shown
            assert "Last saved: A3  1" in shown
            assert spoken_day(DAY + timedelta(days=days), DAY) in shown
            if days == 6:
                await pilot.press("2", "enter")
    assert on_record(app.session, DAY + timedelta(days=6)) == {"A4": "2"}
    app = start(folder, on=DAY + timedelta(days=13))
    async with walking(app):
        assert "Trap A1 " in screen_text(app)


async def test_stage_is_asked_once_a_block_and_a_digit_leaves_it_unlooked_at(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("4")
        assert "not checked" in screen_text(app)
        await pilot.press("enter")
        assert "> Fruit stage" not in screen_text(app)
        await pilot.press("g", *"B1", "enter", "down", "enter", "1", "enter")
    entries = [row.entry for row in journal_rows(app.session.conn, DAY, DAY)]
    assert [(seen.block, seen.code, seen.unchanged) for seen in entries if isinstance(seen, StageSeen)] == [
        ("B", "72", False)
    ]


@pytest.mark.parametrize("keys", [["ctrl+q"], ["down"], ["g", "b", "1", "enter"]])
async def test_a_stage_taken_is_on_record_whatever_comes_next(folder: Path, start: Start, keys: list[str]) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("enter", *keys)
    assert [(row.block, row.entry.code) for row in stages(app)] == [("A", "71")]


async def test_a_held_enter_takes_no_stage_and_says_so(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The moment that a first Enter waits is of a real clock, and on a busy machine it passes between two keys.
    monkeypatch.setattr(count_screen, "HELD_SECONDS", 60)
    ticks = Ticks()
    app = start(folder, ticks=ticks)
    async with walking(app) as pilot:
        await pilot.press("g", *"A6", "enter", "1")
        await pilot.press("enter")
        ticks.step = 0.5
        await pilot.press("g", *"B1", "enter", "enter")
        ticks.step = 0.04
        await pilot.press(*["enter"] * 20)
        assert "Enter is held" in screen_text(app)
        assert "> Fruit stage" in screen_text(app)
        assert stages(app) == []
        ticks.step = 0.08
        await pilot.press("x", "escape", "g", *"B1", "enter", "enter", "4", "enter")
        assert [row.block for row in stages(app)] == ["B"], "typed ahead, it is meant"
        assert on_record(app.session) == {"A6": "1", "B1": "4"}


async def test_a_stage_that_cannot_be_recorded_is_asked_again(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = start(folder)

    def fail(*_: object) -> None:
        raise StoreError("the disk is full", "make room, then press Enter again")

    async with walking(app) as pilot:
        with monkeypatch.context() as patched:
            patched.setattr(journal, "record", fail)
            await pilot.press("enter")
            assert "Stage 71 is not recorded" in screen_text(app)
            await pilot.press("enter")
        assert "> Fruit stage" in screen_text(app)
        await pilot.press("enter")
        assert [row.block for row in stages(app)] == ["A"]


async def test_a_stage_is_still_asked_when_another_trap_of_the_block_was_read_first(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=1))
    session.conn.close()
    app = start(folder)
    async with walking(app):
        assert "Trap A2 " in screen_text(app)
        assert "> Fruit stage" in screen_text(app)


def stages(app: RoundtuiApp) -> list[JournalRow]:
    return [row for row in journal_rows(app.session.conn, DAY, DAY) if row.kind == "stage"]


async def test_a_second_scout_on_the_day_is_recorded_as_a_second_reading(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=3), scout="Ben")
    session.conn.close()
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("g", *"A1", "enter")
        assert "! read today by Ben: 3" in screen_text(app)
        await pilot.press("5", "enter", "enter")
        assert "A1 was read today by Ben: 3. Save 5 as well?" in screen_text(app)
        assert on_record(app.session)["A1"] == "3", "Enter alone is no yes"
        await pilot.press("y")
    assert on_record(app.session)["A1"] == "3 + 5"


async def test_somebody_else_s_count_of_today_is_fixed_and_its_recount_is_no_second_catch(
    folder: Path, start: Start
) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=3) for label in ("A1", "A2")), scout="Ben")
    session.conn.close()
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("g", *"A1", "enter", "z")
        assert "Correcting A1, read by Ben" in screen_text(app)
        await pilot.press("4", "enter", "g", *"A2", "enter", "m", "1", "5", "enter")
        await pilot.press("z")
        assert "Correcting A2: type the right value" in screen_text(app), "the recount was recorded last"
        await pilot.press("6", "enter", "g", *"A2", "enter")
        assert "on record: 6, recount" in screen_text(app)
    assert on_record(app.session) == {"A1": "4", "A2": "3 + 6"}
    assert [visit.recount for visit in app.session.visits("A2") if visit.read_on == DAY] == [False, True]


def test_a_recount_far_off_is_marked_as_any_count_is(folder: Path) -> None:
    session = open_session(folder)
    slips = {}
    for trap, count, again in (("A1", 2, 900), ("A2", 900, 2)):
        first, second = (
            session.record([Visit(trap=trap, read_on=DAY, count=number, recount=recount)])[0]
            for number, recount in ((count, False), (again, True))
        )
        slips[trap] = bool(session.slip(first)), bool(session.slip(second))
    assert slips == {"A1": (False, True), "A2": (True, False)}
    session.conn.close()


def test_walk_and_summary_say_the_same_of_a_count(folder: Path) -> None:
    """What others caught counts as it was read: neither with a lure that turns out to be wrong, nor what came later."""
    session, said = open_session(folder), []
    counts = {"A1": 9, "A2": {"count": 8, "lure_found": "OFM"}, "A3": 3, "A4": 400, "A5": 2, "A6": 90}
    for trap, one in counts.items():
        entry = one if isinstance(one, dict) else {"count": one}
        said.append(session.record([Visit(trap=trap, read_on=DAY, **entry)])[0])
        session.slip(said[-1])
    walked = {one.trap: words for one in said if (words := session.slip(one))}
    found = session.day_summary().summary.unlikely
    assert walked == {one.trap: one.slip.words(one.count) for one in found if one.slip}
    assert walked.keys() == {"A1", "A4"}
    session.conn.close()


async def test_a_round_under_way_is_gone_on_with_by_its_own_scout(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=3), scout="Ben Longname Underwood")
    session.conn.close()
    app = start(folder, scout="")
    async with walking(app) as pilot:
        assert "Going on as Ben Longname Underwood, who walks this round" in screen_text(app)
        await pilot.press("4", "enter", "f6", *["backspace"] * 30, *"Ida", "enter")
        assert screen_text(app).splitlines()[0].endswith("Ida")
        await pilot.press("5", "enter")
        newest = [app.session.visits(label)[-1] for label in ("A2", "A3")]
        assert [(visit.count, visit.scout) for visit in newest] == [(4, "Ben Longname Underwood"), (5, "Ida")]


async def test_a_tally_file_is_no_round_that_its_scout_walks(folder: Path, start: Start, tmp_path: Path) -> None:
    session = open_session(folder)
    file = tmp_path / "tally.csv"
    file.write_text(f"trap,read_on,count\nA1,{DAY},3\nA2,{DAY},0\n", encoding="utf-8")
    enter_tally(session.conn, file, journal.Author("Ben", "truck"), session.clock(), DAY)
    session.name_scout("Ida")
    session.conn.close()
    app = start(folder, scout="")
    async with walking(app) as pilot:
        assert "Going on as" not in screen_text(app)
        await pilot.press("4", "enter")
        assert app.session.visits("A3")[-1].scout == "Ida"


@pytest.mark.parametrize("words", ["the store is locked by another process", "the disk is full"])
async def test_when_recording_fails_the_entry_stays_in_the_field(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch, words: str
) -> None:
    app = start(folder)

    def fail(*_: object) -> None:
        raise StoreError(words, "close the other window, then press Enter again")

    async with walking(app) as pilot:
        await pilot.press(*"4l")
        with monkeypatch.context() as patched:
            patched.setattr(journal, "record", fail)
            await pilot.press("enter")
            assert isinstance(app.screen, ErrorDialog)
            assert words in screen_text(app)
            await pilot.press("7", "enter", "9", "enter")
            assert isinstance(app.screen, ErrorDialog), "Enter behind something typed is meant for a trap"
            assert "9 was typed here and is not saved" in screen_text(app)
            await pilot.press("enter")
        shown = screen_text(app)
        assert "Trap A1 " in shown
        assert "[x] l liner" in shown
        await pilot.press("enter")
        assert on_record(app.session) == {"A1": "4 l"}


async def test_keys_typed_ahead_of_a_refusal_reach_no_entry(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """2, 4 and 7 typed without a look at the screen were 247 at the first trap."""
    app = start(folder)

    def fail(*_: object) -> None:
        raise StoreError("the disk is full", "make room")

    async with walking(app) as pilot:
        with monkeypatch.context() as patched:
            patched.setattr(journal, "record", fail)
            field = app.screen.query_one(CountInput)
            for key in ("2", "enter", "4", "enter", "7", "enter"):
                field.post_message(events.Key(key, key if key.isdigit() else None))
            await pilot.pause()
            assert isinstance(app.screen, ErrorDialog)
            await pilot.press("escape")
            assert "Not saved. It is still here" in screen_text(app)
            assert field.value == "2"
        await pilot.press("1", "2", "enter")
        assert on_record(app.session) == {"A1": "12"}


async def test_only_the_impossible_is_refused_and_the_entry_stays(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("x", "m", "e", "enter")
        assert "An estimate without a count" in screen_text(app)
        assert on_record(app.session) == {}


async def test_a_reason_is_cancelled_by_escape_and_no_count_typed_behind_it_records_it(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("x", "f", "5", "enter")
        assert "Not read (closed) and a count: Backspace until one is left" in screen_text(app)
        await pilot.press("backspace", "escape")
        assert "Reason cancelled" in screen_text(app)
        assert on_record(app.session) == {}
        await pilot.press("5", "enter")
        assert on_record(app.session) == {"A1": "5"}


async def test_escape_goes_back_one_step_and_never_loses_a_count_at_once(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("4", "escape")
        assert "Escape again goes back" in screen_text(app)
        await pilot.press("l", "enter")
        assert on_record(app.session) == {"A1": "4 l"}
        await pilot.press("escape")
        assert isinstance(app.screen, DeskScreen)
        assert "under way  1 of 18" in screen_text(app)


async def test_help_and_summary_come_on_top_and_what_was_typed_stays(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("4", "question_mark")
        assert isinstance(app.screen, HelpScreen)
        await pilot.press("escape", "f1")
        assert isinstance(app.screen, HelpScreen)
        await pilot.press("escape", "s")
        assert isinstance(app.screen, SummaryScreen)
        await pilot.press("escape", "enter")
        assert on_record(app.session) == {"A1": "4"}


async def test_a_note_takes_every_letter_and_pasted_text_is_no_count(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        walk = app.screen
        assert isinstance(walk, WalkScreen)
        from textual.events import Paste

        walk.count.post_message(Paste("12\n13"))
        await pilot.pause()
        assert "Pasting is off here" in screen_text(app)
        await pilot.press("4", "n", *"Lx", "space", "0", "home", "?", "end", "backspace", "z", "enter")
        assert on_record(app.session) == {"A1": "4 n:?Lx z"}


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_text_from_people_is_shown_and_does_nothing(tmp_path: Path, start: Start, size: tuple[int, int]) -> None:
    nasty = "[red]x[/] \u202eevil\x1b[2J" + "=SUM(1)" * 1500
    folder = write_folder(
        tmp_path / "farm",
        farms=[{"farm": "F1", "name": "[/] \u202eFarm", "grower": nasty, "phone": "[1]"}],
        blocks=[{"block": b, "farm": "F1", "name": "[/]", "crop": "[bold]"} for b in "ABC"],
        routes=[{"route": "[/]", "position": 1, "trap": "A1"}],
    )
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY - timedelta(days=7), count=1, note=nasty), scout="[/]\u202e")
    session.conn.close()
    app = start(folder, scout="[b]\u202e")
    async with app.run_test(size=size) as pilot:
        shown = screen_text(app)
        await pilot.press("enter")
        shown += screen_text(app)
        await pilot.press("4", "n", *"[/x]", "enter")
        shown += screen_text(app)
        await pilot.press("enter")
        await pilot.pause()
        shown += screen_text(app)
    assert "[/]" in shown
    assert not {"\u202e", "\x1b"} & set(shown)
    assert on_record(app.session)["A1"] == "4 n:[/x]"


async def test_the_lot_is_named_and_the_one_used_last_in_the_round_goes_on(tmp_path: Path, start: Start) -> None:
    lots = [{"lot": lot, "species": species} for lot, species in (("CM1", "CM"), ("CM2", "CM"), ("OFM1", "OFM"))]
    app = start(write_folder(tmp_path / "farm", lures=lots))
    async with walking(app) as pilot:
        await pilot.press("4", "r")
        assert "Lure in: lot CM1, CM, in the trap now" in screen_text(app)
        await pilot.press("r", "m", "4", "2", "enter")
        assert on_record(app.session) == {"A1": "4 r:CM2"}
        await pilot.press("r", "1", "6", "enter")
        assert on_record(app.session)["A2"] == "16 r:CM2"
        await pilot.press("m", "4", "up", "down", "down", "down", "down")
        assert "A3 counts as wrong lure from this day" in screen_text(app)


async def test_what_another_process_corrected_meanwhile_is_said_and_nothing_is_lost(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("4", "enter", "z", "5")
        old = app.session.visits("A1")[-1]
        past(app.session, replace(old, count=6, id="", replaces=old.id, reason="office"), scout="Ida")
        await pilot.press("enter")
        assert "Ida has read this trap that day: 6 moths" in screen_text(app)
        await pilot.press("escape", "z")
        assert "was: 6" in screen_text(app)
        await pilot.press("7", "enter")
        assert on_record(app.session) == {"A1": "7"}


async def test_the_palette_lists_the_keys_of_the_round_and_does_what_they_do(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("4")
        commands = {command.title: command for command in app.get_system_commands(app.screen)}
        assert {"Liner", "Not read, missing", "Fix last", "Keys", "Leave"} <= set(commands)
        assert not {"Back", "Up", "Down"} & set(commands), "no line is lost to what every screen has"
        assert {"Recount", "Season plan", "Letters", "A2: trap", "A Upper: block", "F1 Fernhollow: farm"} <= set(
            commands
        )
        assert not commands["A2: trap"].discover, "found by its label, and in no list"
        commands["Liner"].callback()
        await pilot.pause()
        await pilot.press("enter")
        assert on_record(app.session) == {"A1": "4 l"}
        await pilot.press("ctrl+p", *"B3: trap")
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.press("down", "enter")
        await pilot.pause()
        assert "Trap B3 " in screen_text(app)
        assert isinstance(app.screen, WalkScreen)


async def test_the_foot_promises_no_reason_while_a_count_is_typed(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("7", "x")
        assert "x not read" not in screen_text(app)
        assert "Backspace the 7 first" in screen_text(app)
        await pilot.press("backspace")
        assert "x not read" in screen_text(app)
        await pilot.press("x")
        assert "s 1 skipped" in screen_text(app)


async def test_every_flag_is_in_sight_at_eighty_columns(folder: Path, start: Start) -> None:
    """A flag that nobody sees is a flag that nobody can withdraw."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", *"3ckeo3lr")
        shown = " ".join(screen_text(app).split())
        for words in (
            "[x] e estimate",
            "[x] c not cleared",
            "[x] l liner",
            "[x] r lure",
            "[x] k kill strip",
            "[x] o others",
        ):
            assert words in shown, f"{words} is not in sight:\n{screen_text(app)}"


async def test_a_block_without_a_stage_on_record_says_so_and_not_what_enter_would_take(
    tmp_path: Path, start: Start
) -> None:
    app = start(write_folder(tmp_path / "new"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter")
        assert "No stage on record yet" in screen_text(app)
        assert "seen, as shown" not in screen_text(app)


async def test_a_round_that_is_done_names_the_blocks_over_by_the_number_that_their_rule_looks_at(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    past(app.session, *(Visit(trap=label, read_on=DAY, count=5 * label.startswith("A")) for label in ORDER[:-1]))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "escape", "2", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "  ▲ over: A CM 5.0; no count is unlikely" in screen_text(app)
        await pilot.press("z", "0", "enter")
        assert "The round is done." in screen_text(app)
        assert "▲ over: A CM 5.0" in screen_text(app)


async def test_after_the_last_trap_a_sample_and_a_treatment_are_still_those_of_its_block(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    past(app.session, *(Visit(trap=label, read_on=DAY, count=0) for label in ORDER[:-1]))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "escape", "2", "enter")
        assert "The round is done." in screen_text(app)
        for size in ((80, 24), (60, 20)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            assert re.search(r"A1 +CM +0 +B\d +CM +0\n", screen_text(app)), "no count is cut"
            assert all(f"   {label:<6} CM" in screen_text(app) for label in ORDER), "and no trap is left out"
        await pilot.press("t")
        await pilot.pause()
        assert isinstance(app.screen, TreatmentDialog)
        shown = " ".join(re.sub("[┃│]", " ", screen_text(app)).split())
        assert "Block C" in shown
        assert "Pest CM" in shown
        await pilot.press("escape", "a")
        await pilot.pause()
        assert isinstance(app.screen, SampleScreen)
        assert "block C Long" in screen_text(app)
        await pilot.press("escape")
        await pilot.pause()
        assert "The round is done." in screen_text(app)


async def test_what_is_due_at_a_trap_stands_at_it_until_it_is_done(folder: Path, start: Start) -> None:
    """Lures of 22 April last 42 days: they are due on 3 June, and ``r`` does it."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        app.session.due["A2"] = (DueItem("r", "lure due, 7 d late", now=True),)
        await pilot.press("enter", "escape")
        assert "! lure due (r)" in screen_text(app)
        assert "A2 ! lure 7 d late" in screen_text(app)
        await pilot.press("4", "r")
        assert "lure due" not in screen_text(app)
        await pilot.press("enter", "up")
        assert "lure due" not in screen_text(app), "done today"


async def test_what_is_due_shows_at_the_trap_when_it_is_known_though_the_round_was_opened_before(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        desk = app.screen_stack[-2]
        assert isinstance(desk, DeskScreen)
        await app.workers.wait_for_complete()
        app.session.due = {}
        await pilot.press("enter", "4", "enter")
        assert "lure due" not in screen_text(app)
        desk.refill()
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.pause()
        await pilot.pause()
        assert "! lure due (r)" in screen_text(app)


@pytest.mark.parametrize("size", [(60, 20), (120, 36)])
async def test_a_small_screen_says_all_in_two_lines_and_a_wide_one_shows_the_way_and_the_block(
    folder: Path, start: Start, size: tuple[int, int]
) -> None:
    app = start(folder)
    async with app.run_test(size=size) as pilot:
        await pilot.press("enter", "enter", "4", "enter", "z")
        await pilot.pause()
        lines = screen_text(app).splitlines()
        said = next(at for at, line in enumerate(lines) if "Correcting A1: type the right value" in line)
        whole = " ".join(" ".join(lines[said : said + 2]).split())
        assert "u withdraws it, Escape goes on" in whole
        assert len(lines) == size[1]
        assert "m more   ? keys   Esc back" in lines[-1]
        shown = screen_text(app)
        assert ("─ A; catch of the week, · not read ─" in shown) == (size[0] > 100)
        assert ("  then B " in shown) == (size[0] > 100)


def test_a_list_says_how_many_more_there_are_above_and_below() -> None:
    lines = listed(range(17), 5, (40, 5), "lot {}".format).plain.splitlines()
    assert lines[0] == f"{'  lot 3':<29}  3 more ↑ "
    assert lines[2] == f"{'> lot 5':<40}"
    assert lines[-1] == f"{'  lot 7':<29}  9 more ↓ "
    assert "more" not in listed(range(5), 0, (40, 5), str).plain
    low = listed(range(17), 5, (26, 5), "label of a lot {}".format).plain.splitlines()
    assert low[0] == f"{'  label of a lot 3':<20}  3 ↑ ", "the word goes before the row is cut"


def test_rows_stand_side_by_side_where_they_have_no_room_below_each_other() -> None:
    lines = listed(range(9), 1, (40, 5), "lot {}".format, head="  Lot", each=19).plain.splitlines()
    assert lines[0] == f"{'  Lot':<19}  {'  Lot':<19}"
    assert [line.split() for line in lines[1:3]] == [["lot", "0", "lot", "5"], [">", "lot", "1", "lot", "6"]]
    assert lines[5] == f"{'  lot 4':<19}", "down the first column, then down the next"
    assert "lot 5" not in listed(range(5), 1, (40, 5), "lot {}".format, each=19).plain.splitlines()[0], "they have room"
    more = listed(range(12), 11, (40, 5), "lot {}".format, each=19).plain.splitlines()
    assert "2 more ↑" in more[0][:19]
    assert more[4].split() == ["lot", "6", ">", "lot", "11"]


async def test_a_long_list_has_the_lines_of_the_marks_and_of_the_traps_ahead(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(60, 20)) as pilot:
        await pilot.press("enter", "escape", *"4lf")
        shown = screen_text(app).replace("┃", " ").splitlines()
        assert any(line.split() == ["Stage", "4", "liner"] for line in shown), "what was typed stays in sight"
        assert sum("more ↑" in line or "more ↓" in line for line in shown) >= 1
        assert not any("c not cleared" in line or line.startswith(" Next") for line in shown)
        assert "Esc cancel" in shown[-1]
        await pilot.resize_terminal(120, 36)
        await pilot.press("down")
        stages = [line for line in screen_text(app).splitlines() if re.search(r"\b\d\d  [a-z].* {3}\d\d  [a-z]", line)]
        assert len(stages) > 20, "side by side on a wide screen"
        await pilot.resize_terminal(60, 20)
        await pilot.press("escape")
        assert "c not cleared" in screen_text(app)
        assert "\n Next, 17 more" in screen_text(app)


def test_the_marks_keep_their_words_before_their_boxes_and_their_letters_always() -> None:
    few = begin(Asked(draft=Visit(trap="A1", read_on=DAY, count=3, lure="yes", liner=True, note="wet")))
    first, second = (line.plain for line in toggles(few, 60))
    assert first == "  [x] l liner [x] r lure k kill strip b body c not cleared"
    assert second == "  e estimate  o others  h females  [x] n note  w wrong lure"
    assert "[ ] k kill strip" in toggles(few, 80)[0].plain
    entry = begin(Asked(draft=Visit(trap="A1", read_on=DAY, count=3, sterile=2, liner=True)))
    for width in (60, 80, 120):
        first, second = (line.plain for line in toggles(entry, width))
        assert "[x] l liner" in first
        assert "[x] d sterile" in second
        assert re.search("[] ] w", second)
        assert max(len(first), len(second)) <= width


async def test_a_farm_that_is_closed_costs_three_keys(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("5", "enter", "x", "f")
        assert "closed (the whole farm)" in screen_text(app)
        await pilot.press("backspace")
        assert "the whole farm" not in screen_text(app)
        await pilot.press("x", "f", "enter")
        assert on_record(app.session) == {"A1": "5", **dict.fromkeys(ORDER[1:12], "xc")}
        shown = screen_text(app)
        assert "Trap C1 " in shown
        assert "Farm closed: A2, A3" in shown
        assert len({one.recorded_at for one in app.session.round_of("hill").done.values()}) == 2, "one act for all"
        await pilot.press("z", "u")
        assert "Withdraw A2, A3, A4, A5, A6 and 6 more" in (asked := screen_text(app))
        assert "closed" in asked
        await pilot.press("y")
        assert on_record(app.session) == {"A1": "5"}, "and it is withdrawn in one act"
        assert "Trap A2 " in screen_text(app)


JOBS = {
    "a clean trap, two digits": ("1 2 enter", {"A1": "12"}),
    "the same with a new liner": ("l 7 enter", {"A2": "7 l"}),
    "the same with a new lure": ("r 7 enter", {"A3": "7 r:CM1"}),
    "a typo noticed at the next trap": ("z 8 enter", {"A3": "8 r:CM1"}),
    "not read": ("x m enter", {"A4": "xm"}),
    "and three more": ("1 enter 1 enter enter 1 enter", {"A5": "1", "A6": "1", "B1": "1"}),
    "a typo noticed five traps later": ("z z z z z 9 enter", {"A3": "9 r:CM1"}),
    "the rest of a farm of eight traps closed": ("x f enter", {f"B{at}": "xc" for at in range(2, 7)}),
}
"""Keys of each job, and what stands on record then; ``docs/decisions.md`` has them beside those of before."""


async def test_what_a_job_costs_in_keys(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("enter")
        for job, (keys, on) in JOBS.items():
            await pilot.press(*keys.split())
            assert {trap: on_record(app.session).get(trap) for trap in on} == on, job
        await pilot.press("escape", "s", "c")
        await pilot.pause()
        await pilot.press("enter", "enter")
        await pilot.pause()
        assert len(app.session.history.notified) == 2, "a call about both blocks: s, c, Enter, Enter"
        await pilot.press("2", "u", *"wrong number", "enter", "enter", "y")
        await pilot.pause()
    assert app.session.history.notified == (), "and it is withdrawn in one act"


async def test_traps_that_the_rhythm_asks_for_later_come_last_and_are_named(folder: Path, start: Start) -> None:
    app = start(folder)
    async with walking(app) as pilot:
        app.session.next_visits = {trap: DAY + timedelta(days=3) for trap in ORDER if trap not in ("A1", "B2", "C6")}
        app.screen.came_back()  # type: ignore[attr-defined]
        await pilot.press("enter", "1", "enter")
        assert "Trap B2 " in screen_text(app), "the next one that is due"
        assert "1 more: " in screen_text(app)
        await pilot.press("escape", "up")
        assert "not due before Fri 6 Jun" in screen_text(app), "the others can be looked at, and read"
        await pilot.press("down", "1", "enter", "1", "enter")
        shown = screen_text(app)
        assert "All that are due are read" in shown
        assert "Trap A2 " in shown
        assert "trap 2 of 18, none missed" in shown


async def test_what_was_recorded_meanwhile_is_read_beside_the_keys_and_escape_leaves(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Back from the summary, of many traps: what is typed waits, is lost at Escape, and is recorded without it."""
    app = start(folder)
    async with walking(app) as pilot:
        await pilot.press("4", "enter", "s")
        slow = reads_slowly(monkeypatch)
        burst(app, "escape", "7", "enter")
        while "Reading what is on record" not in screen_text(app):
            await asyncio.sleep(0.001)
        burst(app, "escape")
        while not isinstance(app.screen, DeskScreen):
            await asyncio.sleep(0.001)
        assert on_record(app.session) == {"A1": "4"}
        slow.clear()
        await pilot.pause()
        await pilot.press("enter", "s")
        slow.append(True)
        burst(app, "escape", "7", "enter")
        while "Reading what is on record" not in screen_text(app):
            await asyncio.sleep(0.001)
        assert on_record(app.session) == {"A1": "4"}
        slow.clear()
        await pilot.pause()
        assert "Trap A3 " in screen_text(app)
    assert on_record(app.session) == {"A1": "4", "A2": "7"}


async def test_what_rounds_taught_is_read_once_between_two_looks_at_what_is_due(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a lure was found it is all of ten seasons: no count after a look at the summary waits for that again."""
    asked, learned = [], learned_store.learned_by
    monkeypatch.setattr(learned_store, "learned_by", lambda *of: asked.append(of) or learned(*of))
    app = start(folder)
    async with walking(app) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("4", "enter", "5", "enter", "s", "escape", "6", "enter")
        assert len(asked) == 1
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        await pilot.press("enter", "7", "enter")
        assert len(asked) == 2
