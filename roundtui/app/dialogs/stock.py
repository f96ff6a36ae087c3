"""Lures of a lot that were bought, or counted in the store."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.domain.round.checks import in_case, nearest
from roundtui.domain.text import plain
from roundtui.domain.traps.entries import Stocked, StockKind
from roundtui.errors import ProblemsError, RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.screens.plan.screen import PlanDesk

_MOST = 99_999


class StockDialog(FieldsDialog[Stocked | None]):
    """Type a lot, what was done and how many; it is recorded before the dialog closes.

    Args:
        desk: Where it is recorded.
        lot: Lot to begin with.
    """

    CSS_PATH = "../screens/plan/style.tcss"
    FIRST = "lot"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="stock.call-off", tooltip="Nothing is recorded."),
    ]

    def __init__(self, desk: PlanDesk, lot: str) -> None:
        super().__init__()
        self._desk = desk
        self._lot = lot

    def compose(self) -> ComposeResult:
        """Three lines to fill in, two that are filled in."""
        with Vertical(classes="dialog"):
            yield Static("Lures in the store", classes="title", markup=False)
            yield from self.field("lot", "Lot", self._lot)
            yield from self.field("kind", "c counted: so many are there; b bought: so many more", "c")
            yield from self.field("number", "How many lures", "")
            yield from self.field("day", "Day", self._desk.session.on.isoformat())
            yield from self.field("note", "Note", "")
            yield Static("Tab: next line   Enter saves   Escape cancels", id="said", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Record it, or say what cannot be."""
        event.stop()
        if event.input.id in ("lot", "kind") and not self.typed("number"):
            self.focus_next()
            return
        entry = self._entry()
        if entry is None:
            return
        try:
            self._desk.enter(entry)
        except ProblemsError as error:
            self.say([plain(f"! {problem}", 300) for problem in error.problems])
        except RoundtuiError as error:
            self.say(plain(f"! {error.message}: {error.hint}" if error.hint else f"! {error.message}", 300))
        else:
            self.dismiss(entry)

    def _entry(self) -> Stocked | None:
        """What is typed; None where something is said about it."""
        session = self._desk.session
        lots = session.programme.lots
        lot, day, number = in_case(self.typed("lot"), lots), self.day("day"), self.typed("number")
        kind = _kind(self.typed("kind"))
        fault = ""
        if lot not in lots:
            fault = f"There is no lot {plain(lot, 30)}: {nearest(lot, lots) or 'add it to lures.csv'}"
        elif kind is None:
            fault = "Write c for counted, or b for bought"
        elif not (number.isascii() and number.isdigit() and int(number) <= _MOST):
            fault = f"How many lures: a number from 0 to {_MOST}"
        elif day is None:
            fault = f"Day: write a day as {session.on.isoformat()}"
        elif day > session.on:
            fault = f"{day.isoformat()} is in the future"
        if fault or kind is None or day is None:
            self.say(f"! {fault}")
            return None
        return Stocked(lot=lot, stocked_on=day, kind=kind, number=int(number), note=self.typed("note"))


def _kind(typed: str) -> StockKind | None:
    said = typed.casefold()
    return next((kind for kind in StockKind if said and kind.value.startswith(said)), None)
