"""What dialogs of a few short lines have in common."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TypeVar

from textual import events
from textual.app import ComposeResult
from textual.screen import ModalScreen
from textual.widgets import Input, Static

T = TypeVar("T")


class FieldsDialog(ModalScreen[T]):
    """A few named lines; Enter records, Escape calls off."""

    CSS_PATH = "../screens/season/style.tcss"
    FIRST = ""
    """Line to begin at."""

    def field(self, name: str, words: str, value: str) -> ComposeResult:
        """A line with its name."""
        yield Static(words, classes="words", markup=False)
        yield Input(value, id=name, compact=True, max_length=200)

    def on_mount(self) -> None:
        """Ready to type."""
        for one in self.query(Input):
            one.cursor_blink = False
        self.set_focus(self.query_one(f"#{self.FIRST}"))

    def on_key(self, event: events.Key) -> None:
        """Enter sent as ctrl+j by some pads is Enter."""
        if event.key == "ctrl+j" and isinstance(self.focused, Input):
            event.stop()
            self.focused.post_message(Input.Submitted(self.focused, self.focused.value))

    def action_call_off(self) -> None:
        """Record nothing."""
        self.dismiss(None)

    def typed(self, name: str) -> str:
        """What stands in a line."""
        return self.query_one(f"#{name}", Input).value.strip()

    def day(self, name: str) -> date | None:
        """The day in a line; None where it is none."""
        try:
            return date.fromisoformat(self.typed(name))
        except ValueError:
            return None

    def say(self, words: str | Sequence[str]) -> None:
        """Say something under the lines."""
        self.query_one("#said", Static).update(words if isinstance(words, str) else "\n".join(words))
