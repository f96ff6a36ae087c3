"""Where traps hang, beside what is published on it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from itertools import combinations

import pytest

from roundtui.domain.entries import Visit
from roundtui.domain.figures.figures import Reading, series
from roundtui.domain.figures.integrity import Integrity
from roundtui.domain.inventory.plan_rules import ANY_SPECIES, CM_CLOSE, CM_WIDE, SHIPPED_DENSITY, FindRule, density_of
from roundtui.domain.programme.farm import Block, Farm, Programme, Trap
from roundtui.domain.programme.species import SPECIES
from roundtui.domain.traps.finds import Caught, no_catch, watch
from roundtui.domain.traps.placement import PLACE_RULES, Asks, advice_for, advice_on, distance_m, rule_for
from tests.domain.orchard import Orchard, day

ON = date(2026, 6, 2)
HUNG = date(2026, 5, 5)


def trap(label: str, **more: object) -> Trap:
    return Trap(label, "B", **({"species": "CM", "hung_on": HUNG} | more))  # type: ignore[arg-type]


def advised(*traps: Trap, area: int | None = None) -> list[tuple[str, Asks, str]]:
    block = Block("B", "F", "Block", "apple", area_ha=None if area is None else Fraction(area))
    known = Programme(farms={"F": Farm("F", "Farm")}, blocks={"B": block}, traps=traps)
    return [(one.trap, one.rule.asks, one.partner) for one in advice_on(known, ON)]


def test_the_distance_of_two_points_agrees_with_a_published_worked_example() -> None:
    # The formula is that of R. W. Sinnott, "Virtues of the Haversine", Sky and Telescope 68(2), 1984. The pair, two
    # airports, goes with it in open textbooks: 2886.4 km on a sphere of 6371 km (from memory).
    nashville, los_angeles = trap("N", lat=36.12, lon=-86.67), trap("L", lat=33.94, lon=-118.40)
    away = distance_m(nashville, los_angeles)
    assert away is not None
    assert away / 1000 == pytest.approx(2886.45, abs=0.2)


def test_a_minute_of_latitude_is_a_sea_mile() -> None:
    # The nautical mile was defined as the mean minute of latitude: 1852 m, BIPM, SI Brochure 8th edition, table 8.
    away = distance_m(trap("A", lat=45.0, lon=9.0), trap("B", lat=45.0 + 1 / 60, lon=9.0))
    assert away == pytest.approx(1852, rel=0.002)


def test_two_traps_of_a_species_nearer_than_fifty_metres_are_named_once() -> None:
    # 50 to 100 m: Ontario Ministry of Agriculture, Guidelines for using pheromone and visual traps in orchards.
    near, far = 49.9 / 111_195, 50.1 / 111_195
    assert advised(trap("A", lat=45.0, lon=9.0), trap("B", lat=45.0 + near, lon=9.0)) == [("A", Asks.SAME_SPECIES, "B")]
    assert advised(trap("A", lat=45.0, lon=9.0), trap("B", lat=45.0 + far, lon=9.0)) == []


def test_another_species_is_to_be_ten_metres_away() -> None:
    # About 10 m: NIAB, How to sample.
    cm, ofm = trap("A", lat=45.0, lon=9.0), trap("B", species="OFM", lat=45.0, lon=9.0 + 9.5 / 78_626)
    assert ("A", Asks.OTHER_SPECIES, "B") in advised(cm, ofm)
    assert [one.partner for one in advice_for(ofm, [cm, ofm])] == ["A"]
    assert "9 m from A (CM)" in advice_for(ofm, [cm])[0].found


def test_two_rows_from_the_edge_are_too_near_for_codling_moth_and_right_for_apple_maggot() -> None:
    # At least two rows in, outer row for apple maggot: Ontario, as above.
    def of(species: str, row: str, **more: object) -> list[Asks]:
        return [one.rule.asks for one in advice_for(trap("A", species=species, row=row, **more), [])]

    assert of("CM", "2") == [Asks.ROWS_IN]
    assert of("CM", "3") == []
    assert of("CM", "2", edge=True) == []
    assert of("CM", "by the gate") == []
    assert of("AM", "4") == [Asks.OUTER_ROW]
    assert of("AM", "1") == []


def test_a_trap_for_san_jose_scale_hangs_five_trees_in() -> None:
    # Five trees from the edge: University of California IPM, Peach: Pheromone Traps.
    assert [one.rule.asks for one in advice_for(trap("A", species="SJS", tree="5"), [])] == [Asks.TREES_IN]
    assert advice_for(trap("A", species="SJS", tree="6"), []) == ()


@pytest.mark.parametrize(
    ("species", "height_m", "right"),
    [
        ("CM", 1.7, False),  # 6 to 8 ft, or the upper third: UC IPM, Pear
        ("CM", 4.5, True),
        ("OFM", 2.4, True),  # 6 to 8 ft: UC IPM, Peach
        ("OFM", 3.0, False),
        ("GPTB", 0.8, True),  # 2 to 3 ft: UC IPM, Apricot
        ("GPTB", 1.8, False),
        ("LPTB", 1.5, True),  # 1.2 to 1.8 m: a supplier's sheet; California's 2 to 3 ft are of the peachtree borer
        ("LPTB", 0.8, False),
        ("DWB", 1.2, True),  # about 1.2 m: Ontario
        ("DWB", 2.0, False),
        ("TABM", 0.1, True),  # nobody known prints a height
    ],
)
def test_heights_are_held_against_what_is_published(species: str, height_m: float, right: bool) -> None:
    assert (advice_for(trap("A", species=species, height_m=height_m), []) == ()) is right


def test_one_trap_alone_and_too_much_ground_for_a_trap_are_named() -> None:
    # Two traps a species, one for 10 acres over 20 acres: Intermountain guide. CM one for 5 acres: UC IPM, Pear.
    assert advised(trap("A")) == [("", Asks.NUMBER, "")]
    assert advised(trap("A"), trap("B"), area=5) == [("", Asks.DENSITY, "")]
    assert advised(trap("A"), trap("B"), area=4) == []
    tabm = [trap(label, species="TABM") for label in "AB"]
    assert advised(*tabm, area=8) == []
    assert advised(*tabm, area=9) == [("", Asks.DENSITY, "")]


def test_a_trap_that_is_down_or_without_a_position_is_not_advised_about() -> None:
    near = {"lat": 45.0, "lon": 9.0}
    down = trap("C", down_on=date(2026, 5, 20), **near)
    assert advised(trap("A", **near), trap("B"), down) == []


def test_every_rule_names_a_source_and_no_two_rules_ask_the_same_of_a_species() -> None:
    assert all(rule.source and rule.words for rule in PLACE_RULES)
    for one, other in combinations(PLACE_RULES, 2):
        assert one.asks is not other.asks or not set(one.species or {""}) & set(other.species or {""})
    assert {code for rule in PLACE_RULES for code in rule.species} <= set(SPECIES)
    assert rule_for(Asks.DENSITY, "CM") != rule_for(Asks.DENSITY, "OFM")


def test_plan_and_register_take_how_much_ground_a_trap_has_from_one_table() -> None:
    """WSU (Brunner 1993, rev. 2018): codling moth a trap to 2.5 acres; UC IPM, Pear: to 5. An acre is 0.4047 ha."""
    planned, registered = density_of(SHIPPED_DENSITY, "CM"), rule_for(Asks.DENSITY, "CM")
    assert planned is not None
    assert registered is not None
    assert (round(float(planned.ha_per_trap or 0), 2), registered.high) == (1.01, 2.02)
    for words, source in (("2.5 acres (1.0 ha)", CM_CLOSE.source), ("5 acres (2.0 ha)", CM_WIDE.source)):
        assert f"{words}: {source}" in planned.source
        assert words in f"{registered.words} {registered.otherwise}"
        assert source in f"{registered.source} {registered.otherwise}"
    planned, registered = density_of(SHIPPED_DENSITY, "TABM"), rule_for(Asks.DENSITY, "TABM")
    assert planned is not None
    assert registered is not None
    assert (planned.ha_per_trap, planned.over_ha) == (ANY_SPECIES.ha_per_trap, ANY_SPECIES.over_ha)
    assert (registered.high, registered.source) == (4.05, ANY_SPECIES.source)


@pytest.mark.parametrize(
    ("north", "metres", "radius", "inside"),
    [(47.40719, 799, 1000, True), (47.409, 1001, 1000, False), (47.4434, 4826, 4828.032, True)],
)
def test_two_finds_and_a_published_radius(north: float, metres: int, radius: float, inside: bool) -> None:
    """Two adults within 1,000 m (Chile, Lobesia botrana strategy 2015-16, studylib.es) or within 3 miles (USDA APHIS,
    Fruit fly emergency response triggers, docslib.org/doc/5514526). The places are made for the test."""
    away = distance_m(trap("A", lat=47.4, lon=-120.3), trap("B", lat=north, lon=-120.3))
    assert away is not None
    assert round(away) == metres
    assert (away <= radius) is inside


LOBESIA = FindRule(
    species="CM",
    source="Chile, Lobesia botrana strategy 2015-16",
    finds=2,
    within_m=1000,
    days=60,
    zones_m=(1000, 3000),
    clear_days=84,
    act_hours=48,
)
THREE_MILES = 4828.032


def find(label: str, on: date, number: int | None = 1, north: float | None = 47.4, *, lure: bool = True) -> Caught:
    """A week's catch; its place is made for the test."""
    hung = trap(label, lat=north, lon=None if north is None else -120.3)
    visit = Visit(trap=label, read_on=on, count=number, recorded_at=datetime(2018, 1, 31, 16, tzinfo=UTC))
    return hung, Reading(label, on, on - timedelta(days=7), number or 0, number, (visit,), suspect=not lure)


def test_two_adults_near_each_other_in_a_cycle_make_an_outbreak_and_zones_about_them() -> None:
    """Two within 1,000 m in one or two cycles, or both in one trap; one, or two 1,001 m apart, do not. Zones of 1 and
    3 km. The wait of the second: 12 weeks without a find, lifted on 25 April after one of 31 January 2018; something is
    to be done within 48 hours of confirmation. A trap that nobody read by then holds the wait.

    Sources: SAG (Chile), Lobesia botrana strategy 2015-16, studylib.es; Hortgro (South Africa), Bactrocera dorsalis;
    NAPPO, RSPM 20, page 13.
    """
    first = date(2018, 1, 3)
    hung = [trap("A", lat=47.4, lon=-120.3), trap("B", lat=47.42, lon=-120.3), trap("C", species="OFM")]
    one = find("A", first)
    assert [watch(LOBESIA, finds, hung).met for finds in ([], [one], [find("A", first, 2)])] == [False, False, True]
    near, far = find("D", date(2018, 1, 31), north=47.40719), find("D", date(2018, 1, 31), north=47.409)
    late = find("D", date(2018, 4, 1), north=47.40719)
    assert [watch(LOBESIA, [one, other], hung).met for other in (near, far, late)] == [True, False, False]
    none = [find("B", date(2018, 4, 20), 0), find("A", date(2018, 4, 25), 0), find("D", date(2018, 5, 2), 0)]
    found = watch(LOBESIA, [one, near, *none], hung)
    assert [(row.trap, metres) for row, _, metres in found.finds] == [("D", 0), ("A", 799)]
    assert [zone[:2] for zone in found.zones] == [(1000, ("A",)), (3000, ("A", "B"))]
    assert (found.clear_on, found.not_read) == (date(2018, 4, 25), ("B",)), "not read is never zero"
    assert found.act_by == datetime(2018, 2, 2, 16, tzinfo=UTC)
    unsure = [find(label, date(2018, 5, 2), 0, lure=False) for label in "AB"]
    assert watch(LOBESIA, [one, near, *unsure, none[2]], hung).not_read == ("A", "B"), (
        "nor is a zero under a wrong lure"
    )


def test_a_first_find_a_second_and_a_number_that_goes_by_the_hosts_are_rules_of_their_own() -> None:
    """Mediterranean fruit fly: one find delimits; a second within 3 miles in a life cycle is quarantine. Oriental fruit
    fly: 8 within 3 miles where all are farther than 4.5 miles from commercial hosts, 6 where one is nearer; which of
    the two rules holds, the programme says. The places are 4,826 m apart.

    Source: USDA APHIS, Fruit Fly Emergency Response Triggers, docslib.org/doc/5514526.
    """
    first, second, six, eight = (replace(LOBESIA, finds=least, within_m=THREE_MILES) for least in (1, 2, 6, 8))
    one, other = find("A", ON), find("B", ON, north=47.4434)
    assert [watch(first, [one], []).met, watch(second, [one], []).met] == [True, False], "delimit"
    assert watch(second, [one, other], []).met is True, "quarantine"
    for flies, near, far in ((5, False, False), (6, True, False), (7, True, False), (8, True, True)):
        finds = [one, find("B", ON, flies - 1, north=47.4434)]
        assert [watch(rule, finds, []).met for rule in (six, eight)] == [near, far]


def test_a_find_without_a_place_a_name_or_a_sure_count_cannot_be_told() -> None:
    """None is "not met": its trap may hang beside the other, its moth may be of the species."""
    one, nowhere = find("A", date(2018, 1, 3)), find("E", date(2018, 1, 4), north=None)
    found = watch(LOBESIA, [one, nowhere], [])
    assert (found.met, found.why) == (None, "E has no coordinates")
    two_counts, wrong_lure = find("B", date(2018, 1, 4), None), find("B", date(2018, 1, 4), 3, lure=False)
    for readings, waiting in (([one], ["B"]), ([one, two_counts], []), ([wrong_lure], [])):
        found = watch(LOBESIA, readings, [], waiting)
        assert (found.met, found.why) == (None, "the catch of B is not settled")
    assert watch(LOBESIA, [one, find("B", date(2018, 1, 4), 0, lure=False)], []).met is False


def test_no_catch_within_half_a_mile_says_which_nights_nobody_knows_of() -> None:
    """A certificate of Washington State reads "no apple maggot flies were caught within half a mile of the orchard":
    804.672 m. Two traps over 14 days, one of them read after a week and not again: 21 nights of 28 are known.
    """
    made = Orchard()
    made.hang("A1", on="07-01", lat=47.4, lon=-120.3)
    made.hang("A2", on="07-01", block="N2", lat=47.40719, lon=-120.3)
    made.hang("A3", on="07-01", block="N3", lat=47.409, lon=-120.3)
    made.hang("A4", on="07-01", block="N4")
    for label, on, count in (("A1", "07-08", 0), ("A1", "07-15", 0), ("A2", "07-08", 0), ("A3", "07-08", 9)):
        made.visit(label, on, count)
    rows, integrity = made.traps, Integrity(troubles=(), spells={})
    every = [one for row in rows for one in series((row,), [v for v in made.visits if v.trap == row.trap], integrity)]
    days = day("07-01"), day("07-15")
    found = no_catch(("N1", 804.672), every, rows, days, ["A2", "A3"])
    assert (found.traps, found.readings, found.caught, found.nights, found.open_nights) == (("A1", "A2"), 3, 0, 21, 7)
    assert (found.not_settled, found.placeless) == (("A2",), ("A4",))
    assert no_catch(("N1", 1100), every, rows, days).caught == 9
