"""Leaf and fruit samples on the screen: how few keys they take, what stands on record, and what outlives a crash."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import date, timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.desk.screen import DeskScreen
from roundtui.app.screens.help.screen import HelpScreen
from roundtui.app.screens.sample.screen import SampleScreen
from roundtui.app.screens.walk.screen import WalkScreen
from roundtui.app.widgets.count_input import CountInput
from roundtui.domain.entries import Sample, SampleKind, Visit
from roundtui.domain.sampling.data import SHIPPED_SAMPLES
from roundtui.errors import StoreError
from roundtui.store.record import journal
from roundtui.store.record.observations import read_observations
from roundtui.store.sampling import SampleKeeper
from tests.app.folder import DAY, LAST_WEEK, Ticks, open_session, past, screen_text

Start = Callable[..., RoundtuiApp]


@asynccontextmanager
async def looking(app: RoundtuiApp, block: str = "A") -> AsyncIterator[Pilot[int]]:
    async with app.run_test(size=(80, 24)) as pilot:
        await app.screen.open_screen("sample", block)
        await pilot.pause()
        assert isinstance(app.screen, SampleScreen)
        yield pilot


def on_record(app: RoundtuiApp) -> list[Sample]:
    return list(read_observations(app.session.conn, date(2031, 1, 1), DAY).samples)


def number_of(app: RoundtuiApp, code: str, kind: SampleKind = SampleKind.LEAF) -> str:
    """The digit that chooses something in the list."""
    offers = app.screen.offers  # type: ignore[attr-defined]
    at = next(at for at, one in enumerate(offers) if (one.sought.code, one.sought.kind) == (code, kind))
    assert at < 9
    return str(at + 1)


@pytest.mark.parametrize("found", [0, 3])
async def test_a_leaf_sample_of_a_hundred_takes_its_finds_and_two_keys(folder: Path, start: Start, found: int) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "ERM"))
        keys = [*["f"] * found, "enter", "enter"]
        assert len(keys) <= found + 2
        await pilot.press(*keys)
        (sample,) = on_record(app)
        assert (sample.looked, sample.found, sample.pest, sample.block) == (100, found, "ERM", "A")
        assert (sample.plan, sample.scout, sample.device) == ("mites-penn-early-summer", "Ida", "truck")
        assert "Saved: European red mite" in screen_text(app)


async def test_a_fruit_sample_takes_its_finds_and_how_many_were_checked_and_starts_where_the_catch_is_highest(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    past(app.session, Visit(trap="A5", read_on=DAY - timedelta(days=1), count=12))
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "", SampleKind.FRUIT))
        # Twelve moths in the six days since the reading of last week are 14 a week.
        assert (DAY - LAST_WEEK).days - 1 == 6
        assert "Start at trap A5: CM 14.0 a week, the highest" in screen_text(app)
        assert "count fruit, not larvae" in " ".join(screen_text(app).split())
        assert "Type how many fruit were checked, then Enter" in screen_text(app)
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        assert "(m 2: " in screen_text(app), "another plan is to be had"
        assert app.screen.max_scroll_y == 0, "the caution and the keys are whole in a small window too"
        assert "It is not spray advice." in " ".join(screen_text(app).split())
        await pilot.resize_terminal(80, 24)
        await pilot.press(*"ejjo", "enter")
        assert "How many fruit were checked?" in screen_text(app), "a blank Enter claims no fruit"
        await pilot.press(*"500", "enter", "enter")
        (sample,) = on_record(app)
        assert (sample.kind, sample.looked, sample.found) == (SampleKind.FRUIT, 500, 2)
        assert (sample.entries, sample.stings, sample.other_injury) == (1, 2, 1)


async def test_the_second_sample_of_a_block_has_its_cursor_as_the_first_had(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "ERM"), "f", "enter", "enter")
        assert "Saved: European red mite" in screen_text(app)
        await pilot.press(number_of(app, "OBLR"), "f")
        await pilot.pause()
        assert app.screen.query_one(CountInput).has_focus


async def test_the_running_verdict_stands_while_it_is_counted(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "OBLR"), "f", "f")
        assert "LOOK ON: 90 SHOOTS" in screen_text(app)
        await pilot.press("6", "0", "enter")
        assert "30 MORE" in screen_text(app)
        assert "Enter: 90 shoots checked" in screen_text(app)
        assert "checked 60     0 ──────── 60 ●─────── 90 ──────── 100" in screen_text(app)
        await pilot.press("enter")
        assert "STOP: BELOW" in screen_text(app)
        assert "Enter: save" in screen_text(app)
        assert "2.2 % (0.3 to 7.8 % if picked one by one)" in screen_text(app)
        await pilot.press("f", "f")
        assert "STOP: OVER" in screen_text(app)
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        assert "paperzz.com/doc/8317559." in screen_text(app), "the source is whole where lines are free"
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        await pilot.press("backspace")
        assert "10 MORE" in screen_text(app)
        assert "not spray advice" in screen_text(app)
        assert "University of Maine" in screen_text(app)


async def test_without_a_plan_published_the_interval_is_given(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press("n", *"soot [red]", "enter", "f", "4", "0", "enter")
        shown = screen_text(app)
        assert "NO PLAN" in shown
        assert "2.5 % (0.1 to 13.2 % if picked one by one)" in shown
        assert "Soot [red]" in shown
        await pilot.press("enter")
        assert [sample.pest for sample in on_record(app)] == ["soot [red]"]
        assert "soot [red], 1 of 40 leaves; no plan" in screen_text(app)


async def test_what_was_counted_outlives_a_crash_key_by_key(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "ERM"), "f", "h", "1", "2", "enter", "f", "m", "5", "3")
        # Nothing is closed: another process sees what this one has on the disk.
        other = open_session(folder)
        (draft,) = SampleKeeper(other).drafts
        assert (draft.marks, draft.grade, draft.block) == (("f", "f12", "f"), 3, "A")
        other.conn.close()
    again = start(folder)
    async with looking(again) as pilot:
        assert "go on: European red mite, 3 found" in screen_text(again)
        await pilot.press("enter")
        assert "found 3" in screen_text(again)
        await pilot.press("f", "enter", "enter")
        (sample,) = on_record(again)
        assert (sample.found, sample.grade) == (4, 3)
        assert SampleKeeper(again.session).drafts == []


async def test_a_sample_that_was_begun_is_given_up_only_by_two_keys(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "ERM"), "f", "escape")
        assert "What was counted is kept" in screen_text(app)
        offers = app.screen.offers  # type: ignore[attr-defined]
        assert [one.sought.code for one in offers].count("ERM") == 1
        await pilot.press("x", "enter")
        assert len(SampleKeeper(app.session).drafts) == 1
        await pilot.press("y")
        assert SampleKeeper(app.session).drafts == []
        assert "Discarded" in screen_text(app)
        assert on_record(app) == []


async def test_a_sample_is_corrected_and_both_stay_on_record(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press("z")
        assert "You have no sample" in screen_text(app)
        await pilot.press(number_of(app, "", SampleKind.FRUIT), *"ejofm45", "enter", *"500", "enter", "enter")
        (first,) = on_record(app)
        await pilot.press("z")
        assert "corrected" in screen_text(app)
        assert "injured 3   entries 1   other 1   stings apart 1   checked 500   trees 5" in screen_text(app)
        await pilot.press("e", *"500", "enter", "enter")
        (now,) = on_record(app)
        assert (now.found, now.entries, now.stings, now.trees) == (4, 2, 1, 5)
        assert (now.replaces, now.reason) == (first.id, "corrected in the sample")
        everything = app.session.conn.execute("SELECT count(*) FROM samples").fetchone()
        assert everything == (2,)


async def test_what_was_looked_for_last_stands_first(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        first = [one.sought.code for one in app.screen.offers]  # type: ignore[attr-defined]
        assert first[0] == SHIPPED_SAMPLES[0].code
        await pilot.press(number_of(app, "OBLR"), "enter", "enter")
        again = [one.sought.code for one in app.screen.offers]  # type: ignore[attr-defined]
        assert again[0] == "OBLR"


async def test_a_held_enter_records_nothing(folder: Path, start: Start) -> None:
    ticks = Ticks()
    app = start(folder, ticks=ticks)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "ERM"), "f")
        ticks.step = 0.03
        await pilot.press(*["enter"] * 6)
        assert on_record(app) == []
        assert "Enter is held" in screen_text(app)
        ticks.step = 2.0
        await pilot.press("enter")
        assert [sample.looked for sample in on_record(app)] == [100]


async def test_a_store_that_cannot_be_written_keeps_what_was_counted(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = start(folder)

    def refuse(*_: object, **__: object) -> None:
        raise StoreError("the disk is full", "make room")

    async with looking(app) as pilot:
        await pilot.press(number_of(app, "ERM"), "f", "enter")
        with monkeypatch.context() as patched:
            patched.setattr(journal, "record", refuse)
            await pilot.press("enter")
            await pilot.pause()
            assert "the disk is full" in screen_text(app)
            await pilot.press("enter")
        assert on_record(app) == []
        await pilot.press("enter")
        assert len(on_record(app)) == 1


async def test_a_long_name_gives_way_to_what_was_found(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "OBLR"), "f", "f", "escape")
        assert ", 2 found, not saved" in screen_text(app)
        await pilot.press("enter", "enter", "enter")
        assert ", 2 of 90 shoots; stop: below" in screen_text(app)


async def test_from_a_round_what_is_typed_stays_and_the_block_is_that_of_the_trap(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", "enter", "4", "l", "a")
        await pilot.pause()
        assert isinstance(app.screen, SampleScreen)
        assert "block A Upper" in screen_text(app)
        await pilot.press("question_mark")
        await pilot.pause()
        assert isinstance(app.screen, HelpScreen)
        await pilot.press("escape")
        await pilot.press(number_of(app, "ERM"), "f", "enter", "enter", "escape")
        await pilot.pause()
        assert isinstance(app.screen, WalkScreen)
        shown = screen_text(app)
        assert "Saved: European red mite, 1 of 100 leaves" in shown
        assert "[x] l liner" in shown
        await pilot.press("enter")
        assert app.session.visits("A1")[-1].count == 4


async def test_from_the_desk_a_block_is_chosen(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("a")
        await pilot.pause()
        assert "Which block?" in screen_text(app)
        await pilot.press("3")
        assert "Gorsebank   block C Long, pear" in screen_text(app)
        assert all("apple" not in one.sought.crops or "pear" in one.sought.crops for one in app.screen.offers)  # type: ignore[attr-defined]
        await pilot.press("escape")
        assert "Which block?" in screen_text(app)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, DeskScreen)


async def test_a_block_that_may_not_be_entered_says_so(folder: Path, start: Start) -> None:
    app = start(folder)
    blocks = app.session.programme.blocks
    from dataclasses import replace

    closed = replace(blocks["A"], no_entry_before=DAY + timedelta(days=1))
    app.session.programme = replace(app.session.programme, blocks={**blocks, "A": closed})
    async with looking(app):
        assert "! no entry before Wed 4 Jun" in screen_text(app)


async def test_stray_enters_after_a_sample_put_no_empty_one_beside_it(folder: Path, start: Start) -> None:
    ticks = Ticks()
    app = start(folder, ticks=ticks)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "OBLR"), "f", "f", "enter", "enter")
        assert [(sample.looked, sample.found) for sample in on_record(app)] == [(90, 2)]
        await pilot.press("enter")
        assert "Sampled already today: 2 of 90 shoots" in screen_text(app)
        await pilot.press("enter", "enter", "enter")
        assert app.screen_stack[-2].now is None, "Enter alone is no yes"  # type: ignore[attr-defined]
        await pilot.press("escape", "down", "up", "enter", "y")
        assert app.screen.now is not None  # type: ignore[attr-defined]


async def test_a_sample_of_another_kind_or_block_is_begun_with_one_enter(folder: Path, start: Start) -> None:
    app = start(folder)
    async with looking(app) as pilot:
        await pilot.press(number_of(app, "OBLR"), "enter", "enter")
        await pilot.press(number_of(app, "ERM"))
        assert app.screen.now is not None  # type: ignore[attr-defined]
    app = start(folder)
    async with looking(app, "B") as pilot:
        await pilot.press(number_of(app, "OBLR"))
        assert app.screen.now is not None  # type: ignore[attr-defined]
