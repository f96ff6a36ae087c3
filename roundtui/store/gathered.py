"""Degree-days after a treatment, for the rules that count by them; no temperature is read where no rule does."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.blocks import DaysToGather
from roundtui.domain.rules import Office
from roundtui.domain.threshold import Treatment

if TYPE_CHECKING:
    from roundtui.store.season import SeasonRecord


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
        from roundtui.store.season import SeasonRecord

        (file,) = (row[2] for row in self._conn.execute("PRAGMA database_list") if row[1] == "main")
        return SeasonRecord(self._conn, Path(file).parent, self._on, self._office)

    def days_to_gather(self, block: str, species: str, day: date, amount: Fraction) -> date | None:
        """See ``SeasonRecord.days_to_gather``."""
        return self._record.days_to_gather(block, species, day, amount)
