"""A paper sheet of forty rows through the real app, at the pace of a fast hand."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from roundtui.domain.round.tally import draft_of, format_tally, parse_tally
from roundtui.domain.visits import Draft, Visit
from roundtui.store.read import journal_rows
from tests.app.folder import DAY, open_session
from tests.app.paper import LABELS, ROWS, paper, paper_folder, said
from tests.pty.terminal import Terminal

KEYS_A_SECOND = 12


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """One route of forty traps, read last week."""
    return paper_folder(tmp_path / "farm")


@pytest.fixture
def terminal(folder: Path) -> Iterator[Terminal]:
    """The tally sheet, ready to type."""
    one = Terminal(folder)
    one.wait_for("> hill")
    one.send("t", ">   1 T1")
    yield one
    one.close()


def type_at_pace(terminal: Terminal, keys: str) -> float:
    """Type key by key; the seconds it took."""
    began = time.monotonic()
    for at, key in enumerate(keys):
        terminal.read(max(0.0, began + at / KEYS_A_SECOND - time.monotonic()))
        terminal.child.send(key)
    return time.monotonic() - began


def on_record(folder: Path) -> list[tuple[str, str]]:
    """Trap and what was said, in the order recorded, read by another connection."""
    session = open_session(folder)
    rows = [row.entry for row in journal_rows(session.conn, DAY, DAY) if isinstance(row.entry, Visit)]
    session.conn.close()
    return [(row.trap, said(format_tally(draft_of(row)))) for row in rows]


def test_forty_rows_at_twelve_keys_a_second_lose_no_key(terminal: Terminal, folder: Path) -> None:
    """No key lost, no row wrong, totals right, and no more keys than digits, flags and one Enter a row."""
    rows = paper(random.Random(7))
    keys = "".join(f"{text}\r" for text in rows)
    assert len(keys) == sum(len(text) for text in rows) + ROWS
    seconds = type_at_pace(terminal, keys)
    assert seconds < len(keys) / KEYS_A_SECOND + 1, "the terminal took the keys as fast as they came"
    shown = terminal.wait_for("end of the sheet: Enter shows the summary")
    assert on_record(folder) == [(label, said(text)) for label, text in zip(LABELS, rows, strict=True)]
    drafts = [parse_tally(text)[0] or Draft() for text in rows]
    count, others = (sum(getattr(draft, name) or 0 for draft in drafts) for name in ("count", "others"))
    unread = sum(draft.no_reading is not None for draft in drafts)
    assert f"All 40     count {count}   others {others}   not read {unread} (" in shown
    assert f"40 rows keyed with {len(keys)} keys" in shown


def test_a_sheet_typed_in_one_burst_keeps_its_order(terminal: Terminal, folder: Path) -> None:
    rows = paper(random.Random(8))
    terminal.child.send("".join(f"{text}\r" for text in rows))
    terminal.wait_for("end of the sheet")
    assert on_record(folder) == [(label, said(text)) for label, text in zip(LABELS, rows, strict=True)]


def test_a_pasted_column_comes_as_one(terminal: Terminal, folder: Path) -> None:
    """Terminals put brackets around what is pasted; without them it is typing, and no worse."""
    column = "\r".join(str(at % 4) for at in range(ROWS))
    terminal.send(f"\x1b[200~{column}\x1b[201~", "40 rows pasted")
    assert on_record(folder) == [(label, str(at % 4)) for at, label in enumerate(LABELS)]
