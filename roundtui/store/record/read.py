"""Rows of the store as records of the domain."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Iterable
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING

from roundtui.domain.entries import Recorded, Visit, Withdrawal, maker
from roundtui.domain.programme.farm import Block, Farm, Lot, Programme, Station, Stop, Trap, grouped
from roundtui.domain.records import Frozen
from roundtui.store.failures import plainly
from roundtui.store.record import rows as tables
from roundtui.store.record.rows import SHOWN, Only, Row, Table, day, standing

if TYPE_CHECKING:
    from roundtui.domain.figures.rules import Office


PAST_DAYS = 800
"""How long before a season a hanging can matter to it: a trap's own past reaches over two seasons. [d]"""
SUSPECT = "trap IN (SELECT trap FROM suspect_traps)"
"""Whether a trap may ever have been in trouble, as SQL."""


class JournalRow(Frozen):
    """One entry as it was recorded, whatever became of it."""

    kind: str
    """Kind of entry, as ``Table.kind`` has it, or withdrawal."""
    entry: Recorded | Withdrawal
    """The entry."""
    present: bool
    """Whether it still stands: neither corrected nor withdrawn."""
    trap: str | None
    """Trap it is about; None for a block's."""
    block: str | None
    """Block it is about; None for a trap's."""
    read_on: date
    """Day it is about; for a withdrawal that of the entry withdrawn."""

    @property
    def id(self) -> str:
        """Its id."""
        return self.entry.id

    @property
    def recorded_at(self) -> datetime:
        """Instant of recording, UTC."""
        if self.entry.recorded_at is None:
            raise ValueError("an entry on record has its instant")
        return self.entry.recorded_at


def programme(conn: sqlite3.Connection) -> Programme:
    """Everything that is set up.

    Args:
        conn: The store.

    Raises:
        StoreError: The store cannot be read.
    """
    return _programme(conn, "TRUE")


_LATER = (
    "(trap, hung_on) IN (SELECT later.trap, later.hung_on FROM traps AS o CROSS JOIN traps AS later"
    " ON later.trap = o.trap AND later.hung_on > o.hung_on WHERE o.down_on IS NULL)"
)
"""Whether a hanging follows one that nobody closed, and so ends it."""


def programme_on(conn: sqlite3.Connection, on: date) -> Programme:
    """What is set up, of the hangings those alone that were not over before a day.

    Args:
        conn: The store.
        on: The day.

    Raises:
        StoreError: The store cannot be read.
    """
    return _programme(conn, f"(down_on IS NULL OR down_on >= ? OR {_LATER})", on.isoformat())


def programme_for(conn: sqlite3.Connection, on: date, office: Office, only: Only = tables.EVERY) -> Programme:
    """What is set up, without the hangings of years ago that no summary of a day can depend on.

    Args:
        conn: The store.
        on: The day.
        office: For the start of the season.
        only: Blocks and species whose traps are wanted.

    Returns:
        All farms, blocks, stations, lots and routes; of the hangings those of the seasons that can matter, and every
        one of the traps that may ever have been in trouble.

    Raises:
        StoreError: The store cannot be read.
    """
    from roundtui.domain.figures.history import first_day_needed

    since = first_day_needed(on, office.season_starts_on) - timedelta(days=PAST_DAYS)
    wanted, values = tables.traps_of(only)
    return _programme(
        conn, f"(down_on IS NULL OR down_on >= ? OR {SUSPECT} OR {_LATER}) AND {wanted}", since.isoformat(), *values
    )


def hangings(conn: sqlite3.Connection, where: str, *values: str) -> tuple[Trap, ...]:
    """Hangings with what their traps were assembled with.

    Args:
        conn: The store.
        where: Which ones, as SQL.
        values: What its marks stand for.
    """
    from roundtui.store.traps.assembled import as_assembled

    rows = conn.execute(f"SELECT {_TRAP} FROM traps WHERE {where}", values)  # noqa: S608
    return as_assembled(conn, tuple(map(_trap, rows)))


def _programme(conn: sqlite3.Connection, where: str, *values: str) -> Programme:
    with plainly(conn):
        return Programme(
            farms={
                r[0]: Farm(r[0], r[1], r[2], r[3], r[4], r[5] == 1, r[6], r[7])
                for r in conn.execute(f"SELECT {_FARM} FROM farms")  # noqa: S608
            },
            blocks={r[0]: _block(r) for r in conn.execute(f"SELECT {_BLOCK} FROM blocks")},  # noqa: S608
            stations={
                r[0]: Station(*r)
                for r in conn.execute("SELECT station, name, lat, lon, elevation_m, timezone FROM stations")
            },
            traps=hangings(conn, where, *values),
            lots={r[0]: _lot(r) for r in conn.execute(f"SELECT {_LOT} FROM lots")},  # noqa: S608
            stops=tuple(Stop(*r) for r in conn.execute("SELECT route, position, trap FROM stops")),
        )


_FARM = 'farm, name, grower, email, phone, visit_last, property_no, "group"'
_BLOCK = "block, farm, name, crop, variety, area_ha, disrupted, station, no_entry_before, unit_no, markets"
_LOT = "lot, species, load_mg, life_days, note, bought_on, expires_on, kind, substrate"
_TRAP_PLACE = ("lat", "lon", "height_m", "body_label", "funnel_label", "lid_label")
_TRAP = "trap, block, species, style, row, tree, hung_on, down_on, edge, note, lot, " + ", ".join(_TRAP_PLACE)


def _fraction(text: str | None) -> Fraction | None:
    return Fraction(text) if text is not None else None


def _block(r: Row) -> Block:
    markets = tuple(part.strip() for part in r[10].replace(";", ",").split(",") if part.strip())
    place = (r[7] or "", tables.day_or_none(r[8]), r[9], markets)
    return Block(r[0], r[1], r[2], r[3], r[4], _fraction(r[5]), r[6] == 1, *place)


def _lot(r: Row) -> Lot:
    return Lot(r[0], r[1], _fraction(r[2]), r[3], r[4], tables.day_or_none(r[5]), tables.day_or_none(r[6]), r[7], r[8])


_SPECIAL = {"hung_on": "day({})", "down_on": "day({})", "edge": "{} == 1", "lot": "{} or ''"}
_trap = maker(
    Trap,
    "r",
    {name: _SPECIAL.get(name, "{}").format(f"r[{at}]") for at, name in enumerate(_TRAP.split(", "))},
    day=tables.day_or_none,
)


def newest_read_on(conn: sqlite3.Connection, until: date | None = None) -> date | None:
    """Day of the newest present entry about a trap.

    Args:
        conn: The store.
        until: Last day that is looked at: a slip of a laptop's clock may have put a day on record that is to come.

    Returns:
        None where nothing is on record.
    """
    with plainly(conn):
        row = conn.execute(
            "SELECT read_on FROM present_visits WHERE read_on <= ? ORDER BY read_on DESC LIMIT 1",
            ((until or date.max).isoformat(),),
        ).fetchone()
    return day(row[0]) if row else None


def visits_of(conn: sqlite3.Connection, trap: str, first: date, last: date) -> tuple[Visit, ...]:
    """Present visits of a trap, in order.

    Args:
        conn: The store.
        trap: Label of the trap.
        first: First day.
        last: Last day, included.
    """
    with plainly(conn):
        return tuple(standing(conn, tables.VISITS, "trap = ? AND read_on BETWEEN ? AND ?", trap, first, last))


def visits_by_trap(
    conn: sqlite3.Connection, traps: Collection[str] | None, first: date, last: date
) -> dict[str, list[Visit]]:
    """Present visits of some traps, each in order, read in one go.

    Args:
        conn: The store.
        traps: Labels of the traps; None: of all, as far as they say how far a round has come.
        first: First day.
        last: Last day, included.
    """
    among, columns = "trap IN (SELECT value FROM json_each(?3))", () if traps is not None else _OF_ROUNDS
    where = f"read_on BETWEEN ?1 AND ?2 AND {'TRUE' if traps is None else among}"
    values = () if traps is None else (json.dumps(list(traps)),)
    with plainly(conn):
        found = standing(conn, tables.VISITS, where, first, last, *values, columns=columns)
    return grouped((visit.trap, visit) for visit in found)


_OF_ROUNDS = ("trap", "read_on", "count", "no_reading", "recount", "recorded_at", "id")


def same_day(conn: sqlite3.Connection, trap: str, on: date) -> tuple[Visit, ...]:
    """Present visits of a trap on a day, in order.

    Args:
        conn: The store.
        trap: Label of the trap.
        on: The day.
    """
    return visits_of(conn, trap, on, on)


def journal_rows(
    conn: sqlite3.Connection,
    first: date,
    last: date,
    traps: Collection[str] | None = None,
    blocks: Collection[str] | None = None,
) -> tuple[JournalRow, ...]:
    """Entries about the days of a window in the order recorded, with what corrected them or took them back.

    Args:
        conn: The store.
        first: First day of the window.
        last: Last day, included.
        traps: Only entries about these traps; None: all.
        blocks: Only stages, tellings and biofixes of these blocks, and no temperatures; None: all. A question goes with
            the entry that it is about.
    """
    found: list[JournalRow] = []
    with plainly(conn):
        for table in SHOWN:
            found += _in_window(conn, table, first, last, traps=traps, blocks=blocks)
        found += _withdrawals(conn, {row.id: row for row in found})
    return tuple(sorted(found, key=lambda row: (row.recorded_at, row.id)))


def _in_window(
    conn: sqlite3.Connection,
    table: Table,
    first: date,
    last: date,
    *,
    traps: Collection[str] | None,
    blocks: Collection[str] | None,
) -> Iterable[JournalRow]:
    # What set-up files brought is the set-up, and no entry of a round.
    by_hand = " AND change <> 'loaded'" if table is tables.SET_UP_CHANGES else ""
    # A correction may have moved an entry out of the window, or into it: the whole chain belongs together.
    start = f"SELECT id FROM {table.name} WHERE {table.day} BETWEEN ? AND ?{by_hand}"  # noqa: S608
    rows = chain_rows(conn, table, start, first.isoformat(), last.isoformat())
    if traps is None and blocks is None:
        return rows
    chosen = _with_chains(rows, {row.id for row in rows if _among(row.trap, row.block, traps, blocks)})
    return [row for row in rows if row.id in chosen]


CHAIN = (
    "WITH RECURSIVE chain(id) AS ({1} UNION"
    " SELECT later.id FROM chain JOIN {0} AS later ON later.replaces = chain.id UNION"
    " SELECT entry.replaces FROM chain JOIN {0} AS entry ON entry.id = chain.id WHERE entry.replaces IS NOT NULL)"
)
"""Ids of some entries, of all before them and of all after them."""


def chain_rows(conn: sqlite3.Connection, table: Table, start: str, *values: str) -> list[JournalRow]:
    """Entries of a kind, and all that they correct and that correct them.

    Args:
        conn: The store.
        table: Their table.
        start: Their ids, as SQL.
        values: What its marks stand for.
    """
    columns = ", ".join(f"entry.{column}" for column in table.columns)
    rows = conn.execute(
        f"{CHAIN.format(table.name, start)} SELECT {columns}, entry.id IN (SELECT id FROM present_{table.name}"  # noqa: S608
        f" WHERE id = entry.id) FROM chain JOIN {table.name} AS entry ON entry.id = chain.id",
        values,
    )
    return [journal_row(table, row[:-1], present=row[-1] == 1) for row in rows.fetchall()]


def journal_row(table: Table, values: Row, *, present: bool) -> JournalRow:
    """A row of a table as one of the journal.

    Args:
        table: Its table.
        values: Its columns.
        present: Whether it still stands.
    """
    entry = table.entry(values)
    trap, block = getattr(entry, "trap", None), getattr(entry, "block", None)
    return JournalRow(table.kind, entry, present, trap, block, getattr(entry, table.field(table.day).attribute))


def _among(trap: str | None, block: str | None, traps: Collection[str] | None, blocks: Collection[str] | None) -> bool:
    if trap is not None:
        return traps is None or trap in traps
    return blocks is None or block in blocks


def _with_chains(rows: list[JournalRow], chosen: set[str]) -> set[str]:
    """Chosen ids, and those they are tied to by a correction, so that a wrong trap's entry keeps its correction."""
    grown = True
    while grown:
        before = len(chosen)
        for entry in (row.entry for row in rows):
            if entry.replaces is not None and (entry.id in chosen or entry.replaces in chosen):
                chosen |= {entry.id, entry.replaces}
        grown = len(chosen) > before
    return chosen


def _withdrawals(conn: sqlite3.Connection, rows: dict[str, JournalRow]) -> Iterable[JournalRow]:
    for row in conn.execute(f"SELECT {tables.WITHDRAWALS.listed} FROM withdrawals"):  # noqa: S608
        withdrawn = tables.WITHDRAWALS.entry(row)
        about = rows.get(withdrawn.entry)
        if about is not None:
            yield JournalRow("withdrawal", withdrawn, True, about.trap, about.block, about.read_on)


def setting(conn: sqlite3.Connection, key: str) -> str | None:
    """A setting of this folder.

    Args:
        conn: The store.
        key: As ``scout``.

    Returns:
        None where it was never set.
    """
    with plainly(conn):
        row = conn.execute("SELECT value FROM settings WHERE key = ?", (key,)).fetchone()
    return row[0] if row else None


def put_setting(conn: sqlite3.Connection, key: str, value: str) -> None:
    """Keep a setting of this folder.

    Args:
        conn: The store.
        key: As ``scout``.
        value: What to keep.
    """
    with plainly(conn):
        conn.execute(
            "INSERT INTO settings (key, value) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value",
            (key, value),
        )
