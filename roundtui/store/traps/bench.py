"""Traps assembled before they are hung: what waits, putting one together, hanging it."""

from __future__ import annotations

from datetime import date

from roundtui.domain.entries import Assembled
from roundtui.domain.programme.farm import Programme
from roundtui.domain.traps import assembly
from roundtui.errors import RefusedError
from roundtui.store.record import journal
from roundtui.store.session import Session
from roundtui.store.set_up.register import TRAPS, added, carry_out, edited, hung_again, row_of
from roundtui.store.traps.parts import known_on


class AssemblyDesk:
    """Traps assembled, and hung.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.last_lot = ""
        self.last_species = ""
        self.known = assembly.KnownParts(session.on, Programme())
        """What is known of parts and traps; nothing before it is read."""
        self.to_do: tuple[assembly.BenchTrap, ...] = ()
        self.waiting: tuple[assembly.BenchTrap, ...] = ()

    def read(self) -> None:
        """Read what is known of parts and traps, in a thread."""
        with self.session.connection() as conn:
            known = known_on(conn, self.session.on)
        self.to_do = assembly.to_assemble(known)
        self.waiting = tuple(self._made(one, known) for one in known.waiting.values())
        self.known = known

    def _made(self, one: Assembled, known: assembly.KnownParts) -> assembly.BenchTrap:
        rows = known.programme.hangings.get(one.trap, ())
        planned = rows[-1].hung_on if rows and rows[-1].hung_on and rows[-1].hung_on > self.session.on else None
        return assembly.BenchTrap(one.trap, one.species, rows[-1].block if rows else "", planned, one)

    @property
    def rows(self) -> tuple[assembly.BenchTrap, ...]:
        """Traps to be assembled, then those assembled that do not hang."""
        return (*self.to_do, *self.waiting)

    def species_of(self, trap: str) -> str:
        """Species of a trap by the register, or by how it was assembled; empty for one nobody knows."""
        rows = self.known.programme.hangings.get(trap, ())
        made = self.known.waiting.get(trap)
        return rows[-1].species if rows else made.species if made else ""

    def proposal(self, trap: str, species: str) -> Assembled:
        """What Enter alone takes."""
        return assembly.proposed(trap, species, self.known, self.last_lot)

    def against(self, one: Assembled) -> tuple[str, ...]:
        """What speaks against a trap as it is assembled."""
        return assembly.objections(one, self.known)

    def record(self, one: Assembled) -> None:
        """Put a trap assembled on record. When this returns it is on the disk.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        session = self.session
        if self.against(one) and not one.despite.strip():
            raise RefusedError(f"{one.trap} is not assembled: there is an objection", "give a reason to go on")
        journal.record(session.conn, [one], session.named(), session.clock())
        self.last_lot, self.last_species = one.lot or self.last_lot, one.species
        session.forget(set_up=True)

    def hang(self, one: Assembled, block: str, hung_on: date, row: str, tree: str) -> None:
        """Hang a trap that was assembled, by a change of the register.

        Raises:
            RoundtuiError: The register does not take it; nothing was changed.
        """
        session = self.session
        typed = assembly.hanging_row(one, block, hung_on, row=row, tree=tree)
        rows = self.known.programme.hangings.get(one.trap, ())
        own = {
            "row": row,
            "tree": tree,
            **dict.fromkeys(("body_label", "funnel_label", "lid_label", "lot"), ""),
        } | typed
        if not rows:
            change = added(TRAPS, typed, hung_on)
        else:
            here = row_of(session.conn, TRAPS, one.trap)
            planned = rows[-1].hung_on is not None and rows[-1].hung_on > session.on
            change = edited(TRAPS, here, own, session.on) if planned else hung_again(here, own, hung_on)
        carry_out(session.conn, change, session.named(), session.clock())
        session.forget(set_up=True)
