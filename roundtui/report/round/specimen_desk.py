"""Specimens in the app: those that wait for a name, noting one at the trap, and naming it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from roundtui.domain.figures.history import season_start
from roundtui.domain.round.specimens import KINDS, Naming, block_of, how_many, is_open, label
from roundtui.domain.text import plain
from roundtui.errors import RefusedError
from roundtui.store.read import newest_read_on
from roundtui.store.round.changes import once_each
from roundtui.store.round.specimens import find_specimen, naming, record_naming, specimens, to_record, vial_proposed

if TYPE_CHECKING:
    from roundtui.domain.figures.summary import Consequence
    from roundtui.domain.orchard_entries import Specimen
    from roundtui.store.session import Session


@dataclass(frozen=True, slots=True)
class Ahead:
    """What naming a specimen changes."""

    consequences: tuple[Consequence, ...]
    """In what people act on."""
    letters: tuple[str, ...]
    """Letters on disk that no longer hold, a sentence each."""


class SpecimenDesk:
    """What the screens ask and tell about specimens.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session

    def listed(self, *, every: bool) -> tuple[Specimen, ...]:
        """Specimens that wait for a name, the oldest first; or every vial and counted-in one of the season.

        Args:
            every: Those of the season that are named already as well.
        """
        first = season_start(self.session.on, self.session.office.season_starts_on)
        return tuple(
            one
            for one in specimens(self.session.conn, self.session.on)
            if is_open(one) or (every and one.read_on >= first and (one.vial or one.in_count))
        )

    def vial(self) -> str:
        """The number proposed for the next vial."""
        first = season_start(self.session.on, self.session.office.season_starts_on)
        return vial_proposed(self.session.conn, first, self.session.on)

    def note(self, specimen: Specimen, *, counted: int | None) -> str:
        """Put on record what else was in a trap. When this returns it is on the disk.

        Args:
            specimen: What was found.
            counted: Moths typed at the trap where its count is not on record yet.

        Returns:
            What is on record now, in a few words.

        Raises:
            RoundtuiError: It cannot be; nothing was recorded.
        """
        session = self.session
        kind = KINDS.get(specimen.what)
        if kind is not None and not kind.doubtful:
            specimen = replace(specimen, identified_on=specimen.read_on, identified_by=session.scout)
        ready = to_record(session.conn, session.programme, replace(specimen, scout=session.scout), counted=counted)
        self._record(ready)
        vial = f", vial {plain(specimen.vial, 20)}" if specimen.vial else ""
        where = f"{plain(specimen.trap, 16)}: {how_many(specimen.number, specimen.what)}{vial}"
        if ready.visit is not None:
            return f"{where} on record, and its count is {ready.visit.count} now"
        return f"{where} on record{', in the count until named' if specimen.in_count else ''}"

    def naming(self, wanted: str, what: str, by: str, on: date) -> Naming:
        """A name made ready.

        Args:
            wanted: Number on the vial, or the entry's id.
            what: What it is.
            by: Who says so.
            on: When that was.

        Raises:
            RoundtuiError: It cannot be.
        """
        session = self.session
        session.named()
        if on > session.on:
            raise RefusedError(f"{on} is still to come", "correct the day")
        found = find_specimen(session.conn, wanted, session.on)
        return naming(session.conn, session.programme, found, what=what, by=by, on=on)

    def ahead(self, ready: Naming) -> Ahead:
        """What a name changes, looked up over a connection of its own, so that a thread can; nothing is recorded.

        Args:
            ready: The name.

        Raises:
            RoundtuiError: It would be refused.
        """
        from roundtui.report.letters.files import letters_outdated, outdated_words
        from roundtui.store.round.effects import effects

        session, visit = self.session, ready.visit
        farm = session.programme.farm_of(block_of(ready.specimen, session.programme))
        with session.beside() as conn:

            def change() -> None:
                record_naming(conn, ready, session.author, session.clock())

            about = (session.folder, session.office, change)
            letters = letters_outdated(conn, *about, farms=(farm,), since=ready.specimen.read_on, on=session.on)
            found: tuple[Consequence, ...] = ()
            if visit is not None:
                newest = newest_read_on(conn)
                days = {visit.read_on, session.on} | (
                    {newest} if newest is not None and newest <= session.on else set()
                )
                found = once_each(effects(conn, *about, days=days, traps=(visit.trap,)))
            return Ahead(found, outdated_words(conn, letters))

    def name(self, ready: Naming) -> str:
        """Put a name on record, with the count it changes. When this returns both are on the disk.

        Args:
            ready: The name.

        Returns:
            What is on record now, in a few words.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        self._record(ready)
        did = f"{label(ready.specimen)}: {plain(ready.specimen.what, 40)}"
        if ready.visit is None:
            return f"Saved: {did}; no count changes"
        return f"Saved: {did}; the count of {plain(ready.visit.trap, 16)} is {ready.visit.count} now"

    def _record(self, ready: Naming) -> None:
        session = self.session
        record_naming(session.conn, ready, session.author, session.clock())
        if ready.visit is not None:
            session.forget()
