"""Catches that were counted twice, from the record: who counted first, and who again."""

from __future__ import annotations

import sqlite3
from datetime import date, timedelta
from typing import TYPE_CHECKING

from roundtui.domain.figures.history import season_start
from roundtui.domain.programme.farm import Programme
from roundtui.domain.programme.rounds import OPEN_DAYS, current_round, traps_to_walk
from roundtui.domain.round.checks import same_scout
from roundtui.domain.round.recounts import Pair, asked_in
from roundtui.domain.round.specimens import taken_off
from roundtui.domain.visits import Visit
from roundtui.store.beside import present
from roundtui.store.failures import plainly
from roundtui.store.read import same_day, visits_of
from roundtui.store.rows import SPECIMENS

if TYPE_CHECKING:
    from roundtui.domain.figures.rules import Office


def pairs(conn: sqlite3.Connection, programme: Programme, first: date, on: date) -> tuple[Pair, ...]:
    """Catches of a span of days that two people counted.

    Whoever corrected an entry later did not count: both counters are those who made the first entry of its chain. What
    was named as another species since is put back on the first count, so that both are what was seen at the trap.

    Args:
        conn: The store.
        programme: For each trap's own species.
        first: First day.
        on: Last day, included.

    Returns:
        For each catch the first count and the earliest second one; estimates, second looks by the same person, and
        days on which two first counts disagree are left out.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        days = conn.execute(
            "SELECT DISTINCT trap, read_on FROM present_visits"
            " WHERE recount = 1 AND read_on BETWEEN ? AND ? ORDER BY read_on, trap",
            (first.isoformat(), on.isoformat()),
        ).fetchall()
        off: dict[tuple[str, date], int] = {}
        for one in present(conn, SPECIMENS, first, on):
            key = (one.trap, one.read_on)
            off[key] = off.get(key, 0) + taken_off(one, programme)
        found = []
        for trap, kept in days:
            day = date.fromisoformat(kept)
            pair = _pair(conn, same_day(conn, trap, day), off.get((trap, day), 0))
            if pair is not None:
                found.append(pair)
    return tuple(found)


def asked_on(conn: sqlite3.Connection, programme: Programme, on: date) -> dict[str, tuple[str, ...]]:
    """Traps of each route's round that are asked for a second count.

    Args:
        conn: The store.
        programme: What is set up.
        on: The day.
    """
    first = on - timedelta(days=2 * OPEN_DAYS + 1)
    found = {}
    for route in programme.routes:
        traps = traps_to_walk(programme, route, on)
        state = current_round(traps, {trap: visits_of(conn, trap, first, on) for trap in traps}, on)
        if traps:
            found[route] = asked_in(route, state, on)
    return found


def season_of(office: Office, on: date, season: int | None) -> tuple[date, date]:
    """First day of a season, and the last of it that is looked at.

    Args:
        office: When seasons start.
        on: The day to look from.
        season: Year in which it started; None: that of ``on``.
    """
    now = season_start(on, office.season_starts_on)
    if season in (None, now.year):
        return now, on
    first = date(season or now.year, now.month, now.day)
    return first, min(on, date(first.year + 1, now.month, now.day) - timedelta(days=1))


def _pair(conn: sqlite3.Connection, visits: tuple[Visit, ...], off: int) -> Pair | None:
    counted = [visit for visit in visits if visit.count is not None and not visit.estimated]
    firsts = [visit for visit in counted if not visit.recount]
    if len(firsts) != 1:
        return None
    one = firsts[0]
    reader = _counted_by(conn, one)
    for again in counted:
        second = _counted_by(conn, again) if again.recount else reader
        if not same_scout(reader, second):
            return Pair(one.trap, one.read_on, reader, (one.count or 0) + off, second, again.count or 0)
    return None


def _counted_by(conn: sqlite3.Connection, visit: Visit) -> str:
    scout, before = visit.scout, visit.replaces
    while before is not None:
        row = conn.execute("SELECT scout, replaces FROM visits WHERE id = ?", (before,)).fetchone()
        if row is None:
            break
        scout, before = row
    return scout
