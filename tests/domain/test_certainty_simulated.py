"""A seeded share of the long simulations in tests/long: intervals, chances, untreated blocks, unlikely counts."""

from __future__ import annotations

import numpy as np

from tests.long import certainty, unlikely, untreated


def test_intervals_hold_the_level_four_times_in_five_and_chances_come_true() -> None:
    rows = certainty.judged(5)
    assert 0.76 <= certainty.coverage(rows) <= 0.84
    said = [one.chance for one in rows if 0.3 <= one.chance <= 0.7]
    true = [one.level >= certainty.LIMIT for one in rows if 0.3 <= one.chance <= 0.7]
    assert abs(sum(said) / len(said) - sum(true) / len(true)) <= 0.12


def test_the_natural_fall_of_a_flight_is_seldom_told_as_coming_down() -> None:
    luck = np.random.default_rng(2)
    own = [untreated.own_timing(luck)]
    for trend in (-0.4, 0.0, 0.4):
        assert untreated.shares(luck, own, 150, trend=trend)[True] <= 15, trend
    assert untreated.shares(luck, own, 150, trend=-0.4, share=0.25)[True] >= 40
    assert untreated.shares(luck, own, 100, controls=0)[None] == 100


def test_a_block_treated_because_it_was_high_is_seldom_told_to_come_down_for_that() -> None:
    luck = np.random.default_rng(3)
    own = [untreated.own_timing(luck)]
    assert untreated.shares(luck, own, 150, level=3, chosen_at=5)[True] <= 15


def test_an_extra_zero_is_caught_and_honest_counts_seldom_marked() -> None:
    found = unlikely.score(unlikely.KINDS[0], 1)
    assert found.false <= found.honest / 40
    for band in ((3, 7), (8, 19)):
        assert found.caught["zero", band] >= 0.75 * found.typed["zero", band]


def test_a_flight_is_seldom_called_past_its_peak_before_it() -> None:
    early, said, late = certainty.flights(np.random.default_rng(4), 3, 150)
    assert early <= 0.1
    assert said >= 0.95
    assert 1 <= late <= 4
