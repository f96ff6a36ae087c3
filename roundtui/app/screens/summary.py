"""The summary of a round, as rich tables, and the entry that somebody was told."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from rich.console import Group
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from roundtui.app.actions import APP, SUMMARY, bindings, footer
from roundtui.app.looks import DARK_INKS, LIGHT_INKS
from roundtui.domain.plain import plain
from roundtui.domain.visits import Told
from roundtui.errors import RoundtuiError
from roundtui.report.summary_tables import summary_tables

if TYPE_CHECKING:
    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session

MARGIN = 2
"""Columns kept free beside the tables, the scroll bar's among them. [columns]"""


class SummaryScreen(Screen[None]):
    """What the blocks of a route show, or all blocks.

    Args:
        session: Who, where and when.
        route: Name of the route; None: all blocks.
    """

    CSS_PATH = "../styles/page.tcss"
    BINDINGS = bindings(SUMMARY)

    def __init__(self, session: Session, route: str | None) -> None:
        super().__init__()
        self.session = session
        self.route = route
        self.summary = session.summary(route)

    def compose(self) -> ComposeResult:
        """A bar, the tables, the keys."""
        where = f"route {plain(self.route, 30)}" if self.route else "all blocks"
        yield Static(
            f" Summary   {where}   {self.session.on:%a} {self.session.on.isoformat()}", classes="bar", markup=False
        )
        with VerticalScroll(id="page"):
            yield Static(id="tables", markup=False)
        yield Static(f" {footer(SUMMARY)}  {footer(APP)}", classes="keys", markup=False)

    def on_mount(self) -> None:
        """Arrows scroll."""
        self.app.ansi_theme_dark, self.app.ansi_theme_light = DARK_INKS, LIGHT_INKS
        self.set_focus(self.query_one("#page"))

    def on_resize(self) -> None:
        """Tables fill the width of the terminal."""
        self._fill()

    def _fill(self) -> None:
        tables = summary_tables(
            self.summary,
            self.session.programme,
            told=self.session.history.told,
            width=max(40, self.size.width - MARGIN),
        )
        self.query_one("#tables", Static).update(Group(*tables))

    def action_back(self) -> None:
        """Back to where one was."""
        self.dismiss()

    async def action_letters(self) -> None:
        """Letters to the growers."""
        await cast("RoundtuiApp", self.app).open_letters()

    async def action_season(self) -> None:
        """The season of the block that stands first."""
        first = self.summary.blocks[0] if self.summary.blocks else None
        app = cast("RoundtuiApp", self.app)
        await (app.open_season(first.block, first.species) if first else app.open_season())

    def action_told(self) -> None:
        """Put on record who was told."""
        if not self.summary.blocks:
            return
        self.run_worker(self._tell(), exclusive=True)

    async def _tell(self) -> None:
        from roundtui.app.dialogs.told import ToldDialog

        told = await self.app.push_screen_wait(ToldDialog(self.session, self.summary))
        if told is None:
            return
        try:
            self.session.tell(told)
        except RoundtuiError as error:
            cast("RoundtuiApp", self.app).show_error("Not recorded", error)
            return
        self.summary = self.session.summary(self.route)
        self._fill()
        self.notify(_words(told), markup=False)


def _words(told: list[Told]) -> str:
    first = told[0]
    return (
        f"On record: {len(told)} told on {first.told_on.isoformat()} by {plain(first.by, 24)}, {plain(first.how, 24)}"
    )
