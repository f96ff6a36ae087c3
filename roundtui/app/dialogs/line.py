"""Asks for one short line: a trap to go to, a day, an instant."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog

KEYS = "Enter selects   Escape cancels"


class LineDialog(FieldsDialog[str | None]):
    """One line, asked for again until it can be.

    Args:
        title: What it is for.
        words: Name of the line.
        value: What stands in it at first; the first key replaces it.
        fault: Says what is wrong with a line; empty where nothing is.
        hint: A further word on how to write it.
    """

    CSS_PATH = "../screens/replay/style.tcss"
    FIRST = "line"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="line.call-off", tooltip="Nothing is done.")
    ]

    def __init__(self, title: str, words: str, value: str = "", *, fault: Callable[[str], str], hint: str = "") -> None:
        super().__init__()
        self._title = title
        self._words = words
        self._value = value
        self._fault = fault
        self._hint = hint

    def compose(self) -> ComposeResult:
        """A title, the line, what can be done."""
        with Vertical(classes="dialog"):
            yield Static(self._title, classes="title", markup=False)
            if self._hint:
                yield Static(self._hint, markup=False)
            yield from self.field("line", self._words, self._value)
            yield Static(KEYS, id="said", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Take it, or say what is wrong with it."""
        event.stop()
        text = self.typed("line")
        fault = self._fault(text) if text else "It cannot be blank"
        if fault:
            self.say(f"! {fault}")
        else:
            self.dismiss(text)
