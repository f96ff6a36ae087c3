"""Every number of the sample farm's summaries, counted again from the entries by plain SQL and pandas, and equal."""

from __future__ import annotations

import re
import sqlite3
from collections import Counter
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from click.testing import CliRunner

from roundtui.cli import main
from roundtui.domain.entries import Recorded, Sample, SampleKind, Specimen
from roundtui.domain.figures.summary import summarise
from roundtui.domain.round.recounts import CheckResult, TrapChecked
from roundtui.report.figures.summary import summary_json
from roundtui.report.round.recounts import quality_json
from roundtui.store.figures.history import history
from roundtui.store.folder import open_folder
from roundtui.store.office import read_office
from roundtui.store.record.journal import Author, record
from roundtui.store.record.read import programme
from roundtui.store.round.recounts import read_quality
from tests.conftest import ready_demo

from .recount import Recount, Setup
from .recount_beside import Quality, infested_days, rows

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
def every(conn: sqlite3.Connection) -> tuple[pd.DataFrame, pd.DataFrame]:
    return entries(conn, "visits", "read_on"), entries(conn, "stages", "seen_on")


@pytest.mark.parametrize("day", DAYS)
def test_every_number_of_the_sample_is_the_same_when_counted_again(
    day: str, conn: sqlite3.Connection, every: tuple[pd.DataFrame, pd.DataFrame], sample_folder: Path
) -> None:
    count_again(day, conn, every, sample_folder)


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


PEOPLE = {
    "Juno Hazelrigg": {"may_identify": "CM; OFM", "trained_on": "2022-03-01", "valid_until": "2023-06-30"},
    "Perrin Alderquist": {"may_identify": "all", "trained_on": "2023-05-09", "valid_until": ""},
    "Orla Finchwick": {"may_identify": "OBLR", "trained_on": "", "valid_until": ""},
}


def uses_all_of_it(folder: Path) -> None:
    """Put on record in 2023 what the sample lacks: people, checks, planted and identified specimens, mites, females."""
    rows = [f"{name},{','.join(row.values())}" for name, row in PEOPLE.items()]
    (folder / "people.csv").write_text("\n".join(["person,may_identify,trained_on,valid_until", *rows, ""]), "utf-8")
    (folder / "plan.toml").write_text(RHYTHM, encoding="utf-8")
    now, author = datetime(2023, 8, 1, 12, tzinfo=UTC), Author("Isolde Quarrington", "desk")
    with closing(open_folder(folder, now=now).conn) as conn:
        found = [*CheckResult]
        of_trap = "SELECT DISTINCT trap FROM visits WHERE read_on BETWEEN '2023-04-01' AND '2023-08-01' ORDER BY trap"
        traps = [trap for (trap,) in conn.execute(of_trap)]
        entries: list[Recorded] = []
        for at, trap in enumerate(traps):
            day, result = date(2023, 5, 1) + timedelta(days=3 * at), found[at % len(found)]
            planted = (4 + at, at % 5) if result is CheckResult.PLANTED else (None, None)
            entries.append(
                TrapChecked(trap=trap, checked_on=day, result=result, planted=planted[0], recovered=planted[1])
            )
            by = [*PEOPLE, "a stranger"][at % 4]
            entries.append(
                Specimen(trap=trap, read_on=day, what="sawfly", number=1, identified_by=by, identified_on=day)
            )
        for at, block in enumerate(("KILN", "LANE", "KILN", "LANE", "KILN")):
            mites = {"looked_at": "leaf", "looked": 50 + at, "found": 4 * at, "counted": None if at == 3 else 7 * at}
            day = date(2023, 6, 2) + timedelta(days=5 * at)
            entries.append(Sample(block=block, sampled_on=day, kind=SampleKind.LEAF, pest="ERM", **mites))
        record(conn, entries, author, now)


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample farm with a season that uses all of it."""
    folder = ready_demo(tmp_path_factory.mktemp("full") / "farm").folder
    uses_all_of_it(folder)
    return folder


def test_a_season_that_uses_all_of_it_is_counted_alike_twice(full: Path) -> None:
    """Visits on time and the catch a trap a day, trap by trap and day by day; checks by what was found, planted and
    identified specimens, training, leaf-infested days and mite-days, from the tables."""
    on = date(2023, 8, 1)
    with closing(sqlite3.connect(f"file:{full / 'roundtui.db'}?mode=ro", uri=True)) as conn:
        said = quality_json(read_quality(conn, full, read_office(full), on))
        again = Recount(Setup(full), entries(conn, "visits", "read_on"), entries(conn, "stages", "seen_on"), on)
        shares = Quality(again, conn, PEOPLE).shares()
        bad = "SELECT result FROM present_checks WHERE result NOT IN ('passed', 'planted') AND checked_on <= ?"
        failed = Counter(row["result"] for row in rows(conn, bad, on.isoformat()))
        mites = infested_days(conn, "ERM", "leaf", again.season, on)
    shares["visits on time"], caught = visits_on_time(again)

    told = {
        what: {by: {key: (one["good"], one["of"]) for key, one in of.items()} for by, of in groups.items()}
        for what, groups in said["shares"].items()
    }
    assert told.keys() == shares.keys()
    assert {what: of for what, of in told.items() if of != shares[what]} == {}
    assert said["failures"] == failed
    assert {key: (one["moths"], one["trap_days"]) for key, one in said["caught"].items()} == caught
    listed = CliRunner().invoke(main, ["samples", str(full), "--on", "2023-08-01"]).output
    days = r"(KILN|LANE) [^:]*European red mite, [^:]*: ([0-9.]+) leaf-infested days(?:, ([0-9.]+) mite-days)?"
    found = re.findall(days, " ".join(listed.split()))
    assert {block: (float(leaves), mites and float(mites)) for block, leaves, mites in found} == {
        block: (round(float(leaves), 1), "" if days is None else round(float(days), 1))
        for block, (leaves, days) in mites.items()
    }


def visits_on_time(again: Recount) -> tuple[dict[str, dict[str, tuple[int, int]]], dict[str, tuple[int, int]]]:
    """Who had to come by when, and who did, going through each day of the season; and the catch of each species."""
    told = Counter[tuple[str, str, bool]]()
    moths, nights = Counter[str](), Counter[str]()
    on = again.on
    for row, heaps in zip(again.setup.traps, again.heaps, strict=True):
        good = [h for h in heaps if h.usable and not h.suspect and h.read_on >= again.season]
        moths[row.species] += sum(h.net or 0 for h in good)
        nights[row.species] += sum(len(h.nights or ()) for h in good)
        came = {
            visit.read_on: visit.scout
            for visit in reversed(again._mine(row))
            if not visit.recount and (visit.count is not None or visit.no_reading in ("missing", "down", "damaged"))
        }
        routes = [("route", stop.route) for stop in again.setup.stops if stop.trap == row.trap]
        end, last = min(on, row.down_on or on), row.hung_on
        while last is not None and last < end:
            often = row.species == "OFM" and last.month in (5, 6)
            ahead = [last + timedelta(days=number) for number in range(1, 8)]
            due = next(day for day in ahead if (day.weekday() in (0, 3) if often else day == ahead[-1]))
            seen = min((day for day in came if last < day <= end), default=None)
            if due >= again.season and (seen or due < end):
                monday = (due - timedelta(days=due.weekday())).isoformat()
                who = came[seen] if seen else "nobody yet"
                for by in (("all", "all"), ("week", monday), ("person", who), *routes):
                    told[*by, seen is not None and seen <= due] += 1
            last = seen
    shares: dict[str, dict[str, tuple[int, int]]] = {}
    for by, key, _ in told:
        shares.setdefault(by, {})[key] = (told[by, key, True], told[by, key, True] + told[by, key, False])
    return shares, {species: (moths[species], number) for species, number in nights.items() if number}


def count_again(
    day: str, conn: sqlite3.Connection, every: tuple[pd.DataFrame, pd.DataFrame], sample_folder: Path
) -> None:
    """Hold every number of a day's summary against a second count."""
    on = date.fromisoformat(day)
    setup, office = programme(conn), read_office(sample_folder)
    said = summary_json(summarise(setup, history(conn, setup, on, office), office, on))

    again = Recount(Setup(sample_folder), *every, on)
    product, judge = figures(said), figures(sanitize(again.summary()))

    assert {key: product.get(key) for key in judge if product.get(key) != judge[key]} == {
        key: judge[key] for key in judge if product.get(key) != judge[key]
    }
    assert product.keys() == judge.keys()
