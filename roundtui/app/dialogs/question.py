"""Asks about an entry, answers, or closes the question."""

from __future__ import annotations

from datetime import UTC
from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.domain.questions import QuestionWord, Talk
from roundtui.domain.text import plain
from roundtui.errors import RoundtuiError
from roundtui.store import journal
from roundtui.store.round.questions import say_about

if TYPE_CHECKING:
    from roundtui.app.session import Session
    from roundtui.store.read import JournalRow

WIDTH = 70
"""Columns inside the dialog."""
_MOST_LINES = 8


class QuestionDialog(FieldsDialog[str | None]):
    """What was said about an entry so far, and a line for the next word.

    Args:
        session: Who, where and when.
        row: The entry.
        talk: What stands about it.
        said: What the entry says, in plain words.
    """

    CSS_PATH = "../screens/replay/style.tcss"
    FIRST = "words"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="question.call-off", tooltip="Nothing is recorded."),
        Binding("f5", "close_it", "Close", id="question.close", tooltip="Closes the question; words may go with it."),
    ]

    def __init__(self, session: Session, row: JournalRow, talk: Talk | None, said: str) -> None:
        super().__init__()
        self._session = session
        self._row = row
        self._talk = talk if talk is not None and talk.open else None
        self._shown = talk
        self._said = said

    def compose(self) -> ComposeResult:
        """The talk, a line, what can be done."""
        place = plain(self._row.trap or self._row.block or self._row.kind, 20)
        with Vertical(classes="dialog"):
            yield Static(
                f"Question about {place}, {self._row.read_on}: {plain(self._said, 30)}", classes="title", markup=False
            )
            yield Static("\n".join(self._lines()), id="talk", markup=False)
            yield from self.field("words", "Answer" if self._answers else "Question", "")
            yield Static(self._keys(), id="said", markup=False)

    @property
    def _answers(self) -> bool:
        return self._talk is not None and not self._talk.answered

    def _lines(self) -> list[str]:
        if self._shown is None:
            return ["Nothing was asked about this entry yet."]
        lines: list[str] = []
        for one in self._shown.rows:
            at = "" if one.recorded_at is None else f"{one.recorded_at.astimezone(UTC):%Y-%m-%d %H:%M}"
            words = (
                f"{one.says.value} by {plain(one.scout, 24)}, {at}{': ' if one.words else ''}{plain(one.words, 600)}"
            )
            lines += wrap(words, WIDTH, subsequent_indent="  ")
        if len(lines) > _MOST_LINES:
            lines = [f"and {len(lines) - _MOST_LINES + 1} lines before", *lines[1 - _MOST_LINES :]]
        return lines

    def _keys(self) -> str:
        enter = "Enter answers" if self._answers else "Enter asks on" if self._talk else "Enter asks"
        return f"{enter}{'   F5 closes the question' if self._talk else ''}   Escape cancels"

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Ask, or answer."""
        event.stop()
        self._record(QuestionWord.ANSWERED if self._answers else QuestionWord.ASKED)

    def action_close_it(self) -> None:
        """Close the question; what stands in the line goes with it."""
        self._record(QuestionWord.CLOSED)

    def _record(self, says: QuestionWord) -> None:
        session = self._session
        try:
            say_about(
                session.conn,
                self._row,
                journal.Author(session.scout, session.device),
                session.clock(),
                says=says,
                words=self.typed("words"),
                talk=self._talk,
            )
        except RoundtuiError as error:
            self.say(f"! {error.message}{f': {error.hint}' if error.hint else ''}")
            return
        self.dismiss(f"Saved: question {says.value} by {plain(session.scout, 24)}")
