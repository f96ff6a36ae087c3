"""The summary as rich tables, for the command line and for the app's summary screen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import RenderableType

from roundtui.domain.cautions import SUMMARY_CAUTIONS
from roundtui.domain.farm import Programme
from roundtui.domain.plain import plain
from roundtui.domain.verdicts import Summary
from roundtui.domain.visits import Told
from roundtui.report.block_tables import block_sections
from roundtui.report.lists import long_section, not_read_section, unlikely_section, upkeep_section
from roundtui.report.people import call_section, told_otherwise_section
from roundtui.report.trouble_words import conflict_section, integrity_section
from roundtui.report.words import NAME_WIDTH, Names, Section, heading, paragraph, stacked


def summary_tables(
    summary: Summary,
    programme: Programme,
    *,
    told: Sequence[Told] = (),
    beside: Sequence[Section] = (),
    fruit: Mapping[tuple[str, str], str] | None = None,
    width: int = 80,
) -> list[RenderableType]:
    """Everything a summary says, what needs a hand first.

    Traps that cannot be trusted and readings that disagree stand above all figures, since they bear on them. Nothing
    is said by colour alone, and text from people is shown as text.

    Args:
        summary: The summary of one day.
        programme: Names and phone numbers.
        told: Tellings on record, of any day.
        beside: What stands beside the figures; see ``beside_sections``.
        fruit: What a look at the fruit found, by block and species; see ``looks.fruit_words``.
        width: Columns to fill; 80 is what it is made for.

    Returns:
        Renderables to print below each other.
    """
    names = Names(programme)
    return stacked(
        [
            _title(summary),
            integrity_section(summary.integrity, names),
            conflict_section(summary.conflicts, names),
            told_otherwise_section(summary.told_otherwise, names),
            *block_sections(summary.blocks, names, width, summary.unlikely, fruit or {}),
            *beside,
            call_section(summary.blocks, told, summary.on, names),
            not_read_section(summary.not_read, names),
            long_section(summary.long_readings, names),
            unlikely_section(summary.unlikely, names),
            upkeep_section(summary.upkeep, width),
            _cautions(),
        ]
    )


def _title(summary: Summary) -> Section:
    words = f"Summary of the seven days to {summary.on.isoformat()}"
    return [heading(f"{words}, route {plain(summary.route, NAME_WIDTH)}" if summary.route else words)]


def _cautions() -> Section:
    return [heading("Before anything is done"), *(paragraph(f"- {caution}") for caution in SUMMARY_CAUTIONS)]
