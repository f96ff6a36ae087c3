"""Every number of a summary counted again, from nothing but the set-up files and the entries.

pandas selects, groups and joins; the arithmetic is in exact fractions. Nothing of the product is imported: what a trap
is, what an entry is, and each rule of the trade stand here a second time, written from the rules and not from the code.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace as Row
from typing import Any

import pandas as pd

from . import naive_figures as naive
from . import recount_rules as rules_of
from .naive_integrity import Diary, natural

DAY = timedelta(days=1)
KINDS = ("swapped-lures", "wrong-lure", "no-lure", "scented-body")
USUAL_LURE_DAYS = {"AM": 42, "GPTB": 30, "OBLR": 30}
LINER_DAYS, STICKY_DAYS, KILL_STRIP_DAYS = 30, 28, 120
FULL_AT: dict[str, float] = {"CM": 30, "AM": float("inf")}
LOWER_F = {"CM": Fraction(50), "OFM": Fraction(45), "OBLR": Fraction(43), "AM": Fraction(43)}
"""Lower threshold of each species' development. [°F]"""
NO_LINER, STICKY = ("bucket",), ("tent", "sphere", "panel")


def table(folder: Path, name: str) -> pd.DataFrame:
    """A set-up file as text, blanks as empty texts."""
    return pd.read_csv(folder / f"{name}.csv", dtype=str, keep_default_na=False)


def when(text: str) -> date | None:
    """A day of a set-up file."""
    return date.fromisoformat(text) if text else None


@dataclass
class Setup:
    """The set-up files of a folder."""

    folder: Path

    @cached_property
    def traps(self) -> list[Row]:
        frame = table(self.folder, "traps")
        for column in ("body_label", "lot", "style", "edge"):
            frame[column] = frame.get(column, "")
        rows = [
            Row(
                **{
                    **row,
                    "hung_on": when(row["hung_on"]),
                    "down_on": when(row["down_on"]),
                    "edge": row["edge"] == "yes",
                }
            )
            for row in frame.to_dict("records")
        ]
        rows.sort(key=lambda row: (row.trap, row.hung_on or date.min))
        for row, later in pairwise(rows):
            if row.trap == later.trap and later.hung_on and (row.down_on is None or row.down_on > later.hung_on):
                row.down_on = later.hung_on
        return rows

    @cached_property
    def hung_days(self) -> dict[str, list[date | None]]:
        """Days on which each trap was hung."""
        return {trap: [row.hung_on for row in self.traps if row.trap == trap] for trap in {r.trap for r in self.traps}}

    @cached_property
    def blocks(self) -> dict[str, Row]:
        return {
            row["block"]: Row(
                farm=row["farm"],
                disrupted=row["disrupted"] == "yes",
                area=Fraction(row["area_ha"]) if row.get("area_ha") else None,
                markets=[one.strip() for one in row.get("markets", "").replace(",", ";").split(";") if one.strip()],
            )
            for row in table(self.folder, "blocks").to_dict("records")
        }

    @cached_property
    def lots(self) -> dict[str, Row]:
        return {
            row["lot"]: Row(
                species=row["species"],
                load=Fraction(row["load_mg"]) if row["load_mg"] else None,
                life=int(row["life_days"]) if row["life_days"] else None,
                kind=row.get("kind", ""),
            )
            for row in table(self.folder, "lures").to_dict("records")
        }

    @cached_property
    def stops(self) -> list[Row]:
        return [
            Row(route=r["route"], position=int(r["position"]), trap=r["trap"])
            for r in table(self.folder, "routes").to_dict("records")
        ]

    @cached_property
    def office(self) -> dict[str, Any]:
        path = self.folder / "thresholds.toml"
        return tomllib.loads(path.read_text("utf-8"), parse_float=Decimal) if path.exists() else {}

    @cached_property
    def warmth(self) -> dict[date, Fraction]:
        """Mean temperature of each day; folders judged by degree-days have one station, in °F."""
        path = self.folder / "weather.csv"
        rows = table(self.folder, "weather").to_dict("records") if path.exists() else []
        return {date.fromisoformat(r["date"]): Fraction(Fraction(r["tmin"]) + Fraction(r["tmax"]), 2) for r in rows}

    @cached_property
    def rules(self) -> list[dict[str, Any]]:
        written = [{**rule, "office": True} for rule in self.office.get("rule", [])]
        for rule in written:
            # One number is the range from itself to itself.
            rule.update({end: rule[other] for end, other in (("low", "high"), ("high", "low")) if other in rule} | rule)
        return written + rules_of.SHIPPED

    def season_start(self, on: date) -> date:
        """The newest start of a season that is not after a day."""
        month_and_day = self.office.get("season", {}).get("starts_on", "01-01")
        return max(
            day for year in (on.year - 1, on.year) if (day := date.fromisoformat(f"{year}-{month_and_day}")) <= on
        )


class Recount:
    """A summary of one day, counted again.

    Args:
        setup: The set-up files.
        visits: Present entries about traps, with the columns of a tally and ``id``, ``scout``, ``recorded_at``.
        stages: Present stages: block, seen_on, code, in the order recorded.
        on: The day.
        biofixes: Block, species, season and day of each first generation.
        treated: Block, species and day of each treatment.
    """

    def __init__(
        self,
        setup: Setup,
        visits: pd.DataFrame,
        stages: pd.DataFrame,
        on: date,
        *,
        biofixes: Sequence[tuple[str, str, int, date]] = (),
        treated: Sequence[tuple[str, str, date]] = (),
    ) -> None:
        self.setup, self.on = setup, on
        self.biofixes, self.treated = biofixes, treated
        self.season = setup.season_start(on)
        self.stages = stages[(stages.seen_on >= self.season) & (stages.seen_on <= on)]
        self.visits = visits[visits.read_on <= on]
        every = [Row(**row) for row in visits.to_dict("records")]
        self.entries = [row for row in every if row.read_on <= on]
        self.diary = Diary(setup, every, on)  # type: ignore[arg-type]
        self.of_trap: dict[str, list[Row]] = {}
        for entry in self.entries:
            self.of_trap.setdefault(entry.trap, []).append(entry)
        self.day_before: dict[str, date] = {}
        self.liner_since: dict[str, date] = {}
        self.heaps = [self._heaps(row) for row in setup.traps]

    def _mine(self, row: Row) -> list[Row]:
        """Entries of one hanging; on the day of a move they belong to the place before."""
        earlier = [
            one
            for one in self.setup.traps
            if one.trap == row.trap and (one.hung_on or date.min) < (row.hung_on or date.min)
        ]
        return [
            entry
            for entry in self.of_trap.get(row.trap, ())
            if hangs(row, entry.read_on) and not any(hangs(one, entry.read_on) for one in earlier)
        ]

    def _heaps(self, row: Row) -> list[naive.Heap]:
        bad = self._bad_nights(row)
        return naive.heaps(row, self._mine(row), self.on, bad)  # type: ignore[arg-type]

    def _bad_nights(self, row: Row) -> list[date]:
        first, last = row.hung_on or self.on, min(row.down_on or self.on, self.on)
        nights = (first + DAY * number for number in range(1, (last - first).days + 1))
        return [
            night for night in nights if row.trap in self._suspect and self.diary.suspect(row.trap, night - DAY, night)
        ]

    @cached_property
    def _suspect(self) -> set[str]:
        return {trap for _, page in self.diary.pages for trap, state in page.items() if state.suspect}

    @property
    def window(self) -> tuple[date, date]:
        return self.on - 6 * DAY, self.on

    def _in_window(self, heap: naive.Heap) -> bool:
        return self.window[0] <= heap.read_on <= self.window[1]

    def summary(self, route: str = "") -> dict[str, Any]:
        """The summary, with the contract's keys and exact fractions; of a route its own blocks alone."""
        blocks = self.of_route(route) if route else set(self.setup.blocks)
        series = pd.DataFrame(
            {
                "block": row.block,
                "species": row.species,
                "trap": row.trap,
                "row": row,
                "heaps": heaps,
                "hung": hung_in(row, self.window),
            }
            for row, heaps in zip(self.setup.traps, self.heaps, strict=True)
        )
        series["read"] = [any(map(self._in_window, heaps)) for heaps in series.heaps]
        hung = series[series.hung]
        unread = hung[~hung.groupby("trap").read.transform("any")].groupby("trap").tail(1)
        unread, hung = unread[unread.block.isin(blocks)], hung[hung.block.isin(blocks)]
        return {
            "on": self.on,
            "blocks": [
                self._block(block, species, group)
                for (block, species), group in series.groupby(["block", "species"])
                if group.hung.any() and block in blocks
            ],
            "integrity": [one for one in self._integrity() if one["block"] in blocks],
            "upkeep": [due for row in hung.row if row is self.diary.hanging(row.trap) for due in self._upkeep(row)],
            "not_read": [
                {"trap": row.trap, "block": row.block, "reason": self._reason(row.block, row.trap)}
                for row in unread.row
            ],
            "long_readings": [
                {"trap": row.trap, "read_on": heap.read_on, "count": heap.count, "days": len(heap.nights)}
                for row, heaps in zip(hung.row, hung.heaps, strict=True)
                for heap in heaps
                if self._in_window(heap) and heap.nights and len(heap.nights) > 28 and not heap.conflict
            ],
            "conflicts": [
                {"trap": row.trap, "read_on": heap.read_on, "entries": self._counts_of(row, heap.read_on)}
                for row, heaps in zip(self.setup.traps, self.heaps, strict=True)
                for heap in heaps
                if heap.conflict and heap.read_on >= self.season and row.block in blocks
            ],
        }

    def _block(self, block: str, species: str, group: pd.DataFrame) -> dict[str, Any]:
        every = {
            f"{row.hung_on or date.min} {row.trap}": heaps for row, heaps in zip(group.row, group.heaps, strict=True)
        }
        edge = {key for key, row in zip(every, group.row, strict=True) if row.edge}
        hung = group[group.hung]
        known = self.setup.blocks[block]
        found = self._found(group, hung, known.area)
        best, assumed = rules_of.fitting(
            self.setup.rules, species, self.on, known.disrupted, found, markets=known.markets
        )
        past = self._past(block, species)
        rule = best[0] if len(best) == 1 else None
        judged = every if rule and rule.get("edge") else {key: heaps for key, heaps in every.items() if key not in edge}
        mean, highest, counted, ended = naive.block(judged, self.on)
        earlier = [h.read_on for heaps in every.values() for h in heaps if h.read_on < (ended or self.window[0])]
        total = naive.cumulative(judged, self.season, self.on)
        status, value = (
            rules_of.judge(rule, judged, every, self.on, past) if counted and rule else ("cannot-tell", None)
        )
        if not best:
            status = "no-rule"
        if not hung.read.any():
            status, value = "not-read", None
        weak = known.disrupted and mean is not None
        if status == "no-rule":
            weak = weak and self._low_by_the_usual_rule(species, every, edge, mean, past)
        else:
            weak = weak and status == "below"
        seen = self.stages[self.stages.block == block]
        if earlier:
            self.day_before[f"{block} {species}"] = max(earlier)
        return {
            "farm": known.farm,
            "block": block,
            "species": species,
            "hung": hung.trap.nunique(),
            "read": hung[hung.read].trap.nunique(),
            "counted": counted,
            "mean_per_week": mean,
            "max_per_week": highest,
            "mean_with_suspect": naive.block(judged, self.on, suspect=True)[0],
            "edge_mean": naive.block({key: every[key] for key in edge}, self.on)[0],
            "previous_per_week": naive.block(judged, max(earlier))[0] if earlier else None,
            "cumulative": total,
            "band": [Fraction(str(rule[end])) for end in ("low", "high")] if rule and "low" in rule else None,
            "status": status,
            "thin": counted < 3,
            "rule": {
                "id": rule["id"],
                "kind": rule["kind"],
                "value": value,
                "source": rule.get("source"),
                "date": rule.get("date"),
            }
            if rule
            else None,
            "weak_evidence": weak,
            "stage": None if seen.empty else seen.sort_values("seen_on", kind="stable").code.iloc[-1],
            "rules": [one["id"] for one in best] if len(best) > 1 else [],
            "assumed": assumed,
        }

    def _found(
        self, group: pd.DataFrame, hung: pd.DataFrame, area: Fraction | None
    ) -> dict[bool, list[dict[str, Any]]]:
        """What is known of the traps behind a figure, one line for each lure that hung in one on a night of it."""
        known: dict[bool, list[dict[str, Any]]] = {}
        for with_edge in (False, True):
            mine = [
                (row, heaps) for row, heaps in zip(group.row, group.heaps, strict=True) if with_edge or not row.edge
            ]
            used = {
                row.trap: (row, [night for heap in figure[1] for night in heap.nights or ()])
                for row, heaps in mine
                if (figure := naive.figure(heaps, self.on, suspect=False))
            }
            if used:
                lots = [(row, lot) for row, nights in used.values() for lot in self._lots_on(row, nights)]
            else:
                lots = [(row, self._lot(row)) for row in hung.row if with_edge or not row.edge]
            known[with_edge] = [
                {
                    "load": lot.load if lot else None,
                    "kind": (lot.kind or None) if lot else None,
                    "style": row.style or None,
                }
                for row, lot in lots
            ]
            # Known of the block, also where no trap is in its figure.
            known[with_edge].append({"ha_per_trap": area / hung.trap.nunique() if area is not None else None})
        return known

    def _lots_on(self, row: Row, nights: Sequence[date]) -> list[Row | None]:
        """Lots of the lures that hung in a trap on some nights; what is done on a visit acts after its count."""
        stretches = [(row.hung_on or date.min, row.lot)]
        for entry in self.of_trap.get(row.trap, ()):
            if not self._acts_on(row, entry):
                continue
            if entry.lure_found:
                stretches[-1] = (stretches[-1][0], entry.lure_found)
            if entry.lure == "yes":
                own = [lot for _, lot in stretches if lot in self.setup.lots]
                own = [lot for lot in own if self.setup.lots[lot].species == row.species]
                stretches.append((entry.read_on, own[-1] if own else ""))
            elif entry.lure:
                stretches.append((entry.read_on, entry.lure))
        inside = [[lot for since, lot in stretches if since < night][-1] for night in nights]
        return [self.setup.lots.get(lot) for lot in dict.fromkeys(inside)]

    def _low_by_the_usual_rule(
        self, species: str, every: dict[str, list[naive.Heap]], edge: set[str], mean: Fraction, past: rules_of.Past
    ) -> bool:
        """Whether the rule of undisrupted blocks would call the block below, by its own figure."""
        usual = rules_of.undisrupted(self.setup.rules, species, self.on)
        if usual is None:
            return mean == 0
        judged = every if usual.get("edge") else {key: heaps for key, heaps in every.items() if key not in edge}
        if not naive.block(judged, self.on)[2]:
            return False
        return rules_of.judge(usual, judged, every, self.on, past)[0] == "below"

    def _past(self, block: str, species: str) -> rules_of.Past:
        mine = [day for b, s, year, day in self.biofixes if (b, s, year) == (block, species, self.season.year)]
        lower = LOWER_F.get(species, Fraction(50))
        return rules_of.Past(
            self.season,
            next((day for day in mine if day <= self.on), None),
            sorted(day for b, s, day in self.treated if (b, s) == (block, species) and self.season <= day <= self.on),
            lambda day: self.setup.warmth.get(day, Fraction()) - lower,
            [
                (one.seen_on, one.code)
                for one in self.stages[self.stages.block == block].sort_values("seen_on", kind="stable").itertuples()
            ],
        )

    def of_route(self, route: str) -> set[str]:
        """Blocks in which a trap of a route hangs, or ever hung."""
        walked = {stop.trap for stop in self.setup.stops if stop.route == route}
        return {row.block for row in self.setup.traps if row.trap in walked}

    def attention(self, summary: dict[str, Any]) -> set[tuple[str, str, str, str]]:
        """What of a summary somebody has to act on or to know: kind, block, species, trap."""
        found = set()
        for row in summary["blocks"]:
            place = (row["block"], row["species"], "")
            if row["status"] in ("over", "within", "cannot-tell"):
                found.add((row["status"], *place))
            if 0 < row["counted"] < 3 <= row["hung"]:
                found.add(("few-traps", *place))
        return found | {("suspect", one["block"], one["species"], one["trap"]) for one in summary["integrity"]}

    def _integrity(self) -> list[dict[str, Any]]:
        found = []
        for trap, trouble in self.diary.troubles().items():
            row = self.diary.hanging(trap)
            place = {
                "farm": self.setup.blocks[row.block].farm,
                "block": row.block,
                "trap": trap,
                "species": row.species,
            }
            found.append(
                {
                    "kind": trouble.kind,
                    **place,
                    "found": trouble.found,
                    "since": trouble.since,
                    "partner": trouble.partner,
                }
            )
        return sorted(found, key=lambda one: (KINDS.index(one["kind"]), natural(one["trap"])))

    def _reason(self, block: str, trap: str) -> str | None:
        places = [row for row in self.setup.traps if (row.trap, row.block) == (trap, block)]
        reasons = [
            entry.no_reading
            for entry in self.of_trap.get(trap, ())
            if self.window[0] <= entry.read_on and entry.no_reading and any(hangs(row, entry.read_on) for row in places)
        ]
        return reasons[-1] if reasons else None

    def _counts_of(self, row: Row, day: date) -> list[str]:
        return [e.id for e in self._mine(row) if e.read_on == day and e.count is not None and not e.recount]

    def _newest(self, row: Row, *items: str) -> Row | None:
        done = [
            e
            for e in self.of_trap.get(row.trap, ())
            if self._acts_on(row, e) and any(getattr(e, item) for item in items)
        ]
        return done[-1] if done else None

    def _acts_on(self, row: Row, entry: Row) -> bool:
        """What is done on the day of a move is done to the trap in its new place."""
        moved = entry.read_on in self.setup.hung_days[row.trap] and entry.read_on > (row.hung_on or date.min)
        return hangs(row, entry.read_on) and not moved

    def _lot(self, row: Row) -> Row | None:
        """Lot of the lure in a trap; a lure entered without one is of the lot of its species last used there."""
        newest = self._newest(row, "lure")
        if newest is None:
            return self.setup.lots.get(row.lot)
        mine = [e.lure for e in self.of_trap.get(row.trap, ()) if self._acts_on(row, e)]
        used = [lot for lot in (row.lot, *mine) if lot in self.setup.lots]
        if newest.lure not in self.setup.lots:
            used = [lot for lot in used if self.setup.lots[lot].species == row.species]
        return self.setup.lots[used[-1]] if used else None

    def _upkeep(self, row: Row) -> Sequence[dict[str, Any]]:
        found = []
        lure, lot = self._newest(row, "lure"), self._lot(row)
        since = lure.read_on if lure else row.hung_on
        if not (lure and lure.lure == "none") and since and not (lot and lot.kind.lower() == "unbaited"):
            life = lot.life if lot and lot.life else USUAL_LURE_DAYS.get(row.species, 28)
            found.append(("lure", "age", (self.on - since).days - life, None))
        liner = self._newest(row, "liner", "body")
        since = liner.read_on if liner else row.hung_on
        if (row.style not in NO_LINER or self._newest(row, "liner")) and since:
            caught, filled = 0, None
            self.liner_since[row.trap] = since
            for heap in self.heaps[self.setup.traps.index(row)]:
                if heap.read_on > since:
                    caught += heap.net or 0
                    full = row.style not in STICKY and caught >= FULL_AT.get(row.species, 50)
                    filled = filled or (heap.read_on if full else None)
            old = since + (STICKY_DAYS if row.style in STICKY else LINER_DAYS) * DAY
            due, why = (filled, "catch") if filled and filled <= old else (old, "age")
            found.append(("liner", why, (self.on - due).days, caught))
        strip = self._newest(row, "kill_strip")
        since = strip.read_on if strip else row.hung_on
        if (strip or row.style == "bucket") and since:
            found.append(("kill-strip", "age", (self.on - since).days - KILL_STRIP_DAYS, None))
        return [
            {"trap": row.trap, "item": item, "why": why, "days_overdue": days, "catch": caught}
            for item, why, days, caught in found
            if days >= -7
        ]


def hangs(row: Row, day: date) -> bool:
    """Whether a hanging holds on a day."""
    return (row.hung_on or date.min) <= day <= (row.down_on or date.max)


def hung_in(row: Row, window: tuple[date, date]) -> bool:
    """Whether it hung a night that ends in a window."""
    first_night = row.hung_on + DAY if row.hung_on else date.min
    return max(first_night, window[0]) <= min(row.down_on or date.max, window[1])
