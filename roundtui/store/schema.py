"""The tables of the store, as SQL.

What people enter is in ``visits``, ``stages``, ``tellings`` and ``withdrawals``: rows are added and never changed, and
triggers refuse anything else. The checks repeat the limits of the domain. ``present_…`` views show what holds now.
"""

from __future__ import annotations

DAY = "CHECK ({0} GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date({0}) IS {0})"
AUTHOR = """
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT {replaces},
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
"""
"""Columns that every table of entries begins with."""
_FLAG = "INTEGER NOT NULL CHECK ({0} IN (0, 1))"

_VISITS = f"""
CREATE TABLE visits ({AUTHOR.format(replaces="REFERENCES visits(id)")}
    trap TEXT NOT NULL CHECK (trap <> ''),
    read_on TEXT NOT NULL {DAY.format("read_on")},
    count INTEGER CHECK (count BETWEEN 0 AND 9999),
    no_reading TEXT CHECK (no_reading IN ('skipped', 'closed', 'missing', 'down', 'damaged', 'other')),
    cleared {_FLAG.format("cleared")},
    liner {_FLAG.format("liner")},
    lure TEXT CHECK (lure <> ''),
    kill_strip {_FLAG.format("kill_strip")},
    body TEXT CHECK (body <> ''),
    note TEXT NOT NULL,
    others INTEGER CHECK (others BETWEEN 0 AND 9999),
    estimated {_FLAG.format("estimated")},
    lure_found TEXT CHECK (lure_found <> ''),
    recount {_FLAG.format("recount")},
    CHECK (count IS NULL OR no_reading IS NULL),
    CHECK (no_reading IS NOT 'other' OR trim(note) <> ''),
    CHECK (count IS NOT NULL OR (estimated = 0 AND recount = 0)),
    CHECK (count IS NOT NULL OR no_reading IS NOT NULL OR cleared = 0 OR liner = 1 OR lure IS NOT NULL
        OR kill_strip = 1 OR body IS NOT NULL OR others IS NOT NULL OR lure_found IS NOT NULL)
) STRICT
"""

_STAGES = f"""
CREATE TABLE stages ({AUTHOR.format(replaces="REFERENCES stages(id)")}
    block TEXT NOT NULL CHECK (block <> ''),
    seen_on TEXT NOT NULL {DAY.format("seen_on")},
    code TEXT NOT NULL CHECK (code GLOB '[0-9][0-9]'),
    unchanged {_FLAG.format("unchanged")}
) STRICT
"""

_TELLINGS = f"""
CREATE TABLE tellings ({AUTHOR.format(replaces="REFERENCES tellings(id)")}
    block TEXT NOT NULL CHECK (block <> ''),
    species TEXT NOT NULL CHECK (species <> ''),
    round_on TEXT NOT NULL {DAY.format("round_on")},
    status TEXT NOT NULL CHECK (status IN ('below', 'within', 'over', 'cannot-tell', 'no-rule', 'not-read')),
    told_on TEXT NOT NULL {DAY.format("told_on")},
    told_by TEXT NOT NULL,
    how TEXT NOT NULL
) STRICT
"""

_WITHDRAWALS = f"""
CREATE TABLE withdrawals ({AUTHOR.format(replaces="CHECK (replaces IS NULL)")}
    kind TEXT NOT NULL CHECK (kind IN ('visit', 'stage', 'told')),
    entry TEXT NOT NULL,
    CHECK (reason <> '')
) STRICT
"""

SERVICE = {"lure": "lure IS NOT NULL", "liner": "liner = 1", "kill-strip": "kill_strip = 1", "body": "body IS NOT NULL"}
"""What makes a visit one that replaced an item; each has its index, so that the newest is found at once."""
NAMED_LOT = "lure IS NOT NULL AND lure <> 'yes' AND lure <> 'none'"
"""What makes a visit one that names the lot of the lure it put in."""
SCENT = "(lure IS NOT NULL OR lure_found IS NOT NULL OR body IS NOT NULL)"
"""What makes a visit matter to the scent of a trap body."""

_INDEXES = (
    "CREATE INDEX visits_day ON visits (read_on)",
    "CREATE INDEX visits_trap ON visits (trap, read_on)",
    *(
        f"CREATE INDEX visits_{item.replace('-', '_')} ON visits (trap, read_on) WHERE {put_in}"
        for item, put_in in SERVICE.items()
    ),
    f"CREATE INDEX visits_lot ON visits (trap, read_on) WHERE {NAMED_LOT}",
    f"CREATE INDEX visits_scent ON visits (trap, read_on) WHERE {SCENT}",
    *(
        f"CREATE INDEX {table}_replaces ON {table} (replaces) WHERE replaces IS NOT NULL"
        for table in ("visits", "stages", "tellings")
    ),
    "CREATE INDEX stages_day ON stages (seen_on)",
    "CREATE INDEX tellings_round ON tellings (round_on)",
    "CREATE INDEX withdrawals_entry ON withdrawals (entry)",
)

_PRESENT = tuple(
    f"CREATE VIEW present_{table} AS SELECT * FROM {table} AS entry"  # noqa: S608
    f" WHERE NOT EXISTS (SELECT 1 FROM {table} AS later WHERE later.replaces = entry.id)"
    " AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id)"
    for table in ("visits", "stages", "tellings")
)

_APPEND_ONLY = tuple(
    f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table}"
    " BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END"
    for table in ("visits", "stages", "tellings", "withdrawals")
    for verb in ("UPDATE", "DELETE")
)

FOREIGN = (
    "({lure} = 'none' OR ({lure} <> 'yes' AND coalesce((SELECT species FROM lots WHERE lot = {lure}), {lure})"
    " IS NOT (SELECT species FROM traps WHERE traps.trap = {trap} LIMIT 1)))"
)
"""Whether a lure written in an entry is none, or of another species than the trap's."""

_TROUBLED = (
    "CREATE TABLE troubled (trap TEXT NOT NULL PRIMARY KEY) STRICT, WITHOUT ROWID",
    "CREATE TABLE bodies (label TEXT NOT NULL, trap TEXT NOT NULL, PRIMARY KEY (label, trap)) STRICT, WITHOUT ROWID",
    "CREATE TRIGGER visits_lure_troubles AFTER INSERT ON visits"
    " WHEN NEW.lure IS NOT NULL OR NEW.lure_found IS NOT NULL BEGIN"
    " INSERT OR IGNORE INTO troubled SELECT NEW.trap WHERE "
    + " OR ".join(FOREIGN.format(lure=f"NEW.{lure}", trap="NEW.trap") for lure in ("lure", "lure_found"))
    + "; END",
    "CREATE TRIGGER visits_body_troubles AFTER INSERT ON visits WHEN NEW.body <> 'yes' BEGIN"
    " INSERT OR IGNORE INTO bodies VALUES (NEW.body, NEW.trap);"
    " INSERT OR IGNORE INTO troubled SELECT trap FROM bodies WHERE label = NEW.body"
    " AND (SELECT count(*) FROM bodies WHERE label = NEW.body) > 1; END",
)
"""Traps whose lures or bodies may ever have been wrong, kept as entries come in: a superset, so that a summary need
look at the whole past of these alone. A change of traps or lots makes it anew (``trouble.py``)."""

_SET_UP = (
    f"""
CREATE TABLE farms (
    farm TEXT NOT NULL PRIMARY KEY CHECK (farm <> ''),
    name TEXT NOT NULL, grower TEXT NOT NULL, email TEXT NOT NULL, phone TEXT NOT NULL,
    visit_last {_FLAG.format("visit_last")}
) STRICT""",
    """
CREATE TABLE stations (
    station TEXT NOT NULL PRIMARY KEY CHECK (station <> ''),
    name TEXT NOT NULL, lat REAL, lon REAL, elevation_m REAL, timezone TEXT NOT NULL
) STRICT""",
    f"""
CREATE TABLE blocks (
    block TEXT NOT NULL PRIMARY KEY CHECK (block <> ''),
    farm TEXT NOT NULL REFERENCES farms(farm),
    name TEXT NOT NULL, crop TEXT NOT NULL, variety TEXT NOT NULL, area_ha TEXT,
    disrupted {_FLAG.format("disrupted")},
    station TEXT REFERENCES stations(station),
    no_entry_before TEXT {DAY.format("no_entry_before")}
) STRICT""",
    f"""
CREATE TABLE lots (
    lot TEXT NOT NULL PRIMARY KEY CHECK (lot <> ''),
    species TEXT NOT NULL, load_mg TEXT, life_days INTEGER, note TEXT NOT NULL,
    bought_on TEXT {DAY.format("bought_on")}, expires_on TEXT {DAY.format("expires_on")}
) STRICT""",
    f"""
CREATE TABLE traps (
    trap TEXT NOT NULL CHECK (trap <> ''),
    hung_on TEXT NOT NULL CHECK (hung_on = '' OR date(hung_on) IS hung_on),
    block TEXT NOT NULL REFERENCES blocks(block),
    species TEXT NOT NULL, style TEXT NOT NULL, row TEXT NOT NULL, tree TEXT NOT NULL,
    down_on TEXT {DAY.format("down_on")},
    edge {_FLAG.format("edge")},
    note TEXT NOT NULL, lot TEXT REFERENCES lots(lot), lat REAL, lon REAL, height_m REAL,
    body_label TEXT NOT NULL, funnel_label TEXT NOT NULL, lid_label TEXT NOT NULL,
    PRIMARY KEY (trap, hung_on)
) STRICT, WITHOUT ROWID""",
    """
CREATE TABLE stops (
    route TEXT NOT NULL CHECK (route <> ''), trap TEXT NOT NULL, position INTEGER NOT NULL,
    PRIMARY KEY (route, trap)
) STRICT, WITHOUT ROWID""",
    f"""
CREATE TABLE weather (
    station TEXT NOT NULL REFERENCES stations(station),
    date TEXT NOT NULL {DAY.format("date")},
    tmin REAL, tmax REAL, unit TEXT CHECK (unit IN ('F', 'C')), observed_at TEXT NOT NULL,
    PRIMARY KEY (station, date)
) STRICT, WITHOUT ROWID""",
    "CREATE TABLE settings (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID",
    """
CREATE TABLE files (
    name TEXT NOT NULL PRIMARY KEY, mtime_ns INTEGER NOT NULL, size INTEGER NOT NULL, digest TEXT NOT NULL,
    loaded_at TEXT NOT NULL
) STRICT, WITHOUT ROWID""",
    """
CREATE TABLE loaded (
    file TEXT NOT NULL, key TEXT NOT NULL, digest TEXT NOT NULL, PRIMARY KEY (file, key)
) STRICT, WITHOUT ROWID""",
)

FIRST = (
    *_SET_UP,
    _VISITS,
    _STAGES,
    _TELLINGS,
    _WITHDRAWALS,
    *_INDEXES,
    *_PRESENT,
    *_APPEND_ONLY,
    *_TROUBLED,
)
"""Statements of the first migration."""
