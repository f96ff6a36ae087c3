"""Paper sheets in the store: the order of their rows, second keyings, settled differences."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from roundtui.domain.paper.double_entry import DoubleEntry, KeyedRow, SheetOrder, SheetSettled
from roundtui.domain.round.tally import format_tally, parse_tally
from roundtui.domain.visits import Draft, Visit
from roundtui.store.connect import transaction
from roundtui.store.failures import plainly
from roundtui.store.journal import Author, record, withdraw
from roundtui.store.rows import day


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
    def keyed(self) -> KeyedRow:
        """The row, for a comparison."""
        return KeyedRow(
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
    keying: str | None
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
        record(conn, [SheetOrder(route=route, traps=json.dumps(list(traps), ensure_ascii=False))], author, now)


def second_rows(conn: sqlite3.Connection, route: str, first: date, last: date) -> tuple[SecondRow, ...]:
    """Rows keyed the second time, those set right since left out, in the order keyed.

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
        now: Instant of keying.

    Returns:
        The rows with id, author and instant.

    Raises:
        RefusedError: Nobody is named, or a text is too long.
        StoreError: The store cannot be written.
    """
    entries = [
        DoubleEntry(
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
    keying: str | None,
    holds: Visit | None,
    kept: str,
    why: str,
    author: Author,
    now: datetime,
) -> str | None:
    """Put on record what the paper shows where two keyings disagree, with who looked; one transaction.

    Args:
        conn: The store.
        sheet: The sheet.
        place: Trap and day.
        standing: Id of the entry that stands; None: none does.
        keying: Id of the row keyed second; None: there is none.
        holds: What the paper shows, checked before; None: there is no such row on it.
        kept: first, second, neither, or none.
        why: Reason kept with a correction.
        author: Who settles, and where.
        now: Instant.

    Returns:
        Id of the entry that stands from now on; None: none does.

    Raises:
        RefusedError: The entry was corrected or taken back meanwhile.
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
        settled = SheetSettled(
            route=sheet.route,
            sheet_on=sheet.on,
            trap=place[0],
            read_on=place[1],
            kept=kept,
            entry=stands,
            second=keying,
        )
        record(conn, [settled], author, now)
    return stands
