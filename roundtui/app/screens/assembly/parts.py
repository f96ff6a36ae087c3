"""What the screens of making traps up and of closing a season ask of the store, and tell it.

What the screen of making traps up says, line by line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.domain.text import padded, plain
from roundtui.domain.traps.assembly import Objection, check_assembly, hanging_row, objections, proposed, to_make_up
from roundtui.domain.traps.entries import Assembled, PartKind
from roundtui.domain.traps.parts import KnownParts, Part
from roundtui.errors import Problem, RefusedError
from roundtui.store import journal, read
from roundtui.store.set_up.register import carry_out
from roundtui.store.set_up.register_deeds import TRAPS, added, edited, hung_again, row_of
from roundtui.store.traps.parts import known_on

if TYPE_CHECKING:
    from roundtui.app.session import Session
    from roundtui.domain.traps.parts import KnownParts


@dataclass(frozen=True, slots=True)
class Bench:
    """A trap on the list: to be made up, or made up and not hung."""

    trap: str
    """Its label."""
    species: str
    """Its species."""
    block: str
    """Block it is to hang in, or hung in last; empty for a trap that never hung."""
    hang_on: date | None
    """Day it is planned to hang."""
    made: Assembled | None
    """How it was made up; None: not yet."""


class AssemblyDesk:
    """Traps made up, and hung.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.last_lot = ""
        self.last_species = ""
        self.look()

    def look(self) -> None:
        """Read what is known of parts and traps."""
        self.known: KnownParts = known_on(self.session.conn, self.session.on)
        self.to_do = tuple(Bench(t.trap, t.species, t.block, t.hang_on, None) for t in to_make_up(self.known))
        self.waiting = tuple(self._made(one) for one in self.known.waiting.values())

    def _made(self, one: Assembled) -> Bench:
        rows = self.known.programme.hangings.get(one.trap, ())
        planned = rows[-1].hung_on if rows and rows[-1].hung_on and rows[-1].hung_on > self.session.on else None
        return Bench(one.trap, one.species, rows[-1].block if rows else "", planned, one)

    @property
    def rows(self) -> tuple[Bench, ...]:
        """Traps to be made up, then those made up that do not hang."""
        return (*self.to_do, *self.waiting)

    def species_of(self, trap: str) -> str:
        """Species of a trap by the register, or by how it was made up; empty for one nobody knows."""
        rows = self.known.programme.hangings.get(trap, ())
        made = self.known.waiting.get(trap)
        return rows[-1].species if rows else made.species if made else ""

    def proposal(self, trap: str, species: str) -> Assembled:
        """What Enter alone takes."""
        return proposed(trap, species, self.known, self.last_lot)

    def against(self, one: Assembled) -> tuple[Objection, ...]:
        """What speaks against a trap as it is made up."""
        return objections(one, self.known)

    def problems(self, one: Assembled) -> tuple[Problem, ...]:
        """What makes it impossible."""
        return check_assembly(one, self.known.programme)

    def record(self, one: Assembled) -> None:
        """Put a trap made up on record. When this returns it is on the disk.

        Raises:
            RoundtuiError: Nothing was recorded.
        """
        session = self.session
        if self.against(one) and not one.despite.strip():
            raise RefusedError(f"{one.trap} is not assembled: there is an objection", "give a reason to go on")
        journal.record(session.conn, [one], self._author(), session.clock())
        self.last_lot, self.last_species = one.lot or self.last_lot, one.species
        self.changed()

    def hang(self, one: Assembled, block: str, hung_on: date, row: str, tree: str) -> None:
        """Hang a trap that was made up, by a change of the register.

        Raises:
            RoundtuiError: The register does not take it; nothing was changed.
        """
        session = self.session
        typed = hanging_row(one, block, hung_on, row=row, tree=tree)
        rows = self.known.programme.hangings.get(one.trap, ())
        own = {
            "row": row,
            "tree": tree,
            **dict.fromkeys(("body_label", "funnel_label", "lid_label", "lot"), ""),
        } | typed
        if not rows:
            deed = added(TRAPS, typed, hung_on)
        else:
            here = row_of(session.conn, TRAPS, one.trap)
            planned = rows[-1].hung_on is not None and rows[-1].hung_on > session.on
            deed = edited(TRAPS, here, own, session.on) if planned else hung_again(here, own, hung_on)
        carry_out(session.conn, deed, self._author(), session.clock())
        self.changed()

    def changed(self) -> None:
        """Something was put on record: all that was read is read anew."""
        session = self.session
        session.programme = read.programme(session.conn)
        session.forget()
        self.look()

    def _author(self) -> journal.Author:
        if not self.session.scout:
            raise RefusedError("your name is not known", "enter your name at the desk first")
        return journal.Author(self.session.scout, self.session.device)


GLOVES = (
    "Fresh disposable gloves for each kind of lure; keep packs sealed until needed; kill strips as their label says."
)
"""What to mind at the bench; the source stands in ``domain/cautions.py``."""


def listed(rows: Sequence[Bench], marked: int, size: tuple[int, int], names: KnownParts) -> Content:
    """Traps to be made up, and those made up and not hung.

    Args:
        rows: The list.
        marked: Which one is marked.
        size: Columns and lines to fill.
        names: For the names of blocks.
    """
    width, height = size
    if not rows:
        return Content("  No trap to assemble. n assembles one that is not listed, by its label.")
    first = max(0, min(marked - height // 2, len(rows) - height))
    lines = []
    for at, row in enumerate(rows[first : first + height], first):
        mark = ">" if at == marked else " "
        block = names.programme.blocks.get(row.block)
        place = f"{row.block} {block.name}" if block and block.name != row.block else row.block
        text = f"{padded(row.trap, 10)} {padded(row.species, 5)} {padded(place, 20)} {_state(row)}"
        lines.append((f"{mark} {plain(text, width - 2)}", "bold reverse" if at == marked else ""))
    parts: list[str | tuple[str, str]] = []
    for at, line in enumerate(lines):
        parts += [line, "\n"] if at < len(lines) - 1 else [line]
    return Content.assemble(*parts)


def _state(row: Bench) -> str:
    planned = f"to hang on {row.hang_on.isoformat()}" if row.hang_on else ""
    if row.made is None:
        return planned or "hung last season"
    spite = " all the same" if row.made.despite else ""
    return f"made up{spite}: {contents(row.made)}, {row.made.assembled_on.isoformat()}"


def contents(one: Assembled) -> str:
    """Parts and lure of a trap, short.

    Args:
        one: The trap.
    """
    labels = [label for label in (one.body_label, one.funnel_label, one.lid_label) if label]
    return f"{' '.join(labels) or 'no labels'}, {f'lot {one.lot}' if one.lot else 'no lure'}"


def about_part(part: Part | None, label: str, kind: PartKind, width: int) -> str:
    """What is known of a part that is typed.

    Args:
        part: The part; None where nobody has seen its label before.
        label: What is typed.
        kind: Which part.
        width: Columns to fill.
    """
    if not label:
        return "no label" if kind is PartKind.BODY else ""
    if part is None:
        return "a new label"
    since = f" since {part.since.isoformat()}" if part.since else ""
    place = f", {part.place}" if part.place else f", {part.trap}" if part.trap else ""
    held = f", held {' '.join(part.scents)};" if part.scents else ""
    return plain(f"{part.species}, {part.state.value}{held}{since}{place}", width)


def about_lot(known: KnownParts, lot: str, width: int) -> str:
    """What is known of a lot that is typed.

    Args:
        known: For its lots.
        lot: What is typed.
        width: Columns to fill.
    """
    if not lot:
        return "no lure yet"
    found = known.programme.lots.get(lot)
    if found is None:
        return "! no such lot"
    load = f" {float(found.load_mg):g} mg" if found.load_mg is not None else ""
    until = f", to be put out by {found.expires_on.isoformat()}" if found.expires_on else ""
    return plain(f"{found.species}{load}{until}", width)


def spoken_against(found: Sequence[Objection], width: int, lines: int) -> Content:
    """What speaks against a trap, each on its line with a mark.

    Args:
        found: The objections.
        width: Columns to fill.
        lines: Lines to fill.
    """
    shown = [plain(f"! {one.words}", width) for one in found[:lines]]
    if len(found) > lines:
        shown[-1] = plain(f"! and {len(found) - lines + 1} more: {found[lines - 1].words}", width)
    return Content.styled("\n".join(shown), "bold")
