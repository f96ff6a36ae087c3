"""Year against year as rich tables: a line a season, then what each past season shows at the same place."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from roundtui.domain.estimates import estimates_in
from roundtui.domain.farm import Programme
from roundtui.domain.plain import plain
from roundtui.domain.years import Against, By, YearOf, Years
from roundtui.report.numbers import NONE, figure, listed
from roundtui.report.words import Names, Section, heading, paragraph, stacked

_NAMED = 4


def years_tables(years: Years, programme: Programme) -> list[RenderableType]:
    """Year against year.

    Args:
        years: A block, or the area, over the years.
        programme: For names.
    """
    names = Names(programme)
    place = names.place(years.block) if years.block else "All blocks"
    title = heading(f"{plain(years.species, 20)}, {place}: year against year")
    if not years.seasons:
        return [title, paragraph("No trap of the species has hung here.")]
    sections: list[Section] = [[title, _seasons(years)]]
    if years.against:
        sections.append(_beside(years))
    notes: Section = [paragraph(plain(words)) for words in years.remarks]
    estimated = [
        f"{number} in {year.season}"
        for year in reversed(years.seasons)
        if (number := estimates_in(reading for one in year.every for reading in one.readings))
    ]
    if estimated:
        notes.append(paragraph(f"Counts that are estimates: {listed(estimated)}."))
    notes.append(paragraph("Past seasons are judged by the rules of today. Total: moths per trap."))
    return stacked([*sections, notes])


def _seasons(years: Years) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("season", "biofix", "first catch", "peak", "on"):
        table.add_column(column, no_wrap=True, justify="right" if column == "peak" else "left")
    for column in ("total", "weeks over", "traps"):
        table.add_column(column, no_wrap=True, justify="right")
    for year in reversed(years.seasons):
        table.add_row(*(Text(cell) for cell in _cells(year)))
    return table


def _cells(year: YearOf) -> list[str]:
    peak, first = year.peak, year.first_catch
    return [
        str(year.season),
        _placed(year, year.biofix),
        _placed(year, first, year.at(first) if first else None),
        figure(peak.per_week) if peak else NONE,
        _placed(year, peak.on if peak else None, peak.at if peak else None),
        figure(year.total),
        f"{year.weeks_over} of {year.weeks_judged}" if year.weeks_judged else NONE,
        str(len({place.trap for place in year.places})),
    ]


def _placed(year: YearOf, on: date | None, at: float | None = None) -> str:
    """A day without its year, with its degree-days where the seasons are laid out by them."""
    if on is None:
        return NONE
    return f"{on:%m-%d} ({at:.0f} dd)" if year.by is By.DEGREE_DAYS and at is not None else f"{on:%m-%d}"


def _beside(years: Years) -> Section:
    now = years.now
    point = now.points[-1] if now is not None and now.points else None
    if now is None or point is None:
        return [paragraph("Nothing is read in this season yet.")]
    many = "which nobody knows" if point.at is None else f"{point.at:.0f}"
    by = "the same day" if years.by is By.DATE else f"as many degree-days ({many})"
    lines: Section = [heading(f"At {by}")]
    lines.append(paragraph(f"{now.season}, {point.on}: {_rate(point.per_week)}, {_total(point.total)}."))
    lines += [paragraph(against_words(one)) for one in years.against]
    return lines


def against_words(one: Against) -> str:
    """A past season beside this one, in a sentence or two.

    Args:
        one: The past season.
    """
    if one.on is None:
        return f"{one.season}: there is no such place in the season on record."
    said = f"{one.season}, {one.on}: {_rate(one.per_week)}, {_total(one.total)}."
    if one.comparable:
        return said
    named = [plain(words, 200) for words in one.why_not[:_NAMED]]
    more = len(one.why_not) - _NAMED
    return f"{said} Not to be compared: {listed([*named, f'{more} more'] if more > 0 else named)}."


def _rate(per_week: Fraction | None) -> str:
    return "no round near" if per_week is None else f"{figure(per_week)} per trap and week"


def _total(total: Fraction | None) -> str:
    return "no total" if total is None else f"{figure(total)} per trap since the season began"
