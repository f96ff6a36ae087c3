"""Scatter, level, chance, words and traps needed, against worked values and scipy.

The worked values were computed with scipy 1.11 (quad, betaincinv, nbinom) at no other precision than they are given
with; those marked so are the closed form for equal weeks, which the grid of levels comes close to.
"""

from __future__ import annotations

from math import exp, lgamma, log, sqrt
from typing import Any

import pytest
from scipy import integrate, special, stats

from roundtui.domain.figures.certainty import (
    CUTS,
    LOG_LEVELS,
    NO_EVIDENCE,
    OWN_SPREAD,
    SCATTERS,
    Catch,
    Certainty,
    Usual,
    at_least,
    blend,
    certainty,
    chance_words,
    evidence,
    level,
    limit_words,
    log_figure,
    needed_about,
    past_its_peak,
    scatter,
    scatter_likelihood,
    traps_needed,
    usual,
)

GROUPS = [([4, 6, 3], [7, 7, 7]), ([12, 2, 5, 9], [7] * 4), ([0, 3], [7, 7]), ([8, 10, 1], [7, 12, 6])]
FLAT = [
    (15, 3, 2, 5, 0.555208, 2.927055, 10.376051),
    (15, 3, 1, 5, 0.577224, 2.618206, 14.454053),
    (30, 3, 2, 5, 0.963915, 6.140881, 19.914972),
    (5, 1, 2, 5, 0.595917, 2.168609, 21.486816),
    (9, 3, 2, 3, 0.556380, 1.656465, 6.545494),
    (20, 4, 0.5, 5, 0.594148, 2.455384, 19.488300),
    (30, 6, 5, 5, 0.525805, 3.649717, 7.084830),
]
USUAL = [
    ([4, 6, 5], [7, 7, 7], 2, 5, 0.372981, 2.478679, 7.807607),
    ([8, 10, 1], [7, 12, 6], 2, 5, 0.393726, 2.594460, 7.931533),
    ([0, 0, 0], [7, 7, 7], 2, 3, 0.001325, 0.083256, 0.826950),
    ([5], [7], 1, 5, 0.277863, 1.203588, 8.975903),
    ([9, 13, 8], [7, 7, 7], 2, 5, 0.908497, 5.093429, 14.379472),
    ([4, 3], [7, 7], 2, 3, 0.481961, 1.430485, 6.133855),
    ([30, 2, 4], [14, 5, 5], 1, 5, 0.676108, 3.414899, 12.572593),
]


def test_the_scatter_of_four_block_rounds_is_the_worked_one() -> None:
    logs = [sum(scatter_likelihood(c, d, (k,))[0] for c, d in GROUPS) for k in (0.5, 1, 2, 5)]
    assert logs == pytest.approx([-75.551719, -73.671744, -72.656804, -72.435911], abs=1e-6)
    assert scatter(evidence(GROUPS).scatter) == pytest.approx(2.693974, abs=1e-6)
    flat = scatter(evidence(GROUPS).scatter, spread=1e9)
    assert SCATTERS[15] < 3.76979 < SCATTERS[16]
    assert flat > 3.77, "without the start, the mean over the grid lies beyond the highest point"


def test_how_a_catch_is_split_among_traps_is_a_dirichlet_multinomial() -> None:
    for counts, days in GROUPS:
        for k in (0.3, 2.0, 20.0):
            number, together = len(counts), sum(days)
            alpha = [k * d * number / together for d in days]
            whole = stats.dirichlet_multinomial(alpha, sum(counts)).logpmf(counts)
            orders = lgamma(sum(counts) + 1) - sum(lgamma(x + 1) for x in counts)
            assert scatter_likelihood(counts, days, (k,))[0] == pytest.approx(whole - orders, abs=1e-9)


def test_evidence_adds_up_round_by_round() -> None:
    one, two = evidence(GROUPS[:2]), evidence(GROUPS[2:])
    whole = evidence(GROUPS)
    assert (one + two).scatter == pytest.approx(whole.scatter, abs=1e-9)
    assert (one + two).groups == whole.groups == 4
    assert (one + two).total == pytest.approx(whole.total)
    assert (whole + NO_EVIDENCE) == whole


def test_a_zero_block_and_a_single_trap_say_nothing_of_scatter_and_something_of_levels() -> None:
    found = evidence([([0, 0, 0], [7, 7, 7]), ([5], [7])])
    assert found.groups == 0
    assert found.scatter == NO_EVIDENCE.scatter
    assert found.figures == 2
    assert found.total == pytest.approx(log(0.1) + log(5.1))
    assert scatter(found.scatter) == pytest.approx(1.5, rel=0.01), "so that k is what it starts from"


def test_the_own_scatter_of_a_block_stays_near_that_of_its_species() -> None:
    clumped = evidence([([30, 0, 1], [7] * 3), ([22, 1, 0], [7] * 3), ([0, 2, 17], [7] * 3)])
    own = scatter(clumped.scatter, start=2.0, spread=OWN_SPREAD)
    assert scatter(clumped.scatter) < own < 2.0


@pytest.mark.parametrize("worked", FLAT)
def test_without_a_record_the_grid_is_the_closed_form(worked: tuple[float, ...]) -> None:
    moths, traps, k, limit, chance, low, high = worked
    found = level([moths] + [0] * (traps - 1), [7] * traps, k, None)
    assert found.chance(limit) == pytest.approx(chance, abs=4e-4)
    assert found.interval == pytest.approx((low, high), rel=2e-3)
    closed = special.betaincinv(moths + 0.5, traps * k, [0.1, 0.9])
    assert k * closed / (1 - closed) == pytest.approx([low, high], abs=1e-5)


def test_without_a_record_no_moth_at_all_is_surely_below_three() -> None:
    found = level([0, 0, 0], [7, 7, 7], 2, None)
    assert found.chance(3) == pytest.approx(0.001142, abs=4e-4)


@pytest.mark.parametrize("worked", USUAL)
def test_with_a_record_the_grid_is_the_integral(worked: tuple[Any, ...]) -> None:
    counts, days, k, limit, chance, low, high = worked
    found = level(counts, days, k, Usual(0.2, 1.3))
    assert found.chance(limit) == pytest.approx(chance, abs=4e-4)
    assert found.interval == pytest.approx((low, high), rel=1e-3)


def test_the_level_is_weighed_as_scipy_weighs_it() -> None:
    counts, days, k, before = [8, 10, 1], [7, 12, 6], 2.0, Usual(0.2, 1.3)

    def weight(g: float) -> float:
        means = [exp(g) * d / 7 for d in days]
        likely = [stats.nbinom.logpmf(x, k, k / (k + m)) for x, m in zip(counts, means, strict=True)]
        return exp(sum(likely) + stats.norm.logpdf(g, before.middle, before.spread) + 8)

    whole = integrate.quad(weight, -8, 9)[0]
    over = integrate.quad(weight, log(5), 9)[0]
    assert level(counts, days, k, before).chance(5) == pytest.approx(over / whole, abs=4e-4)


def test_weights_of_levels_sum_up_and_chances_fall_as_the_limit_rises() -> None:
    found = level([4, 6, 5], [7, 7, 7], 2, Usual(0.2, 1.3))
    assert sum(found.weights) == pytest.approx(1)
    chances = [found.chance(at / 10) for at in range(200)]
    assert chances == sorted(chances, reverse=True)
    assert (found.chance(0), found.chance(exp(LOG_LEVELS[-1] + 1))) == (1, 0)
    assert found.chance(found.limit(0.37)) == pytest.approx(0.37, abs=1e-9)


def test_what_is_usual_is_drawn_from_now_and_filled_up_from_before() -> None:
    earlier = [log_figure(one) for one in (0, 0.5, 1, 2, 8)]
    mean = sum(earlier) / 5
    assert (mean, sqrt(sum((one - mean) ** 2 for one in earlier) / 4)) == pytest.approx((0.023140, 1.619847), abs=1e-6)
    now = [log_figure(one) for one in (0, 0.5, 1, 2, 8, 3, 4, 6)]
    found = blend(8, sum(now), sum(one * one for one in now), Usual(0.2, 1.3))
    assert (found.middle, found.spread) == pytest.approx((0.343319, 1.331199), abs=1e-6)


def test_under_twenty_figures_nothing_is_usual() -> None:
    now, before = evidence([([5], [7])] * 9), evidence([([3], [7])] * 10)
    assert usual(now, before) is None
    assert usual(now + evidence([([5], [7])]), before) is not None


def test_what_is_usual_never_gets_narrower_than_half() -> None:
    assert usual(evidence([([5], [7])] * 30), NO_EVIDENCE).spread == 0.5


@pytest.mark.parametrize(
    ("chance", "word"),
    [
        (1.0, "sure"),
        (0.9, "sure"),
        (0.89, "likely"),
        (0.7, "likely"),
        (0.69, "either"),
        (0.4, "either"),
        (0.39, "figure"),
    ],
)
def test_a_chance_has_one_of_four_words(chance: float, word: str) -> None:
    assert certainty(chance) is Certainty(word)


def test_limits_and_chances_are_printed_rounded() -> None:
    assert [limit_words(one) for one in (0.0831, 0.33, 0.7, 2.479, 7.81, 9.96, 14.4)] == [
        "0.08",
        "0.3",
        "0.7",
        "2.5",
        "7.8",
        "10",
        "14",
    ]
    assert [chance_words(one, CUTS) for one in (0.0, 0.099, 0.1, 0.373, 0.695, 0.899, 0.9, 0.901, 1)] == [
        "under 1 in 10", "under 1 in 10", "1 in 10", "3 in 10", "6 in 10", "8 in 10", "9 in 10", "over 9 in 10",
        "over 9 in 10",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("low", "high", "wanted"),
    [
        (3, 5, [(26, 59), (15, 33), (10, 20), (6, 13)]),
        (2, 5, [(9, 20), (5, 12), (4, 7), (3, 5)]),
        (5, 10, [(14, 31), (8, 17), (5, 10), (3, 5)]),
        (3, 10, [(5, 11), (3, 6), (2, 4), (2, 2)]),
    ],
)
def test_traps_needed_are_the_worked_ones_and_scipys(low: int, high: int, wanted: list[tuple[int, int]]) -> None:
    for k, both in zip((0.5, 1, 2, 5), wanted, strict=True):
        assert (traps_needed(k, low, high, 80), traps_needed(k, low, high, 90)) == both
        for percent, number in zip((80, 90), both, strict=True):
            wrong = 1 - percent / 100

            def tells(n: int, wrong: float = wrong, k: float = k) -> bool:
                cut = stats.nbinom.isf(wrong, n * k, k / (k + low)) + 1
                return stats.nbinom.cdf(cut - 1, n * k, k / (k + high)) <= wrong

            assert tells(number)
            assert number == 1 or not tells(number - 1)


def test_the_formula_for_traps_needed_is_the_worked_one() -> None:
    about = [(round(needed_about(k, 3, 5, 80), 2), round(needed_about(k, 3, 5, 90), 2)) for k in (0.5, 1, 2, 5)]
    assert about == [(25.49, 59.11), (14.16, 32.83), (8.48, 19.67), (5.07, 11.77)]


def test_two_numbers_that_are_one_cannot_be_told_apart_and_close_ones_take_a_great_many_traps() -> None:
    assert traps_needed(2, 5, 5) is None
    assert traps_needed(0.5, 4.5, 5, 90) > 500
    assert traps_needed(2, 0, 1) <= 3


def test_chances_of_counts_are_scipys() -> None:
    for count, mean, k in ((1, 3.0, 0.4), (12, 5.0, 1.6), (40, 5.0, 1.6), (200, 150.0, 90.0)):
        assert at_least(count, mean, k) == pytest.approx(stats.nbinom.sf(count - 1, k, k / (k + mean)), rel=1e-9)
    assert (at_least(0, 3, 1), at_least(2, 0, 1)) == (1, 0)


def test_a_flight_is_past_its_peak_only_where_the_fall_is_more_than_luck() -> None:
    assert past_its_peak(Catch(10, 3), Catch(60, 3), 2, 3)
    assert not past_its_peak(Catch(45, 3), Catch(60, 3), 2, 3), "three quarters of it is no fall"
    assert not past_its_peak(Catch(2, 3), Catch(5, 3), 2, 3), "so few moths can be luck"
    assert not past_its_peak(Catch(30, 1), Catch(60, 1), 0.5, 1), "one trap that scatters so says little"
    assert not past_its_peak(Catch(20, 1), Catch(60, 3), 2, 3), "as many moths a trap and week"
    # The same by scipy: a fall of which nine in ten of a normal distribution lie below nothing.
    for now, then, k, traps in ((10, 60, 2, 3), (24, 60, 2, 3), (30, 60, 0.5, 1), (5, 30, 1, 4), (9, 20, 3, 6)):
        fall = log((now + 0.5) / (then + 0.5))
        variance = 1 / (now + 0.5) + 1 / (then + 0.5) + 2 / (traps * k) + 2 * 0.09
        wanted = fall <= log(2 / 3) and stats.norm.cdf(0, loc=fall, scale=sqrt(variance)) > 0.9
        assert past_its_peak(Catch(now, traps), Catch(then, traps), k, traps) == wanted
