"""When events were reached, and when they are to be expected: told by hand on stations of plain weather."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.intervals import expected, likely, student_t
from roundtui.domain.season.degree_days import Development, Method
from roundtui.domain.season.models import FROM_BIOFIX, LifeEvent, SpeciesModel
from roundtui.domain.season.outlook import EventOutlook, Outlook, StandIn, normal_days, outlook
from roundtui.domain.season.weather import StationYears, WeatherDay, same_day
from roundtui.domain.units import TempUnit

AVERAGE = Development(50, None, TempUnit.F, Method.AVERAGE)
HATCH = LifeEvent("egg hatch begins", 220, "test")
SECOND = LifeEvent("second flight", 1000, "test", generation=2)
NEVER = LifeEvent("ninth flight", 90_000, "test")
MODEL = SpeciesModel(
    id="m", species="CM", development=AVERAGE, starts=FROM_BIOFIX, events=(HATCH, SECOND, NEVER), source="test"
)
JANUARY = SpeciesModel(
    id="j",
    species="CM",
    development=AVERAGE,
    starts="01-01",
    events=(LifeEvent("first moths", 100, "test"),),
    source="test",
)


def station(accumulated: Callable[[date], float | None], first: date, last: date) -> StationYears:
    """A station whose every day gathers what is told; None for a day nobody read."""
    days = []
    for at in range((last - first).days + 1):
        on = first + timedelta(days=at)
        amount = accumulated(on)
        if amount is not None:
            days.append(WeatherDay("NORTH", on, 50 + amount, 50 + amount, TempUnit.F))
    return StationYears(days, AVERAGE)


def steady(rates: dict[int, float], last: date) -> StationYears:
    """Each year gathers so many degree-days a day from April to September, and none in winter."""
    return station(lambda on: rates[on.year] if 4 <= on.month <= 9 else 0, date(min(rates), 1, 1), last)


def one(found: Outlook, event: LifeEvent) -> EventOutlook:
    return next(each for each in found.events if each.event is event)


def test_an_event_is_reached_on_the_day_that_fills_it_and_the_biofix_day_counts() -> None:
    """20 a day from 1 May: 220 are full on the eleventh day, 11 May."""
    found = outlook(MODEL, steady({2024: 20}, date(2024, 5, 31)), on=date(2024, 5, 31), biofix=date(2024, 5, 1))
    hatch = one(found, HATCH)
    assert (hatch.reached_on, hatch.expected_on, hatch.accumulated) == (date(2024, 5, 11), None, 31 * 20)
    assert not hatch.by_forecast
    assert (found.start, found.provisional, found.counted_to, found.why) == (
        date(2024, 5, 1),
        False,
        date(2024, 5, 31),
        "",
    )


def test_an_event_to_come_is_expected_after_what_past_years_took_from_the_same_day() -> None:
    """By 5 May 100 of 220 are there, 120 are left: from 6 May on 12, 10 and 8 days in past years, so 15 May."""
    years = steady({2021: 10, 2022: 12, 2023: 15, 2024: 20}, date(2024, 5, 5))
    hatch = one(outlook(MODEL, years, on=date(2024, 5, 5), biofix=date(2024, 5, 1)), HATCH)
    assert (hatch.accumulated, hatch.years, hatch.never) == (100, 3, 0)
    assert hatch.expected_on == date(2024, 5, 15)
    assert hatch.earliest is not None
    assert hatch.latest is not None
    # Mean 9 days after the 6th, scatter 2, t of 1.886, and the root of 4/3: 9 ± 4.36.
    assert (hatch.earliest, hatch.latest) == (date(2024, 5, 11), date(2024, 5, 19))
    assert hatch.why == "median of 3 past years"


def test_the_same_calendar_day_of_a_past_year_counts() -> None:
    """All the warmth of the past years came on 6 May; looked at from the 7th on they would never get there."""
    years = station(
        lambda on: 20 if on.year == 2024 else 150 if (on.month, on.day) == (5, 6) else 0,
        date(2021, 1, 1),
        date(2024, 5, 5),
    )
    hatch = one(outlook(MODEL, years, on=date(2024, 5, 5), biofix=date(2024, 5, 1)), HATCH)
    assert (hatch.expected_on, hatch.never) == (date(2024, 5, 6), 0)


def test_half_a_day_counts_as_the_earlier() -> None:
    """Past years took until 17 May and 16 May: the middle is 16.5."""
    years = steady({2022: 10, 2023: 11, 2024: 20}, date(2024, 5, 5))
    hatch = one(outlook(MODEL, years, on=date(2024, 5, 5), biofix=date(2024, 5, 1)), HATCH)
    assert hatch.expected_on == date(2024, 5, 16)


def test_later_days_are_not_used_and_later_years_neither() -> None:
    known = {2021: 10, 2022: 12, 2023: 15, 2024: 20, 2025: 1}
    seen = outlook(MODEL, steady(known, date(2025, 12, 31)), on=date(2024, 5, 5), biofix=date(2024, 5, 1))
    blind = outlook(MODEL, steady(known, date(2024, 5, 5)), on=date(2024, 5, 5), biofix=date(2024, 5, 1))
    assert seen == blind


def test_one_past_year_gives_a_date_and_no_range() -> None:
    hatch = one(
        outlook(MODEL, steady({2023: 10, 2024: 20}, date(2024, 5, 5)), on=date(2024, 5, 5), biofix=date(2024, 5, 1)),
        HATCH,
    )
    assert (hatch.expected_on, hatch.earliest, hatch.latest, hatch.years) == (date(2024, 5, 17), None, None, 1)
    assert hatch.why == "by the one past year; no range"


def test_a_stated_normal_serves_a_station_with_fewer_than_two_past_years() -> None:
    normals = {(month, day): (56.0, 68.0) for month in range(1, 13) for day in range(1, 32)}
    normal = StationYears(normal_days(normals, TempUnit.F, date(2024, 1, 1), date(2024, 12, 31)), AVERAGE)
    years = steady({2024: 20}, date(2024, 5, 5))
    hatch = one(outlook(MODEL, years, on=date(2024, 5, 5), biofix=date(2024, 5, 1), normal=normal), HATCH)
    assert hatch.expected_on == date(2024, 5, 15)  # 120 left at 12 a day: the tenth day from the 6th.
    assert "normal" in hatch.why
    assert (hatch.earliest, hatch.by_normal, hatch.by_forecast) == (None, True, False)
    single = steady({2023: 10, 2024: 20}, date(2024, 5, 5))
    hatch = one(outlook(MODEL, single, on=date(2024, 5, 5), biofix=date(2024, 5, 1), normal=normal), HATCH)
    assert (hatch.expected_on, hatch.years) == (date(2024, 5, 15), 1)
    more = steady({2022: 10, 2023: 10, 2024: 20}, date(2024, 5, 5))
    assert (
        "normal"
        not in one(outlook(MODEL, more, on=date(2024, 5, 5), biofix=date(2024, 5, 1), normal=normal), HATCH).why
    )


def test_the_normal_of_28_february_serves_the_29th() -> None:
    normals = {(2, 28): (30.0, 50.0), (3, 1): (31.0, 51.0)}
    for year, lows in ((2027, [30.0, 31.0]), (2028, [30.0, 30.0, 31.0])):
        days = normal_days(normals, TempUnit.F, date(year, 2, 28), date(year, 3, 1))
        assert [one.tmin for one in days] == lows


def test_what_every_year_reached_on_the_first_day_counted_is_expected_on_no_day_before_it() -> None:
    years = steady({2021: 130, 2022: 130, 2023: 130, 2024: 20}, date(2024, 5, 5))
    hatch = one(outlook(MODEL, years, on=date(2024, 5, 5), biofix=date(2024, 5, 1)), HATCH)
    assert (hatch.earliest, hatch.expected_on, hatch.latest) == (date(2024, 5, 6), date(2024, 5, 6), date(2024, 5, 7))


def test_a_station_without_a_past_and_without_a_normal_dates_nothing() -> None:
    hatch = one(
        outlook(MODEL, steady({2024: 20}, date(2024, 5, 5)), on=date(2024, 5, 5), biofix=date(2024, 5, 1)), HATCH
    )
    assert (hatch.expected_on, hatch.why) == (None, "no past year of the station reaches so far")


def test_an_event_that_most_years_never_reach_is_not_dated() -> None:
    found = one(
        outlook(
            MODEL,
            steady({2022: 10, 2023: 12, 2024: 20}, date(2024, 5, 5)),
            on=date(2024, 5, 5),
            biofix=date(2024, 5, 1),
        ),
        NEVER,
    )
    assert (found.expected_on, found.years, found.never) == (None, 2, 2)
    assert found.why == "not reached by the end of the season in 2 of 2 years"


def test_where_some_years_never_got_there_the_range_stays_open() -> None:
    """Three of four years reached 1000 by September, the cold one did not: a date, an earliest day, no latest."""
    years = steady({2020: 4, 2021: 10, 2022: 12, 2023: 15, 2024: 20}, date(2024, 5, 5))
    second = one(outlook(MODEL, years, on=date(2024, 5, 5), biofix=date(2024, 5, 1)), SECOND)
    assert (second.years, second.never, second.generation) == (4, 1, 2)
    assert second.expected_on is not None
    assert second.earliest is not None
    assert second.latest is None


def test_a_past_year_with_a_long_gap_is_left_out_of_those_it_cannot_tell() -> None:
    rates = {2021: 10.0, 2022: 12.0, 2023: 15.0, 2024: 20.0}
    gap = {date(2022, 5, 8) + timedelta(days=at) for at in range(3)}
    years = station(
        lambda on: None if on in gap else rates[on.year] if 4 <= on.month <= 9 else 0,
        date(2021, 1, 1),
        date(2024, 5, 5),
    )
    assert one(outlook(MODEL, years, on=date(2024, 5, 5), biofix=date(2024, 5, 1)), HATCH).years == 2


def test_temperatures_that_end_early_are_said_and_reckoned_from() -> None:
    years = steady({2021: 10, 2022: 12, 2023: 15, 2024: 20}, date(2024, 5, 3))
    found = outlook(MODEL, years, on=date(2024, 5, 9), biofix=date(2024, 5, 1))
    assert (found.counted_to, found.why) == (date(2024, 5, 3), "temperatures are known only up to 2024-05-03")
    assert one(found, HATCH).accumulated == 60
    none = outlook(MODEL, years, on=date(2024, 5, 9), biofix=date(2024, 5, 6))
    assert none.why == "there are no temperatures of 2024-05-06"
    assert one(none, HATCH).accumulated is None


def test_without_a_biofix_nothing_is_dated_unless_something_stands_in() -> None:
    years = steady({2022: 10, 2023: 12, 2024: 20}, date(2024, 4, 2))
    found = outlook(MODEL, years, on=date(2024, 4, 2))
    assert {each.why for each in found.events} == {"no biofix is set"}


def test_before_the_biofix_the_degree_days_of_the_year_stand_in() -> None:
    """100 from 1 January stand for the biofix. 40 are there by 2 April, 60 are left from the 3rd on.

    At 10 a day that is 8 April, and 220 from there 29 April; at 12 a day 7 April and 25 April.
    """
    years = steady({2022: 10, 2023: 12, 2024: 20}, date(2024, 4, 2))
    found = outlook(MODEL, years, on=date(2024, 4, 2), stand_in=StandIn(JANUARY, years))
    hatch = one(found, HATCH)
    assert (found.provisional, found.start, hatch.accumulated, hatch.years) == (True, None, None, 2)
    assert hatch.expected_on == date(2024, 4, 27)
    assert "no biofix is set" in found.why


def test_a_stand_in_that_was_reached_counts_from_its_day_and_says_so() -> None:
    years = steady({2022: 10, 2023: 12, 2024: 20}, date(2024, 4, 30))
    found = outlook(MODEL, years, on=date(2024, 4, 30), stand_in=StandIn(JANUARY, years))
    assert (found.start, found.provisional) == (date(2024, 4, 5), True)
    assert one(found, HATCH).reached_on == date(2024, 4, 15)
    confirmed = outlook(MODEL, years, on=date(2024, 4, 30), biofix=date(2024, 4, 9), stand_in=StandIn(JANUARY, years))
    assert (confirmed.start, confirmed.provisional) == (date(2024, 4, 9), False)


def test_a_biofix_to_come_dates_nothing_yet() -> None:
    found = outlook(MODEL, steady({2024: 20}, date(2024, 5, 5)), on=date(2024, 5, 5), biofix=date(2024, 5, 9))
    assert found.why == "counting begins on 2024-05-09"


def test_a_biofix_of_today_counts_today() -> None:
    found = outlook(MODEL, steady({2024: 20}, date(2024, 5, 5)), on=date(2024, 5, 5), biofix=date(2024, 5, 5))
    assert (found.why, one(found, HATCH).accumulated) == ("", 20)


def test_on_the_last_day_of_the_season_no_past_year_is_asked() -> None:
    years = steady({2022: 10, 2023: 12, 2024: 20}, date(2024, 12, 31))
    found = one(outlook(MODEL, years, on=date(2024, 12, 31), biofix=date(2024, 5, 1)), NEVER)
    assert (found.expected_on, found.years, found.never) == (None, 0, 0)


def test_a_model_from_the_first_of_january_needs_no_biofix() -> None:
    found = outlook(JANUARY, steady({2024: 20}, date(2024, 5, 5)), on=date(2024, 5, 5))
    assert found.events[0].reached_on == date(2024, 4, 5)


def test_a_second_biofix_moves_every_event_a_generation_on() -> None:
    found = outlook(
        MODEL, steady({2024: 20}, date(2024, 8, 30)), on=date(2024, 8, 30), biofix=date(2024, 7, 1), generation=2
    )
    assert [each.generation for each in found.events] == [2, 3, 2]
    assert one(found, HATCH).reached_on == date(2024, 7, 11)


def test_the_day_after_28_february_is_looked_up_in_years_without_a_leap_day() -> None:
    assert same_day(date(2024, 2, 29), 2023) == date(2023, 3, 1)
    early = SpeciesModel(
        id="e", species="CM", development=AVERAGE, starts="01-01", events=(LifeEvent("x", 70 * 5, "t"),), source="t"
    )
    years = station(lambda on: 5, date(2022, 1, 1), date(2024, 2, 28))
    found = outlook(early, years, on=date(2024, 2, 28)).events[0]
    assert (found.accumulated, found.years) == (59 * 5, 2)
    assert found.expected_on == date(2024, 2, 29) + timedelta(days=10)


# ---- The parts ----


def test_a_station_knows_its_sums_and_its_gaps() -> None:
    years = station(lambda on: None if on.day in {10, 11, 12} else 10, date(2024, 5, 1), date(2024, 5, 20))
    assert years.total(date(2024, 5, 2), date(2024, 5, 4)) == 30
    assert years.counted_to(date(2024, 5, 2), date(2024, 5, 19)) == date(2024, 5, 9)
    assert years.counted_to(date(2024, 5, 11), date(2024, 5, 19)) is None
    assert years.reach(date(2024, 5, 13), 25, date(2024, 5, 31)).on == date(2024, 5, 15)
    assert years.reach(date(2024, 5, 5), 90, date(2024, 5, 31)).known is False
    assert years.reach(date(2024, 5, 13), 1000, date(2024, 5, 18)) == years.reach(
        date(2024, 5, 1), 1000, date(2024, 5, 8)
    )
    with pytest.raises(ValueError, match="has a gap"):
        years.total(date(2024, 5, 2), date(2024, 5, 14))


@given(
    st.lists(st.integers(0, 30), min_size=1, max_size=60),
    st.integers(0, 59),
    st.integers(1, 400),
)
def test_reaching_an_amount_is_what_adding_day_by_day_finds(amounts: list[int], at: int, amount: int) -> None:
    first = date(2024, 1, 1)
    years = station(lambda on: float(amounts[(on - first).days]), first, first + timedelta(days=len(amounts) - 1))
    start = first + timedelta(days=min(at, len(amounts) - 1))
    total, found = 0, None
    for day in range((start - first).days, len(amounts)):
        total += amounts[day]
        if total >= amount:
            found = first + timedelta(days=day)
            break
    assert years.reach(start, amount, date(2025, 1, 1)).on == found


def test_the_quantile_of_students_t_is_that_of_the_tables() -> None:
    """Checked against scipy over the shares that a range can use."""
    from scipy.stats import t

    for freedom in (1, 2, 3, 4, 7, 15, 40, 90):
        for share in (0.6, 0.75, 0.9, 0.95, 0.975):
            assert student_t(share, freedom) == pytest.approx(t.ppf(share, freedom), rel=1e-9)


def test_the_range_widens_with_few_years_and_opens_where_years_never_got_there() -> None:
    narrow, wide = likely([9.0, 10.0, 11.0] * 10, 0.8), likely([9.0, 10.0, 11.0], 0.8)
    assert narrow is not None
    assert wide is not None
    assert wide[0] < narrow[0] < 10 < narrow[1] < wide[1]
    assert likely([5.0], 0.8) is None
    opened = likely([5.0, 6.0, 7.0, inf], 0.8)
    assert opened is not None
    assert opened[1] == inf
    assert likely([5.0, 6.0] * 10 + [inf], 0.8) != likely([5.0, 6.0] * 10 + [inf] * 3, 0.8)
    assert expected([3.0, inf, 5.0]) == 5
    assert expected([3.0, inf]) == inf
