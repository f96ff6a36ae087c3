"""A treated block held against untreated ones of the same rounds, against worked values and scipy."""

from __future__ import annotations

from math import exp, log

import pytest
from scipy import stats

from roundtui.domain.figures.certainty import Catch
from roundtui.domain.figures.untreated import ASSUMED, Sides, Timing, compare, timing
from roundtui.domain.intervals import student, student_t


def sides(before: int, weeks_before: float, after: int, weeks_after: float) -> Sides:
    return Sides(Catch(before, weeks_before), Catch(after, weeks_after))


OTHERS = [sides(40, 9, 36, 9), sides(22, 9, 25, 9), sides(60, 12, 50, 12), sides(31, 9, 20, 9), sides(18, 6, 15, 6)]
FELL = sides(45, 9, 6, 9)


def test_a_fall_that_the_untreated_blocks_do_not_share_is_told() -> None:
    found = compare(FELL, OTHERS, 1.8, Timing(0.1, 20))
    assert (found.fall, found.error, found.timing, found.degrees) == pytest.approx(
        (-1.792360, 0.636223, 0.055900, 24), abs=1e-6
    )
    assert (found.others, found.expected) == pytest.approx((0.857658, 38.594613), abs=1e-6)
    assert (found.by_luck, found.half_by_luck) == pytest.approx((0.004770, 0.951556), abs=1e-6)
    assert found.is_down is True


def test_a_small_fall_is_too_little_to_say() -> None:
    found = compare(sides(45, 9, 30, 9), OTHERS[:3], 1.8, Timing(0.2, 5))
    assert (found.fall, found.error, found.timing, found.degrees) == pytest.approx(
        (-0.332595, 0.607148, 0.101155, 7), abs=1e-6
    )
    assert (found.by_luck, found.half_by_luck) == pytest.approx((0.300426, 0.285650), abs=1e-6)
    assert found.is_down is None


def test_one_untreated_block_is_too_little_for_the_same_fall() -> None:
    found = compare(FELL, OTHERS[:1], 1.8, Timing(0.2, 5))
    assert (found.fall, found.error, found.degrees, found.by_luck) == pytest.approx(
        (-1.841920, 0.935322, 5, 0.053010), abs=1e-6
    )
    assert found.is_down is None


def test_a_catch_that_stays_is_said_not_to_come_down() -> None:
    many = [sides(60, 12, 58, 12)] * 8
    assert compare(sides(60, 12, 66, 12), many, 5, Timing(0.01, 20)).is_down is False


def test_the_natural_fall_of_a_flight_is_no_coming_down() -> None:
    falling = [sides(60, 9, 12, 9), sides(48, 9, 9, 9), sides(75, 9, 18, 9), sides(30, 9, 7, 9)]
    assert compare(sides(54, 9, 12, 9), falling, 2, Timing(0.1, 20)).is_down is None


def test_few_moths_to_expect_say_nothing() -> None:
    assert compare(sides(5, 9, 0, 9), OTHERS, 1.8, Timing(0.0, 20)).is_down is None


def test_without_untreated_blocks_there_is_no_verdict() -> None:
    assert compare(FELL, [], 2, Timing(0.1, 20)) is None
    assert compare(FELL, OTHERS[:2], 2, ASSUMED) is None
    assert compare(FELL, OTHERS[:3], 2, ASSUMED) is not None


def test_the_interval_of_the_share_holds_four_in_five() -> None:
    found = compare(FELL, OTHERS, 1.8, Timing(0.1, 20))
    reach = stats.t.ppf(0.9, 24) * found.error
    assert found.interval == pytest.approx((exp(found.fall - reach), exp(found.fall + reach)), rel=1e-9)
    assert found.interval[0] < found.share < found.interval[1]


def test_students_distribution_is_scipys() -> None:
    assert [student(-1.7, 24), student(-2.1, 5), student(0.8, 7)] == pytest.approx(
        [0.051028, 0.044877, 0.774999], abs=1e-6
    )
    for value in (-30, -4.2, -0.3, 0, 0.01, 2.5, 12):
        for degrees in (1, 2.5, 7, 24, 60):
            assert student(value, degrees) == pytest.approx(stats.t.cdf(value, degrees), abs=5e-13)
    assert student_t(0.9, 7) == pytest.approx(stats.t.ppf(0.9, 7), rel=1e-12)


def test_blocks_that_change_alike_have_no_timing_of_their_own() -> None:
    alike = [[sides(30, 9, 24, 9)] * 6] * 6
    found = timing(alike, 2)
    assert (found.variance, found.assumed) == (0, False)
    assert found.degrees == pytest.approx(36 / 5)


def test_blocks_that_change_apart_have_one_and_it_solves_its_equation() -> None:
    apart = [[sides(60, 9, after, 9) for after in (5, 20, 90, 150, 40)] for _ in range(10)]
    k = 5
    found = timing(apart, k)
    assert found.degrees == 10
    total = 0.0
    for blocks in apart:
        for at, one in enumerate(blocks):
            others = [*blocks[:at], *blocks[at + 1 :]]
            mean = sum(o.change / o.variance(k) for o in others) / sum(1 / o.variance(k) for o in others)
            error = one.variance(k) + 1 / sum(1 / o.variance(k) for o in others)
            total += (one.change - mean) ** 2 / (error + found.variance)
    assert total == pytest.approx(50)


def test_a_short_record_has_the_assumed_timing() -> None:
    assert timing([[sides(30, 9, 24, 9)] * 4] * 6, 2) is ASSUMED
    assert timing([], 2) is ASSUMED


def test_the_change_of_a_block_is_of_rates_not_of_counts() -> None:
    assert sides(20, 4, 40, 8).change == pytest.approx(log(40.5 / 20.5 / 2))
