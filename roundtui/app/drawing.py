"""What goes out to the terminal: only the cells that differ from what it shows, since a slow line carries every byte.

Textual sends the whole of each widget that was refreshed; of a walk's Enter most of that stands there already.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from rich.cells import get_character_cell_size
from textual.driver import Driver

_TOKEN = re.compile(
    r"\x1b\[(\d+);(\d+)H|\x1b\[([\d;]*)m|(\x1b(?:\[[0-?]*[ -/]*[@-~]|[\]P_^].*?(?:\x07|\x1b\\)|.))|([^\x1b]+)"
)
"""A place, a style, another sequence, text."""
_CLEARING = re.compile(r"\x1b(?:\[\d*J|\[\?1049[hl]|c)")

_HALF = ("", "")
"""What stands in the second cell of a wide character."""
_WIDEST = 1 << 16
"""Cells of a row, at most."""


class Shown:
    """What the terminal shows, cell by cell."""

    def __init__(self) -> None:
        # Numbers for places, and each look kept once: two thousand cells are held all day.
        self._cells: dict[int, tuple[str, str]] = {}
        self._looks: dict[tuple[str, str], tuple[str, str]] = {}

    def forget(self) -> None:
        """Nobody knows what it shows: what is written next is sent whole."""
        self._cells.clear()
        self._looks.clear()

    def changes(self, data: str) -> str:
        """What has to be sent so that the terminal shows what is written.

        Args:
            data: Text at places and in styles, as escape sequences.
        """
        sent, style, codes = [], "", ""
        here = there = (0, 0)
        for row, column, look, other, text in _TOKEN.findall(data):
            if row:
                here = int(row), int(column)
            elif other:
                sent.append(other)
                if _CLEARING.fullmatch(other):
                    self.forget()
            elif not text:
                style = "" if look in ("", "0") else f"{style};{look}" if style else look
            for char, width in _characters(text):
                if self._put(here, char, style, width):
                    if here != there:
                        near = here[0] == there[0] and here[1] > there[1]
                        sent.append(f"\x1b[{here[1] - there[1]}C" if near else f"\x1b[{here[0]};{here[1]}H")
                    if style != codes:
                        sent.append(f"\x1b[0;{style}m" if style else "\x1b[m")
                    sent.append(char)
                    there, codes = (here[0], here[1] + width), style
                here = here[0], here[1] + width
        if codes:
            sent.append("\x1b[m")
        if here not in ((0, 0), there):
            sent.append(f"\x1b[{here[0]};{here[1]}H")
        return "".join(sent)

    def _put(self, at: tuple[int, int], char: str, style: str, width: int) -> bool:
        """A character is to stand there; whether it does not yet."""
        cells, place, look = self._cells, at[0] * _WIDEST + at[1], (char, style)
        if cells.get(place) == look:
            return False
        # A wide character of which one half is written over is gone from the other half too.
        if cells.get(place) == _HALF:
            cells.pop(place - 1, None)
        if cells.get(place + width) == _HALF:
            del cells[place + width]
        cells[place] = self._looks.setdefault(look, look)
        if width > 1:
            cells[place + 1] = _HALF
        return True


def _characters(text: str) -> Iterator[tuple[str, int]]:
    """Characters with their width in cells; what has none goes with the one before."""
    text = text.replace("\n", "")
    if text.isascii():
        yield from ((char, 1) for char in text)
        return
    char, width = "", 0
    for one in text:
        room = get_character_cell_size(one)
        if room and char:
            yield char, width
        char, width = (one, room) if room else (char + one, width)
    if char:
        yield char, width


def changes_only(base: type[Driver], shown: Shown) -> type[Driver]:
    """A driver that sends what has changed.

    Args:
        base: The driver of this platform.
        shown: What the terminal shows.
    """

    class ChangesOnly(base):  # type: ignore[misc, valid-type]
        def write(self, data: str) -> None:
            super().write(shown.changes(data))

    return ChangesOnly
