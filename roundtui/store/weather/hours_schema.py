"""The table of readings through the day, kept for the temperature at an hour such as sunset."""

from __future__ import annotations

import sqlite3

from roundtui.store.schema import DAY

_HOURS = f"""
CREATE TABLE weather_hours (
    station TEXT NOT NULL REFERENCES stations(station),
    day TEXT NOT NULL {DAY.format("day")},
    clock TEXT NOT NULL CHECK (clock IN ('UTC', 'station')),
    import INTEGER NOT NULL REFERENCES weather_imports(import),
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    readings TEXT NOT NULL CHECK (readings <> ''),
    PRIMARY KEY (station, day, clock, import)
) STRICT, WITHOUT ROWID"""


def add_hours(conn: sqlite3.Connection) -> None:
    """Add the table; like all weather it is kept in versions.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    conn.execute(_HOURS)
    for verb in ("UPDATE", "DELETE"):
        conn.execute(
            f"CREATE TRIGGER weather_hours_no_{verb.lower()} BEFORE {verb} ON weather_hours"
            " BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END"
        )
