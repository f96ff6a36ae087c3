"""The keys in which terminals differ, as bytes that a terminal sends."""

from __future__ import annotations

from pathlib import Path

import pytest

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


def test_pad_keys_that_come_as_names(terminal: Terminal, folder: Path) -> None:
    terminal.send(f"4{ADD}{MULTIPLY}{DECIMAL}\r", "Trap A2 ")
    terminal.send(f"{DIVIDE}3\r", "Trap A3 ")
    terminal.send(SUBTRACT, "Trap A2 ")
    terminal.catch_up()
    assert record(folder) == {"A1": "4 c l r", "A2": "xm"}


def test_pad_keys_of_the_application_mode(terminal: Terminal, folder: Path) -> None:
    terminal.send(f"{PAD_1}{PAD_4}{PAD_PLUS}{PAD_ENTER}", "Trap A2 ")
    terminal.send(f"{PAD_SLASH}{PAD_4}\n", "Trap A3 ")
    assert record(folder) == {"A1": "14 l", "A2": "xd"}


def test_a_pad_without_numlock_is_told_so(terminal: Terminal, folder: Path) -> None:
    terminal.send("\r", "seen, unchanged")
    for key in (HOME, END, INSERT, "\x1b[3~", "\x1b[5~", "\x1b[E"):
        terminal.send(key, "NumLock is off")
        terminal.send("\r", "Blank is not zero")
    assert record(folder) == {}


def test_an_eight_without_numlock_and_enter_neither_records_nor_moves_on(terminal: Terminal, folder: Path) -> None:
    terminal.send("4\r", "Trap A2 ")
    terminal.send(f"{UP}\r", "NumLock is off")
    assert "Trap A1 " in terminal.text
    assert record(folder) == {"A1": "4"}


def test_caps_lock_changes_nothing(terminal: Terminal, folder: Path) -> None:
    terminal.send("4LRO12\r", "Trap A2 ")
    terminal.send("XM\r", "Trap A3 ")
    assert record(folder) == {"A1": "4 l r o12", "A2": "xm"}


def test_alt_and_a_letter_is_escape_and_the_letter_and_loses_no_count(terminal: Terminal, folder: Path) -> None:
    terminal.send("4\x1bl", "[x] l liner")
    assert "Trap A1 " in terminal.text
    terminal.send("\r", "Trap A2 ")
    terminal.send("x\x1bk", "[x] k kill strip")
    assert "no reading" not in terminal.text.splitlines()[9]
    assert record(folder) == {"A1": "4 l"}


def test_a_double_enter_records_one_trap(terminal: Terminal, folder: Path) -> None:
    terminal.send("4\r\r", "Blank is not zero")
    assert "Trap A2 " in terminal.text
    assert record(folder) == {"A1": "4"}


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


def test_typing_ahead_of_the_screen_keeps_its_order(terminal: Terminal, folder: Path) -> None:
    """A whole block in one burst: no digit overtakes the Enter before it."""
    terminal.send("\r4lr\r50\rxm\r0c\r12o3\r7e\r", "Trap B1 ")
    assert record(folder) == {"A1": "4 l r", "A2": "50", "A3": "xm", "A4": "0 c", "A5": "12 o3", "A6": "7 e"}


def test_typing_ahead_from_the_desk_loses_no_digit(folder: Path) -> None:
    one = Terminal(folder)
    try:
        one.wait_for("> hill")
        one.send("\r4l", "[x] l liner")
        one.send("\r", "Trap A2 ")
        assert record(folder) == {"A1": "4 l"}
    finally:
        one.close()


def test_another_size_of_the_window_keeps_what_was_typed(terminal: Terminal, folder: Path) -> None:
    terminal.send("4l", "[x] l liner")
    for width, height in ((120, 36), (60, 20), (80, 24)):
        terminal.resize(width, height)
        terminal.wait_for_header("1 of 18", width)
        terminal.wait_for("[x] l liner")  # The first line may come before the rest of the screen.
    terminal.send("\r", "Trap A2 ")
    assert record(folder) == {"A1": "4 l"}


def test_a_window_that_has_come_to_rest_is_drawn_once_more(terminal: Terminal, folder: Path) -> None:
    """What was on its way to the old size can fall on the new one; a person sees it mended a moment later."""
    terminal.send("4l", "[x] l liner")
    terminal.resize(100, 30)
    terminal.wait_for_header("1 of 18", 100)
    terminal.screen.erase_in_display(2)
    terminal.wait_for_header("1 of 18", 100)
    terminal.wait_for("[x] l liner")


def test_leaving_at_any_time_keeps_everything_entered(terminal: Terminal, folder: Path) -> None:
    terminal.child.send("4\r5\r6")
    terminal.wait_for("Trap A3 ")
    assert terminal.leave() == 0
    assert record(folder) == {"A1": "4", "A2": "5"}


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


def test_leaving_works_from_a_dialog_as_well(terminal: Terminal, folder: Path) -> None:
    terminal.send("4\r", "Trap A2 ")
    terminal.send("m2", "Other catch in")
    assert terminal.leave() == 0
    assert record(folder) == {"A1": "4"}
