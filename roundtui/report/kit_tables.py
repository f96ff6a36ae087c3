"""Packing lists and the stock of lures as rich tables, for the command line and the Plan screen."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from roundtui.domain.cautions import KILL_STRIP, LURES
from roundtui.domain.plain import plain
from roundtui.domain.plan.lure_needs import LotState, LotStock
from roundtui.domain.plan.packing import PackItem, PackLine
from roundtui.domain.plan.packing_round import RoundPacking
from roundtui.domain.plan.season import SeasonPlan
from roundtui.report.numbers import several
from roundtui.report.words import NAME_WIDTH, NOTE_WIDTH, Section, heading, paragraph, stacked

_MOST_TRAPS = 8


def season_packing_tables(lines: Sequence[PackLine], plan: SeasonPlan, width: int = 80) -> list[RenderableType]:
    """The packing list of a season.

    Args:
        lines: The list.
        plan: The plan it is for.
        width: Columns to fill.
    """
    title = f"To pack for season {plan.season}, from {plan.span.on.isoformat()}"
    return _packing(title, lines, width, traps=False)


def round_packing_tables(found: RoundPacking, width: int = 80) -> list[RenderableType]:
    """The packing list of a round.

    Args:
        found: The list.
        width: Columns to fill.
    """
    route = plain(found.route, NAME_WIDTH)
    if found.on is None:
        return stacked(
            [[heading(f"Route {route}"), paragraph("No trap of it can be read: there is no round to pack for.")]]
        )
    title = f"To pack for the round {route} of {found.on.isoformat()}, {several(len(found.traps), 'trap')}"
    return _packing(title, found.lines, width, traps=True)


def _packing(title: str, lines: Sequence[PackLine], width: int, *, traps: bool) -> list[RenderableType]:
    if not lines:
        return stacked([[heading(title), paragraph("Nothing is wanted.")]])
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=width, header_style="underline")
    for name, wide in (("", 1), ("Item", 13), ("For", 14), ("Need", 4), ("There", 11), ("Buy", 4)):
        table.add_column(name, width=wide, overflow="fold")
    table.add_column("", overflow="fold", ratio=1)
    for line in lines:
        buy = line.to_buy
        kept = line.item in (PackItem.BODY, PackItem.LURE)
        there = "not counted" if kept and line.in_store is None else "" if line.in_store is None else str(line.in_store)
        of = " ".join(part for part in (line.species, line.detail) if part)
        words = line.words + (f": {_some(line.traps)}" if traps and line.traps else "")
        cells = (line.item.value, plain(of, 36), str(line.needed), there, "" if buy is None else str(buy))
        mark = "!" if buy else ""
        table.add_row(Text(mark, style="bold"), *(Text(cell) for cell in cells), Text(plain(words, NOTE_WIDTH)))
    section: Section = [heading(title), table]
    items = {line.item for line in lines}
    if PackItem.LURE in items:
        section.append(paragraph(LURES))
    if PackItem.KILL_STRIP in items:
        section.append(paragraph(KILL_STRIP))
    return stacked([section])


def _some(traps: Sequence[str]) -> str:
    shown = ", ".join(plain(trap, 20) for trap in traps[:_MOST_TRAPS])
    return f"{shown} and {len(traps) - _MOST_TRAPS} more" if len(traps) > _MOST_TRAPS else shown


def stock_tables(lots: Sequence[LotStock], on: date, unknown: int = 0, width: int = 80) -> list[RenderableType]:
    """Lures in stock, by lot.

    Args:
        lots: The lots.
        on: The day.
        unknown: Lures put out since the first count whose lot nobody wrote down.
        width: Columns to fill.
    """
    title = f"Lures in stock on {on.isoformat()}"
    if not lots:
        return stacked(
            [[heading(title), paragraph("No lot is set up, or all are expired and used up: see lures.csv.")]]
        )
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=width, header_style="underline")
    for name, wide in (("", 1), ("Lot", 14), ("Sp.", 5), ("Left", 11), ("4 weeks", 7), ("Season", 6), ("Expires", 10)):
        table.add_column(name, width=wide, overflow="fold")
    table.add_column("", overflow="fold", ratio=1)
    for lot in sorted(lots, key=lambda lot: not lot.warned):
        left = "not counted" if lot.held.left is None else str(lot.held.left)
        expires = lot.expires_on.isoformat() if lot.expires_on else "no date"
        cells = (plain(lot.lot, 24), plain(lot.species, 5), left, str(lot.needed_next), str(lot.needed), expires)
        style = "bold" if lot.warned else ""
        mark = Text("!" if lot.warned else "", style="bold")
        table.add_row(mark, *(Text(cell, style=style) for cell in (*cells, _lot_state(lot))))
    section: Section = [heading(title), table]
    section.append(
        paragraph("Left: last counted, and bought since, less put out since. 4 weeks, Season: wanted of it until then.")
    )
    if unknown:
        words = f"{several(unknown, 'lure')} put out since the first count, whose lot nobody wrote down"
        section.append(paragraph(f"{words}: no lot is less for them."))
    return stacked([section])


def _lot_state(lot: LotStock) -> str:
    if lot.state is LotState.SHORT and lot.runs_out_on is not None:
        return f"runs out {lot.runs_out_on.isoformat()}"
    if lot.state is LotState.AGAIN:
        return "more used than there were: count again"
    return "" if lot.state is LotState.NOT_COUNTED else lot.state.value
