"""All that is on record of parts and of traps assembled: what the store room and the close of a season ask for.

What the close of a season needs of the record.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from datetime import date

from roundtui.domain.entries import Assembled, PartNoted, Visit
from roundtui.domain.figures.history import season_last, season_start
from roundtui.domain.figures.rules import Office
from roundtui.domain.programme.farm import Programme, grouped
from roundtui.domain.records import Frozen
from roundtui.domain.text import SHOWN, sanitize
from roundtui.domain.traps.assembly import KnownParts, in_order, known_parts, objections
from roundtui.domain.traps.season_close import Losses, ToTakeDown, losses, taking_down
from roundtui.errors import Problem
from roundtui.store.checks.trouble import SCENT
from roundtui.store.failures import plainly
from roundtui.store.record.observations import present
from roundtui.store.record.read import programme as read_programme
from roundtui.store.record.rows import ASSEMBLIES, PARTS, SET_UP_CHANGES, VISITS, standing


class KitRecord(Frozen):
    """Present entries of all years up to a day, and the lures that were found later."""

    programme: Programme
    """What is set up."""
    visits: tuple[Visit, ...]
    """Visits that touch lure or body, or found a lure, of traps that ever had a labelled body."""
    assembled: tuple[Assembled, ...]
    """Traps assembled."""
    noted: tuple[PartNoted, ...]
    """Notes on parts."""
    on: date
    """The day."""

    @property
    def known(self) -> KnownParts:
        """What is known of every part."""
        return known_parts(self.programme, self.visits, self.on, self.assembled, self.noted)


def read_kit(conn: sqlite3.Connection, on: date) -> KitRecord:
    """What is on record of parts and traps assembled. It reads all years: not for a summary.

    Args:
        conn: The store.
        on: The day.

    Raises:
        StoreError: The store cannot be read.
    """
    with plainly(conn):
        return KitRecord(
            read_programme(conn),
            tuple(standing(conn, VISITS, f"trap IN (SELECT trap FROM bodies) AND {SCENT}")),  # noqa: S608
            tuple(present(conn, ASSEMBLIES, date.min, on)),
            tuple(present(conn, PARTS, date.min, on)),
            on,
        )


def known_on(conn: sqlite3.Connection, on: date) -> KnownParts:
    """What is known of every part on a day.

    Args:
        conn: The store.
        on: The day.

    Raises:
        StoreError: The store cannot be read.
    """
    return read_kit(conn, on).known


OF_PARTS = (PARTS, ASSEMBLIES, SET_UP_CHANGES)
"""Tables of what becomes of traps between their visits."""


def named_against(conn: sqlite3.Connection, made: Sequence[Assembled]) -> tuple[Problem, ...]:
    """What spoke against traps assembled on their day, as far as it is on record now; each is named, none is refused.

    Args:
        conn: The store.
        made: Entries on record.

    Raises:
        StoreError: The store cannot be read.
    """
    if not made:
        return ()
    kit = read_kit(conn, max(one.assembled_on for one in made))
    found = []
    for one in made:
        before = [other for other in kit.assembled if in_order(other) < in_order(one)]
        known = known_parts(kit.programme, kit.visits, one.assembled_on, before, kit.noted)
        hint = "" if one.despite else "the reason belongs in the column override"
        found += [Problem(sanitize(one.trap, SHOWN), sanitize(said, 200), hint) for said in objections(one, known)]
    return tuple(found)


class Close(Frozen):
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
    """Present visits of the season, in order, of the traps that it did not find at least once."""

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
    with plainly(conn):
        missed = "trap IN (SELECT trap FROM visits WHERE read_on BETWEEN ? AND ? AND no_reading = 'missing')"
        visits = standing(conn, VISITS, f"read_on BETWEEN ? AND ? AND {missed}", first, on, first, on)
    return Close(on, first, last, known_on(conn, on), grouped((visit.trap, visit) for visit in visits))
