"""Rules and verdicts a second time: which rule fits a block, what it looks at, and where that stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from . import naive_figures as naive

DAY = timedelta(days=1)
Rule = dict[str, Any]
SHIPPED: list[Rule] = [
    {
        "id": "shipped-cm-mean",
        "species": "CM",
        "kind": "mean",
        "low": 3,
        "high": 5,
        "disrupted": False,
        "office": False,
    },
    {
        "id": "shipped-am-baited-sphere",
        "species": "AM",
        "kind": "cumulative",
        "low": 5,
        "high": 5,
        "edge": True,
        "office": False,
    },
]
"""What ships; sources and dates are words, not numbers, and are left to the product."""


def choose(
    rules: Sequence[Rule],
    species: str,
    on: date,
    disrupted: bool | None,
    loads: Mapping[bool, Sequence[Fraction | None]],
) -> Rule | None:
    """The rule for a block: the office's first, then the one that states most; None asks only about the months."""
    fitting = []
    for rule in rules:
        if rule["species"] != species or on.month not in rule.get("months", range(1, 13)):
            continue
        if disrupted is not None:
            if rule.get("disrupted", disrupted) != disrupted:
                continue
            if "load_mg" in rule:
                least, most = (Fraction(str(load)) for load in rule["load_mg"])
                there = loads[bool(rule.get("edge"))]
                if not there or not all(load is not None and least <= load <= most for load in there):
                    continue
        fitting.append(rule)
    return max(
        fitting, key=lambda r: (r["office"], sum(key in r for key in ("months", "load_mg", "disrupted"))), default=None
    )


def judge(
    rule: Rule,
    judged: Mapping[str, Sequence[naive.Heap]],
    every: Mapping[str, Sequence[naive.Heap]],
    on: date,
    season: Fraction | None,
) -> tuple[str, Fraction | None]:
    """Status and the value compared. Sums count from the season's start: no rule here starts later."""
    if rule["kind"] == "mean":
        value = naive.block(judged, on)[0]
    elif rule["kind"] == "single-trap":
        value = naive.block(judged, on)[1]
    elif rule["kind"] == "cumulative":
        value = season
    else:
        return running(rule, judged, every, on)
    return stands(value, rule), value


def stands(value: Fraction | None, rule: Rule) -> str:
    """Below, within or over."""
    if value is None:
        return "cannot-tell"
    low, high = (exact(rule[end]) for end in ("low", "high"))
    return "over" if value >= high else "within" if value >= low else "below"


def exact(number: Decimal | int) -> Fraction:
    """A number of a rules file."""
    return Fraction(str(number))


def running(
    rule: Rule, judged: Mapping[str, Sequence[naive.Heap]], every: Mapping[str, Sequence[naive.Heap]], on: date
) -> tuple[str, Fraction | None]:
    """The least of the last weeks, each a reading of 4 to 10 days; an open week may hold anything it could."""
    weeks: list[tuple[Fraction, Fraction | None]] = []
    end: date | None = on
    while end is not None and len(weeks) < rule["weeks"]:
        used = [whole(heaps, one[1]) for heaps in judged.values() if (one := naive.figure(heaps, end, suspect=False))]
        least = most = Fraction()
        starts = []
        for heaps in used:
            starts.append(min(naive.began(heap) for heap in heaps))
            days = [len(heap.nights or ()) for heap in heaps]
            moths = sum(heap.net or 0 for heap in heaps)
            if max(days) > 10:
                most += moths
            else:
                least, most = least + Fraction(7 * moths, sum(days)), most + Fraction(7 * moths, sum(days))
        if used:
            weeks.append((least / len(used), most / len(used)))
        ended = min((heap.read_on for heaps in used for heap in heaps), default=end - 6 * DAY)
        earlier = [heap.read_on for heaps in every.values() for heap in heaps if heap.read_on < ended]
        end = max(earlier, default=None)
        if end is None or not starts or (min(starts) - end).days >= 4:
            weeks.append((Fraction(), None))
    weeks = weeks[: rule["weeks"]] + [(Fraction(), None)] * (rule["weeks"] - len(weeks))
    low = min(least for least, _ in weeks)
    ends = [most for _, most in weeks if most is not None]
    high = min(ends) if ends else None
    if high is None or stands(low, rule) != stands(high, rule):
        return ("over", None) if stands(low, rule) == "over" else ("cannot-tell", None)
    return stands(low, rule), low if low == high else None


def whole(heaps: Sequence[naive.Heap], used: Sequence[naive.Heap]) -> list[naive.Heap]:
    """A week of at least four days: shorter ones are joined with the readings right before."""
    week = list(used)
    for heap in reversed(heaps):
        if sum(len(one.nights or ()) for one in week) >= 4:
            break
        if heap.weekly and not heap.suspect and heap.read_on == naive.began(week[0]):
            week.insert(0, heap)
    return week
