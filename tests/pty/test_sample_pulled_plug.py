"""The plug is pulled in the middle of a sample: what had shown as counted is offered again and gone on with."""

from __future__ import annotations

import re
from pathlib import Path

from tests.pty.terminal import Terminal


def begin(terminal: Terminal) -> None:
    """From the desk to the list of what is looked for in the first block."""
    terminal.wait_for("> hill")
    terminal.send("a", "Which block?")
    terminal.send("1", "something else")


def test_whatever_had_shown_as_found_is_offered_again(folder: Path) -> None:
    terminal = Terminal(folder)
    try:
        begin(terminal)
        terminal.send("1", "LOOK ON: 100 LEAVES")
        terminal.send("f", "found 1 ")
        terminal.child.send("f" * 8)
        terminal.child.kill(9)
        terminal.read(0.05)
        shown = re.search(r"found (\d+)", terminal.text)
        assert shown is not None
        found = int(shown[1])
    finally:
        terminal.close()
    again = Terminal(folder)
    try:
        begin(again)
        if found:
            kept = re.search(r"go on: European red mite, (\d+) found", again.text)
            assert kept is not None
            assert found <= int(kept[1]) <= 9
            again.send("1", f"found {kept[1]} ")
            again.send("f\r", f"found {int(kept[1]) + 1}   checked 100")
    finally:
        again.close()
