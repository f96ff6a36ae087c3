"""The plan of a season: when traps hang, what is packed, which lures are in stock."""

from __future__ import annotations

from functools import partial

from rich.console import Group
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from roundtui.app.keys import keys_of
from roundtui.app.screen import RoundtuiScreen, texts
from roundtui.domain.inventory.packing import Packing
from roundtui.domain.text import full_day, sanitize
from roundtui.domain.traps.labels import SHEETS
from roundtui.report import inventory
from roundtui.report.text import Line, Section
from roundtui.store.inventory import PlanRecord
from roundtui.store.session import Session

PLAN = keys_of("season", "plan")

MARGIN = 4
"""Columns that the page leaves free."""
BELOW = 14
"""Lines that the rows of the plan leave to the marked one and to what else there is. [lines]"""


class PlanScreen(RoundtuiScreen[None]):
    """Three pages: plan, packing, stock.

    Args:
        session: Who, where and when.
    """

    STOPPED = "There is no plan"
    CSS_PATH = "style.tcss"
    KEYS = PLAN

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self.desk = inventory.PlanDesk(session)
        self.planned: PlanRecord | None = None
        self.packed: tuple[Packing, ...] = ()
        """What is packed: for the season, then for the next round of each route."""
        self.season: int | None = None
        """Year of the season that is shown; None: the one that is due."""
        self.page = "plan"
        """Which page is shown."""
        self.shown = 0
        """Which of them is shown."""
        self.marked = 0
        """Which row of the plan is marked."""

    def compose(self) -> ComposeResult:
        """A bar, the rows of the plan, the page, the keys."""
        yield from texts("head", "rows")
        with VerticalScroll(id="page", can_focus=False):
            yield Static("Reading last season …", id="tables", markup=False)
        yield from texts("keys")

    def on_mount(self) -> None:
        """Show the place at once."""
        self._fill()
        self.refill()

    def on_resize(self) -> None:
        """Tables fill the width of the terminal."""
        self._fill()

    def refill(self) -> None:
        """Read everything anew."""
        read = partial(self.desk.read, self.season)
        self.aside("plan", read, self._have, "There is no plan", stopped=self.dismiss)

    def _have(self, found: tuple[PlanRecord, tuple[Packing, ...]]) -> None:
        self.planned, self.packed = found
        self._fill()

    # --- keys --------------------------------------------------------------------------------------------------------

    def idle(self) -> str:
        """The page that is shown; the plan alone has a marked row."""
        return self.page if self.page == "plan" else f"{self.page} up"

    def action_show(self, page: str) -> None:
        """Show another page."""
        self.page = page
        self.put_strip()
        self._fill(home=True)

    def action_mark(self, step: int) -> None:
        """Another row of the plan; elsewhere read on."""
        if self.page != "plan":
            self.query_one("#page").scroll_relative(y=step, animate=False)
        elif self.planned is not None:
            self.marked = max(0, min(len(self.planned.plan.rows) - 1, self.marked + step))
            self._fill(home=True)

    def action_route(self) -> None:
        """Pack for the next round of the next route; after the last for the season again."""
        self.shown = (self.shown + 1 if self.page == "packing" else 1) % max(1, len(self.packed))
        self.action_show("packing")

    def action_season(self) -> None:
        """The season after the one shown; then the one that is due again."""
        if self.planned is not None:
            self.season = self.planned.plan.season + 1 if self.season is None else None
            self.refill()

    def action_enter(self) -> None:
        """Put lures bought or counted on record."""
        self.soon(self._enter())

    async def _enter(self) -> None:
        from roundtui.app.dialogs.office import StockDialog

        lots = self.planned.lots if self.planned is not None else ()
        unknown = sorted((lot for lot in lots if lot.held.left is None), key=lambda lot: -lot.needed)
        first = next((lot.lot for lot in (*(lot for lot in lots if lot.warned), *unknown)), "")
        entry = await self.app.push_screen_wait(StockDialog(self.desk, first))
        if entry is not None:
            did = f"{entry.kind.value} on {full_day(entry.stocked_on)}"
            self.tell(f"Saved: {entry.number} of lot {sanitize(entry.lot, 30)} {did}")
            self.page = "stock"
            self.refill()

    def action_labels(self) -> None:
        """Write the labels of all traps."""
        self.soon(self._labels())

    async def _labels(self) -> None:
        from roundtui.app.dialogs.form import LineDialog

        def fault(text: str) -> str:
            return "" if text.casefold() in SHEETS else f"Write one of {', '.join(SHEETS)}"

        hint = f"Paper, columns and rows: {', '.join(SHEETS)}."
        size = await self.app.push_screen_wait(
            LineDialog("Trap labels", "Size", self.desk.size, fault=fault, hint=hint)
        )
        with self.saying("No labels were written"):
            if size is not None:
                path, number = self.desk.write_labels(size.casefold())
                self.tell(f"{number} labels written: {path.parent.name}/{path.name}. Print unscaled")

    # --- what is shown -----------------------------------------------------------------------------------------------

    def _fill(self, *, home: bool = False) -> None:
        season = f" of season {self.planned.plan.season}" if self.planned is not None else ""
        head = f"{self.page.capitalize()}{season}"
        if self.planned is None:
            self.put_head(head)
            return
        width, plan, programme = self.width - MARGIN, self.planned.plan, self.planned.programme
        tables, above = self._tables(self.planned, width), list[Line]()
        if self.page == "plan":
            rows, room = plan.by_urgency(), max(4, self.size.height - BELOW)
            first = max(0, min(self.marked - room // 2, len(rows) - room))
            above += inventory.plan_list(plan, programme, width, rows[first : first + room], self.marked - first)
            if len(rows) > room:
                head += f"   rows {first + 1}–{first + room} of {len(rows)}"
        self.put_head(head)
        self.query_one("#rows", Static).update(Group(*above))
        self.query_one("#rows").display = bool(above)
        self.query_one("#tables", Static).update(Group(*tables))
        if home:
            self.query_one("#page", VerticalScroll).scroll_home(animate=False)

    def _tables(self, planned: PlanRecord, width: int) -> Section:
        if self.page == "plan":
            rows = planned.plan.by_urgency()
            return inventory.plan_row(planned.plan, planned.programme, rows[self.marked]) if rows else []
        if self.page == "stock":
            return inventory.stock_tables(planned.lots, planned.on, planned.without_lot, width)
        return inventory.packing_tables(self.packed[min(self.shown, len(self.packed) - 1)], planned.on, width)
