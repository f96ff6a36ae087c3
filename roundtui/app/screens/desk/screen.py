"""The desk: what is due. Enter opens the first due round."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys.desk import DESK
from roundtui.app.screen import RoundtuiScreen, load
from roundtui.app.screens.desk.view import FIRST_TIME, first_due, round_lines, route_of, way_lines
from roundtui.domain.programme.rounds import RoundState
from roundtui.domain.text import cells, sanitize
from roundtui.errors import RoundtuiError

if TYPE_CHECKING:
    from roundtui.app.screens.desk.view import Due
    from roundtui.report.round.due import Found
    from roundtui.report.season.seasons import Ready, State
    from roundtui.store.session import Session

WAY_LINES = 3
"""Lines on closed blocks and on farms to be visited last, at most."""
ROUND_LINES = 7
"""Rounds shown at once at 80x24; the list moves with the mark."""

AHEAD_AFTER = 0.6
"""How long after everything else the next ten days are read. [s]"""


class DeskScreen(RoundtuiScreen[None]):
    """What is due on the day."""

    KEYS = DESK
    KEYS_FIRST = True

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.rounds: dict[str, RoundState] = {}
        self.marked = 0
        self.way: tuple[str, ...] = ()
        """What to know before setting out, a line each."""
        self.due: Due | None = None
        self.ahead: tuple[str, ...] = ()
        """What the next ten days bring, a line each."""
        self.season: Ready | None = None
        """The season that its key opens, put together before it is pressed."""

    def compose(self) -> ComposeResult:
        """Four texts; the last is filled when it is known."""
        yield Static(id="head", classes="bar", markup=False)
        yield Static(id="rounds", markup=False)
        yield Static(id="rest", markup=False)
        yield Static(id="keys", classes="keys", markup=False)

    def on_mount(self) -> None:
        """Show the rounds at once, the rest when it is read."""
        self.refill()
        if not self.session.scout:
            self.app.run_worker(self.action_name(), exclusive=True)

    def on_resize(self) -> None:
        """Lines are cut to the width of the terminal."""
        self._show()

    def refill(self) -> None:
        """Read anew what is due."""
        self.session.take_in()
        try:
            self.rounds = {route: self.session.round_of(route) for route in self.session.programme.routes}
        except RoundtuiError as error:
            self.show_error("What is due cannot be read", error)
        self.marked = first_due(self.rounds)
        self.way = way_lines(self.session.programme, self.rounds, self.session.on)
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
        self.session.adopt(found.made.history, found.changes, found.made.summary)
        self._show()
        # Read while somebody starts typing, it would hold up the first keys; a test need not wait for that.
        if self.app.is_headless:
            self._look_ahead()
        else:
            self.set_timer(AHEAD_AFTER, self._look_ahead)

    def _look_ahead(self) -> None:
        """Read what is ahead, unless somebody is walking a round by now; the desk looks again when they are back."""
        from roundtui.report.season.seasons import state_of

        if self.app.screen is self:
            read = partial(self._read_ahead, state_of(self.session))
            self.aside("ahead", read, self._have_ahead, "What is ahead cannot be read")

    def _read_ahead(self, state: State) -> tuple[tuple[str, ...], Ready | None]:
        """What the next ten days bring: last of all, since it is looked at last."""
        import plotille  # noqa: F401 - so that the season's key finds it loaded

        from roundtui.app.screens.desk.view import ahead
        from roundtui.report.round.due import read_ahead

        load("season")
        try:
            found = read_ahead(self.session, state)
        except RoundtuiError as error:
            return (f"! {sanitize(error.message, 200)}",), None
        return ahead(found), found.first

    def _have_ahead(self, read: tuple[tuple[str, ...], Ready | None]) -> None:
        self.ahead, self.season = read
        self._show()

    async def action_open(self) -> None:
        """Open the marked round."""
        if self.route and not self.rounds[self.route].traps:
            self.tell("No trap of this route has hung a night yet; 1 in the register (e) has the day each was hung")
        elif self.route:
            await self.open_screen("walk", self.route)

    @property
    def route(self) -> str:
        """Name of the marked route; empty where none is set up."""
        routes = list(self.rounds)
        return routes[self.marked] if routes else ""

    def open_place(self, name: str) -> None:
        """A place: the season is put together already; a programme that has just begun shows what comes next."""
        if name == "season":
            self.app.run_worker(self.open_screen("season", ready=self.season), exclusive=True)
        elif name in ("register", "bring") and not self.rounds:
            from roundtui.app.screens.desk.view import due_step

            step = due_step(self.session)
            self.open_soon(name, step.name if step is not None and (step.table or name == "register") else "")
        else:
            super().open_place(name)

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
        """Mark another round."""
        self.marked = max(0, min(len(self.rounds) - 1, self.marked + step))
        self._show()

    def _show(self) -> None:
        session, width = self.session, max(20, self.size.width)
        programme = session.programme
        counts = (("farm", programme.farms), ("block", programme.blocks), ("trap", programme.hangings))
        said = (f"{len(rows)} {one}{'' if len(rows) == 1 else 's'}" for one, rows in counts)
        left = f" Desk   {', '.join(said)}"
        right = f"{session.on:%a} {session.on.isoformat()}   {sanitize(session.scout, 24)} "
        self.query_one("#head", Static).update(
            Content(left + " " * max(1, width - cells(left) - cells(right)) + right), layout=False
        )
        lines = round_lines(self.rounds, self.marked, width - 4, max(ROUND_LINES, self.size.height - 18))
        rows: list[str | tuple[str, str] | Content] = [("Rounds\n", "bold")]
        rows += [(f"{line}\n", "bold reverse" if marked else "") for line, marked in lines]
        if not lines:
            from roundtui.app.screens.desk.view import beginning

            rows = [beginning(session)]
        way = (
            self.way if len(self.way) <= WAY_LINES else (*self.way[: WAY_LINES - 1], f"! and {len(self.way) - 2} more")
        )
        rows += [(f"  {sanitize(line, width - 6)}\n", "bold $text-error") for line in way]
        self.query_one("#rounds", Static).update(Content.assemble(*rows))
        self.query_one("#rest", Static).update(self._rest(width))

    def _rest(self, width: int) -> Content:
        if self.due is None:
            return Content("\nLooking up what is due …")
        shown = min(len(self.rounds), max(ROUND_LINES, self.size.height - 18)) + min(len(self.way), WAY_LINES)
        height = max(4, self.size.height - 7 - shown)
        if not self.rounds:
            return Content("")
        if not self.session.has_entries():
            return Content(FIRST_TIME)
        from roundtui.app.screens.desk.view import due_text

        if not self.ahead:
            return Content.assemble(("Due\n", "bold"), due_text(self.due, width - 4, height))
        from roundtui.app.screens.desk.view import TITLE, ahead_text

        coming = ahead_text(self.ahead, width - 4, max(2, height // 3))
        room = height - coming.count("\n") - 2
        return Content.assemble(
            ("Due\n", "bold"), due_text(self.due, width - 4, room), (f"\n{TITLE}\n", "bold"), coming
        )
