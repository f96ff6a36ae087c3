"""A count estimated from some of the squares of a liner."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.domain.figures.figures import from_grid, grid_note, grid_problem

if TYPE_CHECKING:
    from roundtui.app.session import Session

SQUARES = "grid-squares"
"""Setting that keeps how many squares a liner has."""
_ORDER = ("counted", "squares", "moths")


class GridDialog(FieldsDialog[tuple[int, str] | None]):
    """Three numbers; gives the count, and the note that says how it came about.

    Args:
        session: Where the number of squares is kept from one time to the next.
        trap: The trap, as it is shown.
    """

    CSS_PATH = "../screens/vials/style.tcss"
    FIRST = "counted"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="grid.call-off", tooltip="Nothing is estimated."),
    ]

    def __init__(self, session: Session, trap: str) -> None:
        super().__init__()
        self._session = session
        self._trap = trap

    def compose(self) -> ComposeResult:
        """Three short lines."""
        with Vertical(classes="dialog"):
            yield Static(f"Estimate from a grid, {self._trap}", classes="title", markup=False)
            yield Static("Choose squares all over the liner before you look at them.", markup=False)
            yield from self.field("counted", "Squares counted", "")
            yield from self.field("squares", "Squares in all", self._session.kept(SQUARES))
            yield from self.field("moths", "Moths in those", "")
            yield Static("Enter: next line, at the last saves   Escape cancels", id="said", markup=False)

    def field(self, name: str, words: str, value: str) -> ComposeResult:
        """A line with its name before it."""
        with Horizontal(classes="row"):
            yield from super().field(name, words, value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """To the next line; at the last, the estimate."""
        event.stop()
        if event.input.id != _ORDER[-1]:
            self.set_focus(self.query_one(f"#{_ORDER[_ORDER.index(event.input.id or '') + 1]}"))
            return
        counted, squares, moths = (self._number(name) for name in _ORDER)
        problem = grid_problem(counted, squares, moths)
        if problem is not None or counted is None or squares is None or moths is None:
            self.say(f"! {problem.message}: {problem.hint}" if problem else "")
            return
        self._session.keep(SQUARES, str(squares))
        self.dismiss((from_grid(counted, squares, moths), grid_note(counted, squares, moths)))

    def _number(self, name: str) -> int | None:
        text = self.typed(name)
        return int(text) if text.isascii() and text.isdecimal() and len(text) <= 6 else None
