"""Treatments in the app: what was typed as an entry, what it changes, and putting it on record.

A treatment that a grower spoke of: block, species, day, a free word, who said so, and when entry is allowed.
"""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass, replace
from datetime import date
from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from roundtui.app.changes import write
from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.domain.figures.treatments import check_treatment
from roundtui.domain.orchard_entries import TreatmentSaid
from roundtui.domain.programme.cautions import BEFORE_ENTRY
from roundtui.domain.programme.species import species_code
from roundtui.domain.round.checks import in_case
from roundtui.domain.text import HINT, parse_short_day, plain
from roundtui.errors import ProblemsError, RefusedError, RoundtuiError
from roundtui.store import read
from roundtui.store.figures.treatments import record_treatment, said_before
from roundtui.store.journal import Author

if TYPE_CHECKING:
    import sqlite3

    from roundtui.app.changes import Change
    from roundtui.app.session import Session
    from roundtui.report.figures.treatment_changes import TreatmentChanges


@dataclass(frozen=True, slots=True)
class TreatmentTyped:
    """What stands in the lines of the dialog."""

    block: str
    """Code of the block, in any letter case."""
    species: str
    """Abbreviation or name of the species."""
    day: str
    """Day, in full or short; blank: today."""
    words: str = ""
    """What the grower called it."""
    said_by: str = ""
    """Who said so."""
    entry_day: str = ""
    """Day from which the block may be entered, in full or as month-day; blank: not said."""
    reason: str = ""
    """Why, where an entry is corrected."""


@dataclass(frozen=True, slots=True)
class TreatmentReady:
    """A treatment ready to be put on record."""

    entry: TreatmentSaid
    """The treatment."""
    no_entry_before: date | None
    """Day from which its block may be entered; None: not said."""


class TreatmentDesk:
    """What the dialog asks and tells.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session

    def day(self, text: str) -> date | None:
        """The day a text stands for."""
        return parse_short_day(text, self.session.on)

    def treated_on(self, text: str) -> date:
        """The day of the treatment that a text stands for; blank: today.

        Raises:
            RefusedError: It is no day, or one still to come.
        """
        day = self.day(text)
        if day is None:
            raise RefusedError(f"{plain(text, 20)} is no day", HINT)
        if day > self.session.on:
            raise RefusedError(f"{day} is still to come", "enter it once it is done")
        return day

    def grower(self, block: str) -> str:
        """Name of the grower of a block; empty where it is not on record."""
        programme = self.session.programme
        farms, farm = programme.farms, programme.farm_of(in_case(block, programme.blocks))
        return farms[farm].grower if farm in farms else ""

    def ready(self, typed: TreatmentTyped, old: TreatmentSaid | None = None) -> TreatmentReady:
        """What was typed, as an entry.

        Args:
            typed: The lines.
            old: The entry that it corrects.

        Raises:
            RefusedError: A line cannot be so, or it says what stands already.
            ProblemsError: There is no such block or species.
        """
        session = self.session
        if not session.scout:
            raise RefusedError("your name is not known", "enter your name at the desk first")
        day = self.treated_on(typed.day)
        entry = TreatmentSaid(
            block=in_case(typed.block, session.programme.blocks),
            species=species_code(typed.species) or typed.species.upper(),
            treated_on=day,
            words=" ".join(typed.words.split()),
            said_by=" ".join(typed.said_by.split()),
        )
        problems = check_treatment(entry, session.programme)
        if problems:
            raise ProblemsError("the treatment was not recorded", problems)
        if said_before(session.conn, entry) is not None:
            raise RefusedError("this treatment is recorded already", "Escape cancels")
        if old is not None:
            if not typed.reason.strip():
                raise RefusedError("correcting an entry needs a reason", "say why")
            entry = replace(entry, replaces=old.id, reason=typed.reason.strip())
        return TreatmentReady(entry, self._entry_day(typed.entry_day, day))

    def _entry_day(self, text: str, treated_on: date) -> date | None:
        """The day of entry may lie ahead: without its year it is the first one from the treatment on."""
        if not text:
            return None
        written = [text, *(f"{year}-{text:0>5}" for year in (treated_on.year, treated_on.year + 1))]
        for one in written:
            try:
                found = date.fromisoformat(one)
            except ValueError:
                continue
            if found >= treated_on:
                return found
        raise RefusedError(f"{plain(text, 20)} is no day from the treatment on", "as 2031-06-03 or 06-03")

    def ahead(self, ready: TreatmentReady, old: TreatmentSaid | None = None) -> TreatmentChanges:
        """What it changes, looked up over a connection of its own, so that a thread can; nothing is recorded.

        Args:
            ready: The treatment.
            old: The entry that it corrects.
        """
        # Puts letters together, which nothing else in a round does.
        from roundtui.report.figures.treatment_changes import treatment_changes
        from roundtui.store.connect import open_store

        session = self.session
        with closing(open_store(session.folder, now=session.clock())) as conn:
            return treatment_changes(
                conn,
                session.folder,
                session.office,
                lambda: self._write(conn, ready),
                about=(ready.entry, *([old] if old is not None else [])),
                on=session.on,
            )

    def record(self, ready: TreatmentReady) -> str:
        """Put it on record. When this returns it is on the disk.

        Args:
            ready: The treatment.

        Returns:
            What is on record now, in a few words.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        session, entry = self.session, ready.entry
        self._write(session.conn, ready)
        if ready.no_entry_before is not None:
            session.programme = read.programme(session.conn)
        session.forget()
        until = f", no entry before {ready.no_entry_before}" if ready.no_entry_before is not None else ""
        what = f"{plain(entry.block, 12)} treated against {plain(entry.species, 8)} on {entry.treated_on}"
        return f"Saved: {what}{until}"

    def _write(self, conn: sqlite3.Connection, ready: TreatmentReady) -> None:
        session = self.session
        author = Author(session.scout, session.device)
        record_treatment(conn, ready.entry, author, session.clock(), no_entry_before=ready.no_entry_before)


def changes_of(session: Session, change: Change) -> TreatmentChanges:
    """What a treatment that is taken back, or gives way to another, changes; nothing is recorded.

    Args:
        session: Who, where and when.
        change: The change.
    """
    from roundtui.report.figures.treatment_changes import treatment_changes

    about = tuple(one for one in (change.about.entry, change.entry) if isinstance(one, TreatmentSaid))
    return treatment_changes(
        session.conn, session.folder, session.office, lambda: write(session, change), about=about, on=session.on
    )


WIDTH = 70
"""Columns inside the dialog."""
SOON_SECONDS = 0.3
"""An Enter that comes sooner, at the last line or after the effects are shown, was meant for what stood before. [s]"""
KEYS = "Enter: next line, at the last saves   Escape cancels"
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
        Binding("escape", "call_off", "Cancel", id="treatment.call-off", tooltip="Nothing is recorded."),
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
            title = "Correct a reported spray" if old else "Spray reported by the grower; not advice"
            yield Static(title, classes="title", markup=False)
            yield from self.field("block", "Block", self._block)
            yield from self.field("species", "Against", self._species)
            yield from self.field("day", "Day, blank: today", old.treated_on.isoformat() if old else "")
            yield from self.field("words", "In their words", old.words if old else "")
            yield from self.field("by", "Reported by", old.said_by if old else self._grower)
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
        lines.append(("Enter again saves it, Escape cancels", "bold"))
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
