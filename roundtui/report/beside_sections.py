"""What a summary says beside its figures, one function a section, in the order in which they stand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from roundtui.domain.beside import Beside
from roundtui.domain.farm import Programme
from roundtui.domain.history import History
from roundtui.domain.rules import Office
from roundtui.domain.verdicts import Summary
from roundtui.report.kit_section import in_spite_section
from roundtui.report.looks import look_section
from roundtui.report.new_series import series_section
from roundtui.report.specimens import specimen_section
from roundtui.report.stock_section import stock_section
from roundtui.report.treatments import treatment_section
from roundtui.report.words import Names, Section


@dataclass(frozen=True, slots=True)
class Asked:
    """What a section is made from. ``summary`` has the blocks that are asked about, the rest may have more."""

    summary: Summary
    """The summary of the day."""
    programme: Programme
    """What is set up."""
    history: History
    """The record up to the day."""
    beside: Beside
    """What stands beside the counts of the season, of the blocks of the summary alone."""
    office: Office
    """Rules, and when the season starts."""
    width: int = 80
    """Columns to fill."""

    @property
    def names(self) -> Names:
        """Names as people say them."""
        return Names(self.programme)


SECTIONS: tuple[Callable[[Asked], Section], ...] = (
    series_section,
    in_spite_section,
    look_section,
    treatment_section,
    specimen_section,
    stock_section,
)
"""Each gives an empty section where it has nothing to say."""


def beside_sections(asked: Asked) -> Sequence[Section]:
    """All sections that have something to say.

    Args:
        asked: What they are made from.
    """
    blocks = {row.block for row in asked.summary.blocks}
    traps = {row.trap for row in asked.programme.traps if row.block in blocks}
    within = Asked(
        asked.summary,
        asked.programme,
        asked.history,
        asked.beside.within(blocks, traps),
        asked.office,
        asked.width,
    )
    return [section for make in SECTIONS if (section := make(within))]
