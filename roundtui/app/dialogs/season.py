"""About a block's season: its biofix, a day's temperatures, and what the grower sprayed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from textual.widgets import Input, Static

from roundtui.app.dialogs.form import FormDialog, PagedDialog
from roundtui.app.threads import OPENING_SECONDS
from roundtui.domain.entries import BiofixSettled, TempsRead, TreatmentSaid
from roundtui.domain.figures.rules import rule_name
from roundtui.domain.programme.cautions import BEFORE_ENTRY
from roundtui.domain.text import full_day, sanitize
from roundtui.domain.units import unit_of
from roundtui.errors import DoubtfulError, RefusedError
from roundtui.report.figures.treatments import TreatmentDesk, TreatmentReady
from roundtui.report.season.season import biofix_words, waiting
from roundtui.store.season.biofix import settlement

if TYPE_CHECKING:
    from roundtui.domain.season.season import BiofixRow
    from roundtui.report.season.chart import Key
    from roundtui.report.season.seasons import Seasons
    from roundtui.store.season.season import SeasonRecord
    from roundtui.store.session import Session


class BiofixDialog(PagedDialog[BiofixSettled | None]):
    """Choose a generation, look at what is proposed and why, confirm its day or type another.

    Args:
        seasons: Where it will be recorded.
        record: The season.
        key: Block and species.
    """

    FIRST = "day"
    HINT = "Another day than the proposed one wants a reason."
    MOVES = "PgUp PgDn generation"

    def __init__(self, seasons: Seasons, record: SeasonRecord, key: Key) -> None:
        fields = (("day", "Day", ""), ("reason", "Reason", ""))
        above = Static(id="rows", markup=False)
        super().__init__(seasons.session.ticks, f"Biofix of {sanitize(key[0], 20)} {key[1]}", fields, above)
        self._seasons = seasons
        self._record = record
        self._key = key
        self._rows = record.biofixes(*key)
        open_rows = waiting(self._rows)
        self.marked = self._rows.index(open_rows[0]) if open_rows else max(0, len(self._rows) - 1)

    def choices(self) -> Sequence[BiofixRow]:
        """The generations."""
        return self._rows

    @property
    def _row(self) -> BiofixRow | None:
        return self._rows[self.marked] if self._rows else None

    @property
    def _proposed(self) -> date | None:
        return self._row.biofix.proposal.on if self._row and self._row.biofix.proposal else None

    def left(self, name: str) -> bool:
        """The day that is proposed needs no reason."""
        if name == "day" and self._proposed is not None and self.day("day") == self._proposed:
            self.action_to_save()
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

        def changes() -> Sequence[tuple[str, bool]]:
            return [(words, True) for words in self._seasons.changes(entry)] if entry.replaces is not None else ()

        self.ask("Change this biofix?", changes, lambda: self.dismiss(entry))

    def _entry(self) -> BiofixSettled:
        day = self.needed_day("day", "Day")
        if day != self._proposed and not self.typed("reason"):
            raise self.wrong("reason", f"{day} is not the day proposed", "say why under Reason")
        generation = self._row.biofix.generation if self._row else 1
        return settlement(self._record, *self._key, generation, day=day, reason=self.typed("reason"))

    def _show(self) -> None:
        lines = [self._line(row, at == self.marked) for at, row in enumerate(self._rows)]
        self.query_one("#rows", Static).update("\n".join(lines or ["No biofix rule for this species: set a day."]))
        day = self._row.biofix.on if self._row else None
        self._at_first["day"] = day.isoformat() if day else ""
        self.query_one("#day", Input).value = self._at_first["day"]

    def _line(self, row: BiofixRow, marked: bool) -> str:
        words = biofix_words(row, self._seasons.session.on)
        if not marked:
            return f"  {sanitize(words, self.room - 2)}"
        rule = row.biofix.proposal.rule if row.biofix.proposal else None
        tall = self.app.size.height >= 30
        lines = min(4, (self.app.size.height - 16) // 2)
        source = sanitize(f"Rule {rule_name(rule.id)}: {rule.source}", lines * self.room - 4) if rule else ""
        return f"> {sanitize(words, (7 if tall else 5) * self.room - 4)}\n  {source}"


class TempsDialog(FormDialog[TempsRead | None]):
    """Maximum and minimum of a day at a station; it is recorded before the dialog closes.

    Args:
        seasons: Where it is recorded.
        station: Code of the station.
    """

    def __init__(self, seasons: Seasons, station: str) -> None:
        session = seasons.session
        known = session.programme.stations.get(station)
        title = f"Thermometer of {sanitize(station, 20)}{f', {sanitize(known.name, 40)}' if known else ''}"
        ends = [("tmax", "Maximum", ""), ("tmin", "Minimum", ""), ("unit", "Unit, F or C", seasons.unit_of(station))]
        super().__init__(session.ticks, title, [*ends, ("day", "Day", str(session.on))])
        self._seasons = seasons
        self._station = station

    def saves(self) -> str:
        """What is saved."""
        ends = " and ".join(self.typed(name) or f"({name[1:]}imum)" for name in ("tmax", "tmin"))
        return f"{ends} {self.typed('unit')} on {self.typed('day')}"

    def save(self) -> None:
        """Record it."""
        day, unit = self.needed_day("day", "Day"), unit_of(self.typed("unit"))
        if unit is None:
            raise self.wrong("unit", "Unit: F or C")
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
        block, species = (old.block, old.species) if old else (block, species)
        self.FIRST = first or ("day" if block and species else "block")
        self._desk = TreatmentDesk(session)
        self._old = old
        self._grower = self._desk.grower(block)
        self._save_at = 0.0
        """When the last line was reached: an Enter that is held does not save."""
        fields = [
            ("block", "Block", block),
            ("species", "Pest", species),
            ("day", "Day, blank: today", old.treated_on.isoformat() if old else ""),
            ("words", "In their words", old.words if old else ""),
            ("by", "Reported by", old.said_by if old else self._grower),
            ("entry", "No entry before", ""),
            *([("reason", "Reason", "")] if old else []),
        ]
        title = "Correct a reported spray" if old else "Spray reported by the grower; not advice"
        super().__init__(session.ticks, title, fields, Static(BEFORE_ENTRY, id="ask", markup=False))

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
        return f"{self.typed('block')} {self.typed('species')} sprayed on {day or '-'}{until}"

    def save(self) -> None:
        """Look up what it changes, and ask where that is more than a figure."""
        at, self._save_at = self._save_at, self._ticks()
        if self._save_at - at < OPENING_SECONDS:
            return
        ready = self._desk.ready({name: self.typed(name) for name in self._at_first}, self._old)
        block, species, day = ready.entry.block, ready.entry.species, ready.entry.treated_on.isoformat()
        title = f"Record the spray of {day} in {sanitize(block, 20)} against {species}?"
        self.ask(title, lambda: self._changes(ready), lambda: self.dismiss(self._desk.record(ready)))

    def _changes(self, ready: TreatmentReady) -> Sequence[tuple[str, bool]]:
        lines = self._desk.ahead(ready, self._old).lines()
        return lines if any(needs for _, needs in lines) else ()
