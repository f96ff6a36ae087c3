"""What a screen asks and tells of a season's plan: packing lists, stock, lures bought or counted, labels."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.inventory.packing import PackLine, RoundPacking
from roundtui.domain.inventory.plan import SeasonPlan
from roundtui.domain.inventory.stock import LotStock, check_stock
from roundtui.domain.programme.farm import Programme
from roundtui.domain.traps.entries import Stocked
from roundtui.domain.traps.labels import SHEETS, USUAL_SHEET
from roundtui.errors import ProblemsError
from roundtui.store.inventory.plan import PlanRecord

if TYPE_CHECKING:
    from roundtui.store.session import Session

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
        session = self.session
        with session.beside() as conn:
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
        journal.record(session.conn, [entry], session.author, session.clock())
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
