"""Degree-days of a day: every method and cutoff against integration, its properties, and what it refuses."""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from roundtui.domain.season.degree_days import CUTOFFS, Cutoff, Method, curve, day, series
from roundtui.domain.units import TempUnit, convert_temp
from tests.real_weather import convert_degree_days

CURVES = (Method.SINGLE_TRIANGLE, Method.DOUBLE_TRIANGLE, Method.SINGLE_SINE, Method.DOUBLE_SINE)
PAIRS = [(method, cutoff) for method in Method for cutoff in CUTOFFS[method]]


def integrated(tmin: float, tmax: float, thresholds: tuple[float, float], method: Method, cutoff: Cutoff) -> float:
    """Development along half a day's curve from ``tmin`` up to ``tmax``, integrated numerically.

    The kinks, where the curve crosses a threshold, cut the curve into pieces: below, between and above. Each piece is
    integrated with the rate that the definition of the cutoff gives for it.
    """
    from scipy.integrate import quad

    lower, upper = thresholds
    mean, swing = (tmin + tmax) / 2, (tmax - tmin) / 2
    sine = method in (Method.SINGLE_SINE, Method.DOUBLE_SINE)
    first, last = (-math.pi / 2, math.pi / 2) if sine else (-1.0, 1.0)

    def rising(at: float) -> float:
        return mean + swing * (math.sin(at) if sine else at) - lower

    above = {
        Cutoff.NONE: rising,
        Cutoff.HORIZONTAL: lambda at: upper - lower,
        Cutoff.INTERMEDIATE: lambda at: (upper - lower) - (rising(at) - (upper - lower)),
        Cutoff.VERTICAL: lambda at: 0.0,
    }[cutoff]

    def kink(threshold: float) -> float:
        if threshold >= tmax or threshold <= tmin:
            return last if threshold >= tmax else first
        if not sine:
            return max(-1.0, min(1.0, (threshold - mean) / swing))
        # asin of the height, in the form that keeps its digits where a threshold is a hair from an extreme.
        return math.atan2(threshold - mean, math.sqrt((tmax - threshold) * (threshold - tmin)))

    enters, leaves = kink(lower), kink(upper)
    total = quad(rising, enters, leaves, epsabs=1e-12, epsrel=1e-12)[0] if leaves > enters else 0.0
    total += quad(above, leaves, last, epsabs=1e-12, epsrel=1e-12)[0] if last > leaves else 0.0
    return total / (last - first)


def random_days(count: int, seed: int) -> list[tuple[float, float, float, float, float]]:
    """Days that fall below, above and across either or both thresholds, touch them exactly, and stand still."""
    chance = random.Random(seed)
    days = []
    for number in range(count):
        lower = round(chance.uniform(35, 60), 1)
        upper = round(lower + chance.uniform(5, 50), 1)
        below, between, above = (
            chance.uniform(lower - 60, lower),
            chance.uniform(lower, upper),
            chance.uniform(upper, upper + 30),
        )
        tmin, tmax = [
            tuple(sorted((below, chance.uniform(lower - 60, lower)))),
            (below, between),
            (below, above),
            tuple(sorted((between, chance.uniform(lower, upper)))),
            (between, above),
            tuple(sorted((above, chance.uniform(upper, upper + 30)))),
            (lower, upper),
            (below, lower),
            (lower, above),
            (between, upper),
            (upper, above),
            (below, upper),
            (below, below),
            (between, between),
            (above, above),
            (lower, lower),
            (math.nextafter(lower, -math.inf), above),
            (between, math.nextafter(upper, math.inf)),
        ][number % 18]
        following = chance.choice((tmin, below, between, min(above, tmax)))
        days.append((tmin, tmax, following, lower, upper))
    return days


@pytest.mark.parametrize("method", CURVES)
def test_every_closed_form_agrees_with_integration_over_days_of_every_kind(method: Method) -> None:
    """The cutoffs take turns, so that each meets every kind of day 10 times; ``tests.long.degree_days`` does 150."""
    hold_against_integration(method, random_days(720, seed=1))


def hold_against_integration(method: Method, days: list[tuple[float, float, float, float, float]]) -> None:
    """Each day by its closed form and by integration."""
    for number, (tmin, tmax, following, lower, upper) in enumerate(days):
        cutoff = tuple(Cutoff)[(number // 18) % 4]
        value = day(tmin, tmax, lower, upper, method=method, cutoff=cutoff, tmin_next=following)
        expected = integrated(tmin, tmax, (lower, upper), method, cutoff)
        if method.double:
            down = integrated(min(following, tmax), max(following, tmax), (lower, upper), method, cutoff)
            expected = (expected + down) / 2
        assert abs(value - expected) < 1e-9, (tmin, tmax, following, lower, upper, cutoff)


def test_averages_are_what_their_words_say() -> None:
    """1,800 days of every kind, in plain arithmetic."""
    for tmin, tmax, _, lower, upper in random_days(1_800, seed=2):
        assert day(tmin, tmax, lower, method=Method.AVERAGE) == pytest.approx(max(0, (tmin + tmax) / 2 - lower))
        low, high = max(tmin, lower), max(tmax, lower)
        assert day(tmin, tmax, lower, method=Method.MODIFIED_AVERAGE) == pytest.approx((low + high) / 2 - lower)
        low, high = min(low, upper), min(high, upper)
        clipped = day(tmin, tmax, lower, upper, method=Method.MODIFIED_AVERAGE, cutoff=Cutoff.HORIZONTAL)
        assert clipped == pytest.approx((low + high) / 2 - lower)


temps = st.floats(min_value=-80, max_value=140, allow_nan=False)


@st.composite
def days_and_thresholds(draw: st.DrawFn) -> tuple[float, float, float, float]:
    tmin, tmax = sorted((draw(temps), draw(temps)))
    lower, upper = sorted((draw(temps), draw(temps)))
    assume(upper - lower > 1e-6)
    return tmin, tmax, lower, upper


@given(days_and_thresholds(), st.floats(0, 40), st.floats(0, 40), st.sampled_from(PAIRS))
def test_a_warmer_day_never_counts_less_without_cutoff_or_with_the_horizontal_one(
    case: tuple[float, float, float, float], more_min: float, more_max: float, pair: tuple[Method, Cutoff]
) -> None:
    tmin, tmax, lower, upper = case
    method, cutoff = pair
    assume(cutoff in (Cutoff.NONE, Cutoff.HORIZONTAL))
    assume(tmin + more_min <= tmax + more_max)
    before = day(tmin, tmax, lower, upper, method=method, cutoff=cutoff)
    after = day(tmin + more_min, tmax + more_max, lower, upper, method=method, cutoff=cutoff)
    assert after >= before - 1e-9


@given(days_and_thresholds(), st.sampled_from(PAIRS))
def test_fahrenheit_and_celsius_give_the_same_amount(
    case: tuple[float, float, float, float], pair: tuple[Method, Cutoff]
) -> None:
    tmin, tmax, lower, upper = case
    method, cutoff = pair
    # Rounding may put a vertical cutoff on the other side of a threshold that the day only touches.
    assume(cutoff is not Cutoff.VERTICAL or min(abs(tmin - upper), abs(tmax - upper)) > 1e-3)
    fahrenheit = day(tmin, tmax, lower, upper, method=method, cutoff=cutoff)
    low, high, base, top = (convert_temp(value, TempUnit.F, TempUnit.C) for value in case)
    assume(low <= high)
    celsius = day(low, high, base, top, method=method, cutoff=cutoff)
    assert convert_degree_days(celsius, TempUnit.C, TempUnit.F) == pytest.approx(fahrenheit, abs=1e-5)


@given(days_and_thresholds(), temps, st.sampled_from(list(Cutoff)), st.booleans())
def test_a_double_day_is_the_mean_of_its_two_halves(
    case: tuple[float, float, float, float], following: float, cutoff: Cutoff, sine: bool
) -> None:
    tmin, tmax, lower, upper = case
    following = min(following, tmax)
    single = Method.SINGLE_SINE if sine else Method.SINGLE_TRIANGLE
    double = Method.DOUBLE_SINE if sine else Method.DOUBLE_TRIANGLE
    up = day(tmin, tmax, lower, upper, method=single, cutoff=cutoff)
    down = day(following, tmax, lower, upper, method=single, cutoff=cutoff)
    both = day(tmin, tmax, lower, upper, method=double, cutoff=cutoff, tmin_next=following)
    assert both == pytest.approx((up + down) / 2, abs=1e-9)


@given(days_and_thresholds(), st.sampled_from(CURVES))
def test_cutoffs_come_in_order_and_horizontal_never_passes_its_ceiling(
    case: tuple[float, float, float, float], method: Method
) -> None:
    tmin, tmax, lower, upper = case
    none, flat, falling, stopped = (day(tmin, tmax, lower, upper, method=method, cutoff=cutoff) for cutoff in Cutoff)
    assert none >= flat - 1e-9
    assert -1e-9 <= flat <= upper - lower + 1e-9
    assert falling <= flat + 1e-9
    assert -1e-9 <= stopped <= flat + 1e-9


@given(st.lists(st.tuples(temps, temps).map(sorted), min_size=1, max_size=12), st.sampled_from(PAIRS))
def test_a_series_is_its_days_one_by_one(days: list[list[float]], pair: tuple[Method, Cutoff]) -> None:
    method, cutoff = pair
    tmin, tmax = [low for low, _ in days], [high for _, high in days]
    after = [*tmin[1:], None]
    expected = [
        day(low, high, 50, 88, method=method, cutoff=cutoff, tmin_next=following)
        for low, high, following in zip(tmin, tmax, after, strict=True)
    ]
    assert series(tmin, tmax, 50, 88, method=method, cutoff=cutoff) == expected


def test_a_day_within_the_thresholds_is_the_same_by_every_method() -> None:
    for method, cutoff in PAIRS:
        assert day(55, 85, 50, 88, method=method, cutoff=cutoff) == pytest.approx(20)


def test_the_last_day_of_a_double_series_runs_down_to_a_minimum_that_is_given() -> None:
    known = series([40.0], [70.0], 50, method=Method.DOUBLE_SINE, tmin_after=55.0)
    assert known == [day(40, 70, 50, method=Method.DOUBLE_SINE, tmin_next=55)]
    assert series([40.0], [70.0], 50, method=Method.DOUBLE_SINE) == [day(40, 70, 50)]


def test_a_night_warmer_than_the_day_before_counts_by_the_same_curve() -> None:
    """A warm front in the evening: 40 to 60, then no colder than 66 until the next morning."""
    up = day(40, 60, 50)
    across = day(60, 66, 50)
    assert day(40, 60, 50, method=Method.DOUBLE_SINE, tmin_next=66) == pytest.approx((up + across) / 2)


def test_days_that_come_again_are_looked_up_and_come_out_the_same() -> None:
    """Whole degrees, two years of them twice over, beside the same days one by one through other thresholds first."""
    chance = random.Random(5)
    lows = [float(chance.randint(20, 70)) for _ in range(730)]
    highs = [low + chance.randint(0, 35) for low in lows]
    for method in CURVES:
        first = series(lows, highs, 50, 88, method=method, cutoff=Cutoff.HORIZONTAL)
        again = series(lows, highs, 50, 88, method=method, cutoff=Cutoff.HORIZONTAL)
        assert first == again
        assert series(lows, highs, 51, 88, method=method, cutoff=Cutoff.HORIZONTAL) != first
        # One new day among many known ones is computed, and the days beside it stay what they were.
        new = series([*lows, 33.3], [*highs, 91.7], 50, 88, method=method, cutoff=Cutoff.HORIZONTAL)
        assert new[:-1] == (first if not method.double else new[:-1])
        assert new[-1] == pytest.approx(integrated(33.3, 91.7, (50, 88), method, Cutoff.HORIZONTAL), abs=1e-9)
        # A day that cannot be is refused among days that are all known.
        with pytest.raises(ValueError, match="minimum 71 is above the maximum 70"):
            series([*lows, 71], [*highs, 70], 50, 88, method=method, cutoff=Cutoff.HORIZONTAL)
        with pytest.raises(ValueError, match="do not go with"):
            series(lows, highs[:-1], 50, 88, method=method, cutoff=Cutoff.HORIZONTAL)


def test_what_is_remembered_stays_small() -> None:
    chance = random.Random(6)
    lows = [chance.uniform(30, 60) for _ in range(20_000)]
    known = curve(43.0, math.inf, Cutoff.NONE, True)
    for _ in range(2):
        series(lows, [low + 20 for low in lows], 43)
        assert len(known) <= 16_384


def test_an_empty_run_of_days_has_no_degree_days() -> None:
    for method, cutoff in PAIRS:
        assert series([], [], 50, 88, method=method, cutoff=cutoff) == []


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: day(61, 60, 50), "minimum 61 is above the maximum 60"),
        (lambda: day(math.nan, 60, 50), "not both numbers"),
        (lambda: day(40, math.inf, 50), "not both numbers"),
        (lambda: day(-math.inf, 60, 50), "not both numbers"),
        (lambda: day(40, 60, math.nan), "threshold is not a number"),
        (lambda: day(40, 60, 50, cutoff=Cutoff.HORIZONTAL), "needs an upper threshold"),
        (lambda: day(40, 60, 50, 50, cutoff=Cutoff.HORIZONTAL), "not above the lower"),
        (lambda: day(40, 60, 50, 88, method=Method.AVERAGE, cutoff=Cutoff.HORIZONTAL), "it knows none"),
        (lambda: day(40, 60, 50, 88, method=Method.MODIFIED_AVERAGE, cutoff=Cutoff.VERTICAL), "none, horizontal"),
        (lambda: day(40, 60, 50, method=Method.DOUBLE_SINE, tmin_next=math.nan), "next day's minimum"),
        (lambda: series([40, 41], [60], 50), "2 minima do not go with 1 maxima"),
    ],
)
def test_what_makes_no_sense_is_refused_with_a_reason(call: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        call()
