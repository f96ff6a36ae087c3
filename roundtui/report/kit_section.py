"""Traps that hang although something spoke against them when they were made up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from roundtui.domain.plain import plain
from roundtui.report.words import NAME_WIDTH, NOTE_WIDTH, Section, heading, paragraph

if TYPE_CHECKING:
    from roundtui.report.beside_sections import Asked


def in_spite_section(asked: Asked) -> Section:
    """Each with its parts, its lure and the reason that was given.

    Args:
        asked: What the summary is made from.
    """
    section: Section = []
    for one in asked.beside.in_spite:
        row = asked.programme.hanging(one.trap, asked.summary.on)
        if row is None:
            continue
        labels = [plain(label, NAME_WIDTH) for label in (one.body_label, one.funnel_label, one.lid_label) if label]
        lot = f"lot {plain(one.lot, NAME_WIDTH)}" if one.lot else "no lure"
        words = f"{plain(one.trap, NAME_WIDTH)} ({plain(row.species, NAME_WIDTH)}), made up on "
        words += f"{one.assembled_on.isoformat()} of {' '.join(labels) or 'parts without labels'} with {lot} "
        words += f"[{asked.names.place(row.block)}]. Reason given: {plain(one.despite, NOTE_WIDTH)}."
        section.append(paragraph(Text.assemble(("! ", "bold"), words, overflow="fold")))
    return [heading("Traps made up in spite of what was named"), *section] if section else []
