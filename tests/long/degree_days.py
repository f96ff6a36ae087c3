"""Every closed form against numerical integration, over 10,800 days of every kind, or as many as are named.

``python -m tests.long.degree_days [DAYS [SEED]]``; the suite takes 720 of them.
"""

from __future__ import annotations

import sys

from tests.domain.test_degree_days import CURVES, hold_against_integration, random_days


def run(days: int = 10_800, seed: int = 1) -> None:
    """Hold them all against each other; stops at the first that differs."""
    for method in CURVES:
        hold_against_integration(method, random_days(days, seed))
        print(f"{method}: {days:,} days agree to 1e-9 (seed {seed})")


if __name__ == "__main__":
    run(*map(int, sys.argv[1:]))
