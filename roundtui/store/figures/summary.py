"""The one way to a summary: what it is made from, read once, for command, app, past, preview and letters.

What a lure found in a trap changes is worked out from the same.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from roundtui.domain.entries import Visit
from roundtui.domain.figures.blocks import DaysToGather, Record
from roundtui.domain.figures.found_lures import FoundChange, FoundLure
from roundtui.domain.figures.history import History, Observations, season_start
from roundtui.domain.figures.learned import nothing_learned
from roundtui.domain.figures.rules import PERIODS, Office
from roundtui.domain.figures.summary import attention, summarise
from roundtui.domain.figures.threshold import Treatment
from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.farm import Programme
from roundtui.errors import RoundtuiError
from roundtui.store.failures import plainly
from roundtui.store.figures.history import scent_of, uncollected
from roundtui.store.figures.learned import learned_by, untreated_of
from roundtui.store.record.observations import confirmed_biofixes, read_observations
from roundtui.store.record.read import history, newest_read_on, programme_for
from roundtui.store.traps.assembled import kit_of_suspect

if TYPE_CHECKING:
    from roundtui.domain.inventory.stock import LotStock
    from roundtui.store.season.season import SeasonRecord
    from roundtui.store.session import Session


@dataclass(frozen=True, slots=True)
class DaySummary:
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
    made = summarise(
        known.programme,
        known.history,
        office,
        on,
        route=route,
        biofix=known.biofix,
        treatments=known.treatments,
        days_to_gather=known.days_to_gather,
        learned=learned_by(conn, known.programme, office, on) if how_sure else nothing_learned,
    )
    made = replace(made, attention=attention(made, known.programme, known.history, observations, office))
    lots = _lots_short(conn, known)
    return DaySummary(made, known.programme, known.history, replace(observations, lots=lots), office)


def day_record(
    conn: sqlite3.Connection,
    office: Office,
    on: date,
    *,
    programme: Programme | None = None,
    record: History | None = None,
    whole: bool = True,
) -> tuple[Record, Observations]:
    """Everything that the figures of a day depend on, and what stands beside them.

    Args:
        conn: The store.
        office: Rules, and when the season starts.
        on: The day.
        programme: What is set up, where it was read before.
        record: The record up to the day, where it was read before.
        whole: Whether it is wanted with notes and names of older visits.

    Raises:
        StoreError: The store cannot be read.
    """
    known = programme if programme is not None else programme_for(conn, on, office)
    entries = record if record is not None else history(conn, known, on, office, whole=whole)
    observations = read_observations(conn, season_start(on, office.season_starts_on), on)
    against = observations.against()
    if against:
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


def found_lure(
    conn: sqlite3.Connection,
    programme: Programme,
    record: History,
    office: Office,
    *,
    on: date,
    visit: Visit,
    visits: Mapping[str, Sequence[Visit]] | None = None,
) -> FoundLure:
    """A lure found, to be held against the record. Little is read: entries that touched lures in doubt.

    Args:
        conn: The store.
        programme: What is set up.
        record: The record up to the day, as a summary needs it.
        office: Rules, and when the season starts.
        on: The day whose figures are looked at.
        visit: The visit, on record or not.
        visits: Present visits of each trap, where they are newer than the record's.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        kit = kit_of_suspect(conn, on)
        scent = scent_of(conn, visit.trap)
    known = replace(
        record,
        visits=record.visits if visits is None else visits,
        scent=scent,
        assembled=kit.assembled,
        bodies=kit.bodies,
    )
    return FoundLure(day_record(conn, office, on, programme=programme, record=known)[0], visit)


def found_changes(
    conn: sqlite3.Connection, office: Office, visits: Sequence[Visit]
) -> tuple[tuple[Visit, FoundChange], ...]:
    """What the lures found on some visits that were just recorded have changed, each for itself.

    Args:
        conn: The store.
        office: Rules, and when the season starts.
        visits: The visits as recorded; those that found no lure are passed over.

    Returns:
        The visits that found one, each with what it changed in the summary of the newest day on record.

    Raises:
        StoreError: The store cannot be read.
    """
    found = [visit for visit in visits if visit.lure_found is not None]
    on = newest_read_on(conn) if found else None
    if on is None:
        return ()
    programme = programme_for(conn, on, office)
    record = history(conn, programme, on, office)
    return tuple(
        (visit, found_lure(conn, programme, record, office, on=on, visit=visit).change(visit)) for visit in found
    )


class FoundInRound:
    """Lures found in a round. The record is looked at once for each find, and for no other entry.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self._key: tuple[object, ...] = ()
        self._lure: FoundLure | None = None

    def change(self, visit: Visit) -> FoundChange | None:
        """What an entry that found a lure would change; None where the record cannot be looked at.

        Args:
            visit: The entry as it would be recorded.
        """
        session = self.session
        # Count, reason and other flags may change with every key; what was found, put in and hung is looked at once.
        key = (session.changes, visit.trap, visit.read_on, visit.lure_found, visit.lure, visit.body, visit.replaces)
        try:
            if self._lure is None or key != self._key:
                self._lure = found_lure(
                    session.conn,
                    session.programme,
                    session.history,
                    session.office,
                    on=session.on,
                    visit=visit,
                    visits=session.present_visits,
                )
                self._key = key
            return self._lure.change(visit)
        except RoundtuiError:
            return None
