"""A block's season from readings and temperatures: biofixes by generation, and the outlook from them."""

from __future__ import annotations

from datetime import date, timedelta

from roundtui.domain.figures.figures import Reading
from roundtui.domain.season.biofix import SHIPPED_BIOFIX_RULES
from roundtui.domain.season.degree_days import Development, Method
from roundtui.domain.season.models import SHIPPED_MODELS, model_for
from roundtui.domain.season.outlook import StandIn
from roundtui.domain.season.season import Biofix, season_biofixes, season_outlook
from roundtui.domain.season.weather import StationYears, WeatherDay
from roundtui.domain.units import TempUnit

AVERAGE = Development(50, None, TempUnit.F, Method.AVERAGE)
FIRST = date(2024, 4, 24)


def weekly(counts: str) -> list[Reading]:
    """One trap read every week from 1 May on."""
    return [
        Reading("A", FIRST + timedelta(days=7 * at + 7), FIRST + timedelta(days=7 * at), int(count), int(count), ())
        for at, count in enumerate(counts.split())
    ]


def station(rate: float = 20) -> StationYears:
    """Three years of so many degree-days on every day from April to October."""
    days = []
    for at in range((date(2024, 10, 31) - date(2022, 1, 1)).days + 1):
        on = date(2022, 1, 1) + timedelta(days=at)
        temp = 50 + (rate if 4 <= on.month <= 10 else 0)
        days.append(WeatherDay("NORTH", on, temp, temp, TempUnit.F))
    return StationYears(days, AVERAGE)


SEASON = weekly("0 2 5 3 1 0 0 0 0 1 4 6 2 0 0")
"""1 May 0, 8 May 2, 15 May 5 …; 3 July 1, 10 July 4, 17 July 6, 24 July 2."""


def test_a_season_of_two_flights_has_two_biofixes() -> None:
    """First of two readings running: 8 May. 1000 degree-days at 20 a day are there on 26 June; moths again 3 July."""
    found = season_biofixes(SHIPPED_BIOFIX_RULES, "CM", SEASON, on=date(2024, 7, 31), station=station())
    assert [(each.generation, each.on) for each in found] == [(1, date(2024, 5, 8)), (2, date(2024, 7, 3))]
    assert not any(each.proposal.doubtful for each in found if each.proposal)


def test_a_later_flight_is_waited_for_only_when_its_degree_days_have_accumulated() -> None:
    early = season_biofixes(SHIPPED_BIOFIX_RULES, "CM", SEASON, on=date(2024, 6, 20), station=station())
    assert [each.generation for each in early] == [1]
    waiting = season_biofixes(SHIPPED_BIOFIX_RULES, "CM", SEASON, on=date(2024, 6, 27), station=station())
    assert [(each.generation, each.on) for each in waiting] == [(1, date(2024, 5, 8)), (2, None)]
    assert [each.generation for each in season_biofixes(SHIPPED_BIOFIX_RULES, "CM", SEASON, on=date(2024, 7, 31))] == [
        1
    ]


def test_readings_of_later_days_are_not_used() -> None:
    found = season_biofixes(SHIPPED_BIOFIX_RULES, "CM", SEASON, on=date(2024, 5, 14), station=station())
    assert [(each.generation, each.on) for each in found] == [(1, None)]


def test_what_the_coordinator_settled_comes_first_and_moves_what_follows() -> None:
    """Set to 22 May, 1000 degree-days later is 10 July: the next flight begins then, and not on 3 July."""
    found = season_biofixes(
        SHIPPED_BIOFIX_RULES,
        "CM",
        SEASON,
        on=date(2024, 7, 31),
        station=station(),
        confirmed={1: date(2024, 5, 22)},
    )
    assert [(each.generation, each.on) for each in found] == [(1, date(2024, 5, 22)), (2, date(2024, 7, 10))]
    assert found[0].proposal is not None
    assert found[0].proposal.on == date(2024, 5, 8)


def test_a_biofix_may_be_set_where_nobody_has_a_rule() -> None:
    found = season_biofixes(SHIPPED_BIOFIX_RULES, "STLM", SEASON, on=date(2024, 7, 31), confirmed={1: date(2024, 5, 1)})
    assert found == (Biofix(1, None, date(2024, 5, 1)),)


def test_events_are_reckoned_from_the_newest_biofix_that_tells_of_them() -> None:
    """From the first biofix the second egg hatch stands at 1100; once there is a second biofix, at 220 from that."""
    model = model_for(SHIPPED_MODELS, "CM", from_biofix=True)
    assert model is not None
    on = date(2024, 7, 31)
    only = (Biofix(1, None, date(2024, 5, 8)),)
    (alone,) = season_outlook(model, station(), only, on=on)
    assert {each.generation for each in alone.events} == {1, 2, 3}
    first, second = season_outlook(model, station(), (*only, Biofix(2, None, date(2024, 7, 3))), on=on)
    assert {each.generation for each in first.events} == {1}
    assert {each.generation for each in second.events} == {2, 3, 4}
    hatch = second.events[0]
    assert (hatch.event.name, hatch.generation, hatch.reached_on) == ("egg hatch begins", 2, date(2024, 7, 13))


def test_a_biofix_to_come_leaves_the_season_to_the_stand_in() -> None:
    model, january = (model_for(SHIPPED_MODELS, "CM", from_biofix=each) for each in (True, False))
    assert model is not None
    assert january is not None
    years = station()
    (view,) = season_outlook(
        model, years, (Biofix(1, None, None),), on=date(2024, 4, 4), stand_in=StandIn(january, years)
    )
    assert view.provisional
    assert view.events[0].expected_on == date(2024, 4, 19)
