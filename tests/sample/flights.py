"""Flights of the invented programme: how many moths a trap is to expect, and which fruit stage a block shows."""

from __future__ import annotations

import math
import random
from datetime import date, timedelta
from functools import lru_cache

from tests.sample.invented_weather import degree_days
from tests.sample.programme import RUNNING_DAY, Place

THRESHOLDS_F = {"CM": (50, 88), "OFM": (45, 90), "OBLR": (43, 85), "AM": (50, 88), "GPTB": (50, 88), "stage": (43, 85)}

FLIGHTS = {
    "CM": ((550, 170, 7.0), (1700, 290, 6.0)),
    "OFM": ((300, 150, 11.0), (1270, 170, 7.0), (2240, 190, 6.0), (3210, 200, 9.0)),
    "OBLR": ((1350, 230, 9.0), (2950, 340, 6.0)),
    "AM": ((2200, 420, 5.0),),
    "GPTB": ((1400, 520, 6.0),),
}
"""Per species the flights of a year: degree-days since 1 January at the peak, their spread, moths a week at the peak.

Invented, but two flights of codling moth, four of oriental fruit moth and two of leafroller, as in the orchard.
"""

PRESSURE = {
    "KILN": 0.8,
    "LANE": 0.6,
    "OWLS": 0.6,
    "TARN": 0.7,
    "GATE": 0.8,
    "MILL": 1.4,
    "POND": 0.0,
    "BARN": 0.6,
    "WALL": 1.0,
    "RISE": 0.5,
}
"""How much of that a block shows; the disrupted one catches nothing."""

STAGES = {
    "apple": "0:00 45:51 100:53 180:54 230:56 290:57 350:61 410:65 500:69 600:71 850:72 1250:74 1800:75 2500:77 3200:81"
    " 3700:87",
    "peach": "0:00 40:51 80:53 130:55 180:57 230:61 290:65 380:69 480:71 620:72 900:73 1400:75 2000:77 2400:81 2900:87",
}
"""Degree-days over 43 °F since 1 January from which a stage is seen; invented."""
_CROPS = {"WALL": "peach"}
_STATIONS = {"OWLS": "RIDG", "TARN": "RIDG", "WALL": "RIDG", "RISE": "RIDG"}


@lru_cache
def _sums(block: str, year: int, species: str) -> dict[date, float]:
    low, high = THRESHOLDS_F[species]
    return degree_days(_STATIONS.get(block, "VALE"), year, RUNNING_DAY, low, high)


def expected(place: Place, start: date, end: date) -> float:
    """Moths to expect in a trap over the nights that end after ``start``, up to ``end``."""
    sums = _sums(place.block, end.year, place.species)
    own = 0.75 + 0.5 * random.Random(f"place of {place.trap}").random()
    moths = 0.0
    for number in range(1, (end - start).days + 1):
        accumulated = sums[start + timedelta(days=number)]
        for peak, spread, weekly in FLIGHTS[place.species]:
            moths += weekly / 7 * math.exp(-(((accumulated - peak) / spread) ** 2) / 2)
    return moths * PRESSURE[place.block] * own


def draw(rng: random.Random, mean: float) -> int:
    """A count around a mean, as catches scatter (Poisson)."""
    limit, product, count = math.exp(-mean), rng.random(), 0
    while product > limit:
        product *= rng.random()
        count += 1
    return count


def stage(block: str, day: date) -> str:
    """BBCH code a block shows on a day."""
    accumulated = _sums(block, day.year, "stage")[day]
    steps = (step.split(":") for step in STAGES[_CROPS.get(block, "apple")].split())
    return [code for since, code in steps if int(since) <= accumulated][-1]
