"""A round read for replay: its entries in the order recorded, and what the record showed after each of them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from time import perf_counter

from roundtui.domain.figures.verdicts import Summary
from roundtui.domain.programme.rounds import OPEN_DAYS, current_round, traps_to_walk
from roundtui.domain.visits import Visit
from roundtui.report.round.replay import ReplayStep, standing, steps
from roundtui.store import read
from roundtui.store.failures import plainly
from roundtui.store.figures.summary import summary_of
from roundtui.store.round.past import Mark, as_recorded, mark_after
from roundtui.store.session import Session


@dataclass(frozen=True, slots=True)
class Span:
    """Days of a round."""

    first: date
    """Day of its first entry."""
    last: date
    """Day of its last one."""


class Rounds:
    """Rounds to replay, read over a connection of their own: while a step is looked up it reads the past.

    Args:
        session: Who, where and when.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._store = session.beside()
        self._conn = self._store.__enter__()

    def open(self, route: str, on: date) -> RoundReplay:
        """The round of a route that a day lies in."""
        return RoundReplay(self._session, self._conn, route, on)

    def close(self) -> None:
        """Let go of the store."""
        self._conn.close()


class RoundReplay:
    """One round of a route. Steps are numbered as entries are; step 0 is the moment before the first.

    Args:
        session: Who, where and when.
        conn: A connection of its own to the session's store: while a step is looked up it reads the past.
        route: Name of the route.
        on: A day of the round, or one up to which it is sought.
    """

    def __init__(self, session: Session, conn: sqlite3.Connection, route: str, on: date) -> None:
        self._session = session
        self._conn = conn
        self._known: dict[int, Summary] = {}
        self.seconds = 0.0
        """How long the last look-up took. [s]"""
        self.route = route
        self.on = on
        programme = session.programme
        labels = set(programme.routes.get(route, ()))
        self._blocks = {row.block for trap in labels for row in programme.hangings.get(trap, ())}
        self._labels = labels
        self.traps = traps_to_walk(programme, route, on)
        """Labels in walking order."""
        self.span = self._span_of(on)
        """Its days."""
        self.rows = read.journal_rows(conn, self.span.first, self.span.last, labels, self._blocks)
        """Its entries in the order recorded."""
        self.steps: Sequence[ReplayStep] = steps(self.rows, self.traps, datetime.astimezone)
        """The same, with what is remarkable about them."""

    def done(self, at: int) -> dict[str, Visit]:
        """Newest visit of each trap of the round that was done at a step.

        Args:
            at: The step, from 0.
        """
        return standing(self.rows[:at])

    def known(self, at: int) -> Summary | None:
        """What ``look_up`` found for a step; None where it was not looked up yet."""
        return self._known.get(at)

    def look_up(self, at: int, conn: sqlite3.Connection | None = None) -> Summary:
        """The summary of the route's blocks just after a step, on the newest day entered by then; looked up once.

        Args:
            at: The step, from 0.
            conn: A connection of whoever looks it up beside the app; None: the replay's own.

        Raises:
            StoreError: The store cannot be read.
            RoundtuiError: Two rules fit a block equally well.
        """
        found = self._known.get(at)
        if found is not None:
            return found
        began = perf_counter()
        newest = max((row.read_on for row in self.rows[:at] if row.kind == "visit"), default=self.span.first)
        on = min(max(newest, self.span.first), self.span.last)
        conn = conn if conn is not None else self._conn
        with as_recorded(conn, self._mark(at)):
            found = summary_of(conn, self._session.office, on, route=self.route).summary
        self._known[at] = found
        self.seconds = perf_counter() - began
        return found

    def look_up_beside(self, at: int, ahead: int) -> Iterator[int]:
        """Look up a step, the one before and those that come next, over a connection of a thread's own.

        Args:
            at: The step, from 0.
            ahead: How many of the next.

        Yields:
            Each step when it is looked up.
        """
        with self._session.beside() as conn:
            for step in (at - 1, at, *range(at + 1, min(at + ahead, len(self.steps)) + 1)):
                if step >= 0:
                    self.look_up(step, conn)
                    yield step

    def _mark(self, at: int) -> Mark:
        if at > 0:
            return mark_after(self.rows[at - 1])
        return Mark(self.rows[0].recorded_at, "") if self.rows else Mark(self._session.clock())

    def step_of(self, entry_id: str) -> int | None:
        """Number of an entry's step; None where it is not in this round."""
        return next((step.number for step in self.steps if step.row.id == entry_id), None)

    def step_at(self, trap: str) -> int | None:
        """Step of the first entry about a trap; None where there is none."""
        return next((step.number for step in self.steps if step.row.trap == trap), None)

    def beside(self, direction: int) -> date | None:
        """Last day of the round before or after this one; None where there is none.

        Args:
            direction: -1 for the one before, 1 for the one after.
        """
        marks = ", ".join("?" * len(self._labels))
        best, than, edge = ("max", "<", self.span.first) if direction < 0 else ("min", ">", self.span.last)
        with plainly(self._conn):
            row = self._conn.execute(
                f"SELECT {best}(read_on) FROM visits WHERE read_on {than} ? AND read_on <= ? AND trap IN ({marks})",  # noqa: S608
                (edge.isoformat(), self._session.on.isoformat(), *self._labels),
            ).fetchone()
        if row[0] is None:
            return None
        return self._span_of(date.fromisoformat(row[0])).last

    def _span_of(self, on: date) -> Span:
        """Days of the round that a day lies in; the week that ends on it where nothing stands of any round."""
        traps = traps_to_walk(self._session.programme, self.route, on)
        visits = {
            trap: read.visits_of(self._conn, trap, on - timedelta(days=2 * OPEN_DAYS + 1), on + timedelta(OPEN_DAYS))
            for trap in traps
        }
        first = current_round(traps, visits, on).started_on
        if first is None:
            return Span(on - timedelta(days=OPEN_DAYS), on)
        last = min(first + timedelta(days=OPEN_DAYS), self._session.on)
        days = sorted({one.read_on for of_trap in visits.values() for one in of_trap if on < one.read_on <= last})
        for day in days:
            if current_round(traps, visits, day).started_on != first:
                break
            on = day
        return Span(first, on)
