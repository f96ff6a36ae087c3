"""Intervals of a share against the beta and binomial functions of scipy, which come to them by other means."""

from __future__ import annotations

from math import comb, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import bdtrc, betaincinv, ndtri
from scipy.stats import beta, betabinom

from roundtui.domain.intervals import at_least, clopper_pearson, clustered, design_effect, wilson
from tests.long.alike import holds

COUNTS = st.integers(1, 3000).flatmap(lambda looked: st.tuples(st.integers(0, looked), st.just(looked)))


@given(COUNTS, st.sampled_from((0.8, 0.9, 0.95, 0.99)))
def test_both_intervals_are_those_of_scipy(count: tuple[int, int], confidence: float) -> None:
    found, looked = count
    tail = (1 - confidence) / 2
    low = betaincinv(found, looked - found + 1, tail) if found else 0
    high = betaincinv(found + 1, looked - found, 1 - tail) if found < looked else 1
    assert clopper_pearson(found, looked, confidence) == pytest.approx((low, high), abs=1e-9)
    # The ends of the score interval are the shares that lie as many standard errors off, at their own standard error.
    for end in wilson(found, looked, confidence):
        off = abs(found / looked - end)
        assert off == pytest.approx(ndtri(1 - tail) * sqrt(end * (1 - end) / looked), abs=1e-9)


@given(COUNTS, st.floats(0.0005, 0.9995))
def test_the_tail_is_that_of_scipy(count: tuple[int, int], share: float) -> None:
    found, looked = count
    assert at_least(found, looked, share) == pytest.approx(bdtrc(found - 1, looked, share) if found else 1, abs=1e-10)


def test_none_found_is_not_none_there() -> None:
    """No hit in n: the exact upper end solves (1 - p)^n = 0.025, which can be done by hand."""
    for looked in (1, 21, 100, 1260):
        low, high = clopper_pearson(0, looked)
        assert low == 0
        assert (1 - high) ** looked == pytest.approx(0.025, rel=1e-9)
        assert clopper_pearson(looked, looked) == pytest.approx((1 - high, 1))
        assert wilson(0, looked)[0] == 0


@pytest.mark.parametrize("share", [0.005, 0.03, 0.3, 0.65])
@pytest.mark.parametrize("looked", [25, 60, 100])
def test_the_exact_interval_holds_as_often_as_it_says(looked: int, share: float) -> None:
    """Coverage counted over every possible outcome, weighed by its probability."""
    held = sum(
        comb(looked, found) * share**found * (1 - share) ** (looked - found)
        for found in range(looked + 1)
        if clopper_pearson(found, looked)[0] <= share <= clopper_pearson(found, looked)[1]
    )
    assert held >= 0.95


@pytest.mark.parametrize(("found", "looked", "confidence"), [(1, 0, 0.95), (2, 1, 0.95), (-1, 5, 0.95), (1, 5, 1.0)])
def test_what_is_no_count_has_no_interval(found: int, looked: int, confidence: float) -> None:
    for interval in (wilson, clopper_pearson):
        with pytest.raises(ValueError, match="no interval"):
            interval(found, looked, confidence)


@pytest.mark.parametrize(
    ("fruit", "percent"), [(150, 1.98), (300, 0.99), (500, 0.6), (600, 0.498), (1260, 0.237), (1500, 0.2), (3000, 0.1)]
)
def test_what_a_clean_sample_leaves_open(fruit: int, percent: float) -> None:
    """Upper limit at 95 % where none was found, 1 - 0.05^(1/n): derived. 598 fruit are the fewest that show 0.5 %.

    The numbers of fruit: New Zealand (600), Washington State University (1260 on trees, 1500 in bins).
    """
    assert 100 * clopper_pearson(0, fruit, 0.9)[1] == pytest.approx(percent, rel=0.005)
    assert at_least(1, 598, 0.005) >= 0.95 > at_least(1, 597, 0.005)


@pytest.mark.parametrize(
    ("each", "effects"),
    [
        (25, (1.12, 1.24, 1.72, 3.40)),
        (40, (1.20, 1.39, 2.17, 4.90)),
        (60, (1.29, 1.59, 2.77, 6.90)),
        (100, (1.50, 1.99, 3.97, 10.9)),
        (200, (2.00, 2.99, 6.97, 20.9)),
    ],
)
def test_the_design_effect_of_so_many_fruit_a_tree_or_bin(each: int, effects: tuple[float, ...]) -> None:
    """Beta-binomial variance over the binomial: Binns, Nyrop & van der Werf 2000, chapter 4 (copy, 123dok.com)."""
    for alike, effect in zip((0.005, 0.01, 0.03, 0.1), effects, strict=True):
        a = (1 - alike) / alike * 0.02
        many = betabinom(each, a, a / 0.02 * 0.98).var() / (each * 0.02 * 0.98)
        assert design_effect(20 * each, 20, alike) == pytest.approx(effect, abs=0.05 if effect > 10 else 0.006)
        assert design_effect(20 * each, 20, alike) == pytest.approx(many)


@pytest.mark.parametrize(
    ("share", "passes"),
    [(0.0005, 0.960), (0.001, 0.809), (0.0015, 0.609), (0.002, 0.423), (0.003, 0.173), (0.005, 0.020)],
)
def test_how_often_a_lot_passes_the_bin_sample(share: float, passes: float) -> None:
    """1500 fruit, 25 from each of 60 bins, more than 2 with live larvae bar the orchard.

    Source of the plan: Washington State University, Taiwan cull cutter instructions, tfrec.cahnrs.wsu.edu; chances
    derived, by the exact binomial.
    """
    assert 1 - at_least(3, 1500, share) == pytest.approx(passes, abs=0.0006)


def test_eight_and_nine_of_ten_planted_specimens_are_not_told_apart() -> None:
    """San Mateo County found 80 %, then 90 % (4 March 2009, co.sanmateo.ca.us); here of ten each: derived."""
    before, after = (clopper_pearson(found, 10) for found in (8, 9))
    assert [round(100 * end, 1) for end in (*before, *after)] == [44.4, 97.5, 55.5, 99.7]
    assert after[0] < 8 / 10
    assert before[1] > 9 / 10


def test_the_interval_of_few_trees_is_scipys_for_the_units_they_are_worth() -> None:
    """6 of 300 fruit from 15 trees: 20 a tree, alike by 0.1, are worth 300 / 2.9."""
    effect = 1 + 19 * 0.1
    low, high = clustered(6, 300, 15) or (0, 0)
    assert low == pytest.approx(beta.ppf(0.025, 6 / effect, (300 - 6) / effect + 1), rel=1e-9)
    assert high == pytest.approx(beta.ppf(0.975, 6 / effect + 1, (300 - 6) / effect), rel=1e-9)
    assert clustered(6, 300, 300) == pytest.approx(clopper_pearson(6, 300)), "one from each tree"
    assert clustered(6, 300, None) is None
    assert clustered(6, 300, 4) is None, "four trees say too little"
    assert (clustered(0, 300, 15) or (1, 0))[0] == 0


@pytest.mark.parametrize(
    ("alike", "trees", "each", "share"), [(0, 5, 20, 0.02), (0.1, 5, 100, 0.02), (0.1, 20, 20, 0.1)]
)
def test_it_holds_as_often_as_it_says_where_units_of_a_tree_are_alike(
    alike: float, trees: int, each: int, share: float
) -> None:
    """A share of ``tests/long/alike.py``; the plain one holds half as often as it says at worst."""
    plain, widened = holds(np.random.default_rng(3), alike, (trees, each), share, 500)
    assert widened >= 0.94
    assert plain < 0.7 or alike == 0 or each < 100
