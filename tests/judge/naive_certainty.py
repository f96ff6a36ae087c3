"""How sure a status is a second time: urns instead of gamma functions, sums instead of distributions."""

from __future__ import annotations

from collections.abc import Sequence
from math import e, erf, log, pi


def urn(counts: Sequence[int], days: Sequence[int], k: float) -> float:
    """Log chance that the moths of a round, one after the other, go into these traps.

    Each trap starts with k balls for its share of the days; every moth caught puts a ball in, so that moths follow
    moths.
    """
    balls = [k * len(counts) * d / sum(days) for d in days]
    found = 0.0
    for at, number in enumerate(counts):
        for _ in range(number):
            found += log(balls[at] / sum(balls))
            balls[at] += 1
    return found


def mean_scatter(rounds: Sequence[tuple[Sequence[int], Sequence[int]]], start: float = 1.5, spread: float = 1) -> float:
    """Scatter of a species: the mean of its logarithm over thirty-one values, each weighed by what it explains."""
    best = None
    weights = []
    for at in range(31):
        k = 10 ** (at / 10 - 1)
        value = sum(urn(counts, days, k) for counts, days in rounds) - (log(k) - log(start)) ** 2 / spread**2 / 2
        weights.append((k, value))
        best = value if best is None or value > best else best
    whole = sum(e ** (value - (best or 0)) for _, value in weights)
    return e ** sum(log(k) * e ** (value - (best or 0)) / whole for k, value in weights)


def count_chance(x: int, mean: float, k: float) -> float:
    """Chance of a count: first that of none, then one moth more at a time."""
    value = (1 + mean / k) ** -k
    for moth in range(x):
        value *= (k + moth) / (moth + 1) * mean / (k + mean)
    return value


def levels(
    counts: Sequence[int], days: Sequence[int], k: float, middle: float, spread: float
) -> list[tuple[float, float]]:
    """Levels from 0.005 to 1500, each with its share."""
    rows = []
    for at in range(840):
        m = 0.005 * 1.015**at
        chance = e ** (-((log(m) - middle) ** 2) / (2 * spread * spread))
        for x, d in zip(counts, days, strict=True):
            chance *= count_chance(x, m * d / 7, k)
        rows.append((m, chance))
    whole = sum(chance for _, chance in rows)
    return [(m, chance / whole) for m, chance in rows]


def over(rows: Sequence[tuple[float, float]], limit: float) -> float:
    """Share of the levels at or over a limit."""
    return sum(share for m, share in rows if m >= limit)


def limits(rows: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Levels below which a tenth and nine tenths lie."""
    found, below = [], 0.0
    for m, share in rows:
        found += [m for tenth in (0.1, 0.9) if below < tenth <= below + share]
        below += share
    return found[0], found[1]


def needed(k: float, low: float, high: float, right: float) -> int:
    """Traps from which on some whole catch lies between two levels, found from the top down."""
    good = 0
    for number in range(120, 0, -1):
        a = running(number * low, number * k)
        b = running(number * high, number * k)
        if not any(1 - below_a <= 1 - right and below_b <= 1 - right for below_a, below_b in zip(a, b, strict=True)):
            return good
        good = number
    return good


def running(mean: float, k: float) -> list[float]:
    """Chances of fewer than 0, 1, 2 … 999 moths."""
    found, below, here = [], 0.0, (1 + mean / k) ** -k
    for x in range(1000):
        found.append(below)
        below += here
        here *= (k + x) / (x + 1) * mean / (k + mean)
    return found


def student(value: float, degrees: int) -> float:
    """Chance of Student's t at or below a value, for whole degrees, by strips under its curve."""
    half = 1.0 if degrees % 2 else 0.5
    for at in range(degrees, 1, -2):
        half *= (at - 1) / (at - 2) if at > 2 else 1
    scale = half / (pi * degrees**0.5) if degrees % 2 else half / degrees**0.5
    step, area = 0.001, 0.0
    for at in range(round(abs(value) / step)):
        area += step * (1 + ((at + 0.5) * step) ** 2 / degrees) ** (-(degrees + 1) / 2)
    return 0.5 + (area if value > 0 else -area) * scale


def change(moths: Sequence[float]) -> float:
    """Log of rates, half a moth added: moths and trap-weeks before, moths and trap-weeks after."""
    before, weeks, after, more_weeks = moths
    return log((after + 0.5) / more_weeks) - log((before + 0.5) / weeks)


def noise(moths: Sequence[float], k: float) -> float:
    """Variance of that change by moths and traps alone."""
    before, weeks, after, more_weeks = moths
    return 1 / (before + 0.5) + 1 / (after + 0.5) + 1 / (k * weeks) + 1 / (k * more_weeks)


def fall(
    treated: Sequence[float], others: Sequence[Sequence[float]], k: float, timing: float, degrees: float
) -> tuple[float, float]:
    """Fall beside the others, and its error, by four hundred corrections of the blocks' own timing."""
    own = timing
    noises = [noise(one, k) for one in others]
    usual = sum(noises) / len(noises)
    for _ in range(400):
        weights = [1 / (own + one) for one in noises]
        mean = sum(w * change(one) for w, one in zip(weights, others, strict=True)) / sum(weights)
        apart = sum(w * (change(one) - mean) ** 2 for w, one in zip(weights, others, strict=True))
        wanted = degrees * (timing + usual) / (own + usual) + apart
        own = max(0.0, (own + usual) * wanted / (degrees + len(others) - 1) - usual)
    weights = [1 / (own + one) for one in noises]
    mean = sum(w * change(one) for w, one in zip(weights, others, strict=True)) / sum(weights)
    return change(treated) - mean, (noise(treated, k) + own + 1 / sum(weights)) ** 0.5


def heights(rounds: Sequence[dict[str, int]]) -> dict[str, float]:
    """How much each trap catches beside the others, from weekly rounds."""
    caught: dict[str, float] = {}
    due: dict[str, float] = {}
    for moths in rounds:
        tall = {trap: (1 + caught.get(trap, 0)) / (1 + due.get(trap, 0)) for trap in moths}
        for trap, number in moths.items():
            rest = [one for one in moths if one != trap]
            if rest:
                level = sum(moths[one] for one in rest) / sum(tall[one] for one in rest)
                due[trap] = due.get(trap, 0) + level
                caught[trap] = caught.get(trap, 0) + number
    return {trap: (1 + caught[trap]) / (1 + due[trap]) for trap in caught}


def usual(now: Sequence[float], earlier: Sequence[float]) -> tuple[float, float]:
    """Middle and spread of usual figures by their logarithm: those of now, and earlier ones as often as twenty lack."""
    here, past = ([log(one + 0.1) for one in figures] for figures in (now, earlier))
    lacking = max(0, 20 - len(here))
    mean = sum(past) / len(past)
    wide = sum((one - mean) ** 2 for one in past) / (len(past) - 1)
    middle = (sum(here) + lacking * mean) / (len(here) + lacking)
    around = sum((one - middle) ** 2 for one in here) + lacking * (wide + (mean - middle) ** 2)
    return middle, max(0.5, (around / (len(here) + lacking)) ** 0.5)


def mark(count: int, mean: float, k: float, limits: tuple[float, float, float]) -> str:
    """Why a count is odd, by chances added up one by one; limits: how many times likelier, twice, and how rare."""
    more, fewer, rare = limits
    digits, here = str(count), count_chance(count, mean, k)
    fixed = [digits[:at] + digits[at + 1 :] for at in range(1, len(digits)) if digits[at] == digits[at - 1]]
    fixed += [digits[:-1]] if len(digits) > 1 and digits.endswith("0") else []
    if any(count_chance(int(one), mean, k) > more * here for one in fixed):
        return "more"
    if count > mean:
        return "above" if 1 - sum(count_chance(x, mean, k) for x in range(count)) < rare else ""
    lost = sum(count_chance(10 * count + digit, mean, k) for digit in range(10))
    return "fewer" if count and lost > fewer * here else ""


def past_peak(rounds: Sequence[Sequence[int]], k: float) -> bool:
    """Whether a flight is past its peak: weekly counts of the same traps, the newest last."""
    sums = [sum(row) for row in rounds]
    newest, highest = sums[-1], max(sums[:-1])
    since = sums[sums.index(highest) : -1]
    share = (newest + 0.5) / (highest + 0.5)
    luck = 1 / (newest + 0.5) + 1 / (highest + 0.5) + 2 / (len(rounds[0]) * k) + 0.18
    no_fall = (1 + erf(log(share) / luck**0.5 / 2**0.5)) / 2
    return share <= 2 / 3 and no_fall < 0.1 and min(since) >= newest


def of_trees(found: int, looked: int, trees: int) -> tuple[float, float]:
    """Limits of a share in 95 of 100 samples, for as many units as the trees are worth, by strips under the density."""
    worth = looked / (1 + 0.1 * (looked / min(trees, looked) - 1))
    hits = worth * found / looked
    return lowest(hits, worth - hits), 1 - lowest(worth - hits, hits)


def lowest(hits: float, misses: float) -> float:
    """Share below which a fortieth of the density of so many hits and one miss more lies; strips by its log odds."""
    if hits == 0:
        return 0.0
    shares = [1 / (1 + e ** (-at / 50)) for at in range(-1000, 700)]
    strips = [share**hits * (1 - share) ** (misses + 1) for share in shares]
    left = sum(strips) / 40
    for share, strip in zip(shares, strips, strict=True):
        left -= strip
        if left < 0:
            return share
    return 1.0
