"""What goes out to the terminal: only the cells that differ from what it shows, since a slow line carries every byte.

Textual sends the whole of each widget that was refreshed; of a walk's Enter most of that stands there already.
"""

from __future__ import annotations

from collections.abc import Iterator

from rich.cells import cell_len, get_character_cell_size
from rich.console import Console
from rich.control import Control
from rich.style import Style
from textual._compositor import ChopsUpdate, CompositorUpdate, LayoutUpdate
from textual.geometry import Size
from textual.strip import Strip

Cell = tuple[str, "Style | None"]
Piece = tuple[int, int, "Strip"]
"""Column and line at which a strip begins."""
_GAP = 8
"""Cells that are sent again rather than stepped over: a step costs as many bytes."""


class Shown:
    """What the terminal shows, cell by cell."""

    def __init__(self) -> None:
        self._rows: list[list[Cell | None]] = []
        self._width = 0

    def forget(self) -> None:
        """Nobody knows what it shows: the next update is sent whole."""
        self._rows = []

    def fit(self, size: Size) -> None:
        """The window has this size.

        Args:
            size: Columns and lines.
        """
        if len(self._rows) != size.height or self._width != size.width:
            self._width = size.width
            self._rows = [[None] * size.width for _ in range(size.height)]

    def put(self, x: int, y: int, strip: Strip) -> Iterator[tuple[int, Strip]]:
        """A strip is to stand there: the parts of it that do not yet.

        Args:
            x: Column at which it begins.
            y: Line.
            strip: What is to stand there.

        Yields:
            Column at which a part begins, and the part.
        """
        new = list(_cells(strip))
        if y >= len(self._rows) or x + len(new) > self._width:
            yield x, strip
            return
        row = self._rows[y]
        differ = [at for at, cell in enumerate(new) if row[x + at] != cell]
        row[x : x + len(new)] = new
        while differ:
            first = last = differ.pop(0)
            while differ and differ[0] - last <= _GAP:
                last = differ.pop(0)
            # The second half of a wide character is never sent alone.
            while first and not new[first][0]:
                first -= 1
            while last + 1 < len(new) and not new[last + 1][0]:
                last += 1
            yield x + first, strip.crop(first, last + 1)


def _cells(strip: Strip) -> Iterator[Cell]:
    for text, style, _ in strip:
        if len(text) == cell_len(text):
            for char in text:
                yield char, style
        else:
            for char in text:
                for half in range(get_character_cell_size(char)):
                    yield "" if half else char, style


class Changes(CompositorUpdate):
    """An update without what the terminal shows already.

    Args:
        update: As the compositor has it.
        shown: What the terminal shows; brought up to it when this is sent.
    """

    def __init__(self, update: ChopsUpdate | LayoutUpdate, shown: Shown) -> None:
        self._update = update
        self._shown = shown

    def render_segments(self, console: Console) -> str:
        """The bytes.

        Args:
            console: Writes styles as escape sequences.
        """
        sent, codes = [], ""
        for x, y, strip in _pieces(self._update):
            for at, part in self._shown.put(x, y, strip):
                sent.append(Control.move_to(at, y).segment.text)
                for text, style, _ in part:
                    wanted = "" if style is None or not style else style._make_ansi_codes(console._color_system)  # type: ignore[arg-type]
                    if wanted != codes:
                        sent.append(f"\x1b[{f'0;{wanted}' if wanted else '0'}m")
                        codes = wanted
                    sent.append(text)
        return "".join(sent) + ("\x1b[0m" if codes else "")


def _pieces(update: ChopsUpdate | LayoutUpdate) -> Iterator[Piece]:
    if isinstance(update, LayoutUpdate):
        for y, line in enumerate(update.strips, update.region.y):
            x = update.region.x
            for strip in line:
                yield x, y, strip
                x += strip.cell_length
        return
    for y, first, last in update.spans:
        for end, (x, chop) in zip(update.chop_ends[y], update.chops[y].items(), strict=False):
            if chop is not None and x <= last and end > first:
                yield x, y, chop if end <= last else chop.crop(0, min(end, last) - x)
