"""Blocks of a letter: figure, band, status in plain words, trend, and what stands behind each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.figures import certainty
from roundtui.domain.figures.figures import MARK, Series, window_start
from roundtui.domain.figures.verdicts import BlockRow, Status
from roundtui.domain.programme.farm import Block
from roundtui.domain.season.season import catch_points, days_moved
from roundtui.domain.text import listed, sanitize, spoken_days
from roundtui.report import text
from roundtui.report.charts import Band, Chart, Panel, runs
from roundtui.report.charts import Line as Curve
from roundtui.report.figures.summary import MARKS, suspect
from roundtui.report.letters import material as figured
from roundtui.report.letters.letter import Figure, Footnotes, LetterBlock, Line, Picture, Place, line
from roundtui.report.letters.lists import fruit, rule_used, series_lines, treatments
from roundtui.report.text import WORDS, Names

MOST_CURVES = 6
"""Curves in one letter, so that it stays on two pages."""
_LEAST_DAYS = 120
"""Fewest days on a curve, so that the first weeks are no broad sweep. [d]"""
_COMPARED = {"single-trap": " for any one trap", "running": " for weeks in a row"}
_LOOKS_AT = {kind: words for kind, _, words in WORDS["looks at"]}


def letter_block(
    material: figured.Material, names: Names, row: BlockRow, footnotes: Footnotes, *, curve: bool
) -> LetterBlock:
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
    mean = _rate(row, "mean_per_week", edges)
    return LetterBlock(
        block=names.block(row.block),
        species=figured.species_name(row.species),
        mark=MARKS[row.status],
        status=Figure(figured.STATUSES[row.status], row.status.value, _at(row, "status")),
        mean=mean,
        estimate=MARK if row.estimates("mean_per_week") else "",
        footnote=rule_used(row, footnotes),
        band=Figure(text.band(row.band), row.band, _at(row, "band")),
        compared=_compared(row),
        traps=line(_count(row, "counted"), " of ", _count(row, "hung")),
        read=_read_on(material, row),
        trend=tuple(_trends(material, row, mean)),
        details=(
            *_official(block),
            *_details(material, row, footnotes),
            *([line(f"{certainty.PAST_PEAK[:1].upper()}{certainty.PAST_PEAK[1:]}.")] if row.past_peak else ()),
            *treatments(material, row.block, row.species),
            *series_lines(material, names, row),
        ),
        curve=_curve(material, names, row) if curve else None,
    )


def _at(row: BlockRow, key: str, report: str = "summary") -> Place:
    """Where a figure of a block stands."""
    return (report, "blocks", row.block, row.species, key)


def _rate(row: BlockRow, key: str, edges: tuple[Fraction, ...] = (), report: str = "summary") -> Figure:
    return figured.rate(getattr(row, key), _at(row, key, report), edges)


def _count(row: BlockRow, key: str) -> Figure:
    return figured.count(getattr(row, key), _at(row, key))


def _official(block: Block | None) -> Iterator[Line]:
    """The block's official number, and the markets its fruit is meant for."""
    if block is not None and (block.unit_no or block.markets):
        unit = f"Unit {sanitize(block.unit_no, 40)}" if block.unit_no else "No unit number on record"
        markets = listed([sanitize(one, 40) for one in block.markets])
        yield line(f"{unit}; fruit meant for {markets}." if markets else f"{unit}.")


def _read_on(material: figured.Material, row: BlockRow) -> Line:
    """Days on which it was read, with the traps read on each."""
    days: dict[date, str] = {}
    for one in material.series.get((row.block, row.species), ()):
        for reading in one.readings:
            if window_start(material.on) <= reading.read_on <= material.on:
                days.setdefault(reading.read_on, reading.trap)
    parts: list[str | Figure] = []
    for at, (on, trap) in enumerate(sorted(days.items())):
        parts += [", "] if at else []
        parts.append(figured.short_figure(on, ("record", "read_on", trap, on.isoformat())))
    return line(*parts) if parts else line("not read")


def _trends(material: figured.Material, row: BlockRow, mean: Figure) -> Iterator[Line]:
    edges = row.band or ()
    if row.previous_per_week is not None:
        when = "the time before, an estimate" if row.estimates("previous_per_week") else "at the reading before"
        day = f" on {figured.short_day(row.previous_on)}" if row.previous_on else ""
        yield figured.trend(mean, _rate(row, "previous_per_week", edges), line(f"{when}{day}"))
    else:
        yield line("no previous figure")
    year_ago = material.rows_before.get((row.block, row.species))
    if year_ago is not None and year_ago.mean_per_week is not None:
        yield figured.trend(mean, _rate(year_ago, "mean_per_week", edges, "last-year"), line("a year ago"))
    else:
        yield line("no figure of a year ago")


def _details(material: figured.Material, row: BlockRow, footnotes: Footnotes) -> Iterator[Line]:
    if row.why and row.status is not Status.NOT_READ:
        why = sanitize(spoken_days(row.why), figured.NOTE_WIDTH)
        yield line(why[:1].upper() + why[1:], ".")
    if row.status is Status.OVER and row.rule is not None and row.band is not None and row.rule.value == row.band[1]:
        yield line("It is exactly at the upper number, which counts as over.")
    if row.weak_evidence:
        yield fruit(material, row, footnotes)
    yield from _how_sure(row)
    estimates = row.estimates("mean_per_week")
    if estimates:
        number = figured.count(estimates, ("record", "estimated", row.block, row.species))
        are = "is an estimate" if estimates == 1 else "are estimates"
        yield line(f"{MARK} ", number, f" of the counts behind the catch {are}, not a count of every insect.")
    if suspect(row):
        yield _further(row, "mean_with_suspect", "With the suspect traps in it", edges=row.band or ())
    if row.edge_mean is not None:
        yield _further(row, "edge_mean", "Traps at the edge, not in the catch")
    if row.max_per_week is not None and row.counted > 1 and not (row.rule and row.rule.kind == "single-trap"):
        yield _further(row, "max_per_week", "Highest trap")
    if row.read != row.counted:
        are = "trap was" if row.read == 1 else "traps were"
        yield line(_count(row, "read"), f" {are} read; not all are in the catch.")
    if row.cumulative is not None:
        yield _further(row, "cumulative", "This season so far", f" {figured.insects(row.species)} a trap")


def _further(row: BlockRow, key: str, words: str, unit: str = "", edges: tuple[Fraction, ...] = ()) -> Line:
    """A figure that stands beside the catch, with a word where it rests on an estimate."""
    about = f" ({MARK} with an estimate)" if row.estimates(key) else ""
    return line(f"{words}: ", _rate(row, key, edges), f"{unit}{about}.")


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
    low = Figure(certainty.limit_words(sure.low), sure.low, _at(row, "level_low"))
    high = Figure(certainty.limit_words(sure.high), sure.high, _at(row, "level_high"))
    edges = float(band[0]), float(band[1])
    often = "They would likely average ", low, " to ", high, " (8 in 10)."
    if sure.certainty is None:
        said = certainty.side_words(sure, row.status.value, edges)
        yield line(f"{row.status.value.capitalize()} by the rule. How sure: {said}. ", *often)
        return
    word = Figure(sure.certainty.words, sure.certainty.value, _at(row, "certainty"))
    chance = Figure(certainty.chance_words(sure.chance, certainty.CUTS), sure.chance, _at(row, "chance"))
    many = f" that many traps here would also say {certainty.side(row.status.value, edges)}. "
    yield line(f"{row.status.value.capitalize()} by the rule. How sure: ", word, ", ", chance, many, *often)
    if doubt := certainty.settles(sure, row.counted, edges, suspect=suspect(row)):
        more, _, stands = doubt.partition("; ")
        yield line(f"{more.capitalize()}. {stands.capitalize()}.")


def _compared(row: BlockRow) -> Line | None:
    """What the threshold is for, where that is not the catch itself, and how high it is now."""
    rule = row.rule
    if rule is None or row.band is None or (rule.kind == "mean" and rule.value == row.mean_per_week):
        return None
    now = figured.rate(rule.value, _at(row, "rule.value"), row.band) if rule.value is not None else "not known"
    return line(f"for {_LOOKS_AT.get(rule.kind, 'a figure of its own')}: ", now)


def _curve(material: figured.Material, names: Names, row: BlockRow) -> Picture | None:
    key, rule = (row.block, row.species), row.rule
    group = [one for one in material.series.get(key, ()) if not one.hanging.edge]
    group_before = [one for one in material.series_before.get(key, ()) if not one.hanging.edge]
    moved = days_moved(group, material.programme.hangings, material.season_first)
    band = None
    if row.band is not None and rule is not None and rule.kind != "cumulative":
        low, high = row.band
        words = f"threshold {text.band(row.band)}"
        band = Band(float(low), float(high), f"{words}{_COMPARED.get(rule.kind, '')}")
    return flight_curve(
        f"{names.block(row.block)}, {figured.species_name(row.species)}",
        f"{figured.insects(row.species)} a trap and week",
        _pieces(material, group, material.season_first),
        material.on,
        before=_pieces(material, group_before, material.season_first - figured.A_YEAR),
        band=band,
        said=f"; {words}" if band else "",
        moved=tuple(day for day in moved if day <= material.on),
    )


Pieces = tuple[tuple[tuple[date, float], ...], ...]
"""Runs of points to be joined."""


def flight_curve(
    title: str,
    unit: str,
    pieces: Pieces,
    until: date,
    *,
    before: Pieces = (),
    band: Band | None = None,
    said: str = "",
    moved: tuple[date, ...] = (),
    decimals: int = 1,
) -> Picture | None:
    """A season's catch as a curve; None where nothing was caught, which words say in less room.

    Args:
        title: What it is of.
        unit: What its values are.
        pieces: Its points.
        until: Last day that is shown at least.
        before: The season before, drawn a year later.
        band: Its threshold.
        said: What is said behind the figures.
        moved: Days on which a trap was moved.
        decimals: How exactly its values are told.
    """
    points = [point for piece in pieces for point in piece]
    if not any(value for _, value in points):
        return None
    first = min(on for on, _ in points) - timedelta(days=6)
    last = max(until, first + timedelta(days=_LEAST_DAYS))
    later = (tuple((on + figured.A_YEAR, value) for on, value in piece) for piece in before)
    shown = tuple(kept for piece in later if (kept := tuple(one for one in piece if first <= one[0] <= last)))
    lines = [Curve(str(until.year - 1), shown, past=True)] if shown else []
    highest, day = max(points, key=lambda point: point[1]), figured.short_day
    alt = (
        f"{title}, {unit}, from {day(points[0][0])} to {day(points[-1][0])}. "
        f"Highest {highest[1]:.{decimals}f} on {day(highest[0])}, last {points[-1][1]:.{decimals}f}{said}."
    )
    if moved:
        alt += f" A trap was moved on {listed(map(day, moved))}: the curve is another from there on."
    panel = Panel(unit, (*lines, Curve(str(until.year), pieces)), band=band)
    return Picture(title, alt, Chart(title, alt, first, last, (panel,), breaks=moved))


def _pieces(material: figured.Material, group: Sequence[Series], first: date) -> Pieces:
    """What was measured before a trap was moved is not led over to what came after."""
    points = catch_points(group, days_moved(group, material.programme.hangings, first))
    return runs((point.on, point.per_week if point.on >= first else None, point.begins) for point in points)
