"""How sure a status is, worked out twice over random blocks."""

from __future__ import annotations

from datetime import date
from math import log
from unittest.mock import patch

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from roundtui.domain.figures.certainty import Catch, Usual, evidence, level, scatter, traps_needed, usual
from roundtui.domain.figures.figures import block_figure
from roundtui.domain.figures.learned import NOTHING, Rounds, nothing_learned
from roundtui.domain.figures.unlikely import Marks, Past, Seen, SlipKind, slip
from roundtui.domain.figures.untreated import Sides, Timing, compare
from roundtui.domain.intervals import clustered, student
from tests.domain.test_learned import BLOCKS, flight
from tests.domain.test_unlikely import learn

from . import naive_certainty as naive

traps = st.lists(st.tuples(st.integers(0, 40), st.integers(4, 14)), min_size=1, max_size=6)
scatters = st.sampled_from([0.3, 0.8, 1.7, 4.0, 12.0])


@given(st.lists(traps, min_size=1, max_size=5))
def test_scatter(blocks: list[list[tuple[int, int]]]) -> None:
    groups = [([x for x, _ in block], [d for _, d in block]) for block in blocks]
    found = scatter(evidence(groups).scatter)
    assert found == pytest.approx(naive.mean_scatter([one for one in groups if len(one[0]) > 1]), rel=1e-6)


@given(traps, scatters, st.floats(-2, 2), st.floats(0.5, 2), st.sampled_from([0.5, 2.0, 5.0, 12.0]))
def test_level(block: list[tuple[int, int]], k: float, middle: float, spread: float, limit: float) -> None:
    counts, days = [x for x, _ in block], [d for _, d in block]
    found, rows = level(counts, days, k, Usual(middle, spread)), naive.levels(counts, days, k, middle, spread)
    assert found.chance(limit) == pytest.approx(naive.over(rows, limit), abs=0.015)
    assert found.interval == pytest.approx(naive.limits(rows), rel=0.03)


@pytest.mark.parametrize("k", [0.6, 1.3, 3.0])
@pytest.mark.parametrize(("low", "high"), [(3, 5), (2, 5), (5, 10), (0.5, 1.5)])
def test_traps_needed(k: float, low: float, high: float) -> None:
    for percent in (80, 90):
        assert traps_needed(k, low, high, percent) == naive.needed(k, low, high, percent / 100)


moths = st.tuples(st.integers(5, 120), st.integers(3, 12), st.integers(0, 120), st.integers(2, 12))


@given(moths, st.lists(moths, min_size=1, max_size=6), scatters, st.sampled_from([0.02, 0.1, 0.4]))
def test_the_fall_beside_untreated_blocks(treated, others, k: float, timing: float) -> None:  # type: ignore[no-untyped-def]
    def sides(one: tuple[int, int, int, int]) -> Sides:
        return Sides(Catch(one[0], one[1]), Catch(one[2], one[3]))

    found = compare(sides(treated), [sides(one) for one in others], k, Timing(timing, 10))
    assert found is not None
    fall, error = naive.fall(treated, others, k, timing, 10)
    assert (found.fall, found.error) == pytest.approx((fall, error), abs=1e-6)


@pytest.mark.parametrize("degrees", [1, 2, 5, 8, 24])
def test_students_distribution(degrees: int) -> None:
    for value in (-3.0, -0.7, 0.4, 2.2):
        assert student(value, degrees) == pytest.approx(naive.student(value, degrees), abs=1e-4)


@given(st.lists(st.dictionaries(st.sampled_from("ABCDE"), st.integers(0, 60), min_size=1), min_size=1, max_size=6))
def test_the_height_of_a_trap_among_the_others(rounds: list[dict[str, int]]) -> None:
    past = learn([(at, [Seen(trap, x, 1.0) for trap, x in one.items()]) for at, one in enumerate(rounds)])
    assert isinstance(past, Past)
    for trap, height in naive.heights(rounds).items():
        assert past.height(trap) == pytest.approx(height)


figures = st.lists(st.integers(0, 40), max_size=30)


@given(figures, st.lists(st.integers(0, 40), min_size=20, max_size=40))
def test_what_is_usual(now: list[int], earlier: list[int]) -> None:
    found = usual(*(evidence([([x], [7]) for x in those]) for those in (now, earlier)))
    assert found is not None
    assert (found.middle, found.spread) == pytest.approx(naive.usual(now, earlier), abs=1e-9)


@example(120, 8.7, 1.7, 1e-4)
@example(99, 8.7, 1.7, 1e-4)
@example(75, 3.0, 1.7, 1e-4)
@example(1, 40.0, 4.0, 1e-4)
@given(st.integers(0, 150), st.floats(0.05, 60), scatters, st.sampled_from([1e-4, 1e-3]))
def test_why_a_count_is_marked(count: int, mean: float, k: float, tail: float) -> None:
    found = slip(count, mean, Marks(k, log(50), log(10), tail))
    words = {SlipKind.ZERO: "more", SlipKind.DOUBLED: "more", SlipKind.HIGH: "above", SlipKind.LOST: "fewer"}
    assert (words[found.kind] if found else "") == naive.mark(count, mean, k, (50, 10, tail))


@example([[20, 25, 18], [16, 22, 14], [5, 3, 4]])
@example([[20, 25, 18], [2, 1, 0], [5, 3, 4]])
@given(
    st.integers(1, 6).flatmap(
        lambda n: st.lists(st.lists(st.integers(0, 40), min_size=n, max_size=n), min_size=2, max_size=7)
    )
)
def test_a_flight_past_its_peak(rounds: list[list[int]]) -> None:
    group, on = flight(*map(tuple, rounds))
    with patch.object(Rounds, "slip", return_value=None):
        known = Rounds(on, nothing_learned, group, BLOCKS)
        found = known.past_peak(block_figure(group, on), group, BLOCKS["N1"], date(2025, 1, 1))
    assert found is naive.past_peak(rounds, NOTHING.k_of("N1"))


@pytest.mark.parametrize("looked", [20, 300])
@pytest.mark.parametrize("trees", [5, 12, 400])
def test_the_interval_of_a_sample_of_few_trees(looked: int, trees: int) -> None:
    for found in (0, 1, looked // 9, looked - 1, looked):
        assert clustered(found, looked, trees) == pytest.approx(naive.of_trees(found, looked, trees), abs=0.002)
