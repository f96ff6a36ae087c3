"""Year against year as rich tables: a line a season, then what each past season shows at the same place.

Year against year, and a season's end, as JSON: floats on the way out, null where there is no figure.
Year against year as a chart: this season's catch in full, the past seasons thinly beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from roundtui.domain.programme.farm import Programme
from roundtui.domain.season.years import Against, By, SeasonEnd, YearOf, YearPoint, Years
from roundtui.domain.text import listed, sanitize
from roundtui.report import text
from roundtui.report.bars import bar
from roundtui.report.charts import Chart, Line, Panel, Point, runs
from roundtui.report.text import NONE, Names, Section, figure, heading, json_of, paragraph

_NAMED = 4


def years_tables(years: Years, programme: Programme, width: int) -> Section:
    """Year against year.

    Args:
        years: A block, or the area, over the years.
        programme: For names.
        width: Columns to fill; with few of them what can be read elsewhere is left out.
    """
    names = Names(programme)
    place = names.place(years.block) if years.block else "All blocks"
    title = heading(f"{sanitize(years.species, 20)}, {place}: year against year")
    if not years.seasons:
        return [title, paragraph("No trap of the species has hung here.")]
    notes: Section = [
        paragraph(f"{one.season} does not compare: {listed((sanitize(why, 200) for why in one.why_not), _NAMED)}.")
        for one in years.against
        if one.why_not
    ]
    notes += [paragraph(sanitize(words)) for words in years.remarks]
    estimated = [f"{number} in {year.season}" for year in reversed(years.seasons) if (number := year.caught.estimated)]
    if estimated:
        notes.append(paragraph(f"Counts that are estimates: {listed(estimated)}."))
    for column in _LEFT_OUT if width < _WIDE else ():
        at = _COLUMNS.index(column)
        said = (f"{year.season} {_cells(year, Fraction(0))[at]}" for year in reversed(years.seasons))
        notes.append(paragraph(f"{column.split()[0].capitalize()}: {', '.join(said)}"))
    notes.append(paragraph("Past seasons are judged by today's rules. Total, so far: moths a trap."))
    return text.stacked([[title, *_seasons(years, width)], notes])


def _seasons(years: Years, width: int) -> Section:
    """A line a season; its peak as a bar, and what it had at the same place as this one now."""
    now = years.now
    point = now.points[-1] if now is not None and now.points else None
    at_place: dict[int, tuple[Fraction | None, Fraction | None]] = {
        one.season: (one.per_week, one.total) for one in years.against
    }
    columns = [*_COLUMNS]
    if now is not None and point is not None:
        at_place[now.season] = (point.per_week, point.total)
        place = "? dd" if point.at is None else f"{point.at:.0f} dd"
        columns += [f"{f'{point.on.day} {point.on:%b}' if years.by is By.DATE else place} >7", "so far >6"]
    highest = max((year.peak.per_week or Fraction(0) for year in years.seasons if year.peak), default=Fraction(0))
    shown = [at for at, column in enumerate(columns) if width >= _WIDE or column not in _LEFT_OUT]
    rows = []
    for year in reversed(years.seasons):
        then = [figure(one) for one in at_place.get(year.season, (None, None))] if point is not None else []
        cells = [*_cells(year, highest), *then, ""]
        rows.append(("", [cells[at] for at in (*shown, -1)]))
    # No column takes what is left: a row as wide as the page would be folded.
    return text.tabled("".join(f"{columns[at]}|" for at in shown), 0, rows)


_COLUMNS = ("season 6", "biofix 6", "first 6", "peak >5", " 4", "on 7", "total >6", "weeks over >10", "traps >5")
_LEFT_OUT = ("biofix 6", "first 6", "traps >5")
"""Said below the table where there is little room."""
_WIDE = 79
"""Columns that the whole table takes. [columns]"""
_PEAK = 4
"""Cells of the highest peak."""


def _cells(year: YearOf, highest: Fraction) -> list[str]:
    peak, first = year.peak, year.caught.first
    return [
        str(year.season),
        f"{year.biofix.day} {year.biofix:%b}" if year.biofix else NONE,
        _placed(year, first, year.at(first) if first else None),
        figure(peak.per_week) if peak else NONE,
        bar(peak.per_week, (highest, highest), _PEAK)[:_PEAK].rstrip("░") if peak else "",
        _placed(year, peak.on if peak else None, peak.at if peak else None),
        figure(year.total),
        f"{year.weeks_over} of {year.weeks_judged}" if year.weeks_judged else NONE,
        str(len(year.traps)),
    ]


def _placed(year: YearOf, on: date | None, at: float | None = None) -> str:
    """A day without its year, or its degree-days where the seasons are laid out by them."""
    if on is None:
        return NONE
    return f"{at:.0f} dd" if year.by is By.DEGREE_DAYS and at is not None else f"{on.day} {on:%b}"


def years_json(years: Years) -> dict[str, Any]:
    """What ``years --json`` prints.

    Args:
        years: A block, or the area, over the years.
    """
    return {
        **json_of(years, "block? species by unit"),
        "seasons": [_season(year) for year in years.seasons],
        "against": [_against(one) for one in years.against],
        "remarks": list(years.remarks),
    }


def _season(year: YearOf) -> dict[str, Any]:
    peak, first = year.peak, year.caught.first
    return {
        **json_of(year, "season first last biofix traps"),
        "moved": [{"trap": trap, "on": on.isoformat()} for trap, on in year.moved],
        "first_catch": {"on": first.isoformat(), "at": year.at(first)} if first else None,
        "peak": json_of(peak, "on at per_week") if peak else None,
        **json_of(year, "total weeks_over weeks_judged"),
        "points": [json_of(p, "on at per_week total") for p in year.points],
    }


def _against(one: Against) -> dict[str, Any]:
    return {
        **json_of(one, "season on per_week total"),
        "peak": {"on": one.peak[0].isoformat(), "per_week": text.plain(one.peak[1])} if one.peak else None,
        "weeks_over": one.weeks[0],
        "weeks_judged": one.weeks[1],
        "comparable": one.comparable,
        "why_not": list(one.why_not),
    }


def season_end_json(end: SeasonEnd) -> dict[str, Any]:
    """What ``season-end --json`` prints of a farm, or of the programme.

    Args:
        end: The season.
    """
    return {
        **json_of(end, "farm? season first last"),
        "rounds": [{"route": route or None, "walked": number} for route, number in end.rounds],
        **json_of(end, "scouts traps readings moths"),
        "not_read": {reason.value: number for reason, number in end.not_read},
        "lost": [{"trap": trap, "on": on.isoformat()} for trap, on in end.lost],
        "lures": [{"species": species, "lot": lot or None, "used": used} for species, lot, used in end.lures],
        **json_of(end, "liners kill_strips bodies"),
        "parts": {
            "stored": [json_of(row, "species part place? labels") for row in end.stored],
            **{
                state: [part.label for part in end.parts_gone if part.state.value == state]
                for state in ("lost", "discarded")
            },
            "to_discard": [part.label for part in end.to_discard],
        },
        "weeks_over": end.weeks_over,
        "blocks": [
            json_of(row, "block species") | {"traps": len(row.now.traps if row.now else ())} | json_of(row, _OF_BLOCK)
            for row in end.blocks
        ],
    }


_OF_BLOCK = (
    "weeks_over=now.weeks_over weeks_judged=now.weeks_judged first_catch=now.caught.first peak=now.peak.per_week"
    " peak_on=now.peak.on total=now.total last_total why_not"
)
_MOST_STEPS = 8
"""Names along a scale of degree-days, at most."""
_MARGIN_DAYS = 7
_YEAR_DAYS = 366


def years_chart(years: Years, names: Names) -> Chart | None:
    """Catch of the seasons over the days of the one that is looked at.

    By degree-days a round of a past season stands on the day on which this season had accumulated as many.

    Args:
        years: A block, or the area, over the years.
        names: Names of blocks.

    Returns:
        Two panels: the mean of each round, and the catch since the season began. None where no round can be placed.
    """
    now = years.now
    if now is None:
        return None
    placed = {year.season: tuple(_placed_years_chart(year, now)) for year in years.seasons}
    days = [day for points in placed.values() for day, _ in points]
    if not days:
        return None
    place = names.block(years.block) if years.block else "all blocks"
    by = "by degree-days after biofix" if years.by is By.DEGREE_DAYS else "by calendar"
    title = f"{sanitize(years.species, 20)}, {place}: {now.season} and the years before, {by}"
    shown = [(year, placed[year.season]) for year in years.seasons if placed[year.season]]
    return Chart(
        title=title,
        about=" ".join([f"{title}.", *(_sentence(year) for year in reversed(years.seasons))]),
        first=min(days) - timedelta(days=_MARGIN_DAYS),
        last=max(days) + timedelta(days=_MARGIN_DAYS),
        panels=(
            Panel("moths a trap a week", tuple(_line(year, _means(points), now) for year, points in shown), share=2),
            Panel("moths a trap so far", tuple(_line(year, _totals(points), now) for year, points in shown)),
        ),
        breaks=tuple(sorted({on for _, on in now.moved})) if years.block else (),
        scale=_scale(now, max(days)) if years.by is By.DEGREE_DAYS else (),
    )


def lines_in(chart: Chart) -> str:
    """Which line of a chart of years is which season; where degree-days stand below it, whose days they are on."""
    full = "".join(
        f"{f'Across: days of {one.name}. ' if chart.scale else ''}Solid: {one.name}. "
        for one in chart.panels[0].lines
        if not one.past
    )
    past = [f"{sign}{name[-1]} {name}" for name, (sign, _) in reversed(chart.dotted.items())]
    digit = [] if chart.scale else ["Digit: its year."]
    return full + ("  ".join([*digit, *past]) if past else "No season before can be placed.")


def _scale(now: YearOf, last: date) -> tuple[tuple[date, str], ...]:
    """Degree-days at the days on which this season had accumulated as many: further apart where it was cool."""
    most = max((round(value) for on, value in now.accumulated.items() if on <= last), default=0)
    step = next(step for step in (50, 100, 200, 500, 1000) if most <= step * _MOST_STEPS or step == 1000)
    found = ((now.day_at(at), f"│{at}{'' if at else ' dd'}") for at in range(0, most + 1, step))
    return tuple((day, name) for day, name in found if day is not None)


def _placed_years_chart(year: YearOf, now: YearOf) -> Iterator[tuple[date, YearPoint]]:
    """Rounds of a season on the days of the one that is looked at."""
    # By calendar a past season is known further on than this one has come.
    whole = now if now.by is By.DEGREE_DAYS else replace(now, last=now.first + timedelta(days=_YEAR_DAYS))
    for point in year.points:
        day = point.on if year is now else whole.day_at(point.at)
        if day is not None:
            yield day, point


def _line(year: YearOf, pieces: tuple[tuple[Point, ...], ...], now: YearOf) -> Line:
    return Line(str(year.season), pieces, past=year is not now)


def _means(points: tuple[tuple[date, YearPoint], ...]) -> tuple[tuple[Point, ...], ...]:
    return runs((day, point.per_week, point.begins or point.per_week is None) for day, point in points)


def _totals(points: tuple[tuple[date, YearPoint], ...]) -> tuple[tuple[Point, ...], ...]:
    found = tuple((day, float(point.total)) for day, point in points if point.total is not None)
    return (found,) if found else ()


def _sentence(year: YearOf) -> str:
    peak = year.peak
    highest = f"highest {figure(peak.per_week)} a trap and week on {peak.on.isoformat()}" if peak else "no moth"
    return f"{year.season}: {highest}, {figure(year.total)} a trap in all."
