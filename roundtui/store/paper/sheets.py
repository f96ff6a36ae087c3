"""Paper sheets in the store: the order of their rows, second entries, settled differences.

Double entry of one paper sheet: what stands on record, what was keyed the second time, and what the paper shows.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from roundtui.domain.entries import Draft, Visit
from roundtui.domain.figures.summary import Consequence
from roundtui.domain.paper import double_entry
from roundtui.domain.paper.sheet import plainly_lured
from roundtui.domain.programme.farm import natural_key
from roundtui.domain.programme.rounds import OPEN_DAYS
from roundtui.domain.round.checks import as_registered, check_visit
from roundtui.domain.round.tally import draft_of, format_tally, parse_tally
from roundtui.errors import ProblemsError
from roundtui.store.db import transaction
from roundtui.store.failures import plainly
from roundtui.store.record import read
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.rows import day
from roundtui.store.round.changes import tried_out

if TYPE_CHECKING:
    from roundtui.store.session import Session


@dataclass(frozen=True, slots=True)
class Sheet:
    """A paper sheet: one route, on the day at its head. Its rows can be of other days."""

    route: str
    """Name of the route."""
    on: date
    """Day at its head."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondRow:
    """One row of a sheet as it was keyed the second time. It is no entry, and never a second catch."""

    trap: str
    """Label of the trap."""
    read_on: date
    """Day of the visit."""
    draft: Draft
    """What was keyed."""
    keys: int
    """Keys pressed for it, Enter included."""
    scout: str = ""
    """Who keyed it."""
    recorded_at: datetime | None = None
    """When it was keyed, UTC."""
    id: str = ""
    """Its id; empty until it is kept."""
    replaces: str | None = None
    """Id of the row that this one sets right."""

    @property
    def keyed(self) -> double_entry.KeyedRow:
        """The row, for a comparison."""
        return double_entry.KeyedRow(
            trap=self.trap,
            read_on=self.read_on,
            draft=self.draft,
            at=self.recorded_at,
            keys=self.keys,
            id=self.id,
        )


@dataclass(frozen=True, slots=True)
class Settlement:
    """That somebody looked at the paper, and what it shows."""

    trap: str
    """Label of the trap."""
    read_on: date
    """Day of the visit."""
    entry: str | None
    """Id of the entry that stands from then on; None: none does."""
    trap_entry: str | None
    """Id of the row keyed second; None: there is none."""
    kept: str
    """first, second, neither, or none."""
    scout: str
    """Who settled it."""
    recorded_at: datetime
    """When, UTC."""


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


def second_rows(conn: sqlite3.Connection, route: str, first: date, last: date) -> tuple[SecondRow, ...]:
    """Rows keyed the second time, those corrected since left out, in the order keyed.

    Args:
        conn: The store.
        route: Name of the sheet's route.
        first: Earliest day at the head of the sheet.
        last: Latest, included.
    """
    with plainly(conn):
        rows = conn.execute(
            "SELECT id, recorded_at, scout, replaces, trap, read_on, said, keys FROM present_double_entries"
            " WHERE route = ? AND sheet_on BETWEEN ? AND ? ORDER BY recorded_at, id",
            (route, first.isoformat(), last.isoformat()),
        ).fetchall()
    return tuple(_second_row(row) for row in rows)


def _second_row(row: tuple[str, str, str, str | None, str, str, str, int]) -> SecondRow:
    draft, _ = parse_tally(row[6])
    return SecondRow(
        trap=row[4],
        read_on=day(row[5]),
        draft=draft or Draft(),
        keys=row[7],
        scout=row[2],
        recorded_at=datetime.fromisoformat(row[1]),
        id=row[0],
        replaces=row[3],
    )


def keep_second_rows(
    conn: sqlite3.Connection, sheet: Sheet, rows: Sequence[SecondRow], author: Author, now: datetime
) -> tuple[SecondRow, ...]:
    """Keep rows keyed the second time, all or none. When this returns they are on the disk.

    Args:
        conn: The store.
        sheet: The sheet.
        rows: What was keyed.
        author: Who and where.
        now: Instant of entry.

    Returns:
        The rows with id, author and instant.

    Raises:
        RefusedError: Nobody is named, or a text is too long.
        StoreError: The store cannot be written.
    """
    entries = [
        double_entry.DoubleEntry(
            route=sheet.route,
            sheet_on=sheet.on,
            trap=row.trap,
            read_on=row.read_on,
            said=format_tally(row.draft),
            keys=max(1, row.keys),
            replaces=row.replaces,
            reason="corrected while typing" if row.replaces else "",
        )
        for row in rows
    ]
    return tuple(
        replace(row, id=kept.id, scout=author.scout, recorded_at=now)
        for row, kept in zip(rows, record(conn, entries, author, now), strict=True)
    )


def settlements(conn: sqlite3.Connection, route: str, first: date, last: date) -> tuple[Settlement, ...]:
    """Differences that were settled, in the order settled.

    Args:
        conn: The store.
        route: Name of the sheet's route.
        first: Earliest day at the head of the sheet.
        last: Latest, included.
    """
    with plainly(conn):
        rows = conn.execute(
            "SELECT trap, read_on, entry, second, kept, scout, recorded_at FROM settlements"
            " WHERE route = ? AND sheet_on BETWEEN ? AND ? ORDER BY recorded_at, id",
            (route, first.isoformat(), last.isoformat()),
        ).fetchall()
    return tuple(
        Settlement(row[0], day(row[1]), row[2], row[3], row[4], row[5], datetime.fromisoformat(row[6])) for row in rows
    )


def settle(
    conn: sqlite3.Connection,
    sheet: Sheet,
    place: tuple[str, date],
    *,
    standing: str | None,
    trap_entry: str | None,
    holds: Visit | None,
    kept: str,
    why: str,
    author: Author,
    now: datetime,
) -> str | None:
    """Put on record what the paper shows where double entry disagree, with who looked; one transaction.

    Args:
        conn: The store.
        sheet: The sheet.
        place: Trap and day.
        standing: Id of the entry that stands; None: none does.
        trap_entry: Id of the row keyed second; None: there is none.
        holds: What the paper shows, checked before; None: there is no such row on it.
        kept: first, second, neither, or none.
        why: Reason kept with a correction.
        author: Who settles, and where.
        now: Instant.

    Returns:
        Id of the entry that stands from now on; None: none does.

    Raises:
        RefusedError: The entry was corrected or withdrawn meanwhile.
        StoreError: The store cannot be written.
    """
    stands = standing
    with transaction(conn):
        if kept == "first":
            pass
        elif holds is not None:
            new = replace(holds, replaces=standing, reason=why if standing else "")
            stands = record(conn, [new], author, now)[0].id
        elif standing is not None:
            withdraw(conn, standing, why, author, now)
            stands = None
        settled = double_entry.SheetSettled(
            route=sheet.route,
            sheet_on=sheet.on,
            trap=place[0],
            read_on=place[1],
            kept=kept,
            entry=stands,
            second=trap_entry,
        )
        record(conn, [settled], author, now)
    return stands


class DoubleEntryDoubleEntry:
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
        seconds = second_rows(session.conn, self.route, since, session.on)
        newest = {(row.trap, row.read_on): row for row in seconds}
        self.first = [self._keyed(visit) for visit in visits]
        self.second = [
            replace(row.keyed, draft=self._lured(row.draft, row.trap, row.read_on))
            for row in seconds
            if newest[(row.trap, row.read_on)] is row
        ]
        self.found: double_entry.Comparison = double_entry.compare(self.first, self.second)
        self._settlements = settlements(session.conn, self.route, since, session.on)
        self.settled = {(one.entry, one.trap_entry): one for one in self._settlements}
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

    def _as_first_keyed(self) -> list[double_entry.KeyedRow]:
        """The entries before any correction, in the order recorded."""
        rows = read.journal_rows(self.session.conn, self._since, self.session.on, frozenset(self._traps), frozenset())
        entries = [row.entry for row in rows if isinstance(row.entry, Visit)]
        return [self._keyed(entry) for entry in entries if entry.replaces is None and not entry.recount]

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
        standing, trap_entry = _ids(difference)
        row = {"first": difference.first, "second": difference.second}.get(kept, difference.row)
        draft = typed if kept == "neither" else row.draft if row is not None and kept != "none" else None
        holds = self._visit(difference, draft, standing) if draft is not None and kept != "first" else None
        settle(
            session.conn,
            Sheet(self.route, session.on),
            (difference.row.trap, difference.row.read_on),
            standing=standing,
            trap_entry=trap_entry,
            holds=holds,
            kept=kept,
            why=f"two entries compared with the paper by {session.scout}: {_WHY[kept]}",
            author=session.author,
            now=session.clock(),
        )

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
        return double_entry.KeyedRow(
            trap=visit.trap,
            read_on=visit.read_on,
            draft=self._lured(draft, visit.trap, visit.read_on),
            at=visit.recorded_at,
            keys=len(format_tally(draft).replace(" ", "")) + 1,
            id=visit.id,
        )

    def _lured(self, draft: Draft, trap: str, on: date) -> Draft:
        programme = self.session.programme
        return plainly_lured(draft, programme, programme.hanging(trap, on), on)


_WHY = {
    "first": "the first holds",
    "second": "the second holds",
    "neither": "neither holds",
    "none": "no such row",
}

_SHORT = {"first": "first", "second": "second", "neither": "neither", "none": "no such row"}


def _ids(difference: double_entry.Difference) -> tuple[str | None, str | None]:
    first, second = difference.first, difference.second
    return (first.id if first else None, second.id if second else None)


def _names(scouts: Iterable[str]) -> str:
    return ", ".join(sorted(set(scouts), key=natural_key))
