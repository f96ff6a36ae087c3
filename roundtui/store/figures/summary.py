"""The one way to a summary: what it is made from, read once, for command, app, past, preview and letters."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.figures.blocks import DaysToGather, Record
from roundtui.domain.figures.history import History, Observations, season_start
from roundtui.domain.figures.learned import LearnedBy, nothing_learned
from roundtui.domain.figures.rules import PERIODS, Office
from roundtui.domain.figures.summary import attention, summarise
from roundtui.domain.figures.threshold import Treatment
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.farm import Programme
from roundtui.domain.records import Frozen
from roundtui.store.failures import plainly
from roundtui.store.figures.history import history, uncollected
from roundtui.store.figures.learned import learned_by, untreated_of
from roundtui.store.record.observations import confirmed_biofixes, read_observations
from roundtui.store.record.read import programme_for

if TYPE_CHECKING:
    from roundtui.domain.inventory.stock import LotStock
    from roundtui.store.season.season import SeasonRecord


class DaySummary(Frozen):
    """A summary with what it was made from."""

    summary: Summary
    """The summary."""
    programme: Programme
    """What is set up, as far as it can matter."""
    history: History
    """The record up to the day."""
    observations: Observations
    """What stands beside the counts of the season."""
    office: Office
    """Rules, and when the season starts."""


@uncollected()
def summary_of(
    conn: sqlite3.Connection,
    office: Office,
    on: date,
    *,
    route: str | None = None,
    programme: Programme | None = None,
    record: History | None = None,
    how_sure: bool = True,
    whole: bool = True,
) -> DaySummary:
    """The summary of the seven days that end on a day.

    Args:
        conn: The store.
        office: Rules, and when the season starts.
        on: The day.
        route: Only the blocks of this route.
        programme: What is set up, where it was read before.
        record: The record up to the day, where it was read before.
        how_sure: Whether its rounds are learned from, for how sure a status is and which counts are unlikely.
        whole: Whether the record is wanted with notes and names of older visits, which no figure depends on.

    Raises:
        StoreError: The store cannot be read.
    """
    known, observations = day_record(conn, office, on, programme=programme, record=record, whole=whole)
    made = summarised(known, route, learned_by(conn, known.programme, office, on) if how_sure else nothing_learned)
    made = replace(made, attention=attention(made, known.programme, known.history, observations, office))
    lots = _lots_short(conn, known)
    return DaySummary(made, known.programme, known.history, replace(observations, lots=lots), office)


def summarised(known: Record, route: str | None = None, learned: LearnedBy = nothing_learned) -> Summary:
    """A summary made from all that its figures depend on, and from what rounds taught."""
    return summarise(
        known.programme,
        known.history,
        known.office,
        known.on,
        route=route,
        biofix=known.biofix,
        treatments=known.treatments,
        days_to_gather=known.days_to_gather,
        learned=learned,
    )


def day_record(
    conn: sqlite3.Connection,
    office: Office,
    on: date,
    *,
    programme: Programme | None = None,
    record: History | None = None,
    whole: bool = True,
    untreated: bool = True,
) -> tuple[Record, Observations]:
    """Everything that the figures of a day depend on, and what stands beside them.

    Args:
        conn: The store.
        office: Rules, and when the season starts.
        on: The day.
        programme: What is set up, where it was read before.
        record: The record up to the day, where it was read before.
        whole: Whether it is wanted with notes and names of older visits.
        untreated: Whether it is wanted what treated blocks are held against, which no figure depends on.

    Raises:
        StoreError: The store cannot be read.
    """
    known = programme if programme is not None else programme_for(conn, on, office)
    entries = record if record is not None else history(conn, known, on, office, whole=whole)
    observations = read_observations(conn, season_start(on, office.season_starts_on), on)
    against = observations.against()
    if against and untreated:
        observations = replace(
            observations, untreated=untreated_of(conn, known, office, on, {one.species for one in against})
        )
    gather = days_to_gather_for(conn, office, on, against)
    biofix = confirmed_biofixes(conn, on, office)
    return Record(known, entries, office, on, biofix, against, gather), observations


def _lots_short(conn: sqlite3.Connection, known: Record) -> tuple[LotStock, ...]:
    """Lots of lures that run out or expire; nothing, and at no cost, where stock was never put on record."""
    with plainly(conn):
        (kept,) = conn.execute("SELECT EXISTS (SELECT 1 FROM stocks)").fetchone()
    if not kept:
        return ()
    # Loaded only where somebody keeps the store.
    from roundtui.store.inventory import lots_to_watch

    return lots_to_watch(conn, known.programme, known.history, known.on, known.office)


def days_to_gather_for(
    conn: sqlite3.Connection, office: Office, on: date, treatments: Sequence[Treatment]
) -> DaysToGather | None:
    """By which day so many degree-days were accumulated after a treatment, where a rule asks for it.

    Args:
        conn: The store, which lies in its scouting folder.
        office: Rules, and when the season starts.
        on: The day.
        treatments: What was treated.

    Returns:
        None where no rule of a treated species counts in degree-days, and none adds up in periods of them.
    """
    asked = {rule.species for rule in office.rules if rule.after_treatment and rule.degree_days is not None}
    in_periods = any(rule.since == PERIODS for rule in office.rules)
    if not in_periods and not any(one.species in asked for one in treatments):
        return None

    @cache
    def record() -> SeasonRecord:
        from roundtui.store.season.season import SeasonRecord

        (file,) = (row[2] for row in conn.execute("PRAGMA database_list") if row[1] == "main")
        return SeasonRecord(conn, Path(file).parent, on, office)

    # The season is read when a block asks for its degree-days first.
    return lambda block, species, day, amount: record().days_to_gather(block, species, day, amount)
