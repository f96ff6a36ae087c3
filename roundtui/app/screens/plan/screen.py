"""What the Plan screen asks and tells: the plan, packing lists, stock; lures bought or counted, labels written.

The plan of a season: when traps hang, what is packed, which lures are in stock.
"""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, cast

from rich.console import Group, RenderableType
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static
from textual.worker import Worker, WorkerState

from roundtui.app.keys import APP, PLAN, bindings, footer
from roundtui.app.themes import DARK_INKS, LIGHT_INKS
from roundtui.domain.inventory.packing import PackLine, RoundPacking
from roundtui.domain.inventory.plan import SeasonPlan
from roundtui.domain.inventory.stock import LotStock, check_stock
from roundtui.domain.programme.farm import Programme
from roundtui.domain.text import cells, plain
from roundtui.domain.traps.entries import Stocked, StockKind
from roundtui.domain.traps.labels import SHEETS, USUAL_SHEET
from roundtui.errors import ProblemsError, RoundtuiError
from roundtui.report.inventory.plan import plan_tables, round_packing_tables, season_packing_tables, stock_tables
from roundtui.store.inventory.plan import PlanRecord

if TYPE_CHECKING:
    from roundtui.app.app import RoundtuiApp
    from roundtui.app.session import Session
    from roundtui.domain.inventory.stock import LotStock

FOLDER = "labels"
"""Folder inside the scouting folder in which labels are written."""
SIZE = "label-size"
"""Setting that keeps the size of labels."""


@dataclass(frozen=True, slots=True)
class Planned:
    """All that the screen shows, read at once."""

    plan: SeasonPlan
    """The plan."""
    packing: tuple[PackLine, ...]
    """The packing list of the season."""
    rounds: tuple[RoundPacking, ...]
    """Packing lists of the next round of each route."""
    lots: tuple[LotStock, ...]
    """Lures in stock."""
    without_lot: int
    """Lures put out whose lot nobody wrote down."""
    programme: Programme
    """Names."""


class PlanDesk:
    """Reads and tells for the Plan screen. Reading is meant for a thread.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session

    def read(self, season: int | None) -> Planned:
        """Everything, over a connection of its own.

        Args:
            season: Year of the season; None: the running one, or the next once all traps are down.

        Raises:
            RoundtuiError: The store, ``plan.toml`` or ``models.toml`` cannot be used.
        """
        from roundtui.store.connect import open_store

        session = self.session
        with closing(open_store(session.folder, now=session.clock())) as conn:
            record = PlanRecord(conn, session.folder, session.on, session.office, season)
            rounds = tuple(record.round_packing(route) for route in record.programme.routes)
            return Planned(
                record.plan, record.season_packing, rounds, record.lots, record.without_lot, record.programme
            )

    def enter(self, entry: Stocked) -> None:
        """Put lures bought or counted on record. When this returns they are on the disk.

        Args:
            entry: What was bought or counted.

        Raises:
            ProblemsError: It is impossible; nothing was recorded.
            RoundtuiError: Nothing was recorded.
        """
        from roundtui.store import journal

        session = self.session
        problems = check_stock(entry, session.programme)
        if problems:
            raise ProblemsError("Nothing was recorded", problems)
        journal.record(session.conn, [entry], journal.Author(session.scout, session.device), session.clock())
        session.forget()

    @property
    def size(self) -> str:
        """Size of labels used last."""
        kept = self.session.kept(SIZE)
        return kept if kept in SHEETS else USUAL_SHEET

    def write_labels(self, size: str) -> tuple[Path, int]:
        """Write the labels of all traps, as a page and as a text.

        Args:
            size: A word of ``SHEETS``.

        Returns:
            The page, and how many labels.

        Raises:
            RoundtuiError: There is no trap, or the files cannot be written.
        """
        from roundtui.report.traps.labels import write_labels

        session = self.session
        page = session.folder / FOLDER / f"labels-{session.on.isoformat()}-{size}.html"
        number = write_labels(session.conn, session.on, page, size)
        write_labels(session.conn, session.on, page.with_suffix(".txt"), size)
        session.keep(SIZE, size)
        return page, number


PAGES = {"plan": "Plan", "packing": "Packing", "stock": "Stock"}
"""Pages of the screen, and their names in its head."""
MARGIN = 4
"""Columns that the page leaves free."""


class PlanScreen(Screen[None]):
    """Three pages: plan, packing, stock.

    Args:
        session: Who, where and when.
    """

    CSS_PATH = "style.tcss"
    BINDINGS = bindings(PLAN)

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        self.desk = PlanDesk(session)
        self.planned: Planned | None = None
        self.season: int | None = None
        """Year of the season that is shown; None: the one that is due."""
        self.page = "plan"
        """Which page is shown."""
        self.route = -1
        """Place of the route whose round is packed for; -1: the season."""

    def compose(self) -> ComposeResult:
        """A bar, the page, what was said last, the keys."""
        yield Static(id="head", classes="bar", markup=False)
        with VerticalScroll(id="page"):
            yield Static("Reading last season …", id="tables", markup=False)
        yield Static(id="said", markup=False)
        yield Static(f" {footer(PLAN)}  {footer(APP)}", classes="keys", markup=False)

    def on_mount(self) -> None:
        """Arrows scroll."""
        self.app.ansi_theme_dark, self.app.ansi_theme_light = DARK_INKS, LIGHT_INKS
        self.set_focus(self.query_one("#page"))
        self._head()
        self.refill()

    def on_resize(self) -> None:
        """Tables fill the width of the terminal."""
        self._head()
        self._fill()

    def refill(self) -> None:
        """Read everything anew."""
        read = partial(self.desk.read, self.season)
        self.run_worker(read, name="plan", thread=True, exclusive=True, exit_on_error=False)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show what was read, or say why there is nothing."""
        if event.worker.name != "plan":
            return
        if event.state is WorkerState.SUCCESS:
            self.planned = cast("Planned", event.worker.result)
            self._head()
            self._fill()
        elif event.state is WorkerState.ERROR and event.worker.error is not None:
            error = event.worker.error
            if not isinstance(error, RoundtuiError):
                raise error
            self.query_one("#tables", Static).update("There is no plan: see above. Escape goes back.")
            cast("RoundtuiApp", self.app).show_error("There is no plan", error)

    # --- keys --------------------------------------------------------------------------------------------------------

    def action_show(self, page: str) -> None:
        """Show another page."""
        self.page = page
        self._head()
        self._fill(home=True)

    def action_route(self) -> None:
        """Pack for the next round of the next route; after the last for the season again."""
        if self.planned is not None:
            rounds = len(self.planned.rounds)
            self.route = self.route + 1 if self.page == "packing" and self.route + 1 < rounds else -1
            if self.page != "packing" and rounds:
                self.route = 0
        self.action_show("packing")

    def action_season(self) -> None:
        """The season after the one shown; then the one that is due again."""
        if self.planned is None:
            return
        self.season = self.planned.plan.season + 1 if self.season is None else None
        self.refill()

    def action_enter(self) -> None:
        """Put lures bought or counted on record."""
        self.run_worker(self._enter(), exclusive=True, group="dialog")

    async def _enter(self) -> None:
        from roundtui.app.dialogs.stock import StockDialog

        first = next((lot.lot for lot in self._lots() if lot.warned), "") or next(
            (lot.lot for lot in sorted(self._lots(), key=lambda lot: -lot.needed) if lot.held.left is None), ""
        )
        entry = await self.app.push_screen_wait(StockDialog(self.desk, first))
        if entry is not None:
            self._say(_entered(entry))
            self.page = "stock"
            self.refill()

    def action_labels(self) -> None:
        """Write the labels of all traps."""
        self.run_worker(self._labels(), exclusive=True, group="dialog")

    async def _labels(self) -> None:
        from roundtui.app.dialogs.line import LineDialog

        def fault(text: str) -> str:
            return "" if text.casefold() in SHEETS else f"Write one of {', '.join(SHEETS)}"

        hint = f"Paper, columns and rows: {', '.join(SHEETS)}."
        size = await self.app.push_screen_wait(
            LineDialog("Trap labels", "Size", self.desk.size, fault=fault, hint=hint)
        )
        if size is None:
            return
        try:
            path, number = self.desk.write_labels(size.casefold())
        except RoundtuiError as error:
            cast("RoundtuiApp", self.app).show_error("No labels were written", error)
            return
        self._say(f"{number} labels written: {path.parent.name}/{path.name}. Print unscaled")

    def action_back(self) -> None:
        """Back to where one was."""
        self.dismiss()

    # --- what is shown -----------------------------------------------------------------------------------------------

    def _lots(self) -> tuple[LotStock, ...]:
        return self.planned.lots if self.planned is not None else ()

    def _head(self) -> None:
        width = max(20, self.size.width)
        season = f" of season {self.planned.plan.season}" if self.planned is not None else ""
        left = f" {PAGES[self.page]}{season}"
        right = f"{self.session.on:%a} {self.session.on.isoformat()}   {plain(self.session.scout, 24)} "
        self.query_one("#head", Static).update(
            Content(left + " " * max(1, width - cells(left) - cells(right)) + right), layout=False
        )

    def _fill(self, *, home: bool = False) -> None:
        if self.planned is None:
            return
        self.query_one("#tables", Static).update(Group(*self._tables(self.planned, max(40, self.size.width - MARGIN))))
        if home:
            self.query_one("#page", VerticalScroll).scroll_home(animate=False)

    def _tables(self, planned: Planned, width: int) -> list[RenderableType]:
        if self.page == "plan":
            return plan_tables(planned.plan, planned.programme, width)
        if self.page == "stock":
            return stock_tables(planned.lots, self.session.on, planned.without_lot, width)
        if 0 <= self.route < len(planned.rounds):
            return round_packing_tables(planned.rounds[self.route], width)
        return season_packing_tables(planned.packing, planned.plan, width)

    def _say(self, words: str) -> None:
        self.query_one("#said", Static).update(Content(plain(words, max(20, self.size.width - 2))))


def _entered(entry: Stocked) -> str:
    did = "bought" if entry.kind is StockKind.BOUGHT else "counted"
    return f"Recorded: {entry.number} of lot {plain(entry.lot, 30)} {did} on {entry.stocked_on.isoformat()}"
