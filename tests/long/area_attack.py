"""Two growers put their own catches beside an area update: whose catch can then be nothing but one number?

``python -m tests.long.area_attack [SEASONS]`` prints, for 3 to 8 farms, the farm-weeks published and those found out,
under the rules of an update and, for comparison, under three farms and one decimal alone. Counts are whole moths, so
that a catch has few possible values; the attack uses that, and that no count is below zero. It knows which farms stand
behind a figure, how many traps each has: more than the public is told. Every trap hangs a week.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import combinations
from math import ceil, lcm

from roundtui.domain.publication import FarmFigure, mean, release

WEEK = date(2031, 6, 3)
WEEKS = 20
"""Weeks of a season."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """Between which two sums of the farms' figures a printed mean lies; the upper one is not reached."""

    low: Fraction
    high: Fraction


def found_out(figures: Sequence[FarmFigure], bounds: Bounds, coalition: set[str]) -> set[str]:
    """Farms of which growers who know their own figures can tell the catch.

    Args:
        figures: The farms behind a printed mean.
        bounds: What the printed mean says of their sum.
        coalition: Growers who tell each other their own figures.
    """
    own = sum((one.value for one in figures if one.who in coalition), Fraction(0))
    rest = [one for one in figures if one.who not in coalition]
    grid = lcm(
        *(one.step.denominator for one in rest), bounds.low.denominator, bounds.high.denominator, own.denominator
    )
    low, high = int((bounds.low - own) * grid), ceil((bounds.high - own) * grid)
    steps = [int(one.step * grid) for one in rest]
    found = set()
    for at, one in enumerate(rest):
        others = _sums([step for place, step in enumerate(steps) if place != at], high)
        possible = 0
        for value in range(0, max(high, 1), steps[at]):
            span = (1 << (high - value)) - 1
            if low - value > 0:
                span &= ~((1 << (low - value)) - 1)
            possible += bool(others & span)
            if possible > 1:
                break
        if possible == 1:
            found.add(one.farm)
    return found


def _sums(steps: Sequence[int], most: int) -> int:
    """Sums that multiples of some steps can have, below a most: bit n stands for n."""
    reached, below = 1, (1 << max(most, 1)) - 1
    for step in steps:
        times = step
        while times < most:
            reached = (reached | reached << times) & below
            times *= 2
    return reached


def farms_of(chance: random.Random, number: int) -> list[tuple[str, str, int, float]]:
    """Farms: code, grower, traps, and how many moths a trap catches in a week on the average.

    Args:
        chance: Where numbers come from.
        number: How many.
    """
    found = []
    for at in range(number):
        grower = "Ida Birch" if at > 3 and chance.random() < 0.2 else ""
        found.append((f"F{at}", grower, chance.choice((1, 2, 3, 4)), chance.choice((0.1, 0.5, 1, 3, 8))))
    return found


def week_of(chance: random.Random, farms: Sequence[tuple[str, str, int, float]]) -> list[FarmFigure]:
    """One week's figures: whole moths that scatter as trap catches do.

    Args:
        chance: Where numbers come from.
        farms: The farms.
    """
    flight = chance.choice((0.2, 1, 2))
    found = []
    for farm, grower, traps, level in farms:
        moths = sum(_poisson(chance, chance.gammavariate(1.5, level * flight / 1.5)) for _ in range(traps))
        step = Fraction(1, traps)
        found.append(FarmFigure(farm, moths * step, traps, grower=grower, step=step))
    return found


def _poisson(chance: random.Random, mean_of: float) -> int:
    left, number = mean_of, 0
    while (left := left - chance.expovariate(1)) > 0:
        number += 1
    return number


def as_printed(figures: Sequence[FarmFigure]) -> Bounds | None:
    """What an update says of the sum; None where it withholds the figure."""
    cell = release("catch", "CM", WEEK, figures)
    if cell.value is None:
        return None
    n = len(figures)
    if cell.value == 0:
        return Bounds(Fraction(0), Fraction(n))
    # Under one is told apart, so that a printed 1 begins there.
    return Bounds(n * max(cell.value - Fraction(1, 2), Fraction(1)), n * (cell.value + Fraction(1, 2)))


def three_farms_one_decimal(figures: Sequence[FarmFigure]) -> Bounds | None:
    """What a mean of at least three farms with one decimal says of the sum."""
    if len(figures) < 3:
        return None
    tenth = Fraction(round(mean([one.value for one in figures]) * 10), 10)
    return Bounds(len(figures) * (tenth - Fraction(1, 20)), len(figures) * (tenth + Fraction(1, 20)))


def attacked(number: int, seasons: int, seed: int) -> dict[str, tuple[int, int, int]]:
    """Whole seasons of an area, attacked by every one and every two growers.

    Args:
        number: Farms.
        seasons: How many seasons.
        seed: For the numbers.

    Returns:
        By rule: farm-weeks in all, farm-weeks behind a published figure, and farm-weeks found out.
    """
    chance = random.Random(seed)
    found = {"rules": [0, 0, 0], "three farms, one decimal": [0, 0, 0]}
    for _ in range(seasons):
        farms = farms_of(chance, number)
        for _ in range(WEEKS):
            figures = week_of(chance, farms)
            for name, printed in (("rules", as_printed), ("three farms, one decimal", three_farms_one_decimal)):
                found[name][0] += len(figures)
                bounds = printed(figures)
                if bounds is None:
                    continue
                found[name][1] += len(figures)
                growers = sorted({one.who for one in figures})
                out = set()
                for size in (1, 2):
                    for some in combinations(growers, size):
                        out |= found_out(figures, bounds, set(some))
                found[name][2] += len(out)
    return {name: (a, b, c) for name, (a, b, c) in found.items()}


def main() -> None:
    """Print the table."""
    seasons = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    print(f"{seasons} seasons of {WEEKS} weeks each, seed 1")
    print("farms  rule                      farm-weeks  published  found out")
    for number in range(3, 9):
        for name, (every, published, out) in attacked(number, seasons, 1).items():
            print(f"{number:5}  {name:24}  {every:10}  {published:9}  {out:9}")


if __name__ == "__main__":
    main()
