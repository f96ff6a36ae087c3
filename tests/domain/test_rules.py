"""Threshold rules: what ships, and what an office may write."""

from __future__ import annotations

import tomllib
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from roundtui.domain.figures.rules import SHIPPED_RULES, Office, Rule, RuleKind, parse_office
from roundtui.domain.programme.species import SPECIES
from roundtui.errors import Problem

GOOD = """
[[rule]]
id = "cm-week"
species = "CM"
kind = "mean"
low = 2.1
high = 4.3
source = "our own meeting"
date = 2025-03-01
"""


def read(text: str) -> tuple[Office | None, tuple[Problem, ...]]:
    return parse_office(tomllib.loads(text, parse_float=Decimal))


def one_problem(text: str) -> Problem:
    office, problems = read(text)
    assert office is None
    assert len(problems) == 1, problems
    assert problems[0].hint
    return problems[0]


def changed(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new)


def test_what_ships_is_the_codling_moth_band_and_the_two_spheres_of_apple_maggot() -> None:
    """Codling moth 5 a trap and week: NIAB, Wisconsin DATCP. Apple maggot: University of Vermont Extension 2022, an
    average of 5 flies a baited and of 1 an unbaited sphere; begun anew after a treatment: University of Maine.
    """
    codling, baited, unbaited = SHIPPED_RULES
    assert (codling.species, codling.kind, codling.low, codling.high) == ("CM", RuleKind.MEAN, 3, 5)
    assert (codling.disrupted, codling.load_mg) == (False, (1, 1))
    assert all(name in codling.source for name in ("NIAB", "Virginia Tech", "Wisconsin", "common practice, no source"))
    for sphere, flies, kind in ((baited, 5, "baited"), (unbaited, 1, "unbaited")):
        # The spheres hang at the perimeter; no twelve days: those belong to a threshold of 2.
        assert (sphere.kind, sphere.since, sphere.edge) == (RuleKind.CUMULATIVE, "hanging", True)
        assert (sphere.after_treatment, sphere.days, sphere.lure_kind) == ("restart", None, (kind,))
        assert (sphere.low, sphere.high, sphere.date) == (flies, flies, date(2022, 6, 19))
        assert "Vermont" in sphere.source
        assert "Maine" in sphere.source
    assert not any(rule.office for rule in SHIPPED_RULES)
    assert all(rule.species in SPECIES and rule.source for rule in SHIPPED_RULES)


def test_an_office_without_a_file_has_what_ships_and_a_season_from_new_year() -> None:
    assert read("") == (Office(), ())
    assert Office().season_starts_on == (1, 1)


def test_the_offices_rules_come_first_and_stay_exact() -> None:
    office, problems = read(GOOD + '[season]\nstarts_on = "03-15"')
    assert problems == ()
    assert office is not None
    assert office.season_starts_on == (3, 15)
    assert office.rules[1:] == SHIPPED_RULES
    assert office.rules[0] == Rule(
        id="cm-week",
        species="CM",
        kind=RuleKind.MEAN,
        low=Fraction(21, 10),
        high=Fraction(43, 10),
        source="our own meeting",
        date=date(2025, 3, 1),
        office=True,
    )


@pytest.mark.parametrize("line", ["low = 4", "high = 4"])
def test_one_number_is_the_band_from_itself_to_itself(line: str) -> None:
    office, _ = read(changed("low = 2.1\nhigh = 4.3", line))
    assert office is not None
    assert (office.rules[0].low, office.rules[0].high) == (4, 4)


def test_every_kind_with_all_it_can_say() -> None:
    office, problems = read(
        """
        [[rule]]
        id = "single"
        species = "OFM"
        kind = "single-trap"
        low = 10
        source = "a bulletin"
        date = "2024-02-01"
        months = [7, 5, 6]
        load_mg = [0.1, 1]
        disrupted = true
        [[rule]]
        id = "two weeks"
        species = "CM"
        kind = "running"
        weeks = 2
        high = 2
        source = "a bulletin"
        date = 2024-02-01
        edge = true
        [[rule]]
        id = "sum"
        species = "AM"
        kind = "cumulative"
        low = 5
        high = 8
        since = 57
        after_treatment = "restart"
        degree_days = 150.5
        source = "a bulletin"
        date = 2024-02-01
        [[rule]]
        id = "as printed"
        species = "OFM"
        kind = "mean"
        high = 10
        compare = ">"
        lure_kind = ["1×", "Pear Ester"]
        style = "Large delta"
        ha_per_trap = [1, 4]
        market = "Taiwan"
        region = "West Virginia"
        source = "a bulletin"
        date = 2024-02-01
        [[rule]]
        id = "times only"
        species = "OBLR"
        kind = "mean"
        timing_only = true
        source = "a bulletin"
        date = 2024-02-01
        """
    )
    assert problems == ()
    assert office is not None
    single, running, total, printed, times = office.rules[:5]
    assert (printed.lure_kind, printed.style) == (("1x", "pear-ester"), ("large-delta",))
    assert (printed.compare, printed.ha_per_trap, printed.market) == (">", (1, 4), "Taiwan")
    assert printed.specificity == 4, "a region says where it was printed for and is asked of no block"
    assert (times.timing_only, times.specificity) == (True, 0)
    assert single.months == (5, 6, 7)
    assert single.load_mg == (Fraction(1, 10), 1)
    assert single.date == date(2024, 2, 1)
    assert (single.specificity, running.specificity, total.specificity) == (3, 0, 0)
    assert (running.weeks, running.edge) == (2, True)
    assert (total.since, total.after_treatment, total.degree_days) == ("57", "restart", Fraction(301, 2))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (changed('id = "cm-week"', ""), "id: is missing"),
        (changed('id = "cm-week"', 'id = " "'), "id:"),
        (changed('"CM"', '"cm"'), 'species: "cm" is unknown'),
        (changed('"CM"', '"XYZ"'), 'species: "XYZ" is unknown'),
        (changed('"CM"', "7"), "species: 7 is no text"),
        (changed('species = "CM"', ""), "species: is missing"),
        (changed('"mean"', '"median"'), 'kind: "median"'),
        (changed('kind = "mean"', ""), "kind: is missing"),
        (changed('source = "our own meeting"', ""), "source: is missing"),
        (changed("date = 2025-03-01", ""), "date: is missing"),
        (changed("2025-03-01", "2025-03-01T10:00:00"), "date:"),
        (changed("2025-03-01", '"1/3/2025"'), 'date: "1/3/2025" is no date'),
        (changed("low = 2.1\nhigh = 4.3", ""), "low, high: are both missing"),
        (changed("high = 4.3", "timing_only = true"), "low: has no meaning where the catch does not decide"),
        (GOOD + 'compare = "<"', 'compare: "<" is none of the words'),
        (GOOD + "style = 3", "style: 3 is no text"),
        (GOOD + 'lure_kind = ["1x", 10]', "lure_kind:"),
        (GOOD + "ha_per_trap = [4, 2]", "ha_per_trap:"),
        (changed('"mean"', '"cumulative"') + 'since = "days"', "days: does not say over how many"),
        (
            changed('"mean"', '"cumulative"') + 'since = "degree-days"\ndegree_days = 250\nafter_treatment = "hold"',
            'after_treatment: cannot hold with since = "degree-days"',
        ),
        (changed("low = 2.1", "low = 5"), "low: is above high"),
        (changed("low = 2.1", "low = true"), "low: true is no number"),
        (changed("low = 2.1", "low = -1"), "low: -1 is no number"),
        (changed("low = 2.1", "low = nan"), "low:"),
        (changed("low = 2.1", "low = 1e-999999999"), "low:"),
        (changed("high = 4.3", "high = 1e999999999"), "high:"),
        (changed("high = 4.3", 'high = "5"'), 'high: "5" is no number'),
        (GOOD + "weeks = 2", "weeks: has no meaning in a mean rule"),
        (changed('"mean"', '"running"'), "weeks: is missing"),
        (changed('"mean"', '"running"') + "weeks = 0", "weeks: 0 is no whole number"),
        (GOOD + 'since = "hanging"', "since: has no meaning in a mean rule"),
        (changed('"mean"', '"cumulative"') + 'since = "yesterday"', 'since: "yesterday" is no beginning'),
        (changed('"mean"', '"cumulative"') + "since = 58", 'since: "58" is no beginning'),
        (GOOD + "months = [0]", "months: [0] is no list"),
        (GOOD + 'months = ["May"]', "months:"),
        (GOOD + "months = []", "months:"),
        (GOOD + "load_mg = [10, 1]", "load_mg:"),
        (GOOD + "load_mg = 1", "load_mg: 1 is no pair"),
        (GOOD + 'disrupted = "yes"', 'disrupted: "yes" is neither true nor false'),
        (GOOD + 'after_treatment = "hold"\ndays = 12', "after_treatment: has no meaning in a mean rule"),
        (changed('"mean"', '"cumulative"') + "days = 12", "days, degree_days: belong to after_treatment"),
        (changed('"mean"', '"cumulative"') + 'after_treatment = "hold"', "after_treatment: does not say how long"),
        (
            changed('"mean"', '"cumulative"') + 'after_treatment = "hold"\ndays = 1\ndegree_days = 2',
            "days, degree_days: are both given",
        ),
        (GOOD + "treshold = 5", 'nothing is known of "treshold"'),
        (GOOD + GOOD, 'id: "cm-week" is taken'),
        (GOOD + "[thresholds]", 'nothing is known of "thresholds"'),
        ("rule = 5", "rule: is no list of tables"),
        ("season = 5", "season: is no table"),
        ('[season]\nstarts_on = "13-01"', 'starts_on: "13-01" is no day of every year'),
        ('[season]\nstarts_on = "02-29"', 'starts_on: "02-29" is no day of every year'),
        ("[season]\nstarts_on = 2025-03-01", "starts_on:"),
        ("[season]", "starts_on: is missing"),
        ('[season]\nstarts_on = "03-01"\nends_on = "11-01"', 'nothing is known of "ends_on"'),
    ],
)
def test_each_fault_is_named_with_its_key_and_a_hint(text: str, said: str) -> None:
    assert said in one_problem(text).message


def test_a_problem_names_the_rule_by_number_and_id() -> None:
    problem = one_problem(GOOD + changed('"cm-week"', '"second"') + "weeks = 2")
    assert problem.where == "thresholds.toml, rule 2 (second)"


def test_all_faults_are_found_at_once() -> None:
    _, problems = read("[[rule]]\nid = 5\n[[rule]]\nkind = 'mean'")
    said = [str(problem) for problem in problems]
    assert sum("rule 1" in line for line in said) == 6  # id, species, kind, band, source, date
    assert sum("rule 2" in line for line in said) == 5  # id, species, band, source, date


def test_hostile_text_is_shown_short_and_without_control_characters() -> None:
    problem = one_problem(changed('"CM"', '"\\u001b[31m\\u202e' + "C" * 10_000 + '"'))
    assert len(str(problem)) < 300
    assert str(problem).isprintable()
