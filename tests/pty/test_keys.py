"""The keys in which terminals differ, as bytes that a terminal sends; what a known key does, tests/app has."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pyte
import pytest

from roundtui.app.drawing import Shown
from tests.app.folder import on_record, open_session
from tests.pty.terminal import Terminal

ADD, SUBTRACT, MULTIPLY, DIVIDE, DECIMAL = (f"\x1b[574{n}u" for n in ("13", "12", "11", "10", "09"))
"""Keys of the number pad that come under names, without a character."""
PAD_ENTER, PAD_4, PAD_1, PAD_PLUS, PAD_SLASH = "\x1bOM", "\x1bOt", "\x1bOq", "\x1bOk", "\x1bOo"
"""The same pad in a terminal that has it in application mode."""
HOME, END, INSERT, UP = "\x1b[H", "\x1b[F", "\x1b[2~", "\x1b[A"


def record(folder: Path) -> dict[str, str]:
    """What stands on record, read by a second process's worth of eyes."""
    session = open_session(folder)
    try:
        return {trap: said.replace("r:CM1", "r") for trap, said in on_record(session).items()}
    finally:
        session.conn.close()


def test_a_round_by_every_pad_and_terminal(terminal: Terminal, folder: Path) -> None:
    """Names without characters, application mode, no NumLock, Caps Lock, alt, a double Enter: trap after trap."""
    terminal.send(f"4{ADD}{MULTIPLY}{DECIMAL}\r", "Trap A2 ")
    terminal.send(f"{DIVIDE}3\r", "Trap A3 ")
    terminal.send(SUBTRACT, "Trap A2 ")
    terminal.send("\x1b[B", "Trap A3 ")
    terminal.send(f"{PAD_1}{PAD_4}{PAD_PLUS}{PAD_ENTER}", "Trap A4 ")
    terminal.send(f"{PAD_SLASH}{PAD_4}\n", "Trap A5 ")
    for key in (HOME, END, INSERT, "\x1b[3~", "\x1b[5~", "\x1b[E"):
        terminal.send(key, "NumLock is off")
        terminal.send("\r", "Blank is not zero")
    terminal.send(f"{UP}\r", "NumLock is off")
    assert "Trap A4 " in terminal.text, "an 8 without NumLock and Enter neither records nor moves on"
    terminal.send("\x1b[B", "Trap A5 ")
    terminal.send("4LRO12\r", "Trap A6 ")
    terminal.send("XM\r", "Trap B1 ")
    terminal.send("\r", "seen, unchanged")
    terminal.send("4\x1bl", "[x] l liner")
    assert "Trap B1 " in terminal.text, "alt and a letter is Escape and the letter, and loses no count"
    terminal.send("\r", "Trap B2 ")
    terminal.send("x\x1bk", "[x] k kill strip")
    assert "not read" not in terminal.text.splitlines()[9]
    terminal.send("k4\r\r", "Blank is not zero")
    assert "Trap B3 " in terminal.text, "a double Enter records one trap"
    assert record(folder) == {
        "A1": "4 c l r",
        "A2": "xm",
        "A3": "14 l",
        "A4": "xd",
        "A5": "4 l r o12",
        "A6": "xm",
        "B1": "4 l",
        "B2": "4",
    }


def test_a_held_enter_never_records_a_blank(folder: Path) -> None:
    one = Terminal(folder, step=0.05)
    try:
        one.open_round()
        one.send("\r" * 40, "Enter is held")
        assert record(folder) == {}
        one.send("0" + "\r" * 60, "Trap A2 ")
        one.catch_up()
        assert record(folder) == {"A1": "0"}
    finally:
        one.close()


def test_enter_held_from_the_desk_is_dropped_and_says_so(folder: Path) -> None:
    one = Terminal(folder, step=0.01)
    try:
        one.wait_for("> hill")
        one.send("\r\r\r", "was dropped")
        assert "> Fruit stage" in one.text
        assert record(folder) == {}
    finally:
        one.close()


def test_typing_ahead_of_the_screen_and_from_the_desk_keeps_its_order(folder: Path) -> None:
    """A whole block in one burst, begun before the round shows: no digit overtakes the Enter before it."""
    one = Terminal(folder)
    try:
        one.wait_for("> hill")
        one.send("\r4l", "[x] l liner")
        one.send("\r50\rxm\r0c\r12o3\r7e\r", "Trap B1 ")
        assert record(folder) == {"A1": "4 l", "A2": "50", "A3": "xm", "A4": "0 c", "A5": "12 o3", "A6": "7 e"}
        shown = one.send(
            "t2031-06-03\x7f1\rSoaap\x7f\x7fp\r2031-06-02\r", "Save B CM sprayed on Sun 1 Jun 2031, no entry before"
        )
        assert "│Soap " in shown, "a form in one write, a slip taken back in it"
    finally:
        one.close()


def test_another_size_of_the_window_keeps_what_was_typed_and_is_drawn_once_more(
    terminal: Terminal, folder: Path
) -> None:
    """What was on its way to the old size can fall on the new one; a person sees it mended a moment later."""
    terminal.send("4l", "[x] l liner")
    for width, height in ((120, 36), (60, 20), (80, 24)):
        terminal.resize(width, height)
        terminal.wait_for_header("1 of 18", width)
        terminal.wait_for("[x] l")  # The first line may come before the rest of the screen.
    terminal.screen.erase_in_display(2)
    terminal.wait_for_header("1 of 18", 80)
    terminal.wait_for("[x] l liner")
    terminal.child.send("\r5\r6")
    terminal.wait_for("Trap A3 ")
    terminal.send("m2", "Other catch in")
    assert terminal.leave() == 0, "from a dialog as well, and at any time"
    assert record(folder) == {"A1": "4 l", "A2": "5"}


@pytest.mark.parametrize("env", [{"NO_COLOR": "1"}, {"TERM": "xterm", "COLORTERM": ""}])
def test_without_colour_the_words_say_it(folder: Path, env: dict[str, str]) -> None:
    one = Terminal(folder, env)
    try:
        one.open_round()
        shown = one.send("99\r", "Trap A2 ")
        assert "! Has the entry interval" not in shown
        one.send("99\r", "! unlikely")
        for row in range(24):
            for cell in one.screen.buffer[row].values():
                assert cell.data == " " or cell.reverse or cell.fg != cell.bg or cell.fg == "default"
    finally:
        one.close()


def test_only_changed_cells_are_sent_and_the_terminal_shows_the_same() -> None:
    """Two hundred pieces over each other, wide characters among them: a terminal that is sent the changes alone shows
    what one shows that is sent everything, in fewer bytes."""
    chance, shown, sent = Random(7), Shown(), ["", ""]
    screens = [pyte.Screen(20, 4), pyte.Screen(20, 4)]
    streams = [pyte.Stream(one) for one in screens]
    for at in range(200):
        text = "".join(chance.choice("ab│█林é") for _ in range(chance.randrange(1, 8)))
        place = f"\x1b[{chance.randrange(1, 5)};{chance.randrange(1, 6)}H"
        piece = f"{place}\x1b[{chance.choice(('1', '7', '38;2;1;2;3'))}m{text}\x1b[0m" * 2 + "\x1b[4;20H"
        for number, data in enumerate((piece, shown.changes(piece))):
            sent[number] += data
            streams[number].feed(data)
        assert screens[0].buffer == screens[1].buffer, f"after piece {at}"
        assert (screens[0].cursor.x, screens[0].cursor.y) == (screens[1].cursor.x, screens[1].cursor.y)
    assert len(sent[1]) < len(sent[0]) * 0.6
