"""How sure a block's status is: the scatter of its traps, an interval of its level, a chance, and a word for it.

A block's *level* is the mean that very many traps hung in it that week would have had; three traps show it by a figure
that scatters. Counts of one block and round are taken as negative binomial with one scatter k for each species. The
status itself is the rule's, is worked out in fractions elsewhere, and is never changed by anything here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum
from functools import lru_cache
from math import ceil, exp, lgamma, log, sqrt
from operator import add, mul

from roundtui.domain.intervals import incomplete_beta
from roundtui.domain.records import Frozen

SCATTERS = tuple(0.1 * 10 ** (at / 10) for at in range(31))
"""Values of k at which evidence of scatter is kept, 0.1 to 100. [1]"""
LOG_SCATTERS = tuple(log(k) for k in SCATTERS)
"""Their logarithms."""
START = 1.5
"""Scatter to begin with, before a programme has a record of its own. An assumption: no printed k of pheromone traps of
orchard moths was found. It matters only under some twenty block-rounds. [1]"""
SPREAD = 1.0
"""How far the logarithm of a species' k may lie from ``START``; assumed likewise. [1]"""
OWN_SPREAD = 0.5
"""The same for the own k of a block around that of its species. [1]"""
LOG_LEVELS = tuple((at - 100) / 20 for at in range(245))
"""Logarithms of the levels at which a block is looked at, 0.007 to 1,339 moths a trap and week."""
LEVELS = tuple(exp(value) for value in LOG_LEVELS)
"""The same as moths a trap and week."""
COARSE = 7
"""Every so many of them are looked at first."""
NEGLIGIBLE = 16.0
"""Logarithm of how many times less likely a level is than the likeliest, to be left out."""
STEP = 0.05
"""Distance between two of them."""
FIGURES_WANTED = 20
"""Block figures that what is usual is drawn from; with fewer, now and before together, nothing is said."""
NARROWEST = 0.5
"""Least spread of what is usual. [ln(moths/trap/week)]"""
TOP, BOTTOM = 0.1, 0.9
"""Chances that the level lies above the upper and above the lower limit: an interval of 80 %."""
LONGEST_DAYS = 10
"""Nothing is said of a figure with a reading of more days: how its catch fell over the weeks is open. [d]"""


CUTS = (0.9, 0.7, 0.4)
"""Chances from which a status is sure, likely, could be either. [1]"""


class Certainty(StrEnum):
    """How sure it is that the level lies on the side that the status names."""

    SURE = "sure"
    """Nine in ten and more."""
    LIKELY = "likely"
    """From seven in ten."""
    EITHER = "either"
    """From four in ten."""
    FIGURE = "figure"
    """Less: the status is the figure's alone."""

    @property
    def words(self) -> str:
        """As it is printed, always with the number beside it."""
        return {"either": "could be either", "figure": "by the figure alone"}.get(self.value, self.value)


def certainty(chance: float) -> Certainty:
    """The word for a chance that the level is on the status's side.

    Args:
        chance: The chance, 0 to 1.

    Source: numbers with words, never words alone: Budescu et al. 2012, Climatic Change 113:181,
    doi 10.1007/s10584-011-0330-3; Wintle et al. 2019, PLoS ONE 14:e0213522. The cuts are this project's.
    """
    words = (Certainty.SURE, Certainty.LIKELY, Certainty.EITHER)
    return next((word for word, cut in zip(words, CUTS, strict=True) if chance >= cut), Certainty.FIGURE)


# Scatter


class Evidence(Frozen):
    """What rounds say of the scatter of a species and of its usual levels; two of them are added number by number."""

    scatter: tuple[float, ...] = (0.0,) * len(SCATTERS)
    """Logarithm of the likelihood at each of ``SCATTERS``."""
    groups: int = 0
    """Blocks and rounds behind it that had two readings or more, and a moth."""
    figures: int = 0
    """Block figures behind the two sums."""
    total: float = 0.0
    """Sum of ``log_figure`` over them."""
    squares: float = 0.0
    """Sum of its squares."""

    def __add__(self, other: Evidence) -> Evidence:
        return Evidence(
            tuple(map(add, self.scatter, other.scatter)),
            self.groups + other.groups,
            self.figures + other.figures,
            self.total + other.total,
            self.squares + other.squares,
        )


NO_EVIDENCE = Evidence()
"""Before anything is read."""


def evidence(groups: Iterable[tuple[Sequence[int], Sequence[int]]]) -> Evidence:
    """What the blocks of one species and round say.

    Args:
        groups: For each block the net counts of its traps and the days each was exposed. [moths], [d]
    """
    known = [(counts, days) for counts, days in groups if counts]
    rows = [scatter_likelihood(counts, days) for counts, days in known if len(counts) > 1 and any(counts)]
    whole = tuple(map(sum, zip(*rows, strict=True))) if rows else NO_EVIDENCE.scatter
    alone = figures_alone(known)
    return Evidence(whole, len(rows), alone.figures, alone.total, alone.squares)


def figures_alone(groups: Iterable[tuple[Sequence[int], Sequence[int]]]) -> Evidence:
    """The same, of usual levels alone.

    Args:
        groups: As there; none of them empty.
    """
    logs = [
        log_figure(sum([7 * x / d for x, d in zip(counts, days, strict=True)]) / len(counts)) for counts, days in groups
    ]
    return Evidence(figures=len(logs), total=sum(logs), squares=sum([value * value for value in logs]))


def scatter_likelihood(counts: Sequence[int], days: Sequence[int], scatters: Sequence[float] = SCATTERS) -> list[float]:
    """How well each k explains the way one block's catch of one round is split among its traps.

    Given its total, the split does not hang on the block's mean, so that hundreds of unknown means drop out; fitting a
    mean to each block and round instead makes k two to three times too large.

    Args:
        counts: Net counts, two or more. [moths]
        days: Days exposed. [d]
        scatters: The k to look at.

    Returns:
        Logarithm of the Dirichlet-multinomial likelihood at each.

    Source: conditional likelihood, after Robinson and Smyth 2008, Biostatistics 9:321; unequal days by the weights of
    the Dirichlet: derived.
    """
    number, together = len(counts), sum(days)
    rows = [_whole(number, sum(counts), tuple(scatters))]
    rows += [_share(x, number * d / together, tuple(scatters)) for x, d in zip(counts, days, strict=True) if x]
    return list(map(sum, zip(*rows, strict=True)))


@lru_cache(maxsize=8192)
def _whole(number: int, moths: int, scatters: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(lgamma(number * k) - lgamma(number * k + moths) for k in scatters)


@lru_cache(maxsize=8192)
def _share(moths: int, part: float, scatters: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(lgamma(k * part + moths) - lgamma(k * part) for k in scatters)


@lru_cache(maxsize=4096)
def scatter(likelihood: tuple[float, ...], start: float = START, spread: float = SPREAD) -> float:
    """The scatter k that a record shows.

    Args:
        likelihood: Sum of ``scatter_likelihood`` over blocks and rounds.
        start: What k is before there is a record; for the own k of a block that of its species.
        spread: How far its logarithm may lie from that.

    Returns:
        k; the smaller, the more the traps of one block differ. Traps that hang well or badly are part of it. [1]
    """
    middle, scale = log(start), 2 * spread**2
    logs = [value - (k - middle) ** 2 / scale for k, value in zip(LOG_SCATTERS, likelihood, strict=True)]
    most = max(logs)
    weights = [exp(value - most) for value in logs]
    return exp(sum(map(mul, weights, LOG_SCATTERS)) / sum(weights))


# Level


class Usual(Frozen):
    """Levels that the species usually has, as a normal distribution of their logarithm."""

    middle: float
    """Mean. [ln(moths/trap/week)]"""
    spread: float
    """Standard deviation. [ln(moths/trap/week)]"""


def log_figure(figure: float) -> float:
    """Logarithm of a block figure, a tenth of a moth added so that a zero has one. [ln(moths/trap/week)]"""
    return log(figure + 0.1)


def usual(now: Evidence, earlier: Evidence) -> Usual | None:
    """Levels that a species usually has: this round and the two before, filled up to twenty figures from the record.

    The newest rounds come first because a year can be unlike those before it.

    Args:
        now: Evidence of this round and the two before.
        earlier: Evidence of all rounds before these.

    Returns:
        None where there are fewer than ``FIGURES_WANTED`` figures altogether.
    """
    if now.figures + earlier.figures < FIGURES_WANTED:
        return None
    before = Usual(earlier.total / earlier.figures, _deviation(earlier)) if earlier.figures else Usual(0.0, 0.0)
    return blend(now.figures, now.total, now.squares, before)


def blend(number: int, total: float, squares: float, before: Usual) -> Usual:
    """Figures of now, filled up to ``FIGURES_WANTED`` with what was usual before.

    Args:
        number: Figures of now.
        total: Sum of their logarithms.
        squares: Sum of the squares of those.
        before: What was usual before.
    """
    fill = max(0, FIGURES_WANTED - number)
    middle = (total + fill * before.middle) / (number + fill)
    around = squares - 2 * middle * total + number * middle * middle
    variance = (around + fill * (before.spread**2 + (before.middle - middle) ** 2)) / (number + fill)
    return Usual(middle, max(NARROWEST, sqrt(max(0.0, variance))))


def _deviation(record: Evidence) -> float:
    if record.figures < 2:
        return 0.0
    return sqrt(max(0.0, (record.squares - record.total**2 / record.figures) / (record.figures - 1)))


class Level(Frozen):
    """Where the level of a block may lie, given its counts."""

    first: int
    """Place in ``LOG_LEVELS`` of the first weight; those before it are nothing."""
    weights: tuple[float, ...]
    """Weights of levels, which sum up to 1."""

    def chance(self, limit: float) -> float:
        """Chance that the level is at or over a limit.

        Args:
            limit: The limit. [moths/trap/week]
        """
        if limit <= 0:
            return 1.0
        place = (log(limit) - LOG_LEVELS[self.first]) / STEP + 0.5
        cell = int(place) if place > 0 else 0
        if cell >= len(self.weights):
            return 0.0
        return min(1.0, sum(self.weights[cell + 1 :]) + self.weights[cell] * (1 - min(1.0, max(0.0, place - cell))))

    def limit(self, chance: float) -> float:
        """Limit at or over which the level lies with a chance. [moths/trap/week]

        Args:
            chance: The chance, between 0 and 1.
        """
        left = 1 - chance
        for at, weight in enumerate(self.weights):
            if weight and left <= weight:
                return exp(LOG_LEVELS[self.first + at] + STEP * (left / weight - 0.5))
            left -= weight
        return exp(LOG_LEVELS[self.first + len(self.weights) - 1] + STEP / 2)

    @property
    def interval(self) -> tuple[float, float]:
        """Limits between which the level lies four times in five. [moths/trap/week]"""
        return self.limit(BOTTOM), self.limit(TOP)


def level(counts: Sequence[int], days: Sequence[int], k: float, before: Usual | None) -> Level:
    """Where the level behind a block's figure may lie. Unequal days are exact here.

    Args:
        counts: Net moths of each trap of the mean. [moths]
        days: Days each was exposed. [d]
        k: Scatter. [1]
        before: Levels that are usual; None: none is known, and the logarithm of the level is taken as even as the
            counts can tell (Jeffreys). Such a chance is too high: it calls over too readily.
    """
    by_days: dict[int, tuple[int, int]] = {}
    for x, d in zip(counts, days, strict=True):
        traps, caught = by_days.get(d, (0, 0))
        by_days[d] = (traps + 1, caught + x)
    return _level(tuple(sorted((d, *both) for d, both in by_days.items())), k, before)


@lru_cache(maxsize=2048)
def _level(parts: tuple[tuple[int, int, int], ...], k: float, before: Usual | None) -> Level:
    """The same by days exposed, traps with so many, and moths in them."""
    moths = sum(caught for _, _, caught in parts)
    tables = [(caught + traps * k, _log_table(k, d)) for d, traps, caught in parts]
    prior = (
        _prior_table(before) if before else [-_even(m, k, [(d / 7, traps) for d, traps, _ in parts]) for m in LEVELS]
    )

    def weigh(places: slice) -> list[float]:
        logs = [moths * value - far for value, far in zip(LOG_LEVELS[places], prior[places], strict=True)]
        for power, table in tables:
            logs = [value - power * one for value, one in zip(logs, table[places], strict=True)]
        return logs

    # A coarse look first: only levels that can matter are weighed one by one.
    rough = weigh(slice(None, None, COARSE))
    least = max(rough) - NEGLIGIBLE
    near = [at for at, value in enumerate(rough) if value > least]
    first = max(0, (near[0] - 1) * COARSE)
    logs = weigh(slice(first, (near[-1] + 1) * COARSE + 1))
    most = max(logs)
    weights = [exp(value - most) for value in logs]
    whole = sum(weights)
    return Level(first, tuple(weight / whole for weight in weights))


@lru_cache(maxsize=1024)
def _log_table(k: float, days: int) -> tuple[float, ...]:
    return tuple(log(k + m * days / 7) for m in LEVELS)


@lru_cache(maxsize=64)
def _prior_table(before: Usual) -> tuple[float, ...]:
    return tuple((value - before.middle) ** 2 / (2 * before.spread**2) for value in LOG_LEVELS)


def _even(m: float, k: float, parts: Sequence[tuple[float, int]]) -> float:
    return 0.5 * log(sum(traps * m * weeks / (1 + m * weeks / k) for weeks, traps in parts))


class Sureness(Frozen):
    """How sure it is that a block's level lies on the side that its status names."""

    low: float
    """Lower limit of its 80 % interval; 0 where no moth was caught. [moths/trap/week]"""
    high: float
    """Upper limit. [moths/trap/week]"""
    over: float
    """Chance that it is at or over the threshold's high. [1]"""
    below: float
    """Chance that it is below the threshold's low. [1]"""
    chance: float
    """Chance that it lies on the status's side. [1]"""
    certainty: Certainty | None
    """The word for that; None within, where three traps can never be sure."""
    k: float
    """Scatter of the block's traps. [1]"""
    usual: Usual
    """Levels that are usual."""
    caught: tuple[tuple[int, int], ...]
    """Net moths and days of each trap of the mean. [moths], [d]"""

    @property
    def rests_on(self) -> tuple[float, float, float]:
        """Scatter, and middle and spread of what is usual: with these the same record says the same to the digit."""
        return self.k, self.usual.middle, self.usual.spread


# Traps needed, and a flight past its peak

NORMAL = {80: 0.8416212335729143, 90: 1.2815515655446004}
"""Quantiles of the normal distribution by percent. [1]"""
SEARCHED = 150
"""Up to so many traps are searched exactly; beyond, the formula is close enough."""


@lru_cache(maxsize=1024)
def traps_needed(k: float, low: float, high: float, percent: int = 80) -> int | None:
    """How many traps tell two levels apart, each way right so often. Weeks do not stand in for traps.

    Args:
        k: Scatter. [1]
        low: The lower level. [moths/trap/week]
        high: The higher one.
        percent: How often right, 80 or 90. [%]

    Returns:
        The least number from which on a whole catch lies between; None where both levels are one.

    Source: derived; the tests hold it against ``scipy.stats.nbinom``.
    """
    if not high > low >= 0:
        return None
    about = needed_about(k, low, high, percent)
    if about > SEARCHED:
        return ceil(about)
    # A catch is a whole number, so that one trap more can be worse: what is asked for is where it is right from there.
    number = ceil(1.5 * about) + 8
    while number > 1 and _tells(number - 1, k, low, high, 1 - percent / 100):
        number -= 1
    return number


def needed_about(k: float, low: float, high: float, percent: int = 80) -> float:
    """The same by the normal approximation, not rounded.

    Args:
        k: Scatter. [1]
        low: The lower level. [moths/trap/week]
        high: The higher one.
        percent: How often right, 80 or 90. [%]
    """
    return (NORMAL[percent] * (sqrt(low + low**2 / k) + sqrt(high + high**2 / k)) / (high - low)) ** 2


def _tells(number: int, k: float, low: float, high: float, wrong: float) -> bool:
    """Whether some catch of so many traps is as seldom reached from the low level as it is missed from the high one."""
    few, many = 0, ceil(number * high) + 1
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (few, middle) if at_least(middle, number * low, number * k) <= wrong else (middle, many)
    return 1 - at_least(many, number * high, number * k) <= wrong


def at_least(count: int, mean: float, k: float) -> float:
    """Chance of a negative binomial count of so many or more.

    Args:
        count: The count.
        mean: Its mean.
        k: Its scatter. [1]
    """
    if count <= 0:
        return 1.0
    return incomplete_beta(count, k, mean / (mean + k)) if mean > 0 else 0.0


class Catch(Frozen):
    """Moths and the trap-weeks they were caught in."""

    moths: int
    weeks: float
    """[trap·week]"""

    @property
    def log_rate(self) -> float:
        """Logarithm of its rate, half a moth added so that none has one. [ln(moths/trap/week)]"""
        return log_rate(self.moths, self.weeks)


def log_rate(moths: int, weeks: float) -> float:
    """Logarithm of a rate, half a moth added so that none has one. [ln(moths/trap/week)]

    Args:
        moths: Moths.
        weeks: Trap-weeks they were caught in.
    """
    return log((moths + 0.5) / weeks)


PEAK_SHARE = log(2 / 3)
"""A flight is past its peak only at two thirds of the highest figure or less."""
PAST_PEAK = "this flight is past its peak; another may follow"
"""What is said then; no day is given, and nothing where it does not hold."""
WEEK_LUCK = 0.09
"""Variance of the luck that one block has in one week, about one and a half of a usual record's own timing. [1]"""


def past_its_peak(newest: Catch, highest: Catch, k: float, traps: int, blocks: int = 1) -> bool:
    """Whether a flight can be said to be past its peak: in simulation too early in 5 to 7 of a hundred flights.

    Args:
        newest: The newest catch.
        highest: The highest one before it in this flight, of the same traps.
        k: Scatter. [1]
        traps: Traps behind both.
        blocks: Blocks behind both.
    """
    fall = newest.log_rate - highest.log_rate
    variance = 1 / (newest.moths + 0.5) + 1 / (highest.moths + 0.5) + 2 / (traps * k) + 2 * WEEK_LUCK / blocks
    return fall <= PEAK_SHARE and fall + NORMAL[90] * sqrt(variance) < 0


# Published


def limit_words(value: float) -> str:
    """A limit as it is printed: two significant digits, whole from ten on."""
    if value >= 9.95:
        return f"{value:.0f}"
    return f"{value:.1f}" if value >= 0.95 or value == 0 else f"{value:.1g}"


def chance_words(chance: float, cuts: Sequence[float] = ()) -> str:
    """A chance as it is printed: in tenths, and never none or all of them.

    Args:
        chance: The chance.
        cuts: Where words begin that stand beside it: 0.695 could be either, and 7 in 10 would be likely.
    """
    if chance < 0.1:
        return "under 1 in 10"
    if chance > 0.9:
        return "over 9 in 10"
    tenths = round(10 * chance)
    return f"{tenths - any(chance < cut <= tenths / 10 for cut in cuts)} in 10"


def short_words(sure: Sureness) -> str:
    """How sure a status is, where there is little room: a word, where it has one, and the chance."""
    return f"how sure: {f'{sure.certainty.words}, ' if sure.certainty else ''}{chance_words(sure.chance, CUTS)}"


def side_words(sure: Sureness, status: str, band: tuple[float, float]) -> str:
    """The chance that the level lies on the status's side, with its word; within, the chances of all three.

    Args:
        sure: How sure it is.
        status: The status.
        band: Low and high of its rule. [moths/trap/week]
    """
    if sure.certainty is not None:
        chance = chance_words(sure.chance, CUTS)
        return f"{sure.certainty.words}, {chance} that many traps here would also say {side(status, band)}"
    sides = side("below", band), f"{band[0]:g} to {band[1]:g}", side("over", band)
    tenths = _tenths(sure.below, sure.chance, sure.over)
    said = (f"{where}: {many or 'under 1'} in 10" for where, many in zip(sides, tenths, strict=True))
    return f"many traps here would say {', '.join(said)}"


def _tenths(*chances: float) -> list[int]:
    """Chances that make one, in tenths that make ten."""
    found = [int(10 * one) for one in chances]
    for at in sorted(range(len(found)), key=lambda at: found[at] - 10 * chances[at])[: 10 - sum(found)]:
        found[at] += 1
    return found


def side(status: str, band: tuple[float, float]) -> str:
    """Where a level lies that bears a status out."""
    return f"below {band[0]:g}" if status == "below" else f"{band[1]:g} or more"


def interval_words(sure: Sureness) -> str:
    """Limits of the level, as they are printed."""
    return f"up to {limit_words(sure.high)}" if sure.low == 0 else f"{limit_words(sure.low)}–{limit_words(sure.high)}"


def settles(sure: Sureness, traps: int, band: tuple[float, float], *, suspect: bool = False) -> str:
    """What would tell more of a status that could be either, which is no advice; empty where nothing has to.

    Args:
        sure: How sure it is.
        traps: Traps counted.
        band: Low and high of its rule. [moths/trap/week]
        suspect: Whether suspect traps hang beside them.
    """
    if sure.certainty not in {Certainty.EITHER, Certainty.FIGURE}:
        return ""
    wanted = needed_of(sure.k, *band)
    more = f", {wanted} traps in all (now {traps})" if wanted is not None and wanted > traps else ""
    first = "the suspect traps put right, " if suspect else ""
    return f"to know more: {first}the next reading{more}, a fruit check; the status stands without them"


def needed_of(k: float, low: float, high: float, percent: int = 80) -> int | None:
    """``traps_needed`` for a scatter as it is printed, with two digits.

    Args:
        k: Scatter. [1]
        low: The lower number of a rule. [moths/trap/week]
        high: The higher one.
        percent: How often right, 80 or 90. [%]
    """
    return traps_needed(float(f"{k:.2g}"), low, high, percent)
