"""The plan in the app: what is overdue first, packing, lures counted in the store, labels."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.office import StockDialog
from roundtui.app.screens.plan.screen import PlanScreen
from roundtui.app.screens.summary.screen import SummaryScreen
from roundtui.domain.entries import Stocked, StockKind, Visit
from roundtui.store.record import journal
from tests.app.folder import DAY, ORDER, TRAPS, open_session, past, screen_text, write_folder

Start = Callable[..., RoundtuiApp]
SPRING = date(2032, 5, 4)
"""A spring after a season whose traps are all down."""


@pytest.fixture
def after_winter(tmp_path: Path) -> Path:
    """A season in which block A caught first on 6 May; block C at its first check."""
    rows = [
        {
            "trap": label,
            "block": block,
            "species": "CM",
            "style": "delta",
            "hung_on": "2031-04-22",
            "down_on": "2031-09-30",
            "lot": "CM1",
        }
        for block, labels in TRAPS.items()
        for label in labels
    ]
    folder = write_folder(tmp_path / "farm", traps=rows)
    session = open_session(folder, on=date(2031, 9, 30))
    for on, caught in (("2031-04-29", "C"), ("2031-05-06", "AC")):
        day = date.fromisoformat(on)
        past(session, *(Visit(trap=label, read_on=day, count=2 if label[0] in caught else 0) for label in ORDER))
    session.conn.close()
    return folder


async def ready(app: RoundtuiApp, pilot: object) -> None:
    """Wait until the plan is read."""
    for _ in range(3):
        await app.workers.wait_for_complete()
        await pilot.pause()  # type: ignore[attr-defined]


async def test_the_plan_shows_what_is_overdue_first(after_winter: Path, start: Start) -> None:
    app = start(after_winter, on=SPRING)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        await pilot.press("n")
        await ready(app, pilot)
        assert isinstance(app.screen, PlanScreen)
        lines = screen_text(app).splitlines()
        assert lines[0].startswith(" Plan of season 2032")
        table = [line for line in lines if line[2:3] in ("!", "?")]
        assert [line[4] for line in table] == ["C", "A", "B"]
        assert "Thu 8 Apr  overdue 26 days" in table[0]
        assert "Thu 22 Apr overdue 12 days" in table[1]
        assert "no date" in table[2]
        assert "22 Apr 2032" not in screen_text(app)
        await pilot.press("down")
        await pilot.pause()
        shown = " ".join(screen_text(app).translate({ord("│"): " ", ord("█"): " "}).split())
        assert ">! A" in shown
        assert "Thu 22 Apr 2032: 14 days before the first catch, Tue 6 May 2031 [first-catch]" in shown
        await pilot.press("escape")
        await pilot.pause()
        assert not isinstance(app.screen, PlanScreen)


async def test_packing_goes_from_the_season_to_each_round_and_back(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        await pilot.press("n")
        await ready(app, pilot)
        await pilot.press("2")
        await pilot.pause()
        assert "To pack for season 2031" in screen_text(app)
        await pilot.resize_terminal(120, 36)
        await pilot.pause()
        assert " more" not in screen_text(app).split("? keys")[0].rsplit("\n", 2)[0], "all traps are named"
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        rows = screen_text(app).splitlines()[3:5]
        assert all(re.search(r" (trap body|lure|liner) +", row) for row in rows), "a line a row at 60 columns too"
        head, foot = screen_text(app).splitlines()[0], screen_text(app).splitlines()[-2]
        assert re.search(r"season 2031 {2,}\S", head), "two blanks at least part what stands in the title"
        assert "1 plan   3 stock" in foot
        await pilot.press("1")
        await pilot.pause()
        assert "Tab round   ←→ year   ↑↓ mark   m more" in screen_text(app), "the row that is marked can be moved"
        await pilot.press("2")
        await pilot.resize_terminal(80, 24)
        await pilot.press("tab")
        await pilot.pause()
        assert f"To pack for the round hill of {DAY:%a} {DAY.day} {DAY:%b} {DAY.year}, 18 traps" in screen_text(app)
        assert "CM CM1" in screen_text(app)
        await pilot.press("tab")
        await pilot.pause()
        assert "To pack for season 2031" in screen_text(app)


async def test_lures_counted_in_the_store_are_on_record_and_on_the_desk(folder: Path, start: Start) -> None:
    """18 traps of 22 April want a lure on 3 June, four are there: the lot runs out the same day."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        await pilot.press("n")
        await ready(app, pilot)
        await pilot.press("3")
        await pilot.pause()
        assert "not counted" in screen_text(app)
        await pilot.press("a")
        await pilot.pause()
        assert isinstance(app.screen, StockDialog)
        await pilot.press("enter", "4", "enter", "enter", "enter")
        await ready(app, pilot)
        assert isinstance(app.screen, PlanScreen)
        shown = screen_text(app)
        assert "Saved: 4 of lot CM1 counted on Tue 3 Jun 2031" in shown
        (row,) = [line for line in shown.splitlines() if line.startswith(" ! CM1")]
        assert row.split()[:4] == ["!", "CM1", "CM", "4"]
        assert "lures the traps will take. Bar: | is Season." in " ".join(shown.split()), "no bar is full"
        await pilot.press("escape")
        await ready(app, pilot)
        assert "! Lot CM1 (CM) will be used up on Tue 3 Jun 2031: 4 left" in screen_text(app)
        await pilot.press("s")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
    session = app.session
    rows = session.conn.execute("SELECT lot, event, number, scout FROM present_stocks").fetchall()
    assert [tuple(row) for row in rows] == [("CM1", "counted", 4, "Ida")]


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        (["x", "enter", "4", *["enter"] * 3], "There is no lot"),
        (["tab", "backspace", "x", "enter", "4", *["enter"] * 3], "Write c for counted, or b for bought"),
        (["enter"] * 4, "How many lures: a whole number"),
        (["enter", "4", "tab", *"9", *["enter"] * 3], "Day: write a day as"),
        (["tab", "backspace", "b", "enter", "0", *["enter"] * 3], "none were bought"),
    ],
)
async def test_what_cannot_be_is_said_and_nothing_is_recorded(
    folder: Path, start: Start, keys: list[str], said: str
) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        await pilot.press("n")
        await ready(app, pilot)
        await pilot.press("a")
        await pilot.pause()
        await pilot.press(*keys)
        await pilot.pause()
        assert isinstance(app.screen, StockDialog)
        assert said in screen_text(app)
        await pilot.press("escape", "y")
        await pilot.pause()
        assert isinstance(app.screen, PlanScreen)
    assert app.session.conn.execute("SELECT count(*) FROM stocks").fetchone()[0] == 0


async def test_labels_are_written_in_the_size_that_is_kept(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        await pilot.press("n")
        await ready(app, pilot)
        await pilot.press("w")
        await pilot.pause()
        await pilot.press("x", "enter")
        await pilot.pause()
        assert "Write one of a4-3x7" in screen_text(app)
        await pilot.press(*["backspace"] * 8, *"letter-3x10", "enter")
        await ready(app, pilot)
        assert "18 labels written: labels/labels-2031-06-03-letter-3x10.html" in screen_text(app)
    page = folder / "labels" / "labels-2031-06-03-letter-3x10.html"
    assert page.read_text(encoding="utf-8").count("<svg ") == 18
    assert page.with_suffix(".txt").exists()
    assert app.session.kept("label-size") == "letter-3x10"


async def test_a_faulty_plan_file_is_said_and_the_screen_can_be_left(folder: Path, start: Start) -> None:
    (folder / "plan.toml").write_text("[[hang]]\n", encoding="utf-8")
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        await pilot.press("n")
        await ready(app, pilot)
        assert "There is no plan" in screen_text(app)
        assert "plan.toml cannot be used" in screen_text(app)
        await pilot.press("enter")
        await pilot.press("escape")
        await pilot.pause()
        assert not isinstance(app.screen, PlanScreen)


async def test_the_season_after_this_one_is_a_key_away(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        await pilot.press("n")
        await ready(app, pilot)
        for year in (2032, 2031):
            await pilot.press("right")
            await ready(app, pilot)
            assert f"Plan of season {year}" in screen_text(app)


async def test_hostile_names_and_notes_are_only_shown(tmp_path: Path, start: Start) -> None:
    hostile = "[bold red]x[/] {{ 7*7 }}"
    folder = write_folder(
        tmp_path / "farm",
        lures=[{"lot": hostile, "species": "CM", "life_days": 42}],
        blocks=[{"block": block, "farm": "F1", "name": hostile, "crop": "apple"} for block in TRAPS],
        traps=[
            {"trap": label, "block": "A", "species": "CM", "style": "delta", "hung_on": "2031-04-22", "lot": hostile}
            for label in ORDER
        ],
    )
    session = open_session(folder)
    entry = Stocked(lot=hostile, stocked_on=DAY, kind=StockKind.COUNTED, number=0, note=hostile)
    journal.record(session.conn, [entry], journal.Author("Ida", "truck"), datetime(2031, 6, 3, 12, tzinfo=UTC))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        await pilot.press("n")
        await ready(app, pilot)
        assert "[bold red]x[/]" in screen_text(app)
        for key in "ks":
            await pilot.press(key)
            await pilot.pause()
            assert "49" not in screen_text(app).replace("2031", "")


async def test_the_desk_says_which_traps_are_overdue_to_hang(after_winter: Path, start: Start) -> None:
    app = start(after_winter, on=SPRING)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        shown = " ".join(screen_text(app).translate({ord("│"): " ", ord("█"): " "}).split())
        assert "! Traps overdue to hang (2): C CM 08 Apr, A CM 22 Apr" in shown


async def test_the_desk_says_nothing_of_hanging_once_all_traps_hang(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await ready(app, pilot)
        assert "to hang" not in screen_text(app)
