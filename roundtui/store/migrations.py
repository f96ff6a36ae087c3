"""Ordered steps that bring a store to the present schema.

To add one: write a function below the last, decorate it, and raise ``SCHEMA_VERSION``. A step never changes once it
was released, and nothing is released that cannot read what older versions wrote.
"""

from __future__ import annotations

import sqlite3
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlite_utils import Database
    from sqlite_utils.migrations import Migrations

SCHEMA_VERSION = 10
"""How many steps there are; kept in the file's ``user_version``, so that opening need not look further."""
APPLICATION_ID = 0x726F756E
"""Marks a file as a store of this program: ``roun`` in ASCII."""

_COLUMNS = (
    *(("farms", "property_no"), ("farms", "group")),
    *(("blocks", "unit_no"), ("blocks", "markets")),
    *(("lots", "kind"), ("lots", "substrate")),
)
"""Columns that the tenth step adds."""


def steps() -> Migrations:  # noqa: C901
    """The migrations, oldest first."""
    from sqlite_utils.migrations import Migrations

    migrations = Migrations("roundtui")

    @migrations()
    def the_record(db: Database) -> None:
        from roundtui.store.schema import FIRST

        for statement in FIRST:
            db.conn.execute(statement)

    @migrations()
    def digests(db: Database) -> None:
        from roundtui.store.digests import add_digests

        add_digests(db.conn)

    @migrations()
    def the_season(db: Database) -> None:
        from roundtui.store.season_schema import add_season

        add_season(db.conn)

    @migrations()
    def questions(db: Database) -> None:
        from roundtui.store.question_schema import add_questions

        add_questions(db.conn)

    @migrations()
    def paper_sheets(db: Database) -> None:
        from roundtui.store.sheet_schema import add_sheets

        add_sheets(db.conn)

    @migrations()
    def readings_through_the_day(db: Database) -> None:
        from roundtui.store.weather.hours_schema import add_hours

        add_hours(db.conn)

    @migrations()
    def normal_temperatures(db: Database) -> None:
        from roundtui.store.weather.normals_schema import add_normals

        add_normals(db.conn)

    @migrations()
    def set_up_rows_of_others(db: Database) -> None:
        from roundtui.store.set_up.schema import add_set_up_rows

        add_set_up_rows(db.conn)

    @migrations()
    def beside_the_round(db: Database) -> None:
        from roundtui.store.beside_schema import add_beside

        add_beside(db.conn)

    @migrations()
    def further_set_up_columns(db: Database) -> None:
        for statement in (
            *(f"ALTER TABLE {table} ADD COLUMN \"{column}\" TEXT NOT NULL DEFAULT ''" for table, column in _COLUMNS),
            "CREATE TABLE species (species TEXT NOT NULL PRIMARY KEY CHECK (species <> ''), name TEXT NOT NULL,"
            " latin TEXT NOT NULL, synonyms TEXT NOT NULL, lure_days INTEGER) STRICT, WITHOUT ROWID",
        ):
            db.conn.execute(statement)

    return migrations


def migrate(conn: sqlite3.Connection) -> None:
    """Apply what is due, all or nothing, while no one else can write.

    Args:
        conn: A connection that is in no transaction.
    """
    from sqlite_utils import Database

    conn.execute("BEGIN EXCLUSIVE")
    try:
        if conn.execute("PRAGMA user_version").fetchone()[0] < SCHEMA_VERSION:
            steps().apply(Database(conn))
            conn.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            conn.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")
        conn.execute("COMMIT")
    except BaseException:
        if conn.in_transaction:
            conn.execute("ROLLBACK")
        raise
