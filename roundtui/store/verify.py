"""Is the record what was entered? The file, every digest, the present state worked out anew, clocks, loose ends.

Everything is read and nothing is written. Faults are what must not be; remarks are what a person should know.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass, field

from roundtui.domain.plain import plain
from roundtui.store.failures import plainly
from roundtui.store.lanes import lane_names
from roundtui.store.parcels.merge_checks import in_a_circle
from roundtui.store.rows import JOURNALS, QUESTIONS, STANDING, VISITS, WITHDRAWALS, Row, Table, is_sound
from roundtui.store.trouble import missed
from roundtui.store.verify_clocks import check_clocks

MOST_NAMED = 5
"""How many faults of one kind are named; the rest are counted."""


@dataclass(slots=True)
class Check:
    """One thing that was checked."""

    what: str
    """What, in words."""
    looked_at: int = 0
    """How many things were looked at."""
    faults: list[str] = field(default_factory=list)
    """What must not be."""
    remarks: list[str] = field(default_factory=list)
    """What a person should know; it may have its reasons."""


def verify(conn: sqlite3.Connection, device: str) -> Iterator[Check]:
    """Check the record, one thing after the other.

    Args:
        conn: The store.
        device: Name of this laptop.

    Returns:
        Each check as it is done. Where the file itself is damaged, the others are not worth doing and are left out.

    Raises:
        StoreError: The file cannot be read at all.
    """
    with plainly(conn):
        conn.execute("BEGIN")  # One unchanging view for all checks.
        try:
            file = _check_file(conn)
            yield file
            if file.faults:
                return
            yield _check_digests(conn)
            yield from _check_present(conn)
            yield _check_loose_ends(conn)
            yield _check_troubled(conn)
            yield check_clocks(conn, Check("clocks of the laptops"), device)
        finally:
            if conn.in_transaction:
                conn.execute("ROLLBACK")


def _check_file(conn: sqlite3.Connection) -> Check:
    check = Check("pages of the file")
    (check.looked_at,) = conn.execute("PRAGMA page_count").fetchone()
    for (said,) in conn.execute("PRAGMA integrity_check(20)"):
        if said != "ok":
            check.faults.append(plain(str(said), 200))
    for table, _, parent, _ in conn.execute("PRAGMA foreign_key_check").fetchmany(20):
        check.faults.append(f"a row of {table} names a row of {parent} that is not there")
    return check


def _check_digests(conn: sqlite3.Connection) -> Check:
    check = Check("digests of entries")
    lanes = lane_names(conn)
    for table in JOURNALS:
        for row in conn.execute(f"SELECT {table.whole} FROM {table.name}"):  # noqa: S608
            check.looked_at += 1
            if not is_sound(table, row, lanes):
                check.faults.append(f"{table.kind or 'entry'} {row[0]} is not what was recorded")
    return check


def _check_present(conn: sqlite3.Connection) -> Iterator[Check]:
    """What stands now, from the journal alone, against what the views say."""
    for table in STANDING:
        check = Check(f"present {table.name}, worked out anew")
        standing = present_rows(conn, table)
        for row in conn.execute(f"SELECT {table.listed} FROM present_{table.name}"):  # noqa: S608
            check.looked_at += 1
            if standing.pop(row[0], None) != row:
                check.faults.append(f"{table.kind} {row[0]} is shown and does not stand")
        check.faults += [f"{table.kind} {entry} stands and is not shown" for entry in sorted(standing)]
        yield check


def _check_loose_ends(conn: sqlite3.Connection) -> Check:
    check = Check("references of entries")
    for table, column, known, what in (
        *(
            (table, at, f"SELECT {at} FROM {at}s", at)  # noqa: S608
            for table, at in (*_about(), (QUESTIONS, "trap"), (QUESTIONS, "block"))
        ),
        *((table, "replaces", f"SELECT id FROM {table.name}", "entry") for table in STANDING),  # noqa: S608
    ):
        (count,) = conn.execute(f"SELECT count({column}) FROM {table.name}").fetchone()  # noqa: S608
        check.looked_at += count
        for label, entries in conn.execute(
            f"SELECT {column}, count(*) FROM {table.name} WHERE {column} IS NOT NULL"  # noqa: S608
            f" AND {column} NOT IN ({known}) GROUP BY {column} ORDER BY {column}"
        ):
            check.faults.append(f"{entries} {table.name} name the {what} {plain(label, 40)}, which is not there")
    for entry_id, kind, entry in conn.execute("SELECT id, entry_kind, entry FROM withdrawals").fetchall():
        check.looked_at += 1
        table = next((table for table in STANDING if table.kind == kind), VISITS)
        if not conn.execute(f"SELECT 1 FROM {table.name} WHERE id = ?", (entry,)).fetchone():  # noqa: S608
            check.faults.append(f"withdrawal {entry_id} takes back {kind} {plain(entry, 40)}, which is not there")
    for table in STANDING:
        corrections = dict(
            conn.execute(f"SELECT id, replaces FROM {table.name} WHERE replaces IS NOT NULL")  # noqa: S608
        )
        round_about = in_a_circle(corrections)
        if round_about:
            check.faults.append(f"{table.kind} {round_about} corrects itself in a circle")
    check.faults += _shared_ids(conn)
    return check


def _about() -> Iterator[tuple[Table, str]]:
    """Kinds of entries about something that has to be set up, and the column that names it."""
    for table in STANDING:
        if table.known and table.place in ("trap", "block", "station", "lot"):
            yield table, table.place


def _shared_ids(conn: sqlite3.Connection) -> Iterator[str]:
    for at, table in enumerate(JOURNALS):
        for other in JOURNALS[at + 1 :]:
            for (entry_id,) in conn.execute(
                f"SELECT id FROM {table.name} WHERE id IN (SELECT id FROM {other.name})"  # noqa: S608
            ):
                yield f"{entry_id} is both a {table.kind} and a {other.kind}"


def _check_troubled(conn: sqlite3.Connection) -> Check:
    """Traps whose whole past is looked at must be among those kept for it, or a warning would be missed."""
    check = Check("traps whose lures were ever in question")
    (check.looked_at,) = conn.execute("SELECT count(*) FROM suspect_traps").fetchone()
    check.faults += [f"trap {plain(trap, 40)} is not among them" for trap in missed(conn)]
    return check


def present_rows(conn: sqlite3.Connection, table: Table) -> dict[str, Row]:
    """What stands now of one kind of entry, from the journal alone.

    Args:
        conn: The store.
        table: Its table.
    """
    undone = {row[0] for row in conn.execute(f"SELECT entry FROM {WITHDRAWALS.name}")}  # noqa: S608
    rows = conn.execute(f"SELECT {table.listed} FROM {table.name}").fetchall()  # noqa: S608
    undone |= {row[4] for row in rows if row[4] is not None}
    return {row[0]: row for row in rows if row[0] not in undone}
