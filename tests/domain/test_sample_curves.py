"""Plans against random blocks, against an exact recursion, and that against scipy; the page shows what was computed."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from math import comb, sqrt

import pytest
from scipy.special import bdtr, bdtrc, pdtrc

from roundtui.domain.sampling.records import Measure, Outcome
from tests.long import sample_curves
from tests.long.sample_curves import Point, exact, levels, plans, run

BLOCKS, COUNTED = 12, 4
"""Blocks that are drawn here; the page is made of many more."""
EVERY = list(plans())
FIXED = [pair for pair in EVERY if not pair[0].stops]


@cache
def points() -> tuple[tuple[Point, Point], ...]:
    return tuple(run(BLOCKS, COUNTED))


def test_random_blocks_end_as_often_as_the_recursion_says() -> None:
    """Five standard errors, and one block: some seven hundred comparisons are made, with a fixed seed."""
    for one, drawn in points():
        blocks = COUNTED if one.plan.measure is Measure.MEAN else BLOCKS
        assert sum(one.ends.values()) == pytest.approx(1)
        for end in sample_curves.ENDS:
            chance = min(max(one.ends[end], 0.0), 1.0)
            noise = 5 * sqrt(chance * (1 - chance) / blocks) + 1 / blocks
            assert abs(drawn.ends[end] - chance) < noise, (one.plan.id, one.level, end)


def test_random_blocks_need_as_many_units_as_the_recursion_says() -> None:
    for one, drawn in points():
        blocks = COUNTED if one.plan.measure is Measure.MEAN else BLOCKS
        # No sample is longer than the plan, so half its length bounds the standard deviation.
        noise = 5 * one.plan.units / 2 / sqrt(blocks)
        assert abs(drawn.units - one.units) < noise, (one.plan.id, one.level)


@pytest.mark.parametrize(("plan", "sought"), FIXED, ids=[plan.id for plan, _ in FIXED])
def test_stopping_early_never_changes_how_often_a_fixed_plan_says_over(plan, sought) -> None:  # type: ignore[no-untyped-def]
    """Tails of scipy over the whole look: what arithmetic saves in looking costs nothing in certainty."""
    for level in levels(plan):
        needed = plan.high * plan.units
        most = int(needed) if plan.above or needed != int(needed) else int(needed) - 1
        if plan.measure is Measure.SHARE:
            over = bdtrc(most, plan.units, float(level))
        else:
            over = pdtrc(most, plan.units * float(level))
        assert exact(plan, sought, level).ends[Outcome.OVER] == pytest.approx(over, abs=1e-9)


def test_the_leafroller_recursion_is_that_of_three_binomials() -> None:
    """The stops of Maine by hand: found at 60, in the next 30 and in the last 10, each a binomial of scipy."""
    plan, sought = next(pair for pair in EVERY if pair[0].id == "oblr-maine")
    for share in (0.01, 0.03, 0.05, 0.12):
        below = over = 0.0
        for first in range(61):
            at_60 = chance_of(first, 60, share)
            if first <= 1 or first >= 4:
                below, over = below + at_60 * (first <= 1), over + at_60 * (first >= 4)
                continue
            for then in range(31):
                at_90 = at_60 * chance_of(then, 30, share)
                if first + then <= 2 or first + then >= 4:
                    below, over = below + at_90 * (first + then <= 2), over + at_90 * (first + then >= 4)
                    continue
                below += at_90 * bdtr(3 - first - then, 10, share)
                over += at_90 * bdtrc(3 - first - then, 10, share)
        ends = exact(plan, sought, Fraction(str(share))).ends
        assert (ends[Outcome.BELOW], ends[Outcome.OVER]) == pytest.approx((below, over), abs=1e-9)


def test_the_clean_stop_of_the_export_plan_passes_a_block_as_often_as_none_is_found() -> None:
    plan, sought = next(pair for pair in EVERY if pair[0].id == "fruit-export-clean")
    assert exact(plan, sought, Fraction(1, 1000)).ends[Outcome.BELOW] == pytest.approx(0.999**1260)
    assert exact(plan, sought, Fraction(0)).ends[Outcome.BELOW] == pytest.approx(1)


@pytest.mark.parametrize(
    ("name", "fruit", "share", "found"),
    [
        ("fruit-600-clean", 600, Fraction(5, 1000), 0.95059),
        ("fruit-export-clean", 1260, Fraction(2, 1000), 0.9197),
        ("fruit-500-a-hectare", 500, Fraction(2, 1000), 0.6325),
    ],
)
def test_how_often_an_export_plan_finds_what_is_there(name: str, fruit: int, share: Fraction, found: float) -> None:
    """1 - (1 - share)^fruit: 600 fruit (New Zealand), 1260 half-fruit (Washington), 500 a hectare (Río Negro)."""
    plan, sought = next(pair for pair in EVERY if pair[0].id == name)
    assert 1 - exact(plan, sought, share).ends[Outcome.BELOW] == pytest.approx(found, abs=1e-4)
    assert 1 - (1 - float(share)) ** fruit == pytest.approx(found, abs=1e-4)


def test_the_page_shows_the_exact_figures_and_draws_within_their_error() -> None:
    written = sample_curves.PAGE.read_text(encoding="utf-8")
    assert _without_draws(sample_curves.page(list(points()), sample_curves.BLOCKS, sample_curves.COUNTED_BLOCKS)) == (
        _without_draws(written)
    ), "otherwise: python -m tests.long.sample_curves --write"
    shown = re.findall(r"([0-9.]+) % \(([0-9.]+)\)", written)
    assert len(shown) > 300
    for chance, drawn in ((float(one) / 100, float(two) / 100) for one, two in shown):
        noise = 5 * sqrt(chance * (1 - chance) / sample_curves.COUNTED_BLOCKS) + 0.006
        assert abs(chance - drawn) < noise


def test_the_picture_draws_the_exact_curves() -> None:
    drawn = sample_curves.picture(list(points()))
    written = sample_curves.PICTURE.read_text(encoding="utf-8")
    for part in ("polyline", "title", "desc"):
        assert re.findall(rf"<{part}.*", drawn) == re.findall(rf"<{part}.*", written)
    assert written.count("<circle") == drawn.count("<circle")


def chance_of(found: int, looked: int, share: float) -> float:
    """Chance of so many of so many, by the binomial."""
    return comb(looked, found) * share**found * (1 - share) ** (looked - found)


def _without_draws(page: str) -> str:
    return re.sub(r" \([0-9.]+\)", "", page)
