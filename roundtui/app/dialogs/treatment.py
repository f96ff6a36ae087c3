"""A treatment that a grower spoke of: block, species, day, a free word, who said so, and when entry is allowed."""

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
from roundtui.app.treatment_desk import TreatmentDesk, TreatmentReady, TreatmentTyped
from roundtui.domain.cautions import BEFORE_ENTRY
from roundtui.domain.orchard_entries import TreatmentSaid
from roundtui.domain.plain import plain
from roundtui.errors import ProblemsError, RefusedError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.session import Session
    from roundtui.report.treatment_changes import TreatmentChanges

WIDTH = 70
"""Columns inside the dialog."""
SOON_SECONDS = 0.3
"""An Enter that comes sooner, at the last line or after the effects are shown, was meant for what stood before. [s]"""
KEYS = "Enter: next line, at the last it records   Escape calls it off"
_ORDER = ("block", "species", "day", "words", "by", "entry")
_MOST_LINES = 8


class TreatmentDialog(FieldsDialog[str | None]):
    """A few lines, gone through with Enter; where it changes more than a figure, a second Enter records.

    It is on the disk before it closes.

    Args:
        session: Who, where and when.
        block: Block it is about; empty: it is typed.
        species: Species it is against; empty: it is typed.
        first: Line to begin at; empty: the day, where block and species are known.
        old: The entry that is corrected.
    """

    CSS_PATH = "../styles/treatment.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Call off", id="treatment.call-off", tooltip="Nothing is recorded."),
    ]

    def __init__(
        self, session: Session, block: str = "", species: str = "", *, first: str = "", old: TreatmentSaid | None = None
    ) -> None:
        super().__init__()
        self._session = session
        self._desk = TreatmentDesk(session)
        self._old = old
        self._block = old.block if old else block
        self._species = old.species if old else species
        self.FIRST = first or ("day" if self._block and self._species else "block")
        self._ready: TreatmentReady | None = None
        """What was said to change more than itself, and waits for a second Enter."""
        self._ready_at = 0.0
        self._last_at = 0.0
        """When Enter came to the last line, or came there too soon."""
        self._looking: TreatmentReady | None = None
        """What it changes is being looked up beside the app, since letters are put together for it."""
        self._grower = self._desk.grower(self._block)

    def compose(self) -> ComposeResult:
        """The lines, what they lead to, what must be asked."""
        old = self._old
        with Vertical(classes="dialog"):
            title = "Correct a treatment" if old else "A treatment, as the grower says; no advice"
            yield Static(title, classes="title", markup=False)
            yield from self.field("block", "Block", self._block)
            yield from self.field("species", "Against", self._species)
            yield from self.field("day", "Day, blank: today", old.treated_on.isoformat() if old else "")
            yield from self.field("words", "What they call it", old.words if old else "")
            yield from self.field("by", "Who said so", old.said_by if old else self._grower)
            yield from self.field("entry", "No entry before", "")
            if old is not None:
                yield from self.field("reason", "Reason", "")
            yield Static(KEYS, id="said", markup=False)
            yield Static("\n".join(wrap(BEFORE_ENTRY, WIDTH)), id="ask", markup=False)

    def field(self, name: str, words: str, value: str) -> ComposeResult:
        """A line with its name before it."""
        with Horizontal(classes="row"):
            yield from super().field(name, words, value)

    def on_input_changed(self, event: Input.Changed) -> None:
        """A short day is said in full; what was said before the second Enter no longer holds."""
        event.stop()
        self._ready = self._looking = None
        if event.input.id == "block":
            self._follow(event.value)
        day = self._desk.day(self.typed("day"))
        self.say(f"{day:%a} {day}.   {KEYS}" if day is not None and event.input.id == "day" else KEYS)

    def _follow(self, block: str) -> None:
        """The grower of the block that is typed stands as who said so, until somebody else is typed."""
        by = self.query_one("#by", Input)
        grower = self._desk.grower(block)
        if grower and by.value == self._grower:
            by.value = self._grower = grower

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """To the next line; at the last say what it changes where that is more than a figure, else record it."""
        event.stop()
        if self._looking is not None:
            return
        at = self._session.ticks()
        if self._ready is not None:
            if at - self._ready_at >= SOON_SECONDS:
                self._record(self._ready)
        elif event.input.id != self._lines[-1]:
            self._go_on(event.input, at)
        elif at - self._last_at >= SOON_SECONDS:
            self._look_ahead()
        else:
            # One that is held goes on being held: each puts off the moment from which it counts.
            self._last_at = at

    @property
    def _lines(self) -> tuple[str, ...]:
        return _ORDER if self._old is None else (*_ORDER, "reason")

    def _go_on(self, line: Input, at: float) -> None:
        """To the next line; a day left blank is written out first, so that nobody records today unseen."""
        if line.id == "day":
            try:
                line.value = self._desk.treated_on(line.value).isoformat()
            except RefusedError as error:
                self._refuse(f"{error.message}: {error.hint}")
                return
        after = self._lines[self._lines.index(line.id or "") + 1]
        self.set_focus(self.query_one(f"#{after}"))
        if after == self._lines[-1]:
            self._last_at = at

    def _look_ahead(self) -> None:
        try:
            ready = self._desk.ready(self._typed(), self._old)
        except ProblemsError as error:
            self._refuse("; ".join(f"{one.message}: {one.hint}" for one in error.problems))
            wrong = error.problems[0].where
            if wrong in self._lines:
                self.set_focus(self.query_one(f"#{wrong}"))
        except RoundtuiError as error:
            self._refuse(f"{error.message}: {error.hint}")
        else:
            self._looking = ready
            self.say("Looking up what it changes …")
            self.run_worker(
                lambda: self._desk.ahead(ready, self._old),
                name="ahead",
                thread=True,
                exclusive=True,
                exit_on_error=False,
            )

    def _typed(self) -> TreatmentTyped:
        names = ("block", "species", "day", "words", "by", "entry")
        reason = self.typed("reason") if self._old is not None else ""
        block, species, day, words, by, entry = (self.typed(name) for name in names)
        return TreatmentTyped(block, species, day, words, by, entry, reason)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say what it changes, when that is known."""
        ready = self._looking
        if event.worker.name != "ahead" or ready is None or not event.worker.is_finished:
            return
        self._looking = None
        error = event.worker.error
        if isinstance(error, RoundtuiError):
            self._refuse(f"{error.message}: {error.hint}")
        elif error is not None:
            raise error
        elif event.state is WorkerState.SUCCESS:
            self._say_changes(ready, cast("TreatmentChanges", event.worker.result))

    def _say_changes(self, ready: TreatmentReady, changes: TreatmentChanges) -> None:
        if not changes.needs_a_word:
            self._record(ready)
            return
        self._ready, self._ready_at = ready, self._session.ticks()
        lines = effect_lines(changes.lines(), _MOST_LINES)
        lines.append(("Enter again records it, Escape calls it off", "bold"))
        self._tell(lines)

    def _record(self, ready: TreatmentReady) -> None:
        try:
            self.dismiss(self._desk.record(ready))
        except RoundtuiError as error:
            self._refuse(f"{error.message}: {error.hint}")

    def _refuse(self, words: str) -> None:
        self._ready = None
        self._tell([(line, "bold $text-warning") for line in wrap(plain(f"! {words}", 300), WIDTH)])

    def _tell(self, lines: list[tuple[str, str]]) -> None:
        said = Content("\n").join(Content.styled(words, style) for words, style in lines)
        self.query_one("#said", Static).update(said)


def effect_lines(said: tuple[tuple[str, bool], ...], most: int) -> list[tuple[str, str]]:
    """What a change of a treatment changes, cut to the dialog, each line with its style.

    Args:
        said: Sentences, and whether each is to be said before the change is accepted.
        most: How many lines have room.
    """
    lines: list[tuple[str, str]] = []
    for words, needs in said:
        mark, style = ("! ", "bold $text-warning") if needs else ("  ", "")
        lines += [(line, style) for line in wrap(plain(f"{mark}{words}", 400), WIDTH, subsequent_indent="    ")]
    return lines if len(lines) <= most else [*lines[: most - 1], (f"and {len(lines) - most + 1} more lines", "bold")]
