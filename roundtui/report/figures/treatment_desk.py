"""Treatments that growers spoke of: what was typed as an entry, what it changes, and putting it on record."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from roundtui.domain.figures.treatments import check_treatment
from roundtui.domain.orchard_entries import TreatmentSaid
from roundtui.domain.programme.species import species_code
from roundtui.domain.round.checks import in_case
from roundtui.domain.text import HINT, parse_short_day, plain
from roundtui.errors import ProblemsError, RefusedError
from roundtui.store import read
from roundtui.store.figures.treatments import record_treatment, said_before
from roundtui.store.round.changes import write

if TYPE_CHECKING:
    import sqlite3

    from roundtui.report.figures.treatment_changes import TreatmentChanges
    from roundtui.store.round.changes import Change
    from roundtui.store.session import Session


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
        session.named()
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

        session = self.session
        with session.beside() as conn:
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
        author = session.author
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
