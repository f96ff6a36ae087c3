"""Warnings after a load: contradictions that were accepted.

A day mistyped in traps.csv can take readings out of every figure; the register is the office's to mend, so it is
applied, and what looks wrong in it is named.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

from roundtui.domain.programme.farm import natural_key
from roundtui.domain.text import plain
from roundtui.errors import Problem

_SHOWN = 40
_MOST_NAMED = 12
TRAPS, LURES, ROUTES = "traps.csv", "lures.csv", "routes.csv"

_NOT_HANGING = """
SELECT trap, count(*), min(read_on) FROM present_visits AS v
WHERE NOT EXISTS (SELECT 1 FROM traps AS t WHERE t.trap = v.trap AND t.hung_on <= v.read_on
    AND (t.down_on IS NULL OR v.read_on <= t.down_on))
GROUP BY trap
"""
_OVERLAPS = """
SELECT a.trap, a.hung_on, a.down_on, b.hung_on FROM traps AS a JOIN traps AS b
ON a.trap = b.trap AND a.hung_on < b.hung_on AND a.down_on > b.hung_on
"""
_SHARED_BODIES = """
SELECT a.body_label, a.trap, b.trap, max(a.hung_on, b.hung_on) FROM traps AS a JOIN traps AS b
ON a.body_label = b.body_label AND a.trap < b.trap
AND (a.down_on IS NULL OR a.down_on > b.hung_on) AND (b.down_on IS NULL OR b.down_on > a.hung_on)
WHERE a.body_label <> ''
"""
_FOREIGN_LOTS = """
SELECT t.trap, t.species, t.lot, l.species FROM traps AS t JOIN lots AS l ON l.lot = t.lot WHERE l.species <> t.species
"""
_ALIKE = "SELECT min(trap), max(trap) FROM (SELECT DISTINCT trap FROM traps) GROUP BY lower(trap) HAVING count(*) > 1"
_IN_NO_ROUTE = """
SELECT DISTINCT trap FROM traps WHERE down_on IS NULL AND trap NOT IN (SELECT trap FROM stops) ORDER BY trap
"""
_EXPIRED = "SELECT lot, bought_on, expires_on FROM lots WHERE expires_on < bought_on"


def register_remarks(conn: sqlite3.Connection) -> list[Problem]:
    """Contradictions of the register as it stands, each with what follows from it.

    Args:
        conn: The store; every entry and every hanging is looked at, so this is for a load that changed the register.
    """
    return [
        *_entries(conn),
        *_hangings(conn),
        *_in_no_route(conn),
        *(
            Problem(
                TRAPS,
                f"{plain(trap, _SHOWN)} is a trap for {own} and is down as hung with lot {plain(lot, _SHOWN)}, a lure"
                f" for {other}",
                "it counts as a wrong lure from the day it was hung; correct the lot if it is not so",
            )
            for trap, own, lot, other in conn.execute(_FOREIGN_LOTS)
        ),
        *(
            Problem(
                LURES,
                f"lot {plain(lot, _SHOWN)} expired on {expires}, before it was bought on {bought}",
                "correct one of the two days",
            )
            for lot, bought, expires in conn.execute(_EXPIRED)
        ),
    ]


def _in_no_route(conn: sqlite3.Connection) -> Iterator[Problem]:
    """Traps that no round would ever come to."""
    labels = sorted((row[0] for row in conn.execute(_IN_NO_ROUTE)), key=natural_key)
    if not labels:
        return
    (every,) = conn.execute("SELECT count(DISTINCT trap) FROM traps WHERE down_on IS NULL").fetchone()
    named = ", ".join(plain(label, _SHOWN) for label in labels[:_MOST_NAMED])
    more = f" and {len(labels) - _MOST_NAMED} more" if len(labels) > _MOST_NAMED else ""
    stand = "hangs" if len(labels) == 1 else "hang"
    yield Problem(
        ROUTES,
        f"{len(labels)} of {every} traps {stand} in no route: {named}{more}",
        "no round reads them; add them to routes.csv, or to a route in the register",
    )


def _entries(conn: sqlite3.Connection) -> Iterator[Problem]:
    for trap, number, first in conn.execute(_NOT_HANGING):
        entries = f"{number} entries" if number > 1 else "an entry"
        yield Problem(
            TRAPS,
            f"{plain(trap, _SHOWN)} has {entries} on days on which it did not hang, the first on {first}",
            "they are in no figure; give the trap a row for each season with the days it hung, or correct the entry",
        )


def _hangings(conn: sqlite3.Connection) -> Iterator[Problem]:
    for trap, hung_on, down_on, again in conn.execute(_OVERLAPS):
        yield Problem(
            TRAPS,
            f"{plain(trap, _SHOWN)} hung from {hung_on or 'day unknown'} to {down_on} and is hung again on {again} "
            "already",
            "the first is taken to end where the second begins; correct one of the two days",
        )
    for label, one, other, since in conn.execute(_SHARED_BODIES):
        yield Problem(
            TRAPS,
            f"body {plain(label, _SHOWN)} is in {plain(one, _SHOWN)} and in {plain(other, _SHOWN)}"
            + (f" from {since}" if since else ""),
            "a scent in one counts for both; correct the label of one",
        )
    for one, other in conn.execute(_ALIKE):
        yield Problem(
            TRAPS,
            f"{plain(one, _SHOWN)} and {plain(other, _SHOWN)} are two traps whose labels differ in the case of letters",
            "give one another label, or the wrong one will be typed",
        )
