"""Back-test of the outlook on nine decades of one station, every year from the years before it alone.

``python -m tests.long.back_testing`` prints what docs/backtest.md shows; with ``--write`` it writes page
and picture, with ``--check`` it compares them; the suite takes every sixth year.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from statistics import fmean

from roundtui.domain.season.degree_days import Development
from roundtui.domain.season.models import SHIPPED_MODELS, LifeEvent, SpeciesModel
from roundtui.domain.season.outlook import COVERAGE, StandIn, outlook
from roundtui.domain.season.weather import StationYears, WeatherDay
from tests.real_weather import clemson

DOCS = Path(__file__).parents[2] / "docs"
PAGE = DOCS / "backtest.md"
PICTURE = DOCS / "pictures" / "backtest-calibration.svg"
HORIZONS = (60, 30, 10)
COVERAGES = (0.5, 0.8, 0.9, 0.95)
LEAST_YEARS = 2


@dataclass(frozen=True)
class Sample:
    """One event of one year, seen from some days before it."""

    year: int
    event: LifeEvent
    ahead: int
    off: int
    """Expected less true date. [d]"""
    years: int
    """Past years behind it."""
    held: dict[float, bool]
    """Whether the range of each coverage held the true date."""
    width: int
    """Days from the first to the last of the range of the coverage that ships. [d]"""
    last_year: int | None
    """How far last year's date was off. [d]"""
    mean_date: float
    """How far the mean date of all years before was off. [d]"""


def models() -> tuple[SpeciesModel, SpeciesModel]:
    """The codling moth model, and the one that stands in for its biofix: 175 degree-days from 1 January."""
    named = {model.id: model for model in SHIPPED_MODELS}
    return named["shipped-cm"], named["shipped-cm-january"]


class Remembering(StationYears):
    """A station that is asked the same thing by every horizon and coverage, and reckons it once."""

    def __init__(self, days: Sequence[WeatherDay], development: Development) -> None:
        super().__init__(days, development)
        self.reach = cache(super().reach)  # type: ignore[method-assign]


def run(every: int = 1) -> list[Sample]:
    """Every event of every so many years, from every horizon."""
    model, january = models()
    station = Remembering(clemson(), model.development)
    biofixes: dict[int, date] = {}
    dates: dict[tuple[int, str, int], date] = {}
    for year in range(1930, 2021):
        first, end = date(year, 1, 1), date(year, 12, 31)
        biofix = station.reach(first, january.events[0].degree_days, end).on
        if biofix is None:
            continue
        biofixes[year] = biofix
        for event in model.events:
            found = station.reach(biofix, event.degree_days, end).on
            if found is not None:
                dates[year, event.name, event.generation] = found
    samples, came_before = [], dict[tuple[str, int], list[date]]()
    for (year, name, generation), true in dates.items():
        event = next(each for each in model.events if (each.name, each.generation) == (name, generation))
        came = came_before.setdefault((name, generation), [])
        before, came[:] = list(came), [*came, true]
        if len(before) < LEAST_YEARS or year % every:
            continue
        only = replace(model, events=(event,))
        for ahead in HORIZONS:
            sample = _sample(only, StandIn(january, station), (biofixes[year], true), ahead, before)
            if sample:
                samples.append(sample)
    return samples


def _sample(
    model: SpeciesModel, stand_in: StandIn, came: tuple[date, date], ahead: int, before: Sequence[date]
) -> Sample | None:
    biofix, true = came
    on = true - timedelta(days=ahead)
    if on.year < true.year:
        return None
    ranges = {}
    for coverage in COVERAGES:
        found = outlook(
            model,
            stand_in.station,
            on=on,
            biofix=biofix if biofix <= on else None,
            stand_in=stand_in,
            coverage=coverage,
        ).events[0]
        if found.expected_on is None or found.earliest is None or found.latest is None or found.years < LEAST_YEARS:
            return None
        ranges[coverage] = found
    shipped = ranges[COVERAGE]
    assert shipped.expected_on is not None
    day = true.timetuple().tm_yday
    return Sample(
        year=true.year,
        event=model.events[0],
        ahead=ahead,
        off=(shipped.expected_on - true).days,
        years=shipped.years,
        held={coverage: each.earliest <= true <= each.latest for coverage, each in ranges.items()},  # type: ignore[operator]
        width=(shipped.latest - shipped.earliest).days + 1,  # type: ignore[operator]
        last_year=before[-1].timetuple().tm_yday - day if before[-1].year == true.year - 1 else None,
        mean_date=fmean(each.timetuple().tm_yday for each in before) - day,
    )


def noise(coverage: float, years: int) -> float:
    """Two standard errors of a share, the events of one year taken as one: they share its weather."""
    return 2 * (coverage * (1 - coverage) / years) ** 0.5


def share(samples: Iterable[Sample], coverage: float) -> float:
    """How often the range held."""
    return fmean(sample.held[coverage] for sample in samples)


def by_event(samples: Iterable[Sample]) -> dict[LifeEvent, list[Sample]]:
    """Samples grouped by event, in the model's order."""
    grouped: dict[LifeEvent, list[Sample]] = defaultdict(list)
    for sample in samples:
        grouped[sample.event].append(sample)
    return dict(sorted(grouped.items(), key=lambda item: item[0].degree_days))


def off_by(samples: Sequence[Sample], ahead: int) -> float:
    """Mean days by which the outlook was off."""
    return fmean(abs(sample.off) for sample in samples if sample.ahead == ahead)


def rivals(samples: Sequence[Sample], ahead: int) -> tuple[float, float]:
    """Mean days by which last year's date and the mean date of all years before were off."""
    seen = [sample for sample in samples if sample.ahead == ahead]
    last = [abs(sample.last_year) for sample in seen if sample.last_year is not None]
    return fmean(last), fmean(abs(sample.mean_date) for sample in seen)


def events_table(samples: Sequence[Sample]) -> str:
    """Days off by event and horizon, with the rivals at 30 days."""
    lines = [
        "| event | degree-days | years | 60 days | 30 days | 10 days | last year's date | mean date before |",
        "| --- | --: | --: | --: | --: | --: | --: | --: |",
    ]
    for event, seen in by_event(samples).items():
        last, mean = rivals(seen, 30)
        offs = " | ".join(f"{off_by(seen, ahead):.1f}" for ahead in HORIZONS)
        count = sum(sample.ahead == 30 for sample in seen)
        lines.append(
            f"| {event.name}, generation {event.generation} | {event.degree_days:g} | {count} | {offs} "
            f"| {last:.1f} | {mean:.1f} |"
        )
    last, mean = rivals(samples, 30)
    offs = " | ".join(f"**{off_by(samples, ahead):.1f}**" for ahead in HORIZONS)
    lines.append(f"| **all** | | | {offs} | {last:.1f} | {mean:.1f} |")
    return "\n".join(lines)


def calibration_table(samples: Sequence[Sample]) -> str:
    """How often the range held, beside what it says."""
    lines = [
        "| days ahead | looks | years | range of 50 % | 80 % (shown) | 90 % | 95 % | mean width of the 80 % range |",
        "| --: | --: | --: | --: | --: | --: | --: | --: |",
    ]
    for ahead in HORIZONS:
        seen = [sample for sample in samples if sample.ahead == ahead]
        held = " | ".join(f"{share(seen, coverage) * 100:.0f} %" for coverage in COVERAGES)
        width = fmean(sample.width for sample in seen)
        years = len({sample.year for sample in seen})
        lines.append(f"| {ahead} | {len(seen)} | {years} | {held} | {width:.1f} days |")
    years = len({sample.year for sample in samples})
    band = " | ".join(f"± {noise(coverage, years) * 100:.0f} %" for coverage in COVERAGES)
    lines.append(f"| noise of the sample | | | {band} | |")
    return "\n".join(lines)


def years_table(samples: Sequence[Sample]) -> str:
    """How often the 80 % range held with few and with many past years."""
    lines = ["| past years | looks | years | held | noise |", "| --- | --: | --: | --: | --: |"]
    for low, high in ((2, 9), (10, 29), (30, 90)):
        seen = [sample for sample in samples if low <= sample.years <= high]
        years = len({sample.year for sample in seen})
        held, band = share(seen, COVERAGE) * 100, noise(COVERAGE, years) * 100
        lines.append(f"| {low} to {high} | {len(seen)} | {years} | {held:.0f} % | ± {band:.0f} % |")
    return "\n".join(lines)


def picture(samples: Sequence[Sample]) -> str:
    """Held against stated, one mark a horizon, with the band of noise round the line of perfect ranges."""
    size, edge = 320, 40
    years = len({sample.year for sample in samples})

    def at(stated: float, held: float) -> tuple[float, float]:
        scale = (size - 2 * edge) / 0.6
        return edge + (stated - 0.4) * scale, size - edge - (held - 0.4) * scale

    band = [(p / 100, noise(p / 100, years)) for p in range(45, 99)]
    outline = [at(p, min(p + width, 1)) for p, width in band] + [
        at(p, max(p - width, 0.4)) for p, width in reversed(band)
    ]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in outline)
    (x1, y1), (x2, y2) = at(0.4, 0.4), at(1, 1)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" font-family="sans-serif" font-size="10">',
        f'<rect width="{size}" height="{size}" fill="#ffffff"/>',
        f'<polygon points="{points}" fill="#dddddd"/>',
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="#555555" stroke-dasharray="4 3"/>',
    ]
    for tick in (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0):
        x, y = at(tick, 0.4)
        parts.append(f'<text x="{x:.1f}" y="{y + 14:.1f}" text-anchor="middle">{tick * 100:.0f}</text>')
        x, y = at(0.4, tick)
        parts.append(f'<text x="{x - 6:.1f}" y="{y + 3:.1f}" text-anchor="end">{tick * 100:.0f}</text>')
    for number, ahead in enumerate(HORIZONS):
        seen = [sample for sample in samples if sample.ahead == ahead]
        for coverage in COVERAGES:
            x, y = at(coverage, share(seen, coverage))
            # Each horizon has a mark of its own, so that the picture reads without colour.
            parts.append(_mark(number, x, y))
        x, y = at(0.43, 0.97 - 0.045 * number)
        parts.append(_mark(number, x, y) + f'<text x="{x + 9:.1f}" y="{y + 3:.1f}">{ahead} days ahead</text>')
    parts.append(f'<text x="{size / 2}" y="{size - 8}" text-anchor="middle">range says, %</text>')
    parts.append(
        f'<text x="12" y="{size / 2}" text-anchor="middle" transform="rotate(-90 12 {size / 2})">range held, %</text>'
    )
    return "\n".join([*parts, "</svg>"]) + "\n"


def _mark(number: int, x: float, y: float) -> str:
    if number == 0:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="none" stroke="#000000"/>'
    if number == 1:
        return f'<rect x="{x - 3.5:.1f}" y="{y - 3.5:.1f}" width="7" height="7" fill="#000000"/>'
    return f'<path d="M {x:.1f} {y - 4.5:.1f} l 4.5 8 l -9 0 z" fill="#888888" stroke="#000000"/>'


TEXT = """\
# Back-test of the outlook

Made by `python -m tests.long.back_testing --write`; the checks compare page and picture with the code.

The outlook was asked for every event of the codling moth model that ships ({development}) in every year of a real
station, 60, 30 and 10 days before the event came, with no later temperature and only earlier years as its past. The
station is Clemson, South Carolina, 1930 to 2020, daily extremes in °F (source in `tests/data/daily_clemson.txt`; 90
days absent, 17 minima and 5 maxima missing; gaps of two days are filled, a year with a longer one before the event
drops out; the absurd minimum of 1936-07-18 is left out).

No trap hung at that station. The biofix is the day on which 175 degree-days from 1 January are reached (Washington
State University, treefruit.wsu.edu/predictive-models). Before that day the same sum stands in for it.

## How many days it was off

Mean days, early or late alike, beside last year's date and the mean date of all earlier years.

{events}

At 30 days the outlook is closer than both for every event. It comes {bias} on average at 30 days.

## How often the range holds

The range is the mean of the past years ± t·s·√(1 + 1/n), in whole days, meant to hold in 80 of 100 years. Events of one
year share its weather, so the noise (two standard errors) is that of as many draws as there are years.

{calibration}

![Held against stated](pictures/backtest-calibration.svg)

The grey band is the noise around ranges that hold exactly as stated. With few past years the range is wider:

{years}

Ranks of the past years (tenth to ninetieth percentile) were tried: they need nine years, and held more often than
stated for short waits (65 % for a stated 50 %, 10 days ahead), because whole days tie.

## What this does not show

One warm station, one species, and a biofix that is itself a sum of degree-days. How far a real flight strays from its
model, and how far a sloping orchard strays from its station, are not in these figures.
"""


def page(samples: Sequence[Sample]) -> str:
    """The whole page."""
    bias = fmean(sample.off for sample in samples if sample.ahead == 30)
    return TEXT.format(
        development=models()[0].development,
        events=events_table(samples),
        calibration=calibration_table(samples),
        years=years_table(samples),
        bias=f"{abs(bias):.1f} days {'late' if bias > 0 else 'early'}",
    )


if __name__ == "__main__":
    found = run()
    print(page(found))
    if "--write" in sys.argv:
        PAGE.write_text(page(found), encoding="utf-8")
        PICTURE.parent.mkdir(exist_ok=True)
        PICTURE.write_text(picture(found), encoding="utf-8")
    if "--check" in sys.argv:
        same = (PAGE.read_text(encoding="utf-8"), PICTURE.read_text(encoding="utf-8")) == (page(found), picture(found))
        sys.exit(0 if same else f"{PAGE.name} or its picture is out of date: python -m tests.long.back_testing --write")
