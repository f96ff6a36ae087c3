"""The plan of a season as rich tables, for the command line and the Plan screen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from roundtui.domain.farm import Programme
from roundtui.domain.plain import plain
from roundtui.domain.plan.rules import SAME_PLACE_SOURCE
from roundtui.domain.plan.season import PlanRow, PlanState, SeasonPlan
from roundtui.report.numbers import several
from roundtui.report.words import NAME_WIDTH, NOTE_WIDTH, Names, Section, heading, paragraph, stacked

MARKS = {
    PlanState.OVERDUE: "!",
    PlanState.SOON: "*",
    PlanState.LATER: "",
    PlanState.NO_DATE: "?",
    PlanState.HUNG: "=",
}
"""What says a state beside its word."""


def plan_tables(plan: SeasonPlan, programme: Programme, width: int = 80) -> list[RenderableType]:
    """A plan, what is overdue first.

    Args:
        plan: The plan.
        programme: Names.
        width: Columns to fill.
    """
    names = Names(programme)
    title = f"Season {plan.season}, seen from {plan.span.on.isoformat()}"
    if not plan.rows:
        words = "No trap hung last season or this one, and plan.toml names no number: there is nothing to plan."
        return stacked([[heading(title), paragraph(words)]])
    rows = plan.by_urgency()
    return stacked(
        [
            [heading(title), paragraph(_counted(plan)), _plan_table(rows, names, width)],
            _late_section(rows, names),
            _few_section(rows, names),
            _why_section(rows, names),
        ]
    )


def _counted(plan: SeasonPlan) -> str:
    found = {state: sum(1 for row in plan.rows if row.state is state) for state in PlanState}
    words = [f"{found[state]} {state}" for state in PlanState if found[state]]
    ends = f" Traps come down about {plan.ends_on.isoformat()}, as last season." if plan.ends_on else ""
    traps = sum(row.traps for row in plan.rows)
    kinds = several(len(plan.rows), "block and species", "blocks and species")
    return f"{kinds}: {', '.join(words)}. {several(traps, 'trap')}.{ends}"


def _plan_table(rows: Sequence[PlanRow], names: Names, width: int) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=width, header_style="underline")
    columns = (("", 1), ("Block", 16), ("Sp.", 4), ("Traps", 5), ("Hang by", 10), ("", 15))
    for title, wide in columns:
        table.add_column(title, width=wide, overflow="fold")
    table.add_column("Because", overflow="fold", ratio=1)
    for row in rows:
        style = "bold" if row.state is PlanState.OVERDUE else ""
        by = row.hang_by.isoformat() if row.hang_by else "no date"
        cells = (names.block(row.block), plain(row.species, 5), str(row.traps), by, _state(row), _because(row))
        table.add_row(Text(MARKS[row.state], style="bold"), *(Text(cell, style=style) for cell in cells))
    return table


def _state(row: PlanRow) -> str:
    some = f", {len(row.hung)} hang" if row.hung and row.state is not PlanState.HUNG else ""
    if row.state is PlanState.HUNG:
        return f"hung {row.hung_on.isoformat()}" if row.hung_on else "hung"
    if row.days_left is None:
        return f"nothing tells{some}"
    if row.days_left < 0:
        return f"overdue {several(-row.days_left, 'day')}{some}"
    return f"in {several(row.days_left, 'day')}{some}" if row.days_left else f"today{some}"


def _because(row: PlanRow) -> str:
    return plain(row.decided_by.rule, NAME_WIDTH) if row.decided_by else "no rule has a day"


def _late_section(rows: Iterable[PlanRow], names: Names) -> Section:
    """Blocks whose first check was not zero last season, and traps hung late in this one."""
    first, late = [], []
    for row in rows:
        past, name = row.past, f"{names.block(row.block)} {plain(row.species, 5)}"
        if past is not None and past.hung_too_late and past.first_read is not None:
            first.append(f"{name} {past.first_moths} on {past.first_read.isoformat()}")
        if row.late_days is not None and row.hung_on is not None:
            late.append(f"{name} on {row.hung_on.isoformat()}, {several(row.late_days, 'day')} late")
    section: Section = []
    if first:
        words = "Last season the first check was not zero: nobody knows when the flight began, its biofix is doubtful"
        section.append(paragraph(f"{words}: {'; '.join(first)}."))
    if late:
        section.append(paragraph(f"This season: {'; '.join(late)}."))
    return [heading("Hung too late"), *section] if section else []


def _few_section(rows: Iterable[PlanRow], names: Names) -> Section:
    """Numbers below what is advised, and traps lost last season."""
    few: dict[str, list[str]] = {}
    lost = []
    for row in rows:
        name = f"{names.block(row.block)} {plain(row.species, 5)}"
        if row.advised is not None and row.traps < row.advised:
            few.setdefault(row.advice_source, []).append(f"{name} {row.traps} of {row.advised}")
        if row.past is not None and row.past.lost:
            lost.append(f"{name} {', '.join(plain(trap, 20) for trap in row.past.lost)}")
    section: Section = [paragraph(f"{'; '.join(said)}. [{plain(source, 400)}]") for source, said in few.items()]
    if few:
        words = "The number stays last season's, so that figures can be compared: the same places every year"
        section.append(paragraph(f"{words} [{SAME_PLACE_SOURCE}]. plan.toml can set another."))
    titled = [heading("Fewer traps than advised"), *section] if section else []
    if lost:
        titled += [Text("")] if titled else []
        titled += [heading("Lost last season"), paragraph(f"{'; '.join(lost)}.")]
    return titled


def _why_section(rows: Iterable[PlanRow], names: Names) -> Section:
    """What every rule says of the blocks that are still to be hung."""
    section: Section = []
    sources: dict[str, str] = {}
    for row in rows:
        if row.state is PlanState.HUNG:
            continue
        said = []
        for reason in row.reasons:
            on = reason.on.isoformat() if reason.on else "no day"
            place = ", another place's date" if reason.elsewhere else ""
            said.append(f"{on}{place}: {plain(reason.words, NOTE_WIDTH)} [{plain(reason.rule, NAME_WIDTH)}]")
            sources.setdefault(reason.rule, reason.source)
        section.append(paragraph(f"{names.place(row.block)}, {plain(row.species, 5)}, {row.why}"))
        section += [paragraph(words, 4) for words in said]
    if not section:
        return []
    section += [paragraph(f"[{plain(rule, NAME_WIDTH)}] {plain(source, 400)}") for rule, source in sources.items()]
    return [heading("What each rule says; the earliest decides"), *section]
