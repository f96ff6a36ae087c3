"""The summary of a round: a table of blocks, a list of calls, or all of it in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, timedelta
from textwrap import wrap
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys import keys_of
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.themes import DARK_INKS, LIGHT_INKS
from roundtui.app.widgets.board import Board, Part, Row
from roundtui.domain.figures.figures import window_start
from roundtui.domain.figures.summary import trends
from roundtui.domain.figures.verdicts import BlockRow, Status
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.text import sanitize, spoken_day
from roundtui.errors import RoundtuiError
from roundtui.report.figures.sections import summary_page
from roundtui.report.figures.summary import (
    BLOCK_HEAD,
    BLOCK_LEGEND,
    block_line,
    block_words,
    call_lines,
    integrity_line,
)
from roundtui.report.sampling import fruit_words
from roundtui.report.text import Asked, Names

if TYPE_CHECKING:
    from roundtui.store.round.past import Mark
    from roundtui.store.session import Session

SUMMARY = keys_of("desk", "summary")

MARGIN = 2
"""Columns kept free beside the tables, the scroll bar's among them. [columns]"""


VIEWS = ("Blocks", "Calls", "Map", "In full")
BLOCKS, CALLS, MAP, FULL = range(4)
"""What the summary shows, one at a time."""
_MORE = 8
"""Lines for what stands behind the marked row, at 24 lines."""


class SummaryScreen(RoundtuiScreen[None]):
    """What the blocks of a route show, or all blocks: as one table, a list of calls, a map, or all of it in sentences.

    Args:
        session: Who, where and when.
        route: Name of the route; None: all blocks.
        view: Which of the four to begin with.
        at: Show it as it was recorded up to this mark; None: as it is.
        on: The day, where it is not the session's; only for the past.
    """

    CSS_PATH = "../help/style.tcss"
    KEYS = SUMMARY

    def __init__(
        self,
        session: Session,
        route: str | None = None,
        view: int = 0,
        *,
        at: Mark | None = None,
        on: date | None = None,
    ) -> None:
        super().__init__(session)
        self.route = route
        self.on = on or session.on
        self.at = at
        """Mark up to which the record is shown; None: all of it."""
        self.view = view
        self.board = Board()
        self.back = 0
        """Weeks that the map goes back."""
        self.place = 0
        """The row of the marked block."""
        self.suspect: list[str] = []
        """Lines that name the suspect traps."""
        self._read()

    def _read(self) -> None:
        if self.at is None:
            made = self.session.day_summary(self.route)
        else:
            made = self.session.summary_at(self.at, self.on, self.route)
        self.made, self.summary, self.notified = made, made.summary, made.history.notified
        self.trends = trends(made.programme, made.history, made.summary.on)

    def compose(self) -> ComposeResult:
        """A bar, the views, the rows with what stands behind the marked one, or the tables; the keys."""
        yield from texts("head", "views", "suspect", "rows", "more")
        with VerticalScroll(id="page"):
            yield Static(id="tables", markup=False)
        yield from texts("keys")

    def on_mount(self) -> None:
        """Arrows mark a row, or scroll."""
        self.app.ansi_theme_dark, self.app.ansi_theme_light = DARK_INKS, LIGHT_INKS
        self.query_one("#page").can_focus = False
        self._fill()

    def on_resize(self) -> None:
        """Tables fill the width of the terminal."""
        self._fill()

    # --- what is shown -----------------------------------------------------------------------------------------------

    def _fill(self) -> None:
        day = self.summary.on
        past = "" if self.at is None else f"   PAST: at {self.at.at.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
        where = f"route {sanitize(self.route, 30)}" if self.route else "all blocks"
        first = window_start(day)
        week = f"week {first.day}{f' {first:%b}' if first.month != day.month else ''}-{day.day} {day:%b}"
        self.put_head(f"Summary   {where}   {week}{past}")
        full = self.view == FULL
        self.suspect = wrap(integrity_line(self.summary.integrity), max(20, self.width - 2))
        for name, shown in (("suspect", bool(self.suspect)), ("rows", True), ("more", True)):
            self.query_one(f"#{name}").display = shown and not full
        lines = "\n".join(f" {line}" for line in self.suspect)
        self.put("suspect", Content.styled(lines, "bold $text-error"))
        self.query_one("#page").display = full
        calls = self._call_lines()
        if self.view in (BLOCKS, CALLS):
            self.board.fill([self._blocks() if self.view == BLOCKS else self._calls(calls)])
        if self.view == BLOCKS and self.board.parts:
            self.board.at = (0, min(self.place, len(self.summary.blocks) - 1))
        numbers = (len(self.summary.blocks), len(calls), "", "")
        tabs: list[str | tuple[str, str]] = [" "]
        for at, (name, number) in enumerate(zip(VIEWS, numbers, strict=True)):
            tabs += [(f"{at + 1} {name} {number}".rstrip(), "bold underline" if at == self.view else ""), "   "]
        self.put("views", Content.assemble(*tabs))
        if full:
            self._tables()
        else:
            self._draw()

    def _tables(self) -> None:
        tables = summary_page(self.made, width=max(40, self.width - MARGIN))
        if self.at is not None:
            at = f"{self.at.at.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
            words = f"!! The past: the record at {at}. d: the present"
            tables = [Text(words, style="bold"), Text(""), *tables]
        self.query_one("#tables", Static).update(Group(*tables))

    def _draw(self) -> None:
        lines, height = min(_MORE, max(4, self.size.height // 3)), self.size.height - 4 - len(self.suspect)
        if self.view == MAP:
            self._map(height - 2)
            return
        self.put("rows", self.board.drawn(self.width, height - lines))
        caution = wrap(SUMMARY_CAUTIONS[0], self.width - 2)
        room = lines - len(caution)
        said = self.board.said(self.width - 2, room).splitlines()
        said = [*said, *[""] * (room - len(said)), *caution]
        self.put("more", "\n".join(f" {sanitize(line, self.width - 2)}" for line in said))

    def _map(self, height: int) -> None:
        """The block of the marked row as a grid, with the catch of a week."""
        from roundtui.report.bars import block_map, means, spots

        names, on = Names(self.made.programme), self.summary.on - timedelta(weeks=self.back)
        row = self.marked
        if row is None:
            self.put("rows", " No trap hung in these seven days.")
            return
        found = spots(self.made.programme, self.made.history, row.block, on)
        title = f" {names.place(row.block)}   catch a week, {spoken_day(window_start(on), on)} to {spoken_day(on, on)}"
        legend = " label, pest, catch; · not read, ! not in the mean, e: at the edge"
        lines = [title, *block_map(found, self.width, height - 3), f" {means(found)}", legend]
        self.put("rows", "\n".join(sanitize(line, self.width) for line in lines))
        self.put("more", "")

    def _blocks(self) -> Part:
        names, rows = Names(self.made.programme), []
        asked = Asked(
            self.summary, self.made.programme, self.made.history, self.made.observations, self.made.office, 80
        )
        fruit = fruit_words(asked)
        for row in self.summary.blocks:
            key = (row.block, row.species)
            line = block_line(row, names, self.trends.get(key, ()))
            words = block_words(row, names, self.summary.unlikely, fruit.get(key))
            rows.append(
                Row(
                    line[1:],
                    ("season", *key),
                    "bold $text-error" if row.status is Status.OVER else "",
                    f"{names.block(row.block)}, {row.species}: {words}",
                )
            )
        return Part(f"Blocks  {BLOCK_LEGEND}", tuple(rows), BLOCK_HEAD)

    def _call_lines(self) -> list[tuple[str, str, bool, str]]:
        known = self.summary
        return call_lines(known.attention, known.blocks, self.notified, known.on, Names(self.made.programme))

    def _calls(self, lines: Sequence[tuple[str, str, bool, str]]) -> Part:
        rows = [Row(line, ("call", farm), "" if done else "bold", more) for farm, line, done, more in lines]
        return Part("Calls, the most urgent first", tuple(rows) or (Row("Nobody needs a call."),))

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_mark(self, step: int) -> None:
        """Mark another row; of the tables: read on."""
        if self.view == FULL:
            self.query_one("#page", VerticalScroll).scroll_relative(y=step, animate=False)
            return
        if self.view == MAP:
            block = self.marked.block if self.marked is not None else ""
            rows = range(self.place, len(self.summary.blocks) if step > 0 else -1, 1 if step > 0 else -1)
            self.place = next((at for at in rows if self.summary.blocks[at].block != block), self.place)
        else:
            self.board.mark(step)
            self.place = self.board.at[1] if self.view == BLOCKS else self.place
        self._draw()

    def action_week(self, step: int) -> None:
        """The map of the week before, or after."""
        if self.view == MAP:
            self.back = max(0, self.back - step)
            self._draw()
        else:
            self.tell("3 shows the map; Left and Right step it through the weeks")

    def action_page(self, step: int) -> None:
        """A page of rows, or of the tables."""
        self.action_mark(step * max(1, self.size.height - 12))

    def action_show(self, view: int) -> None:
        """One of the four; -1: the next."""
        self.view = (self.view + 1) % len(VIEWS) if view < 0 else view
        self._fill()

    @property
    def marked(self) -> BlockRow | None:
        """The block that is marked."""
        rows = self.summary.blocks
        return rows[min(self.place, len(rows) - 1)] if rows else None

    async def action_season(self) -> None:
        """The season of the marked block; of a grower the call."""
        if self.view == CALLS:
            self.action_notified()
        elif (row := self.marked) is not None:
            await self.open_screen("season", row.block, row.species)

    def action_notified(self) -> None:
        """Put on record who was told."""
        if self._present() and self.summary.blocks:
            self.soon(self._tell())

    async def _tell(self) -> None:
        from roundtui.app.dialogs.office import record_call

        row = self.board.row
        farm = str(row.opens[1]) if self.view == CALLS and row is not None and row.opens else ""
        if self.view != CALLS and self.marked is not None:
            farm = self.marked.farm
        self._noted(await record_call(self, self.summary, farm) or None)

    def _noted(self, said: str | None) -> None:
        """Something is on record, or None."""
        if said is not None:
            self._show_at(None)
            self.tell(said)

    async def action_withdraw(self) -> None:
        """Withdraw the newest call to the marked grower, about all of its blocks."""
        from roundtui.app.dialogs.entry import open_change

        row, farm_of = self.board.row, self.session.programme.farm_of
        farm = row.opens[1] if self.view == CALLS and row is not None and row.opens else None
        calls = [one for one in self.notified if farm_of(one.block) == farm]
        if not calls:
            self.tell("Under 2, u withdraws the call made to the marked grower")
        elif self._present():
            newest = max(calls, key=lambda one: one.id).id
            about = next(one for one in self.session.chain_of(newest) if one.id == newest)
            await open_change(self, about, self._noted, withdraw=True)

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

        def change(trap: str) -> None:
            if (row := self.session.newest_entry(trap)) is not None:
                self.soon(open_change(self, row, self._noted, withdraw=False))

        if self._present():
            read = [trap for trap in self.session.programme.hangings if self.session.visits(trap)]
            await self.ask_label("Correct the newest entry of a trap read this season", read, change)

    async def action_treatment(self) -> None:
        """Put a treatment on record that a grower spoke of."""
        from roundtui.app.dialogs.season import TreatmentDialog

        if self._present():
            row = self.marked
            key = (row.block, row.species) if row else ("", "")
            await self.app.push_screen(TreatmentDialog(self.session, *key, first="block"), self._noted)

    async def action_replay(self) -> None:
        """The round of this route; from the summary of all blocks that of the first."""
        routes = list(self.session.programme.routes)
        if routes:
            await self.open_screen("replay", self.route or routes[0])
