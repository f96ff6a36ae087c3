"""What stands beside the weekly figures, counted again: letters, samples, mites over time, checks and people.

As in ``recount`` nothing of the product is imported: tables are read by plain SQL, rules are written here once more.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import Any

from scipy.stats import beta

from . import naive_figures as naive
from .recount import Recount

DAY = timedelta(days=1)
JUDGED_ELSEWHERE = ("outlook", "treatments")
"""Reports with judges of their own: ``test_outlook``, ``test_watch_property``."""
LEFT_OUT = (
    "rule.date",
    "chance",
    "certainty",
    "level_low",
    "level_high",
    "unlikely",
    "weeks_over",
    "weeks_judged",
    "next_visit",
)
"""Keys with judges of their own, or that hang on every round of three seasons."""
STOPS = {"oblr-maine": ((60, 1, 4), (90, 2, 4), (100, 3, 4))}
SHARES = {"fruit-washington": (Fraction(5, 1000), 500), "raa-uk": (Fraction(1, 25), 25)}
MEANS = {"mites-penn-early-summer": 5}
PRESENCE = {10: Fraction("0.7"), 12: Fraction("1.1"), 15: Fraction("1.6"), 17: Fraction("2.6"), 20: Fraction("4.7")}
"""Leaves infested of 25, and red mites a leaf: Michigan State University, managing mites in apples."""
ALIKE = Fraction(1, 10)


def rows(conn: sqlite3.Connection, sql: str, *values: object) -> list[dict[str, Any]]:
    """Rows by the names of their columns."""
    found = conn.execute(sql, values)
    names = [one[0] for one in found.description]
    return [dict(zip(names, row, strict=True)) for row in found]


@dataclass
class Letters:
    """Every figure of the letters of a day, by its place.

    Args:
        again: The summary of the day.
        year_ago: The day it is held against.
        conn: The store, for samples, vials and biofixes.
    """

    again: Recount
    year_ago: date
    conn: sqlite3.Connection

    @cached_property
    def said(self) -> dict[str, Any]:
        """The summary."""
        return self.again.summary()

    def counts(self, place: Sequence[str]) -> bool:
        """Whether a figure is counted again here."""
        return place[0] not in JUDGED_ELSEWHERE and not {*place} & {*LEFT_OUT}

    def value(self, place: Sequence[str]) -> Any:
        """A figure, counted again."""
        found: Any = getattr(self, f"_{place[0].replace('-', '_')}")(*place[1:])
        return tuple(found) if isinstance(found, list) else found

    def _summary(self, part: str, *keys: str) -> Any:
        said = self.said
        if part == "on":
            return said["on"]
        if part == "blocks":
            block, species, key = keys
            value: Any = next(one for one in said[part] if (one["block"], one["species"]) == (block, species))
            for name in key.split("."):
                value = value[name]
            return value
        trap, *item, key = keys
        return next(one for one in said[part] if one["trap"] == trap and (not item or one["item"] == item[0]))[key]

    def _last_year(self, _part: str, block: str, species: str, _key: str) -> Fraction | None:
        return naive.block(dict(self._group(block, species)), self.year_ago)[0]

    def _group(self, block: str, species: str) -> list[tuple[str, list[naive.Heap]]]:
        """Readings of the traps in a block's figure; those at the edge where its rule takes them."""
        rule = (self._summary("blocks", block, species, "rule") or {}).get("id")
        edge = any(one.get("edge") for one in self.again.setup.rules if one["id"] == rule)
        return [
            (f"{row.hung_on or date.min} {row.trap}", heaps)
            for row, heaps in zip(self.again.setup.traps, self.again.heaps, strict=True)
            if (row.block, row.species) == (block, species) and (edge or not row.edge)
        ]

    def _record(self, key: str, *about: str) -> Any:
        if key == "first":
            return self.again.window[0]
        if key == "seen_on":
            return max(self.again.stages[self.again.stages.block == about[0]].seen_on)
        if key == "estimated":
            hung = {row.trap for row in self.again.setup.traps if (row.block, row.species) == about}
            return sum(
                1
                for one in self.again.entries
                if one.estimated and one.trap in hung and one.read_on >= self.again.window[0]
            )
        mine = [e for e in self.again.entries if (e.trap, e.read_on.isoformat()) == about]
        return max(said for one in mine if (said := getattr(one, key)) is not None)

    def _biofix(self, block: str, species: str, generation: str, _key: str) -> date:
        sql = "SELECT day FROM present_biofixes WHERE (block, species, generation) = (?, ?, ?) AND season = ?"
        (found,) = rows(self.conn, sql, block, species, int(generation), self.again.season.year)
        return date.fromisoformat(found["day"])

    def _register(self, trap: str, hung_on: str, _key: str) -> date | None:
        hung = (row.hung_on for row in self.again.setup.traps if row.trap == trap)
        return next(day for day in hung if day and day.isoformat() == hung_on)

    def _vials(self, id_: str, key: str) -> Any:
        (one,) = rows(self.conn, "SELECT number, read_on FROM present_specimens WHERE id = ?", id_)
        return date.fromisoformat(one[key]) if key == "read_on" else one[key]

    def _samples(self, id_: str, key: str, end: str = "") -> Any:
        (one,) = rows(self.conn, "SELECT * FROM present_samples WHERE id = ?", id_)
        looked, found = one["examined"], one["found"]
        if key == "sampled_on":
            return date.fromisoformat(one[key])
        if key == "percent":
            return Fraction(100 * found, looked)
        if key == "by_trees_percent":
            each = Fraction(looked, one["trees"])
            worth = looked / float(1 + (each - 1) * ALIKE)
            hits = found / looked * worth
            ends = beta.ppf(0.025, hits, worth - hits + 1), beta.ppf(0.975, hits + 1, worth - hits)
            return 100 * (ends[int(end)] if hits or int(end) else 0.0)
        if key == "per_unit":
            return Fraction(one["counted"], looked)
        if key in ("verdict", "more"):
            return sample_verdict(one["plan"], looked, found, one["counted"])[key == "more"]
        return one[{"looked": "examined"}.get(key, key)]

    def _years(self, block: str, species: str, part: str, *keys: str) -> Any:
        """First catch, peak and sum of a season; of an earlier one up to the same day of the calendar too."""
        group = self._group(block, species)
        now = self._of_season(group, self.again.season, self.again.on)
        if part == "newest":
            return max(now)
        season, key = keys
        if key == "season":
            return int(season)
        start = self.again.season.replace(year=int(season))
        if part == "against" and not now:
            return None  # Nothing of this season was read yet, so there is no day to look at.
        end = start.replace(year=start.year + 1) - DAY if start != self.again.season else self.again.on
        if part == "against":
            end = max(now).replace(year=start.year)
        days = self._of_season(group, start, end)
        mine = {name: [heap for heap in heaps if start <= heap.read_on] for name, heaps in group}
        if key == "total":
            return naive.cumulative(mine, start, end)
        if key == "first_catch.on":
            return min(
                heap.read_on
                for heaps in mine.values()
                for heap in heaps
                if heap.net and not heap.suspect and not heap.conflict and start <= heap.read_on <= end
            )
        means = {day: mean for day in sorted(days) if (mean := naive.block(mine, day)[0])}
        peak = max(means, key=lambda day: means[day])
        return peak if key == "peak.on" else means[peak]

    def _of_season(self, group: Sequence[tuple[str, Sequence[naive.Heap]]], first: date, last: date) -> set[date]:
        """Last days of the rounds of a block: traps read within six days of the first are one round."""
        read = sorted({heap.read_on for _, heaps in group for heap in heaps if first <= heap.read_on <= last})
        ends, begun = set(), None
        for day, after in pairwise([*read, date.max]):
            begun = begun or day
            if (after - begun).days >= 6:
                ends.add(day)
                begun = None
        return ends


def sample_verdict(plan: str, looked: int, found: int, counted: int | None = None) -> tuple[str, int | None]:
    """What a published plan says of a sample, and how many more it asks for."""
    if plan in STOPS:
        (_, least, most), *later = [stop for stop in STOPS[plan] if stop[0] >= looked]
        said = "below" if found <= least else "over" if found >= most else "more"
        return said, later[0][0] - looked if said == "more" and later else None
    if plan in MEANS:
        # Where nobody counted, the next row of Michigan's table is the most that so many infested leaves may bear.
        most = (
            Fraction(counted, looked)
            if counted is not None
            else next(mites for leaves, mites in PRESENCE.items() if leaves >= Fraction(25 * found, looked))
        )
        return "over" if most >= MEANS[plan] else "below", None
    if plan not in SHARES:
        return "no-plan", None
    number, units = SHARES[plan]
    said = "over" if found >= number * max(units, looked) else "below" if looked >= units else "more"
    return said, units - looked if said == "more" else None


def infested_days(
    conn: sqlite3.Connection, pest: str, unit: str, first: date, last: date
) -> dict[str, tuple[Fraction, Fraction | None]]:
    """Leaf-infested days and mite-days of each block: days between two samples by the mean of both, added up."""
    by_block: dict[str, list[dict[str, Any]]] = {}
    sql = "SELECT * FROM present_samples WHERE pest = ? AND unit = ? AND sampled_on BETWEEN ? AND ? ORDER BY sampled_on"
    for one in rows(conn, sql, pest, unit, first.isoformat(), last.isoformat()):
        by_block.setdefault(one["block"], []).append(one)
    found: dict[str, tuple[Fraction, Fraction | None]] = {}
    for block, samples in by_block.items():
        leaves, mites = Fraction(), Fraction()
        for one, other in pairwise(samples):
            days = (date.fromisoformat(other["sampled_on"]) - date.fromisoformat(one["sampled_on"])).days
            leaves += days * sum(Fraction(100 * s["found"], s["examined"]) for s in (one, other)) / 2
            if None not in (one["counted"], other["counted"]):
                mites += days * sum(Fraction(s["counted"], s["examined"]) for s in (one, other)) / 2
        whole = all(one["counted"] is not None for one in samples)
        if len(samples) > 1:
            found[block] = leaves, mites if whole else None
    return found


Shares = dict[str, dict[str, dict[str, tuple[int, int]]]]


@dataclass
class Quality:
    """Checks passed, planted specimens found, training and identification: all, by person, route and week.

    Args:
        again: The visits of the season, up to its day.
        conn: The store, for checks and specimens.
        people: Rows of people.csv by name.
    """

    again: Recount
    conn: sqlite3.Connection
    people: Mapping[str, Mapping[str, str]]
    found: Shares = field(default_factory=dict)

    def _add(self, what: str, who: str, about: tuple[str, date], good: int, of: int = 1) -> None:
        trap, on = about
        routes = {stop.route for stop in self.again.setup.stops if stop.trap == trap}
        monday = (on - timedelta(days=on.weekday())).isoformat()
        for by, key in (("all", "all"), ("person", who), ("week", monday), *(("route", one) for one in routes)):
            told = self.found.setdefault(what, {}).setdefault(by, {})
            told[key] = (told.get(key, (0, 0))[0] + good, told.get(key, (0, 0))[1] + of)

    def _came(self, trap: str) -> list[Any]:
        served = ("missing", "down", "damaged")
        mine = [e for e in self.again.of_trap.get(trap, ()) if not e.recount]
        return [e for e in mine if e.count is not None or e.no_reading in served]

    def shares(self) -> Shares:
        """All of it."""
        span = (self.again.season.isoformat(), self.again.on.isoformat())
        for one in rows(self.conn, "SELECT * FROM present_checks WHERE checked_on BETWEEN ? AND ?", *span):
            on = date.fromisoformat(one["checked_on"])
            visits, about = self._came(one["trap"]), (one["trap"], on)
            if one["result"] == "planted":
                who = [*(e.scout for e in visits if e.read_on >= on), "nobody yet"][0]
                self._add("planted found", who, about, one["recovered"], one["planted"])
            else:
                who = ["nobody yet", *(e.scout for e in visits if e.read_on <= on)][-1]
                self._add("checks passed", who, about, int(one["result"] == "passed"))
        for trap in self.again.of_trap:
            for e in self._came(trap):
                row = self.people.get(e.scout, {"trained_on": ""})
                since, until = row["trained_on"] or "9", row.get("valid_until") or "9"
                if e.read_on >= self.again.season:
                    good = int(since <= e.read_on.isoformat() <= until)
                    self._add("visits by trained people", e.scout, (trap, e.read_on), good)
        species = {row.trap: row.species.lower() for row in self.again.setup.traps}
        named = "SELECT * FROM present_specimens WHERE identified_by <> '' AND read_on BETWEEN ? AND ?"
        for one in rows(self.conn, named, *span):
            row = self.people.get(one["identified_by"], {"may_identify": ""})
            may = row["may_identify"].lower().replace(" ", "").split(";")
            on = date.fromisoformat(one["identified_on"] or one["read_on"])
            good = int(bool({species[one["trap"]], "all"} & {*may}))
            self._add("identified by those who may", one["identified_by"], (one["trap"], on), good)
        return self.found
