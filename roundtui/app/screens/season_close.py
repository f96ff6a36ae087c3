"""The close of a season: traps in the order in which they are walked, one key for what became of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual import work
from textual.content import Content
from textual.widgets import Static
from textual.worker import Worker

from roundtui.app import close_lines
from roundtui.app.actions import APP, SEASON_CLOSE, bindings, footer
from roundtui.app.close_desk import CloseDesk, CloseRow
from roundtui.app.screens.texts import TextsScreen
from roundtui.domain.kit.entries import PartState
from roundtui.domain.plain import plain
from roundtui.errors import RoundtuiError
from roundtui.report import numbers

if TYPE_CHECKING:
    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session

DONE = {PartState.STORED: "put away", PartState.LOST: "noted as lost", PartState.DISCARDED: "discarded"}


class SeasonCloseScreen(TextsScreen[None]):
    """Traps to take down, and parts to put away.

    Args:
        session: Who, where and when.
    """

    CSS_PATH = "../styles/season_close.tcss"
    PARTS = ("head", "list", "about", "said", "keys")
    BINDINGS = bindings(SEASON_CLOSE)

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.desk = CloseDesk(session)
        self.marked = 0
        self.said = ""
        self._asked: tuple[CloseRow, PartState] | None = None
        """The row that wants the same key a second time, and what it stands for."""

    @property
    def row(self) -> CloseRow | None:
        """The marked one."""
        return self.desk.rows[self.marked] if self.desk.rows else None

    def action_mark(self, step: int) -> None:
        """Another one."""
        self.marked = max(0, min(len(self.desk.rows) - 1, self.marked + step))
        self.said, self._asked = "", None
        self._show()

    def action_note(self, state: str) -> None:
        """What became of the marked one."""
        row, what = self.row, PartState(state)
        if row is None:
            return
        doubt = close_lines.doubt(row, what)
        if doubt and self._asked != (row, what):
            self._asked, self.said = (row, what), doubt
            self._show()
            return
        try:
            parts = self.desk.note(row, what)
        except RoundtuiError as error:
            cast("RoundtuiApp", self.app).show_error("Nothing was noted", error)
            return
        name = row.trap or row.parts[0].label
        place = f" in {plain(self.desk.place, 40)}" if self.desk.place and what is PartState.STORED else ""
        down = " is down," if row.trap else ","
        self.said = f"{plain(name, 24)}{down} {parts} {'part' if parts == 1 else 'parts'} {DONE[what]}{place}"
        self.marked, self._asked = max(0, min(len(self.desk.rows) - 1, self.marked)), None
        self._show()

    @work
    async def action_place(self) -> None:
        """Where parts are put away."""
        from roundtui.app.dialogs.line import LineDialog

        dialog = LineDialog("Where are parts put away?", "Place", self.desk.place, fault=lambda _: "")
        place = await self.app.push_screen_wait(dialog)
        if place is not None:
            self.desk.keep_place(place)
            self._show()

    def action_write_end(self) -> None:
        """The season's end for the programme and every farm, as files."""
        self.said = "Writing the season's end …"
        self._show()
        self.run_worker(self.desk.write_end, name="end", thread=True, exclusive=True, exit_on_error=False)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say what was written, or why nothing was."""
        if event.worker.name != "end" or not event.worker.is_finished:
            return
        error = event.worker.error
        if error is not None and not isinstance(error, RoundtuiError):
            raise error
        self.said = "" if error is not None else f"Written in {event.worker.result}"
        self._show()
        if isinstance(error, RoundtuiError):
            cast("RoundtuiApp", self.app).show_error("The season's end is not written", error)

    def _show(self) -> None:
        width, height = max(40, self.size.width), self.size.height
        desk = self.desk
        head = f" Close of season   {self.session.on.isoformat()}   {desk.hanging} hang,"
        about = numbers.several(len(desk.rows) - desk.hanging, "part")
        head += f" {about} about   place: {plain(desk.place, 20) or 'none named, p'}"
        self._text("head", Content(plain(head, width)))
        lines = max(3, height - 12)
        self._text("list", close_lines.listed(desk.rows, self.marked, (width, lines)))
        row = self.row
        self._text("about", close_lines.about(desk, row, width, 5) if row else Content(""))
        words = Content.styled(plain(self.said or close_lines.CAUTION, 2 * width - 4), "bold" if self.said else "")
        self._text("said", words)
        self._text("keys", Content(plain(f" {footer(SEASON_CLOSE)}  {footer(APP)}", width)))

    def _text(self, part: str, words: Content) -> None:
        self.query_one(f"#{part}", Static).update(words)

    def action_back(self) -> None:
        """Back to where one was."""
        self.dismiss()
