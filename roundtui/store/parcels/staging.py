"""Temporary tables that hold what bundles bring until all of it is known to be sound."""

from __future__ import annotations

import hashlib
import re
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import groupby

from roundtui.store.parcels.form import Why
from roundtui.store.rows import JOURNALS, SET_UP_CHANGES, TABLES, TAIL, Row, Table

_REFERENCE = re.compile(r"\s*REFERENCES\s+\w+\s*\(\w+\)")
_LANE = -TAIL[::-1].index("lane") - 1
EVERYTHING = ""
"""Stands for all lanes together where ids are held against each other."""


class WrongRowError(Exception):
    """A row that its table refuses.

    Args:
        at: Place in what was added, from 0.
        why: Why.
        message: What exactly is wrong.
    """

    def __init__(self, at: int, why: Why, message: str) -> None:
        super().__init__(message)
        self.at = at
        self.why = why
        self.message = message


@contextmanager
def tables(conn: sqlite3.Connection) -> Iterator[None]:
    """Make the tables, each with the limits of the one it stands in for, and let go of them in the end.

    Args:
        conn: The store.
    """
    _drop(conn)
    conn.execute("CREATE TEMP TABLE incoming_lanes (lane INTEGER NOT NULL PRIMARY KEY, name TEXT NOT NULL UNIQUE)")
    for table in JOURNALS:
        (sql,) = conn.execute(
            "SELECT sql FROM main.sqlite_master WHERE type = 'table' AND name = ?", (table.name,)
        ).fetchone()
        body = _REFERENCE.sub("", sql[sql.index("(") :])
        conn.execute(f"CREATE TEMP TABLE {_name(table)} {body}")
    try:
        yield
    finally:
        _drop(conn)


def of(table: Table) -> str:
    """Name of the table that stands in for another.

    Args:
        table: The other.
    """
    return f"temp.{_name(table)}"


def add(conn: sqlite3.Connection, rows: Sequence[tuple[Table, Row]]) -> None:
    """Add rows; one that is there as it is counts once.

    Args:
        conn: The store.
        rows: Table and whole row of each, with the name of its lane.

    Raises:
        WrongRowError: One breaks a limit, or its id is there with another content.
    """
    conn.execute("BEGIN")
    try:
        lanes = _lanes(conn, {row[_LANE] for _, row in rows})
        numbered = [
            (at, table, (*row[:_LANE], lanes[row[_LANE]], *row[_LANE + 1 :])) for at, (table, row) in enumerate(rows)
        ]
        for table, group in groupby(sorted(numbered, key=lambda one: one[1].name), key=lambda one: one[1]):
            _add(conn, table, list(group))
        conn.execute("COMMIT")
    except BaseException:
        conn.execute("ROLLBACK")
        raise


def _lanes(conn: sqlite3.Connection, names: set[str]) -> dict[str, int]:
    conn.executemany("INSERT OR IGNORE INTO temp.incoming_lanes (name) VALUES (?)", [(name,) for name in names])
    return dict(conn.execute("SELECT name, lane FROM temp.incoming_lanes"))


def _add(conn: sqlite3.Connection, table: Table, rows: list[tuple[int, Table, Row]]) -> None:
    marks = ", ".join("?" * (len(table.columns) + len(TAIL)))
    statement = f"INSERT INTO {of(table)} ({table.whole}) VALUES ({marks}) ON CONFLICT (id) DO NOTHING"  # noqa: S608
    try:
        added = conn.executemany(statement, [row for _, _, row in rows]).rowcount
    except sqlite3.IntegrityError:
        _name_the_wrong_one(conn, statement, rows)
        raise
    if added < len(rows):
        _refuse_clash(conn, table, rows)


def _name_the_wrong_one(conn: sqlite3.Connection, statement: str, rows: list[tuple[int, Table, Row]]) -> None:
    for at, _, row in rows:
        try:
            conn.execute(statement, row)
        except sqlite3.IntegrityError as error:
            said = str(error).partition("CHECK constraint failed: ")[2] or str(error)
            raise WrongRowError(at, Why.LIMITS, f"entry {row[0]} breaks a limit: {said[:80]}") from error


def _refuse_clash(conn: sqlite3.Connection, table: Table, rows: list[tuple[int, Table, Row]]) -> None:
    for at, _, row in rows:
        (digest,) = conn.execute(f"SELECT digest FROM {of(table)} WHERE id = ?", (row[0],)).fetchone()  # noqa: S608
        if digest != row[-1]:
            raise WrongRowError(at, Why.CLASH, f"entry {row[0]} says something else than under the same id before")


def add_staged(conn: sqlite3.Connection) -> dict[str, int]:
    """Put on record what the temporary tables hold and the record does not, each entry on its lane.

    Args:
        conn: The store, inside a transaction; what is staged was checked.

    Returns:
        How many entries were new, by kind; those that only a newer program knows under no word.
    """
    conn.execute("INSERT OR IGNORE INTO lanes (name) SELECT name FROM temp.incoming_lanes ORDER BY lane")
    added = {}
    for table in JOURNALS:
        listed = ", ".join("known.lane" if one == "lane" else f"new.{one}" for one in table.whole.split(", "))
        done = conn.execute(
            f"INSERT INTO {table.name} ({table.whole}) SELECT {listed}"  # noqa: S608
            f" FROM {of(table)} AS new JOIN temp.incoming_lanes AS come ON come.lane = new.lane"
            " JOIN lanes AS known ON known.name = come.name"
            f" WHERE NOT EXISTS (SELECT 1 FROM {table.name} AS old WHERE old.id = new.id) ORDER BY new.id"
        )
        added[table.kind] = done.rowcount
        conn.execute(
            "UPDATE lanes SET last_no = new.no, last_digest = new.digest, label = new.device"  # noqa: S608
            f" FROM (SELECT come.name, max(s.no) AS no, s.digest, s.device FROM {of(table)} AS s"
            " JOIN temp.incoming_lanes AS come ON come.lane = s.lane GROUP BY come.name) AS new"
            " WHERE lanes.name = new.name AND lanes.last_no < new.no"
        )
    return added


def ids_held(conn: sqlite3.Connection, *, staged: bool = False) -> dict[str, str]:
    """Which entries are on record, or staged: a digest of their ids for each lane, by name, and for all together.

    Args:
        conn: The store.
        staged: Whether those in the temporary tables are meant.
    """
    ids: dict[str, list[str]] = defaultdict(list)
    lanes = "temp.incoming_lanes" if staged else "lanes"
    for table in JOURNALS:
        place = of(table) if staged else table.name
        for lane, entry in conn.execute(f"SELECT l.name, e.id FROM {place} AS e JOIN {lanes} AS l USING (lane)"):  # noqa: S608
            ids[lane].append(entry)
    return {EVERYTHING: digest_of_ids(one for some in ids.values() for one in some)} | {
        lane: digest_of_ids(some) for lane, some in ids.items()
    }


def digest_of_ids(ids: Iterable[str]) -> str:
    """SHA-256 of some ids, in whatever order they come.

    Args:
        ids: The ids.
    """
    return hashlib.sha256("\n".join(sorted(ids)).encode()).hexdigest()


def new_set_up(conn: sqlite3.Connection) -> list[str]:
    """Ids of the changes of set-up rows that are staged and not on record yet, in order.

    Args:
        conn: The store.
    """
    found = conn.execute(
        f"SELECT id FROM {of(SET_UP_CHANGES)} WHERE id NOT IN (SELECT id FROM set_up_changes) ORDER BY id"  # noqa: S608
    )
    return [one for (one,) in found.fetchall()]


def with_unknown_fields(conn: sqlite3.Connection) -> int:
    """How many staged entries that are not on record yet have fields that only a newer program knows.

    Args:
        conn: The store.
    """
    return sum(
        conn.execute(
            f"SELECT count(*) FROM {of(table)} WHERE extra <> '' AND id NOT IN (SELECT id FROM {table.name})"  # noqa: S608
        ).fetchone()[0]
        for table in TABLES.values()
    )


def _name(table: Table) -> str:
    return f"incoming_{table.name}"


def _drop(conn: sqlite3.Connection) -> None:
    for table in JOURNALS:
        conn.execute(f"DROP TABLE IF EXISTS temp.{_name(table)}")
    conn.execute("DROP TABLE IF EXISTS temp.incoming_lanes")
