"""How many slips the marks on unlikely counts catch, and how many honest counts they hit.

python -m tests.long.unlikely [PROGRAMMES]

Fifteen blocks of one to six traps over two seasons of two flights each; the second season is scored. A block has a
level that stays and a timing of its own each season, a trap a height that stays; a week has a luck of its own, so has a
block in it, and a trap. Each count is looked at as typed, and with a slip: a zero more, a digit doubled, a digit lost.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from math import exp

import numpy as np

from roundtui.domain.figures.unlikely import (
    Known,
    Others,
    Past,
    Seen,
    after_round,
    expected,
    first_of,
    means_in_order,
    others_of,
    slip,
    with_marks,
)
from tests.domain.test_unlikely import learn

WEEKS, GAP = 24, 28
FLIGHTS = ((6, 1.0), (17, 0.8))
"""Week of each flight's peak, and its height beside the first."""
WIDTH = 2.0
"""Standard deviation of a flight. [week]"""
LEVELS, TIMING, LUCK = 0.5, 0.7, 0.3
"""Spread of the blocks' levels and of their timing, in weeks; of the luck of a week, shared and of a block."""
BANDS = ((1, 2), (3, 7), (8, 19), (20, 49), (50, 400))


@dataclass(frozen=True)
class Kind:
    """A kind of programme, and what a count in it is held against."""

    name: str
    peak: float
    trap: float = 4.0
    weekly: float = 4.0
    by: Known | None = None
    """What every count is held against; None: what the program takes, first of the round or the others read so far."""
    blocks: int = 15
    stays: bool = True
    """Whether a block's level is the same in both seasons."""


KINDS = (
    Kind("usual, peak 8", 8),
    Kind("usual, peak 20", 20),
    Kind("clumped, peak 8", 8, 1.5, 1.5),
    Kind("even, peak 20", 20, 10, 10),
    Kind("first of the round, peak 8", 8, by=Known.FIRST),
    Kind("trap alone, peak 8", 8, blocks=1),
    Kind("levels new each season, peak 8", 8, stays=False),
    Kind("levels new each season, peak 20", 20, stays=False),
)


def seasons(luck: np.random.Generator, kind: Kind) -> list[tuple[int, list[Seen]]]:
    """Rounds of two seasons, the traps of each in the order read."""
    traps = luck.integers(1, 7, kind.blocks) if kind.blocks > 1 else [1]
    height = [luck.gamma(kind.trap, 1 / kind.trap, n) for n in traps]
    level = luck.lognormal(0, LEVELS, kind.blocks)
    rounds = []
    for season in range(2):
        if season and not kind.stays:
            level = luck.lognormal(0, LEVELS, kind.blocks)
        shift = luck.normal(0, TIMING, kind.blocks)
        for week in range(WEEKS):
            shared = kind.peak * luck.lognormal(0, LUCK)
            seen = []
            for at, own in enumerate(height):
                flight = sum(share * exp(-(((week - peak - shift[at]) / WIDTH) ** 2) / 2) for peak, share in FLIGHTS)
                mean = shared * level[at] * (flight + 0.01) * luck.lognormal(0, LUCK)
                moths = luck.poisson(mean * own * luck.gamma(kind.weekly, 1 / kind.weekly, len(own)))
                seen += [Seen(f"{at}-{trap}", int(x), 1.0) for trap, x in enumerate(moths)]
            rounds.append((season * (WEEKS + GAP) + week, seen))
    return rounds


def doubled(count: int) -> int:
    """The last key hit twice."""
    return int(f"{count}{count % 10}")


SLIPS: dict[str, Callable[[int], int]] = {"zero": lambda x: 10 * x, "doubled": doubled, "lost": lambda x: x // 10}


class Score:
    """Marks on honest counts, on slips, and on 500 as the first reading of a new trap."""

    def __init__(self) -> None:
        self.honest = self.false = self.new = self.new_marked = 0
        self.typed: dict[tuple[str, tuple[int, int]], int] = defaultdict(int)
        self.caught: dict[tuple[str, tuple[int, int]], int] = defaultdict(int)

    def add(self, luck: np.random.Generator, kind: Kind) -> None:
        """One programme."""
        rounds = seasons(luck, kind)
        past = learn(rounds[:WEEKS])
        for week, seen in rounds[WEEKS:]:
            means = means_in_order(past, week, seen)
            for one, each in zip(seen, means, strict=True):
                if kind.by is None or kind.by in each:
                    mean, known = first_of(each, one) if kind.by is None else (each[kind.by], kind.by)
                    self.count(one.moths, mean, past, known)
            self.first(past, others_of(past, seen if kind.by is None else []), week)
            past = with_marks(after_round(past, week, seen, means))

    def count(self, moths: int, mean: float, past: Past, known: Known) -> None:
        """One count as typed, and with each slip."""
        marks = past.marks_of(known)
        self.honest += 1
        self.false += slip(moths, mean, marks) is not None
        band = next((b for b in BANDS if b[0] <= moths <= b[1]), None)
        for name, make in SLIPS.items():
            if band is not None and (name != "lost" or moths >= 10):
                self.typed[name, band] += 1
                self.caught[name, band] += slip(make(moths), mean, marks) is not None

    def first(self, past: Past, others: Others, week: int) -> None:
        """500 typed as the first reading of a trap just hung."""
        mean, known = expected(past, Seen("new", 0, 1.0), others, week)
        self.new += 1
        self.new_marked += slip(500, mean, past.marks_of(known)) is not None

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
    print(f"| | false marks 1 in | zero on {bands} | doubled on {bands} | lost 10-19 | lost 20-49 | first of 500 |")
    print("|---" * 13 + "|")
    for kind in KINDS:
        found = score(kind, programmes * (25 if kind.blocks == 1 else 1))
        cells = [found.share(name, band) for name in ("zero", "doubled") for band in BANDS[:4]]
        cells += [found.share("lost", band) for band in ((8, 19), (20, 49))]
        cells += [f"{100 * found.new_marked / found.new:.1f}"]
        print(f"| {kind.name} | {found.honest / max(1, found.false):.0f} | {' | '.join(cells)} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
