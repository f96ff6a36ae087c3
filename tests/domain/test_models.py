"""Species models: those that ship, and an office's own file."""

from __future__ import annotations

import tomllib
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import exp

import pytest

from roundtui.domain.programme.species import SPECIES
from roundtui.domain.season.biofix import SHIPPED_BIOFIX_RULES, BiofixKind, rule_for
from roundtui.domain.season.degree_days import Cutoff, Method, check, day
from roundtui.domain.season.models import SHIPPED_MODELS, SeasonOffice, model_for, parse_models, start_of
from roundtui.domain.units import TempUnit
from roundtui.errors import Problem
from tests.real_weather import convert_degree_days

OWN = """
[weather]
unit = "C"
fill_days = 1

[[model]]
id = "our-cm"
species = "CM"
lower = 10
upper = 31.1
unit = "C"
method = "double-sine"
cutoff = "intermediate"
starts = "biofix"
source = "office practice"
date = 2025-03-01

[[model.event]]
name = "egg hatch begins"
degree_days = 122.5

[[model.event]]
name = "second flight"
degree_days = 555
generation = 2
source = "our own traps, 2019-2024"

[[biofix]]
id = "our-cm-run"
species = "CM"
kind = "traps-of"
moths = 1
readings = 2
traps = 2
of = 3
sunset = 16.7
unit = "C"
source = "office practice"
date = 2025-03-01
"""


def parse(text: str) -> tuple[SeasonOffice | None, tuple[Problem, ...]]:
    return parse_models(tomllib.loads(text, parse_float=Decimal))


def test_every_model_that_ships_holds_together() -> None:
    assert len({model.id for model in SHIPPED_MODELS}) == len(SHIPPED_MODELS)
    for model in SHIPPED_MODELS:
        development = model.development
        check(development.lower, development.upper, development.method, development.cutoff)
        assert model.species in SPECIES
        assert model.source
        assert start_of(model, date(2024, 1, 1), date(2024, 5, 1))
        amounts = [event.degree_days for event in model.events]
        assert amounts == sorted(amounts)
        assert all(event.source and event.name and event.degree_days > 0 for event in model.events)
        assert len({(event.name, event.generation) for event in model.events}) == len(amounts)
    assert sum(len(model.events) for model in SHIPPED_MODELS) == 104, "none was lost in reading the table"


def test_every_species_with_a_published_model_has_one() -> None:
    without = {code for code in SPECIES if model_for(SHIPPED_MODELS, code) is None}
    # Of these no sum with its base was found published.
    assert without == {"TABM", "PFM", "CFF", "BCFF", "ECFF", "EAS", "TPB", "BMSB", "CSB", "SWD"}


def test_no_event_is_worded_as_an_order_to_spray() -> None:
    for model in SHIPPED_MODELS:
        for event in model.events:
            assert not any(word in event.name for word in ("spray", "treat", "apply", "insecticide"))


def test_codling_moth_by_the_two_published_units_agrees() -> None:
    """Egg hatch less first moths in the °C list, 220 - 100, is 216 °F degree-days; the °F table begins at 220."""
    celsius = {event.name: event.degree_days for event in SHIPPED_MODELS[2].events if event.generation == 1}
    gap = convert_degree_days(celsius["egg hatch begins"] - celsius["first moths"], TempUnit.C, TempUnit.F)
    assert gap == pytest.approx(216)
    fahrenheit = model_for(SHIPPED_MODELS, "CM", from_biofix=True)
    assert fahrenheit is not None
    assert abs(fahrenheit.events[0].degree_days - gap) < 5


def test_the_offices_own_file_comes_before_what_ships() -> None:
    office, problems = parse(OWN)
    assert problems == ()
    assert office is not None
    assert (office.unit, office.most_filled) == (TempUnit.C, 1)
    model = model_for(office.models, "CM")
    assert model is not None
    assert (model.id, model.office, model.development.upper) == ("our-cm", True, 31.1)
    assert (model.development.method, model.development.cutoff) == (Method.DOUBLE_SINE, Cutoff.INTERMEDIATE)
    assert [(event.name, event.degree_days, event.generation, event.source) for event in model.events] == [
        ("egg hatch begins", 122.5, 1, "office practice"),
        ("second flight", 555, 2, "our own traps, 2019-2024"),
    ]
    rule = rule_for(office.biofix_rules, "CM")
    assert rule is not None
    assert (rule.id, rule.kind, rule.traps, rule.of, rule.sunset) == ("our-cm-run", BiofixKind.TRAPS_OF, 2, 3, 16.7)
    assert rule.moths == Fraction(1)
    assert model_for(office.models, "OFM") is model_for(SHIPPED_MODELS, "OFM")


def test_an_empty_file_changes_nothing() -> None:
    office, problems = parse("")
    assert problems == ()
    assert office == SeasonOffice(SHIPPED_MODELS, SHIPPED_BIOFIX_RULES)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('id = "our-cm"\n', "", "models.toml, model 1: id: is missing"),
        ('species = "CM"\nlower', 'species = "codling moth"\nlower', "is unknown (write CM)"),
        ("lower = 10", "", "lower: is missing"),
        ("lower = 10", "lower = 40", "the upper threshold 31.1 is not above the lower one 40"),
        ("upper = 31.1\n", "", "the cutoff intermediate needs an upper threshold"),
        ('method = "double-sine"', 'method = "average"', "does not know the cutoff intermediate"),
        ('method = "double-sine"', 'method = "sine"', '"sine" is none of the words known here'),
        ('unit = "C"\nmethod', 'unit = "K"\nmethod', '"K" is none of the words'),
        ('starts = "biofix"', 'starts = "02-29"', '"02-29" is no day of every year'),
        ('starts = "biofix"\n', "", "starts: is missing"),
        ("degree_days = 122.5", "", "event 1: degree_days: is missing"),
        ('name = "egg hatch begins"\n', "", "event 1: name: is missing"),
        ("degree_days = 555", "degree_days = -5", "-5 is no number"),
        ("generation = 2", "generation = 0", "0 is no whole number from 1 to 9"),
        ("fill_days = 1", "fill_days = 60", "60 is no whole number from 0 to 31"),
        ("fill_days = 1", "fill_day = 1", 'nothing is known of "fill_day"'),
        ("moths = 1\n", "", "moths: is missing"),
        ("moths = 1\n", "moths = 0\n", "what every reading holds"),
        ("traps = 2\nof = 3\n", "", "traps, of: are needed by traps-of"),
        ("traps = 2\n", "traps = 4\n", "4 of 3 cannot be"),
        ('kind = "traps-of"', 'kind = "mean"', "traps, of: mean nothing to mean"),
        ('kind = "traps-of"', 'kind = "total"', "readings: mean nothing to total"),
        ("readings = 2", 'readings = 2\nscope = "trap"', "scope: trap means nothing to traps-of"),
        ("readings = 2", "readings = 2\nafter_degree_days = 900", "is for later generations"),
        ('sunset = 16.7\nunit = "C"', "sunset = 16.7", "unit: is missing"),
        ("date = 2025-03-01\n\n[[model.event]]", "\n[[model.event]]", "date: is missing"),
        ("[weather]", "[wether]", 'nothing is known of "wether"'),
    ],
)
def test_a_fault_in_the_offices_file_names_the_place_and_the_key(old: str, new: str, words: str) -> None:
    assert old in OWN
    office, problems = parse(OWN.replace(old, new, 1))
    assert office is None
    assert words in "\n".join(map(str, problems))


def test_two_models_of_one_name_are_refused() -> None:
    _, problems = parse(OWN + OWN[OWN.index("[[model]]") :])
    said = "\n".join(map(str, problems))
    assert 'models.toml, model 2 (our-cm): id: "our-cm" is taken' in said
    assert 'models.toml, biofix 2 (our-cm-run): id: "our-cm-run" is taken' in said


def test_a_model_without_events_is_refused() -> None:
    _, problems = parse(OWN[: OWN.index("[[model.event]]")])
    assert "event: is missing" in "\n".join(map(str, problems))


@pytest.mark.parametrize("text", ["model = 1", "model = [1]", "weather = 3", "[[model]]\nevent = 3", "biofix = 'x'"])
def test_a_file_of_another_shape_is_a_problem_and_no_crash(text: str) -> None:
    office, problems = parse(text)
    assert office is None
    assert problems


def test_per_cent_of_egg_hatch_at_the_points_published() -> None:
    """Codling moth 89 % at 1903 and all by 2133 (second), 1 % at 2160 and 6 % at 2270 (third generation); oriental
    fruit moth 11, 14, 19, 29, 36 and 42 % at 2100, 2137, 2200, 2300, 2350 and 2400 (third), °F since the first biofix.

    Source: West Virginia University, The Orchard Monitor, 15 August 2005, 23 July and 6 August 2007.
    """
    printed = {
        "CM": {(2, 89): 1903, (3, 6): 2270},
        "OFM": {
            (3, n): units
            for n, units in zip((11, 14, 19, 29, 36, 42), (2100, 2137, 2200, 2300, 2350, 2400), strict=True)
        },
    }
    for species, points in printed.items():
        model = model_for(SHIPPED_MODELS, species)
        assert model is not None
        hatched = [one for one in model.events if "% of eggs hatched" in one.name]
        assert {(one.generation, int(one.name.split()[0])): one.degree_days for one in hatched} == points
    codling = model_for(SHIPPED_MODELS, "CM")
    assert codling is not None
    by_name = {(one.name, one.generation): one.degree_days for one in codling.events}
    assert 1903 < by_name["egg hatch ends", 2] <= 2133, "all hatched by 2133"
    assert by_name["egg hatch begins", 3] == 2160, "1 % at 2160"


def test_the_first_western_cherry_fruit_fly_of_oregon_is_832_over_41() -> None:
    """462 degree-days over 5 °C from 1 March are 832 over 41 °F. Source: AliNiazee 1979, Can. Entomol. 111."""
    model = model_for(SHIPPED_MODELS, "WCFF")
    assert model is not None
    assert round(convert_degree_days(model.events[0].degree_days, TempUnit.C, TempUnit.F)) == 832
    assert model.starts == "03-01"


def test_no_per_cent_of_egg_hatch_stands_that_was_not_read_published() -> None:
    """Of codling moth's first generation print has no curve but most of the hatch, 340 to 640, with half of all eggs in
    it (Utah); two models of its half are 11 days apart (Chile 2015, bioline.org.br cj15008), and the curve of 1974 is
    off (Knight 2007). The degree-days of 90 % of oriental fruit moth are cut off in the letter of 15 August 2005.
    """
    percent = {
        (model.species, one.generation, int(one.name.split()[0]))
        for model in SHIPPED_MODELS
        for one in model.events
        if "% of eggs hatched" in one.name
    }
    assert not {one for one in percent if one[:2] == ("CM", 1) or one[2] in (50, 90)}
    codling = model_for(SHIPPED_MODELS, "CM", from_biofix=True)
    assert codling is not None
    most = [one.degree_days for one in codling.events if one.name.startswith("most eggs") and one.generation == 1]
    assert most == [340, 640]


def test_two_states_give_the_third_hatch_of_oriental_fruit_moth_the_same_base() -> None:
    """New Jersey prints 2100-2200 over base 45 for the third generation; West Virginia has 11 to 19 % of eggs hatched
    there, without a base. Its 2450-2500, and 1150-1450 of the second, are times to treat and no event.

    Sources: Rutgers, plant-pest-advisory.rutgers.edu, 2023; West Virginia University, 23 July 2007.
    """
    model = model_for(SHIPPED_MODELS, "OFM")
    assert model is not None
    assert (model.development.lower, model.development.unit) == (45, TempUnit.F)
    assert [one.name for one in model.events if 2100 <= one.degree_days <= 2200] == [
        f"{share} % of eggs hatched" for share in (11, 14, 19)
    ]
    assert not {one.degree_days for one in model.events} & {1150, 1200, 1350, 1450, 2450, 2500}


def test_an_office_that_knows_the_base_writes_the_hatch_of_tufted_apple_bud_moth() -> None:
    """7, 22 and 53 % of the second generation at 2258, 2371 and 2610; the base is not printed, so no model ships.

    Source: West Virginia University, The Orchard Monitor, 6 July and 6 August 2007, 15 August 2005.
    """
    head = OWN[: OWN.index("[[model.event]]")].replace('"CM"', '"TABM"')
    points = {7: 2258, 22: 2371, 53: 2610}
    event = '[[model.event]]\nname = "{} % of eggs hatched"\ndegree_days = {}\ngeneration = 2\n'
    office, problems = parse(head + "".join(event.format(*one) for one in points.items()))
    assert (office is not None, problems) == (True, ())
    assert office is not None
    model = model_for(office.models, "TABM")
    assert model is not None
    assert {int(one.name.split()[0]): one.degree_days for one in model.events} == points
    assert model_for(SHIPPED_MODELS, "TABM") is None


def test_three_readings_of_a_day_are_no_extremes() -> None:
    """7, 18 and 8 °C at 9, 15 and 21 h give 1 degree-day over 10 by their mean, 11; taken for extremes, 7 and 18, they
    give 2.5: sums kept by the one are not to be read against the other.

    Source: Funbapa and INTA, infocampo.com.ar/control-de-carpocapsa.
    """
    mean = sum((7, 18, 8)) / 3
    assert day(mean, mean, 10, method=Method.AVERAGE) == pytest.approx(1)
    assert day(7, 18, 10, method=Method.AVERAGE) == pytest.approx(2.5)


def test_the_erlang_curve_of_apple_maggot_has_half_the_flies_out_where_the_event_says() -> None:
    """Mean 1,180 degree-days and shape 65, so a scatter of 146; ripe ovaries 112 later.

    Source: Jones et al. 1989, J. Econ. Entomol. 82. The share out by x is one less the first 65 terms of a Poisson law.
    """
    model = model_for(SHIPPED_MODELS[::-1], "AM")
    assert model is not None
    half, ripe = (one.degree_days for one in model.events)
    assert (half, ripe - half, round(half / 65**0.5)) == (1180, 112, 146)
    rate = 65 * half / 1180
    term, below = exp(-rate), 0.0
    for number in range(65):
        below += term
        term *= rate / (number + 1)
    assert 1 - below == pytest.approx(0.5, abs=0.02)


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"),
    [
        *((638, 1148), (60, 108), (809, 1456), (50, 90)),  # apple maggot, Laing & Heraty 1984
        *((462, 832), (541, 974), (594, 1069), (795, 1431)),  # western cherry fruit fly, AliNiazee 1979
        *((573, 1031), (592, 1066)),  # its first fly in Utah and Washington, Jones et al. 1991
        *((99, 178), (245, 441), (1105, 1989), (1758, 3164)),  # plum curculio, Akotsen-Mensah et al. 2011
        *((170, 306), (210, 378), (616, 1109), (693, 1247)),  # summer fruit tortrix, NIAB
        *((278, 500), (806, 1451), (172, 310), (222, 400)),  # San Jose scale, Ontario
        *((90, 162), (250, 450), (109, 196)),  # codling moth, Argentina; Okanagan's 220 less 111
        *((310, 558), (256, 461)),  # consperse stink bug after its peak; Wisconsin's apple maggot beside Utah's
    ],
)
def test_published_sums_are_the_same_in_both_units(celsius: float, fahrenheit: int) -> None:
    found = convert_degree_days(celsius, TempUnit.C, TempUnit.F)
    assert found == pytest.approx(fahrenheit, abs=0.61)
    assert convert_degree_days(found, TempUnit.F, TempUnit.C) == pytest.approx(celsius)


def test_the_first_fly_of_colorado_is_what_its_early_year_says_of_the_mean() -> None:
    """717 in 2005 were "232 degree days ahead of average", so 949: cropworx.net, June 2005."""
    model = model_for(SHIPPED_MODELS, "WCFF")
    assert model is not None
    assert f"Colorado {717 + 232}" in model.note


def test_the_start_without_a_trap_says_that_it_goes_by_latitude_and_elevation() -> None:
    """175 °F degree-days are Washington's; Utah counts from 1 March, and above 400 m elevation enters the formula.

    Source: ASHS 2018, paper 28094; Jones et al. 2008: mean of 28 years 96 °C degree-days, 68 to 122.
    """
    model = next(one for one in SHIPPED_MODELS if one.id == "shipped-cm-january")
    assert [one.degree_days for one in model.events] == [175]
    assert all(words in model.note for words in ("96", "68 to 122", "latitude", "400 m", "1 March", "28094"))
