"""A covering note for letters, over several lines."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static, TextArea


class LetterNoteDialog(ModalScreen[str]):
    """Type a note; Escape keeps it. It is words and never more than words, whatever is typed.

    Args:
        title: Whose letters it stands in.
        words: What stands already.
    """

    CSS_PATH = "../screens/letters/style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "keep", "Keep", id="letter-note.keep", tooltip="Keep the note and go back.", priority=True)
    ]

    def __init__(self, title: str, words: str) -> None:
        super().__init__()
        self.name_of_it = title
        self.words = words

    def compose(self) -> ComposeResult:
        """A title, the field, what to do."""
        with Vertical(classes="dialog"):
            yield Static(self.name_of_it, classes="title", markup=False)
            yield TextArea(self.words, id="note", show_line_numbers=False, soft_wrap=True)
            yield Static("Enter: next line   Escape: keep it and go back", classes="hint", markup=False)

    def on_mount(self) -> None:
        """Ready to type, behind what stands."""
        field = self.query_one(TextArea)
        field.cursor_blink = False
        field.move_cursor(field.document.end)
        self.set_focus(field)

    def action_keep(self) -> None:
        """Keep it."""
        self.dismiss(self.query_one(TextArea).text)
