"""A paper sheet of forty rows through the real app, as fast as a terminal sends it."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from roundtui.domain.entries import Draft, Visit
from roundtui.domain.round.tally import draft_of, format_tally, parse_tally
from roundtui.store.record.read import journal_rows
from tests.app.folder import DAY, open_session
from tests.app.paper import LABELS, ROWS, paper, paper_folder, said
from tests.pty.terminal import Terminal


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


def on_record(folder: Path) -> list[tuple[str, str]]:
    """Trap and what was said, in the order recorded, read by another connection."""
    session = open_session(folder)
    rows = [row.entry for row in journal_rows(session.conn, DAY, DAY) if isinstance(row.entry, Visit)]
    session.conn.close()
    return [(row.trap, said(format_tally(draft_of(row)))) for row in rows]


def test_forty_rows_in_one_burst_lose_no_key_and_keep_their_order(terminal: Terminal, folder: Path) -> None:
    """No key lost, no row wrong, totals right."""
    rows = paper(random.Random(7))
    shown = terminal.send("".join(f"{text}\r" for text in rows), "end of the sheet: ")
    assert on_record(folder) == [(label, said(text)) for label, text in zip(LABELS, rows, strict=True)]
    drafts = [parse_tally(text)[0] or Draft() for text in rows]
    count, others = (sum(getattr(draft, name) or 0 for draft in drafts) for name in ("count", "others"))
    unread = sum(draft.no_reading is not None for draft in drafts)
    assert f"All 40     count {count}   others {others}   blank 0   not read {unread} (" in shown


def test_a_pasted_column_comes_as_one(terminal: Terminal, folder: Path) -> None:
    """Terminals put brackets around what is pasted; without them it is typing, and no worse."""
    column = "\r".join(str(at % 4) for at in range(ROWS))
    terminal.send(f"\x1b[200~{column}\x1b[201~", "40 rows pasted")
    assert on_record(folder) == [(label, str(at % 4)) for at, label in enumerate(LABELS)]
