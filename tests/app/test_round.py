"""One long true round, from the desk to the summary, by keys alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from roundtui.app.app import RoundtuiApp
from roundtui.app.screens.summary.screen import SummaryScreen
from roundtui.store.record.read import journal_rows
from tests.app.folder import DAY, ORDER, on_record, screen_text

Start = Callable[..., RoundtuiApp]

SHEET = {
    "A1": "4", "A2": "0", "A3": "2l", "A4": "xm", "A5": "12c", "A6": "1",
    "B1": "0", "B2": "3lr", "B3": "1", "B4": "xs", "B5": "0", "B6": "10e",
    "C1": "2", "C2": "0k", "C3": "7", "C4": "1", "C5": "xdl", "C6": "0",
}  # fmt: skip
"""What is in the traps, as typed."""


async def test_a_round_of_eighteen_traps_costs_no_more_keys_than_it_says(folder: Path, start: Start) -> None:
    """Digits, an Enter a trap, a key a flag, two for a no-reading, an Enter a block, three for round and summary."""
    app = start(folder)
    pressed = 0
    async with app.run_test(size=(80, 24)) as pilot:

        async def press(*keys: str) -> None:
            nonlocal pressed
            pressed += len(keys)
            await pilot.press(*keys)

        await press("enter")
        assert "1 of 18, none missed" in screen_text(app)
        for trap, typed in SHEET.items():
            assert f"Trap {trap} " in screen_text(app)
            if trap.endswith("1"):
                assert "> Fruit stage  71" in screen_text(app)
                await press("enter")
                assert "71 fruit to 10 mm, some drop after bloom: seen, unchanged" in screen_text(app)
            await press(*typed, "enter")
            assert on_record(app.session)[trap].replace(" ", "") == typed.replace("r", "r:CM1")
        shown = screen_text(app)
        assert "18 of 18, 1 missed, 1 found missing, 1 down" in shown
        assert "Enter shows the summary" in shown
        assert "C5     CM    down, liner" in shown
        await press("enter")
        assert isinstance(app.screen, SummaryScreen)

    flags = sum(not char.isdigit() for typed in SHEET.values() for char in typed)
    digits = sum(char.isdigit() for typed in SHEET.values() for char in typed)
    assert pressed <= digits + len(SHEET) + flags + 3 + 3
    rows = journal_rows(app.session.conn, DAY, DAY)
    assert [row.trap for row in rows if row.kind == "visit"] == ORDER
    assert [(row.block, row.entry.unchanged) for row in rows if row.kind == "stage"] == [
        (block, True) for block in "ABC"
    ]
    first = [row for row in rows if row.trap == "A1" or row.block == "A"]
    assert [row.kind for row in first] == ["stage", "visit"], "the stage is on the disk before the count is asked for"
    assert first[0].recorded_at < first[1].recorded_at
