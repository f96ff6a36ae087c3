"""Bench of degree-day series: ratios of one run, against integration and against numpy.

``python -m tests.bench.degree_days`` prints the table of docs/bench.md; with ``--write`` it puts it there.
Nothing asserts these figures: a busy machine would make it lie.
"""

from __future__ import annotations

import math
import random
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from roundtui.domain.season.degree_days import Cutoff, Method, series
from roundtui.domain.season.weather import runs
from roundtui.domain.units import TempUnit
from tests.real_weather import clemson

STATIONS = 100
FIRST, LAST = date(1981, 1, 1), date(2010, 12, 31)
SAMPLE = 2_000
LOWER, UPPER = 50.0, 88.0
REPEATS = 5
PAGE = Path(__file__).parents[2] / "docs" / "bench.md"
MARKS = ("<!-- bench: made by tests/bench/degree_days.py -->", "<!-- bench: end -->")

Station = tuple[list[float], list[float]]


def stations(step: int | None) -> list[Station]:
    """Thirty real years, each station set off day by day by some degrees of its own.

    Args:
        step: Parts of a degree in which its thermometer is read: 1 for whole degrees, 10 for tenths; None: not rounded.
    """
    run = max(runs(clemson(), TempUnit.F, most_filled=31), key=lambda piece: len(piece.tmin))
    start, stop = (FIRST - run.first).days, (LAST - run.first).days + 1
    assert start >= 0
    assert stop <= len(run.tmin)
    chance = random.Random(7)
    made = []
    for _ in range(STATIONS):
        off = [chance.gauss(0, 3) for _ in range(stop - start)]
        if step is not None:
            off = [round(more * step) / step for more in off]
        low = [temp + more for temp, more in zip(run.tmin[start:stop], off, strict=True)]
        high = [temp + more for temp, more in zip(run.tmax[start:stop], off, strict=True)]
        if step is not None:
            low, high = ([round(temp * step) / step for temp in temps] for temps in (low, high))
        made.append((low, high))
    return made


def kinks(low: float, high: float) -> list[float]:
    """Where the day's curve crosses a threshold. [share of the day]"""
    found = []
    for base in (LOWER, UPPER):
        if low < base < high:
            rise = math.asin((2 * base - low - high) / (high - low)) / (2 * math.pi)
            found += [(rise + 0.25) % 1, (0.75 - rise) % 1]
    return sorted(found)


def integrated(low: float, high: float, cutoff: Cutoff = Cutoff.HORIZONTAL) -> float:
    """Single sine over the whole day by quad, its kinks given as points; the rate is one for every cutoff."""
    from scipy.integrate import quad

    def temp(day: float) -> float:
        return (low + high) / 2 + (high - low) / 2 * math.sin(2 * math.pi * (day - 0.25))

    def rate(warmth: float) -> float:
        if warmth <= LOWER:
            return 0.0
        if warmth <= UPPER or cutoff is Cutoff.NONE:
            return warmth - LOWER
        if cutoff is Cutoff.HORIZONTAL:
            return UPPER - LOWER
        return 2 * UPPER - LOWER - warmth if cutoff is Cutoff.INTERMEDIATE else 0.0

    return float(quad(lambda day: rate(temp(day)), 0, 1, points=kinks(low, high) or None, epsabs=1e-9, epsrel=0)[0])


def integrated_by_hand(low: float, high: float) -> float:
    """The same with everything but the horizontal cutoff taken out of the integrand: as quick as quad gets."""
    from scipy.integrate import quad

    mean, swing, turn, sin = (low + high) / 2, (high - low) / 2, 2 * math.pi, math.sin

    def rate(day: float) -> float:
        return min(max(mean + swing * sin(turn * (day - 0.25)), LOWER), UPPER) - LOWER

    return float(quad(rate, 0, 1, points=kinks(low, high) or None, epsabs=1e-9, epsrel=0)[0])


def best(work: Callable[[], object], repeats: int = REPEATS) -> float:
    """Shortest of a few tries. [s]"""
    times = []
    for _ in range(repeats):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times)


def rows() -> list[tuple[str, float, float]]:
    """What was timed: name, seconds, and how many times the closed form's."""
    import numpy as np

    data, tenths, unrounded = stations(1), stations(10), stations(None)
    days = sum(len(low) for low, _ in data)

    def closed(days: list[Station], method: Method = Method.SINGLE_SINE) -> list[list[float]]:
        return [series(low, high, LOWER, UPPER, method=method, cutoff=Cutoff.HORIZONTAL) for low, high in days]

    def formula(low, high):  # type: ignore[no-untyped-def]
        mean, swing = (low + high) / 2, (high - low) / 2

        def area(base):  # type: ignore[no-untyped-def]
            angle = np.arcsin(np.clip((base - mean) / swing, -1, 1))
            across = ((mean - base) * (np.pi / 2 - angle) + swing * np.cos(angle)) / np.pi
            return np.where(base <= low, mean - base, np.where(base >= high, 0.0, across))

        return area(LOWER) - area(UPPER)

    arrays = [(np.array(low), np.array(high)) for low, high in data]
    with np.errstate(divide="ignore", invalid="ignore"):
        from_arrays = best(lambda: [formula(low, high) for low, high in arrays])
        from_rows = best(lambda: [formula(np.array(low), np.array(high)).tolist() for low, high in data])
        off = max(float(np.abs(formula(*pair) - one).max()) for pair, one in zip(arrays, closed(data), strict=True))
    assert off < 1e-9, off
    chance = random.Random(3)
    sample = [(low[at], high[at]) for low, high in data for at in chance.sample(range(len(low)), SAMPLE // STATIONS)]
    for pair in sample:
        near = series([pair[0]], [pair[1]], LOWER, UPPER, cutoff=Cutoff.HORIZONTAL)[0]
        assert abs(integrated(*pair) - near) < 1e-8
        assert abs(integrated_by_hand(*pair) - near) < 1e-8
    integral = best(lambda: [integrated(*pair) for pair in sample], 3) / len(sample) * days
    by_hand = best(lambda: [integrated_by_hand(*pair) for pair in sample], 3) / len(sample) * days
    own = best(lambda: closed(data))
    in_tenths, in_full = best(lambda: closed(tenths)), best(lambda: closed(unrounded))
    double = best(lambda: closed(data, Method.DOUBLE_SINE))
    load = [sys.executable, "-c", "import time; t=time.perf_counter(); import numpy; print(time.perf_counter()-t)"]
    loading = min(float(subprocess.run(load, capture_output=True, check=True, text=True).stdout) for _ in range(3))
    return [
        (f"closed form, single sine, horizontal, {days:,} days read in whole °F", own, 1.0),
        ("closed form, read in tenths of °F", in_tenths, in_tenths / own),
        ("closed form, not rounded at all", in_full, in_full / own),
        ("closed form, double sine", double, double / own),
        (f"scipy.integrate.quad, any cutoff, from {len(sample):,} days", integral, integral / own),
        ("scipy.integrate.quad, integrand trimmed by hand to this cutoff", by_hand, by_hand / own),
        ("numpy, the same formula, from the same rows and back", from_rows, from_rows / own),
        ("numpy, the same formula, arrays in place", from_arrays, from_arrays / own),
        ("importing numpy", loading, loading / own),
    ]


def table(found: list[tuple[str, float, float]]) -> str:
    """The bench as it stands in the docs."""
    lines = ["| what | time | times the closed form |", "| --- | --: | --: |"]
    lines.extend(
        f"| {name} | {seconds * 1000:,.0f} ms | {f'{ratio:,.0f}' if ratio >= 10 else f'{ratio:.2f}'} |"
        for name, seconds, ratio in found
    )
    return "\n".join(lines)


if __name__ == "__main__":
    made = table(rows())
    print(made)
    if "--write" in sys.argv:
        page = PAGE.read_text(encoding="utf-8")
        before, rest = page.split(MARKS[0])
        PAGE.write_text(f"{before}{MARKS[0]}\n{made}\n{MARKS[1]}{rest.split(MARKS[1])[1]}", encoding="utf-8")
