"""Lures in stock, from the record: what was bought and counted, what was put out since, what will be wanted."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import date, timedelta

from roundtui.domain.figures.history import History, season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.inventory.stock import NEXT_ROUNDS_DAYS, LotStock, StoreRoom, Uses, lots_in_stock, lure_uses, wants
from roundtui.domain.programme.farm import Programme
from roundtui.domain.season.weather import same_day
from roundtui.domain.traps.entries import Assembled, Stocked
from roundtui.domain.visits import NONE, YES, Visit
from roundtui.store.beside import present
from roundtui.store.failures import plainly
from roundtui.store.rows import ASSEMBLIES, STOCKS, VISITS, visit_of
from roundtui.store.trouble import NAMED_LOT

_SELECT = f"SELECT {VISITS.listed} FROM present_visits"  # noqa: S608
_ORDER = " ORDER BY read_on, recorded_at, id"


def uses_since(conn: sqlite3.Connection, programme: Programme, first: date, on: date) -> Uses:
    """Lures put out in a span of days, and whatever of the time before tells of which lot they were.

    Args:
        conn: The store.
        programme: All that is set up.
        first: First day that has to be whole.
        on: Last day.

    Raises:
        StoreError: The store cannot be read.
    """
    visits: dict[str, list[Visit]] = {}
    with plainly(conn):
        span = (first.isoformat(), on.isoformat())
        for row in conn.execute(f"{_SELECT} WHERE lure IS NOT NULL AND read_on BETWEEN ? AND ?{_ORDER}", span):
            visits.setdefault(row[6], []).append(visit_of(row))
        for trap, own in visits.items():
            if _which_lot(own):
                older = f"{_SELECT} WHERE trap = ? AND read_on < ? AND {NAMED_LOT}{_ORDER}"
                visits[trap] = [*map(visit_of, conn.execute(older, (trap, first.isoformat())).fetchall()), *own]
        assemblies: list[Assembled] = present(conn, ASSEMBLIES, date.min, on)
    return lure_uses(programme, visits, assemblies)


def _which_lot(visits: Iterable[Visit]) -> bool:
    """Whether the first lure put in is of a lot that only an older visit may name."""
    first = next((visit.lure for visit in visits if visit.lure != NONE), None)
    return first == YES


def store_room(conn: sqlite3.Connection, programme: Programme, on: date) -> StoreRoom:
    """What is on record of lures in stock up to a day.

    Args:
        conn: The store.
        programme: All that is set up.
        on: The day.

    Returns:
        Nothing where no lot was ever bought or counted on record: then nobody asks what was used.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        entries: list[Stocked] = present(conn, STOCKS, date.min, on)
    if not entries:
        return StoreRoom()
    return StoreRoom(entries, uses_since(conn, programme, min(one.stocked_on for one in entries), on).known)


def season_ends_on(conn: sqlite3.Connection, on: date, office: Office) -> date | None:
    """Day on which the running season's traps are expected to come down: as last season.

    Args:
        conn: The store.
        on: The day.
        office: For the start of the season.

    Returns:
        The day on which last season's last trap was taken down, else of its last reading, as a day of this one; None
        where there is neither.
    """
    first = season_start(on, office.season_starts_on)
    before = season_start(first - timedelta(days=1), office.season_starts_on)
    span = (before.isoformat(), (first - timedelta(days=1)).isoformat())
    with plainly(conn):
        row = conn.execute("SELECT max(down_on) FROM traps WHERE down_on BETWEEN ? AND ?", span).fetchone()
        if row[0] is None:
            row = conn.execute("SELECT max(read_on) FROM present_visits WHERE read_on BETWEEN ? AND ?", span).fetchone()
    if row[0] is None:
        return None
    day = date.fromisoformat(row[0])
    return same_day(day, day.year + first.year - before.year)


def lots_to_watch(
    conn: sqlite3.Connection, programme: Programme, history: History, on: date, office: Office
) -> tuple[LotStock, ...]:
    """Lots that somebody has to do something about.

    Args:
        conn: The store.
        programme: What is set up, as far as it can matter.
        history: The record up to the day.
        on: The day.
        office: For the start of the season.

    Raises:
        StoreError: The store cannot be read.
    """
    room = store_room(conn, programme, on)
    if not room.entries:
        return ()
    # Where no season before tells the end, the next rounds have to do.
    ends = season_ends_on(conn, on, office) or on + timedelta(days=NEXT_ROUNDS_DAYS + 1)
    wanted = wants(programme, history.last_service, on, ends)
    lots = lots_in_stock(programme, room.entries, room.uses, wanted, on)
    return tuple(lot for lot in lots if lot.warned)
