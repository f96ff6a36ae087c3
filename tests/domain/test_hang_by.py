"""By which day traps hang: early enough that the first check reads zero."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from roundtui.domain.figures.figures import Reading, Series
from roundtui.domain.inventory.plan import (
    HangKind,
    HangReason,
    PastSeason,
    PlanState,
    Span,
    Warmth,
    by_rule,
    earliest,
    past_season,
)
from roundtui.domain.inventory.plan_rules import BEFORE_CATCH_SOURCE, SHIPPED_HANGING, ZERO_SOURCE, HangRule
from roundtui.domain.programme.farm import Trap
from roundtui.domain.season.models import SHIPPED_MODELS, model_for
from roundtui.domain.season.weather import StationYears
from tests.domain.orchard import Orchard, day
from tests.domain.planned import NEXT, SEASON, days_of, orchard_of, past_of, plan_of, seen

# --- two weeks before last year's first catch ---


def test_traps_hang_two_weeks_before_last_years_first_catch() -> None:
    """Hung 22 April; 29 April 0, 6 May 0, 13 May 2: this year by 29 April, so that the first check reads zero."""
    past = past_of(orchard_of(0, 0, 2))
    assert (past.first_read, past.first_moths, past.first_catch) == (day("04-29"), 0, day("05-13"))
    assert not past.hung_too_late
    (row,) = plan_of(past).rows
    assert row.hang_by == date(2026, 4, 29)
    assert row.decided_by is not None
    assert row.decided_by.kind is HangKind.FIRST_CATCH
    assert BEFORE_CATCH_SOURCE in row.decided_by.source
    assert ZERO_SOURCE in row.decided_by.source


def test_a_first_check_that_was_not_zero_was_hung_too_late_and_the_count_is_back_from_its_exposure() -> None:
    """Hung 22 April, 3 moths on 29 April: they may have flown since the 22nd, so this year by 8 April."""
    past = past_of(orchard_of(3, 0, 5))
    assert past.hung_too_late
    assert (past.first_moths, past.flown_since) == (3, day("04-22"))
    (row,) = plan_of(past).rows
    assert row.hang_by == date(2026, 4, 8)
    assert row.decided_by is not None
    assert "was not zero but 3" in row.decided_by.words


def test_the_first_check_of_one_trap_alone_spoils_it_for_the_block() -> None:
    orchard = Orchard()
    orchard.hang("A1", "A2", on="04-22")
    orchard.visit("A1", "04-29", 0)
    orchard.visit("A2", "04-29", 1)
    assert past_of(orchard).hung_too_late


def test_a_count_that_cannot_be_relied_on_is_no_first_catch() -> None:
    """A wrong lure calls moths of another species: what it caught tells nothing of the flight."""
    one = Reading(trap="A1", read_on=day("04-29"), start=day("04-22"), count=9, net=9, entries=(), suspect=True)
    two = Reading(trap="A1", read_on=day("05-13"), start=day("05-06"), count=2, net=2, entries=())
    group = [Series(Trap("A1", "N1", "CM", hung_on=day("04-22")), (one, two))]
    past = past_season(2025, group, {}, (), SEASON)
    assert (past.first_read, past.first_catch) == (day("05-13"), day("05-13"))


@pytest.mark.parametrize(
    ("counts", "words"), [((), "nothing was read here last season"), ((0, 0, 0), "nothing was caught here last season")]
)
def test_a_date_without_data_says_so(counts: tuple[int, ...], words: str) -> None:
    (row,) = plan_of(past_of(orchard_of(*counts))).rows
    (reason,) = [one for one in row.reasons if one.kind is HangKind.FIRST_CATCH]
    assert (reason.on, reason.words) == (None, words)


def test_nothing_that_tells_a_day_is_no_date_and_not_today() -> None:
    """Redbanded leafroller: no rule published, and nothing was caught."""
    (row,) = plan_of(past_of(orchard_of(0, 0)), species="RBLR").rows
    assert (row.hang_by, row.state, row.days_left) == (None, PlanState.NO_DATE, None)


# --- stage, date, degree-days ---


def test_a_stage_is_the_day_on_which_the_block_reached_it_last_year() -> None:
    """Codling moth at pink (57, Utah): green bud on 22 April, pink on 29 April."""
    past = PastSeason(season=2025, stages=seen(("04-22", "56"), ("04-25", "11"), ("04-29", "57"), ("05-06", "65")))
    rule = next(rule for rule in SHIPPED_HANGING if rule.id == "cm-pink")
    reason = by_rule(rule, past, NEXT)
    assert reason.on == date(2026, 4, 29)
    assert "intermountainfruit.org" in reason.source


def test_a_stage_that_was_past_when_first_looked_at_says_so() -> None:
    rule = next(rule for rule in SHIPPED_HANGING if rule.id == "cm-pink")
    reason = by_rule(rule, PastSeason(season=2025, stages=seen(("05-06", "65"))), NEXT)
    assert reason.on == date(2026, 5, 6)
    assert "or later when first looked at" in reason.words


def test_apple_maggot_hangs_three_weeks_after_petal_fall() -> None:
    """Ontario: 3 to 4 weeks after petal fall, the earlier end. Petal fall on 20 May: by 10 June."""
    past = PastSeason(season=2025, stages=seen(("05-13", "67"), ("05-20", "69")))
    (row,) = plan_of(past, species="AM").rows
    assert row.hang_by == date(2026, 6, 10)


def test_a_stage_nobody_saw_gives_no_day() -> None:
    rule = next(rule for rule in SHIPPED_HANGING if rule.id == "oblr-petal-fall")
    unseen = by_rule(rule, PastSeason(season=2025, stages=seen(("05-06", "65"))), NEXT)
    assert (unseen.on, "was not seen last season" in unseen.words) == (None, True)
    never = by_rule(rule, None, NEXT)
    assert (never.on, "no stage was seen" in never.words) == (None, True)


def test_degree_days_of_a_season_that_has_not_begun_are_the_earliest_of_past_years() -> None:
    """122 degree-days, the earliest year of Jones et al. 2008, at 10 a day take 13 days: from day 90 on, or 100."""
    model = model_for(SHIPPED_MODELS, "CM")
    assert model is not None
    years = StationYears([*days_of(2023, 100), *days_of(2025, 90)], model.development)
    span = Span(date(2026, 1, 1), date(2026, 12, 31), date(2025, 12, 31))
    (row,) = plan_of(PastSeason(season=2025, traps=("A1",)), span=span, warmth=Warmth(years)).rows
    (reason,) = [one for one in row.reasons if one.kind is HangKind.DEGREE_DAYS]
    assert reason.on == date(2026, 1, 1) + timedelta(days=90 + 12)
    assert "the earliest of 2 past years" in reason.words


def test_degree_days_that_have_accumulated_give_the_day_they_did() -> None:
    model = model_for(SHIPPED_MODELS, "CM")
    assert model is not None
    years = StationYears(days_of(2026, 60), model.development)
    span = Span(date(2026, 1, 1), date(2026, 12, 31), date(2026, 6, 1))
    (row,) = plan_of(PastSeason(season=2025, traps=("A1",)), span=span, warmth=Warmth(years)).rows
    (reason,) = [one for one in row.reasons if one.kind is HangKind.DEGREE_DAYS]
    assert (reason.on, "reached" in reason.words) == (date(2026, 1, 1) + timedelta(days=72), True)


def test_degree_days_without_a_station_or_a_past_year_say_so() -> None:
    model = model_for(SHIPPED_MODELS, "CM")
    assert model is not None
    for warmth, words in (
        (None, "the block has no station with temperatures"),
        (Warmth(StationYears([], model.development)), "no past year of the station reaches so far"),
    ):
        span = Span(date(2026, 1, 1), date(2026, 12, 31), date(2025, 12, 1))
        (row,) = plan_of(PastSeason(season=2025, traps=("A1",)), span=span, warmth=warmth).rows
        (reason,) = [one for one in row.reasons if one.kind is HangKind.DEGREE_DAYS]
        assert reason.on is None
        assert words in reason.words


def test_normal_temperatures_stand_in_for_past_years() -> None:
    model = model_for(SHIPPED_MODELS, "CM")
    assert model is not None
    warmth = Warmth(StationYears([], model.development), StationYears(days_of(2026, 90), model.development))
    span = Span(date(2026, 1, 1), date(2026, 12, 31), date(2025, 12, 1))
    (row,) = plan_of(PastSeason(season=2025, traps=("A1",)), span=span, warmth=warmth).rows
    (reason,) = [one for one in row.reasons if one.kind is HangKind.DEGREE_DAYS]
    assert reason.on == date(2026, 1, 1) + timedelta(days=102)
    assert "by normal temperatures" in reason.words


def test_a_date_printed_for_another_place_is_used_only_where_nothing_of_ones_own_tells() -> None:
    """Leafroller traps hang in mid-April in California; here petal fall came on 20 May, and that decides."""
    past = PastSeason(season=2025, stages=seen(("05-20", "69")))
    (row,) = plan_of(past, species="OBLR").rows
    assert row.hang_by == date(2026, 5, 20)
    (bare,) = plan_of(PastSeason(season=2025, traps=("A1",)), species="OBLR").rows
    assert bare.hang_by == date(2026, 4, 15)
    assert bare.decided_by is not None
    assert bare.decided_by.elsewhere


def test_the_earliest_of_what_applies_decides() -> None:
    past = PastSeason(
        season=2025,
        traps=("A1",),
        first_read=day("04-29"),
        first_catch=day("05-20"),
        flown_since=day("05-13"),
        stages=seen(("04-22", "56"), ("04-29", "57")),
    )
    (row,) = plan_of(past).rows
    assert {reason.rule: reason.on for reason in row.reasons} == {
        "first-catch": date(2026, 5, 6),
        "cm-pink": date(2026, 4, 29),
        "cm-122": None,
    }
    assert row.hang_by == date(2026, 4, 29)


def test_dates_of_the_north_say_nothing_in_a_season_of_the_south() -> None:
    south = Span(date(2026, 7, 1), date(2027, 6, 30), date(2026, 8, 1))
    rule = next(rule for rule in SHIPPED_HANGING if rule.id == "ofm-late-april")
    assert by_rule(rule, None, south).on is None
    own = HangRule(id="own", species="OFM", month_day="02-01", source="the office", office=True)
    assert by_rule(own, None, south).on == date(2027, 2, 1)


def test_the_same_day_of_another_year_exists_even_on_the_leap_day() -> None:
    assert Span(date(2025, 1, 1), date(2025, 12, 31), date(2025, 1, 1)).moved(date(2024, 2, 29), 2024) == date(
        2025, 3, 1
    )


def test_no_reason_with_a_day_is_no_decision() -> None:
    assert earliest([HangReason("x", HangKind.DATE, None, "", "")]) is None


def test_borers_and_oriental_fruit_moth_hang_as_print_of_several_regions_has_it() -> None:
    """Dogwood borer: late June in Ontario, 21 May in Kentucky, early June in New York. Lesser peachtree borer: petal
    fall in Michigan, 1 May in Kentucky, late May in New York. Oriental fruit moth: near bud swell in Georgia, late
    April in Ontario. The earliest decides, and none is a date of every place.
    """
    by_id = {rule.id: (rule.stage or rule.month_day, rule.note) for rule in SHIPPED_HANGING}
    assert (by_id["dwb-late-june"][0], by_id["dwb-kentucky"]) == ("06-21", ("05-21", "New York has early June"))
    assert (by_id["lptb-petal-fall"][0], by_id["lptb-kentucky"]) == ("69", ("05-01", "New York has late May"))
    assert (by_id["ofm-bud-swell"][0], by_id["ofm-late-april"][0]) == ("51", "04-21")
