"""The tables of what is entered beside the weekly count, and withdrawals that may take any of it back."""

from __future__ import annotations

import sqlite3

from roundtui.store.schema import AUTHOR, DAY
from roundtui.store.trouble import OF_OTHER_USE, OTHER_LOT
from roundtui.store.withdrawal_schema import GUARD, remake_withdrawals

_DIGEST = "digest BLOB NOT NULL CHECK (length(digest) IN (0, 32))"
_FLAG = "INTEGER NOT NULL CHECK ({0} IN (0, 1))"
_NUMBER = "INTEGER CHECK ({0} BETWEEN 0 AND 99999)"
_LABEL = "TEXT NOT NULL CHECK ({0} <> '')"

_COLUMNS = {
    "looks": f"""
    block {_LABEL.format("block")},
    looked_on TEXT NOT NULL {DAY.format("looked_on")},
    kind TEXT NOT NULL CHECK (kind IN ('leaf', 'fruit')),
    pest TEXT NOT NULL,
    looked_at {_LABEL.format("looked_at")},
    looked INTEGER NOT NULL CHECK (looked BETWEEN 1 AND 99999),
    found INTEGER NOT NULL CHECK (found BETWEEN 0 AND looked),
    plan TEXT NOT NULL,
    counted {_NUMBER.format("counted")},
    grade INTEGER CHECK (grade BETWEEN 0 AND 5),
    beneficials INTEGER CHECK (beneficials BETWEEN 0 AND looked),
    entries {_NUMBER.format("entries")},
    stings {_NUMBER.format("stings")},
    other_injury {_NUMBER.format("other_injury")},
    trees INTEGER CHECK (trees BETWEEN 1 AND 99999),
    place TEXT NOT NULL,
    note TEXT NOT NULL,
    CHECK (kind = 'fruit' OR (pest <> '' AND entries IS NULL AND stings IS NULL AND other_injury IS NULL)),
    CHECK (coalesce(stings, 0) + found <= looked),
    CHECK (counted IS NULL OR counted >= found)""",
    "treatments": f"""
    block {_LABEL.format("block")},
    species {_LABEL.format("species")},
    treated_on TEXT NOT NULL {DAY.format("treated_on")},
    words TEXT NOT NULL,
    said_by TEXT NOT NULL""",
    "specimens": f"""
    trap {_LABEL.format("trap")},
    read_on TEXT NOT NULL {DAY.format("read_on")},
    what {_LABEL.format("what")},
    number INTEGER NOT NULL CHECK (number BETWEEN 1 AND 9999),
    vial TEXT NOT NULL,
    in_count {_FLAG.format("in_count")},
    identified_on TEXT {DAY.format("identified_on")},
    identified_by TEXT NOT NULL,
    note TEXT NOT NULL""",
    "parts": f"""
    label {_LABEL.format("label")},
    part TEXT NOT NULL CHECK (part IN ('body', 'funnel', 'lid')),
    species {_LABEL.format("species")},
    state TEXT NOT NULL CHECK (state IN ('new', 'stored', 'lost', 'discarded')),
    noted_on TEXT NOT NULL {DAY.format("noted_on")},
    place TEXT NOT NULL,
    note TEXT NOT NULL""",
    "assemblies": f"""
    trap {_LABEL.format("trap")},
    species {_LABEL.format("species")},
    assembled_on TEXT NOT NULL {DAY.format("assembled_on")},
    body_label TEXT NOT NULL,
    funnel_label TEXT NOT NULL,
    lid_label TEXT NOT NULL,
    lot TEXT NOT NULL,
    despite TEXT NOT NULL""",
    "stocks": f"""
    lot {_LABEL.format("lot")},
    stocked_on TEXT NOT NULL {DAY.format("stocked_on")},
    kind TEXT NOT NULL CHECK (kind IN ('bought', 'counted')),
    number INTEGER NOT NULL CHECK (number BETWEEN 0 AND 99999),
    note TEXT NOT NULL""",
    "set_up_changes": f"""
    file {_LABEL.format("file")},
    deed TEXT NOT NULL CHECK (deed IN ('added', 'edited', 'moved', 'taken-down', 'restored', 'reordered')),
    done_on TEXT NOT NULL {DAY.format("done_on")},
    was TEXT NOT NULL CHECK (was = '' OR json_valid(was)),
    becomes TEXT NOT NULL CHECK (becomes = '' OR json_valid(becomes)),
    trap TEXT CHECK (trap <> ''),
    block TEXT CHECK (block <> ''),
    words TEXT NOT NULL,
    CHECK (was <> becomes)""",
}
"""Columns of each table after those that all tables of entries begin with."""
_SOUGHT = {
    "looks": ("looked_on", "block, looked_on"),
    "treatments": ("treated_on", "block, treated_on"),
    "specimens": ("read_on", "trap, read_on"),
    "parts": ("noted_on", "label, noted_on"),
    "assemblies": ("assembled_on", "trap, assembled_on"),
    "stocks": ("stocked_on", "lot, stocked_on"),
    "set_up_changes": ("done_on", "trap, done_on"),
}
"""Columns by which rows of each are sought."""
_TROUBLED = (
    "CREATE INDEX bodies_trap ON bodies (trap)",
    "CREATE INDEX assemblies_in_spite ON assemblies (trap, assembled_on) WHERE despite <> ''",
    "CREATE TRIGGER assemblies_lure_troubles AFTER INSERT ON assemblies WHEN NEW.lot <> '' BEGIN"
    f" INSERT OR IGNORE INTO troubled SELECT NEW.trap WHERE {OTHER_LOT.format('NEW')}; END",
    "CREATE TRIGGER assemblies_body_troubles AFTER INSERT ON assemblies WHEN NEW.body_label <> '' BEGIN"
    " INSERT OR IGNORE INTO bodies VALUES (NEW.body_label, NEW.trap);"
    " INSERT OR IGNORE INTO troubled SELECT trap FROM bodies WHERE label = NEW.body_label"
    " AND (SELECT count(*) FROM bodies WHERE label = NEW.body_label) > 1; END",
    "CREATE TRIGGER bodies_troubles AFTER INSERT ON bodies BEGIN"  # noqa: S608
    " INSERT OR IGNORE INTO troubled SELECT NEW.trap FROM parts"
    f" WHERE parts.label = NEW.label AND {OF_OTHER_USE.format(part='parts', trap='NEW.trap')}; END",
    "CREATE TRIGGER parts_troubles AFTER INSERT ON parts BEGIN"  # noqa: S608
    " INSERT OR IGNORE INTO troubled SELECT bodies.trap FROM bodies"
    f" WHERE bodies.label = NEW.label AND {OF_OTHER_USE.format(part='NEW', trap='bodies.trap')}; END",
)
"""Traps made up, and bodies put away, keep ``troubled`` up as visits do."""


def add_beside(conn: sqlite3.Connection) -> None:
    """Add the tables, and have withdrawals know them.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    remake_withdrawals(conn, "kind <> ''")
    for table, columns in _COLUMNS.items():
        # A constraint of the table must stand behind its last column: the digest goes before the first of them.
        own, mark, checks = columns.partition(",\n    CHECK (")
        author = AUTHOR.format(replaces=f"REFERENCES {table}(id)")
        conn.execute(f"CREATE TABLE {table} ({author}{own}, {_DIGEST}{mark}{checks}) STRICT")
        for number, sought in enumerate(_SOUGHT[table]):
            conn.execute(f"CREATE INDEX {table}_{('day', 'place')[number]} ON {table} ({sought})")
        conn.execute(f"CREATE INDEX {table}_replaces ON {table} (replaces) WHERE replaces IS NOT NULL")
        conn.execute(
            f"CREATE VIEW present_{table} AS SELECT * FROM {table} AS entry"  # noqa: S608
            f" WHERE NOT EXISTS (SELECT 1 FROM {table} AS later WHERE later.replaces = entry.id)"
            " AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id)"
        )
        for verb in ("UPDATE", "DELETE"):
            conn.execute(GUARD.format(table, verb.lower(), verb))
    for statement in _TROUBLED:
        conn.execute(statement)
