"""An entry typed anew, or taken back, with a reason; what that changes is said before it is accepted."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Input, Static

from roundtui.app.changes import (
    CORRECTABLE,
    Change,
    Typed,
    corrected,
    effects_of,
    make,
    standing_row,
    taken_back,
)
from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.app.screens.history.view import chain_lines
from roundtui.domain.orchard_entries import TreatmentSaid
from roundtui.domain.programme.stages import stage_name
from roundtui.domain.round.tally import draft_of, format_tally
from roundtui.domain.text import plain
from roundtui.domain.traps.entries import SetUpChanged
from roundtui.domain.visits import StageSeen, Visit
from roundtui.errors import ProblemsError, RefusedError, RoundtuiError
from roundtui.report.figures.changes import consequence_words
from roundtui.store.chains import chain

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session
    from roundtui.store.read import JournalRow

WIDTH = 70
"""Columns inside the dialog."""
SOON_SECONDS = 0.3
"""An Enter that comes sooner after the effects are shown was meant for the line. [s]"""
_MOST_LINES = 6
_CHAIN_LINES = 4


class ChangeDialog(FieldsDialog[str | None]):
    """Lines for trap, day, entry and reason; the first Enter says what changes, the second makes the change.

    Args:
        session: Who, where and when.
        row: The entry that stands.
        take_back: Take it back, instead of typing it anew.
    """

    CSS_PATH = "../screens/replay/style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="change.call-off", tooltip="Nothing is changed."),
        Binding(
            "f5",
            "put_back",
            "earlier entry back",
            id="change.put-back",
            tooltip="Whether the earlier entry comes back.",
        ),
    ]

    def __init__(self, session: Session, row: JournalRow, *, take_back: bool) -> None:
        super().__init__()
        self._session = session
        self._row = row
        self._take_back = take_back
        self.FIRST = "reason" if take_back else "entry"
        self._chain = chain(session.conn, row.id)
        self._puts_back = row.entry.replaces is not None
        self._ready: Change | None = None
        """What was said to change more than itself, and waits for a second Enter."""
        self._ready_at = 0.0

    def compose(self) -> ComposeResult:
        """The chain, then the lines."""
        entry = self._row.entry
        place = plain(self._row.trap or self._row.block or self._row.kind, 20)
        verb = "Take back" if self._take_back else "Correct"
        with Vertical(classes="dialog"):
            yield Static(f"{verb} {self._row.kind} of {place}, {self._row.read_on}", classes="title", markup=False)
            shown = chain_lines(self._chain, WIDTH)
            if len(shown) > _CHAIN_LINES:
                shown = [f"and {len(shown) - _CHAIN_LINES + 1} before", *shown[-_CHAIN_LINES + 1 :]]
            yield Static("\n".join(shown), id="chain", markup=False)
            if not self._take_back:
                if isinstance(entry, Visit):
                    yield from self.field("trap", "Trap", entry.trap)
                yield from self.field("day", "Day", str(self._row.read_on))
                yield from self.field("entry", "Entry" if isinstance(entry, Visit) else "Stage", self._value())
            yield from self.field("reason", "Reason", "")
            yield Static(self._keys(), id="said", markup=False)

    def field(self, name: str, words: str, value: str) -> ComposeResult:
        """A line with its name before it: there are four, and what they change needs room."""
        with Horizontal(classes="row"):
            yield from super().field(name, words, value)

    def _value(self) -> str:
        entry = self._row.entry
        if isinstance(entry, Visit):
            return format_tally(draft_of(entry))
        return entry.code if isinstance(entry, StageSeen) else ""

    def _keys(self) -> str:
        keys = "Tab: next line   Enter: show what it changes   Escape cancels"
        if not self._take_back and isinstance(self._row.entry, Visit):
            keys = f"As on paper: 4 l r, 0, x m, 12 c n:half under leaves\n{keys}"
        if not self._take_back or self._row.entry.replaces is None:
            return keys
        what = "the entry it had replaced holds again" if self._puts_back else "nothing replaces it"
        return f"Then {what}: F5 changes that\n{keys}"

    def _tell(self, words: Content) -> None:
        self.query_one("#said", Static).update(words)

    def on_input_changed(self, event: Input.Changed) -> None:
        """What was said before the second Enter no longer holds."""
        event.stop()
        if self._ready is not None:
            self._ready = None
            self.say(self._keys())

    def action_put_back(self) -> None:
        """Whether a correction that is taken back gives way to what it had replaced."""
        if self._take_back and self._row.entry.replaces is not None:
            self._puts_back = not self._puts_back
            self._ready = None
            self.say(self._keys())

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """To the reason, then say what changes, then make the change."""
        event.stop()
        if not self.typed("reason") and event.input.id != "reason":
            self.set_focus(self.query_one("#reason", Input))
            return
        try:
            if self._ready is not None:
                if self._session.ticks() - self._ready_at >= SOON_SECONDS:
                    self.dismiss(make(self._session, self._ready))
                return
            change = self._change()
            self._tell(self._effects(change))
        except ProblemsError as error:
            self._refuse(". ".join(str(one) for one in error.problems[:2]))
        except RoundtuiError as error:
            self._refuse(f"{error.message}{f': {error.hint}' if error.hint else ''}")
        else:
            self._ready = change
            self._ready_at = self._session.ticks()

    def _change(self) -> Change:
        if not self._session.scout:
            raise RefusedError("your name is not known", "enter your name at the desk first")
        if self._take_back:
            return taken_back(self._session, self._row, self.typed("reason"), put_back=self._puts_back)
        day = self.day("day")
        if day is None:
            raise RefusedError("that is no day", "write it as 2031-06-03")
        trap = self.typed("trap") if isinstance(self._row.entry, Visit) else ""
        return corrected(
            self._session,
            self._row,
            Typed(said=self.typed("entry"), trap=trap, read_on=day, reason=self.typed("reason")),
        )

    def _said(self, change: Change) -> Sequence[tuple[str, bool]]:
        """What it changes, and whether that is to be said before it is accepted."""
        if isinstance(change.about.entry, TreatmentSaid):
            from roundtui.app.dialogs.treatment import changes_of

            return changes_of(self._session, change).lines()
        return [(consequence_words(one), one.needs_a_word) for one in effects_of(self._session, change)]

    def _effects(self, change: Change) -> Content:
        lines: list[tuple[str, str]] = []
        for words, needs in self._said(change):
            mark, style = ("! ", "bold $text-warning") if needs else ("  ", "")
            lines += [(line, style) for line in wrap(plain(f"{mark}{words}", 400), WIDTH, subsequent_indent="    ")]
        if len(lines) > _MOST_LINES:
            lines = [*lines[: _MOST_LINES - 1], (f"and {len(lines) - _MOST_LINES + 1} more lines", "bold")]
        if not lines:
            lines = [("It changes no status, warning, biofix or figure.", "")]
        if isinstance(change.entry, StageSeen):
            block = self._session.programme.blocks.get(change.entry.block)
            lines.insert(
                0, (f"Stage {change.entry.code}: {stage_name(block.crop if block else '', change.entry.code)}", "")
            )
        lines.append(("Enter again makes the change, and both stay on record. Escape: no", "bold"))
        return Content("\n").join(Content.styled(words, style) for words, style in lines)

    def _refuse(self, words: str) -> None:
        self._ready = None
        self._tell(Content.styled("\n".join(wrap(plain(f"! {words}", 400), WIDTH)), "bold $text-warning"))


async def open_change(
    app: RoundtuiApp,
    session: Session,
    row: JournalRow,
    done: Callable[[str | None], None],
    *,
    take_back: bool,
) -> None:
    """Have an entry corrected or taken back.

    Args:
        app: The app.
        session: Who, where and when.
        row: The entry, or one that it replaced.
        done: Told what is on record now, in a few words, or None where nothing was changed.
        take_back: Take it back, instead of typing it anew.
    """
    try:
        stands = standing_row(session, row)
        if isinstance(stands.entry, SetUpChanged):
            words = "a change of the register is reverted by a further one"
            raise RefusedError(words, "open the register at the desk with g, mark the row, then h")
        if not take_back and isinstance(stands.entry, TreatmentSaid):
            from roundtui.app.dialogs.treatment import TreatmentDialog

            await app.push_screen(TreatmentDialog(session, old=stands.entry), done)
            return
        if not take_back and not isinstance(stands.entry, CORRECTABLE):
            raise RefusedError(f"a {stands.kind} cannot be corrected here", "withdraw it, and enter it again")
        dialog = ChangeDialog(session, stands, take_back=take_back)
    except RoundtuiError as error:
        app.show_error("Nothing to change", error)
        return
    await app.push_screen(dialog, done)
