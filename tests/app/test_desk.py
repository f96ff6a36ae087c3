"""Desk, first start, looks, help, and what happens when something breaks."""

from __future__ import annotations

import asyncio
import gc
import shutil
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import sleep
from typing import NoReturn

import pytest

from roundtui.app.app import RoundtuiApp, run_app
from roundtui.app.crash import say_crashed, write_report
from roundtui.app.dialogs.form import ErrorDialog, LineDialog
from roundtui.app.keys import MORE, Action, every_place, strip
from roundtui.app.screen import show_error
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.screens.desk.view import read
from roundtui.app.screens.help.screen import GuideScreen, HelpScreen
from roundtui.app.screens.letters.screen import LettersScreen
from roundtui.app.screens.season.screen import SeasonScreen
from roundtui.app.screens.walk.screen import WalkScreen
from roundtui.app.themes import SAMPLES
from roundtui.domain.entries import KIND_OF, Form, Visit, marked
from roundtui.domain.round.tally import REASONS
from roundtui.errors import RefusedError, StoreError
from roundtui.store.apart import apart
from roundtui.store.figures.history import uncollected
from roundtui.store.folder import open_folder
from roundtui.store.hub.regular import keep_regular, meet
from tests.app.folder import DAY, LAST_WEEK, ORDER, open_session, past, screen_text, write_folder
from tests.docs.keys_page import keys_page

Start = Callable[..., RoundtuiApp]
ROOT = Path(__file__).parents[2]


async def test_the_desk_says_what_is_due_and_enter_opens_the_first_due_round(tmp_path: Path, start: Start) -> None:
    routes = [{"route": "a first", "position": 1, "trap": "A1"}, {"route": "b hill", "position": 1, "trap": "A2"}]
    folder = write_folder(tmp_path / "farm", routes=routes)
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=1))
    past(session, Visit(trap="A1", read_on=DAY, count=2), scout="Ben")
    past(session, Visit(trap="A3", read_on=LAST_WEEK - timedelta(days=3), count=0))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        shown = screen_text(app)
        assert "  a first            done       1 of 1" in shown
        assert "> b hill             due        1 trap " in shown
        assert "Not read for over 7 days" in shown
        assert "A2 42 d" in shown
        assert "! A1, Tue 3 Jun: two counts of one trap on one day" in shown
        assert "Lure due (18): A1, A2" in shown, "due today, and not late"
        app.screen.board.at = next(  # type: ignore[attr-defined]
            (part, row)
            for part, one in enumerate(app.screen.board.parts)  # type: ignore[attr-defined]
            for row, words in enumerate(one.rows)
            if "Not read for over" in words.words
        )
        await pilot.press("enter")
        shown = screen_text(app)
        assert "Traps and blocks   17 traps" in shown
        assert "Not read for over 7 days. 1 shows all traps" in shown
        await pilot.press("escape")
        app.screen.board.at = (0, 1)  # type: ignore[attr-defined]
        await pilot.press("enter")
        assert isinstance(app.screen, WalkScreen)
        assert app.screen.round.route == "b hill"


async def test_the_desk_says_what_its_signs_are_which_blocks_it_leaves_out_and_where_a_count_is_unlikely(
    folder: Path, start: Start
) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=90 if label == "A1" else 0) for label in ORDER))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        lines = screen_text(app).splitlines()
        assert next(line for line in lines if "▲ over" in line).endswith(" ! check")
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        assert next(line for line in screen_text(app).splitlines() if "▲ over" in line).endswith(" check")
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert any("and 2 of 3 below, without a rule or not read" in line for line in lines)
        assert any("○ not read  » past high" in line for line in lines)
        await pilot.press("tab")
        assert "CM: check A1: 90? " in screen_text(app)
        desk, aside = app.screen, app.screen.aside  # type: ignore[attr-defined]
        desk.aside = lambda *_: None  # type: ignore[attr-defined]
        desk.came_back()  # type: ignore[attr-defined]
        assert "below Rounds stands what was known before" in screen_text(app), "until the entries just made are in it"
        desk.aside = aside  # type: ignore[attr-defined]
        desk.refill()  # type: ignore[attr-defined]
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "known before" not in screen_text(app)
        await pilot.press("s", "3")
        assert "A1 !90.0" in screen_text(app)
        assert "not read, !4 unlikely, 4! not in it, e: edge" in screen_text(app)
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        assert "not read, !4 unlikely, 4! not in it, e: edge" in screen_text(app)


def test_what_is_due_is_the_same_from_a_process_of_its_own(folder: Path) -> None:
    place = "roundtui.app.screens.desk.view:read"
    due, ahead = apart(place, str(folder), DAY.isoformat())
    assert due == next(read(str(folder), DAY.isoformat()))
    assert due.at_traps
    assert ahead.title.startswith("Next ten days")
    with pytest.raises(StoreError, match="there is no folder"):
        next(apart(place, str(folder / "gone"), DAY.isoformat()))
    with pytest.raises(StoreError, match="has no attribute 'nothing'"):
        next(apart("roundtui.errors:nothing"))


async def test_the_foot_of_a_new_programme_names_no_key_that_marks(tmp_path: Path, start: Start) -> None:
    for table in ("traps", "routes"):
        (write_folder(tmp_path) / f"{table}.csv").unlink()
    app = start(tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "No round is due yet" in screen_text(app)
        assert "↑↓" not in screen_text(app)
        assert "Tab" not in screen_text(app)


def test_an_opening_that_takes_long_says_what_it_does(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def opened(*_: object, **__: object) -> NoReturn:
        said = ""
        while "checked and a copy is kept" not in said:
            said += capsys.readouterr().err
        raise RefusedError("no programme here", "name another folder")

    monkeypatch.setattr("roundtui.app.app.SLOW_SECONDS", 0)
    monkeypatch.setattr("roundtui.app.app.open_session", opened)
    with pytest.raises(RefusedError):
        run_app(tmp_path, on=None, scout=None)


async def test_what_closed_screens_held_is_let_go_where_nobody_types_or_waits(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of many traps that takes a second: no key and no thread is held up by it."""
    at_work, let_go = [True], []
    monkeypatch.setattr("roundtui.app.app.gc.get_count", lambda: (0, 0, 10))
    monkeypatch.setattr("roundtui.app.app.gc.collect", lambda: let_go.append(1))
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        app._collect()
        assert len(let_go) == 1
        app.screen.aside("slow", lambda: [sleep(0.001) for _ in iter(at_work.__len__, 0)], lambda _: None, "")  # type: ignore[attr-defined]
        app._collect()
        assert len(let_go) == 1
        at_work.clear()
        await app.workers.wait_for_complete()
        monkeypatch.setattr(app._quiet, "reset", lambda: let_go.append(2))
        await pilot.press("down")
        assert let_go == [1, 2], "a key puts it off"
    before, kept = gc.get_threshold(), []
    monkeypatch.setattr(RoundtuiApp, "run", lambda _: kept.append(gc.get_threshold()))
    run_app(folder, on=DAY, scout="Ida")
    gc.set_threshold(*before)
    assert kept[0][2] > 100_000, "it never happens by itself"
    with uncollected():
        assert gc.isenabled(), "the newest are gone through all the same"
        assert gc.get_threshold()[2] > 100_000
    assert gc.get_threshold() == before


async def test_the_name_is_asked_once_and_kept(folder: Path, start: Start) -> None:
    app = start(folder, scout="")
    app.session.scout = ""
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, LineDialog)
        await pilot.press("enter")
        assert isinstance(app.screen, LineDialog)
        await pilot.press(*"Una", "space", "B", "enter")
        assert isinstance(app.screen, DeskScreen)
        assert "Una B" in screen_text(app)
    assert open_session(folder, scout="").scout == "Una B"


async def test_the_first_time_the_desk_says_how_a_round_goes_and_costs_no_key(tmp_path: Path, start: Start) -> None:
    app = start(write_folder(tmp_path / "farm"))
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "First time here?" in screen_text(app)
        await pilot.press("f2")
        assert isinstance(app.screen, GuideScreen)
        assert "A round, step by step" in screen_text(app)
        await pilot.press("escape", "enter")
        assert isinstance(app.screen, WalkScreen)


async def test_the_sample_is_changed_by_a_key_and_kept(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        assert app.theme == SAMPLES[0].name
        await pilot.press("f4", "f4")
        assert app.theme == "high contrast"
    assert start(folder).theme == "high contrast"


async def test_no_sample_takes_its_colours_from_the_terminal(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Under NO_COLOR such a sample is black on black."""
    monkeypatch.setenv("NO_COLOR", "1")
    app = start(folder)
    async with app.run_test(size=(80, 24)):
        assert set(app.available_themes) == {sample.name for sample in SAMPLES if not sample.ansi}
        colours = {
            (segment.style.color.name, segment.style.bgcolor.name)
            for strip in app.screen._compositor.render_strips()
            for segment in strip
            if segment.text.strip() and segment.style and segment.style.color and segment.style.bgcolor
        }
        assert all(text != ground for text, ground in colours)


async def test_help_names_every_key(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("question_mark")
        assert isinstance(app.screen, HelpScreen)
        for _ in every_place():
            shown, actions = screen_text(app), app.screen.actions
            assert all(f"{action.name:.10}" in shown for action in actions), "the keys of a place fit on one screen"
            await pilot.press("tab")


@pytest.mark.parametrize(("title", "actions"), every_place()[:-1])
def test_a_strip_has_six_keys_at_most_and_ends_alike_everywhere(title: str, actions: tuple[Action, ...]) -> None:
    first, second = strip(actions, 80)
    assert len(first.rstrip()) <= 80, title
    assert sum(bool(action.foot) for action in actions) <= 6
    assert second.endswith(MORE if title != "At the desk" else MORE.removesuffix("   Esc back")), (
        "Esc does nothing there"
    )
    moves = [f"{action.move} {action.words}" for action in actions if action.move]
    assert all(words in second for words in moves), "what moves about is cut"


MEANINGS = {
    "places": {"s": "summary", "t": "sheet", "r": "replay", "d": "season", "a": "sample", "n": "plan"}
    | {"l": "letters", "e": "register", "u": "assembly", "c": "season_close", "q": "question", "b": "bring"},
    "entry": {"u": "withdraw", "f": "stage", "a": "samples", "t": "treatment", "s": "summary", "g": "go-to"}
    | {"z": "last", "d": "day", "v": "second", "y": "right"},
    "verbs": {"a": "add enter other", "b": "block", "c": "notified", "d": "past day temps", "e": "edit biofix place"}
    | {"g": "go-to find", "h": "history entry", "n": "note", "p": "species", "q": "question", "r": "replay"}
    | {"s": "summary", "t": "treatment", "u": "withdraw undo revert", "v": "view", "x": "none", "y": "years"}
    | {"f": "file", "w": "all labels picture end write", "z": "correct"},
}
"""What each letter does in each of the three alphabets, by the second half of the actions' names; in entries beside
what the fields of a visit say with it."""
RENAMED = {"cleared": "left-in", "estimated": "estimate", "lure_found": "found"}
"""Fields of a visit whose action has a name of its own."""


def test_a_letter_has_one_meaning_in_each_of_the_three_alphabets() -> None:
    fields = {
        one.fact.mark: RENAMED.get(one.name, one.name.replace("_", "-")) for one in marked(KIND_OF["visit"], *Form)
    }
    for title, actions in every_place()[:-1]:
        if title == "At a leaf and fruit check":
            continue  # Its counters f e j o h are its own and always shown.
        alphabet = {"At the desk": "places", "In a round": "entry", "On a tally sheet": "entry"}.get(title, "verbs")
        for action in actions:
            for key in action.keys.split(","):
                if len(key) == 1 and key.isalpha():
                    name = action.id.split(".")[1]
                    meant = {*MEANINGS[alphabet].get(key, "").split(), fields.get(key) if alphabet == "entry" else ""}
                    assert name in meant, f"{title}: {key} is {action.id}"


async def test_a_dead_key_says_what_to_press_and_a_capital_acts(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        before = screen_text(app).splitlines()
        await pilot.press("y")
        *_, said, first, second = screen_text(app).splitlines()
        assert said.startswith(" y does nothing here: ? shows the keys")
        assert [first, second] == before[-2:], "above the keys, which stay"
        await pilot.press("down")
        assert "y does nothing here" not in screen_text(app), "what was said stands until the next key"
        await pilot.press("D")
        assert isinstance(app.screen, SeasonScreen)
        await pilot.press("c")
        assert "c moved: biofix is e now" in screen_text(app)
        await pilot.press("m", "l")
        assert isinstance(app.screen, LettersScreen), "a place from anywhere"
        await app.workers.wait_for_complete()
        await pilot.press("pagedown", "z")
        assert "z does nothing here" in screen_text(app)
        assert app.screen.query_one("#page").scroll_y > 0, "and one reads on where one was"


async def test_the_foot_names_keys_that_work_now_and_only_these(folder: Path, start: Start) -> None:
    """What is read on ends below the screen, what is marked is one of several, and the past is only looked at."""
    app = start(folder)

    async def foot(*keys: str) -> str:
        await pilot.press(*keys)
        for _ in range(2):
            await app.workers.wait_for_complete()
            await pilot.pause()
        return " ".join(" ".join(screen_text(app).splitlines()[-2:]).split())

    async with app.run_test(size=(80, 24)) as pilot:
        assert "read on" in await foot("f2")
        await pilot.resize_terminal(80, 70)
        assert await foot() == "Esc back", "all of the guide is in view"
        assert f"and 1 to {len(REASONS) + 1}. So xm" in screen_text(app), "the farm that is closed is the last"
        await pilot.resize_terminal(80, 24)
        assert "↑↓ mark" in await foot("escape", "n")
        assert "↑↓" not in await foot("3")
        assert "↑↓ mark" in await foot("escape", "s")
        assert "↑↓ block" in await foot("3")
        assert "↑↓ read on" in await foot("4")
        assert "z fix entry Tab view" in await foot("1")
        assert (await foot("d", "enter")).startswith("Enter open season Tab view")
        assert "Tab set-up rows" not in await foot("escape", "m", "o"), "they agree"


async def test_help_begins_with_the_keys_of_the_place_one_comes_from(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        for keys, title in ((["question_mark"], "At the desk"), (["e", "question_mark"], "In the register")):
            await pilot.press(*keys)
            await pilot.pause()
            await pilot.pause()
            assert title in "\n".join(screen_text(app).splitlines()[:4])
            await pilot.press("escape")


def test_the_page_of_keys_is_up_to_date() -> None:
    page = (ROOT / "docs" / "keys.md").read_text(encoding="utf-8")
    assert keys_page() == page, "run python -m tests.docs.keys_page > docs/keys.md"


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_every_screen_fits(folder: Path, start: Start, size: tuple[int, int]) -> None:
    app = start(folder)
    async with app.run_test(size=size) as pilot:
        for keys in ([], ["enter"], ["f1"], ["escape", "s"]):
            await pilot.press(*keys)
            shown = screen_text(app).splitlines()
            assert shown[0].strip(), "a bar on top"
            assert shown[-1].strip(), "keys below"
            assert len(shown) == size[1]
            assert not app.screen.show_horizontal_scrollbar


async def test_an_error_dialog_closes_on_enter_or_escape_only(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        show_error(app, "It did [not] work", StoreError("the [/] disk is full", "make room"), app.session.ticks)
        await pilot.pause()
        shown = screen_text(app)
        for words in ("! It did [not] work", "the [/] disk is full", "Next: make room"):
            assert words in shown
        await pilot.press("4", "x", "space", "tab")
        assert isinstance(app.screen, ErrorDialog)
        await pilot.press("escape")
        assert isinstance(app.screen, DeskScreen)


async def test_a_store_that_cannot_be_read_is_a_dialog_and_no_crash(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()

        def fail(*_: object, **__: object) -> None:
            raise StoreError("the store cannot be read: disk I/O error", "copy the folder to another disk")

        app.session.forget()
        monkeypatch.setattr("roundtui.store.record.read.visits_of", fail)
        monkeypatch.setattr("roundtui.store.figures.history.history", fail)
        monkeypatch.setattr("roundtui.store.figures.summary.history", fail)
        for key in ("enter", "s"):
            await pilot.press(key)
            assert isinstance(app.screen, ErrorDialog)
            await pilot.press("enter")
        await pilot.press("enter")  # The desk that is back has nothing to show either.
        assert isinstance(app.screen, DeskScreen)


def test_a_crash_leaves_a_report_in_the_folder_and_plain_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    session = open_session(write_folder(tmp_path / "farm"))
    try:
        raise sqlite3.OperationalError("boom")
    except sqlite3.OperationalError as error:
        report = write_report(session.folder, error, session.clock())
    session.conn.close()
    assert report is not None
    assert "boom" in report.read_text(encoding="utf-8")
    assert say_crashed(report) == 1
    said = capsys.readouterr().err
    assert str(report) in said
    assert "Everything entered is on the disk" in said
    assert "Traceback" not in said
    (tmp_path / "file").write_text("")
    assert write_report(tmp_path / "file", ValueError("x"), session.clock()) is None


async def test_a_round_that_is_done_shows_its_end_and_can_be_looked_through(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=1) for label in ORDER))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        assert "done       18 of 18" in screen_text(app)
        await pilot.press("enter", "4", "enter")
        assert "Nothing left." in screen_text(app) or "Summary" in screen_text(app)
        await pilot.press("escape", "up")
        assert "Trap C6 " in screen_text(app)
        assert "on record: 1" in screen_text(app)


async def test_a_fault_in_a_newer_set_up_file_is_said_and_keeps_nobody_from_entering(
    folder: Path, start: Start
) -> None:
    with (folder / "blocks.csv").open("a", encoding="utf-8") as file:
        file.write("D,NOWHERE,Odd,apple\n")
    opened = open_folder(folder, now=datetime(2031, 6, 3, 12, tzinfo=UTC), tolerant=True)
    opened.conn.close()
    (folder / "blocks.csv").unlink()
    app = RoundtuiApp(start(folder).session, opened.problems)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert isinstance(app.screen, ErrorDialog)
        shown = " ".join(screen_text(app).replace("┃", " ").split())
        assert "blocks.csv, line 5" in shown
        assert "the set-up is as it was before" in shown
        await pilot.press("enter", "enter")
        assert isinstance(app.screen, WalkScreen)


async def test_a_folder_that_meets_others_by_itself_says_what_came_in_one_line(
    folder: Path, start: Start, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On opening and back at the desk; what came is on the desk at once, and a place out of reach is a word."""
    monkeypatch.setattr("roundtui.app.app.MEET_AFTER", 0.01)
    monkeypatch.setattr("roundtui.app.app.MEET_APART", 0.0)
    shared, other = tmp_path / "shared", tmp_path / "other"
    shared.mkdir()
    shutil.copytree(folder, other)
    observations = open_session(other)
    past(observations, Visit(trap="A1", read_on=DAY, count=1))
    meet(other, str(shared), "van", observations.clock())
    observations.conn.close()
    app = start(folder)
    keep_regular(app.session.conn, str(shared), 15)
    said: list[str] = []
    monkeypatch.setattr(app, "notify", lambda words, **_: said.append(words))

    async def until(words: str) -> None:
        for _ in range(6000):
            if any(words in one for one in said):
                return
            await asyncio.sleep(0.01)
        raise AssertionError((words, said))

    async with app.run_test(size=(80, 24)) as pilot:
        assert "done       1 of" not in screen_text(app)
        await until("1 taken in")
        await pilot.pause()
        assert "under way  1 of" in screen_text(app)
        shutil.rmtree(shared)
        await pilot.press("s", "escape")
        await until("there is no folder")
        await pilot.press("s", "escape")
        await pilot.pause()
    assert len([one for one in said if "there is no folder" in one]) == 1
