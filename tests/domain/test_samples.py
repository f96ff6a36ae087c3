"""Leaf and fruit samples: what is offered, what is refused, where a fruit sample starts."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest

from roundtui.domain.entries import Sample, SampleKind, Visit
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Block, Farm, Programme, Station, Trap
from roundtui.domain.sampling.data import SHIPPED_SAMPLES, parse_samples
from roundtui.domain.sampling.findings import (
    InfestedDays,
    check_sample,
    day_of_year,
    fruit_sample,
    highest_catch,
    in_the_south,
    infested_days,
    name_of,
    plans_on,
    sample_row,
    sample_table,
    to_look_for,
)
from roundtui.domain.sampling.records import Outcome

DAY = date(2031, 7, 14)
ORCHARD = Programme(
    farms={"HF": Farm("HF", "Hollow")},
    blocks={
        "N": Block("N", "HF", "North", "apple", station="V"),
        "S": Block("S", "HF", "South", "peach"),
    },
    stations={"V": Station("V", "Vale", lat=-41.3)},
    traps=(
        Trap("A1", "N", "CM", row="3", tree="12", hung_on=date(2031, 6, 1)),
        Trap("A2", "N", "CM", hung_on=date(2031, 6, 1)),
        Trap("A3", "N", "OBLR", hung_on=date(2031, 6, 1)),
        Trap("A4", "S", "OFM", hung_on=date(2031, 6, 1)),
    ),
)


def leaf(**more: object) -> Sample:
    fields: dict[str, object] = {
        "block": "N",
        "sampled_on": DAY,
        "kind": SampleKind.LEAF,
        "pest": "ERM",
        "looked_at": "leaf",
        "looked": 100,
        "found": 12,
        "plan": "mites-penn-early-summer",
    }
    return Sample(**{**fields, **more})  # type: ignore[arg-type]


def fruit(**more: object) -> Sample:
    return leaf(**{"kind": SampleKind.FRUIT, "pest": "", "looked_at": "fruit", "plan": "fruit-washington", **more})


def test_what_is_chosen_first_is_what_was_chosen_last_then_what_is_in_season() -> None:
    offered = to_look_for(SHIPPED_SAMPLES, "apple", (7, 14))
    names = [sought.code for sought, _ in offered]
    assert names.index("ERM") < names.index("RAA")
    assert not {sought.code: now for sought, now in offered if sought.kind is SampleKind.LEAF}["RAA"]
    assert "PTB" not in names
    raa = next(name_of(sought) for sought, _ in offered if sought.code == "RAA")
    assert to_look_for(SHIPPED_SAMPLES, "Apple", (7, 14), [raa])[0][0].code == "RAA"
    peach = [sought.code for sought, _ in to_look_for(SHIPPED_SAMPLES, "peach", (7, 14))]
    assert "OFM" in peach
    assert "RAA" not in peach


@pytest.mark.parametrize(
    ("day", "plan"),
    [((5, 31), "spring"), ((6, 1), "early-summer"), ((7, 15), "early-summer"), ((7, 16), "late-summer")],
)
def test_mites_change_their_number_on_the_days_of_penn_state(day: tuple[int, int], plan: str) -> None:
    """Before June 2.5, June to mid-July 5, later 7.5."""
    assert plans_on(SHIPPED_SAMPLES[0], day)[0].id == f"mites-penn-{plan}"


def test_south_of_the_equator_a_plan_holds_half_a_year_later() -> None:
    assert in_the_south(ORCHARD, "N")
    assert not in_the_south(ORCHARD, "S")
    assert day_of_year(date(2031, 1, 14), south=True) == (7, 14)
    assert day_of_year(date(2031, 7, 14), south=True) == (1, 14)
    assert day_of_year(DAY) == (7, 14)


@pytest.mark.parametrize(
    ("sample", "words"),
    [
        (leaf(looked=0, found=0), "0 leaves cannot have been looked at"),
        (leaf(found=101), "101 of 100 leaves cannot have it"),
        (leaf(counted=11), "11 counted on 12 leaves cannot be"),
        (leaf(found=0, counted=3), "3 counted on 0 leaves cannot be"),
        (leaf(beneficials=101), "predators on 101 of 100 leaves cannot be"),
        (leaf(trees=0), "0 trees cannot have been walked to"),
        (leaf(grade=6), "there is no grade 6"),
        (leaf(grade=0), "grade 0 is absent, and 12 leaves had it"),
        (leaf(pest=" "), "nobody knows what was looked for"),
        (leaf(stings=1), "entries, stings and other injury are of fruit"),
        (leaf(block="Z"), "there is no block Z"),
        (leaf(looked_at=""), "nobody knows what was looked at"),
        (fruit(entries=13), "13 fruit with entries cannot be among 12 injured"),
        (fruit(other_injury=13), "13 fruit with other injury cannot be among 12 injured"),
        (fruit(stings=89), "12 injured and 89 with stings are more than 100 fruit"),
    ],
)
def test_only_the_impossible_is_refused_and_named(sample: Sample, words: str) -> None:
    (problem,) = check_sample(sample, ORCHARD)
    assert problem.message == words
    assert problem.where == f"{sample.block} on 2031-07-14"
    assert problem.hint


def test_what_is_possible_is_not_refused() -> None:
    for sample in (leaf(), leaf(found=0, counted=0, grade=0), leaf(counted=400, beneficials=9, trees=10, grade=3)):
        assert check_sample(sample, ORCHARD) == ()
    assert check_sample(fruit(entries=4, stings=88, other_injury=3), ORCHARD) == ()


def test_a_row_shows_share_interval_verdict_and_figure() -> None:
    row = sample_row(leaf(counted=410), SHIPPED_SAMPLES)
    assert (row.share, row.per_unit, row.verdict.words) == (Fraction(12, 100), Fraction("4.1"), "stop: below")
    # Exact interval of 12 in 100, as every table of binomial limits has it: 6.4 to 20.0 %.
    assert [round(100 * end, 1) for end in row.interval] == [6.4, 20.0]
    presence = sample_row(leaf(found=64), SHIPPED_SAMPLES)
    assert presence.by_presence == (Fraction("1.6"), Fraction("2.6"))
    assert presence.verdict.words == "stop: below"
    unknown = sample_row(leaf(plan="last-years"), SHIPPED_SAMPLES)
    assert unknown.verdict.outcome is Outcome.NO_PLAN
    assert unknown.verdict.why == "the plan last-years is not known here"
    assert sample_row(leaf(pest="soot on leaves", plan=""), SHIPPED_SAMPLES).sought.name == "soot on leaves"
    clusters = sample_row(leaf(pest="OBLR", looked_at="cluster", plan="oblr-maine", found=2), SHIPPED_SAMPLES)
    assert clusters.verdict.words == "stop: below"


def test_a_sample_at_the_fruit_starts_at_the_highest_catch_of_the_block() -> None:
    visits = {
        "A1": [Visit(trap="A1", read_on=DAY - timedelta(days=7), count=1), Visit(trap="A1", read_on=DAY, count=9)],
        "A2": [Visit(trap="A2", read_on=DAY - timedelta(days=7), count=40), Visit(trap="A2", read_on=DAY, count=2)],
        "A3": [Visit(trap="A3", read_on=DAY, count=60)],
    }
    start = highest_catch(ORCHARD, lambda trap: visits.get(trap, []), "N", DAY)
    assert start is not None
    assert (start.trap, start.row, start.tree, start.per_week) == ("A1", "3", "12", 9)
    # A trap that was passed over last time still has its newest reading, for a fortnight.
    visits["A1"] = visits["A1"][:1]
    assert highest_catch(ORCHARD, lambda trap: visits.get(trap, []), "N", DAY).trap == "A2"  # type: ignore[union-attr]
    assert highest_catch(ORCHARD, lambda trap: [], "N", DAY) is None
    doubted = highest_catch(ORCHARD, lambda trap: visits.get(trap, []), "N", DAY, trusted=lambda one: one.trap != "A2")
    assert doubted is None or doubted.trap != "A2", "a sample starts at a trap that can be trusted"
    assert highest_catch(ORCHARD, lambda trap: visits.get(trap, []), "N", DAY + timedelta(days=30)) is None


def test_a_sample_at_the_fruit_counts_for_a_fortnight_and_the_newest_one_counts() -> None:
    old, new = fruit(id="1", sampled_on=DAY - timedelta(days=13)), fruit(id="2", sampled_on=DAY)
    assert fruit_sample([old, new], "N", "CM", DAY) is new
    assert fruit_sample([old], "N", "CM", DAY) is old
    assert fruit_sample([old], "N", "CM", DAY + timedelta(days=1)) is None
    assert fruit_sample([replace(old, pest="SJS")], "N", "CM", DAY) is None
    assert fruit_sample([replace(old, pest="SJS")], "N", "SJS", DAY) is not None
    assert fruit_sample([leaf()], "N", "CM", DAY) is None
    assert fruit_sample([new], "S", "CM", DAY) is None


OWN = {
    "code": "ERM",
    "plan": [
        {"id": "ours", "measure": "mean", "high": 3, "source": "our practice", "date": date(2031, 1, 1), "units": 50}
    ],
}


def test_an_office_has_plans_of_its_own_before_those_that_ship() -> None:
    found, problems = parse_samples({"sample": [OWN]}, "samples.toml")
    assert problems == ()
    assert found is not None
    table = sample_table(Office(samples=found))
    assert len(table) == len(SHIPPED_SAMPLES)
    assert [plan.id for plan in plans_on(table[0], (7, 14))][:2] == ["ours", "mites-penn-early-summer"]
    row = sample_row(leaf(looked=50, found=50, counted=150, plan="ours"), table)
    assert row.verdict.words == "stop: over"


def test_an_office_looks_for_what_does_not_ship_by_stops_of_its_own() -> None:
    scab = {
        "code": "SCAB",
        "name": "apple scab",
        "crops": ["Apple"],
        "months": [5, 6],
        "plan": [
            {"id": "scab", "measure": "stops", "stops": [[50, 0, 3]], "source": "our practice", "date": "2031-01-01"}
        ],
    }
    found, problems = parse_samples({"sample": [scab]}, "samples.toml")
    assert problems == ()
    row = sample_row(leaf(pest="SCAB", looked=50, found=0, plan="scab"), sample_table(Office(samples=found or ())))
    assert (row.verdict.words, row.sought.name) == ("stop: below", "apple scab")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"id": "oblr-maine"}, "is taken"),
        ({"measure": "mood"}, "none of the words"),
        ({"high": None}, "are both missing"),
        ({"low": 4}, "is above high"),
        ({"measure": "share"}, "more than the whole"),
        ({"source": None}, "source: is missing"),
        ({"date": None}, "date: is missing"),
        ({"first": "06-01"}, "belong together"),
        ({"first": "06-41", "last": "07-01"}, "no day of every year"),
        ({"stops": [[60, 1, 4]]}, "has no meaning in a plan by mean"),
        ({"measure": "stops"}, "stops: is missing"),
        ({"measure": "stops", "high": None, "stops": [[60, 4, 1]]}, "no list of stops"),
        ({"measure": "stops", "stops": [[60, 1, 4]]}, "have no meaning in a plan of stops"),
        ({"colour": "red"}, "nothing is known of"),
        ({"units": 0}, "no whole number"),
        ({"low": 2, "above": True}, "belongs to a single number"),
    ],
)
def test_a_faulty_plan_of_an_office_is_named(change: dict[str, object], words: str) -> None:
    plan = {key: value for key, value in {**OWN["plan"][0], **change}.items() if value is not None}  # type: ignore[dict-item]
    found, problems = parse_samples({"sample": [{**OWN, "plan": [plan]}]}, "samples.toml")
    assert found is None
    assert any(words in str(problem) for problem in problems), problems
    assert all(problem.where.startswith("samples.toml, sample 1 (ERM)") for problem in problems)


def test_mites_add_up_over_the_days_between_samples() -> None:
    """10 % then 30 % seven days later are 140 leaf-infested days; with 1 and 3 mites a leaf, 14 mite-days.

    Source of the formula: Tree Fruit 2019, treefruit.com.au, mite management part 4; the numbers are derived.
    """
    rows = [
        sample_row(
            leaf(pest="ERM", looked=100, found=found, counted=mites, sampled_on=date(2025, 7, on)), SHIPPED_SAMPLES
        )
        for on, found, mites in ((1, 10, 100), (8, 30, 300), (15, 30, None))
    ]
    name = rows[0].sought.name
    assert infested_days(rows[:1]) == {}
    first, last, days = infested_days(rows[1::-1])["N", name]
    assert (first.day, last.day, days.leaves, days.animals) == (1, 8, 140, 14)
    assert infested_days(rows)["N", name][2] == InfestedDays(Fraction(350), None), "not counted in the last"


def test_a_fruit_with_two_larvae_is_one_fruit() -> None:
    """ "A fruit with two live larvae is counted as only a single fruit infested."

    Source: Washington State University, entomology.tfrec.wsu.edu/Cullage_Site/CM_Sampling.html.
    """
    row = sample_row(fruit(looked=1260, found=1, counted=2, plan="fruit-export-clean"), SHIPPED_SAMPLES)
    assert (row.share, row.per_unit) == (Fraction(1, 1260), Fraction(2, 1260))
    assert row.verdict.outcome is not Outcome.BELOW
