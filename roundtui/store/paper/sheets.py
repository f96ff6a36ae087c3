"""Paper sheets in the store: the order of their rows, second entries, settled differences.

Double entry of one paper sheet: what stands on record, what was keyed the second time, and what the paper shows.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from roundtui.domain.entries import Draft, Visit
from roundtui.domain.figures.summary import Consequence
from roundtui.domain.paper import double_entry
from roundtui.domain.paper.sheet import plainly_lured
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.programme.rounds import OPEN_DAYS
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import as_registered, check_visit
from roundtui.domain.round.tally import draft_of, format_tally, parse_tally
from roundtui.errors import ProblemsError
from roundtui.store.db import transaction
from roundtui.store.failures import plainly
from roundtui.store.record import read
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.rows import TABLES, Table, standing
from roundtui.store.round.changes import tried_out
from roundtui.store.session import Session

DOUBLE_ENTRIES, SETTLEMENTS = TABLES["double-entry"], TABLES["settlement"]


class Sheet(Frozen):
    """A paper sheet: one route, on the day at its head. Its rows can be of other days."""

    route: str
    """Name of the route."""
    on: date
    """Day at its head."""


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


def keep_layout(conn: sqlite3.Connection, route: str, traps: Sequence[str], author: Author, now: datetime) -> None:
    """Keep another order of the paper of a route; the orders of before stay on record.

    Args:
        conn: The store.
        route: Name of the route.
        traps: Labels in the order of the paper.
        author: Who and where.
        now: Instant of recording.

    Raises:
        RefusedError: Nobody is named.
        StoreError: The store cannot be written.
    """
    with transaction(conn):
        record(
            conn, [double_entry.SheetOrder(route=route, traps=json.dumps(list(traps), ensure_ascii=False))], author, now
        )


def of_sheet(conn: sqlite3.Connection, table: Table, sheet: Sheet, first: date) -> tuple[Any, ...]:
    """Present entries about a sheet, in the order recorded.

    Args:
        conn: The store.
        table: Table of second entries, or of what was settled.
        sheet: The sheet.
        first: Earliest day at the head of it.
    """
    with plainly(conn):
        where = "route = ? AND sheet_on BETWEEN ? AND ?"
        return tuple(standing(conn, table, where, sheet.route, first, sheet.on, order="recorded_at, id"))


def draft_said(row: double_entry.DoubleEntry) -> Draft:
    """What a row entered the second time says."""
    return parse_tally(row.said)[0] or Draft()


class SheetComparison:
    """A sheet on record, held against its second entry.

    Args:
        session: Who, where and when.
        route: Name of the sheet's route.
    """

    def __init__(self, session: Session, route: str) -> None:
        self.session = session
        self.route = route
        self.read_anew()

    def read_anew(self) -> None:
        """Hold the two against each other as they stand on the disk."""
        session = self.session
        state = session.round_of(self.route)
        since = state.started_on or session.on - timedelta(days=OPEN_DAYS)
        self._since, self._traps = since, state.traps
        visits = [
            visit
            for trap in state.traps
            for visit in session.visits(trap)
            if since <= visit.read_on <= session.on and not visit.recount
        ]
        visits.sort(key=lambda visit: (str(visit.recorded_at), visit.id))
        sheet = Sheet(self.route, session.on)
        seconds = of_sheet(session.conn, DOUBLE_ENTRIES, sheet, since)
        newest = {(row.trap, row.read_on): row for row in seconds}
        self.first = [self._keyed(visit) for visit in visits]
        self.second = [self._row(row) for row in seconds if newest[(row.trap, row.read_on)] is row]
        self.found: double_entry.Comparison = double_entry.compare(self.first, self.second)
        self._settlements = of_sheet(session.conn, SETTLEMENTS, sheet, since)
        self.settled = {(one.entry, one.second): one for one in self._settlements}
        """What was settled, by the entry and the second row that it left."""
        self.names = (_names(visit.scout for visit in visits), _names(row.scout for row in seconds))

    @property
    def open(self) -> tuple[double_entry.Difference, ...]:
        """Differences nobody settled yet."""
        return tuple(one for one in self.found.differences if _ids(one) not in self.settled)

    @property
    def differed(self) -> int:
        """Rows on which the double entry disagreed, those settled since included."""
        return len(self.open) + len(self._settled_places())

    @property
    def settled_words(self) -> str:
        """How the differences were settled, in words."""
        kept = list(self._settled_places().values())
        return ", ".join(f"{kept.count(one)} {words}" for one, words in _SHORT.items() if one in kept) or "none yet"

    def _settled_places(self) -> dict[tuple[str, date], str]:
        """What holds, by trap and day; of two words on one the later."""
        still_open = {(one.row.trap, one.row.read_on) for one in self.open}
        places = {(one.trap, one.read_on): one.kept for one in self._settlements}
        return {place: kept for place, kept in places.items() if place not in still_open}

    def changes(self, difference: double_entry.Difference, kept: str, typed: Draft | None = None) -> list[Consequence]:
        """What settling a difference changes that is to be said first.

        Args:
            difference: The difference.
            kept: first, second, neither or none.
            typed: What the paper shows where neither is right.

        Raises:
            RoundtuiError: It cannot be settled so.
        """
        row = difference.row
        found = tried_out(self.session, lambda: self._settle(difference, kept, typed), {row.read_on}, {row.trap})
        return [one for one in found if one.needs_a_word]

    def settle(self, difference: double_entry.Difference, kept: str, typed: Draft | None = None) -> None:
        """Put on record what the paper shows, and who looked.

        Args:
            difference: The difference.
            kept: first, second, neither or none.
            typed: What the paper shows where neither is right.

        Raises:
            RoundtuiError: It cannot be settled so; nothing was changed.
        """
        self._settle(difference, kept, typed)
        self.session.forget()
        self.read_anew()

    def _settle(self, difference: double_entry.Difference, kept: str, typed: Draft | None) -> None:
        session = self.session
        standing, second = _ids(difference)
        row = {"first": difference.first, "second": difference.second}.get(kept, difference.row)
        draft = typed if kept == "neither" else row.draft if row is not None and kept != "none" else None
        holds = self._visit(difference, draft, standing) if draft is not None and kept != "first" else None
        why = f"two entries compared with the paper by {session.scout}: {_WHY[kept]}"
        stands, now = standing, session.clock()
        with transaction(session.conn):
            if holds is not None:
                new = replace(holds, replaces=standing, reason=why if standing else "")
                stands = record(session.conn, [new], session.author, now)[0].id
            elif standing is not None and kept != "first":
                withdraw(session.conn, standing, why, session.author, now)
                stands = None
            settled = double_entry.SheetSettled(
                route=self.route,
                sheet_on=session.on,
                trap=difference.row.trap,
                read_on=difference.row.read_on,
                kept=kept,
                entry=stands,
                second=second,
            )
            record(session.conn, [settled], session.author, now)

    def _visit(self, difference: double_entry.Difference, draft: Draft, standing: str | None) -> Visit:
        session, row = self.session, difference.row
        visit = as_registered(
            draft.visit(row.trap, row.read_on, scout=session.scout, replaces=standing), session.programme
        )
        there = read.same_day(session.conn, row.trap, row.read_on)
        problems = check_visit(visit, session.programme, today=session.on, same_day=there, where="")
        if problems:
            raise ProblemsError(str(problems[0]), problems, "look at the paper again, or settle it another way")
        return visit

    def _keyed(self, visit: Visit) -> double_entry.KeyedRow:
        draft = draft_of(visit)
        return self._as_keyed(visit, draft, len(format_tally(draft).replace(" ", "")) + 1)

    def _row(self, row: double_entry.DoubleEntry) -> double_entry.KeyedRow:
        return self._as_keyed(row, draft_said(row), row.keys)

    def _as_keyed(self, row: Visit | double_entry.DoubleEntry, draft: Draft, keys: int) -> double_entry.KeyedRow:
        draft = self._lured(draft, row.trap, row.read_on)
        return double_entry.KeyedRow(
            trap=row.trap, read_on=row.read_on, draft=draft, at=row.recorded_at, keys=keys, id=row.id
        )

    def _lured(self, draft: Draft, trap: str, on: date) -> Draft:
        programme = self.session.programme
        return plainly_lured(draft, programme, programme.hanging(trap, on), on)


_WHY = {"first": "the first holds", "second": "the second holds", "neither": "neither holds", "none": "no such row"}

_SHORT = {"first": "first", "second": "second", "neither": "neither", "none": "no such row"}


def _ids(difference: double_entry.Difference) -> tuple[str | None, str | None]:
    first, second = difference.first, difference.second
    return (first.id if first else None, second.id if second else None)


def _names(scouts: Iterable[str]) -> str:
    return ", ".join(sorted(set(scouts), key=natural_key))
