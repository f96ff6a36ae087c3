"""Intervals of a share against scipy, which has them by other means (root finding and the beta distribution)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from roundtui.domain.intervals import at_least, clopper_pearson, wilson

COUNTS = st.integers(1, 3000).flatmap(lambda looked: st.tuples(st.integers(0, looked), st.just(looked)))


@given(COUNTS, st.sampled_from((0.8, 0.9, 0.95, 0.99)))
def test_both_intervals_are_those_of_scipy(count: tuple[int, int], confidence: float) -> None:
    found, looked = count
    test = binomtest(found, looked)
    exact = test.proportion_ci(confidence, method="exact")
    assert clopper_pearson(found, looked, confidence) == pytest.approx((exact.low, exact.high), abs=1e-9)
    score = test.proportion_ci(confidence, method="wilson")
    assert wilson(found, looked, confidence) == pytest.approx((score.low, score.high), abs=1e-12)


@given(COUNTS, st.floats(0.0005, 0.9995))
def test_the_tail_is_that_of_scipy(count: tuple[int, int], share: float) -> None:
    found, looked = count
    assert at_least(found, looked, share) == pytest.approx(binom.sf(found - 1, looked, share), abs=1e-10)


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
    """Coverage counted over every possible outcome, weighed by scipy's own probabilities."""
    held = sum(
        binom.pmf(found, looked, share)
        for found in range(looked + 1)
        if clopper_pearson(found, looked)[0] <= share <= clopper_pearson(found, looked)[1]
    )
    assert held >= 0.95


@pytest.mark.parametrize(("found", "looked", "confidence"), [(1, 0, 0.95), (2, 1, 0.95), (-1, 5, 0.95), (1, 5, 1.0)])
def test_what_is_no_count_has_no_interval(found: int, looked: int, confidence: float) -> None:
    for interval in (wilson, clopper_pearson):
        with pytest.raises(ValueError, match="no interval"):
            interval(found, looked, confidence)
