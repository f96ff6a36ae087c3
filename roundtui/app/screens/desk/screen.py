"""The desk: what is due. Enter opens the first due round."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content

from roundtui.app.keys import keys_of, texts_of
from roundtui.app.screen import RoundtuiScreen, TextsScreen, load
from roundtui.app.screens.desk.rounds import SIGNS, first_due, round_rows, route_of, way_lines
from roundtui.app.widgets.board import Board, Part, Row
from roundtui.domain.programme.rounds import RoundState
from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.screens.desk.view import Due
    from roundtui.report.round.due import Found
    from roundtui.store.session import Session

DESK = keys_of("desk", "desk")

MORE_LINES = 2
"""Lines that say the marked row in full, where it is cut."""
AHEAD_AFTER = 0.6
"""How long after everything else the next ten days are read. [s]"""


class DeskScreen(TextsScreen[None]):
    """What is due on the day."""

    KEYS = DESK
    PARTS = ("head", "way", "rows", "more", "keys")
    KEYS_FIRST = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.rounds: dict[str, RoundState] = {}
        self.board = Board()
        self.way: tuple[str, ...] = ()
        """What to know before setting out, a line each."""
        self.due: Due | None = None
        self.ahead: Part | None = None
        """What the next ten days bring."""

    def _begin(self) -> None:
        """Show the rounds at once, the rest when it is read."""
        self.refill()
        if not self.session.scout:
            self.soon(self.action_name())

    def refill(self) -> None:
        """Read anew what is due."""
        self.session.take_in()
        try:
            self.rounds = self.session.rounds()
        except RoundtuiError as error:
            self.show_error("What is due cannot be read", error)
        self.way = way_lines(self.session.today, self.rounds, self.session.on)
        self._show()
        if self.board.at[0] == 0 and self.rounds:
            self.board.at = (0, first_due(self.rounds))
            self._show()
        self.call_after_refresh(self.aside, "due", self._read_rest, self._have_rest, "What is due cannot be read")

    def came_back(self) -> None:
        """Entries may have been made: show what is due now, and hand them on where that is wanted."""
        self.refill()
        self.session.meet()

    def _read_rest(self) -> tuple[Due, Found]:
        """What takes longer than a first sample, read beside it."""
        from roundtui.app.screens.desk.view import due
        from roundtui.report.round.due import read_due

        load("walk")  # So that Enter finds it loaded.
        found = read_due(self.session)
        return due(self.session.programme, found, self.session.on), found

    def _have_rest(self, read: tuple[Due, Found]) -> None:
        self.due, found = read
        self.session.adopt(found.made.history, found.changes, found.made.summary, found.due)
        self._show()
        for screen in self.app.screen_stack:
            if isinstance(screen, RoundtuiScreen):
                screen.have_due()
        # Read while somebody starts typing, it would hold up the first keys; a test need not wait for that.
        if self.app.is_headless:
            self._look_ahead()
        else:
            self.set_timer(AHEAD_AFTER, self._look_ahead)

    def _look_ahead(self) -> None:
        """Read what is ahead, unless somebody is walking a round by now; the desk looks again when they are back."""
        if self.app.screen is self:
            self.aside("ahead", self._read_ahead, self._have_ahead, "What is ahead cannot be read")

    def _read_ahead(self) -> Part:
        """What the next ten days bring: last of all, since it is looked at last."""
        import plotille  # noqa: F401 - so that the season's key finds it loaded

        from roundtui.app.screens.desk.view import ahead
        from roundtui.report.round.due import read_ahead

        load("season")
        try:
            return ahead(read_ahead(self.session))
        except RoundtuiError as error:
            return Part("Next ten days", (Row(f" ! {sanitize(error.message, 200)}"),))

    def _have_ahead(self, read: Part) -> None:
        self.ahead = read
        self._show()

    async def action_open(self) -> None:
        """Open what the marked row is about."""
        row = self.board.row
        if row is not None and row.opens:
            name, *asked = row.opens
            if name == "walk" and not self.rounds[str(asked[0])].traps:
                self.tell("No trap of this route has hung a night yet; the register (e, 1) has the day each was hung")
                return
            await self.open_screen(str(name), *asked)

    @property
    def route(self) -> str:
        """Name of the marked route, else of the one that is due; empty where none is set up."""
        routes, (part, row) = list(self.rounds), self.board.at
        return routes[row if part == 0 else first_due(self.rounds)] if routes else ""

    def action_place(self, name: str) -> None:
        """A place; a programme that has just begun shows what comes next."""
        if name in ("register", "bring") and not self.rounds:
            from roundtui.app.screens.desk.view import due_step

            step = due_step(self.session)
            self.open_soon(name, step.name if step is not None and (step.table or name == "register") else "")
        else:
            super().action_place(name)

    async def action_question(self) -> None:
        """The entry with the newest open question, in its round."""
        asked = self.due.asked[-1].newest if self.due is not None and self.due.asked else None
        if asked is None:
            self.tell("No question is open")
            return
        route = route_of(self.session.programme, asked.trap, asked.block) or next(iter(self.rounds), None)
        if route is not None:
            await self.open_screen("replay", route, asked.about_on, asked.entry)

    def action_mark(self, step: int) -> None:
        """Mark another row."""
        self.board.mark(step)
        self._show()

    def action_part(self) -> None:
        """Mark the first row of the next list."""
        self.board.next_part()
        self._show()

    def _show(self) -> None:
        session, width = self.session, max(20, self.size.width)
        counts = (("farm", len(session.today.farms)), ("block", len(session.today.blocks)), ("trap", session.traps))
        said = (f"{number} {one}{'' if number == 1 else 's'}" for one, number in counts)
        self.put_head(f"Desk   {', '.join(said)}")
        way = self.way
        if len(way) > 3:
            way = (*way[:2], f"! and {len(way) - 2} more")
        self.put("way", Content.styled("\n".join(sanitize(f" {line}", width) for line in way), "bold $text-error"))
        self.query_one("#way").display = bool(way)
        self.put("rows", self._rows(width, self.size.height - 3 - MORE_LINES - len(way)))
        more = self.board.said(width - 2, MORE_LINES).splitlines()
        if self.due is not None and self.board.at[0] < 2 and session.has_entries():
            more = [*more, *SIGNS][:MORE_LINES]
        self.put("more", "\n".join(f" {sanitize(line, width - 2)}" for line in more))

    def _rows(self, width: int, height: int) -> Content:
        if not self.rounds:
            from roundtui.app.screens.desk.view import beginning

            return beginning(self.session)
        parts = [round_rows(self.rounds, width)]
        after = Content("")
        if self.due is None:
            after = Content("\n Looking up what is due …")
        elif not self.session.has_entries():
            after = Content(texts_of("first"))
        else:
            parts += [*self.due.parts, *([self.ahead] if self.ahead is not None else [])]
        self.board.fill(parts)
        return Content("\n").join([self.board.drawn(width, max(6, height)), after])
