"""Running verdicts of samples, each held against the numbers that its source prints."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

import pytest

from roundtui.domain.sampling.data import SHIPPED_SAMPLES
from roundtui.domain.sampling.records import Outcome, Plan, SampleVerdict, Seen, Sought, checkpoint, judge, presence

PLANS = {plan.id: (plan, sought) for sought in reversed(SHIPPED_SAMPLES) for plan in sought.plans}


def said(plan_id: str, looked: int, found: int, counted: int | None = None) -> SampleVerdict:
    plan, sought = PLANS[plan_id]
    return judge(plan, Seen(looked, found, counted), sought.by_presence)


def plan_of(plan_id: str) -> Plan:
    return PLANS[plan_id][0]


@pytest.mark.parametrize(
    ("looked", "found", "words"),
    [
        (60, 0, "stop: below"),
        (60, 1, "stop: below"),
        (60, 2, "30 more"),
        (60, 3, "30 more"),
        (60, 4, "stop: over"),
        (90, 2, "stop: below"),
        (90, 3, "10 more"),
        (90, 4, "stop: over"),
        (100, 3, "stop: below"),
        (100, 4, "stop: over"),
    ],
)
def test_leafroller_stop_limits_are_those_of_maine(looked: int, found: int, words: str) -> None:
    """University of Maine Cooperative Extension, Key apple pest thresholds: obliquebanded leafroller."""
    verdict = said("oblr-maine", looked, found)
    assert verdict.words == words
    assert not verdict.derived


def test_between_two_stops_only_what_must_come_is_said_and_marked_as_arithmetic() -> None:
    assert said("oblr-maine", 12, 4) == SampleVerdict(Outcome.OVER, derived=True, why="so at 60 too")
    assert said("oblr-maine", 12, 3).words == "48 more"
    # One at 75 was one at most at 60, where the plan stops.
    assert said("oblr-maine", 75, 1) == SampleVerdict(Outcome.BELOW, derived=True, why="so at 60")
    assert said("oblr-maine", 75, 2).words == "15 more"
    assert said("oblr-maine", 140, 4).outcome is Outcome.CANNOT_TELL


@pytest.mark.parametrize(
    ("plan", "looked", "found", "words", "derived"),
    [
        # NIAB, rosy apple aphid: any at green cluster, even on 1 of 25 trees.
        ("raa-uk", 25, 0, "stop: below", False),
        ("raa-uk", 25, 1, "stop: over", False),
        ("raa-uk", 3, 1, "stop: over", True),
        ("raa-uk", 24, 0, "1 more", False),
        # NIAB, green apple aphid: more than 30 % of shoots; 2 shoots on 25 trees. 15 of 50 is 30 %.
        ("gaa-uk", 50, 15, "stop: below", False),
        ("gaa-uk", 50, 16, "stop: over", False),
        ("gaa-uk", 30, 16, "stop: over", True),
        ("gaa-uk", 45, 10, "stop: below", True),
        ("gaa-uk", 44, 10, "6 more", False),
        # The same page: 10 % of shoots curling.
        ("gaa-uk-curled", 50, 4, "stop: below", False),
        ("gaa-uk-curled", 50, 5, "stop: over", False),
        # NIAB, fruit tree red spider mite: 7 or more of 50 leaves with 4 or more.
        ("mites-uk", 50, 6, "stop: below", False),
        ("mites-uk", 50, 7, "stop: over", False),
        # NIAB, tortrix: 5 to 8 % of shoots; 500 of them in Belgium.
        ("tortrix-uk", 500, 24, "stop: below", False),
        ("tortrix-uk", 500, 25, "stop: within", False),
        ("tortrix-uk", 500, 40, "stop: over", False),
        # Washington State University: 0.5 % of fruit injured.
        ("fruit-washington", 500, 2, "stop: below", False),
        ("fruit-washington", 500, 3, "stop: over", False),
        ("fruit-washington", 120, 3, "stop: over", True),
        ("fruit-washington", 400, 0, "100 more", False),
        ("fruit-washington", 498, 0, "stop: below", True),
        # Export protocol of Washington: 60 half-fruit on each of 21 trees, and a clean block may stop.
        ("fruit-export-clean", 1260, 0, "stop: below", False),
        ("fruit-export-clean", 1200, 0, "60 more", False),
        ("fruit-export-clean", 1260, 1, "cannot tell", False),
        # Delaware: 1 % of fruit with San Jose scale last season.
        ("sjs-fruit-delaware", 500, 4, "stop: below", False),
        ("sjs-fruit-delaware", 500, 5, "stop: over", False),
    ],
)
def test_share_plans_say_what_their_sources_say(
    plan: str, looked: int, found: int, words: str, *, derived: bool
) -> None:
    verdict = said(plan, looked, found)
    assert (verdict.words, verdict.derived) == (words, derived)


@pytest.mark.parametrize(
    ("plan", "looked", "counted", "words"),
    [
        # Penn State advice: 2.5, 5 and 7.5 mites a leaf as the summer goes on, 100 leaves.
        ("mites-penn-spring", 100, 249, "stop: below"),
        ("mites-penn-spring", 100, 250, "stop: over"),
        ("mites-penn-early-summer", 100, 499, "stop: below"),
        ("mites-penn-early-summer", 100, 500, "stop: over"),
        ("mites-penn-late-summer", 100, 750, "stop: over"),
        ("mites-penn-late-summer", 60, 400, "40 more"),
        # Michigan State University: 5 to 7 a leaf through July, 10 to 15 in August.
        ("mites-michigan-to-july", 75, 374, "stop: below"),
        ("mites-michigan-to-july", 75, 375, "stop: within"),
        ("mites-michigan-to-july", 75, 525, "stop: over"),
        ("mites-michigan-august", 75, 1125, "stop: over"),
        # Kentucky: 500, 1000, 1500 on 100 leaves.
        ("mites-kentucky-to-march", 100, 500, "stop: over"),
        ("mites-kentucky-to-may", 100, 999, "stop: below"),
        ("mites-kentucky-summer", 100, 1500, "stop: over"),
        # Wisconsin: 0.1, 1 and 5 mines a leaf. New York: 2 eggs a leaf.
        ("stlm-wisconsin-1", 100, 9, "stop: below"),
        ("stlm-wisconsin-1", 100, 10, "stop: over"),
        ("stlm-wisconsin-2", 100, 100, "stop: over"),
        ("stlm-wisconsin-3", 100, 499, "stop: below"),
        ("stlm-new-york", 100, 200, "stop: over"),
        # Maine: leafhoppers 1 a leaf at first cover, 2 in July and August; mullein bug 7 to 10 from 25 taps.
        ("leafhopper-maine-first-cover", 100, 100, "stop: over"),
        ("leafhopper-maine-summer", 100, 199, "stop: below"),
        ("potato-leafhopper-maine", 100, 100, "stop: over"),
        ("mullein-bug-maine", 25, 6, "stop: below"),
        ("mullein-bug-maine", 25, 7, "stop: within"),
        ("mullein-bug-maine", 25, 10, "stop: over"),
        # NIAB: 5 weevils from 50 beats; 11 sawfly scars on 100 trusses.
        ("blossom-weevil-uk", 50, 5, "stop: over"),
        ("sawfly-uk", 100, 10, "stop: below"),
        ("sawfly-uk", 100, 11, "stop: over"),
        # Wisconsin: 3 leafroller larvae a tree on 20 units of each of 5 trees.
        ("oblr-wisconsin", 100, 15, "stop: over"),
        # University of California: 3 to 5 strikes a tree of oriental fruit moth, 3 to 4 of peach twig borer.
        ("ofm-strikes-california", 20, 60, "stop: within"),
        ("ofm-strikes-california", 20, 100, "stop: over"),
        ("ptb-strikes-california", 20, 80, "stop: over"),
    ],
)
def test_counted_plans_say_what_their_sources_say(plan: str, looked: int, counted: int, words: str) -> None:
    assert said(plan, looked, min(looked, counted), counted).words == words


def test_mines_not_counted_are_one_a_leaf_at_the_least_and_no_more_is_made_of_them() -> None:
    assert said("stlm-wisconsin-1", 100, 10) == SampleVerdict(
        Outcome.OVER, derived=True, why="10 at the least on 100 already reaches it"
    )
    assert said("stlm-wisconsin-1", 100, 9).outcome is Outcome.CANNOT_TELL
    assert said("stlm-wisconsin-1", 100, 0) == SampleVerdict(Outcome.BELOW)


@pytest.mark.parametrize(
    ("code", "leaves", "mites"),
    [
        *(("ERM", *row) for row in ((10, "0.7"), (12, "1.1"), (15, "1.6"), (17, "2.6"), (20, "4.7"), (22, "11.4"))),
        ("ERM", 24, "15.3"),
        *(("TSM", *row) for row in ((10, "2.1"), (12, "3.0"), (15, "4.1"), (17, "5.4"), (20, "8.5"), (21, "10.1"))),
    ],
)
def test_mites_a_leaf_by_infested_leaves_are_those_of_michigan(code: str, leaves: int, mites: str) -> None:
    """Michigan State University Extension, Managing mites in apples: table of infested leaves out of 25."""
    table = next(sought for sought in SHIPPED_SAMPLES if sought.code == code).by_presence
    assert presence(table, 25, leaves) == (Fraction(mites), Fraction(mites))
    assert presence(table, 100, 4 * leaves) == (Fraction(mites), Fraction(mites))


def test_between_two_rows_of_the_mite_table_nothing_is_assembled() -> None:
    table = next(sought for sought in SHIPPED_SAMPLES if sought.code == "ERM").by_presence
    assert presence(table, 25, 16) == (Fraction("1.6"), Fraction("2.6"))
    assert presence(table, 25, 25) == (Fraction("15.3"), None)
    assert presence(table, 25, 4) == (0, Fraction("0.7"))
    assert said("mites-penn-spring", 100, 60).words == "stop: below"
    assert said("mites-penn-spring", 100, 64).outcome is Outcome.CANNOT_TELL
    assert said("mites-penn-spring", 100, 68).words == "stop: over"
    assert said("mites-penn-spring", 100, 68).derived
    assert said("mites-penn-late-summer", 100, 100).words == "stop: over"


def test_without_a_plan_nothing_is_said() -> None:
    assert judge(None, Seen(100, 50)).words == "no plan"


def test_early_stops_never_say_otherwise_than_the_whole_look_would() -> None:
    """Walked through every way the rest of a sample can go; of a long one every way near its lines."""

    def near(most: int) -> Iterable[int]:
        return sorted({*range(min(most, 60) + 1), most})

    for plan_id in ("raa-uk", "gaa-uk", "mites-uk", "tortrix-uk", "oblr-maine"):
        plan, sought = PLANS[plan_id]
        for looked in range(1, plan.units, 1 + plan.units // 100):
            for found in near(looked):
                early = judge(plan, Seen(looked, found))
                if early.outcome is Outcome.MORE:
                    continue
                ends = {at_end(plan, sought, looked, found, more) for more in near(plan.units - looked)}
                assert ends == {early.outcome}, (plan_id, looked, found)


def at_end(plan: Plan, sought: Sought, looked: int, found: int, more: int) -> Outcome:
    """Where a sample ends that finds so many more, all of them at the end of it."""
    if plan.stops:
        for stop in plan.stops:
            if stop.looked < looked and found <= stop.low:
                return Outcome.BELOW
            here = found + max(0, more - (plan.units - stop.looked)) if stop.looked >= looked else None
            if here is not None and (here <= stop.low or (stop.high is not None and here >= stop.high)):
                return Outcome.BELOW if here <= stop.low else Outcome.OVER
    return judge(plan, Seen(plan.units, found + more), sought.by_presence).outcome


@pytest.mark.parametrize(
    ("plan", "looked", "found", "at"),
    [
        ("oblr-maine", 0, 0, 60),
        ("oblr-maine", 0, 2, 90),
        ("oblr-maine", 0, 3, 100),
        ("oblr-maine", 0, 4, 60),
        ("oblr-maine", 60, 2, 90),
        ("oblr-maine", 60, 5, 90),
        ("gaa-uk", 0, 3, 50),
        ("gaa-uk", 64, 3, 64),
    ],
)
def test_enter_alone_stands_for_the_number_at_which_such_a_sample_ends(
    plan: str, looked: int, found: int, at: int
) -> None:
    assert checkpoint(plan_of(plan), 100, Seen(looked, found)) == at


def test_every_plan_has_its_own_name_a_source_and_a_number() -> None:
    ids = [plan.id for sought in SHIPPED_SAMPLES if sought.code != "TSM" for plan in sought.plans]
    assert len(ids) == len(set(ids))
    for plan, _ in PLANS.values():
        assert plan.source
        assert plan.units > 0
        assert plan.stops or (plan.low is not None and plan.low <= plan.high)  # type: ignore[operator]
