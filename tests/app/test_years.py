"""Year against year on screen: by calendar and by degree-days, of a block and of the area, as a table and as curves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.form import ErrorDialog
from roundtui.app.screens.season.screen import SeasonScreen
from roundtui.app.screens.years.screen import YearsScreen
from roundtui.domain.season.years import By
from roundtui.errors import StoreError
from roundtui.report.text import figure
from roundtui.store.season.years import YearsRecord
from tests.app.test_season import orchard, see

Start = Callable[..., RoundtuiApp]


async def test_one_key_lays_the_season_beside_the_one_before_and_names_what_cannot_be_compared(
    tmp_path: Path, start: Start
) -> None:
    """A2 caught 42 moths in the year before; A1 was moved in this one, and hung nowhere then."""
    app = start(orchard(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        text = await see(app, pilot, "d", "y")
        assert isinstance(app.screen, YearsScreen)
        assert "CM 2031  A Upper, Fernhollow" in text
        assert "by calendar" in text
        record = YearsRecord(app.session.conn, app.session.folder, app.session.on, app.session.office)
        now, past = reversed(record.of("A", "CM").seasons)
        rows = [line.split() for line in text.splitlines()]
        for year in (now, past):
            assert year.peak is not None
            assert year.caught.first is not None
            days = [f"{day.day} {day:%b}" for day in (year.caught.first, year.peak.on)]
            row = " ".join(next(row for row in rows if row[:1] == [str(year.season)]))
            assert f" {days[0]} {figure(year.peak.per_week)} █" in row
            assert f"{days[1]} {figure(year.total)} " in row
        assert "A1 was moved on Tue 27 May 2031" in " ".join(text.split())
        await pilot.resize_terminal(60, 20)
        text = await see(app, pilot)
        assert f"First: 2031 {now.caught.first.day} {now.caught.first:%b}, 2030 " in text, (
            "below where it has no column"
        )
        await pilot.resize_terminal(120, 36)
        rows = [line.split()[:1] for line in (await see(app, pilot)).splitlines()]
        assert rows[rows.index(["2031"]) + 1] == ["2030"], "rows follow each other where there is much room"
        await pilot.resize_terminal(80, 24)
        assert "by degree-days after biofix" in await see(app, pilot, "right")
        text = await see(app, pilot)
        assert "2030: no degree-days" in text
        assert "? dd so far" in text, "this season's place is not known"
        await see(app, pilot, "escape")
        assert isinstance(app.screen, SeasonScreen)


async def test_the_area_is_all_blocks_and_is_not_for_the_public(tmp_path: Path, start: Start) -> None:
    app = start(orchard(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        assert "CM 2031  C Long" in await see(app, pilot, "d", "y", "b")
        text = await see(app, pilot, "b")
        assert "CM 2031  all blocks" in text
        assert "Not for the public" in text
        now = next(line for line in text.splitlines() if line.strip().startswith("2031 "))
        assert now.split()[-3] == "3"
        assert "OFM 2031  all blocks" in await see(app, pilot, "p")
        assert "Not for the public" not in await see(app, pilot, "b")


async def test_curves_and_table_take_turns_on_a_small_screen_and_share_a_large_one(
    tmp_path: Path, start: Start
) -> None:
    app = start(orchard(tmp_path))
    async with app.run_test(size=(80, 20)) as pilot:
        table = await see(app, pilot, "d", "y")
        assert "weeks over" in table
        assert "moths a trap a week" not in table
        curves = await see(app, pilot, "tab")
        assert "moths a trap a week" in curves
        assert "Solid: 2031. Digit: its year.  ⠂0 2030" in curves
        assert "weeks over" not in curves
        await see(app, pilot, "right")
        assert "Solid: 2031. No season before can be placed." in await see(app, pilot)
        await pilot.resize_terminal(100, 40)
        both = await see(app, pilot, "right")
        assert "weeks over" in both
        assert "moths a trap a week" in both


async def test_a_past_season_that_is_looked_at_stands_beside_those_before_it(tmp_path: Path, start: Start) -> None:
    app = start(orchard(tmp_path))
    async with app.run_test(size=(80, 24)) as pilot:
        text = await see(app, pilot, "d", "y", "enter", "y")
        assert "CM 2030" in text
        assert "2031" not in text.split("year against year")[1].split("? keys")[0]


async def test_a_store_that_cannot_be_read_is_told(tmp_path: Path, start: Start, monkeypatch: object) -> None:
    app = start(orchard(tmp_path))

    def fail(*_: object) -> dict[By, object]:
        raise StoreError("the store is locked by another process", "close the other window, then try again")

    async with app.run_test(size=(80, 24)) as pilot:
        await see(app, pilot, "d")
        assert isinstance(app.screen, SeasonScreen)
        app.screen.seasons.against = fail  # type: ignore[method-assign, assignment]
        text = await see(app, pilot, "y")
        assert isinstance(app.screen, ErrorDialog)
        assert "The years cannot be read" in text
