"""How far two people who count the same catch agree, held against published examples and reference libraries."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import stdev

import pytest
from scipy import special

from roundtui.domain.programme.rounds import asked_again
from roundtui.domain.round.recounts import LEAST_PAIRS, Pair, agreement, cohens_kappa


def counted(*counts: tuple[int, int]) -> list[Pair]:
    """Catches counted by Ida, and again by Ben."""
    day = date(2026, 6, 2)
    return [Pair(f"T{at}", day + timedelta(days=at), "Ida", one, "Ben", two) for at, (one, two) in enumerate(counts)]


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
    # Nine of ten alike on zero or not; by chance .3 x .2 + .7 x .8 = .62, so kappa is .28 / .38.
    assert found.kappa == pytest.approx(0.28 / 0.38)


def test_too_few_second_counts_say_how_many_were_alike_and_no_more() -> None:
    found = agreement(counted((3, 3), (5, 4)))
    assert (found.enough, found.kappa) == (False, None)
    assert (found.alike, found.mean_difference) == (1, -0.5)
    assert agreement([]).share is None
    assert agreement(counted(*[(4, 4)] * LEAST_PAIRS)).kappa is None


def test_counts_always_alike_agree_wholly() -> None:
    found = agreement(counted(*[(at, at) for at in range(LEAST_PAIRS)]))
    assert (found.kappa, found.limits) == (1.0, (0.0, 0.0))


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
