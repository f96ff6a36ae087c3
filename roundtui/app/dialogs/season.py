"""About a block's season: its biofix, a day's temperatures, and what the grower sprayed."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Input, Static

from roundtui.app.dialogs.form import SOON_SECONDS, FormDialog
from roundtui.domain.entries import BiofixSettled, TempsRead, TreatmentSaid
from roundtui.domain.figures.rules import rule_name
from roundtui.domain.programme.cautions import BEFORE_ENTRY
from roundtui.domain.text import full_day, sanitize, spoken_days
from roundtui.domain.units import unit_of
from roundtui.errors import DoubtfulError, RefusedError
from roundtui.report.figures.treatments import TreatmentDesk, TreatmentReady, TreatmentTyped
from roundtui.report.season.season import biofix_words, waiting
from roundtui.store.season.biofix import settlement

if TYPE_CHECKING:
    from roundtui.domain.season.season import BiofixRow
    from roundtui.report.figures.treatments import TreatmentChanges
    from roundtui.report.season.seasons import Key, Seasons
    from roundtui.store.season.season import SeasonRecord
    from roundtui.store.session import Session

_ROW = 64
"""Columns of a line on a generation at 80x24. [columns]"""


class BiofixDialog(FormDialog[BiofixSettled | None]):
    """Choose a generation, look at what is proposed and why, confirm its day or type another.

    Args:
        seasons: Where it will be recorded.
        record: The season.
        key: Block and species.
    """

    FIRST = "day"
    HINT = "PgUp PgDn: another generation. Another day than the proposed one wants a reason."
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("pageup", "move(-1)", "Before", id="biofix.up", tooltip="The generation before."),
        Binding("pagedown", "move(1)", "After", id="biofix.down", tooltip="The generation after."),
    ]

    def __init__(self, seasons: Seasons, record: SeasonRecord, key: Key) -> None:
        super().__init__(seasons.session.ticks)
        self._seasons = seasons
        self._record = record
        self._key = key
        self._rows = record.biofixes(*key)
        open_rows = waiting(self._rows)
        self._marked = self._rows.index(open_rows[0]) if open_rows else max(0, len(self._rows) - 1)

    def compose(self) -> ComposeResult:
        """The generations with what is proposed, then two short lines."""
        block, species = self._key
        fields = (("day", "Day", ""), ("reason", "Reason", ""))
        yield from self.form(f"Biofix of {sanitize(block, 20)} {species}", fields, Static(id="rows", markup=False))

    def on_mount(self) -> None:
        """The proposed day stands in the field."""
        self._mark()

    def action_move(self, step: int) -> None:
        """Mark another generation."""
        self._marked = max(0, min(len(self._rows) - 1, self._marked + step))
        self._mark()

    @property
    def _row(self) -> BiofixRow | None:
        return self._rows[self._marked] if self._rows else None

    def left(self, name: str) -> bool:
        """The day that is proposed needs no reason."""
        row = self._row
        proposed = row.biofix.proposal.on if row and row.biofix.proposal else None
        if name == "day" and proposed is not None and self.day("day") == proposed:
            self.set_focus(self.query_one("#save"))
            return False
        return True

    def saves(self) -> str:
        """What is saved."""
        row = self._row
        generation = f", generation {row.biofix.generation}" if row else ""
        return f"{self.typed('day') or 'a day'} as biofix{generation}"

    def save(self) -> None:
        """Settle it; where people act on one that stood, only after saying what changes."""
        self._seasons.session.named()
        entry = self._entry()
        changes = self._seasons.changes(entry) if entry.replaces is not None else ()
        if changes:
            self.ask("Change this biofix?", [(words, True) for words in changes], lambda: self.dismiss(entry))
        else:
            self.dismiss(entry)

    def _entry(self) -> BiofixSettled:
        day, row = self.needed_day("day", "Day", self._seasons.session.on), self._row
        proposed = row.biofix.proposal.on if row and row.biofix.proposal else None
        if day != proposed and not self.typed("reason"):
            self._last = "reason"
            raise RefusedError(f"{day} is not the day proposed", "say why under Reason")
        generation = row.biofix.generation if row else 1
        return settlement(self._record, *self._key, generation, day=day, reason=self.typed("reason"))

    def _mark(self) -> None:
        lines = [self._line(row, at == self._marked) for at, row in enumerate(self._rows)]
        self.query_one("#rows", Static).update("\n".join(lines or ["No biofix rule for this species: set a day."]))
        day = self._row.biofix.on if self._row else None
        self._at_first["day"] = day.isoformat() if day else ""
        self.query_one("#day", Input).value = self._at_first["day"]

    def _line(self, row: BiofixRow, marked: bool) -> str:
        words = spoken_days(biofix_words(row), self._seasons.session.on)
        if not marked:
            return f"  {sanitize(words, _ROW - 2)}"
        rule = row.biofix.proposal.rule if row.biofix.proposal else None
        tall = self.app.size.height >= 30
        source = sanitize(f"Rule {rule_name(rule.id)}: {rule.source}", (4 if tall else 1) * _ROW - 4) if rule else ""
        return f"> {sanitize(words, (7 if tall else 4) * _ROW - 4)}\n  {source}"


class TempsDialog(FormDialog[TempsRead | None]):
    """Maximum and minimum of a day at a station; it is recorded before the dialog closes.

    Args:
        seasons: Where it is recorded.
        station: Code of the station.
    """

    def __init__(self, seasons: Seasons, station: str) -> None:
        super().__init__(seasons.session.ticks)
        self._seasons = seasons
        self._station = station

    def compose(self) -> ComposeResult:
        """Two short lines to fill in, two that are filled in."""
        known = self._seasons.session.programme.stations.get(self._station)
        name = f", {sanitize(known.name, 40)}" if known else ""
        unit, on = self._seasons.unit_of(self._station), self._seasons.session.on
        fields = [
            ("tmax", "Maximum", ""),
            ("tmin", "Minimum", ""),
            ("unit", "Unit, F or C", unit),
            ("day", "Day", str(on)),
        ]
        yield from self.form(f"Thermometer of {sanitize(self._station, 20)}{name}", fields)

    def saves(self) -> str:
        """What is saved."""
        ends = f"{self.typed('tmax') or '…'} and {self.typed('tmin') or '…'} {self.typed('unit')}"
        return f"{ends} on {self.typed('day')}"

    def save(self) -> None:
        """Record it."""
        day, unit = self.needed_day("day", "Day", self._seasons.session.on), unit_of(self.typed("unit"))
        if unit is None:
            raise RefusedError("Unit: F or C")
        entry = TempsRead(station=self._station, day=day, tmin=self.typed("tmin"), tmax=self.typed("tmax"), unit=unit)
        try:
            self._record(entry)
        except DoubtfulError as doubt:
            said = [(f"{problem.message}.", True) for problem in doubt.problems]
            self.ask("Are these temperatures right?", said, lambda: self._record(entry, sure=True))

    def _record(self, entry: TempsRead, *, sure: bool = False) -> None:
        recorded, odd = self._seasons.enter_temps(entry, sure=sure)
        for problem in odd:
            self.notify(sanitize(str(problem), 300), severity="warning", markup=False, timeout=10)
        self.dismiss(recorded)


class TreatmentDialog(FormDialog[str | None]):
    """A treatment that a grower spoke of, never advice; where it changes more than a figure, that is asked first.

    Args:
        session: Who, where and when.
        block: Block it is about; empty: it is typed.
        species: Species it is against; empty: it is typed.
        first: Line to begin at; empty: the day, where block and species are known.
        old: The entry that is corrected.
    """

    def __init__(
        self, session: Session, block: str = "", species: str = "", *, first: str = "", old: TreatmentSaid | None = None
    ) -> None:
        super().__init__(session.ticks)
        self._desk = TreatmentDesk(session)
        self._old = old
        self._block = old.block if old else block
        self._species = old.species if old else species
        self.FIRST = first or ("day" if self._block and self._species else "block")
        self._grower = self._desk.grower(self._block)
        self._save_at = 0.0
        """When the last line was reached: an Enter that is held does not save."""

    def compose(self) -> ComposeResult:
        """The lines, what they lead to, what must be asked."""
        old = self._old
        who = old.said_by if old else self._grower
        about = [("block", "Block", self._block), ("species", "Pest", self._species)]
        about += [("day", "Day, blank: today", old.treated_on.isoformat() if old else "")]
        fields = [*about, ("words", "In their words", old.words if old else ""), ("by", "Reported by", who)]
        fields += [("entry", "No entry before", ""), *([("reason", "Reason", "")] if old is not None else [])]
        title = "Correct a reported spray" if old else "Spray reported by the grower; not advice"
        yield from self.form(title, fields, Static(BEFORE_ENTRY, id="ask", markup=False))

    def changed(self, name: str) -> None:
        """A short day is said in full; the grower of the block typed stands as who said so until another is typed."""
        if name == "block":
            by, grower = self.query_one("#by", Input), self._desk.grower(self.typed("block"))
            if grower and by.value == self._grower:
                by.value = self._grower = grower
        day = self._desk.day(self.typed("day"))
        self.say(f"{full_day(day)}." if day is not None and name == "day" else "")

    def left(self, name: str) -> bool:
        """A day left blank is written out first, so that nobody records today unseen."""
        self._save_at = self._ticks()
        if name == "day":
            try:
                self.query_one("#day", Input).value = self._desk.treated_on(self.typed("day")).isoformat()
            except RefusedError as error:
                self.refuse(error)
                return False
        return True

    def saves(self) -> str:
        """What is saved."""
        day = self._desk.day(self.typed("day"))
        until = f", no entry before {self.typed('entry')}" if self.typed("entry") else ""
        return f"{self.typed('block')} {self.typed('species')} sprayed on {day or '…'}{until}"

    def save(self) -> None:
        """Look up what it changes, and ask where that is more than a figure."""
        at, self._save_at = self._save_at, self._ticks()
        if self._save_at - at < SOON_SECONDS:
            return
        reason = self.typed("reason") if self._old is not None else ""
        block, species, day, words, by, entry = map(self.typed, ("block", "species", "day", "words", "by", "entry"))
        typed = TreatmentTyped(block, species, day, words, by, entry, reason)
        ready = self._desk.ready(typed, self._old)
        self.look_up(lambda: self._desk.ahead(ready, self._old), lambda changes: self._confirm(ready, changes))

    def _confirm(self, ready: TreatmentReady, changes: TreatmentChanges) -> None:
        def record() -> None:
            self.dismiss(self._desk.record(ready))

        if changes.needs_a_word:
            self.ask(f"Record the spray in {sanitize(ready.entry.block, 20)}?", changes.lines(), record)
        else:
            record()
