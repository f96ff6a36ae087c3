"""The summary in the app, and who was told."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.office import CallDialog
from roundtui.app.screens.assembly.screen import AssemblyScreen
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.screens.register.screen import RegisterScreen
from roundtui.app.screens.season.screen import SeasonScreen
from roundtui.app.screens.season_close.screen import SeasonCloseScreen
from roundtui.app.screens.summary.screen import SummaryScreen
from roundtui.app.widgets.board import Board, Part, Row
from roundtui.domain.entries import Visit
from roundtui.report.season.season_end import CloseDesk
from roundtui.report.season.seasons import Seasons
from roundtui.store.session import Session
from roundtui.store.set_up.register import RegisterDesk
from roundtui.store.traps.bench import AssemblyDesk
from tests.app.folder import DAY, LAST_WEEK, TRAPS, open_session, past, screen_text, write_folder
from tests.app.settle import burst

Start = Callable[..., RoundtuiApp]


def test_what_stands_behind_a_row_says_where_it_is_cut() -> None:
    board = Board()
    board.fill([Part("Blocks", (Row("A  over", more="rule of the office; source: a page with a long address"),))])
    assert board.said(30, 2) == "rule of the office; source: a\npage with a long address"
    assert board.said(30, 1) == "rule of the office; source: …"


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


async def test_the_summary_is_one_table_a_list_of_calls_and_a_map(tmp_path: Path, start: Start) -> None:
    """The bar ends at the upper threshold; what the marked row stands on is below; a call is ticked when it is made."""
    rows = [
        {"trap": label, "block": block, "species": "CM", "style": "delta", "hung_on": "2031-04-22", "row": row}
        | {"tree": tree, "edge": "yes" if row == "1" else "no"}
        | ({"lat": f"-48.87{row}", "lon": f"-123.4{tree}"} if block == "A" else {"lat": "", "lon": ""})
        for block in "AC"
        for label, row, tree in ((f"{block}1", "1", "3"), (f"{block}2", "9", "20"))
    ]
    routes = [{"route": "hill", "position": at, "trap": row["trap"]} for at, row in enumerate(rows, 1)]
    folder = write_folder(tmp_path / "farm", traps=rows, routes=routes)
    session = open_session(folder)
    past(session, *(Visit(trap=str(row["trap"]), read_on=LAST_WEEK, count=2) for row in rows))
    past(session, *(Visit(trap=label, read_on=DAY, count=9) for label in ("A1", "A2")))
    past(session, *(Visit(trap=label, read_on=DAY, count=4) for label in ("C1", "C2")))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("s")
        assert ">▲ over     A Upper         CM       9.0  ████████|»     3–5 1/2!" in screen_text(app)
        assert "─ Blocks  ! few  | high  » past high  ▁–▇ level ──" in screen_text(app)
        await pilot.press("down")
        shown = screen_text(app)
        assert "─ C Long, CM, within ─" in shown
        assert " Rule      mean of the block 4.0, between 3 and 5 (rule CM mean)" in shown
        assert " Counted   4 moths in 1 of 2 traps (few traps): C2 4 in 7 d" in shown
        await pilot.press("2")
        shown = screen_text(app)
        assert "[ ] Fernhollow           555-0111     Isolde Pipkin" in shown
        assert "─ Fernhollow ──" in shown
        assert " ▲ over     A Upper         CM       9.0  ████████|»     3–5 1/2!" in shown, (
            "what to say stands there too"
        )
        assert "─ Calls, the most urgent first  ! few  | high  » past high ──" in shown
        await pilot.resize_terminal(60, 17)
        await pilot.press("down")
        assert "─ Calls, the most urgent first  ! few  | high ──" in screen_text(app), "what is not on the screen goes"
        await pilot.press("up")
        assert "─ Calls, the most urgent first  ! few  | high  » past high ─" in screen_text(app)
        await pilot.resize_terminal(80, 24)
        assert "3 map" not in shown, "the views stand with their digits above"
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("enter", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "[x] Fernhollow" in screen_text(app)
        await pilot.press("1", "3")
        shown = screen_text(app)
        assert "e:C1 CM 4.0" in shown, "an edge trap has its mark"
        assert "C2 CM 4.0" in shown
        assert "CM inside 4.0 (1 of 1)   CM edge 4.0 (1 of 1)" in shown
        await pilot.press("left")
        assert "C2 CM ·" in screen_text(app), "a reading of 35 days has no weekly rate"
        await pilot.press("right", "3")
        shown = screen_text(app)
        assert "Route hill   Wed 28 May to Tue 3 Jun" in shown
        assert "Enter open season   3 all blocks   c call made" in shown
        assert "←→ week" in shown
        assert "o ▲A" in shown
        assert ">C ◆ CM 4.0" in shown
        assert "No lat and lon (traps.csv, or m e): C1 4.0 and C2 4.0" in shown
        await pilot.press("3", "up")
        assert ">A ▲ CM 9.0" in screen_text(app)
        burst(app, "left")
        while "Looking up what each block showed then" not in screen_text(app):
            await asyncio.sleep(0.001)  # What takes long is done beside the app, and the word shows first.
        await pilot.pause()
        shown = screen_text(app)
        assert "All blocks   Wed 21 May to Tue 27 May" in shown
        assert ">A ? CM -" in shown
        assert "○ [?A]" in shown


def test_on_the_marked_row_a_bar_is_as_on_all_others() -> None:
    """In reverse a full one would look empty; what a list does not show names the keys that do."""
    board = Board()
    board.fill([Part("Blocks", (Row("▲ over  9.0 ████░░░░|»  3-5 ▁▂·▃▇"),)), Part("Due", (Row("lure"), Row("liner")))])
    drawn = board.drawn(40, 4)
    reverse = [drawn.plain[one.start : one.end].strip() for one in drawn.spans if "reverse" in str(one.style)]
    assert [words for words in reverse if words] == [">▲ over  9.0", "|»  3-5"], "all but the bar and the curve"
    assert "─ Due " in drawn.plain
    assert "1 more: Tab, ↓ ─" in drawn.plain
    board.next_part()
    assert "1 more ↓ ─" in board.drawn(40, 4).plain
    board.fill([Part("Rounds", (Row("north"), Row("south"))), Part("Due", tuple(map(Row, "abcdefghi")))])
    board.at = (0, 0)
    assert len(board.drawn(40, 9).plain.splitlines()) == 9, "no line stays empty where rows are hidden"
    board.fill([Part("Next ten days: forecast, not spray advice", tuple(Row(f"event {at}") for at in range(23)))])
    board.mark(9)
    assert board.drawn(60, 5).plain.startswith("─ Next ten days: forecast, not spray advice ──── 7 ↑  12 ↓ ─\n")
    board.parts = (Part("Due", (Row("lure"),)), *board.parts)
    board.at = (0, 0)
    assert " not spray advice  22 more: Tab, ↓\n" in board.drawn(60, 4).plain
    board.parts, board.at = board.parts[1:], (0, 9)
    assert " 7 more ↑  12 more ↓ ─\n" in board.drawn(80, 5).plain


async def test_what_has_no_room_below_the_table_is_read_on(folder: Path, start: Start) -> None:
    """At 60 columns all that stands behind a figure is reached by PgDn, and the title keeps week and route."""
    app = start(folder)
    async with app.run_test(size=(60, 20)) as pilot:
        await pilot.press("s")
        assert screen_text(app).startswith(" Summary   28 May-3 Jun   all blocks")
        assert isinstance(app.screen, SummaryScreen)
        row, width = app.screen.summary.blocks[0], app.screen.width
        wanted, seen = app.screen.details.lines(row, width - 2, whole=True), screen_text(app)
        assert "… PgDn" in seen
        while app.screen.page:
            await pilot.press("pagedown")
            seen += screen_text(app)
        assert [line for line in wanted if line.strip() not in seen] == []
        await pilot.press("pageup")
        assert "… PgDn" in screen_text(app), "back at the beginning"


async def test_the_foot_says_what_enter_opens(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("s")
        await pilot.pause()
        assert "Enter open season" in screen_text(app)
        await pilot.press("2")
        assert "Enter open call   c call made   u withdraw" in screen_text(app)


@pytest.mark.parametrize(
    ("owner", "name", "keys", "screen", "said", "then"),
    [
        (Session, "day_summary", "s2", SummaryScreen, "Reading what the traps show", "Calls, the most urgent first"),
        (Seasons, "picture", "d\t", SeasonScreen, "Reading the season", "trap A1  A Upper, Fernhollow"),
        (CloseDesk, "read", "c", SeasonCloseScreen, "Reading traps and parts", "0 of 18 traps down this season"),
        (AssemblyDesk, "read", "u", AssemblyScreen, "Reading parts and traps", "0 to assemble, 0 to hang"),
        (RegisterDesk, "read", "e2", RegisterScreen, "Reading the register", "[2 Blocks]"),
    ],
)
async def test_keys_wait_for_what_a_large_programme_reads_and_escape_does_not(
    folder: Path,
    start: Start,
    monkeypatch: pytest.MonkeyPatch,
    *,
    owner: type,
    name: str,
    keys: str,
    screen: type,
    said: str,
    then: str,
) -> None:
    """The screen opens at once and says what it does. What is typed behind it acts once it stands, or goes with it."""
    go, read = threading.Event(), getattr(owner, name)

    def slowly(*asked: Any, **more: Any) -> object:
        go.wait(60)
        return read(*asked, **more)

    monkeypatch.setattr(owner, name, slowly)
    app = start(folder)

    async def until(there: type, words: str) -> None:
        for _ in range(10_000):
            await asyncio.sleep(0.005)
            if isinstance(app.screen, there) and words in screen_text(app):
                return
        raise AssertionError(words)

    async with app.run_test(size=(80, 24)):
        assert isinstance(app.screen, DeskScreen)
        typed = [key.replace("\t", "tab") for key in keys]
        burst(app, *typed)
        await until(screen, said)
        assert not app.screen.have_read.is_set(), "it is read beside the keys"
        burst(app, "escape")
        await until(DeskScreen, "Rounds")
        assert app.screen.board.at == (0, 0), "Tab was not typed at the desk"
        burst(app, *typed)
        await until(screen, said)
        go.set()
        await until(screen, then)
