"""What has to be done about a lot of lures, in words; for the desk and the summary.

Traps that hang although something spoke against them when they were assembled.
What a summary says of lures in stock: lots that run out or expire.
Traps moved, added, taken down or hung again in the seven days of a summary.
What a summary says beside its figures, one function a section, in the order in which they stand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from typing import TYPE_CHECKING

from roundtui.domain.figures.figures import window_start
from roundtui.domain.programme.cautions import SUMMARY_CAUTIONS
from roundtui.domain.text import full_day, sanitize, several
from roundtui.domain.traps.assembly import Happened, SeriesChange, series_changes
from roundtui.report.figures.summary import (
    attention_section,
    block_sections,
    call_section,
    not_read_section,
    upkeep_section,
    warning_sections,
)
from roundtui.report.text import Names, Section, as_name, as_note, heading, stacked, titled
from roundtui.store.figures.summary import DaySummary

if TYPE_CHECKING:
    from roundtui.domain.inventory.stock import LotStock


def lot_words(lot: LotStock) -> str:
    """What has to be done about a lot, in one sentence.

    Args:
        lot: A lot that is warned about.
    """
    from roundtui.domain.inventory.stock import LotState

    name = f"Lot {sanitize(lot.lot, 24)} ({sanitize(lot.species, 5)})"
    left = lot.held.left
    if lot.state is LotState.SHORT and lot.runs_out_on is not None:
        more = f", {lot.needed} in the season" if lot.needed > lot.needed_next else ""
        wanted = f"{left} left, {lot.needed_next} required in four weeks{more}"
        return f"{name} will be used up on {full_day(lot.runs_out_on)}: {wanted}"
    if lot.state is LotState.AGAIN:
        return f"{name}: {-(left or 0)} more put out than there were: count again"
    when = full_day(lot.expires_on) if lot.expires_on else "a day not on record"
    there = "not counted" if left is None else f"{left} left"
    word = "expired on" if lot.state is LotState.EXPIRED else "expires on"
    return f"{name} {word} {when}: {there}, {several(len(lot.traps), 'trap')} would need it"


def override_section(asked: DaySummary) -> Section:
    """Each with its parts, its lure and the reason that was given.

    Args:
        asked: What the summary is made from.
    """
    said = []
    for one in asked.observations.override:
        row = asked.programme.hanging(one.trap, asked.summary.on)
        if row is None:
            continue
        labels = [as_name(label) for label in (one.body_label, one.funnel_label, one.lid_label) if label]
        lot = f"lot {as_name(one.lot)}" if one.lot else "no lure"
        words = f"{as_name(one.trap)} ({as_name(row.species)}), assembled on "
        words += f"{one.assembled_on.isoformat()} of {' '.join(labels) or 'parts without labels'} with {lot} "
        words += f"[{Names(asked.programme).place(row.block)}]. Reason given: {as_note(one.despite)}."
        said.append(words)
    return titled("Traps hung with a known problem", said, sign="bold")


def stock_section(asked: DaySummary) -> Section:
    """Lots that somebody has to do something about.

    Args:
        asked: What the summary is made from.

    Returns:
        A title and a sentence for each; empty where all lots last, or none is on record.
    """
    return titled("Lures in stock", (f"! {lot_words(lot)}." for lot in asked.observations.lots if lot.warned))


def series_section(asked: DaySummary) -> Section:
    """What happened to traps in the seven days, since it makes a figure another one than that of before.

    Args:
        asked: What it is made from.
    """
    blocks = {row.block for row in asked.summary.blocks}
    on = asked.summary.on
    found = [one for one in series_changes(asked.programme, window_start(on), on) if one.block in blocks]
    # A move is told once, where the trap came to.
    told_here = [one for one in found if one.went_to is None or one.went_to.block not in blocks]
    return titled("Traps moved, added, taken down", (_words(Names(asked.programme), one) for one in told_here))


def _words(names: Names, one: SeriesChange) -> str:
    trap, on = as_name(one.trap), one.on.isoformat()
    here = names.block(one.block)
    if one.went_to is not None:
        return f"{trap} moved from {here} to {names.block(one.went_to.block)} on {on}: its series here ends"
    if one.what is Happened.DOWN:
        return f"{trap} taken down in {here} on {on}"
    if one.what is Happened.MOVED and one.came_from is not None:
        where = f"within {here}"
        if one.came_from.block != one.block:
            where = f"from {names.block(one.came_from.block)} to {here}"
        return f"{trap} moved {where} on {on}: a new series begins"
    again = "hung again" if one.what is Happened.AGAIN else "added"
    return f"{trap} {again} in {here} on {on}: a new series begins"


def _of(seen: str, module: str, name: str) -> Callable[[DaySummary], Section]:
    """A section about what was seen beside the counts; its module is loaded where there is anything to say."""

    def section(asked: DaySummary) -> Section:
        made: Section = getattr(import_module(module), name)(asked) if getattr(asked.observations, seen) else []
        return made

    return section


SECTIONS: tuple[Callable[[DaySummary], Section], ...] = (
    series_section,
    override_section,
    _of("samples", "roundtui.report.sampling", "sample_section"),
    _of("treatments", "roundtui.report.figures.treatments", "treatment_section"),
    _of("specimens", "roundtui.report.round.specimens", "specimen_section"),
    stock_section,
)
"""Each gives an empty section where it has nothing to say."""


def summary_page(made: DaySummary, *, width: int = 80) -> Section:
    """The summary as people read it, on the command line and in the app: what needs a hand first.

    What bears on the figures stands above them. Nothing is said by colour alone, and text from people is shown as text.

    Args:
        made: The summary, with what it was made from.
        width: Columns to fill; 80 is what it is made for.

    Returns:
        Renderables to print below each other.
    """
    summary, names = made.summary, Names(made.programme)
    blocks = {row.block for row in summary.blocks}
    traps = {row.trap for row in made.programme.traps if row.block in blocks}
    within = replace(made, observations=made.observations.within(blocks, traps))
    title = f"Summary of the seven days to {summary.on.isoformat()}"
    return stacked(
        [
            [heading(f"{title}, route {as_name(summary.route)}" if summary.route else title)],
            attention_section(summary.attention, names, summary.blocks),
            *warning_sections(summary, names),
            *block_sections(made, width),
            *(make(within) for make in SECTIONS),
            call_section(made),
            not_read_section(summary.not_read, names),
            upkeep_section(summary.upkeep, width),
            titled("Before anything is done", (f"- {caution}" for caution in SUMMARY_CAUTIONS)),
        ]
    )
