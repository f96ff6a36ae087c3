"""The table of normal temperatures, as ``normals.csv`` states them."""

from __future__ import annotations

import sqlite3

_NORMALS = """
CREATE TABLE normals (
    station TEXT NOT NULL REFERENCES stations(station),
    month_day TEXT NOT NULL CHECK (date('2000-' || month_day) IS '2000-' || month_day),
    tmin REAL NOT NULL, tmax REAL NOT NULL,
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    PRIMARY KEY (station, month_day),
    CHECK (tmin <= tmax)
) STRICT, WITHOUT ROWID"""


def add_normals(conn: sqlite3.Connection) -> None:
    """Add the table.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    conn.execute(_NORMALS)
