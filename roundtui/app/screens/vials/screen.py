"""Vials that wait for a name; one key names what is in the marked one."""

from __future__ import annotations

from datetime import date

from textual.content import Content

from roundtui.app.keys import keys_of
from roundtui.app.screen import ListScreen
from roundtui.app.widgets.board import listed
from roundtui.domain.entries import Specimen
from roundtui.domain.programme.farm import Programme
from roundtui.domain.round.specimens import block_of, how_many, is_named, species_of
from roundtui.domain.text import padded, sanitize, spoken_day
from roundtui.report.round.specimens import SpecimenDesk
from roundtui.store.session import Session

VIALS = keys_of("round", "vials")

HEAD = f"  {'Vial':<9}{'Trap':<11}{'Pest':<6}{'Found':<12}{'Many':>4}  {'Counted':<9}What"
"""Titles of the columns."""


def in_full(one: Specimen, programme: Programme, on: date, width: int) -> str:
    """A specimen in a sentence or two, cut to its place.

    Args:
        one: The specimen.
        programme: For its block.
        on: The day it is said on.
        width: Columns and lines together.
    """
    block = block_of(one, programme)
    words = [
        f"{sanitize(one.vial, 20) or 'No vial'}: {how_many(one.number, one.what)} of {sanitize(one.trap, 16)}",
        f"block {sanitize(block, 12)}" if block else "",
        f"found {spoken_day(one.read_on, on)} by {sanitize(one.scout, 20)}",
        "counted" if one.in_count else "left out of the count",
        f"named {spoken_day(one.identified_on, on)} by {sanitize(one.identified_by, 24)}"
        if is_named(one) and one.identified_on
        else "not identified yet",
        sanitize(one.note, 60),
    ]
    return sanitize(", ".join(word for word in words if word), width) + "."


def vial_line(one: Specimen, programme: Programme, on: date) -> str:
    """A specimen in the list.

    Args:
        one: The specimen.
        programme: For the species of its trap.
        on: The day it is said on.
    """
    what = one.what if is_named(one) else f"{one.what}, to identify"
    return (
        f"{padded(one.vial or '-', 8)} {padded(one.trap, 10)} {padded(species_of(one, programme), 5)} "
        f"{spoken_day(one.read_on, on)[4:]:<11} {one.number:>4}  {'counted' if one.in_count else 'left out':<8} {what}"
    )


class VialsScreen(ListScreen[None]):
    """Specimens, the oldest first.

    Args:
        session: Who, where and when.
    """

    STOPPED = "The vials cannot be listed"
    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "said", "keys")
    KEYS = VIALS

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.desk = SpecimenDesk(session)
        self.every = False
        self.listed: tuple[Specimen, ...] = self.desk.listed(every=False)

    def _rows(self) -> tuple[Specimen, ...]:
        return self.listed

    def action_every(self) -> None:
        """Those named already as well, or not."""
        self.every = not self.every
        self._read()

    def action_identify(self) -> None:
        """Name what is in the marked one, or in another whose number is typed."""
        from roundtui.app.dialogs.trap import IdentifyDialog

        self.app.push_screen(IdentifyDialog(self.desk, self.row), self._named)

    def _named(self, said: str | None) -> None:
        if said:
            self.said = said
            self._read()

    def _read(self) -> None:
        with self.saying("The vials cannot be listed"):
            self.listed = self.desk.listed(every=self.every)
        self.say(self.said)

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.size.height
        programme = self.session.programme
        which = "of the season" if self.every else "to identify"
        self.put_head(f"Vials   {len(self.listed)} {which}")
        nothing = "  No vial was taken this season." if self.every else "  No vial to identify."
        size = width, max(3, height - 7)
        lines = listed(self.listed, self.marked, size, lambda one: vial_line(one, programme, self.session.on), nothing)
        heads = [Content.styled(sanitize(HEAD, width), "underline")] if self.listed else []
        self.put("list", Content("\n").join([*heads, lines]))
        below = Content.styled(f"{sanitize(self.said, width - 2)}\n", "bold") if self.said else Content("")
        if self.listed:
            below = Content.assemble(
                below, f"{in_full(self.listed[self.marked], programme, self.session.on, 2 * width - 4)}"
            )
        self.put("said", below)
        self.put_strip()
