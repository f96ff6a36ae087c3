"""Another process holds the store: the entry waits, says so, and is not lost."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from roundtui.store.db import DB_NAME
from tests.pty.terminal import Terminal
from tests.pty.test_keys import record


@pytest.fixture
def terminal(folder: Path) -> Iterator[Terminal]:
    """The app at the first trap of its round, less patient than it is."""
    one = Terminal(folder, env={"WAIT_SECONDS": "0.2"})
    one.open_round()
    yield one
    one.close()


def test_a_locked_store_is_said_and_the_entry_goes_on_record_afterwards(terminal: Terminal, folder: Path) -> None:
    with closing(sqlite3.connect(folder / DB_NAME, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        terminal.send("4l\r", "A1 is not recorded")
        terminal.wait_for("Next:")
        other.execute("ROLLBACK")
    terminal.send("\r", "Not saved. It is still here")
    assert record(folder) == {}
    terminal.send("\r", "Trap A2 ")
    assert record(folder) == {"A1": "4 l"}
