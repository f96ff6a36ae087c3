"""How many slips the marks on unlikely counts catch, and how many honest counts they hit.

python -m tests.long.unlikely [PROGRAMMES]

Fifteen blocks of one to six traps over two seasons of two flights each; the second season is scored. Each count of it
is looked at as typed, and with a slip: a zero more, a digit doubled, a digit lost.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from math import exp

import numpy as np

from roundtui.domain.figures.unlikely import Seen, expected, others_of, slip
from tests.domain.test_unlikely import learn

WEEKS, GAP = 24, 28
BANDS = ((1, 2), (3, 7), (8, 19), (20, 49), (50, 400))


@dataclass(frozen=True)
class Kind:
    """A kind of programme."""

    name: str
    peak: float
    trap: float = 4.0
    weekly: float = 4.0
    alone: bool = False
    first: bool = False


KINDS = (
    Kind("usual, peak 8", 8),
    Kind("usual, peak 20", 20),
    Kind("clumped, peak 8", 8, 1.5, 1.5),
    Kind("even, peak 20", 20, 10, 10),
    Kind("first of the round, peak 8", 8, first=True),
    Kind("trap alone, peak 8", 8, alone=True),
)


def seasons(luck: np.random.Generator, kind: Kind) -> list[tuple[int, list[Seen]]]:
    """Rounds of two seasons, the traps of each in the order read."""
    blocks = 1 if kind.alone else 15
    traps = [1] if kind.alone else list(luck.integers(1, 7, blocks))
    height = [luck.gamma(kind.trap, 1 / kind.trap, n) for n in traps]
    rounds = []
    for season in range(2):
        level = luck.lognormal(0, 0.5, blocks)
        shift = luck.normal(0, 0.7, blocks)
        for week in range(WEEKS):
            seen = []
            for at in range(blocks):
                flight = (
                    exp(-((week - 6 - shift[at]) ** 2) / 12) + 0.8 * exp(-((week - 17 - shift[at]) ** 2) / 12) + 0.01
                )
                mean = kind.peak * level[at] * flight * luck.lognormal(0, 0.3)
                for trap in range(traps[at]):
                    moths = luck.poisson(mean * height[at][trap] * luck.gamma(kind.weekly, 1 / kind.weekly))
                    seen.append(Seen(f"{at}-{trap}", int(moths), 1.0))
            rounds.append((season * (WEEKS + GAP) + week, seen))
    return rounds


def doubled(count: int) -> int:
    """The last key hit twice."""
    return int(f"{count}{count % 10}")


SLIPS: dict[str, Callable[[int], int]] = {"zero": lambda x: 10 * x, "doubled": doubled, "lost": lambda x: x // 10}


class Score:
    """Marks on honest counts and on slips."""

    def __init__(self) -> None:
        self.honest = self.false = 0
        self.typed: dict[tuple[str, tuple[int, int]], int] = defaultdict(int)
        self.caught: dict[tuple[str, tuple[int, int]], int] = defaultdict(int)

    def add(self, luck: np.random.Generator, kind: Kind) -> None:
        """One programme."""
        rounds = seasons(luck, kind)
        past = learn(rounds[:WEEKS])
        for at in range(WEEKS, 2 * WEEKS):
            week, seen = rounds[at]
            if at % 4 == 0:
                past = learn(rounds[:at])
            for place, one in enumerate(seen):
                if kind.first and place and luck.random() > 0.2:
                    continue
                mean, known = expected(past, one, others_of(past, [] if kind.first else seen[:place]), week)
                marks = past.marks_of(known)
                self.honest += 1
                self.false += slip(one.moths, mean, marks) is not None
                band = next((b for b in BANDS if b[0] <= one.moths <= b[1]), None)
                for name, make in SLIPS.items():
                    if band is not None and (name != "lost" or one.moths >= 10):
                        self.typed[name, band] += 1
                        self.caught[name, band] += slip(make(one.moths), mean, marks) is not None

    def share(self, name: str, band: tuple[int, int]) -> str:
        """Caught, in percent."""
        typed = self.typed[name, band]
        return f"{100 * self.caught[name, band] / typed:.0f}" if typed > 20 else "-"


def score(kind: Kind, programmes: int, seed: int = 1) -> Score:
    """Marks over so many programmes of a kind."""
    luck = np.random.default_rng(seed)
    found = Score()
    for _ in range(programmes):
        found.add(luck, kind)
    return found


def main(programmes: int) -> None:
    """Print the table."""
    bands = " | ".join(f"{low}-{high}" for low, high in BANDS[:4])
    print(f"| | false marks 1 in | zero on {bands} | doubled on {bands} | lost 10-19 | lost 20-49 |")
    print("|---" * 12 + "|")
    for kind in KINDS:
        found = score(kind, programmes * (15 if kind.alone else 1))
        cells = [found.share(name, band) for name in ("zero", "doubled") for band in BANDS[:4]]
        cells += [found.share("lost", band) for band in ((8, 19), (20, 49))]
        print(f"| {kind.name} | {found.honest / max(1, found.false):.0f} | {' | '.join(cells)} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
