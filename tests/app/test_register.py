"""The register by keys: a trap moved, taken down and reverted, a route in another order, a block that is closed."""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from time import sleep

import pytest

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.register.screen import RegisterScreen, RowHistoryScreen
from roundtui.app.screens.register.view import detail
from roundtui.domain.entries import Visit
from roundtui.domain.figures.rules import SHIPPED_RULES
from roundtui.store.connect import go_on
from roundtui.store.office import read_office
from roundtui.store.reports import read_letters_office
from roundtui.store.set_up import load
from tests.app.folder import DAY, ORDER, past, screen_text, write_folder
from tests.app.settle import burst

Start = Callable[..., RoundtuiApp]


def hangings(app: RoundtuiApp, trap: str) -> list[tuple[str, str, str, str]]:
    return [
        (row.block, row.row, str(row.hung_on), str(row.down_on or "")) for row in app.session.programme.hangings[trap]
    ]


async def test_a_trap_is_moved_by_keys_read_in_its_new_place_and_reverted_from_its_history(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e")
        assert isinstance(app.screen, RegisterScreen)
        assert "18 traps" in screen_text(app)
        assert "[1 Traps]" in screen_text(app)
        await pilot.press("g", *"b2", "enter")
        assert "> B2 " in screen_text(app)
        await pilot.press("m", "1", "C", "tab", "4", "tab", "1", "1", "pagedown", "enter")
        await pilot.pause()
        assert hangings(app, "B2") == [("B", "", "2031-04-22", "2031-06-03"), ("C", "4", "2031-06-03", "")]
        shown = screen_text(app)
        text = " ".join(shown.split())
        assert (
            "Saved, moved: B2 Tue 3 Jun, 2 rows; ! its place in route hill is as before (5 Routes); not in the files"
            in text
        )
        assert "2 to write" in shown
        assert "moved, not in file" in shown
        whole = " ".join(shown.split())
        assert "Hung before: block B, Tue 22 Apr to Tue 3 Jun. Its catch there is counted apart." in whole
        assert app.screen.row is not None
        again = replace(app.screen.row, earlier=app.screen.row.earlier * 3)
        assert "Hung before 3 times, last: block B, " in detail(app.screen.desk, 0, again, (99, 9), 80).plain

        await pilot.press("h")
        assert isinstance(app.screen, RowHistoryScreen)
        shown = screen_text(app)
        assert "Ida" in shown
        assert "Block: B -> C" in shown, "held against the hanging that ended"
        assert "Tree: blank -> 11" in shown
        await pilot.press("u")
        assert "2 row(s) become as they were, by a further entry" in " ".join(screen_text(app).split())
        await pilot.press("enter")
        assert hangings(app, "B2") != [("B", "", "2031-04-22", "")], "Enter alone is no answer"
        await pilot.press("y")
        assert "Reverted; both stay on record" in screen_text(app)
        assert hangings(app, "B2") == [("B", "", "2031-04-22", "")]
        await pilot.press("escape")
        assert "0 to write" not in screen_text(app)


async def test_what_looks_wrong_is_named_and_done_on_a_second_enter_and_the_impossible_is_refused(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "m", "2", *"2031-06-04", "pagedown", "enter")
        assert "2031-06-04 is after today" in screen_text(app)
        await pilot.press("ctrl+u", *"2031-05-21", "pagedown", "enter")
        assert "A1 has an entry on days on which it did not hang" in screen_text(app)
        assert hangings(app, "A1")[0][3] == ""
        await pilot.press("y")
        await pilot.pause()
        assert hangings(app, "A1")[0][3] == "2031-05-21"
        await pilot.press("m", "3", *"2031-05-20", "pagedown", "enter")
        assert "A1 came down on 2031-05-21 only" in screen_text(app)
        await pilot.press("ctrl+u", "pagedown", "enter")
        await pilot.pause()
        assert hangings(app, "A1") == [("A", "", "2031-04-22", "")]
        await pilot.resize_terminal(60, 20)
        await pilot.press("8")
        await pilot.pause()
        assert "High   " in screen_text(app).split("Kind", 1)[1], "a column that is cut stands below"


async def test_a_route_is_put_in_order_by_keys_and_by_the_number_pad_and_kept_with_enter(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "5", "enter", "down", "down")
        assert "A1 carried to place 3: Enter drops it there, Escape puts it back" in screen_text(app)
        places = [line[2:22].split()[1:] for line in screen_text(app).splitlines() if "hill" in line]
        assert places[:4] == [["1", "A2"], ["2", "A3"], ["3", "A1"], ["4", "A4"]], "as they would be"
        foot = screen_text(app).splitlines()[-2:]
        assert [" ".join(line.split()) for line in foot] == [
            "Enter drop it here",
            "↑↓ carry m more ? keys Esc put back",
        ]
        assert app.session.programme.routes["hill"][:3] == ("A1", "A2", "A3")
        await pilot.press("1")
        assert "The order is not kept yet" in screen_text(app)
        await pilot.press("up", "enter")
        await pilot.pause()
        assert app.session.programme.routes["hill"][:3] == ("A2", "A1", "A3")
        await pilot.press("enter", "down", "escape")
        assert "The order is as it was" in screen_text(app)
        await pilot.press("escape")
        assert app.session.round_of("hill").traps[:2] == ("A2", "A1")
        await pilot.press("e", "5")
        assert "more ↓" in screen_text(app)
        await pilot.resize_terminal(120, 20)
        assert "more" not in screen_text(app).rsplit("\n", 1)[0], "stops stand side by side"
        assert " hill       7     B1 " in next(line for line in screen_text(app).splitlines() if " C6 " in line)


async def test_a_farm_to_be_visited_last_is_warned_of_until_its_traps_come_last(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "3", "m", "5")
        await pilot.pause()
        assert app.session.programme.farms["F1"].visit_last
        await pilot.press("5")
        await pilot.resize_terminal(120, 20)
        assert screen_text(app).count("Fernhollow          last") == 12, "side by side too"
        await pilot.resize_terminal(80, 24)
        await pilot.press("m", "5", "escape", "1", "5")
        text = " ".join(screen_text(app).split())
        assert "! Fernhollow should come last, and is before Gorsebank from trap A1 on: m 5 puts it last" in text
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        assert "! hill: Fernhollow should come last, and is before Gorsebank" in screen_text(app)
        await pilot.press("e", "5", "m", "5", "enter")
        await pilot.pause()
        assert app.session.programme.routes["hill"] == (*ORDER[12:], *ORDER[:12])
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        assert "visited last" not in screen_text(app)


async def test_a_closed_block_stands_beside_its_round_and_on_the_walk_before_it_is_entered(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "2", "down", "m", "4", *"2031-06-05", "tab", "tab", *"sprayed", "enter", "enter")
        await pilot.pause()
        assert app.session.programme.blocks["B"].no_entry_before == date(2031, 6, 5)
        assert "NO ENTRY before Thu 5 Jun" in screen_text(app)
        assert "Last edited by Ida, Tue 3 Jun: sprayed" in screen_text(app)
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        assert "! hill: NO ENTRY into block B before 2031-06-05" in screen_text(app)
        await pilot.press("enter", "3", *["enter"] * 0)
        for _ in range(5):
            assert "NO ENTRY before" not in screen_text(app)
            await pilot.press("0", "enter")
        text = " ".join(screen_text(app).split())
        assert "Trap A6" in text
        assert "! NEXT is block B, NO ENTRY before Thu 5 Jun" in text
        await pilot.press("0", "enter")
        assert "! NO ENTRY before Thu 5 Jun into block B" in screen_text(app)


async def test_a_closed_block_stays_on_the_desk_when_its_round_is_done(folder: Path, start: Start) -> None:
    app = start(folder)
    past(app.session, *(Visit(trap=trap, read_on=DAY, count=0) for trap in app.session.programme.routes["hill"]))
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        assert "18 of 18" in screen_text(app)
        await pilot.press("e", "2", "down", "m", "4", *"2031-06-05", "tab", "tab", *"sprayed", "enter", "enter")
        await pilot.pause()
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        assert "! hill: NO ENTRY into block B before 2031-06-05" in screen_text(app)


async def test_rows_are_added_changed_and_written_as_files_with_the_former_ones_kept(
    folder: Path, start: Start
) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "4", "a", *"CM2", "pagedown", "enter")
        await pilot.pause()
        assert app.session.programme.lots["CM2"].species == "CM"
        await pilot.press("1", "a", *"A1", "pagedown", "enter")
        assert "A1 hangs from 2031-04-22 to now already" in screen_text(app)
        assert app.focused is not None
        assert app.focused.id == "at-hung_on", "the line that is wrong"
        await pilot.press(*["shift+tab"] * 6, "ctrl+u", *"A7", "pagedown", "enter", "y")
        await pilot.pause()
        assert hangings(app, "A7") == [("A", "", DAY.isoformat(), "")]
        assert "> A7 " in screen_text(app)
        assert "no route" in screen_text(app)
        assert "! it is in no route yet, so no round comes by it (5 Routes)" in " ".join(screen_text(app).split())
        await pilot.press("e", "tab", *"OFM", "pagedown", "enter")
        assert "A7 is a trap for CM and cannot become one for OFM" in screen_text(app)
        await pilot.press("escape", "y", "w")
        assert "CM2" not in (folder / "lures.csv").read_text()
        assert "the former ones go to a folder, set-up-before-" in " ".join(screen_text(app).replace("┃", " ").split())
        await pilot.press("y")
        assert "set-up files written; those of before are in set-up-before-" in screen_text(app)
    assert "CM2" in (folder / "lures.csv").read_text()
    (kept,) = folder.glob("set-up-before-*")
    assert "CM2" not in (kept / "lures.csv").read_text()


async def test_hostile_labels_and_an_empty_folder_are_shown_and_do_nothing(tmp_path: Path, start: Start) -> None:
    farms = [{"farm": "F1", "name": "[/bold] =1+1 \u202eX", "grower": "[red]", "phone": "555"}]
    folder = write_folder(tmp_path / "odd", farms=farms, blocks=[], traps=[], routes=[], lures=[])
    for name in ("blocks", "traps", "routes", "lures"):
        (folder / f"{name}.csv").unlink()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "m", "1", "e", "h", "u", "l", "n", "down", "pageup", "3")
        shown = screen_text(app)
        assert "[/bold] =1+1" in shown
        assert "\u202e" not in shown
        await pilot.press("tab", "tab", "tab")
        assert "Nothing yet: a adds a row" in screen_text(app)


async def test_letters_of_before_and_after_a_move_name_it_and_no_block_of_another_farm(
    folder: Path, start: Start
) -> None:
    app = start(folder)

    def letters() -> dict[str, str]:
        from roundtui.report.letters.desk import LetterDesk

        desk = LetterDesk(app.session)
        read = desk.read()
        return {one.farm: " ".join(desk.preview(read, one.farm, 76).split()) for one in read.farms}

    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        before = letters()
        assert not any("moved" in text for text in before.values())
        await pilot.press("e", "g", *"b2", "enter", "m", "1", "C", "tab", "4", "pagedown", "enter")
        await pilot.pause()
        await pilot.press("m", "1", *"C", "tab", "8", "pagedown", "enter")
        await pilot.pause()
        assert "! hung_on: B2 was hung on 2031-06-03" in screen_text(app)
        await pilot.press("escape")
    after = letters()
    assert "Trap B2 was moved away on Tue 3 Jun 2031: its series here ends." in after["F1"]
    assert "Trap B2 was moved here on Tue 3 Jun 2031: a new series begins." in after["F2"]
    assert "C Long" not in after["F1"]
    assert "B Lower" not in after["F2"]


async def test_traps_by_the_hundred_are_a_line_and_the_next_one_counts_on(folder: Path, start: Start) -> None:
    """A range is one line for traps and stops; the row added last is repeated, under the next label."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "6", "a", *"VALE", "enter", *"Vale", "pagedown", "enter")
        assert app.session.programme.stations["VALE"].name == "Vale"
        await pilot.press("7", "a", *"PFM", "enter", *"plum fruit moth", "pagedown", "enter")
        assert "> PFM" in screen_text(app)
        await pilot.press("1", "a", *"N098..N120", "pagedown", "enter")
        await pilot.pause()
        new = [row for row in app.session.programme.traps if row.trap.startswith("N")]
        assert [row.trap for row in sorted(new, key=lambda row: row.trap)] == [f"N{n:03d}" for n in range(98, 121)]
        assert {(row.block, row.species, row.style, row.hung_on) for row in new} == {("A", "CM", "delta", DAY)}
        await pilot.press("a", "pagedown", "enter")
        await pilot.pause()
        assert hangings(app, "N121") == [("A", "", DAY.isoformat(), "")]
        await pilot.press("5", "a", *"N119..N121", "pagedown", "enter")
        await pilot.pause()
        assert app.session.programme.routes["hill"][-4:] == (ORDER[-1], "N119", "N120", "N121")
        await pilot.press("a", "ctrl+u", *"N5..N3", "pagedown", "enter")
        assert "'N5..N3' is no range of traps" in screen_text(app)


async def test_a_route_that_was_walked_once_keeps_that_order(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        for trap in ("B2", "A1"):
            app.session.record([Visit(trap=trap, read_on=DAY, count=1)])
        await pilot.press("e", "5", "m", "6")
        assert "The stops are now as they were read in the last seven days: Enter keeps" in screen_text(app)
        await pilot.press("enter")
        await pilot.pause()
        assert app.session.programme.routes["hill"][:4] == ("B2", "A1", "A2", "A3")
        await pilot.press("m", "6")
        assert "as they were read in the last seven days already" in screen_text(app)


async def test_a_published_threshold_is_taken_up_after_what_it_would_have_said_of_the_past(
    folder: Path, start: Start
) -> None:
    """Rule cm-england-early: 5 moths in a trap, as store/published_rules.toml has it with its source."""
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "8")
        assert "[8 Rules]" in screen_text(app)
        assert "shipped-cm-mean" in screen_text(app)
        await pilot.press("g", *"cm-england-early", "enter", "enter", *("tab",) * 4, "1", "pagedown", "enter")
        await pilot.pause()
        said = " ".join(screen_text(app).replace("┃", " ").split())
        assert "CM in 2031: over in 3 of 6 rounds of a block, first 27 May in A; until now 0." in said
        assert "B in 2031: over 1, until now 0." in said, said
        await pilot.press("enter")
        assert read_office(folder).rules == SHIPPED_RULES, "Enter alone is no answer"
        await pilot.press("y")
        await pilot.pause()
        first = read_office(folder).rules[0]
        assert (first.id, first.high, first.office) == ("cm-england-early", 1, True)
        assert "Saved, added: cm-england-early" in screen_text(app)
        assert "cm-england-early" in screen_text(app)

        await pilot.press("9", "enter", *"Hollow Office", "pagedown", "enter")
        await pilot.pause()
        assert read_letters_office(folder, ()).name == "Hollow Office"
        await pilot.press("w", "y")
        await pilot.pause()
        assert "[[rule]]" in (folder / "thresholds.toml").read_text()
        assert 'name = "Hollow Office"' in (folder / "letters.toml").read_text()


async def test_writing_the_files_holds_no_key_up_and_is_not_stopped_half_way(
    folder: Path, start: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow, write = [True], load.write_in_place

    def slowly(conn: sqlite3.Connection, to: Path, now: datetime) -> tuple[dict[str, int], Path | None]:
        while slow:
            go_on("")
            sleep(0.001)
        return write(conn, to, now)

    monkeypatch.setattr(load, "write_in_place", slowly)
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("e", "w")
        burst(app, "y", "escape")
        while "Writing the set-up files: keys wait until all are written" not in screen_text(app):
            await asyncio.sleep(0.001)
        burst(app, "escape")
        await asyncio.sleep(0.02)
        assert isinstance(app.screen, RegisterScreen)
        slow.clear()
        while isinstance(app.screen, RegisterScreen):
            await asyncio.sleep(0.001)
        await pilot.pause()
    assert list(folder.glob("set-up-before-*"))
