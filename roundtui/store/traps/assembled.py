"""Traps assembled, and parts put away, as far as what is asked depends on them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from datetime import date

from roundtui.domain.entries import Assembled, PartNoted
from roundtui.domain.programme.farm import TRAP_PARTS, Trap, fill
from roundtui.domain.records import Frozen
from roundtui.store.record.rows import ASSEMBLIES, PARTS

_TAKEN = (
    "SELECT newest.id FROM present_assemblies AS newest WHERE newest.trap = {trap}"
    " AND newest.assembled_on <= {hung_on} AND newest.assembled_on > coalesce("
    "(SELECT max(before.hung_on) FROM traps AS before"
    " WHERE before.trap = {trap} AND before.hung_on < {hung_on}), '')"
    " ORDER BY newest.assembled_on DESC, newest.recorded_at DESC, newest.id DESC LIMIT 1"
)
"""The entry that a hanging was assembled by: the newest since the hanging before."""


class Kit(Frozen):
    """What the scent of bodies depends on beside visits and hangings."""

    assembled: tuple[Assembled, ...] = ()
    """Traps assembled."""
    bodies: tuple[PartNoted, ...] = ()
    """Used bodies."""


def as_assembled(conn: sqlite3.Connection, rows: Sequence[Trap]) -> tuple[Trap, ...]:
    """Hangings with the parts and the lot that they were assembled with, where their rows do not say.

    Args:
        conn: The store.
        rows: The hangings.
    """
    if not _any(conn, "assemblies"):
        return tuple(rows)
    blank = [
        (row.trap, row.hung_on.isoformat())
        for row in rows
        if row.hung_on is not None and not all(getattr(row, name) for name in (*TRAP_PARTS, "lot"))
    ]
    taken = _TAKEN.format(trap="json_extract(value, '$[0]')", hung_on="json_extract(value, '$[1]')")
    found = conn.execute(
        f"SELECT json_extract(value, '$[1]'), {_of('made', ASSEMBLIES.columns)} FROM json_each(?)"  # noqa: S608
        f" CROSS JOIN assemblies AS made WHERE made.id = ({taken})",
        (json.dumps(blank),),
    )
    by_hanging = {(one.trap, hung_on): one for hung_on, *row in found for one in (ASSEMBLIES.entry(tuple(row)),)}
    return tuple(
        fill(row, by_hanging.get((row.trap, row.hung_on.isoformat())) if row.hung_on else None) for row in rows
    )


def kit_of_suspect(conn: sqlite3.Connection, on: date) -> Kit:
    """How the traps that may ever have been in trouble were assembled, and what was noted of their bodies.

    Args:
        conn: The store.
        on: Last day.
    """
    if not _any(conn, "assemblies") and not _any(conn, "parts"):
        return Kit()
    # CROSS JOIN keeps the order of the loops: the few traps first, then each one's own entries.
    made = conn.execute(
        f"SELECT {_of('e', ASSEMBLIES.columns)} FROM suspect_traps AS t CROSS JOIN present_assemblies AS e"  # noqa: S608
        " WHERE e.trap = t.trap AND e.assembled_on <= ? ORDER BY e.assembled_on, e.recorded_at, e.id",
        (on.isoformat(),),
    )
    put_away = conn.execute(
        f"SELECT DISTINCT {_of('e', PARTS.columns)} FROM suspect_traps AS t CROSS JOIN bodies AS b"  # noqa: S608
        " CROSS JOIN present_parts AS e WHERE b.trap = t.trap AND e.label = b.label AND e.part = 'body'"
        " AND e.state <> 'new' AND e.noted_on <= ? ORDER BY e.noted_on, e.recorded_at, e.id",
        (on.isoformat(),),
    )
    return Kit(tuple(map(ASSEMBLIES.entry, made.fetchall())), tuple(map(PARTS.entry, put_away.fetchall())))


def override(conn: sqlite3.Connection, first: date, on: date) -> tuple[Assembled, ...]:
    """Traps that hung in some days and were assembled with a known problem.

    Args:
        conn: The store.
        first: First day.
        on: Last day, included.
    """
    if not _any(conn, "assemblies"):
        return ()
    taken = _TAKEN.format(trap="traps.trap", hung_on="traps.hung_on")
    rows = conn.execute(
        f"SELECT {_of('e', ASSEMBLIES.columns)} FROM traps CROSS JOIN present_assemblies AS e"  # noqa: S608
        " WHERE traps.hung_on <= ?2 AND coalesce(traps.down_on, ?2) >= ?1 AND e.trap = traps.trap AND e.override <> ''"
        f" AND e.id = ({taken}) ORDER BY e.assembled_on, e.recorded_at, e.id",
        (first.isoformat(), on.isoformat()),
    )
    return tuple(map(ASSEMBLIES.entry, rows.fetchall()))


def _any(conn: sqlite3.Connection, table: str) -> bool:
    return conn.execute(f"SELECT 1 FROM {table} LIMIT 1").fetchone() is not None  # noqa: S608


def _of(name: str, columns: Iterable[str]) -> str:
    return ", ".join(f"{name}.{column}" for column in columns)
