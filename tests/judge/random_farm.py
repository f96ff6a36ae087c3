"""Random scouting folders: register, rules and two years of entries with everything that can go wrong in them."""

from __future__ import annotations

import csv
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

from roundtui.domain.entries import BiofixSettled, NoReading, StageSeen, TreatmentSaid, Visit
from roundtui.store.connect import open_store
from roundtui.store.db import transaction
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.set_up.load import load_folder

SPECIES = ("CM", "CM", "CM", "OFM", "OBLR", "AM")
FIRST, LAST = date(2024, 3, 20), date(2025, 8, 20)
NOW = datetime(2025, 8, 21, 6, tzinfo=UTC)
LOTS = {f"{species}{number}": species for species in ("CM", "OFM", "OBLR", "AM") for number in (1, 2)}
RULES = (
    'species = "CM"\nkind = "mean"\nlow = 1\nhigh = 2.5\nmonths = [6, 7]\ndisrupted = false',
    'species = "CM"\nkind = "running"\nweeks = {weeks}\nlow = 0.5\nhigh = 1\ndisrupted = true',
    'species = "CM"\nkind = "single-trap"\nlow = 4\nhigh = 4\nload_mg = [1, 1]\nmonths = [8, 9, 10]',
    'species = "OFM"\nkind = "running"\nweeks = {weeks}\nlow = 2\nhigh = 2\n',
    'species = "OFM"\nkind = "single-trap"\nlow = 5\nhigh = 8\nedge = true\nmonths = [4, 5]',
    'species = "OBLR"\nkind = "cumulative"\nlow = 10\nhigh = 20.5\nsince = "hanging"',
    'species = "OBLR"\nkind = "mean"\nlow = 1\nhigh = 2\ndisrupted = true',
    'species = "OBLR"\nkind = "mean"\ntiming_only = true\nmonths = [5]',
    'species = "CM"\nkind = "mean"\nlow = 1\nhigh = 2\ncompare = ">"\nstyle = ["Delta", "wing"]\nmonths = [5]',
    'species = "CM"\nkind = "single-trap"\nweeks = {weeks}\nlow = 1\nhigh = 1\nha_per_trap = [0.5, 1.5]\nmonths = [4]',
    'species = "OFM"\nkind = "cumulative"\nsince = "days"\ndays = 14\nlow = 3\nhigh = 6\nstyle = "bucket"',
    'species = "CM"\nkind = "mean"\nlow = 2\nhigh = 2\nlure_kind = "1x"\nmonths = [9, 10]\ndisrupted = false',
    'species = "OFM"\nkind = "mean"\nlow = 1\nhigh = 1\nmonths = [9]',
    'species = "OFM"\nkind = "mean"\nlow = 2\nhigh = 2\ndisrupted = true',
    'species = "OFM"\nkind = "mean"\nlow = 3\nhigh = 3\nmarket = "Taiwan"\nmonths = [6, 7]\ndisrupted = true',
    'species = "CM"\nkind = "cumulative"\nsince = "biofix"\nlow = 5\nhigh = 10\ndisrupted = true\nmonths = [5, 6, 7]',
    'species = "OBLR"\nkind = "cumulative"\nsince = "degree-days"\ndegree_days = 250\nlow = 1\nhigh = 3\nedge = true'
    "\nmonths = [6, 7]\ndisrupted = false",
    'species = "OBLR"\nkind = "cumulative"\nsince = "biofix"\nafter_treatment = "restart"\ndays = 5\nlow = 2\nhigh = 4'
    "\nmonths = [8]\ndisrupted = false",
    'species = "AM"\nkind = "cumulative"\nafter_treatment = "hold"\ndegree_days = 150\nlow = 3\nhigh = 6\nedge = true',
    'species = "CM"\nkind = "cumulative"\nafter_treatment = "hold"\ndays = 12\nlow = 3\nhigh = 6\nmonths = [6]'
    "\nload_mg = [1, 1]\ndisrupted = false",
    'species = "OFM"\nkind = "single-trap"\nhigh = 0\ncompare = ">"\nregion = "Ontario"\nmonths = [8]',
    'species = "OFM"\nkind = "cumulative"\nsince = "days"\ndays = 14\nafter_treatment = "restart"\nlow = 1\nhigh = 4'
    "\nmonths = [6, 7]\ndisrupted = false",
    'species = "OBLR"\nkind = "cumulative"\nsince = "degree-days"\ndegree_days = 250\nafter_treatment = "restart"'
    "\nlow = 1\nhigh = 3\nmonths = [6, 7]\ndisrupted = true",
    'species = "OBLR"\nkind = "cumulative"\nsince = "71"\nlow = 4.7\nhigh = 5.5\ncompare = ">"\nmonths = [4, 5]'
    '\nstyle = ["delta", "sphere"]',
    'species = "AM"\nkind = "cumulative"\nsince = "hanging"\nlow = 1\nhigh = 2\nlure_kind = "unbaited"\nedge = true'
    '\nstyle = "sphere"\nafter_treatment = "restart"',
    'species = "AM"\nkind = "mean"\nhigh = 5\nlure_kind = "baited"\nstyle = ["sphere", "panel"]\nedge = true'
    "\nmonths = [7]",
)
"""Every shape of rule that print has: strict and inclusive, any trap or the mean, one week and several, rolling days,
sums since hanging, stage, biofix and treatment, per so many degree-days, zero expected, two levels, timing only; with
lure kind, style, ground to a trap, market and region."""
STAGE_RULE = 'species = "{species}"\nkind = "cumulative"\nsince = "71"\nlow = 2\nhigh = 6'
"""In three farms of ten the only rule there is: among many, one that begins with a stage is seldom chosen."""


class RandomFarm:
    """A folder and its record, made from a seed.

    Args:
        folder: An empty folder.
        seed: The same seed makes the same farm.
        small: One season and a few traps.
    """

    def __init__(self, folder: Path, seed: int, *, small: bool = False) -> None:
        self.folder, self.random, self.stages = folder, Random(seed), Random(f"stages {seed}")
        self.staged = self.stages.random() < 0.3
        self.first, self.most = (date(2025, 3, 20), 5) if small else (FIRST, 11)
        self.traps: list[dict[str, Any]] = []
        self._set_up()
        with closing(open_store(folder, now=NOW)) as conn:
            load_folder(conn, folder, NOW)
            with transaction(conn):
                self._record(conn)

    def _write(self, name: str, rows: list[dict[str, Any]]) -> None:
        with (self.folder / name).open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)

    def _set_up(self) -> None:
        one = self.random.choice
        self._write("farms.csv", [{"farm": farm, "name": f"Farm {farm}"} for farm in "FG"])
        blocks = [("B1", "F", "no"), ("B2", "F", one(("yes", "no"))), ("B10", "G", "yes")]
        self._write(
            "blocks.csv",
            [
                {
                    "block": block,
                    "farm": farm,
                    "name": block,
                    "crop": "apple",
                    "disrupted": disrupted,
                    "area_ha": one(("", "2", "3.2")),
                    "station": "S",
                    "markets": one(("", "Taiwan", "Japan; Taiwan")),
                }
                for block, farm, disrupted in blocks
            ],
        )
        self._write("stations.csv", [{"station": "S", "name": "Hill"}])
        new_year = self.first.replace(month=1, day=1)
        days = (new_year + timedelta(days=at) for at in range((LAST - new_year).days + 1))
        # Between every model's thresholds, where each way of counting is the mean less the lower one.
        weather = [
            {"station": "S", "date": day, "tmin": one((52, 55, 60)), "tmax": one((62, 70, 84)), "unit": "F"}
            for day in days
        ]
        self._write("weather.csv", weather)
        lots = [
            {
                "lot": lot,
                "species": species,
                "load_mg": one(("1", "1", "10", "")),
                "life_days": one(("28", "42", "56")),
                "kind": "Unbaited" if lot == "AM2" else one(("", "", "1×", "10x")),
            }
            for lot, species in LOTS.items()
        ]
        self._write("lures.csv", lots)
        for number in range(1, self.random.randint(3, self.most)):
            species, style = one(SPECIES), one(("delta", "delta", "bucket", "sphere", ""))
            begin: date | None = self.first + timedelta(days=self.random.randint(0, 60))
            while begin is None or begin < LAST:
                down = self._down(begin or self.first)
                self.traps.append(
                    {
                        "trap": f"T{number}",
                        "block": one(blocks)[0],
                        "species": species,
                        "style": style,
                        "hung_on": begin or "",
                        "down_on": down or "",
                        "edge": one(("no", "no", "no", "yes")),
                        "lot": one(
                            [lot for lot, kind in LOTS.items() if kind == species or self.random.random() < 0.05]
                        ),
                        "body_label": one(("", "", f"L{number}", "L1")),
                    }
                )
                again = self.random.random() < 0.6
                begin = (down or LAST) + timedelta(days=one((0, 0, 3, 200))) if again and down else LAST
        self._write("traps.csv", self.traps)
        walk = sorted({row["trap"] for row in self.traps}, key=lambda _: self.random.random())
        stops = [{"route": f"r{at % 2}", "position": at, "trap": trap} for at, trap in enumerate(walk, 1)]
        self._write("routes.csv", stops)
        rules = [rule for rule in RULES if self.random.random() < 0.7]
        if self.staged:
            rules = [STAGE_RULE.format(species=species) for species in sorted(set(SPECIES))]
        text = "".join(
            f'[[rule]]\nid = "r{at}"\n{rule.format(weeks=one((2, 2, 3)))}\nsource = "invented"\ndate = 2024-01-05\n\n'
            for at, rule in enumerate(rules)
        )
        self.season = one(("01-01", "01-01", "03-01", "06-15"))
        (self.folder / "thresholds.toml").write_text(f'[season]\nstarts_on = "{self.season}"\n\n{text}', "utf-8")

    def _down(self, begin: date) -> date | None:
        way = self.random.random()
        if way < 0.25:
            return None
        return begin + timedelta(days=self.random.choice((20, 45, 90, 170)) + self.random.randint(0, 9))

    def _record(self, conn: Any) -> None:
        entries: list[tuple[date, Visit | StageSeen]] = []
        for row in self.traps:
            day = row["hung_on"] or self.first
            while (day := day + timedelta(days=self._interval())) <= min(row["down_on"] or LAST, LAST):
                entries += [(day, visit) for visit in self._visits(row, day)]
        for block in ("B1", "B2", "B10"):
            day, reached = self.first, self._reached(block, [one for _, one in entries if isinstance(one, Visit)])
            while (day := day + timedelta(days=self.random.randint(5, 60))) <= LAST:
                code = self.random.choice(("10", "65", "71", "75"))
                code = min(code, "65") if reached and day < reached else code
                entries.append((day, StageSeen(block=block, seen_on=day, code=code)))
            if reached:
                entries.append((reached, StageSeen(block=block, seen_on=reached, code="71")))
        self._season(conn)
        seen: set[tuple[str, date, str]] = set()
        for number, (_, entry) in enumerate(sorted(entries, key=lambda one: one[0])):
            at = NOW - timedelta(days=30) + timedelta(seconds=number)
            scout = "Ana"
            if isinstance(entry, Visit):
                scout = "Ben" if (entry.trap, entry.read_on, "Ana") in seen else "Ana"
                if (entry.trap, entry.read_on, scout) in seen:
                    continue
                seen.add((entry.trap, entry.read_on, scout))
            (kept,) = record(conn, [entry], Author(scout, "laptop"), at)
            self._second_thoughts(conn, kept, scout)

    def _reached(self, block: str, visits: list[Visit]) -> date | None:
        """Day on which a block is first seen in the stage that a rule begins with: in the days of a catch."""
        mine = {row["trap"] for row in self.traps if row["block"] == block}
        begins = date.fromisoformat(f"{LAST.year}-{self.season}") + timedelta(days=4)
        caught = sorted(one.read_on for one in visits if one.trap in mine and one.count and one.read_on >= begins)
        if not caught or not self.staged:
            return None
        return self.stages.choice(caught[: len(caught) // 2 + 1]) - timedelta(days=self.stages.randint(0, 3))

    def _season(self, conn: Any) -> None:
        """Treatments and biofixes, told in no order."""
        for block in ("B1", "B2", "B10"):
            for species in sorted(set(SPECIES)):
                author = Author("Ana", "laptop")
                for year in range(self.first.year, LAST.year + 1):
                    day = date.fromisoformat(f"{year}-{self.season}") + timedelta(days=self.random.randint(0, 120))
                    day = min(day, LAST)
                    notified = BiofixSettled(
                        block=block, species=species, season=year, generation=1, day=day, reason="seen"
                    )
                    if self.random.random() < 0.7:
                        record(conn, [notified], author, NOW)
                for _ in range(self.random.choice((0, 0, 1, 3))):
                    day = self.first + timedelta(days=self.random.randint(0, (LAST - self.first).days))
                    said = TreatmentSaid(block=block, species=species, treated_on=day)
                    record(conn, [said], author, NOW)

    def _second_thoughts(self, conn: Any, kept: Visit | StageSeen, scout: str) -> None:
        way, author = self.random.random(), Author(scout, "laptop")
        if way < 0.03:
            withdraw(conn, kept.id, "never happened", author, NOW)
        elif way < 0.08 and isinstance(kept, Visit) and kept.count is not None:
            mended = replace(kept, count=kept.count + 1, id="", recorded_at=None, replaces=kept.id, reason="miscounted")
            record(conn, [mended], author, NOW)
        elif way < 0.09 and isinstance(kept, Visit):
            mended = replace(kept, lure=None, lure_found=None, count=2, no_reading=None, id="", recorded_at=None)
            record(conn, [replace(mended, replaces=kept.id, reason="all wrong")], author, NOW)

    def _interval(self) -> int:
        return self.random.choice((3, 4, 6, 7, 7, 7, 7, 7, 8, 9, 12, 14, 21, 60 if self.random.random() < 0.2 else 7))

    def _visits(self, row: dict[str, Any], day: date) -> list[Visit]:
        chance, one = self.random.random, self.random.choice
        count: int | None = one((0, 0, 0, 1, 1, 2, 3, 5, 8, 13)) * (10 if chance() < 0.03 else 1)
        reason = one(tuple(NoReading)) if chance() < 0.12 else None
        if reason or chance() < 0.03:
            count = None
        lure = body = found = None
        if chance() < 0.15:
            lure = one(
                ("yes", "yes", "none", *(lot for lot, kind in LOTS.items() if kind == row["species"] or chance() < 0.3))
            )
        if chance() < 0.06:
            body = one(("yes", "yes", f"L{row['trap'][1:]}", "L2"))
        if chance() < 0.02:
            found = one(("none", "CM", "OFM", "OBLR1"))
        visit = Visit(
            trap=row["trap"],
            read_on=day,
            count=count,
            no_reading=reason,
            cleared=count is None or chance() > 0.1,
            liner=chance() < 0.2,
            kill_strip=chance() < 0.05,
            lure=lure,
            body=body,
            lure_found=found,
            note="why" if reason is NoReading.OTHER else "",
        )
        visits = [visit] if visit.says_something else []
        if count is not None and chance() < 0.06:
            recount = chance() < 0.5
            visits.append(Visit(trap=row["trap"], read_on=day, count=count + one((0, 1)), recount=recount))
        return visits
