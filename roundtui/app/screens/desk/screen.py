"""The desk: what is due. Enter opens the first due round."""

from __future__ import annotations

from textual.content import Content
from textual.worker import Worker, get_current_worker

from roundtui.app.keys import keys_of, texts_of
from roundtui.app.screen import RoundtuiScreen, TextsScreen, load
from roundtui.app.screens.desk.rounds import SIGNS, Due, first_due, round_rows
from roundtui.app.widgets.board import Board, Part
from roundtui.domain.programme.rounds import RoundState, way_lines
from roundtui.domain.text import WARNS, sanitize
from roundtui.report.bars import NARROW, WIDE
from roundtui.store.apart import apart
from roundtui.store.session import Session

DESK = keys_of("desk", "desk")

MORE_LINES = 2
"""Lines that say the marked row in full, where it is cut."""


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
        self.behind = False
        """Whether what is shown was read before the last visit to another screen."""

    def idle(self) -> str:
        """Nothing is marked before there is a round."""
        return "" if self.rounds else "up down part"

    def _begin(self) -> None:
        """Show the rounds at once, the rest when it is read."""
        self.refill()
        if not self.session.scout:
            self.soon(self.action_name())

    def refill(self) -> None:
        """Read anew what is due."""
        self.session.take_in()
        with self.saying("What is due cannot be read"):
            self.rounds = self.session.rounds()
        ways = {route: (state.traps, state.left) for route, state in self.rounds.items()}
        self.way = way_lines(self.session.today, ways, self.session.on)
        self._show()
        if self.board.at[0] == 0 and self.rounds:
            self.board.at = (0, first_due(self.rounds))
            self._show()
        self.call_after_refresh(load, "walk")  # So that Enter finds it loaded.
        self.call_after_refresh(self.aside, "due", self._read_rest, self._have_ahead, "What is due cannot be read")

    def came_back(self) -> None:
        """Entries may have been made: show what is due now, and hand them on where that is wanted."""
        self.behind = True
        self.refill()
        self.session.meet()

    def _read_rest(self) -> object:
        """What takes longer than a first sample, read beside it; what is due is shown before what is ahead."""
        worker, asked = get_current_worker(), (str(self.session.folder), self.session.on.isoformat())
        if self.session.reads_long:
            self.call_later(self.session.read_history())
        if self.app.is_headless:
            from roundtui.app.screens.desk.view import read

            answers = read(*asked)
        else:
            # What it loads and reads is as much again as all the rest, and is not needed later.
            answers = apart("roundtui.app.screens.desk.view:read", *asked)
        self.call_later(self._have_due, next(answers), worker)
        return next(answers)

    def _have_due(self, due: Due, worker: Worker[object]) -> None:
        if not worker.is_cancelled:
            session, self.due, self.behind = self.session, due, False
            session.due, session.thresholds, session.next_visits = due.at_traps, due.thresholds, due.next_visits
            session.learned = {}
            self._show()
            for screen in self.app.screen_stack:
                if isinstance(screen, RoundtuiScreen):
                    screen.have_due()

    def _have_ahead(self, read: Part) -> None:
        self.ahead = read
        self._show()

    async def action_open(self) -> None:
        """Open what the marked row is about."""
        row = self.board.row
        if row is None and not self.rounds:
            self.action_place("register")
        elif row is not None and row.opens:
            name, *asked = row.opens
            if name == "walk" and not self.rounds[str(asked[0])].traps:
                self.tell("No trap here has hung a night yet; the register (e, 1) says when each was hung")
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
            self.open_soon(name, step.name if step is not None else "")
        else:
            super().action_place(name)

    async def action_question(self) -> None:
        """The entry with the newest open question, in its round."""
        if self.due is None or not self.due.question:
            self.tell("No question is open")
        else:
            await self.open_screen("replay", *self.due.question[1:])

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
        said = (f"{number} {one}{'' if number == 1 else 's'}" for one, number in counts[2 * (width < NARROW) :])
        self.put_head(f"Desk   {', '.join(said)}")
        way = self.way if len(self.way) < 4 else (*self.way[:2], f"{WARNS}and {len(self.way) - 2} more")
        self.put("way", Content.styled("\n".join(sanitize(f" {line}", width) for line in way), "bold $text-error"))
        self.query_one("#way").display = bool(way)
        self.put("rows", self._rows(width, self.height - 3 - MORE_LINES - len(way)))
        more = self.board.said(width - 2, MORE_LINES).splitlines()
        if self.due is not None and self.board.at[0] < 2 and session.has_entries():
            more = [*more, *SIGNS][:MORE_LINES]
        if self.behind and self.due is not None:
            more = ["Looking up what is due; below Rounds stands what was known before …", *more[: MORE_LINES - 1]]
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
            week = self.due.weeks[(width >= NARROW) + (width > WIDE)]
            parts += [week, *self.due.parts, *([self.ahead] if self.ahead is not None else [])]
        self.board.fill(parts)
        return Content("\n").join([self.board.drawn(width, max(6, height)), after])
