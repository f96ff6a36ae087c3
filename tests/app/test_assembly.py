"""Traps assembled and hung, taken down and put away, on the keys of the app."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.assembly.screen import AssemblyScreen
from roundtui.app.screens.season_close.screen import SeasonCloseScreen
from roundtui.cli import main
from roundtui.domain.entries import Assembled, NoReading, PartKind, PartNoted, PartState, Visit
from roundtui.domain.traps.assembly import Whereabouts
from roundtui.store.record import journal
from roundtui.store.record.observations import present
from roundtui.store.record.rows import ASSEMBLIES, PARTS
from roundtui.store.traps.parts import known_on
from tests.app.folder import DAY, open_session, past, screen_text, write_folder

Start = Callable[..., RoundtuiApp]
BEFORE = {
    "block": "A",
    "species": "CM",
    "style": "delta",
    "hung_on": "2030-04-22",
    "down_on": "2030-09-10",
    "lot": "CM1",
}


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """Three traps of last season and their bodies, put away; a wrong lure hung a week in the third."""
    folder = write_folder(
        tmp_path / "farm",
        traps=[
            BEFORE | {"trap": "A1", "body_label": "K1"},
            BEFORE | {"trap": "A2", "body_label": "K2"},
            BEFORE | {"trap": "A3", "body_label": "K3"},
            BEFORE
            | {"trap": "C1", "block": "C", "species": "OFM", "lot": "OFM1", "style": "bucket", "body_label": "K9"},
            {
                "trap": "B1",
                "block": "B",
                "species": "CM",
                "style": "delta",
                "hung_on": "2031-04-22",
                "body_label": "K7",
            },
        ],
        routes=[{"route": "hill", "position": 1, "trap": "B1"}],
    )
    session = open_session(folder)
    at = datetime(2030, 9, 11, tzinfo=UTC)
    ida = journal.Author("Ida", "truck")
    wrong = [Visit(trap="A3", read_on=date(2030, 6, n), count=1, lure=lot) for n, lot in ((1, "OFM1"), (8, "CM1"))]
    away = [
        PartNoted(
            label=label,
            part=PartKind.BODY,
            species=species,
            state=PartState.STORED,
            noted_on=date(2030, 9, 11),
            place="shed, left",
        )
        for label, species in (("K1", "CM"), ("K2", "CM"), ("K3", "CM"), ("K9", "OFM"))
    ]
    journal.record(session.conn, [*wrong, *away], ida, at)
    session.conn.close()
    return folder


def assembled(app: RoundtuiApp) -> list[Assembled]:
    return present(app.session.conn, ASSEMBLIES, date.min, date.max)


async def test_a_proposed_trap_is_assembled_with_enter_alone(shed: Path, start: Start) -> None:
    app = start(shed)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("u")
        assert isinstance(app.screen, AssemblyScreen)
        shown = screen_text(app)
        assert "4 to assemble, 0 to hang" in shown
        assert "> A1" in shown
        assert "CM, stored since 11 Sep 2030" in shown
        assert "gloves" in shown
        await pilot.press("enter", "enter", "enter")
        assert "A1 is assembled: K1, lot CM1" in screen_text(app)
        assert "> A2" in screen_text(app)
        await pilot.press("enter", "enter", "enter")
    assert [(one.trap, one.body_label, one.lot, one.despite) for one in assembled(app)] == [
        *(("A1", "K1", "CM1", ""), ("A2", "K2", "CM1", "")),
    ]


async def test_what_speaks_against_it_is_named_and_wants_a_reason(shed: Path, start: Start) -> None:
    app = start(shed)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("u", "down", "down")
        assert "> A3" in screen_text(app)
        shown = screen_text(app)
        assert "! the body bears no label" in shown, "a contaminated body is not proposed"
        await pilot.press("enter", *"k3")
        assert "! body" not in screen_text(app), "a label half typed is nobody's"
        await pilot.press("enter")
        assert "! body K3 held a lure for OFM, and plastic keeps the scent" in screen_text(app)
        await pilot.press(*"ofm1")
        assert "! lot" not in screen_text(app)
        await pilot.press("enter")
        assert "! lot OFM1 attracts OFM" in screen_text(app)
        await pilot.press("enter")
        assert "Give the reason for the override" in screen_text(app)
        assert assembled(app) == []
        await pilot.press(*"no other", "enter")
        assert "A3 is assembled: K3, lot OFM1" in screen_text(app)
        await pilot.press("escape", *["down"] * 9)
        rows = screen_text(app).splitlines()
        at = next(at for at, line in enumerate(rows) if "> A3" in line)
        assert "…" in rows[at], "one line"
        assert rows[at + 1].strip().startswith("assembled all the same: K3, lot OFM1, "), "and whole below"
    (one,) = assembled(app)
    assert (one.trap, one.body_label, one.lot, one.despite) == ("A3", "K3", "OFM1", "no other")


async def test_five_things_against_one_trap_are_all_in_sight(shed: Path, start: Start) -> None:
    app = start(shed)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("u", "down", "down", "down", "enter", *"k3", "enter", "enter", "enter", *"cm1", "enter")
        lines = [line.strip() for line in screen_text(app).splitlines()]
        assert [line for line in lines if line.startswith("!")] == [
            "! body K3 is for CM, not for OFM",
            "! body K3 held a lure for CM, and plastic keeps the scent",
            "! the funnel bears no label: its history is unknown",
            "! the lid bears no label: its history is unknown",
            "! lot CM1 attracts CM: the body is contaminated even if it is taken out again",
        ]
        assert lines[-2].startswith("Enter next")
    assert assembled(app) == []


async def test_a_label_that_nobody_knows_is_asked_for_its_species(shed: Path, start: Start) -> None:
    app = start(shed)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("u", *"Z5", "enter")
        assert "Species" in screen_text(app)
        await pilot.press("x", "enter")
        assert "is no species that is known" in screen_text(app)
        await pilot.press("backspace", *"ofm", "enter", *"K50", "enter")
        assert "a new label" in screen_text(app)
        await pilot.press("enter")
    (one,) = assembled(app)
    assert (one.trap, one.species, one.body_label, one.lot) == ("Z5", "OFM", "K50", "OFM1")


async def test_a_trap_assembled_is_hung_by_a_change_of_the_register(shed: Path, start: Start) -> None:
    app = start(shed)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("u", "enter", "enter", "enter", "escape", *["down"] * 4)
        shown = screen_text(app)
        assert "> A1" in shown
        assert "assembled: K1, lot CM1, Tue 3 Jun" in shown
        await pilot.press("enter")
        await pilot.pause()
        assert "Hang A1 (CM): K1, lot CM1" in screen_text(app)
        await pilot.press("x", "pagedown", "enter")
        assert "There is no block x" in screen_text(app)
        await pilot.press("backspace", "b", "pagedown", "enter")
        await pilot.pause()
        assert "A1 hangs in block B from Tue 3 Jun on" in screen_text(app)
        assert "0 to hang" in screen_text(app)
        assert app.session.programme.hanging("A1", DAY) is not None
        await pilot.press("m", "c")
        assert isinstance(app.screen, SeasonCloseScreen), "after a question letters are keys again"
        await pilot.press("escape", "a", *"A2", "enter")
        assert "K2" in screen_text(app)
        await pilot.press("escape", "escape", "escape", "e", "g", *"A1", "enter")
        await pilot.pause()
        assert "Last hung by Ida, Tue 3 Jun" in screen_text(app), "nothing was restored: a new series begins"
    row = app.session.programme.hangings["A1"][-1]
    assert (row.block, row.body_label, row.lot, row.hung_on) == ("B", "K1", "CM1", DAY)


async def test_a_planned_trap_hangs_from_the_day_it_is_hung(tmp_path: Path, start: Start) -> None:
    planned = {"trap": "P1", "block": "C", "species": "OFM", "style": "delta", "hung_on": "2031-06-20", "row": "7"}
    folder = write_folder(tmp_path / "farm", traps=[planned], routes=[{"route": "hill", "position": 1, "trap": "P1"}])
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("u")
        assert "to hang on Fri 20 Jun" in screen_text(app)
        await pilot.press("enter", *"K40", "enter", "enter")
        assert "None left to assemble: Enter hangs" in screen_text(app)
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("pagedown", "enter")
        await pilot.pause()
        assert "P1 hangs in block C from Tue 3 Jun on" in screen_text(app)
    (row,) = app.session.programme.hangings["P1"]
    assert (row.hung_on, row.row, row.body_label, row.lot) == (DAY, "7", "K40", "OFM1")


async def test_a_trap_that_is_gone_is_lost_with_its_parts_and_labels_of_people_are_harmless(
    tmp_path: Path, start: Start
) -> None:
    body = "[/] [b]"
    here = {"trap": "[red]", "block": "C", "species": "OFM", "hung_on": "2031-04-20", "body_label": body}
    stop = {"route": "hill", "position": 1, "trap": "[red]"}
    folder = write_folder(tmp_path / "farm", traps=[here], routes=[stop])
    session = open_session(folder)
    sought = Visit(trap="[red]", read_on=date(2031, 5, 27), no_reading=NoReading.MISSING)
    past(session, Visit(trap="[red]", read_on=date(2031, 5, 20), count=1), sought)
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("c")
        assert f"> [red]      OFM   C, hill        {body}  ! missing since Tue 27 May" in screen_text(app)
        await pilot.press("2")
        assert "It is recorded as lost, and the trap is taken down" in screen_text(app)
        assert present(app.session.conn, PARTS, DAY, DAY) == []
        await pilot.press("y")
        assert "[red] is down, 1 part noted as lost" in screen_text(app)
        await pilot.press("escape", "u")
        assert "> [red]" in screen_text(app)
        await pilot.press("enter", *body, "enter")
        assert f"! body {body} was lost on Tue 3 Jun 2031" in screen_text(app)


async def test_a_trap_is_taken_down_and_its_parts_put_away_with_one_key(shed: Path, start: Start) -> None:
    app = start(shed)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("c")
        assert isinstance(app.screen, SeasonCloseScreen)
        shown = screen_text(app)
        assert "0 of 1 traps down this season, 1 part about" in shown
        assert "Parts go to: nowhere named; e" in shown
        assert "> B1" in shown
        assert re.search(r"K3 .* ! smells of OFM", shown)
        assert "Gloves" in shown
        await pilot.press("e")
        await pilot.pause()
        await pilot.press(*"barn", "enter")
        await pilot.pause()
        await pilot.press("1")
        assert "Traps that hang: 1. One that is down is read no more" in screen_text(app)
        await pilot.press("y")
        assert "B1 is down, 1 part put away in barn" in screen_text(app)
        assert "1 of 1 traps down" in screen_text(app)
        await pilot.press("1")
        assert "3 discards the body" in screen_text(app)
        await pilot.press("escape")
        assert len(present(app.session.conn, PARTS, DAY, DAY)) == 1
        await pilot.press("u", "y")
        assert "B1: withdrawn" in screen_text(app)
        assert app.session.programme.hangings["B1"][-1].down_on is None, "one series as before"
        assert present(app.session.conn, PARTS, DAY, DAY) == []
        await pilot.press("up", "up", "1", "y", "down")
        await pilot.press("3", "y")
        assert "K3, 1 part discarded" in screen_text(app)
    parts = known_on(app.session.conn, DAY).parts
    assert (parts[PartKind.BODY, "K7"].state, parts[PartKind.BODY, "K7"].place) == (Whereabouts.STORED, "barn")
    assert parts[PartKind.BODY, "K3"].state is Whereabouts.DISCARDED
    assert app.session.programme.hangings["B1"][-1].down_on == DAY


async def test_nobody_assembles_or_takes_down_without_a_name(shed: Path, start: Start) -> None:
    app = start(shed)
    async with app.run_test(size=(120, 36)) as pilot:
        app.session.scout = ""
        await pilot.press("c", "1", "y")
        await pilot.pause()
        assert "your name is not known" in screen_text(app)
        await pilot.press("escape", "escape", "u", "enter", "enter", "enter")
        await pilot.pause()
        assert "your name is not known" in screen_text(app)
    assert app.session.programme.hangings["B1"][-1].down_on is None
    assert assembled(app) == []


async def test_the_seasons_end_is_written_from_the_close_as_by_command(shed: Path, start: Start) -> None:
    session = open_session(shed)
    past(session, Visit(trap="B1", read_on=DAY, count=3))
    session.conn.close()
    app = start(shed)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("c", "w")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Written in season-end: 3 reports, each as text, page and JSON" in screen_text(app)
    by_command = shed.parent / "elsewhere"
    done = CliRunner().invoke(main, ["season-end", str(shed), "--on", DAY.isoformat(), "--to", str(by_command)])
    assert done.exit_code == 0, done.output
    written = {path.name: path.read_bytes() for path in (shed / "season-end").iterdir()}
    assert written == {path.name: path.read_bytes() for path in by_command.iterdir()}
    assert sorted(written)[:3] == ["season-2031-F1.html", "season-2031-F1.json", "season-2031-F1.txt"]
    assert b"1 reading, 3 moths counted" in written["season-2031-programme.txt"]
