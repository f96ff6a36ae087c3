"""Tables of the season's arithmetic: biofixes settled, temperatures by hand, and daily weather in versions.

What files say of a day is kept as a version of it under the import that brought it, what people enter as an entry like
all others. ``present_weather`` shows, for each station and day, whichever was recorded last; nothing is overwritten.
"""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime

from roundtui.store.device import new_id
from roundtui.store.rows import instant
from roundtui.store.schema import AUTHOR, DAY

_NUMBER = "CHECK ({0} GLOB '*[0-9]*' AND NOT {0} GLOB '*[^-0-9.]*')"

_BIOFIXES = f"""
CREATE TABLE biofixes ({AUTHOR.format(replaces="REFERENCES biofixes(id)")}
    block TEXT NOT NULL CHECK (block <> ''),
    species TEXT NOT NULL CHECK (species <> ''),
    season INTEGER NOT NULL CHECK (season BETWEEN 1900 AND 2199),
    generation INTEGER NOT NULL CHECK (generation BETWEEN 1 AND 9),
    day TEXT NOT NULL {DAY.format("day")},
    proposed TEXT {DAY.format("proposed")},
    rule TEXT NOT NULL,
    digest BLOB NOT NULL CHECK (length(digest) IN (0, 32)),
    CHECK (proposed IS day OR trim(reason) <> '')
) STRICT
"""

_TEMPERATURES = f"""
CREATE TABLE temperatures ({AUTHOR.format(replaces="REFERENCES temperatures(id)")}
    station TEXT NOT NULL CHECK (station <> ''),
    day TEXT NOT NULL {DAY.format("day")},
    tmin TEXT NOT NULL {_NUMBER.format("tmin")},
    tmax TEXT NOT NULL {_NUMBER.format("tmax")},
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    observed_at TEXT NOT NULL,
    note TEXT NOT NULL,
    digest BLOB NOT NULL CHECK (length(digest) IN (0, 32)),
    CHECK (CAST(tmin AS REAL) <= CAST(tmax AS REAL))
) STRICT
"""

_WITHDRAWALS = f"""
CREATE TABLE withdrawals_now ({AUTHOR.format(replaces="CHECK (replaces IS NULL)")}
    kind TEXT NOT NULL CHECK (kind IN ('visit', 'stage', 'told', 'biofix', 'temperature')),
    entry TEXT NOT NULL,
    digest BLOB NOT NULL DEFAULT x'' CHECK (length(digest) IN (0, 32)),
    CHECK (reason <> '')
) STRICT
"""

_WEATHER = (
    """
CREATE TABLE weather_imports (
    import INTEGER NOT NULL PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL, device TEXT NOT NULL,
    source TEXT NOT NULL CHECK (source <> ''),
    format TEXT NOT NULL CHECK (format IN ('weather', 'ghcn', 'hourly'))
) STRICT""",
    f"""
CREATE TABLE weather_days (
    station TEXT NOT NULL REFERENCES stations(station),
    day TEXT NOT NULL {DAY.format("day")},
    import INTEGER NOT NULL REFERENCES weather_imports(import),
    tmin REAL NOT NULL, tmax REAL NOT NULL,
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    observed_at TEXT NOT NULL,
    PRIMARY KEY (station, day, import),
    CHECK (tmin <= tmax)
) STRICT, WITHOUT ROWID""",
)

_PRESENT_WEATHER = """
CREATE VIEW present_weather AS
SELECT d.station, d.day, d.tmin, d.tmax, d.unit, d.observed_at, i.source, i.scout, i.recorded_at
FROM weather_days AS d JOIN weather_imports AS i ON i.import = d.import
WHERE NOT EXISTS (SELECT 1 FROM weather_days AS later
    WHERE later.station = d.station AND later.day = d.day AND later.import > d.import)
AND NOT EXISTS (SELECT 1 FROM present_temperatures AS h
    WHERE h.station = d.station AND h.day = d.day AND h.recorded_at >= i.recorded_at)
UNION ALL
SELECT h.station, h.day, CAST(h.tmin AS REAL), CAST(h.tmax AS REAL), h.unit, h.observed_at, '', h.scout, h.recorded_at
FROM present_temperatures AS h
WHERE NOT EXISTS (SELECT 1 FROM present_temperatures AS later
    WHERE later.station = h.station AND later.day = h.day AND (later.recorded_at, later.id) > (h.recorded_at, h.id))
AND NOT EXISTS (SELECT 1 FROM weather_days AS d JOIN weather_imports AS i ON i.import = d.import
    WHERE d.station = h.station AND d.day = h.day AND i.recorded_at > h.recorded_at)
"""

_GUARD = (
    "CREATE TRIGGER {0}_no_{1} BEFORE {2} ON {0}"
    " BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END"
)


def _present(table: str) -> str:
    return (
        f"CREATE VIEW present_{table} AS SELECT * FROM {table} AS entry"  # noqa: S608
        f" WHERE NOT EXISTS (SELECT 1 FROM {table} AS later WHERE later.replaces = entry.id)"
        " AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id)"
    )


_BEFORE = ("visits", "stages", "tellings")
_NEW = ("biofixes", "temperatures")


def add_season(conn: sqlite3.Connection) -> None:
    """Add the tables; weather that was loaded before becomes the first version of its days.

    Args:
        conn: The store, inside the transaction of a migration.
    """
    for statement in (*_without_views(), _BIOFIXES, _TEMPERATURES, *_WEATHER, *_around()):
        conn.execute(statement)
    _take_over(conn)


def _without_views() -> tuple[str, ...]:
    """The table of withdrawals anew, since it may now take back further kinds of entries."""
    columns = "rowid, id, recorded_at, scout, device, replaces, reason, kind, entry, digest"
    return (
        *(f"DROP VIEW present_{table}" for table in _BEFORE),
        _WITHDRAWALS,
        f"INSERT INTO withdrawals_now ({columns}) SELECT {columns} FROM withdrawals ORDER BY rowid",  # noqa: S608
        "DROP TABLE withdrawals",
        "ALTER TABLE withdrawals_now RENAME TO withdrawals",
    )


def _around() -> tuple[str, ...]:
    return (
        "CREATE INDEX withdrawals_entry ON withdrawals (entry)",
        "CREATE INDEX biofixes_season ON biofixes (season, block, species)",
        "CREATE INDEX biofixes_day ON biofixes (day)",
        "CREATE INDEX temperatures_day ON temperatures (day)",
        "CREATE INDEX temperatures_station ON temperatures (station, day)",
        *(f"CREATE INDEX {table}_replaces ON {table} (replaces) WHERE replaces IS NOT NULL" for table in _NEW),
        *(_present(table) for table in (*_BEFORE, *_NEW)),
        _PRESENT_WEATHER,
        *(
            _GUARD.format(table, verb.lower(), verb)
            for table in ("withdrawals", *_NEW, "weather_imports", "weather_days")
            for verb in ("UPDATE", "DELETE")
        ),
    )


def _take_over(conn: sqlite3.Connection) -> None:
    """Move what the set-up table of before held, and have the file read again for what it did not say."""
    whole = "tmin IS NOT NULL AND tmax IS NOT NULL AND tmin <= tmax AND unit IS NOT NULL"
    loaded = conn.execute("SELECT loaded_at FROM files WHERE name = 'weather.csv'").fetchone()
    if conn.execute(f"SELECT 1 FROM weather WHERE {whole} LIMIT 1").fetchone():  # noqa: S608
        at = datetime.fromisoformat(loaded[0]) if loaded else datetime.fromtimestamp(0, UTC)
        conn.execute(
            "INSERT INTO weather_imports VALUES (1, ?, ?, '', '', 'weather.csv', 'weather')", (new_id(at), instant(at))
        )
        conn.execute(
            "INSERT INTO weather_days SELECT station, date, 1, tmin, tmax, unit, observed_at FROM weather"  # noqa: S608
            f" WHERE {whole}"
        )
    conn.execute("DROP TABLE weather")
    conn.execute("DELETE FROM loaded WHERE file = 'weather.csv'")
    conn.execute("DELETE FROM files WHERE name = 'weather.csv'")
