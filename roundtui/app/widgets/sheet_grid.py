"""The rows of a tally sheet, drawn line by line: a key draws the one line it changes again, and nothing else."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from roundtui.app.widgets.count_input import presses

Piece = tuple[str, str]
"""A text, and how it stands: plain, strong, cursor, muted or warning."""
STYLES = ("plain", "strong", "cursor", "muted", "warning")


class SheetGrid(Widget, can_focus=True):
    """Rows of which one is typed on.

    It deals with keys in its own turn, in the order typed: none can overtake another.

    Args:
        press: Notified each key of a row.
        pasted: Notified the text of a paste.
        line: Gives the pieces of a row by its place and the width.
        id: Id of the widget.
    """

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"grid--{name}" for name in (*STYLES, "at")}
    DEFAULT_CSS = """
    SheetGrid { height: 1fr; }
    SheetGrid > .grid--plain, SheetGrid > .grid--strong { color: $foreground; background: $background; }
    SheetGrid > .grid--strong { text-style: bold; }
    SheetGrid > .grid--cursor { color: $foreground; background: $background; text-style: reverse; }
    SheetGrid > .grid--muted { color: $text-muted; background: $background; }
    SheetGrid > .grid--warning { color: $text-warning; background: $background; text-style: bold; }
    SheetGrid > .grid--at { color: $foreground; background: $panel; text-style: bold; }
    """

    def __init__(
        self,
        press: Callable[[str], None],
        pasted: Callable[[str], None],
        line: Callable[[int, int], Sequence[Piece]],
        *,
        id: str,  # noqa: A002
    ) -> None:
        super().__init__(id=id)
        self._press_key = press
        self._pasted = pasted
        self._line = line
        self.rows = 0
        """How many lines there are."""
        self.at = 0
        """The line that is typed on."""
        self.top = 0
        """The first line that is shown."""

    def show(self, at: int, rows: int, changed: Sequence[int]) -> None:
        """Bring the lines up to what is so.

        Args:
            at: The line that is typed on.
            rows: How many there are.
            changed: Lines that say something else now.
        """
        height = max(1, self.size.height)
        before = (self.top, self.rows)
        old, self.at, self.rows = self.at, at, rows
        if not self.top <= at < self.top + height:
            # Half a page at a time: the eye finds the row again, and most rows cost one line.
            self.top = max(0, min(at - height // 2, rows - height))
        self.top = max(0, min(self.top, rows - height))
        if (self.top, self.rows) != before:
            self.refresh()
            return
        for place in {*changed, *((old, at) if old != at else ())}:
            if self.top <= place < self.top + height:
                self.refresh(Region(0, place - self.top, self.size.width, 1))

    def render_line(self, y: int) -> Strip:
        """One line."""
        place, width = self.top + y, self.size.width
        sanitize = self._style("plain")
        if place >= self.rows:
            return Strip([Segment(" " * width, sanitize)], width)
        ground = self._style("at") if place == self.at else sanitize
        segments = [
            Segment(text, self._style(kind) if kind == "cursor" else self._on(ground, kind))
            for text, kind in self._line(place, width)
        ]
        return Strip(segments).adjust_cell_length(width, ground)

    def _on(self, ground: Style, kind: str) -> Style:
        if kind == "plain":
            return ground
        return self._style(kind) + Style(bgcolor=ground.bgcolor)

    def _style(self, name: str) -> Style:
        return self.get_component_rich_style(f"grid--{name}")

    async def _on_key(self, event: events.Key) -> None:
        keys = presses(event.key, event.character)
        if not keys:
            return
        event.stop()
        event.prevent_default()
        for key in keys:
            self._press_key(key)

    def _on_paste(self, event: events.Paste) -> None:
        event.stop()
        event.prevent_default()
        self._pasted(event.text)
