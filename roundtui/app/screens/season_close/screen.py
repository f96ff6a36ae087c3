"""The close of a season: traps in the order in which they are walked, one key for what became of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual import work
from textual.content import Content

from roundtui.app.keys.season import SEASON_CLOSE
from roundtui.app.screen import TextsScreen
from roundtui.app.screens.season_close import view as close_lines
from roundtui.domain.text import plain
from roundtui.domain.traps.entries import PartState
from roundtui.errors import RoundtuiError
from roundtui.report import text as numbers
from roundtui.report.season.season_close import CloseDesk, CloseRow

if TYPE_CHECKING:
    from roundtui.store.session import Session

DONE = {PartState.STORED: "put away", PartState.LOST: "noted as lost", PartState.DISCARDED: "discarded"}


TITLES = {PartState.STORED: "down, parts put away", PartState.LOST: "gone", PartState.DISCARDED: "down, body out"}


class SeasonCloseScreen(TextsScreen[None]):
    """Traps to take down, and parts to put away.

    Args:
        session: Who, where and when.
    """

    CSS_PATH = "style.tcss"
    PARTS = ("head", "list", "about", "said", "keys")
    KEYS = SEASON_CLOSE

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.desk = CloseDesk(session)
        self.marked = 0
        self.said = ""

    @property
    def row(self) -> CloseRow | None:
        """The marked one."""
        return self.desk.rows[self.marked] if self.desk.rows else None

    def action_mark(self, step: int) -> None:
        """Another one."""
        self.marked = max(0, min(len(self.desk.rows) - 1, self.marked + step))
        self.said = ""
        self._show()

    def action_note(self, state: str) -> None:
        """What became of the marked one."""
        row, what = self.row, PartState(state)
        if row is None:
            return
        doubts = close_lines.doubts(row, what, 0 if self.desk.last else self.desk.hanging)
        if doubts:
            title = f"{plain(row.trap or row.parts[0].label, 24)}: {TITLES[what]}?"
            self.ask(title, [(words, True) for words in doubts], lambda: self._note(row, what))
        else:
            self._note(row, what)

    def _note(self, row: CloseRow, what: PartState) -> None:
        try:
            parts = self.desk.note(row, what)
        except RoundtuiError as error:
            self.show_error("Nothing was noted", error)
            return
        name = row.trap or row.parts[0].label
        place = f" in {plain(self.desk.place, 40)}" if self.desk.place and what is PartState.STORED else ""
        down = " is down," if row.trap else ","
        self.said = f"{plain(name, 24)}{down} {parts} {'part' if parts == 1 else 'parts'} {DONE[what]}{place}"
        self.marked = max(0, min(len(self.desk.rows) - 1, self.marked))
        self._show()

    def action_undo(self) -> None:
        """Withdraw what was noted last here."""
        if self.desk.last is None:
            self.tell("Nothing was noted here yet")
            return
        what = f"Withdraw what was noted of {plain(self.desk.last[0], 24)}?"
        self.ask(what, [("Both stay on record.", False)], self._undo)

    def _undo(self) -> None:
        try:
            name = self.desk.undo()
        except RoundtuiError as error:
            self.show_error("Not withdrawn", error)
            return
        self.said = f"{plain(name, 24)}: withdrawn"
        self._show()

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
        self.said = "Writing the season's end …"
        self._show()
        self.beside("end", self.desk.write_end, self._told, "The season's end is not written", stopped=self._told)

    def _told(self, files: str = "") -> None:
        self.said = f"Written in {files}" if files else ""
        self._show()

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.size.height
        desk = self.desk
        head = f" Close of season   {self.session.on.isoformat()}   {desk.hanging} hang,"
        about = numbers.several(len(desk.rows) - desk.hanging, "part")
        head += f" {about} about   place: {plain(desk.place, 20) or 'none named, e'}"
        self.put("head", Content(plain(head, width)))
        lines = max(3, height - 13)
        self.put("list", close_lines.listed(desk.rows, self.marked, (width, lines)))
        row = self.row
        self.put("about", close_lines.about(desk, row, width, 5) if row else Content(""))
        words = Content.styled(plain(self.said or close_lines.CAUTION, 2 * width - 4), "bold" if self.said else "")
        self.put("said", words)
        self.put_strip()
