"""The tally sheet: a round that comes in on paper, typed once, typed twice, settled."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import date
from pathlib import Path

import pytest
from textual import events
from textual.pilot import Pilot

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.screens.double_entry.screen import DoubleEntryScreen
from roundtui.app.screens.sheet.screen import TallySheetScreen, foot
from roundtui.app.screens.summary.screen import SummaryScreen
from roundtui.app.themes import SAMPLES
from roundtui.domain.entries import Draft, NoReading, StageSeen, Visit
from roundtui.domain.paper.sheet import totals
from roundtui.domain.round.walk import DueItem
from roundtui.store.record.read import journal_rows
from tests.app.folder import DAY, ORDER, on_record, open_session, past, screen_text, write_folder
from tests.app.test_samples import LEAST, faint

Start = Callable[..., RoundtuiApp]


@asynccontextmanager
async def sheet(app: RoundtuiApp, size: tuple[int, int] = (80, 24)) -> AsyncIterator[Pilot[int]]:
    async with app.run_test(size=size) as pilot:
        await pilot.press("t")
        await pilot.pause()
        assert isinstance(app.screen, TallySheetScreen)
        yield pilot


def row(app: RoundtuiApp, trap: str) -> str:
    """A row as it is shown."""
    return next((line for line in screen_text(app).splitlines() if f" {trap} " in line[:18]), "")


async def paste(pilot: Pilot[int], text: str) -> None:
    assert isinstance(pilot.app.screen, TallySheetScreen)
    pilot.app.screen.grid.post_message(events.Paste(text))
    await pilot.pause()


async def test_a_sheet_costs_digits_flags_and_one_enter_a_row(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        typed = ["4lr", "0", "2o3", "xm", "12c", "1"]
        for text in typed:
            await pilot.press(*text, "enter")
        assert on_record(app.session) == dict(zip(ORDER, ["4 l r:CM1", "0", "2 o3", "xm", "12 c", "1"], strict=False))
        shown = screen_text(app)
        assert "To row 6   count 19   others 3   blank 0   not read 1 (1 missing)" in shown
        assert "6 of 18" in shown
        assert shown.splitlines()[8].startswith(">   7 B1 ")
        assert [row(app, trap)[51:] for trap in ("A1", "A3", "A4", "A5")] == [
            "4 moths, liner, lure CM1",
            "2 moths, 3 others",
            "not read: missing",
            "12 moths, not cleared",
        ]
        await app.workers.wait_for_complete()
        await pilot.pause()
        with monkeypatch.context() as patch:
            patch.setattr("roundtui.app.screens.sheet.screen.totals", lambda _: pytest.fail("counted for a digit"))
            await pilot.press(*"7l")
        assert row(app, "B1").endswith("7 moths, liner"), "what is typed is read while it is typed"
        app.session.due = {"B2": (DueItem("r", "lure due", now=True), DueItem("l", "liner due in 2 d", now=False))}
        await pilot.press("enter")
        assert row(app, "B2").endswith("  ! lure due (r)"), (
            "what is due at the trap stands there until its row is typed"
        )


async def test_a_blank_row_is_no_zero_and_no_entry_and_is_passed_over_with_a_key(folder: Path, start: Start) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        await pilot.press("4", "enter", "enter", "enter")
        assert "A2 is blank: no zero and no entry" in screen_text(app)
        await pilot.press("down", "enter")
        assert "Nothing recorded" in screen_text(app)
        await pilot.press("7", "enter")
        assert on_record(app.session) == {"A1": "4", "A3": "7"}
        assert "blank 1   not read 0" in screen_text(app)


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (120, 36)])
async def test_a_larger_screen_says_as_much_of_an_unlikely_count(
    size: tuple[int, int], folder: Path, start: Start
) -> None:
    app = start(folder)
    async with sheet(app, size) as pilot:
        await pilot.press("4", "enter")
        assert isinstance(app.screen, TallySheetScreen)
        app.screen.sheet.unlikely["A1"] = "unlikely: 400? 40 would fit (9.5 expected)"
        await pilot.press("down", "up", "up", "down")
        assert "! 40 would fit (9.5 expected)" in row(app, "A1")


async def test_a_row_is_recorded_however_it_is_left(folder: Path, start: Start) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        await pilot.press("4", "down", "5", "up", "up")
        assert on_record(app.session) == {"A1": "4", "A2": "5"}
        await pilot.press("down", "down", *"6q", "down")
        assert "'q' is no mark here" in screen_text(app)
        assert on_record(app.session) == {"A1": "4", "A2": "5"}
        await pilot.press("backspace", "down")
        assert on_record(app.session)["A3"] == "6"


async def test_going_back_to_a_row_is_a_correction_and_both_stay_on_record(folder: Path, start: Start) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        await pilot.press(*"1l", "enter", "2", "enter", "3", "enter", "z", "z", "z")
        assert row(app, "A1").startswith(">")
        assert "is 1 l" in row(app, "A1")
        await pilot.press(*["backspace"] * 4, "2", "enter")
        assert "A1 was 1 l, is 2: both on record" in screen_text(app)
        assert row(app, "A4").startswith(">"), "back to where the entry was"
        rows = [one for one in journal_rows(app.session.conn, DAY, DAY) if one.trap == "A1"]
        assert [(one.entry.count, one.present) for one in rows] == [(1, False), (2, True)]
        assert rows[1].entry.replaces == rows[0].id
        assert rows[1].entry.reason == "corrected on the tally sheet"


async def test_a_correction_that_changes_a_status_says_so_first(folder: Path, start: Start) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        for count in ("1", "1", "1", "1", "1", "1"):
            await pilot.press(count, "enter")
        await pilot.press("z", *"90", "enter")
        assert "A CM, Tue 3 Jun: status below becomes over" in screen_text(app)
        await pilot.press("enter")
        assert on_record(app.session)["A6"] == "1", "Enter alone is no yes"
        await pilot.press("y")
        assert on_record(app.session)["A6"] == "90"


async def test_an_entry_of_another_scout_is_never_replaced_by_typing(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=7), scout="Ben")
    session.conn.close()
    app = start(folder)
    async with sheet(app) as pilot:
        await pilot.press("g", *"a1", "enter", "4", "enter")
        assert "Ben has 7 here: two counts contradict" in screen_text(app)
        await pilot.press("y")
        assert on_record(app.session)["A1"] == "7 + 4"


async def test_days_labels_and_last_week(folder: Path, start: Start) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        await pilot.press("4", "enter", "d", *"1", "enter")
        assert "Sun 1 Jun for this row and the blank ones after it" in screen_text(app)
        await pilot.press("5", "enter", "6", "enter", "d", *"06-09", "enter")
        assert "06-09 would be Sun 9 Jun 2030: write the whole day if that is meant" in screen_text(app)
        await pilot.press("g", *"zz", "enter")
        assert "No trap zz on this sheet" in screen_text(app)
        await pilot.press("g", *"c6", "enter", *"xs", "enter")
        assert on_record(app.session) == {"A1": "4"}
        assert on_record(app.session, date(2031, 6, 1)) == {"A2": "5", "A3": "6", "C6": "xs"}
        assert "day    last 27 May  tally" in screen_text(app).splitlines()[1]
        await pilot.press("g", *"a2", "enter", "enter")
        assert "A2   CM    1 Jun            1                (is 5)" in row(app, "A2"), "day and count stand apart"
        await pilot.press("m", "4")
        assert "last 27 May" not in screen_text(app).splitlines()[1]
        await pilot.press("f", *"72", "enter")
        stages = [one.entry for one in journal_rows(app.session.conn, DAY.replace(day=1), DAY) if one.kind == "stage"]
        assert [(one.block, one.code, one.seen_on.day) for one in stages if isinstance(one, StageSeen)] == [
            ("A", "72", 1)
        ]


async def test_the_day_of_a_row_that_is_recorded_is_corrected_and_makes_no_second_reading(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        await pilot.press("4", "enter", "5", "enter", "up", "d", *"602", "enter")
        assert on_record(app.session) == {"A1": "4"}
        assert on_record(app.session, date(2031, 6, 2)) == {"A2": "5"}
        rows = [one for one in journal_rows(app.session.conn, date(2031, 6, 2), DAY) if one.trap == "A2"]
        assert [one.present for one in rows] == [False, True]
        assert "2 Jun" in row(app, "A3"), "and the blank rows after it"
        assert "3 Jun" in row(app, "A1")


@pytest.mark.parametrize(
    ("sample", "no_color"), [*((sample.name, False) for sample in SAMPLES if not sample.ansi), (SAMPLES[0].name, True)]
)
async def test_all_text_of_the_sheet_stands_out_from_its_ground(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch, sample: str, no_color: bool
) -> None:
    monkeypatch.setenv("NO_COLOR", "1") if no_color else monkeypatch.delenv("NO_COLOR", raising=False)
    app = start(folder)
    async with sheet(app) as pilot:
        app.theme = sample
        await pilot.press("m", "4", *"99", "enter", "z", "4")
        await pilot.pause()
        assert faint(app, LEAST) == []
        await pilot.press("escape", "escape", "escape", "v", "7", "enter", "m", "1")
        await pilot.pause()
        assert isinstance(app.screen, DoubleEntryScreen)
        assert faint(app, LEAST) == []


async def test_the_order_of_the_paper_is_kept_with_who_and_when(folder: Path, start: Start) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        await pilot.press("m", "2", *"c6", "enter", "4", "enter", "5", "enter")
        assert on_record(app.session) == {"C6": "4", "A1": "5"}
        await pilot.press("escape")
        assert isinstance(app.screen, DeskScreen)
        await pilot.press("t")
        await pilot.pause()
        assert [one.trap for one in app.screen.sheet.rows][:3] == ["C6", "A1", "A2"]  # type: ignore[attr-defined]
    kept = app.session.conn.execute("SELECT route, scout, device, traps FROM sheet_orders").fetchall()
    assert [(one[0], one[1], one[2], one[3][:12]) for one in kept] == [("hill", "Ida", "truck", '["C6", "A1",')]


async def test_a_pasted_column_is_recorded_whole_or_not_at_all(folder: Path, start: Start) -> None:
    app = start(folder)
    async with sheet(app) as pilot:
        await paste(pilot, "4\n5\nsix\n7\n")
        assert "Nothing pasted. row of A3, character 2: 's' is no mark" in screen_text(
            app
        ) or "row of A3" in screen_text(app)
        assert on_record(app.session) == {}
        await pilot.press("g", *"c1", "enter", "9", "enter", "g", *"a1", "enter")
        await paste(pilot, "4\n5\n\n7\n")
        assert on_record(app.session) == {"A1": "4", "A2": "5", "A4": "7", "C1": "9"}
        assert "3 rows pasted: count 16" in screen_text(app)
        await pilot.press("m", "3", "y")
        assert on_record(app.session) == {"C1": "9"}, "what was typed before the paste stands"
        assert row(app, "A1").startswith(">")
        await paste(pilot, "12 c\n")
        assert on_record(app.session) == {"C1": "9"}, "one line is typed, not recorded"
        await pilot.press("enter")
        assert on_record(app.session) == {"A1": "12 c", "C1": "9"}


async def test_last_week_s_sheet_typed_again_is_asked_about_and_withdrawn(folder: Path, start: Start) -> None:
    session = open_session(folder)
    week = [3, 0, 12, 1, 9, 7, 2, 0, 25, 4, 0, 1, 8, 30, 6, 2, 11, 5]
    before = DAY.replace(day=1)
    old = open_session(folder, on=before)
    for at, label in enumerate(ORDER):
        past(old, Visit(trap=label, read_on=date(2031, 5, 28), count=week[at]), scout="Ida")
    old.conn.close()
    session.conn.close()
    app = start(folder, on=date(2031, 6, 4))
    async with sheet(app) as pilot:
        for count in week[:8]:
            await pilot.press(*str(count), "enter")
        assert "rows read like last week's of this sheet. The right sheet?" in screen_text(app)
        await pilot.press("y", *"25", "enter")
        assert "The right sheet?" not in screen_text(app)
        await pilot.press("m", "3", "y")
        assert on_record(app.session, date(2031, 6, 4)) == {}
        taken = journal_rows(app.session.conn, date(2031, 6, 4), date(2031, 6, 4))
        assert sum(one.kind == "withdrawal" for one in taken) == 9


async def test_the_second_entry_is_blind_and_each_difference_is_settled_with_one_key(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    first = ["4lr", "0", "2", "xm", "12", "1"]
    second = ["4lr", "0", "3", "xm", "21", None]
    async with sheet(app) as pilot:
        for text in first:
            await pilot.press(*text, "enter")
        await pilot.press("v")
        shown = screen_text(app)
        assert "DOUBLE ENTRY, blind" in shown
        assert "All 18     count 0" in shown
        assert "12" not in row(app, "A5")
        for text in second:
            await pilot.press(*(text or ""), "enter" if text else "down")
        before = on_record(app.session)
        await pilot.press("m", "1")
        await pilot.pause()
        assert isinstance(app.screen, DoubleEntryScreen)
        shown = screen_text(app)
        assert "Double entry hill  3 open " in shown
        assert [line.split()[0] for line in shown.splitlines()[4:7]] == [">", "A5", "A6"]
        assert before == on_record(app.session), "a second entry is no entry"
        assert "entered by         Ida " in shown
        assert "reads as           2 moths" in shown
        assert "before             2 on 27 May, 2 on 20 May" in shown
        await pilot.press("2")
        await pilot.press("3", *"22 c", "enter", "y")
        await pilot.press("1")
        assert "Double entry hill  0 open " in screen_text(app)
        assert "3 differed. Settled: first 1, second 1, neither 1" in screen_text(app)
        assert on_record(app.session) == {**before, "A3": "3", "A5": "22 c"}
        rows = [one.entry for one in journal_rows(app.session.conn, DAY, DAY) if one.trap == "A3"]
        assert rows[-1].replaces == rows[0].id
        assert rows[-1].reason == "two entries compared with the paper by Ida: the second holds"
        kept = app.session.conn.execute("SELECT trap, kept, scout FROM settlements ORDER BY id").fetchall()
        assert kept == [("A3", "second", "Ida"), ("A5", "neither", "Ida"), ("A6", "first", "Ida")]
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, TallySheetScreen)


async def test_the_end_of_the_sheet_shows_the_pace_and_enter_the_summary(folder: Path, start: Start) -> None:
    app = start(folder)
    async with sheet(app, (120, 36)) as pilot:
        shown = screen_text(app)
        assert "20 May last 27 May  tally" in shown, "more weeks where there is room"
        for words in ("A1  CM codling moth", "0 on 27 May     0 on 20 May", "xg damaged", "xo other"):
            assert words in shown, "the trap of the marked row and the marks stand beside the rows"
            assert f"{words}…" not in shown
        for _ in ORDER:
            await pilot.press("1", "enter")
        shown = screen_text(app)
        assert "end of the sheet:  type the paper's total; Enter shows the summary" in shown
        assert "18 rows saved" in shown
        await pilot.press("2", "7", "enter")
        assert "The paper says 27, the rows 18. Look at" in screen_text(app)
        await pilot.press("1", "8", "enter")
        assert "The paper's total, 18, is that of the rows" in screen_text(app)
        await pilot.press("l", "enter")
        assert "The sheet is at its end" in screen_text(app)
        await pilot.press("backspace", "enter")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)


async def test_what_a_row_has_no_room_for_stands_whole_below_and_more_rows_are_counted(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with sheet(app, (60, 20)) as pilot:
        app.session.due["A1"] = tuple(
            DueItem(one[0], f"{one[1:]} due, 7 d late", now=True) for one in ("rlure", "lliner")
        )
        await pilot.press("down", "up")
        shown = screen_text(app)
        assert "A1: ! lure due, 7 d late (r)  ! liner due, 7 d late (l)\n" in shown
        assert "reads as       1–12\n" in shown
        await pilot.press("4")
        assert "A1: ! lure due" not in screen_text(app), "what is typed takes its place"
        await pilot.press("enter", *["down"] * 12)
        assert screen_text(app).splitlines()[1].endswith("–18")


async def test_hostile_names_and_notes_are_only_shown(folder: Path, start: Start, tmp_path: Path) -> None:
    evil = "A[/]1"
    traps = [
        {"trap": label, "block": "A", "species": "CM", "style": "delta", "hung_on": "2031-04-22", "row": "[red]"}
        for label in (evil, "=1+1", "A3")
    ]
    routes = [{"route": "[bold]hill", "position": at, "trap": one["trap"]} for at, one in enumerate(traps, 1)]
    app = start(write_folder(tmp_path / "evil", traps=traps, routes=routes), scout="Ida [b]")
    async with sheet(app) as pilot:
        await pilot.press("4", "enter", "5", "n", "colon", *"[/]", "escape", "escape", "escape")
        assert isinstance(app.screen, DeskScreen)
        await pilot.press("t")
        await pilot.pause()
        await paste(pilot, "4 n:" + "[/]\u202e" * 3000)
        await pilot.press("enter")
        shown = screen_text(app)
        assert "\u202e" not in shown
        assert "A[/]" in shown
        assert "2 of 3" in shown


def first_flight(folder: Path) -> None:
    """Nothing two weeks ago, the first moth last week, one more to come today: two readings running set a biofix."""
    session = open_session(folder)
    days = ((date(2031, 5, 20), 0), (date(2031, 5, 27), 1))
    past(
        session,
        *(Visit(trap=trap, read_on=day, count=count if trap == "A1" else 0) for day, count in days for trap in ORDER),
    )
    session.conn.close()


async def test_a_correction_that_moves_a_biofix_says_so_first(tmp_path: Path, start: Start) -> None:
    folder = write_folder(tmp_path / "fresh")
    first_flight(folder)
    app = start(folder)
    async with sheet(app, (160, 30)) as pilot:
        for count in ("1", "0", "0", "0", "0", "0"):
            await pilot.press(count, "enter")
        await pilot.press("g", *"a1", "enter", "0", "enter")
        shown = screen_text(app)
        assert "A CM generation 1, Tue 3 Jun: biofix Tue 27 May becomes nothing" in shown
        assert on_record(app.session)["A1"] == "1"
        await pilot.press("y")
        assert on_record(app.session)["A1"] == "0"


async def test_double_entry_say_what_moves_a_biofix_and_nothing_of_what_moves_nothing(
    tmp_path: Path, start: Start
) -> None:
    folder = write_folder(tmp_path / "fresh")
    first_flight(folder)
    app = start(folder)
    async with sheet(app, (160, 30)) as pilot:
        for text in ("1", "0", "0", "0", "0", "0"):
            await pilot.press(text, "enter")
        await pilot.press("v")
        for text in ("0", "2", "0", "0o1"):
            await pilot.press(*text, "enter")
        await pilot.press("m", "1")
        await pilot.pause()
        assert isinstance(app.screen, DoubleEntryScreen)
        await pilot.press("2")
        assert "biofix Tue 27 May becomes nothing" in screen_text(app)
        assert on_record(app.session)["A1"] == "1"
        await pilot.press("escape", "down")
        await pilot.press("3", *"0 n:as on the paper", "enter")
        assert "A2 Tue 3 Jun: neither holds, settled by Ida" in screen_text(app), (
            "a note changes nothing that people act on"
        )
        await pilot.press("up", "up", "x")
        assert "biofix Tue 27 May" in screen_text(app)
        await pilot.press("escape", "down", "x")
        assert "No figure changes" in screen_text(app), "one zero of six more or less"
        await pilot.press("y")
        assert "no such row, settled by Ida" in screen_text(app)


def test_totals_at_the_foot_name_every_reason_in_sixty_columns_too() -> None:
    drafts = [Draft(count=400), Draft(count=12, others=3), None]
    drafts += [Draft(no_reading=one) for one in (NoReading.MISSING, NoReading.DOWN, NoReading.DOWN)]
    whole = totals(drafts)
    for width, said in ((60, "not read xm 1, xd 2"), (80, "not read 3 (1 missing, 2 down)")):
        lines = foot(whole, whole, width).plain.splitlines()
        assert all(line.endswith(said) and len(line) <= width for line in lines)
