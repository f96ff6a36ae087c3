"""Vials that wait for a name; one key names what is in the marked one."""

from __future__ import annotations

from datetime import date
from functools import partial
from textwrap import wrap

from textual.content import Content

from roundtui.app.keys import keys_of
from roundtui.app.screen import ListScreen
from roundtui.app.widgets.board import listed, rule
from roundtui.domain.entries import Specimen
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.species import called
from roundtui.domain.round.specimens import block_of, how_many, is_named, likenesses, species_of
from roundtui.domain.text import padded, sanitize, spoken_day
from roundtui.report.bars import NARROW
from roundtui.report.round.specimens import SpecimenDesk
from roundtui.store.session import Session

VIALS = keys_of("round", "vials")

HEADS = "  Vial    Trap     Found  Many Counted  ", "  Vial     Trap     Pest  Found  Many  Counted  "
"""Titles of the columns before the last, with little room and with more."""


def card(one: Specimen, programme: Programme, on: date, width: int) -> list[str]:
    """All that is known of a specimen, in lines under its name.

    Args:
        one: The specimen.
        programme: For its trap and block.
        on: The day it is said on.
        width: Columns.
    """
    species, block = species_of(one, programme), block_of(one, programme)
    named = f"{spoken_day(one.identified_on, on)} by {one.identified_by}" if one.identified_on else "not identified yet"
    rows = {
        "Trap": f"{one.trap}, {called(species)}{f', block {block}' if block else ''}",
        "Holds": f"{how_many(one.number, _what(one))}, {'counted' if one.in_count else 'left out of the count'}",
        "Found": f"{spoken_day(one.read_on, on)} by {one.scout}",
        "Named": named,
        "Alike": ", ".join(alike.name for alike in likenesses(species)),
        "Note": one.note,
    }
    lines = [rule(sanitize(one.vial, 20) or "No vial", width)]
    for name, words in rows.items():
        lines += (
            wrap(f" {name:<7}{sanitize(words)}", width - 1, subsequent_indent=" " * 8, max_lines=2) if words else []
        )
    return lines


def vial_line(one: Specimen, programme: Programme, on: date, width: int) -> str:
    """A specimen in the list; with little room the species of its trap stands in the card alone.

    Args:
        one: The specimen.
        programme: For the species of its trap.
        on: The day it is said on.
        width: Columns.
    """
    wide, counted = width >= NARROW, "counted" if one.in_count else "left out"
    pest, gap = (f"{padded(species_of(one, programme), 5)} ", "  ") if wide else ("", " ")
    return (
        f"{padded(one.vial or '-', 7 + wide)} {padded(one.trap, 8)} {pest}{spoken_day(one.read_on, on)[4:]:<6} "
        f"{one.number:>4}{gap}{counted:<8} {_what(one, width - len(HEADS[wide]))}"
    )


def _what(one: Specimen, room: int = 200) -> str:
    state = "" if is_named(one) else ", to identify"
    return sanitize(one.what, max(1, room - len(state))) + state


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
        width, height = max(40, self.size.width), self.height
        programme = self.session.programme
        self.put_head(f"Vials   {len(self.listed)} {'of the season' if self.every else 'to identify'}")
        nothing = "  No vial was taken this season." if self.every else "  No vial to identify."
        below = card(self.row, programme, self.session.on, width) if self.listed else []
        size = width, max(3, height - 5 - len(below))
        line = partial(vial_line, programme=programme, on=self.session.on, width=width)
        heads = [Content.styled(f"{HEADS[width >= NARROW]}What", "underline")] if self.listed else []
        self.put("list", Content("\n").join([*heads, listed(self.listed, self.marked, size, line, nothing)]))
        said = Content.styled(sanitize(self.said, width), "bold")
        self.put("said", Content("\n").join([said, Content("\n".join(below))]))
