"""The rest of a summary: what was not read, unlikely counts, upkeep due."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table
from rich.text import Text

from roundtui.domain.exposure import LONGEST_DAYS
from roundtui.domain.plain import plain
from roundtui.domain.verdicts import LongReading, NotRead, Unlikely, UpkeepDue
from roundtui.report.numbers import day, figure, several
from roundtui.report.words import NAME_WIDTH, NOTE_WIDTH, Names, Section, heading, paragraph


def not_read_section(rows: Sequence[NotRead], names: Names) -> Section:
    """Traps without a count in the seven days, and why.

    Args:
        rows: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a paragraph for each block; empty where every trap was read.
    """
    if not rows:
        return []
    blocks: dict[str, list[str]] = {}
    for row in rows:
        why = "taken down or moved away before the visit" if row.left else "no entry"
        words = f"{plain(row.trap, NAME_WIDTH)} {row.reason.value if row.reason else why}"
        blocks.setdefault(row.block, []).append(f"{words} ({plain(row.note, NOTE_WIDTH)})" if row.note else words)
    section: Section = [heading(f"Not read: {several(len(rows), 'trap')}")]
    for block, traps in blocks.items():
        listed = "; ".join(traps)
        section.append(paragraph(f"{names.place(block)}: {listed}." if block else f"{listed}."))
    return section


def long_section(rows: Sequence[LongReading], names: Names) -> Section:
    """Readings without a weekly rate, with the days they cover.

    Args:
        rows: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence for each; empty where there is none.
    """
    if not rows:
        return []
    section: Section = [heading(f"Readings over more than {LONGEST_DAYS} days: no weekly rate, not in the mean")]
    for row in rows:
        words = f"{plain(row.trap, NAME_WIDTH)}: {several(row.count, 'moth')} in {row.days} days to {day(row.read_on)}"
        section.append(paragraph(f"{words} [{names.place(row.block)}]." if row.block else f"{words}."))
    return section


def unlikely_section(rows: Sequence[Unlikely], names: Names) -> Section:
    """Counts far above their trap's own past.

    Args:
        rows: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence for each; empty where there is none.
    """
    if not rows:
        return []
    section: Section = [heading("Unlikely counts: recorded as typed, look again")]
    for row in rows:
        words = f"{plain(row.trap, NAME_WIDTH)}: {row.count}"
        words += f" on {day(row.read_on)}" if row.read_on else ""
        words += f", usually {figure(row.usual)} a week" if row.usual is not None else ""
        section.append(paragraph(f"{words} [{names.place(row.block)}]." if row.block else f"{words}."))
    return section


def upkeep_section(rows: Sequence[UpkeepDue], width: int) -> Section:
    """Lures, liners and kill strips that are due, or will be within a week.

    Args:
        rows: As the summary lists them.
        width: Columns to fill.

    Returns:
        A title and a table; empty where nothing is due.
    """
    if not rows:
        return []
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=width, header_style="underline")
    for title, columns in (("", 2), ("Trap", 10), ("Item", 10), ("Due", 13)):
        table.add_column(title, width=columns, overflow="fold")
    table.add_column("Because", overflow="fold", ratio=1)
    for row in rows:
        late = row.days_overdue is None or row.days_overdue >= 0
        cells = (plain(row.trap, NAME_WIDTH), plain(row.item, NAME_WIDTH), _due(row.days_overdue), _because(row))
        table.add_row(Text("!" if late else ""), *(Text(cell, style="bold" if late else "") for cell in cells))
    section: Section = [heading("Upkeep"), table]
    if any(row.assumed for row in rows):
        section.append(paragraph("assumed: the usual life of the species, counted from hanging; no lot on record."))
    if any(row.item == "kill-strip" for row in rows):
        section.append(paragraph("Handle kill strips with gloves, as their label says."))
    return section


def _due(days_overdue: int | None) -> str:
    if days_overdue is None or days_overdue == 0:
        return "now"
    return f"{several(days_overdue, 'day')} over" if days_overdue > 0 else f"in {several(-days_overdue, 'day')}"


def _because(row: UpkeepDue) -> str:
    words = []
    if row.why == "catch" and row.catch is not None:
        words.append(f"{several(row.catch, 'moth')} on it")
    if row.since is not None:
        words.append(f"in since {day(row.since)}")
    if row.life_days is not None:
        words.append(f"lasts {several(row.life_days, 'day')}")
    if row.assumed:
        words.append("assumed")
    return ", ".join(words) or plain(row.why, NAME_WIDTH)
