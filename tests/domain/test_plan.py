"""The plan of a season: numbers as last year, where hanging stands, and the rules as data."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.figures.figures import Series
from roundtui.domain.inventory.plan import (
    PastSeason,
    Planner,
    PlanState,
    Span,
    past_season,
    season_to_plan,
    still_to_hang,
)
from roundtui.domain.inventory.plan_rules import (
    ACRE_HA,
    SHIPPED_DENSITY,
    SHIPPED_HANGING,
    DensityRule,
    PlanOffice,
    advised,
    density_of,
    every_words,
    parse_plan,
)
from roundtui.domain.programme.farm import Block, Programme, Trap
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.programme.stages import ANY_CROP
from tests.domain.orchard import Orchard, day
from tests.domain.planned import SEASON, orchard_of, past_of, plan_of, seen, series_of

# --- numbers ---


@pytest.mark.parametrize(
    ("species", "acres", "number"),
    [
        ("RBLR", 5, 2),  # Utah: at least two a species.
        ("RBLR", 20, 2),  # Over 20 acres, not at 20.
        ("RBLR", 21, 3),  # One to 10 acres: 2.1 are three.
        ("RBLR", 40, 4),
        ("CM", 5, 2),  # Washington: one to 2.5 acres.
        ("CM", 6, 3),
        ("OFM", 2, 5),  # Ontario: 5 a site.
        ("SJS", 2, 3),  # California: 3 to 4 a block.
    ],
)
def test_the_advice_on_density_is_as_printed(species: str, acres: int, number: int) -> None:
    """Utah State University, Washington State University, Ontario and University of California, as in plan_rules."""
    rule = density_of(SHIPPED_DENSITY, species)
    assert rule is not None
    assert advised(rule, acres * ACRE_HA) == number


def test_an_advice_over_an_area_says_nothing_of_smaller_blocks() -> None:
    rule = DensityRule(species="", least=1, ha_per_trap=Fraction(1), over_ha=Fraction(5), source="the test")
    assert [advised(rule, Fraction(area)) for area in (4, 5, 6)] == [1, 1, 6]


def test_one_trap_to_a_hectare_up_to_eight_then_one_to_two() -> None:
    """Apples from France to Taiwan: a trap to a hectare up to 8 ha, beyond that one more for every 2 ha.

    Source: Council of Agriculture (Taiwan), 16 January 2012, docsbay.net, quarantine requirements for the importation
    of fresh apples; rounding up is derived.
    """
    office, problems = parse_plan(
        {"density": [{"least": 1, "ha_per_trap": 1, "first_ha": 8, "then_ha_per_trap": 2, "source": "Taiwan"}]}
    )
    assert problems == ()
    assert office
    asked = {"7.2": 8, "8": 8, "8.1": 9, "9": 9, "10": 9, "12": 10, "20": 14, "40": 24}
    assert {area: advised(office.density[0], Fraction(area)) for area in asked} == asked
    _, problems = parse_plan({"density": [{"least": 1, "ha_per_trap": 1, "first_ha": 8, "source": "Taiwan"}]})
    assert [one.message for one in problems] == ["first_ha, then_ha_per_trap: go together, beside ha_per_trap"]
    # South African exporters read "2 traps/ha (>8 ha)" out of the same requirement (slides, slideserve.com).
    other = DensityRule(species="CM", least=8, ha_per_trap=Fraction(1, 2), over_ha=Fraction(8), source="slides")
    assert [advised(other, Fraction(area)) for area in (8, 9, 12, 20)] == [8, 18, 24, 40]


@pytest.mark.parametrize(
    ("every", "words"),
    [
        ("FREQ=DAILY;INTERVAL=3", "every 3 days"),
        ("FREQ=WEEKLY;BYDAY=MO,TH", "every week on Mon, Thu"),
        ("FREQ=WEEKLY;INTERVAL=2", "every 2 weeks"),
        ("FREQ=DAILY;COUNT=2", ""),
        ("FREQ=YEARLY", ""),
        ("FREQ=WEEKLY;BYDAY=XX", ""),
    ],
)
def test_how_often_is_a_recurrence_of_days_or_weeks(every: str, words: str) -> None:
    office, problems = parse_plan({"visits": [{"every": every, "market": "Taiwan", "source": "Taiwan 2012"}]})
    assert ("is no recurrence known here" in str(problems)) is not bool(words)
    if words:
        assert office
        assert every_words(office.visits[0].every) == words
        found = [office.visit_rule("CM", markets, date(2026, 6, 1), None) for markets in (("taiwan",), ())]
        assert found == [office.visits[0], None]


def test_an_area_not_on_record_is_advised_the_least() -> None:
    rule = density_of(SHIPPED_DENSITY, "CM")
    assert rule is not None
    assert advised(rule, None) == 2


def test_the_number_is_last_years_so_that_figures_can_be_compared_and_the_advice_stands_beside() -> None:
    """2 ha are 4.9 acres: two traps would do; three hung, so three hang."""
    (row,) = plan_of(past_of(orchard_of(0, 2))).rows
    assert (row.traps, row.advised) == (3, 2)
    office = PlanOffice(numbers={("N1", "CM"): 5, ("N1", "OFM"): 2})
    rows = {row.species: row for row in plan_of(past_of(orchard_of(0, 2)), office=office).rows}
    assert (rows["CM"].traps, rows["OFM"].traps) == (5, 2)
    assert rows["CM"].why == "the office's number"


def test_a_trap_found_missing_and_not_again_was_lost() -> None:
    orchard = orchard_of(0, 0, 0)
    orchard.visit("A2", "05-20", no="missing")
    orchard.visit("A3", "05-20", no="missing")
    orchard.visit("A3", "05-27", 0)
    assert past_of(orchard).lost == ("A2",)


def test_a_trap_that_moved_within_its_block_is_one_trap() -> None:
    orchard = Orchard()
    orchard.hang("A1", on="04-22", down="06-01")
    orchard.hang("A1", on="06-01", row="9")
    orchard.visit("A1", "04-29", 0)
    assert past_of(orchard).traps == ("A1",)


# --- where hanging stands ---


def hanging(*labels: str, on: date) -> Programme:
    traps = tuple(Trap(label, "N1", "CM", hung_on=on) for label in labels)
    return Programme(blocks={"N1": Block("N1", "N", "North", "apple")}, traps=traps)


@pytest.mark.parametrize(
    ("on", "state", "left"),
    [
        ("2026-04-14", PlanState.LATER, 15),
        ("2026-04-15", PlanState.SOON, 14),
        ("2026-04-29", PlanState.SOON, 0),
        ("2026-04-30", PlanState.OVERDUE, -1),
    ],
)
def test_hanging_is_due_two_weeks_before_and_overdue_the_day_after(on: str, state: PlanState, left: int) -> None:
    span = Span(date(2026, 1, 1), date(2026, 12, 31), date.fromisoformat(on))
    (row,) = plan_of(past_of(orchard_of(0, 0, 2)), span=span).rows
    assert (row.state, row.days_left) == (state, left)


def test_two_of_three_hung_is_not_hung() -> None:
    span = Span(date(2026, 1, 1), date(2026, 12, 31), date(2026, 5, 2))
    known = hanging("A1", "A2", on=date(2026, 4, 20))
    (row,) = plan_of(past_of(orchard_of(0, 0, 2)), span=span, programme=known).rows
    assert (row.state, row.hung) == (PlanState.OVERDUE, ("A1", "A2"))
    known = hanging("A1", "A2", "A3", on=date(2026, 5, 1))
    (row,) = plan_of(past_of(orchard_of(0, 0, 2)), span=span, programme=known).rows
    assert (row.state, row.late_days) == (PlanState.HUNG, 2)


def test_what_is_overdue_stands_first() -> None:
    span = Span(date(2026, 1, 1), date(2026, 12, 31), date(2026, 4, 30))
    late, soon = past_of(orchard_of(0, 0, 2)), PastSeason(season=2025, traps=("B1",), stages=seen(("05-05", "57")))
    planner = Planner(Programme(), PlanOffice(), span, lambda *_: None)
    plan = planner.plan({("A", "CM"): soon, ("B", "CM"): late})
    assert [row.block for row in plan.by_urgency()] == ["B", "A"]
    assert [row.block for row in plan.rows] == ["A", "B"]


def test_once_all_traps_are_down_the_next_season_is_planned() -> None:
    first, following = date(2025, 1, 1), date(2026, 1, 1)
    known = Programme(traps=(Trap("A1", "N1", "CM", hung_on=date(2025, 4, 22), down_on=date(2025, 9, 30)),))
    assert season_to_plan(known, first, following, date(2025, 3, 1)) == first
    assert season_to_plan(known, first, following, date(2025, 7, 1)) == first
    assert season_to_plan(known, first, following, date(2025, 9, 30)) == following


def test_a_season_that_still_runs_has_no_end_yet() -> None:
    orchard = orchard_of(0, 0, 2)
    running = past_season(2025, series_of(orchard), {}, (), (SEASON[0], day("05-20")))
    assert running.ended_on is None
    assert past_of(orchard).ended_on == day("05-13")


# --- data and the office's file ---


def test_every_rule_that_ships_has_one_way_and_a_source() -> None:
    codes = {stage.code for stage in ANY_CROP}
    assert len({rule.id for rule in SHIPPED_HANGING}) == len(SHIPPED_HANGING)
    for rule in SHIPPED_HANGING:
        assert sum((bool(rule.stage), bool(rule.month_day), rule.degree_days is not None)) == 1
        assert rule.species in SPECIES
        assert rule.source
        assert not rule.stage or rule.stage in codes
    assert all(rule.source for rule in SHIPPED_DENSITY)


def test_an_offices_rules_come_before_those_that_ship() -> None:
    table = {
        "hang": [
            {"id": "ours", "species": "CM", "on": "04-10", "source": "our practice", "date": date(2025, 3, 1)},
            {
                "id": "warmth",
                "species": "OFM",
                "degree_days": 100,
                "lower": 45,
                "upper": 90,
                "unit": "F",
                "days_after": -7,
                "source": "our practice",
                "date": date(2025, 3, 1),
            },
        ],
        "density": [{"least": 3, "ha_per_trap": 1, "source": "our practice"}],
        "traps": [{"block": "N1", "species": "CM", "number": 4}],
        "margins": {"before_catch_days": 21},
    }
    office, problems = parse_plan(table)
    assert problems == ()
    assert office is not None
    (row,) = plan_of(past_of(orchard_of(0, 0, 2)), office=office).rows
    assert (row.traps, row.hang_by) == (4, date(2026, 4, 10))
    assert {one.rule: one.on for one in row.reasons}["first-catch"] == date(2026, 4, 22)
    assert office.hanging[1].development is not None
    rule = density_of(office.density, "RBLR")
    assert rule is not None
    assert advised(rule, Fraction(5, 2)) == 3
    assert advised(rule, Fraction(9, 2)) == 5


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"hang": [{}]}, "one of the three is needed"),
        ({"hang": [{"stage": "57", "on": "04-01"}]}, "one of the three is needed"),
        ({"hang": [{"stage": "5x"}]}, '"5x" is no stage'),
        ({"hang": [{"on": "02-29"}]}, '"02-29" is no day of every year'),
        ({"hang": [{"degree_days": 100, "lower": 50}]}, "unit: is missing"),
        ({"hang": [{"degree_days": 100, "lower": 50, "upper": 40, "unit": "F"}]}, "is not above the lower one"),
        ({"hang": [{"stage": "57", "lower": 50}]}, "lower: belongs to degree_days"),
        ({"hang": [{"stage": "57", "days_after": "x"}]}, '"x" is no number of days'),
        ({"hang": {}}, "is no list of tables"),
        ({"density": [{"source": "x"}]}, "least: is missing"),
        ({"density": [{"least": 2, "ha_per_trap": 0, "source": "x"}]}, "ha_per_trap: is nothing"),
        ({"traps": [{"block": "N", "species": "codling moth", "number": 1}]}, "write CM"),
        ({"traps": [{"block": "N", "species": "CM"}]}, "number: is missing"),
        ({"margins": 3}, "margins: is no table"),
        ({"hanger": []}, "nothing is known of"),
    ],
)
def test_a_faulty_file_names_each_fault(table: dict[str, object], said: str) -> None:
    office, problems = parse_plan(table)
    assert office is None
    assert any(said in str(problem) for problem in problems), [str(problem) for problem in problems]


def test_an_id_twice_is_named() -> None:
    rule = {"id": "ours", "species": "CM", "on": "04-10", "source": "x", "date": date(2025, 3, 1)}
    assert parse_plan({"hang": [rule, rule]})[0] is None


def test_a_visit_without_a_word_on_the_trap_does_not_find_it_again() -> None:
    visits = {
        "A1": [
            Visit(trap="A1", read_on=day("05-20"), no_reading=NoReading.MISSING),
            Visit(trap="A1", read_on=day("05-27"), liner=True),
        ]
    }
    group = [Series(Trap("A1", "N1", "CM", hung_on=day("04-22")), ())]
    assert past_season(2025, group, visits, (), SEASON).lost == ("A1",)


def test_a_plan_is_worth_reading_while_a_trap_of_last_season_does_not_hang() -> None:
    first, before = date(2026, 1, 1), date(2025, 1, 1)
    down = Trap("A1", "N1", "CM", hung_on=date(2025, 4, 22), down_on=date(2025, 9, 30))
    stays = Trap("A2", "N1", "CM", hung_on=date(2025, 4, 22))
    again = Trap("A1", "N1", "CM", hung_on=date(2026, 4, 20))
    old = Trap("A3", "N1", "CM", hung_on=date(2024, 4, 22), down_on=date(2024, 9, 30))
    on = date(2026, 4, 25)
    assert still_to_hang(Programme(traps=(down, stays)), first, before, on)
    assert still_to_hang(Programme(traps=(down, again)), first, before, date(2026, 4, 1))
    assert not still_to_hang(Programme(traps=(down, again, stays, old)), first, before, on)


def test_two_traps_to_a_hectare_over_eight_as_others_read_it() -> None:
    """ "Minimum 1 trap/ha (<8 ha) or 2 traps/ha (>8 ha)": slides on the same demand, slideserve.com/terrel.

    It contradicts the text above; an office can write either.
    """
    office, problems = parse_plan(
        {"density": [{"least": 8, "ha_per_trap": Decimal("0.5"), "over_ha": 8, "source": "slides"}]}
    )
    assert problems == ()
    assert office
    asked = {8: 8, 9: 18, 12: 24, 20: 40}
    assert {area: advised(office.density[0], Fraction(area)) for area in asked} == asked
