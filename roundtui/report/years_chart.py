"""Year against year as a chart: this season's catch in full, the past seasons thinly beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from roundtui.domain.plain import plain
from roundtui.domain.years import By, YearOf, YearPoint, Years
from roundtui.report.charts import Chart, Line, Panel, Point
from roundtui.report.numbers import figure
from roundtui.report.words import Names

_MARGIN_DAYS = 7
_YEAR_DAYS = 366


def years_chart(years: Years, names: Names) -> Chart | None:
    """Catch of the seasons over the days of the one that is looked at.

    By degree-days a round of a past season stands on the day on which this season had gathered as many.

    Args:
        years: A block, or the area, over the years.
        names: Names of blocks.

    Returns:
        Two panels: the mean of each round, and the catch since the season began. None where no round can be placed.
    """
    now = years.now
    if now is None:
        return None
    placed = {year.season: tuple(_placed(year, now)) for year in years.seasons}
    days = [day for points in placed.values() for day, _ in points]
    if not days:
        return None
    place = names.block(years.block) if years.block else "all blocks"
    by = "by degree-days after biofix" if years.by is By.DEGREE_DAYS else "by calendar"
    title = f"{plain(years.species, 20)}, {place}: {now.season} and the years before, {by}"
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
    )


def _placed(year: YearOf, now: YearOf) -> Iterator[tuple[date, YearPoint]]:
    """Rounds of a season on the days of the one that is looked at."""
    # By calendar a past season is known further on than this one has come.
    whole = now if now.by is By.DEGREE_DAYS else replace(now, last=now.first + timedelta(days=_YEAR_DAYS))
    for point in year.points:
        day = point.on if year is now else whole.day_at(point.at)
        if day is not None:
            yield day, point


def _line(year: YearOf, pieces: tuple[tuple[Point, ...], ...], now: YearOf) -> Line:
    return Line(str(year.season), pieces, beside=year is not now)


def _means(points: tuple[tuple[date, YearPoint], ...]) -> tuple[tuple[Point, ...], ...]:
    pieces: list[list[Point]] = [[]]
    for day, point in points:
        if point.begins or point.per_week is None:
            pieces.append([])
        if point.per_week is not None:
            pieces[-1].append((day, float(point.per_week)))
    return tuple(tuple(piece) for piece in pieces if piece)


def _totals(points: tuple[tuple[date, YearPoint], ...]) -> tuple[tuple[Point, ...], ...]:
    found = tuple((day, float(point.total)) for day, point in points if point.total is not None)
    return (found,) if found else ()


def _sentence(year: YearOf) -> str:
    peak = year.peak
    highest = f"highest {figure(peak.per_week)} a trap and week on {peak.on.isoformat()}" if peak else "no moth"
    return f"{year.season}: {highest}, {figure(year.total)} a trap in all."
