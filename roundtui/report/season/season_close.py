"""The end of a season: traps that hang, parts that are about, and what becomes of each."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from roundtui.domain.recorded import Recorded
from roundtui.domain.traps.entries import PartKind, PartNoted, PartState
from roundtui.domain.traps.parts import Part, Whereabouts
from roundtui.domain.traps.season_close import not_put_away, to_discard
from roundtui.errors import RefusedError
from roundtui.store import journal, read
from roundtui.store.connect import transaction
from roundtui.store.set_up.register import carry_out
from roundtui.store.set_up.register_deeds import TRAPS, never_down, row_of, taken_down
from roundtui.store.traps.parts import read_close

if TYPE_CHECKING:
    from roundtui.domain.figures.integrity import Held
    from roundtui.domain.traps.season_close import ToTakeDown
    from roundtui.store.session import Session

SEASON_END = "season-end"
"""Folder, within the scouting folder, that the season's end is written into."""
PLACE = "parts-place"
"""Setting that keeps where parts are put away."""


@dataclass(frozen=True, slots=True)
class CloseRow:
    """A trap that hangs, or a part that is about."""

    trap: str
    """Its label; empty for a part alone."""
    species: str
    """Its species."""
    block: str
    """Block it hangs in."""
    route: str
    """Route it is on."""
    parts: tuple[Part, ...]
    """Its labelled parts, or the part."""
    missing_since: date | None = None
    """Day since which the trap was found missing."""

    @property
    def scented(self) -> tuple[Part, ...]:
        """Bodies that smell of another species."""
        return tuple(part for part in self.parts if part.foreign)


class CloseDesk:
    """Traps that hang, parts that are about.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.place = session.kept(PLACE)
        """Where parts are put away."""
        self.last: tuple[str, str, tuple[Recorded, ...]] | None = None
        """Name, trap and notes of what was noted last here, as long as it can be withdrawn."""
        self.look()

    def look(self) -> None:
        """Read what hangs and what is known of parts."""
        session = self.session
        close = read_close(session.conn, session.office, session.on)
        self.known, hanging = close.known, close.hanging
        every = self.known.parts.values()
        about = [part for part in not_put_away(every) if not part.foreign]
        loose = [part for part in to_discard(every) if part.state is not Whereabouts.HUNG]
        self.hanging = len(hanging)
        """Traps that hang."""
        self.rows = (*map(_trap, hanging), *(_alone(part) for part in (*about, *loose)))

    def held(self, part: Part) -> tuple[Held, ...]:
        """What a body has held."""
        return next((past.held for past in self.known.bodies if past.label == part.label), ())

    def keep_place(self, place: str) -> None:
        """Say where parts are put away, and keep it."""
        self.place = place
        self.session.keep(PLACE, place)

    def note(self, row: CloseRow, state: PartState) -> int:
        """Take a trap down and say what became of its parts, all or nothing; on the disk when this returns.

        Args:
            row: The trap, or the part.
            state: Stored, lost or discarded; of a trap discarded the body alone is, and the rest is put away.

        Returns:
            How many parts were noted.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        session = self.session
        author, now = session.named(), session.clock()
        notes = [self._noted(part, state) for part in row.parts]
        with transaction(session.conn):
            if row.trap:
                down = taken_down(row_of(session.conn, TRAPS, row.trap), session.on, f"close of season: {state.value}")
                carry_out(session.conn, down, author, now)
            noted = journal.record(session.conn, notes, author, now) if notes else ()
        self.last = (row.trap or row.parts[0].label, row.trap, tuple(noted))
        self._read_anew()
        return len(notes)

    def undo(self) -> str:
        """Withdraw what was noted last: the trap hangs as before, in one series, and its parts are where they were.

        Returns:
            What it was about.

        Raises:
            RoundtuiError: Nothing was noted here, or it cannot be withdrawn.
        """
        session = self.session
        if self.last is None:
            raise RefusedError("nothing was noted here", "the register's history reverts older changes")
        name, trap, notes = self.last
        author, now, why = session.named(), session.clock(), "taken down by mistake"
        with transaction(session.conn):
            if trap:
                carry_out(session.conn, never_down(row_of(session.conn, TRAPS, trap), session.on, why), author, now)
            for one in notes:
                journal.withdraw(session.conn, one.id, why, author, now)
        self.last = None
        self._read_anew()
        return name

    def _read_anew(self) -> None:
        self.session.programme = read.programme(self.session.conn)
        self.session.forget()
        self.look()

    def write_end(self) -> str:
        """Write the season's end as ``season-end --to`` does, over a connection of its own, so that a thread can.

        Returns:
            What was written, in a few words.

        Raises:
            RoundtuiError: Nothing can be said of the season, or a file cannot be written.
        """
        # Puts whole seasons together, which nothing else in the app does at the close.
        from roundtui.report.letters.template import Templates
        from roundtui.report.season.season_end import write_season_ends
        from roundtui.store.season.years import YearsRecord

        session = self.session
        with session.beside() as conn:
            record = YearsRecord(conn, session.folder, session.on, session.office)
            known = record.now.programme
            if not record.now.series:
                raise RefusedError(f"no trap hung in the season {record.now.season}", "there is nothing to report")
            ends = record.ends(["", *sorted(known.farms)])
        return f"{SEASON_END}: {write_season_ends(ends, known, Templates(session.folder), session.folder / SEASON_END)}"

    def _noted(self, part: Part, state: PartState) -> PartNoted:
        if state is PartState.DISCARDED and part.part is not PartKind.BODY and part.state is Whereabouts.HUNG:
            state = PartState.STORED
        scent = f"smells of {part.foreign[-1]}" if part.foreign else ""
        noted = PartNoted(
            label=part.label,
            part=part.part,
            species=part.species,
            state=state,
            noted_on=self.session.on,
            note=scent,
        )
        return replace(noted, place=self.place) if state is PartState.STORED else noted


def _trap(one: ToTakeDown) -> CloseRow:
    row = one.hanging
    return CloseRow(row.trap, row.species, row.block, one.route, one.parts, one.missing_since)


def _alone(part: Part) -> CloseRow:
    return CloseRow("", part.species, "", "", (part,))
