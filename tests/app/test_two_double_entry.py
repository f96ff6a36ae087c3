"""Sheets keyed twice: every slip of one of the double entry is shown, none is invented, and what holds is the paper."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

from roundtui.domain.round.tally import draft_of, format_tally
from roundtui.store.paper.sheet_state import SheetEntry
from roundtui.store.paper.sheets import SheetComparison
from roundtui.store.record.read import same_day
from roundtui.store.session import Session
from tests.app.folder import DAY, open_session
from tests.app.paper import LABELS, ROWS, paper, paper_folder, said, slip

SHEETS = 3
SLIPS = 75


def key(sheet: SheetEntry, rows: list[str]) -> int:
    """Key a whole sheet; how many keys it took."""
    pressed = 0
    for text in rows:
        for one in (*text, "enter" if text else "down"):
            sheet.press(one)
            pressed += 1
    assert sheet.row is None, sheet.typing
    return pressed


def record(session: Session) -> dict[str, str]:
    """What stands on record for the day."""
    found = {label: same_day(session.conn, label, session.on) for label in LABELS}
    return {label: said(format_tally(draft_of(one[0]))) for label, one in found.items() if one}


def test_many_slips_in_one_of_double_entry_are_all_shown_and_none_is_invented(tmp_path: Path) -> None:
    """Three weekly sheets of forty rows; 75 of the 120 rows have a slip, in the first entry or in the second."""
    folder = paper_folder(tmp_path / "farm")
    dice = random.Random(9)
    wrong = set(dice.sample(range(SHEETS * ROWS), SLIPS))
    shown = 0
    for number in range(SHEETS):
        session = open_session(folder, on=DAY + timedelta(days=7 * number))
        rows = paper(dice)
        other = [slip(text, dice) if number * ROWS + at in wrong else text for at, text in enumerate(rows)]
        right_first = number % 2 == 0
        sheet = SheetEntry(session, "hill")
        pressed = key(sheet, rows if right_first else other)
        assert pressed == sum(len(text) + 1 for text in (rows if right_first else other))
        session.name_scout("Ben")
        sheet.press("v")
        assert all(row.draft is None for row in sheet.rows), "the second entry sees nothing of the first"
        key(sheet, other if right_first else rows)
        two = SheetComparison(session, "hill")
        slips = {LABELS[at] for at in range(ROWS) if number * ROWS + at in wrong}
        assert {one.row.trap for one in two.open} == slips
        assert len(two.open) == len(slips)
        shown += len(two.open)
        for difference in two.open:
            two.settle(difference, "first" if right_first else "second")
        assert (two.open, len(two.settled_places)) == ((), len(slips))
        assert record(session) == {label: said(text) for label, text in zip(LABELS, rows, strict=True)}
        assert two.names[1] == "Ben"
        session.conn.close()
    assert shown == SLIPS
