"""The menu: what has no key of its own by digit, places by letter. One press chooses."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from roundtui.domain.text import padded, sanitize

Rows = Sequence[tuple[str, str]]
HINT = "A digit or a letter chooses   Escape goes back"


class MenuDialog(ModalScreen[str | None]):
    """Two lists of a key and its words; gives the key that was pressed.

    Args:
        rows: What is done here, by digit.
        places: Places to go to, by letter.
    """

    CSS_PATH = "style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,m", "back", "Back", id="menu.back", tooltip="Back.")]

    def __init__(self, rows: Rows, places: Rows) -> None:
        super().__init__()
        self._rows = (rows, places)
        self._keys = {key for part in self._rows for key, _ in part}

    def compose(self) -> ComposeResult:
        """Here at the left, places in two columns at the right."""
        rows, places = self._rows
        half = (len(places) + 1) // 2
        here = [f"{key}  {sanitize(words, 30)}" for key, words in rows] or ["no more keys here"]
        to = [[f"{key}  {words}" for key, words in part] for part in (places[:half], places[half:])]
        lines = [f"{'Here':<30}Go to"]
        lines += [
            "".join(padded(one, width) for one, width in zip(line, (30, 22, 22), strict=True))
            for line in zip_longest(here, *to, fillvalue="")
        ]
        with Vertical(classes="menu"):
            yield Static("\n".join(line.rstrip() for line in lines), markup=False)
            yield Static(HINT, id="said", markup=False)

    def on_key(self, event: events.Key) -> None:
        """A key of one of the lists chooses; any other says that it is none."""
        key = (event.character or "").lower()
        if self.choose(key):
            event.stop()
        elif key.isprintable() and key not in ("", "m"):
            self.query_one("#said", Static).update(f"{key} is not in the menu. {HINT}")

    def choose(self, key: str) -> bool:
        """Choose a row by its key.

        Args:
            key: What was pressed.

        Returns:
            Whether it is in one of the lists.
        """
        if key in self._keys:
            self.dismiss(key)
        return key in self._keys

    def action_back(self) -> None:
        """Nothing is chosen."""
        self.dismiss(None)
