"""Entries that cannot both hold, as they meet when laptops are merged: listed side by side, and settled by a person.

While a conflict is open all its entries stand. Two counts of one trap on one day put the trap's figure out, as for two
scouts. A conflict is settled by further entries, so that settling travels in bundles as everything else does, and two
laptops that settle it differently meet in a conflict again rather than lose a reading.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from roundtui.domain.entries import Visit, Withdrawal
from roundtui.domain.programme.farm import Programme, natural_key
from roundtui.domain.records import Frozen
from roundtui.domain.round.checks import same_scout
from roundtui.store.db import transaction
from roundtui.store.failures import plainly
from roundtui.store.record.journal import Author, record, withdraw
from roundtui.store.record.read import JournalRow, journal_row
from roundtui.store.record.rows import BIOFIXES, SHOWN, VISITS, Entry, Table

SETTLED = "settled"
"""Reason of every entry that settles a conflict."""


class ConflictKind(StrEnum):
    """Why entries cannot both hold."""

    TWO_COUNTS = "two-counts"
    """Two counts of one trap on one day."""
    ONE_SCOUT_TWICE = "one-scout-twice"
    """Two entries of one scout about one trap and day."""
    TWO_CORRECTIONS = "two-corrections"
    """Two corrections of one entry, each of which stands."""
    CORRECTED_AND_WITHDRAWN = "corrected-and-taken-back"
    """A correction that stands, of an entry that was withdrawn elsewhere."""
    TWO_BIOFIXES = "two-biofixes"
    """Two days settled as one biofix."""


_WORDS = {
    ConflictKind.TWO_COUNTS: "two counts of one trap on one day",
    ConflictKind.ONE_SCOUT_TWICE: "two entries of one scout about one trap and day",
    ConflictKind.TWO_CORRECTIONS: "two corrections of one entry",
    ConflictKind.CORRECTED_AND_WITHDRAWN: "corrected on one laptop, withdrawn on another",
    ConflictKind.TWO_BIOFIXES: "two days settled as one biofix",
}


class OpenConflict(Frozen):
    """Entries that cannot all hold, and nobody has said which does."""

    kinds: tuple[ConflictKind, ...]
    """Why not; one or several."""
    entries: tuple[JournalRow, ...]
    """The entries that stand, in the order recorded."""

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the entries."""
        return tuple(row.id for row in self.entries)

    @property
    def words(self) -> str:
        """Why not, in words."""
        return "; ".join(_WORDS[kind] for kind in self.kinds)


def open_conflicts(
    conn: sqlite3.Connection, programme: Programme, since: date | None = None
) -> tuple[OpenConflict, ...]:
    """Everything on record that cannot both hold.

    Args:
        conn: The store.
        programme: What is set up, for the order of farms, blocks and traps.
        since: Only conflicts about this day or later ones; None: all.

    Returns:
        The newest day first, within it by block and trap. Entries tied by several conflicts are listed once.
    """
    first = since.isoformat() if since else ""
    groups: list[tuple[ConflictKind, list[JournalRow]]] = []
    with plainly(conn):
        groups += _same_trap_and_day(conn, first)
        groups += _two_biofixes(conn)
        for table in SHOWN:
            groups += _two_corrections(conn, table)
            groups += _corrected_and_withdrawn(conn, table)
    found = [one for one in _joined(groups) if since is None or any(row.read_on >= since for row in one.entries)]
    return tuple(sorted(found, key=lambda one: _place(programme, one)))


def settle(
    conn: sqlite3.Connection,
    conflict: OpenConflict,
    keep: int | None,
    author: Author,
    now: datetime,
    *,
    recounts: bool = False,
) -> tuple[Entry | Withdrawal, ...]:
    """Say what holds; who said so stays on record.

    Args:
        conn: The store.
        conflict: The conflict.
        keep: Number of the entry that from now on holds, from 1; None: none of them does.
        author: Who settles it.
        now: Instant of settling.
        recounts: Keep the other counts as second looks at the same catch, instead of withdrawing them.

    Returns:
        The entries that settled it, in the order of the conflict's: a correction of the one kept, and for each of the
        others a withdrawal or a correction that marks it as a recount.

    Raises:
        RefusedError: One of the entries was changed meanwhile.
        StoreError: The store cannot be written.
    """
    done: list[Entry | Withdrawal] = []
    with transaction(conn):
        for number, row in enumerate(conflict.entries, 1):
            entry = row.entry
            recount = recounts and isinstance(entry, Visit) and entry.count is not None
            if isinstance(entry, Withdrawal) or (number != keep and not recount):
                done.append(withdraw(conn, row.id, SETTLED, author, now))
                continue
            changed: Any = {} if number == keep else {"recount": True}
            done += record(conn, [replace(entry, replaces=entry.id, reason=SETTLED, **changed)], author, now)
    return tuple(done)


def _same_trap_and_day(conn: sqlite3.Connection, first: str) -> Iterator[tuple[ConflictKind, list[JournalRow]]]:
    # Of all years counted over the index of traps alone, no row being read; of the newest days over that of days, which
    # a plus keeps the database to.
    group = f"{'+' if first else ''}trap, read_on"
    days = conn.execute(
        f"SELECT trap, read_on FROM visits WHERE read_on >= ? GROUP BY {group} HAVING count(*) > 1",  # noqa: S608
        (first,),
    ).fetchall()
    for trap_and_day in days:
        rows = _present(conn, VISITS, "trap = ? AND read_on = ?", trap_and_day)
        visits = {row.id: row.entry for row in rows if isinstance(row.entry, Visit)}
        counts = [row for row in rows if visits[row.id].count is not None and not visits[row.id].recount]
        if len(counts) > 1:
            yield ConflictKind.TWO_COUNTS, counts
        for at, row in enumerate(rows):
            scout, recount = visits[row.id].scout, visits[row.id].recount
            later = [one for one in rows[at + 1 :] if visits[one.id].recount == recount]
            same = [one for one in later if same_scout(visits[one.id].scout, scout)]
            if same:
                yield ConflictKind.ONE_SCOUT_TWICE, [row, *same]


def _two_biofixes(conn: sqlite3.Connection) -> Iterator[tuple[ConflictKind, list[JournalRow]]]:
    settled = conn.execute(
        "SELECT block, species, season, generation FROM present_biofixes"
        " GROUP BY block, species, season, generation HAVING count(DISTINCT day) > 1"
    ).fetchall()
    for one in settled:
        of_it = "block = ? AND species = ? AND season = ? AND generation = ?"
        yield ConflictKind.TWO_BIOFIXES, _present(conn, BIOFIXES, of_it, one)


def _two_corrections(conn: sqlite3.Connection, table: Table) -> Iterator[tuple[ConflictKind, list[JournalRow]]]:
    forked = conn.execute(
        f"SELECT replaces FROM {table.name} WHERE replaces IS NOT NULL GROUP BY replaces HAVING count(*) > 1"  # noqa: S608
    ).fetchall()
    for (entry_id,) in forked:
        later = (
            "id IN (WITH RECURSIVE later(id) AS (SELECT ? UNION"  # noqa: S608
            f" SELECT e.id FROM later JOIN {table.name} AS e ON e.replaces = later.id) SELECT id FROM later)"
        )
        rows = _present(conn, table, later, (entry_id,))
        if len(rows) > 1:
            yield ConflictKind.TWO_CORRECTIONS, rows


def _corrected_and_withdrawn(conn: sqlite3.Connection, table: Table) -> Iterator[tuple[ConflictKind, list[JournalRow]]]:
    rows = _present(conn, table, "replaces IN (SELECT entry FROM withdrawals WHERE entry_kind = ?)", (table.kind,))
    for row in rows:
        yield ConflictKind.CORRECTED_AND_WITHDRAWN, [row]


def _present(conn: sqlite3.Connection, table: Table, where: str, values: Sequence[object]) -> list[JournalRow]:
    rows = conn.execute(
        f"SELECT {table.listed} FROM present_{table.name} WHERE {where} ORDER BY recorded_at, id",  # noqa: S608
        values,
    )
    return [journal_row(table, row, present=True) for row in rows.fetchall()]


def _joined(groups: Iterable[tuple[ConflictKind, list[JournalRow]]]) -> list[OpenConflict]:
    """Groups that share an entry as one conflict."""
    joined: list[tuple[set[ConflictKind], dict[str, JournalRow]]] = []
    for kind, rows in groups:
        kinds, entries = {kind}, {row.id: row for row in rows}
        apart = []
        for other in joined:
            if other[1].keys() & entries.keys():
                kinds |= other[0]
                entries |= other[1]
            else:
                apart.append(other)
        joined = [*apart, (kinds, entries)]
    order = list(ConflictKind)
    return [
        OpenConflict(
            tuple(sorted(kinds, key=order.index)),
            tuple(sorted(entries.values(), key=lambda row: (row.recorded_at, row.id))),
        )
        for kinds, entries in joined
    ]


def _place(programme: Programme, one: OpenConflict) -> tuple[object, ...]:
    row = one.entries[-1]
    hanging = programme.hanging(row.trap, row.read_on) if row.trap else None
    block = row.block or (hanging.block if hanging else "")
    return (-row.read_on.toordinal(), natural_key(block), natural_key(row.trap or ""), row.id)
