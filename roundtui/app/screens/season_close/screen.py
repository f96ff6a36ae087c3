"""What the close of a season says, line by line.

The close of a season: traps in the order in which they are walked, one key for what became of each.
"""

from __future__ import annotations

from collections.abc import Sequence

from textual import work
from textual.content import Content

from roundtui.app.keys import keys_of
from roundtui.app.screen import ListScreen
from roundtui.app.widgets.board import listed
from roundtui.domain.entries import PartState
from roundtui.domain.text import full_day, padded, sanitize, spoken_days
from roundtui.domain.traps.assembly import Part
from roundtui.report import text as numbers
from roundtui.report.season.season_end import CloseDesk, CloseRow
from roundtui.report.traps.parts import held_words
from roundtui.store.session import Session

SEASON_CLOSE = keys_of("season", "close")

CAUTION = "Gloves for spent lures and kill strips; take them out of the orchard, and back as their labels say."
"""What to mind in taking down."""


NOTHING = "  No trap hangs, and every part is stored. At the desk n plans the next season."


def _line(row: CloseRow) -> str:
    labels = " ".join(part.label for part in row.parts)
    scent = "".join(f"  ! {part.label} smells of {part.foreign[-1]}" for part in row.scented)
    if not row.trap:
        (part,) = row.parts
        return f"{padded(part.label, 10)} {padded(row.species, 5)} {part.part.value}, {part.state.value}{scent}"
    missing = f"  ! missing since {full_day(row.missing_since)}" if row.missing_since else ""
    place = f"{row.block}, {row.route}" if row.route else f"{row.block}, no route"
    hangs = f"{padded(row.trap, 10)} {padded(row.species, 5)} {padded(place, 18)} "
    return f"{hangs}{labels or 'no labels'}{missing}{scent}"


def doubts(row: CloseRow, what: PartState, hang: int) -> list[str]:
    """What is to be known before something is noted; none where it is plain.

    Args:
        row: What it is about.
        what: What became of it.
        hang: Traps that hang and of which none was taken down here yet; 0: one was.
    """
    said = (
        [f"{hang} traps hang: a trap that is down is read no more, and its series ends."] if row.trap and hang else []
    )
    if what is PartState.STORED and row.scented:
        body = row.scented[0]
        words = f"{sanitize(body.label, 24)} smells of {sanitize(body.foreign[-1], 24)}"
        said.append(f"{words}: 3 discards the body; putting it away is an override.")
    if what is not PartState.STORED:
        taken = ", and the trap is taken down" if row.trap else ""
        what_of = "It is recorded as lost" if what is PartState.LOST else "Its body is discarded"
        said.append(f"{what_of}{taken}.")
    return said


def about(desk: CloseDesk, row: CloseRow, width: int, lines: int) -> Content:
    """The parts of the marked trap and what its body has held.

    Args:
        desk: For what is known.
        row: The trap, or the part.
        width: Columns to fill.
        lines: Lines to fill.
    """
    said: list[str] = []
    for part in row.parts:
        said.append(f"{part.part.value} {part.label}: {part.species}, {_state(part)}")
        said += [f"held {spoken_days(words)}" for words in held_words(desk.held(part))[-3:]] if part.scents else []
    if row.trap and not row.parts:
        said = ["None of its parts has a label: only the trap is recorded as down."]
    return Content("\n".join(f" {sanitize(line, width - 2)}" for line in said[:lines]))


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

    def _rows(self) -> Sequence[CloseRow]:
        return self.desk.rows

    def action_note(self, state: str) -> None:
        """What became of the marked one."""
        row, what = self.row, PartState(state)
        if row is None:
            return
        against = doubts(row, what, 0 if self.desk.last else self.desk.hanging)
        if against:
            title = f"{sanitize(row.trap or row.parts[0].label, 24)}: {TITLES[what]}?"
            self.ask(title, [(words, True) for words in against], lambda: self._note(row, what))
        else:
            self._note(row, what)

    def _note(self, row: CloseRow, what: PartState) -> None:
        with self.saying("Nothing was noted"):
            parts = numbers.several(self.desk.note(row, what), "part")
            name = sanitize(row.trap or row.parts[0].label, 24)
            place = f" in {sanitize(self.desk.place, 40)}" if self.desk.place and what is PartState.STORED else ""
            self.say(f"{name}{' is down' if row.trap else ''}, {parts} {DONE[what]}{place}")

    def action_undo(self) -> None:
        """Withdraw what was noted last here."""
        if self.desk.last is None:
            self.tell("Nothing was noted here yet")
            return
        what = f"Withdraw what was noted of {sanitize(self.desk.last[0], 24)}?"
        self.ask(what, [("Both stay on record.", False)], self._undo)

    def _undo(self) -> None:
        with self.saying("Not withdrawn"):
            self.say(f"{sanitize(self.desk.undo(), 24)}: withdrawn")

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
        self.aside(
            "end", self.desk.write_end, self._notified, "The season's end is not written", stopped=self._notified
        )

    def _notified(self, files: str = "") -> None:
        self.say(f"Written in {files}" if files else "")

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.size.height
        desk = self.desk
        loose = numbers.several(len(desk.rows) - desk.hanging, "part")
        self.put_head(f"End of season   {desk.hanging} hang, {loose} about")
        place = f"Parts go to: {sanitize(desk.place, 40) or 'nowhere named'}; e changes it"
        lines = max(3, height - 13)
        self.put("list", listed(desk.rows, self.marked, (width, lines), _line, NOTHING))
        row = self.row
        said = about(desk, row, width, 4) if row else Content("")
        self.put("about", Content("\n").join([Content(f" {place}"), said]))
        words = Content.styled(sanitize(self.said or CAUTION, 2 * width - 4), "bold" if self.said else "")
        self.put("said", words)
        self.put_strip()
