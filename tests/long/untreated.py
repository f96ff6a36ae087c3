"""How often a fall is told that is none, and how often one to a quarter is found, beside untreated blocks.

python -m tests.long.untreated [RUNS]

All blocks follow one flight that falls or grows by the week; each has a timing of its own and a luck of the week, each
trap a height that lasts and a luck of the week. A treated block's catch after is what it would have been, or a share of
it. As in the program the last reading before the treatment is left out, and so is the one across it.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Sequence

import numpy as np

from roundtui.domain.figures.certainty import Catch
from roundtui.domain.figures.untreated import ASSUMED, Sides, Timing, compare, timing

WEEKS = (-2, -1, 0, 1, 2, 3)
"""Readings of a trap by week: two before, the one that set the treatment off, three after."""
TRAP, WEEKLY = 4.0, 4.0
SCATTER = 1 / (1 / TRAP + 1 / WEEKLY + 1 / (TRAP * WEEKLY))
OWN_TIMING, BLOCK_WEEK = 0.1, 0.3
RECORDS = 20
TRENDS = (-0.4, -0.2, 0.0, 0.2, 0.4)


def counts(
    luck: np.random.Generator,
    traps: int,
    level: float,
    trend: float,
    *,
    share: float = 1.0,
    own: float = OWN_TIMING,
    across: int = 1,
) -> np.ndarray:
    """Counts of a block's traps by ``WEEKS``.

    Args:
        luck: Where chance comes from.
        traps: Traps of the block.
        level: Its level in the week of the treatment.
        trend: Natural change a week.
        share: Share of its catch that is left after the treatment.
        own: How far the block's own change a week lies from that.
        across: Readings across the treatment, after which those after it begin.
    """
    weeks = np.array([week + across * (week > 0) for week in WEEKS], dtype=float)
    mean = level * (1 + trend) ** weeks * np.exp(luck.normal(0, own) * weeks + luck.normal(0, BLOCK_WEEK, len(weeks)))
    mean[3:] *= share
    height = luck.gamma(TRAP, 1 / TRAP, (traps, 1))
    return luck.poisson(mean * height * luck.gamma(WEEKLY, 1 / WEEKLY, (traps, len(weeks))))


def sides(block: np.ndarray) -> Sides:
    """A block before and after, the last reading before left out."""
    traps = len(block)
    return Sides(Catch(int(block[:, :2].sum()), 2.0 * traps), Catch(int(block[:, 3:].sum()), 3.0 * traps))


def own_timing(luck: np.random.Generator, rounds: int = 48, blocks: int = 6) -> Timing:
    """The blocks' own timing from a record of mock treatments."""
    record = [
        [sides(counts(luck, 3, luck.uniform(3, 8), trend)) for _ in range(blocks)]
        for trend in luck.uniform(-0.3, 0.3, rounds)
    ]
    return timing(record, SCATTER)


def shares(
    luck: np.random.Generator,
    owns: Sequence[Timing],
    runs: int,
    *,
    traps: int = 3,
    controls: int = 5,
    trend: float = 0.0,
    level: float = 5.0,
    share: float = 1.0,
    chosen_at: float = 0.0,
    wild: float = OWN_TIMING,
    across: int = 1,
) -> Counter[bool | None]:
    """What is said in so many runs, each with the blocks' own timing of one of some records."""
    said: Counter[bool | None] = Counter()
    while sum(said.values()) < runs:
        block = counts(luck, traps, level, trend, share=share, own=wild, across=across)
        if chosen_at and block[:, 2].mean() < chosen_at:
            continue
        others = [sides(counts(luck, 3, level, trend, own=wild, across=across)) for _ in range(controls)]
        own = owns[sum(said.values()) % len(owns)]
        found = compare(sides(block), [one for one in others if one.before.moths >= 5], SCATTER, own)
        said[None if found is None else found.is_down] += 1
    return said


def cell(luck: np.random.Generator, own: Sequence[Timing], runs: int, **how: float) -> str:
    """False and found, in percent."""
    false = shares(luck, own, runs, **how)[True]  # type: ignore[arg-type]
    found = shares(luck, own, runs, share=0.25, **how)[True]  # type: ignore[arg-type]
    return f"{100 * false / runs:.0f}/{100 * found / runs:.0f}"


def table(
    luck: np.random.Generator, own: Sequence[Timing], runs: int, rows: Sequence[tuple[str, dict[str, float]]]
) -> None:
    """Print rows over all trends."""
    for name, how in rows:
        cells = [cell(luck, own, runs, trend=trend, **how) for trend in TRENDS]
        print(f"| {name} | {' | '.join(cells)} |", flush=True)


def main(runs: int) -> None:
    """Print the tables."""
    luck = np.random.default_rng(1)
    own = [own_timing(luck) for _ in range(RECORDS)]
    print(f"own timing of the records: {', '.join(f'{one.variance:.2f}' for one in own)}")
    print("| treated traps | falls 40 % a week | 20 % | level | grows 20 % | 40 % |\n|---|---|---|---|---|---|")
    rows: list[tuple[str, dict[str, float]]] = [(f"{n}", {"traps": n}) for n in (1, 2, 3, 4, 6)]
    rows += [(f"3 traps, {n} untreated", {"controls": n}) for n in (1, 2, 3, 5, 10)]
    rows += [(f"chosen, {n} traps", {"traps": n, "chosen_at": 5, "level": 3}) for n in (2, 3, 6)]
    rows += [(f"on the day of a reading, {n} traps", {"traps": n, "across": 0}) for n in (1, 3, 6)]
    rows += [("level 2", {"level": 2}), ("level .5", {"level": 0.5})]
    rows += [(f"own timing {wild}", {"wild": wild}) for wild in (0.2, 0.3)]
    table(luck, own, runs, rows)
    table(luck, [ASSUMED], runs, [(f"no record, {n} untreated", {"controls": n}) for n in (2, 3, 5, 10)])
    for share in (1, 0.5, 0.25, 0.1):
        said = shares(luck, own, runs, trend=-0.2, share=share)
        down, stays, little = (said[word] / runs for word in (True, False, None))
        print(f"falls 20 %, to {share:g}: down {down:.2f}, not {stays:.2f}, too little {little:.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1500)
