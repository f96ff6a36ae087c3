"""The summary of a round, as rich tables, and the entry that somebody was told."""

from __future__ import annotations

from datetime import UTC, date
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys.desk import SUMMARY
from roundtui.app.screen import RoundtuiScreen
from roundtui.app.themes import DARK_INKS, LIGHT_INKS
from roundtui.domain.text import sanitize
from roundtui.errors import RoundtuiError
from roundtui.report.figures.sections import summary_page

if TYPE_CHECKING:
    from roundtui.store.round.past import Mark
    from roundtui.store.session import Session

MARGIN = 2
"""Columns kept free beside the tables, the scroll bar's among them. [columns]"""


class SummaryScreen(RoundtuiScreen[None]):
    """What the blocks of a route show, or all blocks.

    Args:
        session: Who, where and when.
        route: Name of the route; None: all blocks.
        at: Show it as it was recorded up to this mark; None: as it is.
        on: The day, where it is not the session's; only for the past.
    """

    CSS_PATH = "../help/style.tcss"
    KEYS = SUMMARY

    def __init__(
        self, session: Session, route: str | None = None, *, at: Mark | None = None, on: date | None = None
    ) -> None:
        super().__init__(session)
        self.route = route
        self.on = on or session.on
        self.at = at
        """Mark up to which the record is shown; None: all of it."""
        self._read()

    def _read(self) -> None:
        if self.at is None:
            made = self.session.day_summary(self.route)
        else:
            made = self.session.summary_at(self.at, self.on, self.route)
        self.made, self.summary, self.notified = made, made.summary, made.history.notified

    def compose(self) -> ComposeResult:
        """A bar, the tables, the keys."""
        yield Static(self._head(), id="head", classes="bar", markup=False)
        with VerticalScroll(id="page"):
            yield Static(id="tables", markup=False)
        yield Static(id="keys", classes="keys", markup=False)

    def _head(self) -> str:
        where = f"route {sanitize(self.route, 30)}" if self.route else "all blocks"
        day = self.summary.on
        past = "" if self.at is None else f"   PAST: at {self.at.at.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
        return f" Summary   {where}   {day:%a} {day.isoformat()}{past}"

    def on_mount(self) -> None:
        """Arrows scroll."""
        self.app.ansi_theme_dark, self.app.ansi_theme_light = DARK_INKS, LIGHT_INKS
        self.set_focus(self.query_one("#page"))

    def on_resize(self) -> None:
        """Tables fill the width of the terminal."""
        self._fill()

    def _fill(self) -> None:
        width = max(40, self.size.width - MARGIN)
        tables = summary_page(self.made, width=width)
        if self.at is not None:
            at = f"{self.at.at.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
            words = f"!! The past: the record at {at}. d: the present"
            tables = [Text(words, style="bold reverse"), Text(""), *tables]
        self.query_one("#tables", Static).update(Group(*tables))
        self.query_one("#head", Static).update(Content(self._head()))

    async def action_letters(self) -> None:
        """Letters to the growers."""
        await self.open_screen("letters")

    async def action_season(self) -> None:
        """The season of the block that stands first."""
        first = self.summary.blocks[0] if self.summary.blocks else None
        await self.open_screen("season", *((first.block, first.species) if first else ()))

    def action_notified(self) -> None:
        """Put on record who was told."""
        if self._present() and self.summary.blocks:
            self.run_worker(self._tell(), exclusive=True)

    async def _tell(self) -> None:
        from roundtui.app.dialogs.office import record_call

        if said := await record_call(self, self.summary):
            self._show_at(None)
            self.tell(said)

    def _present(self) -> bool:
        """Whether the present is shown; what is past is only looked at."""
        if self.at is not None:
            self.tell("This is the past: d goes to the present first")
        return self.at is None

    async def action_past(self) -> None:
        """The summary as it was, or the present one again."""
        from roundtui.app.dialogs.form import LineDialog
        from roundtui.store.round.past import Mark, parse_instant

        if self.at is not None:
            self._show_at(None)
            return

        def fault(text: str) -> str:
            try:
                parse_instant(text)
            except RoundtuiError as error:
                return f"{error.message}: {error.hint}"
            return ""

        hint = "As recorded when? Without a zone it is this computer's time."
        dialog = LineDialog("The summary as it was", "Instant", f"{self.session.on}T18:00", fault=fault, hint=hint)
        await self.app.push_screen(dialog, lambda text: self._show_at(Mark(parse_instant(text))) if text else None)

    def _show_at(self, at: Mark | None) -> None:
        before, self.at = self.at, at
        try:
            self._read()
        except RoundtuiError as error:
            self.at = before
            self.show_error("There is no such summary", error)
            return
        self._fill()

    async def action_correct(self) -> None:
        """Correct the newest entry about a trap."""
        from roundtui.app.dialogs.entry import open_change
        from roundtui.app.dialogs.form import LineDialog
        from roundtui.domain.round.checks import in_case, nearest

        session = self.session
        if not self._present():
            return

        def fault(label: str) -> str:
            known = in_case(label, session.programme.hangings)
            if known not in session.programme.hangings:
                return f"No trap {sanitize(label, 20)}: {nearest(label, session.programme.hangings) or 'see traps.csv'}"
            return "" if session.newest_entry(known) else f"Nothing is on record of {sanitize(known, 20)} this season"

        def done(said: str | None) -> None:
            if said is not None:
                self._show_at(None)
                self.tell(said)

        async def change(label: str | None) -> None:
            row = session.newest_entry(in_case(label, session.programme.hangings)) if label is not None else None
            if row is not None:
                await open_change(self, row, done, withdraw=False)

        await self.app.push_screen(LineDialog("Correct the newest entry", "Trap", fault=fault), change)

    async def action_treatment(self) -> None:
        """Put a treatment on record that a grower spoke of."""
        from roundtui.app.dialogs.season import TreatmentDialog

        def done(said: str | None) -> None:
            if said is not None:
                self._show_at(None)
                self.tell(said)

        if self._present():
            first = self.summary.blocks[0] if self.summary.blocks else None
            key = (first.block, first.species) if first else ("", "")
            await self.app.push_screen(TreatmentDialog(self.session, *key, first="block"), done)

    async def action_replay(self) -> None:
        """The round of this route; from the summary of all blocks that of the first."""
        routes = list(self.session.programme.routes)
        if routes:
            await self.open_screen("replay", self.route or routes[0])
