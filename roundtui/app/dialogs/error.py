"""The one dialog for what stops work."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from roundtui.domain.text import plain


class ErrorDialog(ModalScreen[None]):
    """What happened, and what to do next. It closes on Enter or Escape only, so that digits typed ahead do no harm.

    Args:
        title: What did not work, in plain words.
        message: What happened, to which trap, block or file.
        hint: What to do next; may be empty.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,ctrl+j,escape", "close", "Close", id="error.close", tooltip="Close this.")
    ]

    def __init__(self, title: str, message: str, hint: str = "") -> None:
        super().__init__()
        self._words = (title, message, hint)

    def compose(self) -> ComposeResult:
        """Title, message, hint, and how to close it."""
        title, message, hint = (plain(words, 600) for words in self._words)
        with Vertical(classes="dialog"):
            yield Static(f"! {title}", classes="title", markup=False)
            yield Static(message, id="message", markup=False)
            if hint:
                yield Static(f"Next: {hint}", classes="hint", markup=False)
            yield Static("Enter or Escape closes this.", classes="hint", markup=False)

    def action_close(self) -> None:
        """Back to where it happened."""
        self.dismiss()
