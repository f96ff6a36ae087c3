"""The summary of a day from the record, with everything it depends on: rules, confirmed biofixes, the season's sums."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, replace
from datetime import date

from roundtui.domain.beside import Beside
from roundtui.domain.farm import Programme
from roundtui.domain.history import History, season_start
from roundtui.domain.rules import Office
from roundtui.domain.summary import summarise
from roundtui.domain.verdicts import Summary
from roundtui.store.beside import lots_short, read_beside
from roundtui.store.gathered import days_to_gather_for
from roundtui.store.read import history, programme_for
from roundtui.store.season_biofixes import confirmed_biofixes


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
