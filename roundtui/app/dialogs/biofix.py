"""Confirms a biofix, or sets another day with a reason."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import Input, Static

from roundtui.app.dialogs.fields import FieldsDialog
from roundtui.domain.season_entries import BiofixSettled
from roundtui.domain.text import plain
from roundtui.errors import RoundtuiError
from roundtui.report.season.season import biofix_words, waiting
from roundtui.store.season.biofix import settlement

if TYPE_CHECKING:
    from roundtui.app.screens.season.seasons import Key, Seasons
    from roundtui.domain.season.season import BiofixRow
    from roundtui.store.season.season import SeasonRecord

KEYS = "Up Down generation  Tab next  Enter saves  Escape cancels"
_MOST_TOLD = 3
_WIDTH = 64
"""Columns inside the dialog at 80x24. [columns]"""


class BiofixDialog(FieldsDialog[BiofixSettled | None]):
    """Choose a generation, look at what is proposed and why, confirm its day or type another.

    Args:
        seasons: Where it will be recorded.
        record: The season.
        key: Block and species.
    """

    FIRST = "day"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "call_off", "Cancel", id="biofix.call-off", tooltip="Nothing is recorded."),
        Binding("up", "move(-1)", "Up", id="biofix.up", tooltip="The generation before."),
        Binding("down", "move(1)", "Down", id="biofix.down", tooltip="The generation after."),
    ]

    def __init__(self, seasons: Seasons, record: SeasonRecord, key: Key) -> None:
        super().__init__()
        self._seasons = seasons
        self._record = record
        self._key = key
        self._rows = record.biofixes(*key)
        open_rows = waiting(self._rows)
        self._marked = self._rows.index(open_rows[0]) if open_rows else max(0, len(self._rows) - 1)
        self._told: BiofixSettled | None = None
        """What was said to change more than itself, and waits for a second Enter."""

    def compose(self) -> ComposeResult:
        """The generations with what is proposed, then two short lines."""
        block, species = self._key
        with Vertical(classes="dialog"):
            yield Static(f"Biofix of {plain(block, 20)} {species}", classes="title", markup=False)
            yield Static(id="rows", markup=False)
            yield from self.field("day", "Day", "")
            yield from self.field("reason", "Reason, where it is another day than the proposed one", "")
            yield Static(KEYS, id="said", markup=False)

    def on_mount(self) -> None:
        """The proposed day stands in the field."""
        self._mark()

    def on_input_changed(self, event: Input.Changed) -> None:
        """What was said before the second Enter no longer holds."""
        event.stop()
        if self._told is not None:
            self._told = None
            self.say(KEYS)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Record it; where people act on one that stood, only after saying what changes."""
        event.stop()
        if not self._seasons.session.scout:
            self.say("Who confirms? Enter your name at the desk first.")
            return
        entry = self._entry()
        if entry is None:
            return
        if entry.replaces is not None and self._told != entry:
            changes = self._seasons.changes(entry)
            if changes:
                more = [f"and {len(changes) - _MOST_TOLD} more"] if len(changes) > _MOST_TOLD else []
                lines = [plain(words, 70) for words in changes[:_MOST_TOLD]]
                self._told = entry
                self.say(["This changes:", *lines, *more, "Enter again saves it, Escape cancels"])
                return
        self.dismiss(entry)

    def action_move(self, step: int) -> None:
        """Mark another generation."""
        self._marked = max(0, min(len(self._rows) - 1, self._marked + step))
        self._mark()

    def _entry(self) -> BiofixSettled | None:
        day = self.day("day")
        if day is None:
            self.say(f"Day: write a day as {self._seasons.session.on.isoformat()}")
            return None
        row = self._rows[self._marked] if self._rows else None
        proposed = row.biofix.proposal.on if row and row.biofix.proposal else None
        if day != proposed and not self.typed("reason"):
            self.say(f"{day} is not the day proposed: say why under Reason")
            return None
        generation = row.biofix.generation if row else 1
        try:
            return settlement(self._record, *self._key, generation, day=day, reason=self.typed("reason"))
        except RoundtuiError as error:
            self.say(plain(error.message, 300))
            return None

    def _mark(self) -> None:
        lines = [self._line(row, at == self._marked) for at, row in enumerate(self._rows)]
        self.query_one("#rows", Static).update("\n".join(lines or ["No biofix rule for this species: set a day."]))
        row = self._rows[self._marked] if self._rows else None
        day = row.biofix.on if row else None
        self.query_one("#day", Input).value = day.isoformat() if day else ""

    def _line(self, row: BiofixRow, marked: bool) -> str:
        words = biofix_words(row)
        if not marked:
            return f"  {plain(words, _WIDTH - 2)}"
        rule = row.biofix.proposal.rule if row.biofix.proposal else None
        tall = self.app.size.height >= 30
        source = plain(f"Rule {rule.id}: {rule.source}", (4 if tall else 1) * _WIDTH - 4) if rule else ""
        return f"> {plain(words, (7 if tall else 4) * _WIDTH - 4)}\n  {source}"
