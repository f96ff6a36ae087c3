"""The Season screen by its keys: blocks, years, traps, rounds; a biofix set to another day; what is missing is said."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from textual.widgets import Input

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.form import ErrorDialog
from roundtui.app.dialogs.season import BiofixDialog, TempsDialog
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.screens.season.screen import SeasonScreen
from roundtui.domain.entries import Visit
from roundtui.report.season.seasons import Seasons
from roundtui.store.season.season import SeasonRecord
from tests.app.folder import DAY, LAST_WEEK, open_session, past, screen_text, write_folder

Start = Callable[..., RoundtuiApp]

STATIONS = [{"station": "HILL", "name": "Hill"}]
BLOCKS = [
    {"block": "A", "farm": "F1", "name": "Upper", "crop": "apple", "station": "HILL"},
    {"block": "C", "farm": "F2", "name": "Long", "crop": "pear", "station": ""},
]
TRAPS = [
    {"trap": "A1", "block": "A", "species": "CM", "style": "delta", "hung_on": "2031-04-22", "down_on": "2031-05-27"},
    {"trap": "A1", "block": "A", "species": "CM", "style": "delta", "hung_on": "2031-05-27", "down_on": ""},
    {"trap": "A2", "block": "A", "species": "CM", "style": "delta", "hung_on": "2030-04-22", "down_on": ""},
    {"trap": "A3", "block": "A", "species": "OFM", "style": "delta", "hung_on": "2031-04-22", "down_on": ""},
    {"trap": "C1", "block": "C", "species": "CM", "style": "delta", "hung_on": "2031-04-22", "down_on": ""},
]
ROUTES = [{"route": "hill", "position": at, "trap": trap} for at, trap in enumerate(("A1", "A2", "A3", "C1"), 1)]
WEEKS = [date(2031, 5, day) for day in (6, 13, 20, 27)] + [DAY]


def orchard(to: Path) -> Path:
    """Two flights of five weeks; A1 was moved on 27 May; A2 caught something the year before too."""
    rows = [
        {"station": "HILL", "date": f"2031-05-{day:02}", "tmin": 50, "tmax": 70, "unit": "F"} for day in range(1, 32)
    ]
    folder = write_folder(
        to / "orchard", stations=STATIONS, blocks=BLOCKS, traps=TRAPS, routes=ROUTES, weather=rows, lures=[]
    )
    (folder / "lures.csv").unlink()
    session = open_session(folder)
    past(session, *(Visit(trap="A2", read_on=date(2030, 5, day), count=day) for day in (7, 14, 21)))
    for on, one, two in zip(WEEKS, (0, 2, 5, 9, 1), (0, 0, 3, 9, 3), strict=True):
        past(session, Visit(trap="A1", read_on=on, count=one), Visit(trap="A2", read_on=on, count=two))
    past(session, Visit(trap="A3", read_on=LAST_WEEK, count=4), Visit(trap="C1", read_on=LAST_WEEK, count=0))
    session.conn.close()
    return folder


async def see(app: RoundtuiApp, pilot: object, *keys: str) -> str:
    """Press keys, and read the screen when everything on it is there."""
    await pilot.press(*keys)  # type: ignore[attr-defined]
    await pilot.pause()  # type: ignore[attr-defined]
    while reading := [worker for worker in app.workers if not worker.is_finished]:
        await app.workers.wait_for_complete(reading)
        await pilot.pause()  # type: ignore[attr-defined]
    return screen_text(app)


async def test_one_key_each_for_block_species_year_trap_and_round(tmp_path: Path, start: Start) -> None:
    app = start(orchard(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        text = await see(app, pilot, "d")
        assert "CM 2031  mean  A Upper, Fernhollow" in text
        assert "─ ▒│ Round of Tue 3 Jun ──" in text
        assert " 2.0 a trap a week: 4 moths, 2 traps, " in text
        assert " highest A2 3.0" in text
        assert "⠂0 2030" in text
        assert "¦ trap moved" in text
        said = "\n".join(line.strip() for line in text.splitlines())
        legend = " ".join(said[said.index("█ reading") : said.index("\n190 °F-days")].split())
        assert "¦ trap moved R reached E expected _ range P biofix proposed ╌ threshold 3–5" in legend
        assert legend.endswith(", rule CM mean"), "cut nowhere"
        assert "Biofix 1: Tue 13 May proposed, not confirmed, rule CM sustained" in text
        text = await see(app, pilot, "home")
        assert "─ ▒│ Round of Tue 6 May ──" in text
        assert " 0.0 a trap a week: 0 moths, 1 trap, 14" in text
        assert " a new series " in text
        assert "begin only on Thu 1 May " in text
        assert "trap A1" in await see(app, pilot, "tab")
        assert "OFM 2031" in await see(app, pilot, "p")
        assert "CM 2031  mean  A Upper" in await see(app, pilot, "p")
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        small = screen_text(app)
        assert "R reached E_ expected ╌ threshold 3–5" in " ".join(small.split()), (
            "at 60 columns too no mark goes unexplained"
        )
        assert "P Biofix 1: Tue 13 May proposed, not confirmed; e: more" in small
        assert "↑↓ events  m more" in small, "and no key is left out"
        assert "─ ▒│ Round of Tue 3 Jun   event " in small
        app.screen.put_head("Season  CM 2031  mean  A Upper, Fernhollow by the old mill", "Tue 3 Jun 2031 ")  # type: ignore[attr-defined]
        assert screen_text(app).startswith(" Season  CM 2031  mean  A Upper, Fernhollow by the old mill\n"), "no day"
        app.screen.put_head("Season  CM 2031  mean  A Upper, Fernhollow by the long old mill", "Tue 3 Jun 2031 ")  # type: ignore[attr-defined]
        assert screen_text(app).startswith(" CM 2031  mean  A Upper, Fernhollow by the long old mill"), "then no name"
        assert sum(line[6] in "┤│" for line in small.splitlines()[1:8]) >= 3, "the chart has rows"
        await pilot.resize_terminal(120, 36)
        assert "°F-days over 50/88 from biofix 1; solid: 2031" in await see(app, pilot)
        await pilot.resize_terminal(80, 24)
        text = await see(app, pilot, "y", "enter")
        assert "CM 2030" in text
        assert "21 moths, 1 trap, " in text
        assert "CM 2031  mean  C Long" in await see(app, pilot, "y", "enter", "b")
        text = await see(app, pilot, "d")
        assert isinstance(app.screen, ErrorDialog)
        assert "block C has no station" in text
        await see(app, pilot, "escape", "escape")
        assert isinstance(app.screen, DeskScreen)


async def test_another_day_than_the_proposed_one_needs_a_reason_and_both_stay_on_record(
    tmp_path: Path, start: Start
) -> None:
    """Proposed is 13 May, the first of two readings running. It is confirmed, then set to the 11th."""
    app = start(orchard(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot, "d", "e")
        assert isinstance(app.screen, BiofixDialog)
        assert app.screen.query_one("#day", Input).value == "2031-05-13"
        text = await see(app, pilot, "enter", "enter")
        assert "Biofix 1: Tue 13 May confirmed by Ida, rule CM sustained; e: more" in text
        await see(app, pilot, "e", "end", "backspace", "1")
        assert "say why under Reason" in await see(app, pilot, "enter", "enter", "enter")
        assert "Change this biofix?" in await see(app, pilot, *"warm", "enter", "enter")
        text = await see(app, pilot, "y")
        assert "Biofix 1: Sun 11 May set by Ida, not Tue 13 May as proposed (warm)" in text
    session = app.session
    (row,) = SeasonRecord(session.conn, session.folder, DAY, session.office).biofixes("A", "CM")
    assert (row.biofix.confirmed, row.settled[0].replaces is not None) == (date(2031, 5, 11), True)


async def test_temperatures_that_cannot_be_are_refused_in_the_dialog(tmp_path: Path, start: Start) -> None:
    app = start(orchard(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot, "d", "d")
        assert isinstance(app.screen, TempsDialog)
        assert "Save 60 and (minimum) F on" in await see(app, pilot, *"60", "tab")
        assert "the minimum 70 is above the" in await see(app, pilot, *"70", "enter", "enter")
        assert isinstance(app.screen, TempsDialog)
        # A °C thermometer in a °F office: far from the station's past, so it is asked once.
        await see(app, pilot, "shift+tab", *"16", "tab", *"5", "enter", "enter")
        assert "°C it fits" in await see(app, pilot)
        await see(app, pilot, "y")
        assert isinstance(app.screen, SeasonScreen)


async def test_a_faulty_models_file_is_told_at_the_desk_and_opens_no_season(tmp_path: Path, start: Start) -> None:
    folder = orchard(tmp_path)
    (folder / "models.toml").write_text("[[model]\n", encoding="utf-8")
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        assert "! models.toml" in await see(app, pilot)
        await see(app, pilot, "d")
        assert isinstance(app.screen, ErrorDialog)


async def test_the_desk_says_what_the_next_ten_days_bring(tmp_path: Path, start: Start) -> None:
    app = start(orchard(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        text = await see(app, pilot)
        assert "Biofix to confirm (1): A CM" in text
        await see(app, pilot, "d", "e", "enter")
        assert "Biofix to confirm" not in await see(app, pilot, "escape")


async def test_biofixes_to_confirm_are_gone_through_block_by_block(tmp_path: Path, start: Start) -> None:
    """C flies a week before A: Enter on the row shows the first, a biofix that is confirmed leads to the next."""
    folder = orchard(tmp_path)
    session = open_session(folder)
    past(session, *(Visit(trap="C1", read_on=on, count=count) for on, count in zip(WEEKS[:3], (0, 2, 3), strict=True)))
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        assert "Biofix to confirm (2): A CM, C CM" in await see(app, pilot)
        assert isinstance(app.screen, DeskScreen)
        rows = [(part, row) for part, one in enumerate(app.screen.board.parts) for row in range(len(one.rows))]
        app.screen.board.at = rows[-1]
        assert "mean  A Upper, Fernhollow           biofix to confirm, 1 of 2" in await see(app, pilot, "enter")
        assert "C Long, " in await see(app, pilot, "b"), "the other one to confirm, whatever else hangs in between"
        assert "A Upper, " in await see(app, pilot, "b")
        text = await see(app, pilot, "e", "enter", "enter")
        assert "C Long, " in text
        assert "Saved: biofix of A CM, generation 1" in text
        await see(app, pilot, "e", "enter", "enter")
        assert "Biofix to confirm" not in await see(app, pilot, "escape")


async def test_what_another_process_adds_shows_when_the_season_is_opened(tmp_path: Path, start: Start) -> None:
    """A2: 6 in six days, 3 in one, are 9 in seven."""
    folder = orchard(tmp_path)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot)
        other = open_session(folder, scout="Ben")
        past(other, Visit(trap="A2", read_on=date(2031, 6, 2), count=6), scout="Ben")
        other.conn.close()
        assert "5.0 a trap a week: 10 moths, 2 traps" in await see(app, pilot, "d")


async def test_a_season_is_opened_again_as_it_was_until_something_changes(
    tmp_path: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = orchard(tmp_path)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot)
        before = await see(app, pilot, "d", "left")
        with monkeypatch.context() as patched:
            patched.setattr(Seasons, "picture", lambda *_: 1 / 0)
            assert await see(app, pilot, "escape", "d", "left") == before, "nothing is read"
        other = open_session(folder, scout="Ben")
        past(other, Visit(trap="A2", read_on=date(2031, 6, 2), count=6), scout="Ben")
        other.conn.close()
        assert "5.0 a trap a week: 10 moths, 2 traps" in await see(app, pilot, "escape", "d")
        (folder / "models.toml").write_text("[[model]\n", encoding="utf-8")
        await see(app, pilot, "escape", "d")
        assert isinstance(app.screen, ErrorDialog), "a file of the office counts as well"
