"""Blocks of a letter: figure, band, status in plain words, trend, and what stands behind each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from roundtui.domain.figures import certainty
from roundtui.domain.figures.figures import MARK, Series, in_window
from roundtui.domain.figures.verdicts import BlockRow, Status
from roundtui.domain.programme.farm import Block
from roundtui.domain.season.season import catch_points, days_moved
from roundtui.domain.text import sanitize, spoken_days
from roundtui.report import text as numbers
from roundtui.report.charts import Band, Chart, Panel, runs
from roundtui.report.charts import Line as Curve
from roundtui.report.figures.summary import MARKS, suspect
from roundtui.report.letters.letter import Figure, Footnotes, LetterBlock, Line, Picture, line
from roundtui.report.letters.lists import fruit, rule_used, series_lines, treatments
from roundtui.report.letters.material import (
    A_YEAR,
    MEANINGS,
    NOTE_WIDTH,
    STATUSES,
    Material,
    at_block,
    count,
    insects,
    rate,
    short_day,
    short_figure,
    species_name,
    trend,
)
from roundtui.report.text import WORDS, Names, as_name

MOST_CURVES = 6
"""Curves in one letter, so that it stays on two pages."""
_LEAST_DAYS = 120
"""Fewest days on a curve, so that the first weeks are no broad sweep. [d]"""
_COMPARED = {"single-trap": " for any one trap", "running": " for weeks in a row"}
_LOOKS_AT = {kind: words for kind, _, words in WORDS["looks at"]}


def letter_block(material: Material, names: Names, row: BlockRow, footnotes: Footnotes, *, curve: bool) -> LetterBlock:
    """What a letter says of one block and species.

    Args:
        material: What the letters are made from.
        names: Names of farms and blocks.
        row: The block in the summary.
        footnotes: Takes the source of its rule.
        curve: Whether its season is drawn.
    """
    block = material.programme.blocks.get(row.block)
    edges = row.band or ()
    mean = rate(row.mean_per_week, at_block(row, "mean_per_week"), edges)
    return LetterBlock(
        block=names.block(row.block),
        crop=as_name(block.crop) if block else "",
        species=species_name(row.species),
        code=as_name(row.species),
        mark=MARKS[row.status],
        status=Figure(STATUSES[row.status], row.status.value, at_block(row, "status")),
        meaning=MEANINGS[row.status],
        mean=mean,
        estimate=MARK if row.estimates("mean_per_week") else "",
        footnote=rule_used(row, footnotes),
        band=Figure(numbers.band(row.band), row.band, at_block(row, "band")),
        compared=_compared(row),
        traps=line(count(row.counted, at_block(row, "counted")), " of ", count(row.hung, at_block(row, "hung"))),
        read=_read_on(material, row),
        trend=_trends(material, row, mean),
        details=(
            *_official(block),
            *_details(material, row, footnotes),
            *([line(f"{certainty.PAST_PEAK[:1].upper()}{certainty.PAST_PEAK[1:]}.")] if row.past_peak else ()),
            *treatments(material, row.block, row.species),
            *series_lines(material, names, row),
        ),
        curve=_curve(material, names, row) if curve else None,
    )


def _official(block: Block | None) -> Iterator[Line]:
    """The block's official number, and the markets its fruit is meant for."""
    if block is not None and (block.unit_no or block.markets):
        unit = f"Unit {sanitize(block.unit_no, 40)}" if block.unit_no else "No unit number on record"
        markets = numbers.listed([sanitize(one, 40) for one in block.markets])
        yield line(f"{unit}; fruit meant for {markets}." if markets else f"{unit}.")


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
        when = "the time before, an estimate" if row.estimates("previous_per_week") else "at the reading before"
        day = f" on {short_day(row.previous_on)}" if row.previous_on else ""
        found.append(trend(mean, before, line(f"{when}{day}")))
    else:
        found.append(line("no previous figure"))
    year_ago = material.rows_before.get((row.block, row.species))
    if year_ago is not None and year_ago.mean_per_week is not None:
        before = rate(year_ago.mean_per_week, at_block(year_ago, "mean_per_week", "last-year"), edges)
        found.append(trend(mean, before, line("a year ago")))
    else:
        found.append(line("no figure of a year ago"))
    return tuple(found)


def _details(material: Material, row: BlockRow, footnotes: Footnotes) -> list[Line]:
    found = []
    if row.why:
        why = sanitize(spoken_days(row.why), NOTE_WIDTH)
        found.append(line(why[:1].upper() + why[1:], "."))
    if row.status is Status.OVER and row.rule is not None and row.band is not None and row.rule.value == row.band[1]:
        found.append(line("It is exactly at the upper number, which counts as over."))
    if row.weak_evidence:
        found.append(fruit(material, row, footnotes))
    found += _how_sure(row)
    estimates = row.estimates("mean_per_week")
    if estimates:
        number = count(estimates, ("record", "estimated", row.block, row.species))
        are = "is an estimate" if estimates == 1 else "are estimates"
        found.append(line(f"{MARK} ", number, f" of the counts behind the catch {are}, not a count of every insect."))
    if suspect(row):
        with_all = rate(row.mean_with_suspect, at_block(row, "mean_with_suspect"), row.band or ())
        found.append(line("With the suspect traps in it: ", with_all, _about(row, "mean_with_suspect"), "."))
    if row.edge_mean is not None:
        edge = rate(row.edge_mean, at_block(row, "edge_mean"))
        found.append(line("Traps at the edge, not in the catch: ", edge, _about(row, "edge_mean"), "."))
    if row.max_per_week is not None and row.counted > 1 and not (row.rule and row.rule.kind == "single-trap"):
        highest = rate(row.max_per_week, at_block(row, "max_per_week"))
        found.append(line("Highest trap: ", highest, _about(row, "max_per_week"), "."))
    if row.read != row.counted:
        read = count(row.read, at_block(row, "read"))
        found.append(line(read, f" {'trap was' if row.read == 1 else 'traps were'} read; not all are in the catch."))
    if row.cumulative is not None:
        total = rate(row.cumulative, at_block(row, "cumulative"))
        found.append(
            line("This season so far: ", total, f" {insects(row.species)} a trap", _about(row, "cumulative"), ".")
        )
    return found


def _how_sure(row: BlockRow) -> Iterator[Line]:
    """How sure the status is; it stays the rule's, whatever is said here."""
    sure, band = row.sure, row.band
    if row.counted and row.thin:
        far = sure is not None and sure.certainty is certainty.Certainty.SURE
        yield line(f"Fewer than three traps: {'yet far from the threshold' if far else 'the figure says little'}.")
    if row.not_rated:
        yield line(f"How sure: not worked out, {row.not_rated}.")
    if sure is None or band is None:
        return
    low = Figure(certainty.limit_words(sure.low), sure.low, at_block(row, "level_low"))
    high = Figure(certainty.limit_words(sure.high), sure.high, at_block(row, "level_high"))
    edges = float(band[0]), float(band[1])
    often = "They would likely average ", low, " to ", high, " (8 in 10)."
    if sure.certainty is None:
        said = certainty.side_words(sure, row.status.value, edges)
        yield line(f"{row.status.value.capitalize()} by the rule. How sure: {said}. ", *often)
        return
    word = Figure(sure.certainty.words, sure.certainty.value, at_block(row, "certainty"))
    chance = Figure(certainty.chance_words(sure.chance, certainty.CUTS), sure.chance, at_block(row, "chance"))
    many = f" that many traps here would also say {certainty.side(row.status.value, edges)}. "
    yield line(f"{row.status.value.capitalize()} by the rule. How sure: ", word, ", ", chance, many, *often)
    if doubt := certainty.settles(sure, row.counted, edges, suspect=suspect(row)):
        more, _, stands = doubt.partition("; ")
        yield line(f"{more.capitalize()}. {stands.capitalize()}.")


def _about(row: BlockRow, key: str) -> str:
    """A word behind a figure that rests on an estimate."""
    return f" ({MARK} with an estimate)" if row.estimates(key) else ""


def _compared(row: BlockRow) -> Line | None:
    """What the threshold is for, where that is not the catch itself, and how high it is now."""
    rule = row.rule
    if rule is None or row.band is None or (rule.kind == "mean" and rule.value == row.mean_per_week):
        return None
    now = rate(rule.value, at_block(row, "rule.value"), row.band) if rule.value is not None else "not known"
    return line(f"for {_LOOKS_AT.get(rule.kind, 'a figure of its own')}: ", now)


def _curve(material: Material, names: Names, row: BlockRow) -> Picture | None:
    key = (row.block, row.species)
    group = [one for one in material.series.get(key, ()) if not one.hanging.edge]
    pieces = _pieces(material, group, material.season_first)
    points = [point for piece in pieces for point in piece]
    if not points:
        return None
    first = min(on for on, _ in points) - timedelta(days=6)
    last = max(material.on, first + timedelta(days=_LEAST_DAYS))
    lines = [Curve(str(material.on.year), pieces)]
    group_before = [one for one in material.series_before.get(key, ()) if not one.hanging.edge]
    shown = tuple(
        kept
        for piece in _pieces(material, group_before, material.season_first - A_YEAR)
        if (kept := tuple((on + A_YEAR, value) for on, value in piece if first <= on + A_YEAR <= last))
    )
    if shown:
        lines.insert(0, Curve(str(material.last_year.on.year), shown, observations=True))
    moved = tuple(
        day for day in days_moved(group, material.programme.hangings, material.season_first) if day <= material.on
    )
    band = None
    if row.band is not None and row.rule is not None and row.rule.kind != "cumulative":
        band = Band(
            float(row.band[0]),
            float(row.band[1]),
            f"threshold {numbers.band(row.band)}{_COMPARED.get(row.rule.kind, '')}",
        )
    title = f"{names.block(row.block)}, {species_name(row.species)}"
    highest = max(points, key=lambda point: point[1])
    alt = (
        f"Catch of {title}, a trap and week, from {short_day(points[0][0])} to {short_day(points[-1][0])}. "
        f"Highest {highest[1]:.1f} on {short_day(highest[0])}, last {points[-1][1]:.1f}"
        f"{f'; threshold {numbers.band(row.band)}' if band else ''}."
        f"{f' A trap was moved on {_days(moved)}: the curve is another from there on.' if moved else ''}"
    )
    panel = Panel(f"{insects(row.species)} a trap and week", tuple(lines), band=band)
    return Picture(title, alt, Chart(title, alt, first, last, (panel,), breaks=moved))


def _days(days: Sequence[date]) -> str:
    return " and ".join(short_day(day) for day in days)


def _pieces(material: Material, group: Sequence[Series], first: date) -> tuple[tuple[tuple[date, float], ...], ...]:
    """Runs of points to be joined: what was measured before a trap was moved is not led over to what came after."""
    points = catch_points(group, days_moved(group, material.programme.hangings, first))
    return runs((point.on, point.per_week if point.on >= first else None, point.begins) for point in points)
