"""Rules and verdicts a second time: which rule fits a block, what it looks at, and where that stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
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
        "load_mg": [1, 1],
        "disrupted": False,
        "office": False,
    },
    *(
        {
            "id": f"shipped-am-{kind}-sphere",
            "species": "AM",
            "kind": "cumulative",
            "low": flies,
            "high": flies,
            "lure_kind": kind,
            "style": "sphere",
            "edge": True,
            "after_treatment": "restart",
            "office": False,
        }
        for kind, flies in (("baited", 5), ("unbaited", 1))
    ),
]
"""What ships; sources and dates are words, not numbers, and are left to the product."""
CONDITIONS = ("months", "load_mg", "lure_kind", "style", "ha_per_trap", "disrupted", "market")
BLANKS = {"load_mg": "load", "lure_kind": "kind", "style": "style", "ha_per_trap": "ha_per_trap"}
COLUMNS = {"load_mg": "load_mg", "lure_kind": "kind", "style": "style", "ha_per_trap": "area_ha"}


def same(text: str) -> str:
    """A lure kind or style in one spelling."""
    return text.lower().replace("×", "x").replace("_", "-").replace(" ", "-")


def meets(rule: Rule, key: str, value: Any) -> bool:
    """Whether one written value is what a rule asks for."""
    if key in ("load_mg", "ha_per_trap"):
        least, most = map(exact, rule[key])
        return bool(least <= value <= most)
    asked = [same(one) for one in (rule[key] if isinstance(rule[key], list) else [rule[key]])]
    if key == "lure_kind" and "baited" in asked and same(value) != "unbaited":
        return True
    return same(value) in asked


def fitting(
    rules: Sequence[Rule],
    species: str,
    on: date,
    disrupted: bool,
    found: Mapping[bool, Sequence[Mapping[str, Any]]],
    *,
    markets: Sequence[str] = (),
) -> tuple[list[Rule], list[str]]:
    """The rules that fit best, and what was assumed for the one; ``found``: what is known of each trap and lure."""
    best: list[Rule] = []
    for rule in rules:
        there = found[bool(rule.get("edge"))]
        if rule["species"] != species or on.month not in rule.get("months", range(1, 13)):
            continue
        if rule.get("disrupted", disrupted) != disrupted:
            continue
        if "market" in rule and same(rule["market"]) not in map(same, markets):
            continue
        wrong = [
            key
            for key, name in BLANKS.items()
            if key in rule and any(one.get(name) is not None and not meets(rule, key, one[name]) for one in there)
        ]
        if (
            "lure_kind" in rule
            and same(str(rule["lure_kind"])) == "unbaited"
            and any("kind" in one and one["kind"] is None for one in there)
        ):
            wrong.append("no word on its lure means that it has one")
        if not wrong:
            best.append(rule)
    ranks = [(rule["office"], sum(key in rule for key in CONDITIONS)) for rule in best]
    best = [rule for rule, rank in zip(best, ranks, strict=True) if rank == max(ranks)]
    if len(best) != 1:
        return best, []
    (rule,) = best
    there = found[bool(rule.get("edge"))]
    lures = [one for one in there if "load" in one]
    unknown = {name for one in there if lures for name, value in one.items() if value is None}
    blank = [key for key, name in BLANKS.items() if key in rule and name in unknown]
    if all(one["kind"] and same(one["kind"]) == "unbaited" for one in lures if one["load"] is None):
        blank = [key for key in blank if key != "load_mg"]
    return best, [COLUMNS[key] for key in blank]


def undisrupted(rules: Sequence[Rule], species: str, on: date) -> Rule | None:
    """The rule that a block would have without disruption, whatever its lures."""
    mine = [rule for rule in rules if rule["species"] == species and on.month in rule.get("months", range(1, 13))]
    return max(
        (rule for rule in mine if not rule.get("disrupted") and not rule.get("timing_only")),
        key=lambda rule: (rule["office"], sum(key in rule for key in CONDITIONS)),
        default=None,
    )


@dataclass(frozen=True)
class Past:
    """What a sum depends on beside the catch."""

    season: date
    """First day of the season."""
    biofix: date | None
    treated: Sequence[date]
    """Days of treatment, oldest first."""
    warm: Callable[[date], Fraction]
    """Degree-days of a day."""
    stages: Sequence[tuple[date, str]] = ()
    """Day and code of each stage seen in the season, oldest first."""

    def reached(self, first: date, amount: Fraction, last: date) -> date | None:
        """Day by which so many were there, the first day counted."""
        total, day = Fraction(), first
        while day <= last:
            total += self.warm(day)
            if total >= amount:
                return day
            day += DAY
        return None


def summed(rule: Rule, judged: Mapping[str, Sequence[naive.Heap]], on: date, past: Past) -> tuple[str, Fraction | None]:
    """A sum from where its rule begins it, with what treatments and periods of degree-days do to it."""
    since = rule.get("since", "hanging")
    first: date | None = past.biofix if since in ("biofix", "degree-days") else past.season
    if since == "days":
        first = on - (rule["days"] - 1) * DAY
    elif since[:1].isdigit():
        # A stage that is still to come begins the sum tomorrow; where nobody looked nothing is known.
        first = next((day for day, code in past.stages if code >= since), on + DAY) if past.stages else None
    if first is None:
        return "cannot-tell", None
    held: list[date] = []
    for day in [day for day in past.treated if day <= on] if "after_treatment" in rule else ():
        until = day
        # Of a rolling sum and of one in periods the number is its length, and it begins anew at once.
        if since in ("days", "degree-days"):
            until = day
        elif "days" in rule:
            until = day + rule["days"] * DAY
        elif "degree_days" in rule:
            until = past.reached(day + DAY, exact(rule["degree_days"]), on) or on
        if rule["after_treatment"] == "hold":
            held += [day + number * DAY for number in range(1, (until - day).days + 1)]
        elif until >= first:
            first = until + DAY
    while since == "degree-days" and (end := past.reached(first, exact(rule["degree_days"]), on - DAY)):
        first = end + DAY
    value = Fraction() if first > on else naive.cumulative(judged, first, on, held)
    return stands(value, rule), value


def judge(
    rule: Rule,
    judged: Mapping[str, Sequence[naive.Heap]],
    every: Mapping[str, Sequence[naive.Heap]],
    on: date,
    past: Past,
) -> tuple[str, Fraction | None]:
    """Status and the value compared."""
    if rule.get("timing_only"):
        return "no-rule", None
    if rule["kind"] == "mean":
        value = naive.block(judged, on)[0]
    elif rule["kind"] == "single-trap" and "weeks" in rule:
        return each_week(rule, judged, on)
    elif rule["kind"] == "single-trap":
        value = naive.block(judged, on)[1]
    elif rule["kind"] == "cumulative":
        return summed(rule, judged, on, past)
    else:
        return running(rule, judged, every, on)
    return stands(value, rule), value


def stands(value: Fraction | None, rule: Rule) -> str:
    """Below, within or over."""
    if value is None:
        return "cannot-tell"
    low, high = (exact(rule[end]) for end in ("low", "high"))
    if rule.get("compare") == ">":
        return "over" if value > high else "within" if value > low else "below"
    return "over" if value >= high else "within" if value >= low else "below"


def exact(number: Decimal | int) -> Fraction:
    """A number of a rules file."""
    return Fraction(str(number))


def running(
    rule: Rule, judged: Mapping[str, Sequence[naive.Heap]], every: Mapping[str, Sequence[naive.Heap]], on: date
) -> tuple[str, Fraction | None]:
    """The least of the last weeks; an open week may hold anything it could."""
    weeks = last_weeks(rule["weeks"], judged, every, on)
    low = min(least for least, _ in weeks)
    ends = [most for _, most in weeks if most is not None]
    high = min(ends) if ends else None
    if high is None or stands(low, rule) != stands(high, rule):
        return ("over", None) if stands(low, rule) == "over" else ("cannot-tell", None)
    return stands(low, rule), low if low == high else None


def last_weeks(
    number: int, judged: Mapping[str, Sequence[naive.Heap]], every: Mapping[str, Sequence[naive.Heap]], on: date
) -> list[tuple[Fraction, Fraction | None]]:
    """The last weeks, each a reading of 4 to 10 days, with the least and the most that they may have held."""
    weeks: list[tuple[Fraction, Fraction | None]] = []
    end: date | None = on
    while end is not None and len(weeks) < number:
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
    return weeks[:number] + [(Fraction(), None)] * (number - len(weeks))


def each_week(rule: Rule, judged: Mapping[str, Sequence[naive.Heap]], on: date) -> tuple[str, Fraction | None]:
    """The highest trap by the least of its own last weeks; one hung too late for so many weeks cannot be it."""
    newest = {name.split()[-1]: name for name in sorted(judged) if naive.figure(judged[name], on, suspect=False)}
    lows, highs = [Fraction()], [Fraction()]
    for name in newest.values():
        hung = date.fromisoformat(name.split()[0])
        if hung != date.min and (on - hung).days < 7 * (rule["weeks"] - 1) + 4:
            continue
        weeks = last_weeks(rule["weeks"], {name: judged[name]}, {name: judged[name]}, on)
        lows.append(min(least for least, _ in weeks))
        highs.append(min((most for _, most in weeks if most is not None), default=Fraction(10**9)))
    low, high = max(lows), max(highs)
    if stands(low, rule) != stands(high, rule):
        return "cannot-tell", None
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
