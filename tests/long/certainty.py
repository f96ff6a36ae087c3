"""How often the 80 % interval holds the level, and how often a chance comes true, over simulated programmes.

python -m tests.long.certainty [PROGRAMMES]

A programme has twenty blocks of one to six traps. Each block's level is drawn anew every round around the round's own
middle; each trap has a luck of its own that lasts, and one for the week, so that their scatter together is k. The
record is twelve rounds, then come the three newest; k, what is usual, interval and chance are the program's.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from math import exp, log

import numpy as np

from roundtui.domain.figures.certainty import (
    NO_EVIDENCE,
    Catch,
    certainty,
    evidence,
    level,
    past_its_peak,
    scatter,
    usual,
)

SCATTERS = (0.4, 1.0, 2.0, 5.0, 10.0)
BLOCKS, RECORD, NEWEST = 20, 12, 3
LOWEST, HIGHEST = 0.2, 50.0
LIMIT = 5.0


@dataclass(frozen=True)
class Judged:
    """One block figure of the last round."""

    k: float
    traps: int
    level: float
    figure: float
    low: float
    high: float
    chance: float


def counts_of(
    luck: np.random.Generator, mean: float, days: np.ndarray, lasting: np.ndarray, weekly: float
) -> list[int]:
    """Counts of a block's traps in a round."""
    week = luck.gamma(weekly, 1 / weekly, len(days))
    return [int(x) for x in luck.poisson(mean * days / 7 * lasting * week)]


def programme(luck: np.random.Generator, k: float, drift: float = 0.0) -> Iterator[Judged]:
    """One programme, and every block figure of its last round.

    Args:
        luck: Where chance comes from.
        k: Scatter of the traps of a block.
        drift: How much higher the logarithm of levels is in the newest rounds than in the record.
    """
    # 1 + 1/k = (1 + 1/lasting) (1 + 1/weekly), both alike.
    share = 1 / ((1 + 1 / k) ** 0.5 - 1)
    traps = luck.integers(1, 7, BLOCKS)
    lasting = [luck.gamma(share, 1 / share, n) for n in traps]
    middle, spread = luck.uniform(log(0.5), log(8)), luck.uniform(0.7, 1.3)
    earlier = newest = NO_EVIDENCE
    now = []
    for round_at in range(RECORD + NEWEST):
        is_new = round_at >= RECORD
        centre = middle + luck.normal(0, 0.4) + (drift if is_new else 0)
        groups = []
        for n, own in zip(traps, lasting, strict=True):
            mean = float(np.clip(exp(luck.normal(centre, spread)), LOWEST, HIGHEST))
            days = luck.integers(5, 13, n) if luck.random() < 0.3 else np.full(n, 7)
            groups.append((counts_of(luck, mean, days, own, share), [int(d) for d in days]))
            if round_at == RECORD + NEWEST - 1:
                now.append((mean, *groups[-1]))
        if is_new:
            newest += evidence(groups)
        else:
            earlier += evidence(groups)
    found, before = scatter((earlier + newest).scatter), usual(newest, earlier)
    for mean, counts, days in now:
        here = level(counts, days, found, before)
        figure = sum(7 * x / d for x, d in zip(counts, days, strict=True)) / len(counts)
        yield Judged(k, len(counts), mean, figure, *here.interval, here.chance(LIMIT))


def judged(programmes: int, *, seed: int = 1, drift: float = 0.0) -> list[Judged]:
    """Block figures of so many programmes of each scatter."""
    luck = np.random.default_rng(seed)
    return [one for k in SCATTERS for _ in range(programmes) for one in programme(luck, k, drift)]


LEVELS = (0.2, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0)
TRAPS = (1, 2, 3, 6)


def past_of(luck: np.random.Generator, k: float) -> float:
    """Scatter that a record of twenty blocks and twelve rounds shows."""
    share = 1 / ((1 + 1 / k) ** 0.5 - 1)
    groups = []
    for n in luck.integers(1, 7, BLOCKS):
        own, mean = luck.gamma(share, 1 / share, n), luck.lognormal(1, 1)
        for _ in range(RECORD):
            days = luck.integers(5, 13, n)
            groups.append((counts_of(luck, mean * luck.lognormal(0, 0.6), days, own, share), [int(d) for d in days]))
    return scatter(evidence(groups).scatter)


def cells(luck: np.random.Generator, runs: int, scatters: Sequence[float] = SCATTERS) -> dict[tuple[float, ...], float]:
    """Share of intervals that hold the level where nothing is usual yet, by scatter, level and traps.

    Args:
        luck: Where chance comes from.
        runs: Figures a cell; each is judged by the scatter that one of ten records shows.
        scatters: The k to look at.
    """
    found = {}
    for k in scatters:
        pasts = [past_of(luck, k) for _ in range(10)]
        for mean, n in product(LEVELS, TRAPS):
            held = 0
            for at in range(runs):
                days = luck.integers(5, 13, n)
                counts = luck.poisson(mean * days / 7 * luck.gamma(k, 1 / k, n))
                low, high = level([int(x) for x in counts], [int(d) for d in days], pasts[at % 10], None).interval
                held += (low if counts.any() else 0) <= mean <= high
            found[k, mean, float(n)] = held / runs
    return found


def coverage(rows: list[Judged]) -> float:
    """Share of intervals that hold their level."""
    return sum(one.low <= one.level <= one.high for one in rows) / len(rows)


def calibration(rows: list[Judged]) -> list[tuple[float, float, int]]:
    """Mean chance said and share that came true, by tenths of the chance; with how many figures."""
    bins: dict[int, list[Judged]] = defaultdict(list)
    for one in rows:
        bins[min(9, int(one.chance * 10))].append(one)
    return [
        (
            sum(r.chance for r in bins[at]) / len(bins[at]),
            sum(r.level >= LIMIT for r in bins[at]) / len(bins[at]),
            len(bins[at]),
        )
        for at in sorted(bins)
    ]


WEEKS = 16


def flights(
    chance: np.random.Generator, traps: int, runs: int, widths: tuple[float, float] = (1.5, 2)
) -> tuple[float, float, float]:
    """Of simulated flights: how many are called past their peak before it, how many at all, and how late, in weeks.

    A flight is a bell with a luck of the block each week; a trap has one that lasts and one for the week.

    Args:
        chance: Where chance comes from.
        traps: Traps of the block.
        runs: Flights.
        widths: Between which the bell's standard deviation is drawn. [week]
    """
    early, late = 0, []
    for _ in range(runs):
        top, width = chance.uniform(5, 11), chance.uniform(*widths)
        middle = 20 * np.exp(-(((np.arange(WEEKS) - top) / width) ** 2) / 2 + chance.normal(0, 0.3, WEEKS))
        luck = chance.gamma(4, 0.25, traps) * chance.gamma(4, 0.25, (WEEKS, traps))
        rounds = [Catch(int(row.sum()), traps) for row in chance.poisson(middle[:, None] * luck)]
        for week in range(1, WEEKS):
            peak = max(rounds[:week], key=lambda one: one.moths)
            lower = any(one.moths < rounds[week].moths for one in rounds[rounds.index(peak) : week])
            if not lower and past_its_peak(rounds[week], peak, 16 / 9, traps):
                early += week < round(top)
                late += [week - top]
                break
    return early / runs, len(late) / runs, float(np.median(late))


def main(programmes: int) -> None:
    """Print the tables."""
    for widths in ((1.5, 1.5), (2, 2), (3, 3), (1.5, 2), (1.5, 3)):
        for traps in (1, 3, 6):
            early, said, late = flights(np.random.default_rng(5), traps, 15 * programmes, widths)
            said_words = f"{100 * early:.1f} % too early, {100 * said:.0f} % at all, {late:.1f} weeks after it"
            print(f"past its peak, width {widths[0]:g} to {widths[1]:g} weeks, {traps} traps: {said_words}")
    flat = cells(np.random.default_rng(6), 3 * programmes)
    print(f"\nNothing usual known: share held in {len(flat)} cells of {3 * programmes} figures, mean (least-most)")
    for name, at, values in (("k", 0, SCATTERS), ("level", 1, LEVELS), ("traps", 2, TRAPS)):
        for value in values:
            of = [100 * held for key, held in flat.items() if key[at] == value]
            print(f"{name} {value:g}: {sum(of) / len(of):.1f} ({min(of):.0f}-{max(of):.0f})")
    for drift in (0.0, log(3), -log(3)):
        rows = judged(programmes, drift=drift)
        print(
            f"\nNewest rounds {exp(drift):.2g} times the record; {len(rows)} block figures; all: {coverage(rows):.3f}"
        )
        print("| k | " + " | ".join(f"{n} traps" for n in range(1, 7)) + " | all |")
        print("|---" * 8 + "|")
        for k in SCATTERS:
            own = [one for one in rows if one.k == k]
            by_traps = [f"{100 * coverage([o for o in own if o.traps == n]):.0f}" for n in range(1, 7)]
            print(f"| {k:g} | {' | '.join(by_traps)} | {100 * coverage(own):.1f} |")
        for low, high in ((0.2, 1), (1, 3), (3, 8), (8, 20), (20, 51)):
            own = [one for one in rows if low <= one.level < high]
            print(f"level {low} to {high}: {100 * coverage(own):.1f} % of {len(own)}")
        print("said -> true: " + "  ".join(f"{said:.2f} -> {true:.2f} ({n})" for said, true, n in calibration(rows)))
        words: dict[str, list[bool]] = defaultdict(list)
        for one in rows:
            over = one.figure >= LIMIT
            word = certainty(one.chance if over else 1 - one.chance).words
            words[f"{'over' if over else 'below'}, {word}"].append((one.level >= LIMIT) == over)
        for word, right in sorted(words.items()):
            print(f"{word}: right {100 * sum(right) / len(right):.0f} % of {len(right)}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
