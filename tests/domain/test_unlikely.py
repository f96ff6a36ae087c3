"""Counts that past and round make unlikely, against worked values and scipy."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import exp, log
from random import Random

import pytest
from scipy import optimize, stats

from roundtui.domain.figures.unlikely import (
    LEAST_LOST,
    LEAST_RATIO,
    START,
    UNKNOWN,
    Known,
    Marks,
    Others,
    Past,
    Seen,
    SlipKind,
    _marks,
    _scatter,
    after_round,
    at_least,
    expected,
    log_chance,
    means_in_order,
    others_of,
    slip,
    with_marks,
)

ROUNDS = [
    (1, [Seen("A", 4, 1), Seen("B", 6, 1), Seen("C", 2, 1)]),
    (2, [Seen("A", 8, 1), Seen("B", 9, 1), Seen("C", 3, 1)]),
]
NOW = [Seen("B", 10, 1), Seen("C", 5, 1)]
USUAL = Marks(scatter=1.6)


def learn(rounds: Iterable[tuple[int, Sequence[Seen]]]) -> Past:
    """What the rounds of a species show, the oldest first."""
    past = Past()
    for week, seen in rounds:
        past = after_round(past, week, seen, means_in_order(past, week, seen))
    return with_marks(past)


@pytest.mark.parametrize(
    ("count", "mean", "k", "value"),
    [
        (120, 12, 1.6, -15.454608),
        (30, 3, 1.6, -12.343887),
        (1, 12, 1.6, -3.079265),
        (2, 25, 3.5, -5.538357),
        (500, 30, 1.6, -26.910599),
        (12, 12, 1.6, -3.283707),
    ],
)
def test_chances_of_counts_are_the_worked_ones_and_scipys(count: int, mean: float, k: float, value: float) -> None:
    assert log_chance(count, mean, k) == pytest.approx(value, abs=1e-6)
    assert log_chance(count, mean, k) == pytest.approx(stats.nbinom.logpmf(count, k, k / (k + mean)), abs=1e-9)


def test_log_ratios_of_slips_are_the_worked_ones() -> None:
    def ratio(one: int, other: int, mean: float, k: float = 1.6) -> float:
        return log_chance(one, mean, k) - log_chance(other, mean, k)

    found = [ratio(12, 120, 12), ratio(3, 30, 3), ratio(50, 500, 30), ratio(12, 122, 12)]
    assert found == pytest.approx([12.170901, 10.286560, 22.008902, 12.411375], abs=1e-6)
    for count, mean, k, wanted in ((1, 12, 1.6, 1.910829), (2, 25, 3.5, 4.248087)):
        more = slip(count, mean, Marks(k, fewer=wanted - 1e-5))
        assert more is not None
        assert more.kind is SlipKind.LOST
        assert slip(count, mean, Marks(k, fewer=wanted + 1e-5)) is None


def test_what_is_expected_of_a_trap_is_its_height_times_what_the_others_caught() -> None:
    past = learn(ROUNDS)
    found = [
        expected(past, Seen("A", 0, 1), others_of(past, NOW), 3),
        expected(past, Seen("A", 0, 9 / 7), others_of(past, NOW), 3),
        expected(past, Seen("D", 0, 1), others_of(past, [Seen("A", 12, 1), *NOW]), 3),
    ]
    assert [mean for mean, _ in found] == pytest.approx([8.732191, 11.227103, 7.884780], abs=1e-6)
    assert {known for _, known in found} == {Known.OTHERS}


def test_the_first_trap_of_a_round_is_held_against_the_last_round() -> None:
    past = learn(ROUNDS)
    assert past.level == pytest.approx(20 / (past_height(4, 4) + 7 / 4 + 3 / 6))
    mean, known = expected(past, Seen("D", 0, 1), Others(), 3)
    assert known is Known.FIRST
    assert mean == pytest.approx(past.level)


def past_height(moths: int, due: float) -> float:
    return (1 + moths) / (1 + due)


def test_a_trap_alone_in_its_species_is_held_against_its_own_last_two_readings() -> None:
    past = learn([(week, [Seen("A", moths, 1)]) for week, moths in enumerate((20, 4, 5))])
    mean, known = expected(past, Seen("A", 0, 1), Others(), 3)
    assert known is Known.ALONE
    assert mean == pytest.approx((4 + 5 + 0.3) / 2)


def test_the_last_round_of_last_year_says_nothing_of_the_first_of_this() -> None:
    past = learn([(1, [Seen("A", 0, 1), Seen("B", 0, 1)])])
    assert expected(past, Seen("A", 0, 1), Others(), 30) == (2, Known.NOTHING)
    assert slip(3, 2, past.marks_of(Known.NOTHING)) is None


def test_of_a_trap_without_any_record_forty_eight_are_taken_and_forty_nine_marked() -> None:
    mean, known = expected(Past(), Seen("A", 0, 1), Others(), 1)
    assert known is Known.NOTHING
    assert next(count for count in range(60) if slip(count, mean, UNKNOWN)) == 49


@pytest.mark.parametrize("level", [2, 10, 30, 50])
def test_a_first_reading_of_five_hundred_is_always_marked(level: int) -> None:
    found = slip(500, level, Marks(scatter=0.8))
    assert found is not None
    assert found.instead == 50
    assert log_chance(50, level, 0.8) - log_chance(500, level, 0.8) == pytest.approx(
        {2: 152, 10: 35, 30: 12, 50: 7.6}[level], rel=0.05
    )


def test_the_mark_names_the_slip() -> None:
    assert slip(120, 8.7, USUAL).words(120) == "120? 12 would fit (8.7 expected)"
    assert slip(99, 8.7, USUAL).words(99) == "99? 9 would fit (8.7 expected)"
    assert slip(1, 40, Marks(scatter=5)).words(1) == "1? 10 to 19 would fit (40 expected)"
    high = slip(75, 3.0, USUAL)
    assert high is not None
    assert high.words(75) == "75? far above the usual (3.0 expected)"
    assert slip(12, 8.7, USUAL) is None
    assert replace(high, expected=9.95).words(75) == "75? far above the usual (10 expected)"
    assert replace(high, expected=9.94).words(75) == "75? far above the usual (9.9 expected)"


def test_moths_left_in_are_no_part_of_what_is_expected() -> None:
    assert slip(40, 4.0, USUAL) is not None
    assert slip(40, 4.0, USUAL, carried=36) is None
    assert slip(400, 30.0, USUAL, carried=360) is None, "nor do they make a count far above the usual"


def test_an_honest_zero_is_never_marked() -> None:
    assert slip(0, 200.0, Marks(scatter=20)) is None


def rounds_of(luck: Random, traps: int, weeks: int, k: float, first: int = 0) -> list[tuple[int, list[Seen]]]:
    def count(mean: float) -> int:
        rate, at, number = luck.gammavariate(k, mean / k), luck.expovariate(1.0), 0
        while at < rate:
            at, number = at + luck.expovariate(1.0), number + 1
        return number

    return [(first + week, [Seen(f"T{at}", count(6.0), 1.0) for at in range(traps)]) for week in range(weeks)]


def test_marks_follow_the_scatter_of_the_record_and_seldom_hit_an_honest_count() -> None:
    luck = Random(5)
    past = learn(rounds_of(luck, 20, 20, 1.6))
    assert 0.8 < past.marks_of(Known.OTHERS).scatter < 1.8, "the traps' own, less what the others leave open"
    marked = typed = 0
    for week, seen in rounds_of(luck, 20, 40, 1.6, first=20):
        for at, one in enumerate(seen):
            mean, known = expected(past, one, others_of(past, seen[:at]), min(week, 22))
            marked += slip(one.moths, mean, past.marks_of(known)) is not None
            typed += 1
    assert marked <= typed / 60


def test_the_scatter_learned_is_near_that_of_the_record() -> None:
    """Maximum of the likelihood of a negative binomial, far below and far above the usual scatter; the means it is
    held against are learned from few rounds and scatter too.
    """
    luck = Random(5)
    for k, low, high in ((0.5, 0.15, 0.8), (8.0, 2.5, 14.0)):
        marks = learn(rounds_of(luck, traps=12, weeks=20, k=k)).marks[Known.OTHERS]
        assert low < marks.scatter < high


@pytest.mark.parametrize("k", [0.3, 0.5, 1.6, 5.0, 12.0])
def test_the_scatter_learned_is_the_likeliest(k: float) -> None:
    kept = [(int(stats.nbinom.ppf((at + 0.5) / 100, k, k / (k + 6))), 6.0) for at in range(100)]

    def badness(log_k: float) -> float:
        return (log_k - log(START)) ** 2 / 2 - sum(log_chance(count, mean, exp(log_k)) for count, mean in kept)

    best = optimize.minimize_scalar(badness, bounds=(log(0.15), log(20)), method="bounded").x
    assert log(_scatter(kept)) == pytest.approx(best, abs=0.075)


def test_ten_may_be_one_with_a_zero_too_many() -> None:
    found = slip(10, 0.8, Marks(scatter=1.6, more=1.0))
    assert found is not None
    assert (found.kind, found.instead) == (SlipKind.ZERO, 1)


def test_the_mark_names_the_likelier_slip_beside_the_moths_left_in() -> None:
    """11 and 10 would both fit 110; five moths were left in, and six new ones are likelier than five."""
    found = slip(110, 17, Marks(scatter=5), carried=5)
    assert found is not None
    assert found.instead == 11


def test_a_short_record_has_the_least_marks() -> None:
    marks = learn(ROUNDS).marks[Known.OTHERS]
    assert (LEAST_RATIO, LEAST_LOST) == (50, 10)
    assert (marks.more, marks.fewer) == pytest.approx((log(50), log(10)))


def test_in_four_hundred_counts_one_may_be_far_above_the_usual() -> None:
    """In 1,200 the fourth of those that are more than twice what was expected."""
    marks = _marks([(2, 2.0)] * 1195 + [(count, 100.0) for count in (240, 280, 250, 270, 260)])
    assert marks.tail == pytest.approx(at_least(250, 100.0, marks.scatter))
    assert [slip(count, 100.0, marks) is None for count in (250, 251)] == [True, False]


def test_from_so_many_counts_on_one_may_pass_each_mark() -> None:
    """In 150 counts the second of those that a digit too many would explain, and of those with one too few."""
    kept = [(2, 2.0)] * 144 + [(110, 3.0), (100, 3.0), (990, 3.0), (1, 60.0), (1, 80.0), (2, 90.0)]
    marks = _marks(kept)

    def chance(count: int, mean: float) -> float:
        return log_chance(count, mean, marks.scatter)

    more = sorted(
        max(chance(a, 3.0), chance(b, 3.0)) - chance(c, 3.0)
        for a, b, c in ((11, 10, 110), (10, 10, 100), (99, 90, 990))
    )
    fewer = sorted(
        log(sum(exp(chance(10 * count + digit, mean)) for digit in range(10))) - chance(count, mean)
        for count, mean in ((1, 60.0), (1, 80.0), (2, 90.0))
    )
    assert marks.more == pytest.approx(max(log(LEAST_RATIO), more[1]))
    assert marks.fewer == pytest.approx(max(log(LEAST_LOST), fewer[1]))
    found = [slip(count, 3.0, marks) for count in (100, 110, 990)]
    assert [one.kind for one in found if one] == [SlipKind.HIGH, SlipKind.HIGH, SlipKind.DOUBLED], "110 was the second"
    assert _marks(kept[1:]).more == pytest.approx(log(LEAST_RATIO))
    marks = _marks([(2, 2.0)] * 200 + [(110, 3.0), (1, 60.0), (1, 80.0)])
    lost = log(sum(exp(chance(10 + digit, 60.0)) for digit in range(10))) - chance(1, 60.0)
    assert marks.fewer == pytest.approx(lost)
    assert marks.fewer > log(LEAST_LOST)
    assert [slip(1, mean, marks) is None for mean in (60.0, 80.0)] == [True, False], "it was drawn from the first"
