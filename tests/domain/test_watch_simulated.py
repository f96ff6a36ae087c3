"""How often the watch is wrong: random catches that fell to a known share, or did not fall, in traps of one block.

Catches of single traps and weeks scatter more than chance alone makes them. Here each week has a luck of its own that
all traps of the block share, as weather is, and each trap one besides, both drawn from a gamma distribution.
"""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from random import Random

import pytest

from roundtui.domain.figures.figures import Reading, Series
from roundtui.domain.figures.treatments import WatchVerdict, watch
from roundtui.domain.programme.farm import Trap
from tests.domain.orchard import day

SEASONS = 400
TREATED = day("07-22")
TRAPS = 4


def moths(luck: Random, mean: float) -> int:
    """A Poisson count."""
    at, number = luck.expovariate(1.0), 0
    while at < mean:
        at, number = at + luck.expovariate(1.0), number + 1
    return number


def shares(level: float, fell_to: float, *, even: float, seed: int = 1) -> dict[WatchVerdict, float]:
    """Share of seasons in which each word is said at the end of the watch.

    Args:
        level: Moths a trap and week before.
        fell_to: Share of it afterwards.
        even: How even weeks and traps are: the shape of both gamma distributions; the higher, the less they scatter.
        seed: The same seed, the same seasons.
    """
    luck, found = Random(seed), Counter[WatchVerdict]()
    for _ in range(SEASONS):
        rows: dict[str, list[Reading]] = {f"A{at}": [] for at in range(TRAPS)}
        for week in range(6):
            read_on = TREATED + timedelta(days=7 * (week - 2))
            weather = luck.gammavariate(even, 1 / even)
            for trap, readings in rows.items():
                mean = level * (fell_to if read_on > TREATED else 1) * weather * luck.gammavariate(even, 1 / even)
                count = moths(luck, mean)
                readings.append(Reading(trap, read_on, read_on - timedelta(days=7), count, count, ()))
        group = [
            Series(Trap(trap, "N1", "CM", hung_on=day("07-01")), tuple(readings)) for trap, readings in rows.items()
        ]
        found[watch(("N1", "CM"), TREATED, group, {}, on=day("08-12"), treated=[TREATED]).verdict] += 1
    return {verdict: found[verdict] / SEASONS for verdict in WatchVerdict}


@pytest.mark.parametrize(("level", "even"), [(2, 4.0), (8, 4.0), (8, 50.0)])
def test_a_catch_that_did_not_fall_is_seldom_said_to(level: float, even: float) -> None:
    assert shares(level, 1.0, even=even)[WatchVerdict.DOWN] <= 0.15


@pytest.mark.parametrize(("level", "even"), [(8, 4.0), (8, 50.0)])
def test_a_catch_that_fell_to_a_quarter_is_seldom_said_not_to(level: float, even: float) -> None:
    found = shares(level, 0.25, even=even)
    assert found[WatchVerdict.NOT_DOWN] <= 0.08
    assert found[WatchVerdict.DOWN] >= 0.9


def test_of_few_moths_it_says_that_it_cannot_tell() -> None:
    found = shares(0.3, 0.25, even=4.0)
    assert found[WatchVerdict.EARLY] >= 0.4
