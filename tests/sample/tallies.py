"""Tally files of the invented rounds, in the form the contract gives them."""

from __future__ import annotations

import csv
import io
import random
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from tests.sample.flights import draw, expected, stage
from tests.sample.observations import second_counts
from tests.sample.programme import ROUTES, SCOUTS, SEASONS, Place, hung_on, lot, lure_life, rounds
from tests.sample.stories import EXTRA_FILES, STORIES, Row

COLUMNS = (
    *("trap", "read_on", "count", "no_reading", "cleared", "liner", "lure", "kill_strip", "body", "stage", "note"),
    *("others", "estimated", "lure_found", "recount"),
)
QUIET_FROM = date(2025, 6, 1)
"""From here on nothing happens by chance but the catch: what is told of these weeks is written by hand."""
SECOND_FROM, SECOND_TO = date(2025, 5, 5), date(2025, 7, 7)
"""South rounds of which two traps were counted a second time."""
SCATTER = 2.0
"""k of the counts of one block and round, as traps in orchards scatter."""
_FULL, _STRIP_DAYS, _RENEWED_ROUNDS = 30, 56, 2


@dataclass(frozen=True, slots=True)
class _Luck:
    """What chance does to a trap in a round."""

    event: float
    """Below 0.018 the trap is not read."""
    left: float
    """Below 0.006 the moths are left in."""
    moths: int
    """Caught since the last reading."""
    others: int
    """Other insects in it."""


@dataclass(slots=True)
class _Hanging:
    """What the generator keeps of a trap while it walks a season."""

    place: Place
    hung: date
    read: date
    liner_on: date
    lure_on: date
    strip_on: date
    on_liner: int = 0
    left_in: int = 0
    visits: int = 0

    def visit(self, day: date, luck: _Luck) -> Row:
        """The row of a round, and what it does to the trap."""
        row = self._by_chance(day, luck)
        notified = STORIES.get((self.place.trap, day), {})
        row |= notified
        if row.get("no_reading"):
            row.pop("count", None)
            if "lure" not in notified:
                row = {key: row[key] for key in row if key in {"no_reading", "note", *notified}}
        self._after(day, row)
        return {key: text for key, text in row.items() if text}

    def _by_chance(self, day: date, luck: _Luck) -> Row:
        row: Row = {}
        if day < QUIET_FROM and luck.event < 0.018:
            row["no_reading"] = "skipped" if luck.event < 0.007 else "closed" if luck.event < 0.012 else "down"
            return row
        count = self.left_in + luck.moths
        row["count"] = str(count)
        if count and day < QUIET_FROM and luck.left < 0.006:
            row["cleared"] = "no"
            return row
        if luck.others:
            row["others"] = str(luck.others)
        return row | self._service(day, count)

    def _service(self, day: date, count: int) -> Row:
        row: Row = {}
        caught = self.on_liner + count - self.left_in
        if self.place.style.endswith("delta") and (caught >= _FULL or (day - self.liner_on).days >= self._liner_days):
            row["liner"] = "yes"
        if (day - self.lure_on).days >= lure_life(self.place):
            self.visits += 1
            row["lure"] = lot(day.year, self.place) if self.visits % _RENEWED_ROUNDS else "yes"
        if self.place.style == "bucket" and (day - self.strip_on).days >= _STRIP_DAYS:
            row["kill_strip"] = "yes"
        return row

    @property
    def _liner_days(self) -> int:
        """Three or four weeks, by trap, so that not every liner of a block falls due in one round. [d]"""
        return 21 + 7 * random.Random(f"liner of {self.place.trap}").randrange(2)

    def _after(self, day: date, row: Mapping[str, str]) -> None:
        if row.get("count"):
            count = int(row["count"])
            self.on_liner += max(count - self.left_in, 0)
            self.left_in = count if row.get("cleared") == "no" else 0
            self.read = day
        elif row.get("no_reading") in {"missing", "down", "damaged"}:
            self.read, self.left_in = day, 0
        if row.get("liner") == "yes":
            self.liner_on, self.on_liner = day, 0
        if row.get("lure"):
            self.lure_on = day
        if row.get("kill_strip") == "yes":
            self.strip_on = day


def tally_files() -> dict[str, str]:
    """Every tally file by name, and the list of who walked which round."""
    files: dict[str, str] = {}
    scouts: dict[str, str] = {}
    for year in SEASONS:
        for route, places in ROUTES.items():
            hangings = [_hang(year, route, place) for place in places]
            for day in rounds(year, route):
                rows = list(_round(hangings, day))
                if rows:
                    name = f"{day.isoformat()}-{route}.csv"
                    files[name], scouts[name] = as_csv(rows), SCOUTS[route]
                if route == "south" and SECOND_FROM <= day <= SECOND_TO:
                    again = f"{day.isoformat()}-second.csv"
                    files[again], scouts[again] = as_csv(list(second_counts(day, rows))), SCOUTS["north"]
    for name, (scout, rows) in EXTRA_FILES.items():
        files[name], scouts[name] = as_csv(rows), scout
    listed = "".join(f"{name},{scouts[name]}\n" for name in sorted(scouts))
    return {**dict(sorted(files.items())), "scouts.csv": f"file,scout\n{listed}"}


def _hang(year: int, route: str, place: Place) -> _Hanging:
    day = hung_on(year, place, route)
    return _Hanging(place, day, day, day, day, day)


def _luck(hanging: _Hanging, day: date) -> _Luck:
    trap = hanging.place.trap
    rng = random.Random(f"{trap} {day.isoformat()}")
    event, left = rng.random(), rng.random()
    moths = draw(rng, expected(hanging.place, hanging.read, day))
    return _Luck(event, left, moths, 1 + int(rng.random() * 5) if rng.random() < 0.06 else 0)


def _scattered(standing: Iterable[_Hanging], luck: Mapping[str, _Luck], day: date) -> dict[str, _Luck]:
    """The catch of a block shared out among its traps anew: each has a place and a week of its own luck.

    Counts of one block then scatter as real ones do, with k near 2, and its sum stays. Traps with a story of that day
    keep out of it, and so do those read last on another day.
    """
    alike: dict[tuple[str, str, bool, date], list[str]] = {}
    for hanging in standing:
        place = hanging.place
        if (place.trap, day) not in STORIES and not (day < QUIET_FROM and luck[place.trap].event < 0.018):
            alike.setdefault((place.block, place.species, place.edge, hanging.read), []).append(place.trap)
    shared = {}
    for traps in alike.values():
        rng = random.Random(f"luck of {traps} {day.isoformat()}")
        weights = [rng.gammavariate(SCATTER, 1) for _ in traps]
        chosen = Counter(rng.choices(traps, weights, k=sum(luck[trap].moths for trap in traps)))
        shared |= {trap: replace(luck[trap], moths=chosen[trap]) for trap in traps}
    return shared


def _round(hangings: Iterable[_Hanging], day: date) -> Iterable[Row]:
    blocks: set[str] = set()
    standing = [hanging for hanging in hangings if day > hanging.hung]
    luck = {hanging.place.trap: _luck(hanging, day) for hanging in standing}
    luck |= _scattered(standing, luck, day)
    for hanging in standing:
        row = {"trap": hanging.place.trap, "read_on": day.isoformat()} | hanging.visit(day, luck[hanging.place.trap])
        if hanging.place.block not in blocks and row.get("no_reading") not in {"skipped", "closed"}:
            blocks.add(hanging.place.block)
            row["stage"] = stage(hanging.place.block, day)
        yield row


def as_csv(rows: list[Row]) -> str:
    """Rows as a tally file: the columns that are needed, always with count and reason."""
    used = {key for row in rows for key in row} | {"count", "no_reading"}
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, [column for column in COLUMNS if column in used], lineterminator="\n", restval="")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
