"""Whom to call after a round, who has been told what, and who was told otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from rich.text import Text

from roundtui.domain.plain import plain
from roundtui.domain.verdicts import BlockRow, Status, ToldOtherwise
from roundtui.domain.visits import Told
from roundtui.report.numbers import day
from roundtui.report.words import NAME_WIDTH, Names, Section, heading, paragraph

WINDOW_DAYS = 7
"""Days whose tellings belong to a summary. [d]"""


def call_section(rows: Sequence[BlockRow], told: Sequence[Told], on: date, names: Names) -> Section:
    """Growers with a block over the band, then those with one within it.

    Args:
        rows: Blocks of the summary, in its order.
        told: Tellings on record.
        on: Day of the summary.
        names: Names of farms and blocks.

    Returns:
        A title and, for each farm, whom to call and what has been told already; empty where nobody needs a call.
    """
    farms: dict[str, list[BlockRow]] = {}
    for status in (Status.OVER, Status.WITHIN):
        for row in rows:
            if row.status is status:
                farms.setdefault(row.farm, []).append(row)
    if not farms:
        return []
    section: Section = [heading("Whom to call")]
    for farm, blocks in farms.items():
        grower, phone = names.contact(farm)
        over = any(row.status is Status.OVER for row in blocks)
        line = f"{'▲' if over else '◆'} {names.farm(farm)}: {grower}, {phone}"
        section.append(paragraph(Text(line, style="bold" if over else "", overflow="fold")))
        for row in blocks:
            words = f"{names.block(row.block)}, {plain(row.species, NAME_WIDTH)}: {row.status.value}. "
            section.append(paragraph(words + _told(row, told, on), 4))
    return section


def _told(row: BlockRow, told: Sequence[Told], on: date) -> str:
    mine = [
        entry
        for entry in told
        if (entry.block, entry.species) == (row.block, row.species)
        and on - timedelta(days=WINDOW_DAYS) < entry.round_on <= on
    ]
    if not mine:
        return "Not told yet."
    newest = max(mine, key=lambda entry: (entry.round_on, entry.told_on, entry.id))
    by, how = plain(newest.by, NAME_WIDTH), plain(newest.how, NAME_WIDTH)
    what = f" ({plain(newest.status, NAME_WIDTH)})" if newest.status != row.status.value else ""
    return f"Told on {day(newest.told_on)}, by {by}, {how}{what}."


def told_otherwise_section(entries: Sequence[ToldOtherwise], names: Names) -> Section:
    """Growers who were told what the record no longer shows.

    Args:
        entries: As the summary lists them.
        names: Names of farms and blocks.

    Returns:
        A title and a sentence for each; empty where there is none.
    """
    if not entries:
        return []
    section: Section = [heading("!! Told otherwise", "bold red")]
    for entry in entries:
        by, how = plain(entry.by, NAME_WIDTH), plain(entry.how, NAME_WIDTH)
        grower, phone = names.contact(names.farm_code(entry.block))
        section.append(
            paragraph(
                f"! {names.place(entry.block)}, {plain(entry.species, NAME_WIDTH)}, round of {day(entry.round_on)}: "
                f"told {plain(entry.told, NAME_WIDTH)} on {day(entry.told_on)} by {by}, {how}; "
                f"the record now says {entry.now.value}. {grower}, {phone}."
            )
        )
    return section
