"""Where a trap that was made up is hung, and since when."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.app.screens.assembly.parts import contents
from roundtui.domain.round.checks import in_case, nearest
from roundtui.domain.text import plain

if TYPE_CHECKING:
    from roundtui.app.screens.assembly.parts import AssemblyDesk, Bench
    from roundtui.domain.traps.entries import Assembled

KEYS = "Tab next line   Enter hangs it   Escape cancels"


class HangDialog(FieldsDialog[tuple[str, date, str, str] | None]):
    """Block, day, row and tree.

    Args:
        desk: For blocks and past hangings.
        row: The trap.
        made: How it was made up.
    """

    FIRST = "block"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="hang.call-off", tooltip="It is not hung.")
    ]

    def __init__(self, desk: AssemblyDesk, row: Bench, made: Assembled) -> None:
        super().__init__()
        self._desk = desk
        self._row = row
        self._made = made

    def compose(self) -> ComposeResult:
        """What hangs, then four lines."""
        rows = self._desk.known.programme.hangings.get(self._row.trap, ())
        last = rows[-1] if rows else None
        with Vertical(classes="dialog"):
            title = f"Hang {self._row.trap} ({self._row.species}): {contents(self._made)}"
            yield Static(plain(title, 58), classes="title", markup=False)
            yield from self.field("block", "Block", self._row.block)
            yield from self.field("day", "Hung on", self._desk.session.on.isoformat())
            yield from self.field("row", "Row", last.row if last else "")
            yield from self.field("tree", "Tree", last.tree if last else "")
            yield Static(KEYS, id="said", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Hang it, or say what is wrong."""
        event.stop()
        blocks = self._desk.known.programme.blocks
        block, day = in_case(self.typed("block"), blocks), self.day("day")
        if block not in blocks:
            wrong = f"There is no block {plain(block, 24)}. {nearest(block, blocks)}" if block else "In which block?"
            self.say(f"! {wrong}")
        elif day is None:
            self.say("! Hung on: write a day as 2031-06-03")
        elif day > self._desk.session.on:
            self.say("! That day is still to come")
        elif day < self._made.assembled_on:
            self.say(f"! It was assembled on {self._made.assembled_on.isoformat()}, not before")
        else:
            self.dismiss((block, day, self.typed("row"), self.typed("tree")))
