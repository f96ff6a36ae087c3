"""A specimen named: what it is, by whom, when; what that changes is said before it is accepted."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.app.screens.vials.specimens import Ahead, SpecimenDesk
from roundtui.domain.round.specimens import Naming
from roundtui.domain.text import plain
from roundtui.errors import ProblemsError, RefusedError, RoundtuiError
from roundtui.report.figures.changes import consequence_words

if TYPE_CHECKING:
    from roundtui.domain.orchard_entries import Specimen

WIDTH = 70
"""Columns inside the dialog."""
SOON_SECONDS = 0.3
"""An Enter that comes sooner after the effects are shown was meant for the line. [s]"""
_KEYS = "Enter: next line, at the last shows what changes   Escape cancels"
_MOST_LINES = 9
_ORDER = ("vial", "what", "by", "day")


class NamingDialog(FieldsDialog[str | None]):
    """Lines for vial, name, person and day; one Enter says what changes, the next makes the change.

    Args:
        desk: Where it is recorded.
        marked: The specimen that is marked in the list; None where none is.
    """

    CSS_PATH = "../screens/vials/style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="naming.call-off", tooltip="Nothing is changed."),
    ]

    def __init__(self, desk: SpecimenDesk, marked: Specimen | None) -> None:
        super().__init__()
        self._desk = desk
        self._marked = marked
        self.FIRST = "what" if marked is not None else "vial"
        self._ready: Naming | None = None
        """What was said to change, and waits for a second Enter."""
        self._ready_at = 0.0
        self._looking: Naming | None = None
        """What it changes is being looked up."""

    def compose(self) -> ComposeResult:
        """Four short lines."""
        with Vertical(classes="dialog"):
            yield Static("Identify a vial", classes="title", markup=False)
            yield from self.field("vial", "Vial", self._vial())
            yield from self.field("what", "Is", "")
            yield from self.field("by", "Identified by", "")
            yield from self.field("day", "On", self._desk.session.on.isoformat())
            yield Static(f"A species or a kind; unknown removes a name.\n{_KEYS}", id="said", markup=False)

    def field(self, name: str, words: str, value: str) -> ComposeResult:
        """A line with its name before it."""
        with Horizontal(classes="row"):
            yield from super().field(name, words, value)

    def _vial(self) -> str:
        if self._marked is None:
            return ""
        return self._marked.vial or self._marked.id

    def on_input_changed(self, event: Input.Changed) -> None:
        """What was said before the second Enter no longer holds."""
        event.stop()
        if self._ready is not None or self._looking is not None:
            self._ready = self._looking = None
            self.say(_KEYS)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """To the next line; at the last say what changes, then make the change."""
        event.stop()
        if self._looking is not None:
            return
        if self._ready is None and event.input.id != _ORDER[-1]:
            self.set_focus(self.query_one(f"#{_ORDER[_ORDER.index(event.input.id or '') + 1]}"))
            return
        session = self._desk.session
        try:
            if self._ready is not None:
                if session.ticks() - self._ready_at >= SOON_SECONDS:
                    self.dismiss(self._desk.name(self._ready))
                return
            ready = self._typed()
        except ProblemsError as error:
            self._refuse(". ".join(f"{one.message}: {one.hint}" for one in error.problems[:2]))
        except RoundtuiError as error:
            self._refuse(f"{error.message}{f': {error.hint}' if error.hint else ''}")
        else:
            self._looking = ready
            self.say("Looking up what it changes …")
            self.run_worker(
                lambda: self._desk.ahead(ready), name="ahead", thread=True, exclusive=True, exit_on_error=False
            )

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say what it changes, when that is known."""
        ready = self._looking
        if event.worker.name != "ahead" or ready is None or not event.worker.is_finished:
            return
        self._looking = None
        error = event.worker.error
        if isinstance(error, RoundtuiError):
            self._refuse(f"{error.message}{f': {error.hint}' if error.hint else ''}")
        elif error is not None:
            raise error
        elif event.state is WorkerState.SUCCESS:
            self._ready, self._ready_at = ready, self._desk.session.ticks()
            self._tell(_words(ready, cast("Ahead", event.worker.result)))

    def _typed(self) -> Naming:
        day = self.day("day")
        if day is None:
            raise RefusedError("On: a day", "write it as 2031-06-03")
        vial = self.typed("vial")
        wanted = self._marked.id if self._marked is not None and vial == self._vial() else vial
        return self._desk.naming(wanted, self.typed("what"), self.typed("by"), day)

    def _tell(self, words: Content) -> None:
        self.query_one("#said", Static).update(words)

    def _refuse(self, words: str) -> None:
        self._ready = None
        self._tell(Content.styled("\n".join(wrap(plain(f"! {words}", 400), WIDTH)), "bold $text-warning"))


def _words(ready: Naming, ahead: Ahead) -> Content:
    lines: list[tuple[str, str]] = []
    if ready.visit is not None:
        lines.append((f"The count of {plain(ready.visit.trap, 16)} becomes {ready.visit.count}.", "bold"))
    for one in ahead.consequences:
        mark, style = ("! ", "bold $text-warning") if one.needs_a_word else ("  ", "")
        lines += [(line, style) for line in _wrapped(f"{mark}{consequence_words(one)}")]
    for words in ahead.letters:
        lines += [(line, "bold $text-warning") for line in _wrapped(f"! {words}")]
    if len(lines) > _MOST_LINES:
        lines = [*lines[: _MOST_LINES - 1], (f"and {len(lines) - _MOST_LINES + 1} more lines", "bold")]
    if not lines:
        lines = [("No count changes.", "")]
    lines.append(("Enter again saves it. Escape: no", "bold"))
    return Content("\n").join(Content.styled(words, style) for words, style in lines)


def _wrapped(words: str) -> list[str]:
    return wrap(plain(words, 400), WIDTH, subsequent_indent="    ")
