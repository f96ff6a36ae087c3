"""The summary of a round: a table of blocks, a list of calls, or all of it in sentences."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, timedelta
from functools import partial
from textwrap import wrap
from typing import TYPE_CHECKING

from rich.console import Group
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from roundtui.app.keys import Action, keys_of
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.app.widgets.board import Board, Part, Row, rule, tabs
from roundtui.domain.figures.figures import window_start
from roundtui.domain.figures.summary import trends
from roundtui.domain.figures.verdicts import BlockRow, Status
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.text import cells, full_day, sanitize, spoken_day
from roundtui.errors import RoundtuiError
from roundtui.report.bars import NARROW, TREND, WIDE
from roundtui.report.figures import summary
from roundtui.report.figures.sections import summary_page
from roundtui.report.figures.summary import call_lines
from roundtui.report.text import Names, heading, stacked

if TYPE_CHECKING:
    from fractions import Fraction

    from roundtui.domain.figures.verdicts import Summary
    from roundtui.store.figures.summary import DaySummary
    from roundtui.store.record.chains import Mark
    from roundtui.store.session import Session

    Trends = Mapping[tuple[str, str], tuple[Fraction | None, ...]]
    """Mean catches of the last weeks by block and species, the newest last."""

SUMMARY = keys_of("desk", "summary")

VIEWS = ("Blocks", "Calls", "Map", "In full")
BLOCKS, CALLS, MAP, FULL = range(4)
"""What the summary shows, one at a time."""
BLOCK, ROUTE, AREA = range(3)
"""What a map shows."""
_NEXT = ("the route", "all blocks", "the block")
"""What the key shows next."""
_IDLE = ("withdraw map earlier", "map earlier", "withdraw", "withdraw map earlier")
"""Keys that the strip leaves out, by view."""
_PRESENT = "notified withdraw treatment correct"
"""Keys that the past has not."""


class SummaryScreen(RoundtuiScreen[None]):
    """What the blocks of a route show, or all blocks: as one table, a list of calls, a map, or all of it in sentences.

    Args:
        session: Who, where and when.
        route: Name of the route; None: all blocks.
        view: Which of the four to begin with.
        at: Show it as it was recorded up to this mark; None: as it is.
        on: The day, where it is not the session's; only for the past.
    """

    STOPPED = "There is no summary"
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
        self.scope = BLOCK
        """What the map shows."""
        self._weeks: dict[int, Sequence[BlockRow]] = {}
        """What the blocks showed in earlier weeks, by how many weeks back."""
        self.place = 0
        """The row of the marked block."""
        self.begun, self.page, self.seen = 0, 0, 0
        """Line at which what is said of the marked row begins, how many lines PgDn reads on (0: all is shown), and
        lines of the list above."""
        self._said = ""
        """What was just done, said when the summary that shows it is there."""
        self.above = 0
        """Lines that say which traps are suspect or not read."""
        self.known = False
        """Whether it was read, and what stands below is there."""
        self.made: DaySummary
        self.details: summary.Details
        self.summary: Summary
        self.trends: Trends

    def _read(self, before: Mark | None = None) -> None:
        """Read it in a thread.

        Args:
            before: What is shown again where it cannot be read.
        """
        past, on, route = self.at, self.on if self.at is not None else self.session.on, self.route
        self.session.forget()
        changes = self.session.changes

        def read() -> tuple[DaySummary, Trends]:
            made = self.session.day_summary(on, route, past)
            return made, trends(made.programme, made.history, made.summary.on, 16)

        def have(found: tuple[DaySummary, Trends]) -> None:
            self.made, self.trends = found
            self.summary, self.details = self.made.summary, summary.Details(self.made)
            self.known = True
            self._weeks = {}
            if past is None:
                self.session.take_over(self.made.history, changes)
            self._fill()
            self.tell(self._said)
            self._said = ""

        def without() -> None:
            self.at = before
            if self.known:
                self._fill()
            else:
                self.dismiss()

        words = "Reading what the traps show …"
        if self.known:
            self.tell(words)
        else:
            self.put_head(f"Summary   {self._where}")
            self.put("rows", f" {words}")
        self.read(read, have, "There is no such summary", without)

    def compose(self) -> ComposeResult:
        """A bar, the views, the rows with what stands behind the marked one, or the tables; the keys."""
        yield from texts("head", "views", "suspect", "rows", "more")
        with VerticalScroll(id="page"):
            yield Static(id="tables", markup=False)
        yield from texts("keys")

    def on_mount(self) -> None:
        """Arrows mark a row, or scroll."""
        self.query_one("#page").can_focus = False
        self._read()

    def on_resize(self) -> None:
        """Tables fill the width of the terminal."""
        self._fill()

    # --- what is shown -----------------------------------------------------------------------------------------------

    def idle(self) -> str:
        """The past is only looked at; calls alone can be withdrawn, and a map has weeks."""
        return f"{_IDLE[self.view]} {'' if self.at is None else _PRESENT}"

    def keys_here(self) -> Sequence[Action]:
        """Enter opens a season, and in the list of calls a call."""
        opens, moves = "open call" if self.view == CALLS else "open season", {MAP: "block", FULL: "read on"}
        said = {"season": opens, "map": _NEXT[self.scope], "up": moves.get(self.view, "mark")}
        return [replace(one, words=said.get(one.id.partition(".")[2], one.words)) for one in super().keys_here()]

    @property
    def _where(self) -> str:
        return f"route {sanitize(self.route, 30)}" if self.route else "all blocks"

    def _fill(self) -> None:
        self.put_strip()
        if not self.known:
            return
        day = self.summary.on
        past = [f"PAST: at {self._instant}; d shows the present"] if self.at is not None else []
        first = window_start(day)
        week = f"{first.day}{f' {first:%b}' if first.month != day.month else ''}-{day.day} {day:%b}"
        self.put_head(f"Summary   {week}   {self._where}")
        full, calls = self.view == FULL, call_lines(self.made, self.width)
        width = max(20, self.width - 2)
        suspect = summary.suspect_words(self.summary.integrity)
        suspect = f"!! Suspect, not in the means: {suspect}" if suspect else ""
        said = wrap(suspect, width, max_lines=2, placeholder=" … 4 shows all")
        missing, most = summary.not_read_line(self.summary.not_read), max(1, self.size.height // 13)
        unread = wrap(missing, width, max_lines=most, placeholder=" … 4 shows all")
        self.above = len(past) + len(said) + len(unread)
        for name, shown in (("suspect", bool(self.above)), ("rows", True), ("more", self.view != MAP)):
            self.query_one(f"#{name}").display = shown and not full
        lines = [(f" {line}", "bold $text-error") for line in (*past, *said)] + [(f" {line}", "") for line in unread]
        self.put("suspect", Content("\n").join(Content.styled(*line) for line in lines))
        self.query_one("#page").display = full
        if self.view in (BLOCKS, CALLS):
            self.board.fill([self._blocks() if self.view == BLOCKS else self._calls(calls)])
        if self.view == BLOCKS and self.board.parts:
            self.board.at = (0, min(self.place, len(self.summary.blocks) - 1))
        numbers = (len(self.summary.blocks), len(calls), "", "")
        names = [f"{one} {n}".rstrip() for one, n in zip(VIEWS, numbers, strict=True)]
        self.put("views", tabs(names, self.view, self.width))
        (self._tables if full else self._draw)()

    def _show(self) -> None:
        if self.known and self.view != FULL:
            self._draw()

    @property
    def _instant(self) -> str:
        """The instant that is looked back to; empty where none is."""
        at = self.at.at.astimezone(UTC) if self.at is not None else None
        return f"{full_day(at)} {at:%H:%M:%S} UTC" if at is not None else ""

    def _tables(self) -> None:
        tables = summary_page(self.made, width=max(40, self.width - 2))
        if self.at is not None:
            tables = stacked([[heading(f"!! The past: the record at {self._instant}. d: the present")], tables])
        self.query_one("#tables", Static).update(Group(*tables))

    def _draw(self) -> None:
        height, width = self.height - 4 - self.above, self.width - 2
        if self.view == MAP:
            self._map(height)
            return
        title, said = self._details(self.board.row, width)
        caution, titled = wrap(SUMMARY_CAUTIONS[0], width), bool(title) and self.width >= NARROW
        # What the list does not need, and more than half of the room at least.
        listed = sum(len(part.rows) + 1 + bool(part.head) for part in self.board.parts)
        most = max(height - listed, height * 5 // 9) - len(caution) - titled
        shown = said[self.begun : self.begun + most]
        self.page = most - 1 if self.begun + most < len(said) else 0
        if titled:
            place = f" row {self.board.at[1] + 1} of {len(self.board.parts[0].rows)}"
            place += ", PgDn reads on ─" if self.page else " ─"
            shown = [rule(title, self.width - len(place)) + place, *shown]
        elif self.page:
            shown[-1] = f"{sanitize(shown[-1], width - 7).rstrip('…')} … PgDn"
        if self.view == CALLS:
            names, part = Names(self.made.programme), self.board.parts[0]
            for other in part.rows:
                title, more = self._details(other, width)
                if other is not self.board.row and len(shown) + len(more) < most:
                    shown += [rule(title, self.width), *more]
            there = [one for one in self.summary.blocks if summary.block_line(one, names, width=self.width) in shown]
            self.board.parts = (replace(part, title=part.title.split("\t")[0] + "\t" + summary.block_legend(there)),)
        self.seen = height - len(shown) - len(caution)
        self.put("rows", self.board.drawn(self.width, self.seen))
        self.put("more", "\n".join((*shown, *(f" {line}" for line in caution))))

    def _details(self, call: Row | None, width: int) -> tuple[str, list[str]]:
        """Title and lines on a row: what stands behind the marked block's figures, or what to say in a call."""
        names, row = Names(self.made.programme), self.marked
        if self.view == BLOCKS and row is not None:
            title = f"{names.block(row.block)}, {row.species}, {row.status.words}"
            return title, [f" {line}" for line in self.details.lines(row, width, whole=True)]
        if call is None or not call.opens:
            return "", []
        farm = str(call.opens[1])
        mine = [one for one in self.summary.blocks if one.farm == farm]
        said = [f" {line}" for line in wrap(call.more, width)] + [summary.block_head(self.width, weeks=False)]
        return names.farm(farm), said + [summary.block_line(one, names, width=self.width) for one in mine]

    def _map(self, height: int) -> None:
        """The marked block, its route or the area, with the catch of a week."""
        from roundtui.report.maps import area_map, beside, block_map, means, spots, trap_lines

        row, week, width = self.marked, self.summary.on - timedelta(weeks=self.back), self.width
        if row is None:
            self.put("rows", " No trap hung in these seven days.")
            return
        names = Names(self.made.programme)
        where = {ROUTE: f"Route {sanitize(self._way_of(row.block), 20)}", AREA: "All blocks"}.get(self.scope)
        found = spots(self.made.programme, self.made.history, week, self._mapped)
        if where:
            order = {block: at for at, block in enumerate(self._mapped)}
            found = tuple(sorted(found, key=lambda one: order[one.here.block]))
            way = self.made.programme.routes.get(self._way_of(row.block), ()) if self.scope == ROUTE else ()
            legend = wrap("o read ○ not   ▲ over ◆ within ▽ below ? unknown   * highest + sum / weeks", width - 2)
            room = width, height - 1 - len(legend)
            lines = area_map(found, self._rows_of(self.back), way, row.block, room)
        else:
            odd = () if self.back else {one.trap for one in self.summary.unlikely if one.block == row.block}
            found = tuple(replace(one, unlikely=one.here.trap in odd) for one in found)
            week_by_week = trap_lines(self.made.programme, self.made.history, week, row.block) if width > WIDE else []
            side = max((cells(said) + 2 for said in week_by_week), default=0)
            lines = [(said, False) for said in beside(block_map(found, width - side, height - 3), week_by_week)]
            lines.append((f" {means(found)}", False))
            label = "label, pest, catch a week" if width >= NARROW else "catch/week"
            legend = [f"{label}; · not read, {'!4 unlikely, ' if odd else ''}4! not in it, e: edge"]
        span = f"{spoken_day(window_start(week), week)} to {spoken_day(week, week)}"
        place = where or (names.block(row.block) if width >= NARROW else row.block)
        drawn = [(f" {place}   {span}", False), *lines, *((f" {line}", False) for line in legend)]
        said = (Content.styled(sanitize(words, width), "bold reverse" if mark else "") for words, mark in drawn)
        self.put("rows", Content("\n").join(said))

    def _way_of(self, block: str) -> str:
        """The route that is walked past a block; empty where none is."""
        programme = self.made.programme
        mine = {trap for trap, rows in programme.hangings.items() if rows[-1].block == block}
        routes = [self.route] if self.route else programme.routes
        return next((name for name in routes if mine.intersection(programme.routes[name])), "")

    @property
    def _mapped(self) -> list[str]:
        """Blocks on the map, those of a route in walking order."""
        shown = list(dict.fromkeys(one.block for one in self.summary.blocks))
        block = self.marked.block if self.marked is not None else ""
        if self.scope != ROUTE:
            return shown if self.scope == AREA else [block]
        hangings = self.made.programme.hangings
        walked = [hangings[trap][-1].block for trap in self.made.programme.routes.get(self._way_of(block), ())]
        return [one for one in dict.fromkeys(walked) if one in shown]

    def _rows_of(self, back: int) -> Sequence[BlockRow]:
        """What the summary of an earlier week says of the blocks; it is looked up beside the app."""
        if back and back not in self._weeks:

            def have(found: DaySummary) -> None:
                self._weeks[back] = found.summary.blocks
                self.tell("")
                self._draw()

            on = self.summary.on - timedelta(weeks=back)
            read = partial(self.session.day_summary, on, mark=self.at, how_sure=False)
            self.at_rest(partial(self.aside, "week", read, have, "The week cannot be read"))
            self.tell("Looking up what each block showed then …")
        return self._weeks.get(back, ()) if back else self.summary.blocks

    def _blocks(self) -> Part:
        names, rows, width = Names(self.made.programme), [], self.width
        for row in self.summary.blocks:
            key = (row.block, row.species)
            line = summary.block_line(row, names, self.trends.get(key, ()), width)[1:]
            rows.append(Row(line, ("season", *key), "bold $text-error" if row.status is Status.OVER else ""))
        legend = summary.block_legend(self.summary.blocks) + f"  {TREND[0]}–{TREND[-1]} level" * (width >= NARROW)
        return Part(f"Blocks\t{legend}", tuple(rows), summary.block_head(width))

    def _calls(self, lines: Sequence[tuple[str, str, bool, str]]) -> Part:
        rows = [Row(line, ("call", farm), "" if done else "bold", more) for farm, line, done, more in lines]
        return Part("Calls, the most urgent first", tuple(rows) or (Row("Nobody needs a call."),))

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_mark(self, step: int) -> None:
        """Mark another row; of the tables: read on."""
        if self.view == FULL:
            self.query_one("#page", VerticalScroll).scroll_relative(y=step, animate=False)
            return
        if self.view == MAP and self.marked is not None:
            shown = self._mapped if self.scope else [*dict.fromkeys(one.block for one in self.summary.blocks)]
            at = max(0, min(len(shown) - 1, shown.index(self.marked.block) + step))
            self.place = [one.block for one in self.summary.blocks].index(shown[at])
        else:
            self.board.mark(step)
            self.begun = 0
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
        """On or back in what is said of the marked row; else a page of rows, or of the tables."""
        read = self.page if step > 0 else -self.begun
        if read and self.view in (BLOCKS, CALLS):
            self.begun += read
            self._draw()
        else:
            self.action_mark(step * max(1, self.size.height - 6 if self.view == FULL else self.seen - 2))

    def action_show(self, view: int) -> None:
        """One of the four; -1: the next. The map again: the next of block, route and area."""
        if view == MAP and self.view == MAP:
            self.scope = (self.scope + 1) % len(_NEXT)
            if self.scope == ROUTE and not self._way_of(self.marked.block if self.marked is not None else ""):
                self.scope = AREA
        self.view, self.begun = (self.view + 1) % len(VIEWS) if view < 0 else view, 0
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
            self._said = said
            self._show_at(None)

    async def action_withdraw(self) -> None:
        """Withdraw the newest call to the marked grower, about all of its blocks."""
        from roundtui.app.dialogs.entry import open_change

        row, farm_of = self.board.row, self.session.programme.farm_of
        farm = row.opens[1] if self.view == CALLS and row is not None and row.opens else None
        calls = [one for one in self.made.history.notified if farm_of(one.block) == farm]
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
        from roundtui.store.record.chains import Mark, parse_instant

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
        self._read(before)

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
            key = (row.block, row.species) if (row := self.marked) is not None else ("", "")
            await self.app.push_screen(TreatmentDialog(self.session, *key, first="block"), self._noted)

    async def action_replay(self) -> None:
        """The round of this route; from the summary of all blocks that of the first."""
        routes = list(self.session.programme.routes)
        if routes:
            await self.open_screen("replay", self.route or routes[0])
