"""Random seasons judged twice: every figure, status and item of attention of a day, of all blocks or of one route.

``python -m tests.long.random_seasons [SEASONS [FIRST]]`` judges a thousand; the suite takes fifty.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.judge.random_farm import RandomFarm
from tests.judge.test_random_farm import differences


def run(seasons: int = 1000, first: int = 0) -> None:
    """Judge seasons; prints each that differs, with both figures."""
    differ = 0
    for seed in range(first, first + seasons):
        with tempfile.TemporaryDirectory() as place:
            RandomFarm(Path(place), seed, small=True)
            if found := differences(Path(place), seed, 1):
                differ += 1
                print(seed, found)
    print(f"{seasons} seasons, {differ} judged otherwise")


if __name__ == "__main__":
    run(*map(int, sys.argv[1:]))
