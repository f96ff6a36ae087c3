"""Tables of paper sheets: the order of their rows, second keyings, and how differences were settled.

None of them holds a catch. A second keying is what somebody read off the paper, and stays apart from the record until
a difference is settled, which is then a correction like any other. Rows are added and never changed.
"""

from __future__ import annotations

import sqlite3

from roundtui.store.schema import AUTHOR, DAY

_LAYOUTS = f"""
CREATE TABLE layouts ({AUTHOR.format(replaces="CHECK (replaces IS NULL)")}
    route TEXT NOT NULL CHECK (route <> ''),
    traps TEXT NOT NULL CHECK (json_type(traps) = 'array')
) STRICT
"""
_KEYINGS = f"""
CREATE TABLE keyings ({AUTHOR.format(replaces="REFERENCES keyings(id)")}
    route TEXT NOT NULL CHECK (route <> ''),
    sheet_on TEXT NOT NULL {DAY.format("sheet_on")},
    trap TEXT NOT NULL CHECK (trap <> ''),
    read_on TEXT NOT NULL {DAY.format("read_on")},
    said TEXT NOT NULL CHECK (said <> ''),
    keys INTEGER NOT NULL CHECK (keys > 0)
) STRICT
"""
_SETTLEMENTS = f"""
CREATE TABLE settlements ({AUTHOR.format(replaces="CHECK (replaces IS NULL)")}
    route TEXT NOT NULL CHECK (route <> ''),
    sheet_on TEXT NOT NULL {DAY.format("sheet_on")},
    trap TEXT NOT NULL CHECK (trap <> ''),
    read_on TEXT NOT NULL {DAY.format("read_on")},
    entry TEXT REFERENCES visits(id),
    keying TEXT REFERENCES keyings(id),
    kept TEXT NOT NULL CHECK (kept IN ('first', 'second', 'neither', 'none'))
) STRICT
"""
TABLES = ("layouts", "keyings", "settlements")
"""Their names."""


def add_sheets(conn: sqlite3.Connection) -> None:
    """Add the tables.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    for statement in (
        _LAYOUTS,
        _KEYINGS,
        _SETTLEMENTS,
        "CREATE INDEX layouts_route ON layouts (route)",
        "CREATE INDEX keyings_sheet ON keyings (route, sheet_on)",
        "CREATE INDEX keyings_replaces ON keyings (replaces) WHERE replaces IS NOT NULL",
        "CREATE INDEX settlements_sheet ON settlements (route, sheet_on)",
        "CREATE VIEW present_keyings AS SELECT * FROM keyings AS row"
        " WHERE NOT EXISTS (SELECT 1 FROM keyings AS later WHERE later.replaces = row.id)",
        *(
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table}"
            " BEGIN SELECT RAISE(ABORT, 'rows of sheets are never changed or erased: add another'); END"
            for table in TABLES
            for verb in ("UPDATE", "DELETE")
        ),
    ):
        conn.execute(statement)
