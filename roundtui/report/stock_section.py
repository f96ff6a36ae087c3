"""What a summary says of lures in stock: lots that run out or expire."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roundtui.report.lot_words import lot_words
from roundtui.report.words import Section, heading, paragraph

if TYPE_CHECKING:
    from roundtui.report.beside_sections import Asked


def stock_section(asked: Asked) -> Section:
    """Lots that somebody has to do something about.

    Args:
        asked: What the summary is made from.

    Returns:
        A title and a sentence for each; empty where all lots last, or none is on record.
    """
    lots = [lot for lot in asked.beside.lots if lot.warned]
    if not lots:
        return []
    return [heading("Lures in stock"), *(paragraph(f"! {lot_words(lot)}.") for lot in lots)]
