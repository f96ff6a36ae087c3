"""Blocks of a summary as tables: over first, then within, below and the rest, with what stands behind each figure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.table import Table
from rich.text import Text

from roundtui.domain.estimates import MARK as ESTIMATE
from roundtui.domain.plain import plain
from roundtui.domain.verdicts import BlockRow, RuleApplied, Status, Unlikely
from roundtui.report import numbers
from roundtui.report.words import NAME_WIDTH, NOTE_WIDTH, Names, Section, heading, paragraph

MARKS = {
    Status.OVER: "▲",
    Status.WITHIN: "◆",
    Status.BELOW: "▽",
    Status.CANNOT_TELL: "?",
    Status.NO_RULE: "=",
    Status.NOT_READ: "○",
}
"""What says a status without colour; the heading above spells it out."""
TITLES = {
    Status.OVER: "Over the band",
    Status.WITHIN: "Within the band",
    Status.BELOW: "Below the band",
    Status.CANNOT_TELL: "Cannot tell",
    Status.NO_RULE: "No rule fits",
    Status.NOT_READ: "Not read",
}
"""A status in words."""
_STYLES = {Status.OVER: "bold red"}
_COLUMNS = (("Pest", 6), ("A week", 7), ("Band", 8), ("Traps", 6), ("Days", 6), ("Highest", 7), ("Before", 7))
_MARK_WIDTH = 2
_LEGEND = "Catch a trap and week. Traps: counted of hung. Days: of exposure. Before: the figure before."
_LOOKS_AT = {
    "mean": "the mean of the block",
    "single-trap": "the highest trap",
    "running": "the least of the weeks running",
    "cumulative": "the sum since its start",
}


def block_sections(
    rows: Sequence[BlockRow],
    names: Names,
    width: int,
    unlikely: Sequence[Unlikely] = (),
    fruit: Mapping[tuple[str, str], str] | None = None,
) -> list[Section]:
    """A section for each status that occurs, and one for the rules that were used.

    Args:
        rows: Blocks of the summary, in its order.
        names: Names of farms and blocks.
        width: Columns to fill.
        unlikely: Counts to look at again, named beside the block whose figure they are in.
        fruit: What a look at the fruit found, by block and species.

    Returns:
        Sections to put below each other.
    """
    if not rows:
        return [[heading("No block had a trap hanging in these seven days.")]]
    legend = f"{_LEGEND} {ESTIMATE}: rests on an estimate." if any(row.estimated for row in rows) else _LEGEND
    sections: list[Section] = [[Text(legend, overflow="fold")]]
    for status, mark in MARKS.items():
        chosen = [row for row in rows if row.status is status]
        if not chosen:
            continue
        section: Section = [heading(f"{mark} {TITLES[status]}", _STYLES.get(status, "bold"))]
        section.append(_line(("Block", *(title for title, _ in _COLUMNS)), "", width, style="underline"))
        for row in chosen:
            section += [
                _line(_cells(row, names), mark, width, style=_STYLES.get(status, "")),
                paragraph(_notes(row, names, unlikely, (fruit or {}).get((row.block, row.species))), _MARK_WIDTH + 1),
            ]
        sections.append(section)
    sections.append(_rules(rows))
    return sections


def _line(cells: Sequence[str], mark: str, width: int, style: str) -> Table:
    fixed = sum(columns + 1 for _, columns in _COLUMNS) + _MARK_WIDTH + 1
    line = Table(box=None, show_header=False, padding=(0, 1, 0, 0), pad_edge=False, width=max(width, fixed + 8))
    line.add_column(width=_MARK_WIDTH)
    line.add_column(width=max(width - fixed, 8), overflow="fold")
    line.add_column(width=_COLUMNS[0][1], overflow="fold")
    for _, columns in _COLUMNS[1:]:
        line.add_column(width=columns, justify="right", overflow="fold")
    line.add_row(Text(mark), *(Text(cell, style=style) for cell in cells))
    return line


def _cells(row: BlockRow, names: Names) -> tuple[str, ...]:
    edges = row.band if row.band and row.rule and row.rule.kind == "mean" else ()
    return (
        names.block(row.block),
        plain(row.species, NAME_WIDTH),
        numbers.figure(row.mean_per_week, edges or ()) + _mark(row, "mean_per_week"),
        numbers.band(row.band),
        f"{row.counted}/{row.hung}",
        numbers.days(row.days),
        numbers.figure(row.max_per_week) + _mark(row, "max_per_week"),
        numbers.figure(row.previous_per_week) + _mark(row, "previous_per_week"),
    )


def _mark(row: BlockRow, key: str) -> str:
    return ESTIMATE if row.estimates(key) else ""


def _notes(row: BlockRow, names: Names, unlikely: Sequence[Unlikely], fruit: str | None) -> Text:
    if row.status is Status.NOT_READ:
        notes = [names.farm(row.farm), *_standing(row)]
    else:
        notes = [names.farm(row.farm), *_rule(row), *_behind(row), *_standing(row)]
    notes += [
        f"{plain(count.trap, NAME_WIDTH)} has an unlikely {count.count}"
        for count in unlikely
        if count.block == row.block and names.species(count.trap) == row.species
    ]
    words = Text(f"{'; '.join(notes)}.", overflow="fold")
    if row.weak_evidence:
        then = f"; {fruit}" if fruit else ": look at the fruit"
        words.append(f" Under mating disruption a low catch is weak evidence{then}.", style="bold")
    return words


def _rule(row: BlockRow) -> list[str]:
    notes = []
    if row.why:
        notes.append(plain(row.why, NOTE_WIDTH))
    if row.rule is not None:
        notes.append(_judged(row, row.rule))
        if row.band and row.rule.value == row.band[1]:
            notes.append("exactly on the upper edge, which counts as over")
    return notes


def _behind(row: BlockRow) -> list[str]:
    """What stands behind the figure, and beside it."""
    notes = []
    if row.mean_with_suspect is not None and row.mean_with_suspect != row.mean_per_week:
        notes.append(f"with the traps that cannot be trusted {numbers.figure(row.mean_with_suspect)}")
    if row.counted:
        notes.append(f"catch {row.catch}")
    estimates = row.estimates("mean_per_week")
    if estimates:
        notes.append(f"{ESTIMATE} {numbers.several(estimates, 'count is an estimate', 'counts are estimates')}")
    elif row.estimates("previous_per_week"):
        notes.append(f"{ESTIMATE} the figure before rests on an estimate")
    if row.edge_mean is not None:
        notes.append(f"edge traps {numbers.figure(row.edge_mean)}{_mark(row, 'edge_mean')}")
    if row.read != row.counted:
        notes.append(f"{numbers.several(row.read, 'trap')} read, {row.counted} in the figure")
    if row.thin and row.counted:
        notes.append("thin: fewer than three traps counted")
    return notes


def _standing(row: BlockRow) -> list[str]:
    """What holds whether the block was read or not."""
    notes = []
    if row.cumulative is not None:
        notes.append(f"season {numbers.figure(row.cumulative)}{_mark(row, 'cumulative')} a trap")
    if row.stage is not None:
        notes.append(f"stage {plain(row.stage, NAME_WIDTH)}")
    return notes


def _judged(row: BlockRow, rule: RuleApplied) -> str:
    name = f"rule {plain(rule.id, NAME_WIDTH)}"
    if rule.kind == "mean" and rule.value == row.mean_per_week:
        return name
    value = "cannot be told" if rule.value is None else numbers.figure(rule.value, row.band or ())
    return f"{name} looks at {_LOOKS_AT.get(rule.kind, plain(rule.kind, NAME_WIDTH))}: {value}"


def _rules(rows: Sequence[BlockRow]) -> Section:
    used: dict[str, str] = {}
    for row in rows:
        if row.rule is not None and row.rule.id not in used:
            when = f", {row.rule.date.isoformat()}" if row.rule.date else ""
            used[row.rule.id] = (
                f"{plain(row.rule.id, NAME_WIDTH)}: {_LOOKS_AT.get(row.rule.kind, plain(row.rule.kind, NAME_WIDTH))}, "
                f"{numbers.band(row.band)}. Source: {plain(row.rule.source, NOTE_WIDTH)}{when}."
            )
    if not used:
        return []
    return [heading("Rules used"), *(paragraph(words) for words in used.values())]
