"""Letters in the app: from a finished round to all letters on disk, notes, and letters that no longer hold."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import sleep

import pytest
from textual.events import Key
from textual.widgets import Static

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.letters.screen import LettersScreen
from roundtui.app.screens.summary.screen import SummaryScreen
from roundtui.domain.entries import Visit
from roundtui.errors import RoundtuiError
from roundtui.report.letters.desk import FarmLetter, LetterDesk, Letters, letter_rows, open_in_viewer, progress_line
from roundtui.store.connect import go_on
from roundtui.store.reports import Written
from tests.app.folder import DAY, ORDER, TRAPS, open_session, past, screen_text
from tests.app.settle import burst

Start = Callable[..., RoundtuiApp]


def screen(app: RoundtuiApp) -> LettersScreen:
    assert isinstance(app.screen, LettersScreen)
    return app.screen


async def ready(app: RoundtuiApp, pilot: object) -> None:
    """Wait until the letters are read, and written where they are being written."""
    for _ in range(3):
        await app.workers.wait_for_complete()
        await pilot.pause()  # type: ignore[attr-defined]


async def test_from_a_finished_round_to_all_letters_in_six_keys_or_fewer(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=9 if label in TRAPS["C"] else 0) for label in ORDER[:-1]))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", *"4", "enter")
        await pilot.pause()
        keys = ["enter"]
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        await pilot.press("m", "l")
        await ready(app, pilot)
        shown = screen_text(app)
        assert "> Fernhollow" in shown
        assert "▲ 1 over" in shown
        assert shown.count("not written") == 2
        assert f"Enter writes letters/letter-{DAY}-F1.html" in shown
        assert "Fernhollow: what your traps show" in shown
        assert ["Farm", "Needs", "attention", "Letter"] in [row.split() for row in shown.splitlines()]
        assert "Public update    for everybody" in shown
        assert "not published" in shown
        assert "Enter write file, sends nothing" in shown
        said: list[tuple[str, bool]] = []
        say = app.screen._say  # type: ignore[attr-defined]
        app.screen._say = lambda words: (say(words), said.append((words, "not written" in screen_text(app))))  # type: ignore[attr-defined]
        await pilot.press("w")
        await ready(app, pilot)
        assert [behind for words, behind in said if "letters written," in words] == [False], "the rows say so too"
        keys += ["m", "l", "w"]
        assert len(keys) <= 6
        assert "2 letters written, nothing sent" in screen_text(app)
        assert "not written" not in screen_text(app)
    written = sorted(path.name for path in (folder / "letters").iterdir())
    assert written == [f"letter-{DAY}-{farm}{ending}" for farm in ("F1", "F2") for ending in (".eml", ".html", ".txt")]


async def test_notes_for_all_and_for_one_stand_in_the_letters_and_are_kept(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        await pilot.press("n", *"Dear", "space", *"all", "enter", *"[/]", "escape")
        await pilot.pause()
        await pilot.press("down", "m", "1", *"Mind", "escape")
        await pilot.pause()
        assert "Covering note: Dear all [/]" in screen_text(app)
        assert "Mind" in screen_text(app)
        await pilot.press("w")
        await ready(app, pilot)
    texts = {
        farm: (folder / "letters" / f"letter-{DAY}-{farm}.txt").read_text(encoding="utf-8") for farm in ("F1", "F2")
    }
    assert all("Dear all\n[/]\n" in text for text in texts.values())
    assert ["Mind" in text for text in texts.values()] == [False, True]
    again = start(folder)
    async with again.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(again, pilot)
        assert "Covering note: Dear all [/]" in screen_text(again)


async def test_an_arrow_pressed_while_the_list_is_read_moves_the_mark(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        letters, screen(app).letters = screen(app).letters, None
        screen(app).action_mark(1)
        assert letters is not None
        screen(app)._have(letters)
        assert screen(app)._farm() == "F2"


async def test_a_letter_is_composed_beside_the_keys(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a farm with many blocks that takes a second; the arrows go on, and the letter shown is that of the mark."""
    slow, preview = [True], LetterDesk.preview

    def slowly(of: LetterDesk, letters: Letters, farm: str, width: int, note: str) -> str:
        while slow:
            go_on("")
            sleep(0.001)
        return preview(of, letters, farm, width, note)

    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        assert "Fernhollow" in str(screen(app).query_one("#letter", Static).content)
        monkeypatch.setattr(LetterDesk, "preview", slowly)
        burst(app, "down")
        while "preview" not in {one.name for one in app.workers if not one.is_finished}:
            await asyncio.sleep(0.001)
        assert "Composing it …" in screen_text(app)
        burst(app, "up")
        while screen(app)._farm() != "F1":
            await asyncio.sleep(0.001)
        slow.clear()
        await pilot.pause()
        await pilot.pause()
        assert "Fernhollow" in str(screen(app).query_one("#letter", Static).content)


async def test_a_call_opens_on_the_farm_that_is_marked(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        await pilot.press("down", "c")
        await pilot.pause()
        shown = screen_text(app)
        assert "Gorsebank: call made on" in shown
        assert "Fernhollow: call made on" not in shown
        await pilot.press("escape", "down", "c")
        await pilot.pause()
        assert app.screen is screen(app), "the public update is no farm that was called"
        assert "Mark a farm" in screen_text(app)


async def test_a_letter_is_out_of_date_after_a_correction(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=9) for label in ORDER))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        await pilot.press("w")
        await ready(app, pilot)
        assert "OUT OF DATE" not in screen_text(app)
        await pilot.press("escape")
        past(app.session, Visit(trap="A1", read_on=DAY, count=2, recount=False), scout="Bo")
        app.session.forget()
        await pilot.press("l")
        await ready(app, pilot)
        lines = screen_text(app).splitlines()
        assert "OUT OF DATE" in next(line for line in lines if "Fernhollow" in line)
        assert "OUT OF DATE" not in next(line for line in lines if "Gorsebank" in line)


async def test_a_letter_is_opened_on_request_once_it_is_written(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []
    monkeypatch.setattr("roundtui.report.letters.desk.open_in_viewer", opened.append)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        await pilot.press("v")
        assert "not written yet" in screen_text(app)
        await pilot.press("enter")
        await ready(app, pilot)
        assert "1 letter written, nothing sent" in screen_text(app)
        await pilot.press("enter", "enter")
        assert "A letter of this week is there already: it is replaced" in screen_text(app)
        await pilot.press("escape")
        await pilot.press("v")
        await pilot.press("escape")
    assert [path.name for path in opened] == [f"letter-{DAY}-F1.html"]
    assert not (folder / "letters" / f"letter-{DAY}-F2.html").exists()


async def test_writing_is_stopped_after_the_letter_at_hand_and_the_screen_goes_on(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    def at_hand(words: str) -> None:
        while app.is_running:
            go_on(words)
            sleep(0.001)

    monkeypatch.setattr("roundtui.report.letters.desk.go_on", at_hand)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        app.post_message(Key("w", "w"))
        while "Writing 1 of 2 █" not in screen_text(app):
            await asyncio.sleep(0.001)
        await pilot.press("escape")
        await ready(app, pilot)
        assert "Stopped: the list has the letters that are written" in screen_text(app)
        assert len(list(folder.glob("letters/*.html"))) == 1
        await pilot.press("escape")
        assert not isinstance(app.screen, LettersScreen), "Escape leaves again"


async def test_a_faulty_template_is_told_in_the_preview_and_on_writing(folder: Path, start: Start) -> None:
    (folder / "templates").mkdir()
    (folder / "templates" / "letter.txt").write_text("one\n{{ letter.nmae }}")
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        assert "templates/letter.txt, line 2" in screen_text(app)
        await pilot.press("w")
        for _ in range(3):
            await pilot.pause(0.1)
        assert "Not all letters were written" in screen_text(app)
    assert not (folder / "letters").exists()


async def test_a_letter_of_the_day_before_is_held_against_the_record_of_its_day(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=label, read_on=DAY, count=9) for label in ORDER))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(app, pilot)
        await pilot.press("w")
        await ready(app, pilot)
    tomorrow = start(folder, on=DAY + timedelta(days=1))
    async with tomorrow.run_test(size=(80, 24)) as pilot:
        await pilot.press("l")
        await ready(tomorrow, pilot)
        assert screen_text(tomorrow).count(f"written of {DAY:%a} {DAY.day} {DAY:%b}") == 2
        await pilot.press("escape")
        past(tomorrow.session, Visit(trap="C1", read_on=DAY, count=2), scout="Bo")
        await pilot.press("l")
        await ready(tomorrow, pilot)
        lines = screen_text(tomorrow).splitlines()
        assert f"of {DAY:%a} {DAY.day} {DAY:%b}, OUT OF DATE" in next(line for line in lines if "Gorsebank" in line)
        assert "OUT OF DATE" not in next(line for line in lines if "Fernhollow" in line)


def test_a_system_without_a_viewer_is_told_where_the_page_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("roundtui.report.letters.desk.which", lambda _command: None)
    monkeypatch.setattr("roundtui.report.letters.desk.sys.platform", "linux")
    with pytest.raises(RoundtuiError, match="no viewer for pages") as caught:
        open_in_viewer(Path("letter.html"))
    assert "letter.html" in caught.value.hint


def test_what_a_letter_says_takes_the_room_that_short_names_leave() -> None:
    says = "◆ 1 within  ! 1 sample  ! 2 few traps"
    at = Written("F1", DAY, datetime(2031, 6, 3, 12, 4, tzinfo=UTC), by="Ida", digest="", to="", said={})
    for written in (None, at):
        _, line, _ = letter_rows([FarmLetter("F1", "Mossbarrow Orch.", says, written, False, False, True)], None, 76)
        assert says in line
    _, line, _ = letter_rows([FarmLetter("F1", "Larkenfell Orchards", says, None, False, False, True)], None, 76)
    assert "Larkenfell Orchards" in line
    assert says in line
    long = FarmLetter("F2", "A farm with a [long] name that is cut", "▲ 2 over", None, False, False, False)
    assert all(len(line) <= 76 for line in letter_rows([long] * 3, None, 76))


def test_progress_says_how_many_of_how_many() -> None:
    assert progress_line(3, 6, 60).startswith("Writing 3 of 6 ████████████████████░░░")
    assert progress_line(0, 0, 20).startswith("Writing 0 of 0 ")
