"""Every number of the sample farm's summaries, counted again from the entries by plain SQL and pandas, and equal."""

from __future__ import annotations

import sqlite3
from collections import Counter
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from roundtui.domain.figures.summary import summarise
from roundtui.report.figures.summary import summary_json
from roundtui.report.round.recounts import quality_json
from roundtui.store.figures.history import history
from roundtui.store.office import read_office
from roundtui.store.record.read import programme
from roundtui.store.round.recounts import read_quality

from .recount import Recount, Setup

DAYS = ["2025-07-15", "2025-07-02", "2025-06-17", "2024-07-16", "2024-12-20", "2023-04-12", "2023-10-01"]
"""Days that are counted again here; ``tests.long.recount`` takes every day of every season."""
ENTRIES = """
SELECT * FROM {table}
WHERE id NOT IN (SELECT replaces FROM {table} WHERE replaces IS NOT NULL)
  AND id NOT IN (SELECT entry FROM withdrawals)
ORDER BY {day}, recorded_at, id
"""


def entries(conn: sqlite3.Connection, table: str, day: str) -> pd.DataFrame:
    """The entries that stand, as a table of plain values."""
    frame = pd.read_sql_query(ENTRIES.format(table=table, day=day), conn)
    frame[day] = [date.fromisoformat(text) for text in frame[day]]
    frame = frame.astype(object).where(frame.notna(), None)
    if "count" in frame:
        frame["count"] = pd.Series([None if one is None else int(one) for one in frame["count"]], dtype=object)
    return frame


def sanitize(value: Any) -> Any:
    """Fractions as floats and days as texts, as JSON has them."""
    if isinstance(value, dict):
        return {key: sanitize(one) for key, one in value.items()}
    if isinstance(value, list):
        return [sanitize(one) for one in value]
    if isinstance(value, Fraction):
        return float(value)
    return value.isoformat() if isinstance(value, date) else value


SURE = ("level_low", "level_high", "chance", "certainty")


def figures(said: dict[str, Any]) -> dict[str, Any]:
    """Each figure of a summary under its own name, in no order; a rule's words are left out, they are no numbers."""
    named: dict[str, Any] = {"on": said["on"]}
    for block in said["blocks"]:
        rule = block["rule"] and {key: block["rule"][key] for key in ("id", "kind", "value")}
        for key, value in (block | {"rule": rule}).items():
            # How sure it is and what is unlikely are judged by themselves, in test_certainty_property.
            if key in SURE:
                continue
            named[f"{block['block']} {block['species']} {key}"] = value
    for part in ("integrity", "upkeep", "not_read", "conflicts", "long_readings"):
        for row in said[part]:
            name = f"{part} {row['trap']} {row.get('item', '')}".strip()
            named[name] = sorted([*named.get(name, []), row], key=repr)
        named[f"{part} in all"] = len(said[part])
    return named


@pytest.fixture(scope="module")
def conn(sample_folder: Path) -> sqlite3.Connection:
    return sqlite3.connect(f"file:{sample_folder / 'roundtui.db'}?mode=ro", uri=True)


@pytest.fixture(scope="module")
def record(conn: sqlite3.Connection) -> tuple[pd.DataFrame, pd.DataFrame]:
    return entries(conn, "visits", "read_on"), entries(conn, "stages", "seen_on")


@pytest.mark.parametrize("day", DAYS)
def test_every_number_of_the_sample_is_the_same_when_counted_again(
    day: str, conn: sqlite3.Connection, record: tuple[pd.DataFrame, pd.DataFrame], sample_folder: Path
) -> None:
    count_again(day, conn, record, sample_folder)


RHYTHM = """
[[visits]]
every = "FREQ=WEEKLY"
source = "the test"

[[visits]]
every = "FREQ=WEEKLY;BYDAY=MO,TH"
species = "OFM"
months = [5, 6]
source = "the test"
"""


def test_visits_on_time_and_the_catch_a_trap_a_day_of_a_season_counted_again(
    conn: sqlite3.Connection, record: tuple[pd.DataFrame, pd.DataFrame], sample_folder: Path, tmp_path: Path
) -> None:
    """Each day of the season is gone through, trap by trap: who had to come by when, and who did."""
    on = date(2023, 8, 1)
    (tmp_path / "plan.toml").write_text(RHYTHM, encoding="utf-8")
    said = quality_json(read_quality(conn, tmp_path, read_office(sample_folder), on))

    again = Recount(Setup(sample_folder), *record, on)
    weeks, people = Counter[tuple[str, bool]](), Counter[tuple[str, bool]]()
    moths, nights = Counter[str](), Counter[str]()
    for row, heaps in zip(again.setup.traps, again.heaps, strict=True):
        good = [h for h in heaps if h.usable and not h.suspect and h.read_on >= again.season]
        moths[row.species] += sum(h.net or 0 for h in good)
        nights[row.species] += sum(len(h.nights or ()) for h in good)
        came = {
            visit.read_on: visit.scout
            for visit in reversed(again._mine(row))
            if not visit.recount and (visit.count is not None or visit.no_reading in ("missing", "down", "damaged"))
        }
        end, last = min(on, row.down_on or on), row.hung_on
        while last is not None and last < end:
            often = row.species == "OFM" and last.month in (5, 6)
            ahead = [last + timedelta(days=number) for number in range(1, 8)]
            due = next(day for day in ahead if (day.weekday() in (0, 3) if often else day == ahead[-1]))
            seen = min((day for day in came if last < day <= end), default=None)
            if due >= again.season and (seen or due < end):
                in_time = seen is not None and seen <= due
                weeks[(due - timedelta(days=due.weekday())).isoformat(), in_time] += 1
                people[came[seen] if seen else "nobody yet", in_time] += 1
            last = seen
    for by, counted in (("week", weeks), ("person", people)):
        told = {key: (one["good"], one["of"]) for key, one in said["shares"]["visits on time"][by].items()}
        keys = {key for key, _ in counted}
        assert told == {key: (counted[key, True], counted[key, True] + counted[key, False]) for key in keys}
    assert {key: (one["moths"], one["trap_days"]) for key, one in said["caught"].items()} == {
        species: (moths[species], number) for species, number in nights.items() if number
    }


def count_again(
    day: str, conn: sqlite3.Connection, record: tuple[pd.DataFrame, pd.DataFrame], sample_folder: Path
) -> None:
    """Hold every number of a day's summary against a second count."""
    on = date.fromisoformat(day)
    setup, office = programme(conn), read_office(sample_folder)
    said = summary_json(summarise(setup, history(conn, setup, on, office), office, on))

    again = Recount(Setup(sample_folder), *record, on)
    product, judge = figures(said), figures(sanitize(again.summary()))

    assert {key: product.get(key) for key in judge if product.get(key) != judge[key]} == {
        key: judge[key] for key in judge if product.get(key) != judge[key]
    }
    assert product.keys() == judge.keys()
