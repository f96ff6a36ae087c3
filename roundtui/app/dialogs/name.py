"""Asks once who is at the keys."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static


class NameDialog(ModalScreen[str]):
    """The scout's name; it stands on every entry."""

    def compose(self) -> ComposeResult:
        """A question and a field."""
        with Vertical(classes="dialog"):
            yield Static("Who is scouting?", classes="title", markup=False)
            yield Static("The name goes with every entry; it is asked only once.", markup=False)
            yield Input(id="name", compact=True, max_length=60)
            yield Static("Type it, then Enter.", id="said", classes="hint", markup=False)

    def on_mount(self) -> None:
        """Ready to type."""
        field = self.query_one(Input)
        field.cursor_blink = False
        self.set_focus(field)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """A blank name stays."""
        event.stop()
        name = " ".join(event.value.split())
        if name:
            self.dismiss(name)
        else:
            self.query_one("#said", Static).update("A name is needed: every entry shows who made it.")
