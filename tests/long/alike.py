"""How often the interval of a leaf or fruit sample holds the true share where units of one tree are alike.

python -m tests.long.alike
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from roundtui.domain.intervals import clopper_pearson, clustered

RUNS = 4000
LIKENESS = (0, 0.01, 0.03, 0.1, 0.2)
TREES = (5, 10, 20, 50)
EACH = (2, 5, 10, 20, 50, 100)
SHARES = (0.005, 0.02, 0.1, 0.3)


def holds(
    chance: np.random.Generator, alike: float, sizes: tuple[int, int], share: float, runs: int = RUNS
) -> list[float]:
    """How often the plain and the widened interval hold the share, of samples drawn beta-binomial by tree."""
    trees, each = sizes
    if alike:
        of_trees = chance.beta(share * (1 / alike - 1), (1 - share) * (1 / alike - 1), (runs, trees))
        found = chance.binomial(each, of_trees).sum(axis=1)
    else:
        found = chance.binomial(trees * each, share, runs)
    numbers, often = np.unique(found, return_counts=True)
    held = np.zeros(2)
    for number, times in zip(numbers, often, strict=True):
        for at, one in enumerate(
            (clopper_pearson(int(number), trees * each), clustered(int(number), trees * each, trees))
        ):
            held[at] += times * (one is not None and one[0] <= share <= one[1])
    return [float(one) / runs for one in held]


def table(runs: int = RUNS) -> Iterable[str]:
    """Least and mean share of samples whose interval holds, by likeness."""
    chance = np.random.default_rng(7)
    yield "| alike | plain: least, mean | widened: least, mean |"
    yield "|---|---|---|"
    for alike in LIKENESS:
        found = np.array(
            [holds(chance, alike, (trees, each), share, runs) for trees in TREES for each in EACH for share in SHARES]
        )
        cells = (f"{100 * low:.0f}, {100 * mean:.0f}" for low, mean in zip(found.min(0), found.mean(0), strict=True))
        yield f"| {alike} | {' | '.join(cells)} |"


if __name__ == "__main__":
    for row in table():
        print(row)
