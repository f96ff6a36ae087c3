"""Seasons that a plan is made from, and plans of one block."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction

from roundtui.domain.entries import StageSeen
from roundtui.domain.figures.figures import Series
from roundtui.domain.inventory.plan import PastSeason, Planner, SeasonPlan, Span, Warmth, past_season
from roundtui.domain.inventory.plan_rules import PlanOffice
from roundtui.domain.programme.farm import Block, Programme
from roundtui.domain.season.weather import WeatherDay
from roundtui.domain.units import TempUnit
from tests.domain.orchard import Orchard, day

SEASON = (date(2025, 1, 1), date(2025, 12, 31))
NEXT = Span(date(2026, 1, 1), date(2026, 12, 31), date(2026, 3, 1))


def series_of(orchard: Orchard) -> list[Series]:
    """Readings of an orchard's CM traps."""
    from roundtui.domain.figures.figures import readings

    visits = orchard.history(date(2025, 12, 31)).visits
    hangings = [row for rows in orchard.programme.hangings.values() for row in rows]
    return [Series(row, tuple(readings(row, visits.get(row.trap, ())))) for row in hangings]


def past_of(orchard: Orchard, stages: Sequence[StageSeen] = ()) -> PastSeason:
    return past_season(2025, series_of(orchard), orchard.history(SEASON[1]).visits, stages, SEASON)


def plan_of(
    past: PastSeason | None,
    *,
    species: str = "CM",
    span: Span = NEXT,
    office: PlanOffice | None = None,
    programme: Programme | None = None,
    warmth: Warmth | None = None,
) -> SeasonPlan:
    known = programme or Programme(blocks={"N1": Block("N1", "N", "North", "apple", area_ha=Fraction(2))})
    planner = Planner(known, office or PlanOffice(), span, lambda *_: warmth)
    return planner.plan({("N1", species): past} if past else {})


def orchard_of(*counts: int, hung: str = "04-22") -> Orchard:
    """Three traps, the first of which caught so many a week; the others nothing."""
    orchard = Orchard()
    orchard.hang("A1", "A2", "A3", on=hung)
    for week, count in enumerate(counts, 1):
        on = day(hung) + timedelta(days=7 * week)
        for trap in ("A1", "A2", "A3"):
            orchard.visit(trap, on.isoformat(), count if trap == "A1" else 0)
    return orchard


def seen(*stages: tuple[str, str]) -> tuple[StageSeen, ...]:
    return tuple(StageSeen(block="N1", seen_on=day(on), code=code) for on, code in stages)


def days_of(year: int, warm_from: int) -> list[WeatherDay]:
    """A year at 40 °F up to a day, and at a steady 60 °F from then on: 10 degree-days over 50 a day."""
    found = []
    for at in range(365):
        temp = 60.0 if at >= warm_from else 40.0
        found.append(WeatherDay("S", date(year, 1, 1) + timedelta(days=at), temp, temp, TempUnit.F))
    return found
