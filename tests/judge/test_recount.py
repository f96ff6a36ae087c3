"""Every number of the sample farm's summaries, counted again from the entries by plain SQL and pandas, and equal."""

from __future__ import annotations

import sqlite3
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from roundtui.domain.figures.summary import summarise
from roundtui.report.figures.summary import summary_json
from roundtui.store.figures.history import history
from roundtui.store.office import read_office
from roundtui.store.record.read import programme

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
