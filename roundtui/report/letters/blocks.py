"""Blocks of a letter: figure, band, status in plain words, trend, and what stands behind each."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.figures import Series, in_window
from roundtui.domain.plain import plain
from roundtui.domain.season_catch import catch_points, moves_of
from roundtui.domain.verdicts import BlockRow, RuleApplied, Status
from roundtui.report import numbers
from roundtui.report.block_tables import MARKS
from roundtui.report.charts import Band, Chart, Panel
from roundtui.report.charts import Line as Curve
from roundtui.report.letters.letter import Figure, LetterBlock, Line, line
from roundtui.report.letters.looks import fruit
from roundtui.report.letters.material import A_YEAR, Material
from roundtui.report.letters.pictures import Picture
from roundtui.report.letters.treatments import treatments
from roundtui.report.letters.words import (
    MEANINGS,
    NOTE_WIDTH,
    STATUSES,
    at_block,
    count,
    day_figure,
    insects,
    rate,
    short_day,
    short_figure,
    species_name,
    trend,
)
from roundtui.report.words import NAME_WIDTH, Names

MOST_CURVES = 6
"""Curves in one letter, so that it stays on two pages."""
_LEAST_DAYS = 120
"""Fewest days on a curve, so that the first weeks are no broad sweep. [d]"""
_COMPARED = {"single-trap": " for any one trap", "running": " for weeks running"}
_LOOKS_AT = {
    "single-trap": "the highest trap",
    "running": "the least of the weeks running",
    "cumulative": "the sum since its start",
}


def letter_block(material: Material, names: Names, row: BlockRow, *, curve: bool) -> LetterBlock:
    """What a letter says of one block and species.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        row: The block in the summary.
        curve: Whether its season is drawn.
    """
    block = material.programme.blocks.get(row.block)
    edges = row.band or ()
    mean = rate(row.mean_per_week, at_block(row, "mean_per_week"), edges)
    return LetterBlock(
        block=names.block(row.block),
        crop=plain(block.crop, NAME_WIDTH) if block else "",
        species=species_name(row.species),
        code=plain(row.species, NAME_WIDTH),
        mark=MARKS[row.status],
        status=Figure(STATUSES[row.status], row.status.value, at_block(row, "status")),
        meaning=MEANINGS[row.status],
        mean=mean,
        band=Figure(numbers.band(row.band), row.band, at_block(row, "band")),
        traps=line(count(row.counted, at_block(row, "counted")), " of ", count(row.hung, at_block(row, "hung"))),
        read=_read_on(material, row),
        trend=_trends(material, row, mean),
        details=(*_details(material, row), *treatments(material, row.block, row.species)),
        curve=_curve(material, names, row) if curve else None,
    )


def _read_on(material: Material, row: BlockRow) -> Line:
    """Days on which it was read, with the traps read on each."""
    days: dict[date, str] = {}
    for one in material.series.get((row.block, row.species), ()):
        for reading in one.readings:
            if in_window(reading, material.on):
                days.setdefault(reading.read_on, reading.trap)
    parts: list[str | Figure] = []
    for at, (on, trap) in enumerate(sorted(days.items())):
        parts += [", "] if at else []
        parts.append(short_figure(on, ("record", "read_on", trap, on.isoformat())))
    return line(*parts) if parts else line("not read")


def _trends(material: Material, row: BlockRow, mean: Figure) -> tuple[Line, ...]:
    edges = row.band or ()
    found = []
    if row.previous_per_week is not None:
        before = rate(row.previous_per_week, at_block(row, "previous_per_week"), edges)
        found.append(trend(mean, before, line("the time before")))
    else:
        found.append(line("no figure before this one"))
    year_ago = material.rows_before.get((row.block, row.species))
    if year_ago is not None and year_ago.mean_per_week is not None:
        before = rate(year_ago.mean_per_week, at_block(year_ago, "mean_per_week", "last-year"), edges)
        on = material.last_year.on
        found.append(trend(mean, before, line("in the week to ", day_figure(on, ("last-year", "on")))))
    else:
        found.append(line("no figure of a year ago"))
    return tuple(found)


def _details(material: Material, row: BlockRow) -> list[Line]:
    found = []
    if row.why:
        found.append(line(plain(row.why, NOTE_WIDTH)[:1].upper() + plain(row.why, NOTE_WIDTH)[1:], "."))
    if row.rule is not None and row.band is not None:
        found += _judged(row, row.rule, row.band)
    if row.weak_evidence:
        found.append(fruit(material, row))
    if row.mean_with_suspect is not None and row.mean_with_suspect != row.mean_per_week:
        with_all = rate(row.mean_with_suspect, at_block(row, "mean_with_suspect"), row.band or ())
        found.append(line("With the traps that cannot be trusted it would be ", with_all, "."))
    if row.edge_mean is not None:
        found.append(line("Traps at the edge, beside the mean: ", rate(row.edge_mean, at_block(row, "edge_mean")), "."))
    if row.max_per_week is not None and row.counted > 1:
        found.append(line("Highest trap: ", rate(row.max_per_week, at_block(row, "max_per_week")), "."))
    if row.counted and row.thin:
        found.append(line("Thin: fewer than three traps stand behind the figure."))
    if row.read != row.counted:
        found.append(line("Traps read, in the figure or not: ", count(row.read, at_block(row, "read")), "."))
    if row.cumulative is not None:
        total = rate(row.cumulative, at_block(row, "cumulative"))
        found.append(line("This season so far: ", total, f" {insects(row.species)} a trap."))
    return found


def _judged(row: BlockRow, rule: RuleApplied, band: tuple[Fraction, Fraction]) -> list[Line]:
    found = []
    if rule.kind != "mean" or rule.value != row.mean_per_week:
        looks_at = _LOOKS_AT.get(rule.kind, "its own figure")
        if rule.value is None:
            found.append(line(f"The rule looks at {looks_at}, which cannot be told."))
        else:
            value = rate(rule.value, at_block(row, "rule.value"), band)
            found.append(line(f"The rule looks at {looks_at}: ", value, "."))
    if row.status is Status.OVER and rule.value == band[1]:
        found.append(line("It is exactly on the upper edge, which counts as over."))
    return found


def _curve(material: Material, names: Names, row: BlockRow) -> Picture | None:
    key = (row.block, row.species)
    points = _points(material, material.series.get(key, ()), material.season_first)
    before = [
        (on + A_YEAR, value)
        for on, value in _points(material, material.series_before.get(key, ()), material.season_first - A_YEAR)
    ]
    if not points:
        return None
    first = min(on for on, _ in points) - timedelta(days=6)
    last = max(material.on, first + timedelta(days=_LEAST_DAYS))
    lines = [Curve(str(material.on.year), (tuple(points),))]
    shown = tuple((on, value) for on, value in before if first <= on <= last)
    if shown:
        lines.insert(0, Curve(str(material.last_year.on.year), (shown,), beside=True))
    band = None
    if row.band is not None and row.rule is not None and row.rule.kind != "cumulative":
        band = Band(
            float(row.band[0]), float(row.band[1]), f"band {numbers.band(row.band)}{_COMPARED.get(row.rule.kind, '')}"
        )
    title = f"{names.block(row.block)}, {species_name(row.species)}"
    highest = max(points, key=lambda point: point[1])
    alt = (
        f"Catch of {title}, a trap and week, from {short_day(points[0][0])} to {short_day(points[-1][0])}. "
        f"Highest {highest[1]:.1f} on {short_day(highest[0])}, last {points[-1][1]:.1f}"
        f"{f'; band {numbers.band(row.band)}' if band else ''}."
    )
    panel = Panel(f"{insects(row.species)} a trap and week", tuple(lines), band=band)
    return Picture(title, alt, Chart(title, alt, first, last, (panel,)))


def _points(material: Material, group: Sequence[Series], first: date) -> list[tuple[date, float]]:
    inside = [one for one in group if not one.hanging.edge]
    moves = moves_of(inside, material.programme.hangings, first)
    return [
        (point.on, float(point.per_week))
        for point in catch_points(inside, moves)
        if point.per_week is not None and point.on >= first
    ]
