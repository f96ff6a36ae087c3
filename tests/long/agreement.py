"""Kappa and the interval of a share against statsmodels, over 2,000 tables of chance, or as many as are named.

``python -m tests.long.agreement [TABLES [SEED]]``; the suite holds a few values that it gave.
"""

from __future__ import annotations

import sys
from math import isclose
from random import Random

import numpy as np
from statsmodels.stats.inter_rater import cohens_kappa as reference_kappa
from statsmodels.stats.inter_rater import to_table
from statsmodels.stats.proportion import proportion_confint

from roundtui.domain.intervals import wilson
from roundtui.domain.round.recounts import cohens_kappa


def run(tables: int = 2_000, seed: int = 1979) -> None:
    """Draw, and hold one against the other; stops at the first that differs."""
    chance = Random(seed)
    for _ in range(tables):
        share, alike = chance.random(), chance.random()
        first = [chance.random() < share for _ in range(chance.randint(2, 60))]
        said = [(one, one if chance.random() < alike else chance.random() < share) for one in first]
        table = to_table(np.array(said, dtype=int), bins=np.array([-0.5, 0.5, 1.5]))[0]
        if len({answer for pair in said for answer in pair}) == 1:
            assert cohens_kappa(said) is None, said
        else:
            found = cohens_kappa(said)
            assert found is not None, said
            assert isclose(found, float(reference_kappa(table, return_results=False)), abs_tol=1e-9), said
        same = sum(one == other for one, other in said)
        expected = proportion_confint(same, len(said), method="wilson")
        assert np.allclose(wilson(same, len(said)), expected, atol=1e-12), said
    print(f"{tables:,} tables (seed {seed}): kappa and interval are those of statsmodels")


if __name__ == "__main__":
    run(*map(int, sys.argv[1:]))
