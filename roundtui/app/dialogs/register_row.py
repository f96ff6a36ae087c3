"""A deed of the register: its columns, the day it holds from, and why; Enter does it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Grid, Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.domain.text import plain
from roundtui.domain.traps.entries import SetUpChanged
from roundtui.errors import ProblemsError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.screens.register.changes import RegisterDesk
    from roundtui.store.set_up.register import Deed

Make = Callable[[Mapping[str, str], date, str], "Deed"]
"""Makes a deed of what was typed, the day it holds from, and why."""
KEYS = "Tab or Down: next   Enter does it   Escape cancels"


class RegisterRowDialog(FieldsDialog[tuple[SetUpChanged, ...] | None]):
    """Type what is to be; it is on the disk before the dialog closes.

    Args:
        desk: Where it is done.
        title: What is done, to what.
        fields: Columns, each with what stands in it at first.
        make: Makes the deed.
        first: Column to begin at; empty: the first.
        hint: A further word.
        later: Whether the day may be after today.
    """

    CSS_PATH = "../screens/register/style.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="register-row.call-off", tooltip="Nothing is changed."),
        # Taken before the field sees them: a field would be a moment late, and what is typed ahead would stay in it.
        Binding(
            "tab,down", "app.focus_next", "Next", id="register-row.next", tooltip="The next column.", priority=True
        ),
        Binding(
            "shift+tab,up",
            "app.focus_previous",
            "Back",
            id="register-row.before",
            tooltip="The column before.",
            priority=True,
        ),
    ]

    def __init__(
        self,
        desk: RegisterDesk,
        title: str,
        fields: Sequence[tuple[str, str]],
        make: Make,
        *,
        first: str = "",
        hint: str = "",
        later: bool = True,
    ) -> None:
        super().__init__()
        self._desk = desk
        self._title = title
        self._fields = tuple(fields)
        self._make = make
        self._hint = hint
        self._later = later
        self._warned: Deed | None = None
        self.FIRST = f"at-{first or (self._fields[0][0] if self._fields else 'day')}"

    def compose(self) -> ComposeResult:
        """A title, the columns two by two, the day and why, what can be done."""
        with Vertical(classes="dialog"):
            yield Static(self._title, classes="title", markup=False)
            with Grid():
                for name, value in (*self._fields, ("day", self._desk.session.on.isoformat()), ("why", "")):
                    yield Static(name, classes="words", markup=False)
                    yield Input(value, id=f"at-{name}", compact=True, max_length=2000)
            yield Static(f"{self._hint}\n{KEYS}" if self._hint else KEYS, id="said", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Do it, or say what cannot be; what looks wrong is named once, and done on a second Enter."""
        event.stop()
        day = self.day("at-day")
        if day is None:
            self.say(f"! day: write a day as {self._desk.session.on.isoformat()}")
            return
        typed = {name: self.typed(f"at-{name}") for name, _ in self._fields}
        try:
            if not self._later:
                self._desk.refuse_later(day)
            deed = self._make(typed, day, self.typed("at-why"))
            remarks = self._desk.remarks(deed) if deed != self._warned else ()
            if remarks:
                self._warned = deed
                words = [f"! {plain(one, 130)}" for one in remarks[:3]]
                more = f"and {len(remarks) - 3} more; " if len(remarks) > 3 else ""
                self.say([*words, f"{more}Enter again does it (override)"])
                return
            done = self._desk.do(deed)
        except ProblemsError as error:
            self.say([f"! {plain(str(problem), 220)}" for problem in error.problems[:3]])
        except RoundtuiError as error:
            self.say(f"! {plain(f'{error.message}: {error.hint}' if error.hint else error.message, 220)}")
        else:
            self.dismiss(done)
