"""Degree-days after a treatment, for the rules that count by them; no temperature is read where no rule does.

Biofixes that stand on record.
The summary of a day from the record, with everything it depends on: rules, confirmed biofixes, the season's sums.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.figures.blocks import DaysToGather
from roundtui.domain.figures.history import Beside, History, season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import summarise
from roundtui.domain.figures.threshold import Treatment
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.farm import Programme
from roundtui.domain.season_entries import BiofixSettled
from roundtui.store.beside import lots_short, read_beside
from roundtui.store.failures import plainly
from roundtui.store.read import history, programme_for
from roundtui.store.rows import BIOFIXES

if TYPE_CHECKING:
    from roundtui.store.season.season import SeasonRecord


def days_to_gather_for(
    conn: sqlite3.Connection, office: Office, on: date, treatments: Sequence[Treatment]
) -> DaysToGather | None:
    """By which day so many degree-days were gathered after a treatment, where a rule asks for it.

    Args:
        conn: The store, which lies in its scouting folder.
        office: Rules, and when the season starts.
        on: The day.
        treatments: What was treated.

    Returns:
        None where no rule of a treated species counts in degree-days.
    """
    asked = {rule.species for rule in office.rules if rule.after_treatment and rule.degree_days is not None}
    if not any(one.species in asked for one in treatments):
        return None
    return _Season(conn, office, on).days_to_gather


class _Season:
    """The season, read when a block asks for its degree-days first."""

    def __init__(self, conn: sqlite3.Connection, office: Office, on: date) -> None:
        self._conn = conn
        self._office = office
        self._on = on

    @cached_property
    def _record(self) -> SeasonRecord:
        from roundtui.store.season.season import SeasonRecord

        (file,) = (row[2] for row in self._conn.execute("PRAGMA database_list") if row[1] == "main")
        return SeasonRecord(self._conn, Path(file).parent, self._on, self._office)

    def days_to_gather(self, block: str, species: str, day: date, amount: Fraction) -> date | None:
        """See ``SeasonRecord.days_to_gather``."""
        return self._record.days_to_gather(block, species, day, amount)


Key = tuple[str, str]
"""Block and species."""


def confirmed_biofixes(conn: sqlite3.Connection, on: date, office: Office) -> dict[Key, date]:
    """Confirmed biofix of the season's first generation, by block and species, as ``summarise`` takes it.

    Args:
        conn: The store.
        on: The day.
        office: For the start of the season.

    Raises:
        StoreError: The store cannot be read.
    """
    season = season_start(on, office.season_starts_on).year
    return {key: found[1][0].day for key, found in settled_biofixes(conn, season, on).items() if 1 in found}


def settled_biofixes(
    conn: sqlite3.Connection, season: int, on: date
) -> dict[Key, dict[int, tuple[BiofixSettled, ...]]]:
    """What was settled for a season.

    Args:
        conn: The store.
        season: Year in which it started.
        on: The day; biofixes after it are left out.

    Returns:
        By block and species and by generation, what was recorded last first.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        rows = conn.execute(
            f"SELECT {BIOFIXES.listed} FROM present_biofixes WHERE season = ? AND day <= ?"  # noqa: S608
            " ORDER BY recorded_at DESC, id DESC",
            (season, on.isoformat()),
        ).fetchall()
    found: dict[Key, dict[int, tuple[BiofixSettled, ...]]] = {}
    for row in rows:
        entry: BiofixSettled = BIOFIXES.entry(row)
        of_key = found.setdefault((entry.block, entry.species), {})
        of_key[entry.generation] = (*of_key.get(entry.generation, ()), entry)
    return found


@dataclass(frozen=True, slots=True)
class DaySummary:
    """A summary with what it was made from."""

    summary: Summary
    """The summary."""
    programme: Programme
    """What is set up, as far as it can matter."""
    history: History
    """The record up to the day."""
    beside: Beside
    """What stands beside the counts of the season."""


def summary_of(
    conn: sqlite3.Connection,
    office: Office,
    on: date,
    *,
    route: str | None = None,
    programme: Programme | None = None,
) -> DaySummary:
    """The summary of the seven days that end on a day.

    Args:
        conn: The store.
        office: Rules, and when the season starts.
        on: The day.
        route: Only the blocks of this route.
        programme: What is set up, where it was read before.

    Raises:
        ThresholdTieError: Two rules fit a block equally well.
        StoreError: The store cannot be read.
    """
    known = programme if programme is not None else programme_for(conn, on, office)
    record = history(conn, known, on, office)
    biofix = confirmed_biofixes(conn, on, office)
    beside = read_beside(conn, season_start(on, office.season_starts_on), on)
    lots = lots_short(conn, known, record, on, office)
    against = beside.against()
    made = summarise(
        known,
        record,
        office,
        on,
        route=route,
        biofix=biofix,
        treatments=against,
        days_to_gather=days_to_gather_for(conn, office, on, against),
    )
    return DaySummary(made, known, record, replace(beside, lots=lots))
