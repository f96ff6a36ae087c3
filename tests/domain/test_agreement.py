"""How far two people who count the same catch agree, held against published examples and reference libraries."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special

from roundtui.domain.round.recounts import (
    LEAST_PAIRS,
    Pair,
    agreement,
    asked_again,
    cohens_kappa,
    f_quantile,
    intraclass,
)

SHROUT_FLEISS = [(9, 2, 5, 8), (6, 1, 3, 2), (8, 4, 6, 8), (7, 1, 2, 6), (10, 5, 6, 9), (6, 2, 4, 7)]
"""Six targets, four judges: Shrout and Fleiss 1979, Psychological Bulletin 86:420, table 2 (from memory)."""


def counted(*counts: tuple[int, int]) -> list[Pair]:
    """Catches counted by Ida, and again by Ben."""
    day = date(2026, 6, 2)
    return [Pair(f"T{at}", day + timedelta(days=at), "Ida", one, "Ben", two) for at, (one, two) in enumerate(counts)]


def test_the_published_example_gives_the_published_correlation() -> None:
    """Shrout and Fleiss 1979, table 4: ICC(1,1) = .17; the interval -.13 to .72 is widely reprinted (from memory)."""
    found = intraclass(SHROUT_FLEISS)
    assert found is not None
    correlation, (lowest, highest) = found
    assert round(correlation, 2) == 0.17
    assert (round(lowest, 2), round(highest, 2)) == (-0.13, 0.72)


@pytest.mark.parametrize("probability", [0.025, 0.5, 0.95, 0.975])
@pytest.mark.parametrize(("numerator", "denominator"), [(1, 2), (5, 18), (18, 5), (29, 30), (199, 200)])
def test_quantiles_of_f_are_those_of_scipy(probability: float, numerator: int, denominator: int) -> None:
    expected = special.fdtri(numerator, denominator, probability)
    assert f_quantile(probability, numerator, denominator) == pytest.approx(expected, rel=1e-9)


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), min_size=3, max_size=30))
def test_the_correlation_is_that_of_an_analysis_of_variance(counts: list[tuple[int, int]]) -> None:
    """The ratio of mean squares, and quantiles of scipy, put together as Shrout and Fleiss have it for case 1."""
    found = intraclass(counts)
    if all(one == other for one, other in counts):
        assert found in (None, (1.0, (1.0, 1.0)))
        return
    n, whole = len(counts), fmean(count for pair in counts for count in pair)
    between = sum(2 * (fmean(pair) - whole) ** 2 for pair in counts) / (n - 1)
    within = sum((one - other) ** 2 / 2 for one, other in counts) / n
    ratio = between / within
    lowest = ratio / special.fdtri(n - 1, n, 0.975)
    highest = ratio * special.fdtri(n, n - 1, 0.975)
    expected = [(one - 1) / (one + 1) for one in (ratio, lowest, highest)]
    assert found is not None
    assert [found[0], *found[1]] == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize(
    ("both", "first", "second", "none", "kappa"),
    [
        (2, 1, 0, 0, 0.0),
        (3, 2, 0, 3, 0.5294117647058824),
        (3, 1, 3, 13, 0.47368421052631604),
        (16, 6, 5, 13, 0.4472361809045225),
    ],
)
def test_kappa_is_that_of_statsmodels(both: int, first: int, second: int, none: int, kappa: float) -> None:
    """By ``cohens_kappa`` of statsmodels 0.15.0; ``tests.long.agreement`` asks it about tables of chance."""
    said = [(True, True)] * both + [(True, False)] * first + [(False, True)] * second + [(False, False)] * none
    assert cohens_kappa(said) == pytest.approx(kappa)
    assert cohens_kappa(said[:both]) is None


def test_a_season_of_second_counts_in_figures_a_hand_can_follow() -> None:
    pairs = counted((0, 0), (3, 3), (5, 4), (0, 0), (8, 8), (12, 13), (2, 2), (0, 1), (4, 4), (6, 6))
    found = agreement(pairs)
    # The interval is that of ``proportion_confint`` (Wilson) of statsmodels 0.15.0.
    assert (len(found.pairs), found.alike, found.share) == (10, 7, 0.7)
    assert found.share_interval == pytest.approx((0.39677814746114537, 0.8922087325936989))
    assert found.mean_difference == pytest.approx(0.1)
    spread = stdev([0, 0, -1, 0, 0, 1, 0, 1, 0, 0]) * special.ndtri(0.975)
    assert found.limits == pytest.approx((0.1 - spread, 0.1 + spread))
    assert found.icc is not None
    assert 0.98 < found.icc < 1
    assert found.icc_interval is not None
    assert found.icc_interval[0] < found.icc < found.icc_interval[1]
    # Nine of ten alike on zero or not; by chance .3 x .2 + .7 x .8 = .62, so kappa is .28 / .38.
    assert found.kappa == pytest.approx(0.28 / 0.38)


def test_too_few_second_counts_say_how_many_were_alike_and_no_more() -> None:
    found = agreement(counted((3, 3), (5, 4)))
    assert (found.enough, found.icc, found.icc_interval, found.kappa) == (False, None, None, None)
    assert (found.alike, found.mean_difference) == (1, -0.5)
    assert agreement([]).share is None
    assert agreement(counted(*[(4, 4)] * LEAST_PAIRS)).icc is None


def test_counts_always_alike_agree_wholly() -> None:
    found = agreement(counted(*[(at, at) for at in range(LEAST_PAIRS)]))
    assert (found.icc, found.icc_interval, found.kappa, found.limits) == (1.0, (1.0, 1.0), 1.0, (0.0, 0.0))


def test_one_trap_in_twenty_is_counted_again_and_the_same_ones_whenever_it_is_asked() -> None:
    round_of = [f"A{number}" for number in range(1, 42)]
    asked = asked_again(round_of, "hill 2026-06-02")
    assert len(asked) == 3
    assert set(asked) <= set(round_of)
    assert asked_again(reversed(round_of), "hill 2026-06-02") == asked
    assert len({asked_again(round_of, f"hill {week}") for week in range(20)}) > 15
    assert asked_again([], "hill") == ()
    assert len(asked_again(["A1", "A2"], "hill")) == 1


def test_over_many_rounds_every_trap_has_its_turn_about_as_often() -> None:
    round_of = [f"A{number}" for number in range(1, 21)]
    turns = [asked_again(round_of, f"hill {week}")[0] for week in range(1000)]
    often = [turns.count(trap) for trap in round_of]
    expected = len(turns) / len(often)
    assert special.chdtrc(len(often) - 1, sum((one - expected) ** 2 / expected for one in often)) > 0.001
