"""Paper sheets in the store: the order of their rows, second entries, settled differences.

Double entry of one paper sheet: what stands on record, what was keyed the second time, and what the paper shows.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from typing import Any

from roundtui.domain.entries import Draft, Visit
from roundtui.domain.figures.summary import Consequence
from roundtui.domain.paper.double_entry import Difference, DoubleEntry, KeyedRow, SheetSettled, compare
from roundtui.domain.paper.sheet import plainly_lured
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.programme.rounds import OPEN_DAYS
from roundtui.domain.round.checks import as_registered, check_visit
from roundtui.domain.round.tally import draft_of, parse_tally
from roundtui.errors import Problem, ProblemsError
from roundtui.store.db import transaction
from roundtui.store.failures import plainly
from roundtui.store.record import read
from roundtui.store.record.journal import record, withdraw
from roundtui.store.record.rows import TABLES, Table, standing
from roundtui.store.round.changes import tried_out
from roundtui.store.session import Session

HOLDS = {"first": "the first holds", "second": "the second holds", "neither": "neither holds", "none": "no such row"}
"""What the paper shows where two entries of a row differ, as it is kept with the row and said."""


def layout(conn: sqlite3.Connection, route: str) -> tuple[str, ...]:
    """The order of the paper of a route, as it was kept last; empty where none was.

    Args:
        conn: The store.
        route: Name of the route.
    """
    with plainly(conn):
        row = conn.execute(
            "SELECT traps FROM sheet_orders WHERE route = ? ORDER BY recorded_at DESC, id DESC LIMIT 1", (route,)
        ).fetchone()
    return tuple(map(str, json.loads(row[0]))) if row else ()


class PaperSheet:
    """A paper sheet: one route, on the day at its head. Its rows can be of other days.

    Args:
        session: Who, where and when.
        route: Name of the route.
    """

    def __init__(self, session: Session, route: str) -> None:
        self.session = session
        self.route = route
        self.round = session.round_of(route)
        """How far the round has come that the sheet is of."""

    @property
    def since(self) -> date:
        """First day that belongs to the round."""
        return self.round.started_on or self.session.on - timedelta(days=OPEN_DAYS)

    def entries(self, table: Table) -> list[Any]:
        """Present entries of a table about the sheet, in the order recorded."""
        conn, where = self.session.conn, "route = ? AND sheet_on BETWEEN ? AND ?"
        with plainly(conn):
            return list(standing(conn, table, where, self.route, self.since, self.session.on, order="recorded_at, id"))

    def second_entries(self) -> dict[tuple[str, date], DoubleEntry]:
        """Rows entered the second time, by trap and day; of several about one the newest."""
        return {(row.trap, row.read_on): row for row in self.entries(TABLES["double-entry"])}

    def visit(
        self, draft: Draft, trap: str, on: date, *, replaces: str | None, reason: str = "", alone: bool = False
    ) -> tuple[Visit, tuple[Problem, ...]]:
        """An entry ready to record, and what makes it impossible.

        Args:
            draft: What a row says.
            trap: Label of its trap.
            on: Its day.
            replaces: Id of the entry that it corrects; None: of none.
            reason: Why.
            alone: Whether other entries of that day are left aside.
        """
        session = self.session
        said = plainly_lured(draft, session.programme, trap, on)
        said_by = said.visit(trap, on, scout=session.scout, replaces=replaces, reason=reason)
        visit = as_registered(said_by, session.programme)
        there = () if alone else read.same_day(session.conn, trap, on)
        return visit, check_visit(visit, session.programme, today=session.on, same_day=there, where="")

    def changes(self, write: Callable[[sqlite3.Connection], object], days: set[date], trap: str) -> list[Consequence]:
        """What writing something would change that is to be said first; nothing is recorded.

        Raises:
            RoundtuiError: It would be refused.
        """
        return [one for one in tried_out(self.session, write, days, traps={trap}) if one.needs_a_word]


def said_in(entry: Visit | DoubleEntry) -> Draft:
    """What an entry says, or a row entered the second time."""
    return draft_of(entry) if isinstance(entry, Visit) else parse_tally(entry.said)[0] or Draft()


class SheetComparison(PaperSheet):
    """A sheet on record, held against its second entry.

    Args:
        session: Who, where and when.
        route: Name of the sheet's route.
    """

    def __init__(self, session: Session, route: str) -> None:
        super().__init__(session, route)
        self.read_anew()

    def read_anew(self) -> None:
        """Hold the two against each other as they stand on the disk."""
        session = self.session
        self.round = session.round_of(self.route)
        visits = [
            visit
            for trap in self.round.traps
            for visit in session.visits(trap)
            if self.since <= visit.read_on <= session.on and not visit.recount
        ]
        visits.sort(key=lambda visit: (str(visit.recorded_at), visit.id))
        self.second = list(self.second_entries().values())
        self.found = compare([self._keyed(visit) for visit in visits], [self._keyed(row) for row in self.second])
        self._settlements = self.entries(TABLES["settlement"])
        self.settled = {(one.entry, one.second): one for one in self._settlements}
        """What was settled, by the entry and the second row that it left."""
        self.names = (_names(visits), _names(self.second))
        """Who made the first entry, and who the second."""

    @property
    def open(self) -> tuple[Difference, ...]:
        """Differences nobody settled yet."""
        return tuple(one for one in self.found.differences if _ids(one) not in self.settled)

    @property
    def settled_places(self) -> dict[tuple[str, date], str]:
        """Which entry holds where they differed, by trap and day; of two words on one the later."""
        still_open = {(one.row.trap, one.row.read_on) for one in self.open}
        places = {(one.trap, one.read_on): one.kept for one in self._settlements}
        return {place: kept for place, kept in places.items() if place not in still_open}

    def settle(self, difference: Difference, kept: str, typed: Draft | None = None) -> None:
        """Put on record what the paper shows, and who looked.

        Args:
            difference: The difference.
            kept: One of ``HOLDS``.
            typed: What the paper shows where neither is right.

        Raises:
            RoundtuiError: It cannot be settled so; nothing was changed.
        """
        self.write(difference, kept, typed, self.session.conn)
        self.session.forget()
        self.read_anew()

    def write(self, difference: Difference, kept: str, typed: Draft | None, conn: sqlite3.Connection) -> None:
        """Write what ``settle`` puts on record, for a trial or for good."""
        session, place = self.session, difference.row
        standing, second = _ids(difference)
        draft = typed if kept == "neither" else difference.second.draft if difference.second is not None else None
        why = f"two entries compared with the paper by {session.scout}: {HOLDS[kept]}"
        stands, now = standing, session.clock()
        with transaction(conn):
            if kept in ("second", "neither") and draft is not None:
                reason = why if standing else ""
                visit, problems = self.visit(draft, place.trap, place.read_on, replaces=standing, reason=reason)
                if problems:
                    hint = "look at the paper again, or settle it another way"
                    raise ProblemsError(str(problems[0]), problems, hint)
                stands = record(conn, [visit], session.author, now)[0].id
            elif standing is not None and kept != "first":
                withdraw(conn, standing, why, session.author, now)
                stands = None
            settled = SheetSettled(
                route=self.route,
                sheet_on=session.on,
                trap=place.trap,
                read_on=place.read_on,
                kept=kept,
                entry=stands,
                second=second,
            )
            record(conn, [settled], session.author, now)

    def _keyed(self, row: Visit | DoubleEntry) -> KeyedRow:
        draft = plainly_lured(said_in(row), self.session.programme, row.trap, row.read_on)
        return KeyedRow(trap=row.trap, read_on=row.read_on, draft=draft, id=row.id)


def _ids(difference: Difference) -> tuple[str | None, str | None]:
    first, second = difference.first, difference.second
    return (first.id if first else None, second.id if second else None)


def _names(rows: Iterable[Visit | DoubleEntry]) -> str:
    return ", ".join(sorted({row.scout for row in rows}, key=natural_key))
