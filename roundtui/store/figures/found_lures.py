"""What is needed to say what a lure found in a trap changes, before it is on record or after."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from roundtui.domain.entries import Visit
from roundtui.domain.figures.found_lures import FoundChange, FoundLure
from roundtui.domain.figures.history import History
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Programme
from roundtui.errors import RoundtuiError
from roundtui.store.failures import plainly
from roundtui.store.figures.history import history, scent_of, suspect
from roundtui.store.figures.summary import day_record
from roundtui.store.record.read import newest_read_on, programme_for
from roundtui.store.traps.assembled import kit_of_suspect

if TYPE_CHECKING:
    from roundtui.store.session import Session


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
        # The body that it got may have been in a trap that nothing was wrong with until now.
        body = conn.execute("SELECT trap FROM bodies WHERE label = ?", (visit.body,))
        followed = {visit.trap, *suspect(conn), *(trap for (trap,) in body)}
    known = replace(
        record,
        visits=record.visits if visits is None else visits,
        scent=scent,
        suspect=followed,
        assembled=kit.assembled,
        bodies=kit.bodies,
    )
    return FoundLure(day_record(conn, office, on, programme=programme, record=known, untreated=False)[0], visit)


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
                    visits=session.present_history.visits,
                )
                self._key = key
            return self._lure.change(visit)
        except RoundtuiError:
            return None
