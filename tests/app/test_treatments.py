"""Treatments at the keyboard: told on the walk, told three weeks late, corrected, withdrawn, marked in the season."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.season import TreatmentDialog
from roundtui.app.screens.season.screen import SeasonScreen
from roundtui.domain.entries import TreatmentSaid, Visit
from roundtui.report.charts import svg
from roundtui.report.letters.desk import LetterDesk
from roundtui.store.record.observations import present
from roundtui.store.record.read import programme
from roundtui.store.record.rows import TREATMENTS
from roundtui.store.session import Session
from tests.app.folder import DAY, Ticks, on_record, open_session, past, screen_text, write_folder
from tests.app.settle import burst, settle
from tests.app.test_season import see

Start = Callable[..., RoundtuiApp]
FLIES = (2, 2, 3, 3)
"""Apple maggots on each of two spheres, week by week; the last week ends on the day."""


def flies(to: Path) -> Path:
    """A block of two spheres: 2, 4, 7 and 10 flies a trap, so over 5 on the last two rounds."""
    traps = [
        {"trap": trap, "block": "A", "species": "AM", "style": "sphere", "hung_on": "2031-05-06"}
        for trap in ("S1", "S2")
    ]
    routes = [{"route": "hill", "position": at, "trap": trap} for at, trap in enumerate(("S1", "S2"), 1)]
    folder = write_folder(to / "flies", traps=traps, routes=routes, lures=[{"lot": "AM1", "species": "AM"}])
    session = open_session(folder)
    for weeks, count in zip((3, 2, 1, 0), FLIES, strict=True):
        on = DAY - timedelta(days=7 * weeks)
        past(session, *(Visit(trap=trap, read_on=on, count=count) for trap in ("S1", "S2")))
    session.conn.close()
    return folder


def said(session: Session) -> list[TreatmentSaid]:
    return present(session.conn, TREATMENTS, date(2031, 1, 1), DAY)


def words(app: RoundtuiApp) -> str:
    """What the terminal shows as one line; where a dialog stands, what is inside its borders and those of fields."""
    lines = [line.strip() for line in screen_text(app).splitlines()]
    inside = [line for line in lines if line.startswith("┃") and line.endswith("┃")]
    return " ".join(re.sub("[┃│]", " ", " ".join(inside or lines)).split())


async def test_a_treatment_is_told_on_the_walk_and_what_is_typed_stays(folder: Path, start: Start) -> None:
    """Block and species are those of the trap: t, the day, then Enter through the lines."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "escape", "4", "t")
        assert isinstance(app.screen, TreatmentDialog)
        await pilot.press("s", "a", "t")
        shown = words(app)
        assert "Block A Pest CM" in shown
        assert "Sat 31 May 2031" in shown
        assert "Reported by Isolde Pipkin" in shown
        assert "not advice" in shown
        assert "re-entry and pre-harvest intervals hold" in shown
        await see(app, pilot, *["enter"] * 3)
        assert said(app.session) == []
        await see(app, pilot, "enter")
        assert "Saved: A treated against CM on 2031-05-31" in screen_text(app)
        await pilot.press("enter")
    (one,) = said(app.session)
    assert (one.block, one.species, one.treated_on, one.said_by, one.scout) == (
        *("A", "CM", date(2031, 5, 31), "Isolde Pipkin"),
        "Ida",
    )
    assert on_record(app.session)["A1"] == "4"


async def test_a_treatment_told_two_weeks_late_says_what_it_changes_first(tmp_path: Path, start: Start) -> None:
    """Treated on 20 May: the sum begins anew on the 21st. On 27 May it is 3 flies a trap, no more over 5; on 3 June it
    is 6, over still."""
    app = start(flies(tmp_path))
    session = app.session
    desk = LetterDesk(session)
    desk.write(desk.read(), {"F1": ""})
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot, "s", "t")
        await see(app, pilot, "enter", *"05-20", *["enter"] * 4)
        shown = words(app)
        assert "! A AM, Tue 27 May: over becomes below; the sum its rule compares, 7.0, becomes 3.0" in shown
        assert "Record the spray of Tue 20 May 2031 in A against AM?" in shown
        assert "! Fernhollow, Tue 3 Jun: the letter written on Tue 3 Jun is out of date" in shown
        assert "[y] yes" in shown
        await see(app, pilot, "enter")
        assert said(session) == [], "Enter alone is no answer"
        await see(app, pilot, "y")
        assert not isinstance(app.screen, TreatmentDialog)
        await see(app, pilot, "4")
        pages = [await see(app, pilot, "pagedown") for _ in range(8)]
        assert any("Post-treatment check" in page for page in pages)
    assert [one.treated_on for one in said(session)] == [date(2031, 5, 20)]
    letters = desk.read()
    assert [one.state.split(", ")[1] for one in letters.farms] == ["OUT OF DATE"]
    assert "a treatment against apple maggot on Tue 20 May 2031" in desk.preview(letters, "F1", 76)
    desk.write(letters, {"F1": ""})
    assert (
        "This letter replaces the one of Tue 3 Jun 2031."
        in (session.folder / "letters/letter-2031-06-03-F1.txt").read_text()
    )
    assert [one.outdated for one in desk.read().farms] == [False]


async def test_a_treatment_is_corrected_and_withdrawn_in_the_replay(tmp_path: Path, start: Start) -> None:
    app = start(flies(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot, "s", "t", *["enter"] * 5, "y")
        assert [one.treated_on for one in said(app.session)] == [DAY]
        assert "treated against AM" in await see(app, pilot, "escape", "r", "end")
        await see(app, pilot, "z")
        assert isinstance(app.screen, TreatmentDialog)
        await see(app, pilot, *["enter"] * 5)
        assert "recorded already" in words(app)
        await see(app, pilot, *["shift+tab"] * 3, *"late spray", *["enter"] * 4)
        assert "say why" in words(app)
        await see(app, pilot, *"their word", "enter", "enter", "y")
        assert [(one.words, one.reason) for one in said(app.session)] == [("late spray", "their word")]
        await see(app, pilot, "end", "u", *"not here", "enter", "enter")
        assert "[y] yes" in words(app)
        await see(app, pilot, "y")
        assert [one.words for one in said(app.session)] == [""]
        await see(app, pilot, "end", "u", *"not here", "f5", "enter", "enter", "y")
        assert said(app.session) == []


async def test_the_season_marks_the_day(tmp_path: Path, start: Start) -> None:
    app = start(flies(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot, "d", "t")
        assert isinstance(app.screen, TreatmentDialog)
        shown = await see(app, pilot, *"06-01", *["enter"] * 4, "y")
        assert isinstance(app.screen, SeasonScreen)
        assert "T treated" in shown
        assert "Saved: A treated against AM on 2031-06-01" in shown
        marked = [event for event in app.screen.chart.events if event.sign == "T"]
        assert [(event.on, event.words) for event in marked] == [
            (date(2031, 6, 1), "Treated against AM on 2031-06-01, as the grower said")
        ]
        assert marked[0].words in app.screen.chart.about
        assert marked[0].words in svg(app.screen.chart)


async def test_what_cannot_be_is_said_and_nothing_is_recorded(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot, "s", "t", *"Z", "tab", *"newts", *["enter"] * 5)
        assert "there is no block Z" in words(app)
        assert "'newts' is no species known here" in words(app)
        assert app.focused is not None
        assert app.focused.id == "block", "the first line that is wrong"
        await see(app, pilot, "escape", "y", "t", "tab", "tab", *"soon", "enter")
        assert "soon is no day" in words(app)
        await see(app, pilot, *["backspace"] * 4, *"2031-06-04", "enter")
        assert app.focused.id == "day"
        assert "2031-06-04 is still to come" in words(app)
        await see(app, pilot, *["backspace"] * 10, "tab", "tab", "tab", *"never", "enter", "enter")
        assert "never is no day from the treatment on" in words(app)
        await see(app, pilot, "escape")
    assert said(app.session) == []


async def test_the_day_of_entry_stands_on_the_walk_at_once(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "escape", "t", "tab", "tab", "tab", *"06-06")
        await see(app, pilot, "enter", "enter")
        assert "no entry before 2031-06-06" in words(app)
    assert programme(app.session.conn).blocks["A"].no_entry_before == date(2031, 6, 6)
    assert app.session.programme.blocks["A"].no_entry_before == date(2031, 6, 6)


async def test_a_held_or_stray_enter_puts_no_treatment_of_today_on_record(folder: Path, start: Start) -> None:
    ticks = Ticks()
    app = start(folder, ticks=ticks)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "escape", "t", "enter")
        assert "Day, blank: today 2031-06-03" in words(app), "a blank day is written out"
        ticks.step = 0.01
        await see(app, pilot, *["enter"] * 50)
        assert isinstance(app.screen, TreatmentDialog)
        await see(app, pilot, "escape")
    assert said(app.session) == []


async def test_a_form_typed_in_one_burst_is_filled_line_by_line(folder: Path, start: Start) -> None:
    """Seventy keys at once, from the letter that opens the form to the count of the trap behind it: no key lands in the
    line or on the screen that the one before it leaves, and a slip is taken back where it was made."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "escape")
        burst(app, "t", *"2031-05-32", "backspace", "0", "enter", *"Soaap", "backspace", "backspace", "p", "enter")
        burst(app, *"2031-06-01", "enter", *["up"] * 3, "end", *" twice", "enter", "enter", "5", "enter")
        await settle()
    (one,) = said(app.session)
    assert (one.treated_on, one.words, one.said_by) == (date(2031, 5, 30), "Soap twice", "Isolde Pipkin")
    assert on_record(app.session)["A1"] == "5"


async def test_a_question_longer_than_the_terminal_is_read_on_before_it_is_answered(folder: Path, start: Start) -> None:
    app, done = start(folder), list[str]()
    async with app.run_test(size=(60, 20)) as pilot:
        said = [(f"Block {at}: within becomes below", at == 1) for at in range(1, 31)]
        app.screen.ask("Record the spray?", said, lambda: done.append("yes"))  # type: ignore[attr-defined]
        await see(app, pilot)
        assert "[y] yes [Esc] no PgDn 16 more" in words(app)
        await see(app, pilot, "pagedown", "pagedown")
        assert "Block 30: within becomes below [y] yes [Esc] no PgUp reads back" in words(app)
        await see(app, pilot, "pageup", "pageup")
        assert "! Block 1: within becomes below" in words(app)
        await see(app, pilot, "y")
    assert done == ["yes"]
