"""Someone who collects every update and works out what a farm's figure can be, by linear programming."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog

Unknown = Hashable
"""A farm's figure: farm, species, week, and which of its versions."""


@dataclass(frozen=True)
class Published:
    """What one published figure says: between which two sums these unknowns lie."""

    of: tuple[Unknown, ...]
    low: float
    high: float


def pinned(
    published: Sequence[Published], known: Mapping[Unknown, float] | None = None, slack: float = 1e-6
) -> dict[Unknown, float]:
    """Unknowns that can be nothing else than one value.

    Args:
        published: Every figure of every update, with the farms behind it: more than the public is told.
        known: What the attacker knows beforehand, such as a grower of their own farm.
        slack: How closely a value must be told to count as found out.
    """
    names = list(dict.fromkeys(name for one in published for name in one.of))
    place = {name: at for at, name in enumerate(names)}
    left = np.zeros((len(published), len(names)))
    low = np.array([one.low for one in published])
    high = np.array([one.high for one in published])
    for row, one in enumerate(published):
        for name in one.of:
            left[row, place[name]] += 1
    bounds = [((known or {}).get(name, 0.0), (known or {}).get(name)) for name in names]
    found = {}
    for part in _connected(left):
        rows = [row for row in range(len(published)) if left[row, part].any()]
        for name in part:
            if names[name] in (known or {}):
                continue
            ends = [
                _end(
                    left[np.ix_(rows, part)],
                    (low[rows], high[rows]),
                    [bounds[at] for at in part],
                    part.index(name),
                    sign,
                )
                for sign in (1, -1)
            ]
            if ends[1] - ends[0] <= slack:
                found[names[name]] = ends[0]
    return found


def _connected(left: np.ndarray) -> list[list[int]]:
    """Unknowns in groups that no figure ties together."""
    groups: list[set[int]] = []
    for row in left:
        mine = set(np.flatnonzero(row).tolist())
        tied = [group for group in groups if group & mine]
        groups = [group for group in groups if not group & mine] + [mine.union(*tied)]
    return [sorted(group) for group in groups]


def _end(
    left: np.ndarray,
    between: tuple[np.ndarray, np.ndarray],
    bounds: Sequence[tuple[float, float | None]],
    name: int,
    sign: int,
) -> float:
    """Least or greatest value of one unknown."""
    goal = np.zeros(left.shape[1])
    goal[name] = sign
    answer = linprog(
        goal, A_ub=np.vstack((left, -left)), b_ub=np.hstack((between[1], -between[0])), bounds=bounds, method="highs"
    )
    if answer.status == 3:
        return sign * -np.inf
    assert answer.success, answer.message
    return float(sign * answer.fun)
