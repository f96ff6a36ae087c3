"""What the close of a season says, line by line.

The close of a season: traps in the order in which they are walked, one key for what became of each.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from textwrap import wrap

from textual import work
from textual.content import Content

from roundtui.app.keys import keys_of
from roundtui.app.screen import ListScreen
from roundtui.app.widgets.board import listed
from roundtui.domain.entries import PartState
from roundtui.domain.text import full_day, padded, sanitize, several, spoken_days
from roundtui.domain.traps.assembly import Part
from roundtui.report.bars import bar
from roundtui.report.season.season_end import CloseDesk, CloseRow
from roundtui.report.traps.parts import held_words
from roundtui.store.session import Session

SEASON_CLOSE = keys_of("season", "close")

CAUTION = "Gloves for spent lures and kill strips; take them out of the orchard, and back as their labels say."
"""What to mind in taking down."""


NOTHING = "  No trap hangs, and every part is stored. At the desk n plans the next season."


HEAD = f"  {'Trap':<10} {'Pest':<5} {'Block, route':<14} Labels"


def _line(row: CloseRow) -> str:
    labels = " ".join(part.label for part in row.parts) or "no labels"
    scent = "".join(f"  ! smells of {part.foreign[-1]}" for part in row.scented)
    if row.hung is None:
        (part,) = row.parts
        return f"{padded(part.label, 10)} {padded(part.species, 5)} {part.part.value}, {part.state.value}{scent}"
    trap, since = row.hung.hanging, row.hung.missing_since
    missing = f"  ! missing since {full_day(since)}" if since else ""
    place = f"{trap.block}, {row.hung.route or 'no route'}"
    return f"{padded(trap.trap, 10)} {padded(trap.species, 5)} {padded(place, 14)} {labels}{missing}{scent}"


def doubts(row: CloseRow, what: PartState, hang: int) -> list[str]:
    """What is to be known before something is noted; none where it is plain.

    Args:
        row: What it is about.
        what: What became of it.
        hang: Traps that hang and of which none was taken down here yet; 0: one was.
    """
    hanging = f"Traps that hang: {hang}. One that is down is read no more, and its series ends."
    said = [hanging] if row.trap and hang else []
    if what is PartState.STORED and row.scented:
        body = row.scented[0]
        words = f"{sanitize(body.label, 24)} smells of {sanitize(body.foreign[-1], 24)}"
        said.append(f"{words}: 3 discards the body; putting it away is an override.")
    if what is not PartState.STORED:
        taken = ", and the trap is taken down" if row.trap else ""
        what_of = "It is recorded as lost" if what is PartState.LOST else "Its body is discarded"
        said.append(f"{what_of}{taken}.")
    return said


def about(desk: CloseDesk, row: CloseRow) -> list[str]:
    """The parts of the marked trap and what its body has held.

    Args:
        desk: For what is known.
        row: The trap, or the part.
    """
    said: list[str] = []
    for part in row.parts:
        said.append(f"{part.part.value} {part.label}: {part.species}, {_state(part)}")
        said += [f"held {spoken_days(words)}" for words in held_words(desk.held(part))[-3:]] if part.scents else []
    return said or ["None of its parts has a label: only the trap is recorded as down."]


def _state(part: Part) -> str:
    since = f" since {full_day(part.since)}" if part.since else ""
    return f"{part.state.value}{since}{f', {part.place}' if part.place else ''}"


DONE = {PartState.STORED: "put away", PartState.LOST: "noted as lost", PartState.DISCARDED: "discarded"}


TITLES = {PartState.STORED: "down, parts put away", PartState.LOST: "gone", PartState.DISCARDED: "down, body out"}


class SeasonCloseScreen(ListScreen[None]):
    """Traps to take down, and parts to put away.

    Args:
        session: Who, where and when.
    """

    STOPPED = "Parts and traps cannot be read"
    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "about", "said", "keys")
    KEYS = SEASON_CLOSE

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.desk = CloseDesk(session)

    def _begin(self) -> None:
        self._read("")

    def _read(self, words: str) -> None:
        """Read what hangs and what is known of parts, then say what was done."""
        self.read(self.desk.read, lambda _: self.say(words), self.STOPPED, self.dismiss)
        self.say(words)

    def _rows(self) -> Sequence[CloseRow]:
        return self.desk.rows

    def idle(self) -> str:
        """What was not noted cannot be withdrawn."""
        return "" if self.desk.last else "undo"

    def action_note(self, state: str) -> None:
        """What became of the marked one."""
        row, what = self.row, PartState(state)
        if row is None:
            return
        against = doubts(row, what, 0 if self.desk.last else self.desk.hanging)
        if against:
            title = f"{row.name}: {TITLES[what]}?"
            self.ask(title, [(words, True) for words in against], lambda: self._note(row, what))
        else:
            self._note(row, what)

    def _note(self, row: CloseRow, what: PartState) -> None:
        with self.saying("Nothing was noted"):
            number = self.desk.note(row, what)
            place = f" in {sanitize(self.desk.place, 40)}" if self.desk.place and what is PartState.STORED else ""
            parts = f", {several(number, 'part')} {DONE[what]}{place}" if number else ""
            self._read(f"{row.name}{' is down' if row.trap else ''}{parts}")

    def action_undo(self) -> None:
        """Withdraw what was noted last here."""
        if self.desk.last is None:
            self.tell("Nothing was noted here yet")
            return
        what = f"Withdraw what was noted of {sanitize(self.desk.last[0], 24)}?"
        self.ask(what, [("Both stay on record.", False)], self._undo)

    def _undo(self) -> None:
        with self.saying("Not withdrawn"):
            self._read(f"{sanitize(self.desk.undo(), 24)}: withdrawn")

    @work
    async def action_place_of(self) -> None:
        """Where parts are put away."""
        from roundtui.app.dialogs.form import LineDialog

        dialog = LineDialog("Where are parts put away?", "Place", self.desk.place, fault=lambda _: "")
        place = await self.app.push_screen_wait(dialog)
        if place is not None:
            self.desk.keep_place(place)
            self._show()

    def action_write_end(self) -> None:
        """The season's end for the programme and every farm, as files."""
        self.say("Writing the season's end …")
        self.aside("end", self.desk.write_end, self._written, "The season's end is not written", stopped=self._written)

    def _written(self, files: str = "") -> None:
        self.say(f"Written in {files}" if files else "")

    def _show(self) -> None:
        width, height = self.width, self.height
        desk, row = self.desk, self.row
        self.put_head("End of season")
        if not desk.rows and not self.have_read.is_set():
            self.put("list", "  Reading traps and parts …")
            return
        said = wrap(sanitize(self.said or CAUTION), width - 2)
        lines = [f"Parts go to: {sanitize(desk.place, 40) or 'nowhere named'}; e changes it"]
        lines += about(desk, row) if row else []
        lines = [part for line in lines for part in wrap(sanitize(line), width - 2)][: max(3, height // 3)]
        total, loose = desk.hanging + desk.down, several(len(desk.rows) - desk.hanging, "part")
        words = f"{desk.down} of {total} traps down this season, {loose} about"
        drawn = bar(Fraction(desk.down), (Fraction(total), Fraction(total)), max(4, width - len(words) - 4))[:-2]
        size = width, max(3, height - 7 - len(lines) - len(said))
        # So many columns are enough for most rows.
        rows = listed(desk.rows, self.marked, size, _line, NOTHING, head=HEAD, each=58)
        self.put("list", Content(f" {drawn} {words}\n") + rows)
        self.put("about", "\n".join(lines))
        self.put("said", Content.styled("\n".join(said), "bold" if self.said else ""))
