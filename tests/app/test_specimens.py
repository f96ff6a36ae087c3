"""What else was in a trap, vials named afterwards, estimates and second counts, at the keyboard."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from click.testing import CliRunner

from roundtui.app.app import RoundtuiApp
from roundtui.app.dialogs.trap import SpecimenDialog
from roundtui.app.screens.vials.screen import VialsScreen
from roundtui.cli import main
from roundtui.domain.entries import Specimen, Visit
from roundtui.domain.round.specimens import KINDS
from roundtui.store.record import journal
from roundtui.store.record.read import journal_rows, visits_of
from roundtui.store.round.recounts import other_catch
from tests.app.folder import DAY, ORDER, TRAPS, on_record, open_session, past, screen_text

Start = Callable[..., RoundtuiApp]


async def walk_to_count(app: RoundtuiApp, pilot: object) -> None:
    """Open the round and leave its stage unanswered."""
    await pilot.press("enter", "escape")  # type: ignore[attr-defined]


def words(app: RoundtuiApp) -> str:
    """What the terminal shows as one line, borders left out."""
    return " ".join(screen_text(app).replace("┃", " ").split())


def letter_to_fernhollow(folder: Path) -> str:
    """The letter on disk, as one line."""
    return " ".join((folder / "letters" / f"letter-{DAY}-F1.txt").read_text(encoding="utf-8").split())


async def test_a_wasp_and_a_doubtful_moth_are_noted_beside_the_count(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await walk_to_count(app, pilot)
        await pilot.press("9", "m", "2")
        shown = screen_text(app).replace("\u00a0", " ")
        assert [kind for kind in KINDS.values() if f"{kind.key} {kind.word}" not in shown] == [], "letter beside word"
        await pilot.press("u", "2", "enter", "y", "enter", "enter")
        shown = screen_text(app)
        assert "A1: 2 unknown, vial V-1 on record, in the count until named" in shown
        await pilot.press("m", "2", "w", "enter", "enter", "enter")
        assert "A1: 1 wasp on record" in screen_text(app)
        await pilot.press("enter")
        assert "Last saved: A1  9" in screen_text(app)
    found = other_catch(app.session.conn, DAY)
    assert [(one.what, one.number, one.vial, one.in_count) for one in found] == [
        ("unknown", 2, "V-1", True),
        ("wasp", 1, "", False),
    ]
    assert found[1].identified_by == "Ida"
    assert on_record(app.session)["A1"] == "9"


async def test_more_than_were_counted_are_refused_and_nothing_typed_is_lost(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await walk_to_count(app, pilot)
        await pilot.press("m", "2", "l", "enter", "y", "enter", "enter")
        assert "no count that could hold them" in screen_text(app)
        await pilot.press("escape", "y", "1", "m", "2", "l", "3", "enter", "y", "enter", "enter")
        assert "3 cannot be among the 1 counted" in screen_text(app)
        await pilot.press("escape", "y")
        assert not isinstance(app.screen, SpecimenDialog)
        await pilot.press("2", "enter")
    assert on_record(app.session)["A1"] == "12"
    assert other_catch(app.session.conn, DAY) == ()


async def test_wasps_that_were_counted_come_off_at_once_where_the_count_stands(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await walk_to_count(app, pilot)
        await pilot.press("6", "enter", "up", "m", "2", "w", "2", "enter", "tab", "backspace", "y", "enter", "enter")
        assert "A1: 2 wasps on record, and its count is 4 now" in screen_text(app)
    assert on_record(app.session)["A1"] == "4"
    (visit,) = visits_of(app.session.conn, "A1", DAY, DAY)
    assert visit.reason == "2 wasps, named by Ida: 2 taken off"


async def test_a_full_liner_is_estimated_from_its_squares_and_says_so(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await walk_to_count(app, pilot)
        await pilot.press("m", "3", *"4", "enter", *"36", "enter", *"153", "enter", "enter")
        shown = screen_text(app)
        assert "1377 estimated from the grid: Enter records" in shown
        assert "[x] e estimate" in shown
        await pilot.press("enter", "m", "3", "2", "enter", "0", "enter", "enter", "enter")
    record = on_record(app.session)
    assert record["A1"] == "1377 e n:grid: 153 in 4 of 36 squares"
    assert record["A2"] == "0 e n:grid: 0 in 2 of 36 squares"


async def test_a_second_count_by_another_is_no_second_catch(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, Visit(trap="A1", read_on=DAY, count=4), scout="Ben")
    session.conn.close()
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await walk_to_count(app, pilot)
        await pilot.press("g", *"A1", "enter", "escape", "5", "m", "1")
        assert "no catch of its own" in screen_text(app)
        await pilot.press("enter")
        assert "Last saved: A1  5, recount, first 4" in screen_text(app)
        await pilot.press("g", *"A1", "enter")
        moths, marks = (
            next(li for li in screen_text(app).splitlines() if li.startswith(n)) for n in ("   moths", "   done")
        )
        assert moths.split()[-2:] == ["4", "5"]
        assert marks.split()[-1] == "u", "the second one is a recount"
    visits = visits_of(app.session.conn, "A1", DAY, DAY)
    assert [(v.scout, v.count, v.recount) for v in visits] == [("Ben", 4, False), ("Ida", 5, True)]


async def test_the_walk_says_which_trap_is_asked_for_a_second_count(folder: Path, start: Start) -> None:
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await walk_to_count(app, pilot)
        shown = {}
        for trap in ORDER:
            await pilot.press("g", *trap, "enter", "escape")
            shown[trap] = "Second person to count here" in screen_text(app)
        (asked,) = [trap for trap, said in shown.items() if said]
        assert asked in app.screen.round.asked_again  # type: ignore[attr-defined]


async def test_a_vial_named_after_the_call_brings_the_block_down_and_says_so_first(folder: Path, start: Start) -> None:
    session = open_session(folder)
    past(session, *(Visit(trap=trap, read_on=DAY, count=6) for trap in TRAPS["A"][:5]))
    journal.record(
        session.conn,
        [Specimen(trap="A1", read_on=DAY, what="look-alike", number=6, vial="V-12", in_count=True)],
        journal.Author("Ida", "truck"),
        session.clock(),
    )
    session.conn.close()
    written = CliRunner().invoke(
        main, ["letters", str(folder), "--on", DAY.isoformat(), "--to", str(folder / "letters")]
    )
    assert written.exit_code == 0, written.output
    before = letter_to_fernhollow(folder)
    assert "A Upper, Codling moth: over threshold" in before
    assert "6 of the moths counted in trap A1 in A Upper on Tue 3 Jun are being identified" in before
    app = start(folder)
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Vials to identify (1)" in screen_text(app)
        await pilot.press("m", "v")
        assert isinstance(app.screen, VialsScreen)
        shown = screen_text(app)
        assert "V-12     A1" in shown
        assert "look-alike, to identify" in shown
        await pilot.resize_terminal(60, 20)
        await pilot.pause()
        assert "> V-12    A1       3 Jun     6 counted  look-a…, to identify" in screen_text(app), "with little room"
        await pilot.resize_terminal(80, 24)
        await pilot.press("enter", *"leser appleworm", "enter", *"Wren", "enter", "enter")
        assert "did you mean lesser" in words(app)
        await pilot.press("shift+tab", "home", *["delete"] * 20, *"lesser appleworm")
        await pilot.press("enter", "enter")
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.pause()
        shown = screen_text(app)
        assert "The count of A1 becomes 0." in shown
        assert "! A CM, Tue 3 Jun: over at 6.0 becomes within at 4.8" in words(app)
        assert "! Fernhollow, Tue 3 Jun: the letter written on" in words(app)
        await pilot.press("y")
        await pilot.pause()
        assert "Saved: V-12: lesser appleworm; the count of A1 is 0 now" in words(app)
        assert "No vial to identify." in screen_text(app)
        await pilot.press("tab")
        assert "Trap A1, CM codling moth, block A Holds 6 lesser appleworm, counted" in words(app)
        assert "Found Tue 3 Jun by Ida Named Tue 3 Jun by Wren Alike apple clearwing" in words(app)
        await pilot.press("escape", "l")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "OUT OF DATE" in screen_text(app)
        await pilot.press("w")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "OUT OF DATE" not in screen_text(app)
    after = letter_to_fernhollow(folder)
    assert "A Upper, Codling moth: between the two numbers" in after
    assert "since V-12 from trap A1 was identified as lesser appleworm." in after
    assert (
        "Corrected: 6 of the moths counted in trap A1 in A Upper on Tue 3 Jun were lesser appleworm, identified by Wren"
        in after
    )
    row = [r.entry for r in journal_rows(app.session.conn, DAY, DAY, {"A1"}) if r.present]
    assert any(getattr(e, "reason", "") == "V-12 is lesser appleworm, named by Wren: 6 taken off" for e in row)
