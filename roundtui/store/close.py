"""What the close of a season needs of the record."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from roundtui.domain.history import season_last, season_start
from roundtui.domain.kit.parts import KnownParts
from roundtui.domain.kit.season_close import Losses, ToTakeDown, losses, taking_down
from roundtui.domain.rules import Office
from roundtui.domain.visits import Visit
from roundtui.store.failures import plainly
from roundtui.store.kit import known_on
from roundtui.store.rows import VISITS, visit_of


@dataclass(frozen=True, slots=True)
class Close:
    """A season up to a day: its visits, and what is known of parts."""

    on: date
    """The day."""
    first: date
    """First day of the season."""
    last: date
    """Last day of the season."""
    known: KnownParts
    """What is known of every part, and what is set up."""
    visits: Mapping[str, Sequence[Visit]]
    """Present visits of the season by trap, in order."""

    @property
    def hanging(self) -> tuple[ToTakeDown, ...]:
        """Traps to take down, in the order of the routes."""
        return taking_down(self.known.programme, self.known, self.visits, self.on)

    @property
    def losses(self) -> Losses:
        """What the season cost in traps and parts."""
        parts = self.known.parts.values()
        return losses(self.known.programme, self.visits, parts, (self.first, self.last), self.on)


def read_close(conn: sqlite3.Connection, office: Office, on: date) -> Close:
    """What is on record for the close of the season that a day belongs to.

    Args:
        conn: The store.
        office: For the start of the season.
        on: The day; nothing after it is used.

    Raises:
        StoreError: The store cannot be read.
    """
    first = season_start(on, office.season_starts_on)
    last = season_last(on, office.season_starts_on)
    visits: dict[str, list[Visit]] = {}
    with plainly(conn):
        rows = conn.execute(
            f"SELECT {VISITS.listed} FROM present_visits WHERE read_on BETWEEN ? AND ?"  # noqa: S608
            " ORDER BY read_on, recorded_at, id",
            (first.isoformat(), on.isoformat()),
        )
        for row in rows.fetchall():
            visits.setdefault(row[6], []).append(visit_of(row))
        return Close(on, first, last, known_on(conn, on), visits)
