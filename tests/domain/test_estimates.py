"""Counts made from a grid, and figures that rest on them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roundtui.domain.figures.figures import from_grid, grid_note, grid_problem
from tests.domain.orchard import Orchard


def test_a_full_liner_is_estimated_from_some_of_its_squares() -> None:
    """Halves go up; 1,377 leafminers, as published from a grid (Asturias 2011), come of 153 in 4 of 36 squares."""
    assert from_grid(4, 36, 153) == 1377
    assert from_grid(2, 5, 1) == 3
    assert from_grid(4, 36, 0) == 0
    assert from_grid(36, 36, 41) == 41
    assert grid_note(4, 36, 153) == "grid: 153 in 4 of 36 squares"


@given(st.integers(1, 50), st.integers(0, 50), st.integers(0, 200))
def test_an_estimate_is_never_half_a_moth_away_from_its_ratio(counted: int, more: int, moths: int) -> None:
    estimate = from_grid(counted, counted + more, moths)
    assert -counted <= 2 * (moths * (counted + more) - estimate * counted) < counted


@pytest.mark.parametrize(
    ("counted", "squares", "moths"),
    [(0, 36, 4), (37, 36, 4), (None, 36, 4), (1, 100, 500), (3, None, 2), (4, 36, None)],
)
def test_a_grid_that_cannot_be_is_refused_with_what_to_do(
    counted: int | None, squares: int | None, moths: int | None
) -> None:
    problem = grid_problem(counted, squares, moths)
    assert problem is not None
    assert problem.hint


def test_the_highest_count_there_is_may_come_from_a_grid() -> None:
    assert grid_problem(1, 1, 9999) is None
    assert grid_problem(1, 1, 10_000) is not None


def test_a_figure_says_how_many_estimates_it_rests_on() -> None:
    orchard = Orchard()
    orchard.hang("T1", "T2", "T3", on="04-01")
    orchard.hang("E1", on="04-01", edge=True)
    for trap in ("T1", "T2", "T3", "E1"):
        orchard.visit(trap, "05-05", 2)
    orchard.visit("T1", "05-12", 140, estimated=True)
    orchard.visit("T2", "05-12", 3)
    orchard.visit("T3", "05-12", 0)
    orchard.visit("E1", "05-12", 90, estimated=True)
    row = orchard.row("05-12")
    assert {key: row.estimates(key) for key in ("mean_per_week", "max_per_week", "edge_mean", "cumulative")} == {
        "mean_per_week": 1,
        "max_per_week": 1,
        "edge_mean": 1,
        "cumulative": 1,
    }
    assert row.estimates("previous_per_week") == 0
    for trap in ("T1", "T2", "T3"):
        orchard.visit(trap, "05-19", 0)
    later = orchard.row("05-19")
    assert (later.estimates("mean_per_week"), later.estimates("previous_per_week")) == (0, 1)
    assert later.estimates("cumulative") == 1


def test_a_corrected_estimate_is_none_any_more() -> None:
    orchard = Orchard()
    orchard.hang("T1", on="04-01")
    orchard.visit("T1", "05-12", 140, estimated=False)
    assert orchard.row("05-12").estimated == ()
