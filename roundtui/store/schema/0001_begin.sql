-- Schema 1: the record of a scouting folder.
--
-- This file is frozen: what was released never changes, a later schema is a file of its own. It says all there is and
-- imports nothing. Tables of entries begin and end alike; their rows are added and never changed.

CREATE TABLE lanes (
    lane INTEGER NOT NULL PRIMARY KEY,
    name TEXT NOT NULL UNIQUE CHECK (name <> ''),
    label TEXT NOT NULL DEFAULT '',
    last_no INTEGER NOT NULL DEFAULT 0,
    last_digest BLOB NOT NULL DEFAULT x'' CHECK (length(last_digest) IN (0, 32))
) STRICT;

-- The set-up as it stands.
CREATE TABLE farms (
    farm TEXT NOT NULL PRIMARY KEY CHECK (farm <> ''),
    name TEXT NOT NULL, grower TEXT NOT NULL, email TEXT NOT NULL, phone TEXT NOT NULL,
    visit_last INTEGER NOT NULL CHECK (visit_last IN (0, 1)),
    property_no TEXT NOT NULL DEFAULT '', "group" TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE TABLE stations (
    station TEXT NOT NULL PRIMARY KEY CHECK (station <> ''),
    name TEXT NOT NULL, lat REAL, lon REAL, elevation_m REAL, timezone TEXT NOT NULL
) STRICT;
CREATE TABLE blocks (
    block TEXT NOT NULL PRIMARY KEY CHECK (block <> ''),
    farm TEXT NOT NULL REFERENCES farms(farm),
    name TEXT NOT NULL, crop TEXT NOT NULL, variety TEXT NOT NULL, area_ha TEXT,
    disrupted INTEGER NOT NULL CHECK (disrupted IN (0, 1)),
    station TEXT REFERENCES stations(station),
    no_entry_before TEXT CHECK (no_entry_before GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(no_entry_before) IS no_entry_before),
    unit_no TEXT NOT NULL DEFAULT '', markets TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE TABLE lots (
    lot TEXT NOT NULL PRIMARY KEY CHECK (lot <> ''),
    species TEXT NOT NULL, load_mg TEXT, life_days INTEGER, note TEXT NOT NULL,
    bought_on TEXT CHECK (bought_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(bought_on) IS bought_on),
    expires_on TEXT CHECK (expires_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(expires_on) IS expires_on),
    kind TEXT NOT NULL DEFAULT '', substrate TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE TABLE traps (
    trap TEXT NOT NULL CHECK (trap <> ''),
    hung_on TEXT NOT NULL CHECK (hung_on = '' OR date(hung_on) IS hung_on),
    block TEXT NOT NULL REFERENCES blocks(block),
    species TEXT NOT NULL, style TEXT NOT NULL, row TEXT NOT NULL, tree TEXT NOT NULL,
    down_on TEXT CHECK (down_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(down_on) IS down_on),
    edge INTEGER NOT NULL CHECK (edge IN (0, 1)),
    note TEXT NOT NULL, lot TEXT REFERENCES lots(lot), lat REAL, lon REAL, height_m REAL,
    body_label TEXT NOT NULL, funnel_label TEXT NOT NULL, lid_label TEXT NOT NULL,
    PRIMARY KEY (trap, hung_on)
) STRICT, WITHOUT ROWID;
CREATE TABLE stops (
    route TEXT NOT NULL CHECK (route <> ''), trap TEXT NOT NULL, position INTEGER NOT NULL,
    PRIMARY KEY (route, trap)
) STRICT, WITHOUT ROWID;
CREATE TABLE normals (
    station TEXT NOT NULL REFERENCES stations(station),
    month_day TEXT NOT NULL CHECK (date('2000-' || month_day) IS '2000-' || month_day),
    tmin REAL NOT NULL, tmax REAL NOT NULL,
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    PRIMARY KEY (station, month_day),
    CHECK (tmin <= tmax)
) STRICT, WITHOUT ROWID;
CREATE TABLE species (
    species TEXT NOT NULL PRIMARY KEY CHECK (species <> ''),
    name TEXT NOT NULL, latin TEXT NOT NULL, synonyms TEXT NOT NULL, lure_days INTEGER
) STRICT, WITHOUT ROWID;
CREATE TABLE people (
    person TEXT NOT NULL PRIMARY KEY CHECK (person <> ''),
    may_identify TEXT NOT NULL, trained_on TEXT, trained_by TEXT NOT NULL, valid_until TEXT, licence TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE settings (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE files (
    name TEXT NOT NULL PRIMARY KEY, mtime_ns INTEGER NOT NULL, size INTEGER NOT NULL, digest TEXT NOT NULL,
    loaded_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE loaded (
    file TEXT NOT NULL, key TEXT NOT NULL, digest TEXT NOT NULL, version TEXT NOT NULL DEFAULT '', PRIMARY KEY (file, key)
) STRICT, WITHOUT ROWID;
CREATE TABLE office_files (name TEXT NOT NULL PRIMARY KEY CHECK (name <> ''), text TEXT NOT NULL) STRICT, WITHOUT ROWID;

-- What set_up_changes say of each row: its versions, which took the place of which, and the one that stands here.
CREATE TABLE set_up_versions (
    version TEXT NOT NULL PRIMARY KEY, file TEXT NOT NULL, row TEXT NOT NULL,
    entry TEXT NOT NULL CHECK (length(entry) = 36)
) STRICT, WITHOUT ROWID;
CREATE TABLE set_up_order (
    version TEXT NOT NULL, before TEXT NOT NULL CHECK (before <> version), PRIMARY KEY (version, before)
) STRICT, WITHOUT ROWID;
CREATE TABLE set_up_rows (
    file TEXT NOT NULL, row TEXT NOT NULL, key TEXT NOT NULL, version TEXT NOT NULL, PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;
CREATE INDEX set_up_versions_row ON set_up_versions (file, row);
CREATE INDEX set_up_order_before ON set_up_order (before);
CREATE INDEX set_up_rows_key ON set_up_rows (file, key);
CREATE INDEX set_up_rows_version ON set_up_rows (version);

-- Entries.
CREATE TABLE visits (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    trap TEXT NOT NULL CHECK (trap <> ''),
    read_on TEXT NOT NULL CHECK (read_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(read_on) IS read_on),
    count INTEGER CHECK (count BETWEEN 0 AND 9999),
    no_reading TEXT CHECK (no_reading IN ('skipped', 'closed', 'missing', 'down', 'damaged', 'other')),
    estimated INTEGER NOT NULL DEFAULT 0 CHECK (estimated IN (0, 1)),
    cleared INTEGER NOT NULL DEFAULT 1 CHECK (cleared IN (0, 1)),
    liner INTEGER NOT NULL DEFAULT 0 CHECK (liner IN (0, 1)),
    lure TEXT CHECK (lure <> ''),
    kill_strip INTEGER NOT NULL DEFAULT 0 CHECK (kill_strip IN (0, 1)),
    body TEXT CHECK (body <> ''),
    others INTEGER CHECK (others BETWEEN 0 AND 9999),
    females INTEGER CHECK (females BETWEEN 0 AND 9999),
    sterile INTEGER CHECK (sterile BETWEEN 0 AND 9999),
    lure_found TEXT CHECK (lure_found <> ''),
    read_at TEXT NOT NULL DEFAULT '',
    position TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    recount INTEGER NOT NULL DEFAULT 0 CHECK (recount IN (0, 1)),
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    CHECK (count IS NULL OR no_reading IS NULL),
    CHECK (no_reading IS NOT 'other' OR trim(note) <> ''),
    CHECK (count IS NOT NULL OR (estimated = 0 AND recount = 0)),
    CHECK (females IS NULL OR (count IS NOT NULL AND females <= count))
) STRICT;
CREATE TABLE stages (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    block TEXT NOT NULL CHECK (block <> ''),
    seen_on TEXT NOT NULL CHECK (seen_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(seen_on) IS seen_on),
    code TEXT NOT NULL CHECK (code GLOB '[0-9][0-9]'),
    unchanged INTEGER NOT NULL DEFAULT 0 CHECK (unchanged IN (0, 1)),
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE notifications (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    block TEXT NOT NULL CHECK (block <> ''),
    species TEXT NOT NULL CHECK (species <> ''),
    round_on TEXT NOT NULL CHECK (round_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(round_on) IS round_on),
    status TEXT NOT NULL CHECK (status IN ('below', 'within', 'over', 'cannot-tell', 'no-rule', 'not-read')),
    notified_on TEXT NOT NULL CHECK (notified_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(notified_on) IS notified_on),
    notified_by TEXT NOT NULL,
    how TEXT NOT NULL,
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE biofixes (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    block TEXT NOT NULL CHECK (block <> ''),
    species TEXT NOT NULL CHECK (species <> ''),
    season INTEGER NOT NULL CHECK (season BETWEEN 1900 AND 2199),
    generation INTEGER NOT NULL CHECK (generation BETWEEN 1 AND 9),
    day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(day) IS day),
    proposed TEXT CHECK (proposed GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(proposed) IS proposed),
    rule TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    CHECK (proposed IS day OR trim(reason) <> '')
) STRICT;
CREATE TABLE temperatures (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    station TEXT NOT NULL CHECK (station <> ''),
    day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(day) IS day),
    tmin TEXT NOT NULL CHECK (tmin GLOB '*[0-9]*' AND NOT tmin GLOB '*[^-0-9.]*'),
    tmax TEXT NOT NULL CHECK (tmax GLOB '*[0-9]*' AND NOT tmax GLOB '*[^-0-9.]*'),
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    observed_at TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    CHECK (CAST(tmin AS REAL) <= CAST(tmax AS REAL))
) STRICT;
CREATE TABLE questions (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    entry TEXT NOT NULL CHECK (length(entry) = 36),
    says TEXT NOT NULL CHECK (says IN ('asked', 'answered', 'closed')),
    about_on TEXT NOT NULL CHECK (about_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(about_on) IS about_on),
    words TEXT NOT NULL DEFAULT '',
    trap TEXT CHECK (trap <> ''),
    block TEXT CHECK (block <> ''),
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    CHECK (says = 'closed' OR trim(words) <> '')
) STRICT;
CREATE TABLE samples (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    block TEXT NOT NULL CHECK (block <> ''),
    sampled_on TEXT NOT NULL CHECK (sampled_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(sampled_on) IS sampled_on),
    sample TEXT NOT NULL CHECK (sample IN ('leaf', 'fruit')),
    pest TEXT NOT NULL,
    unit TEXT NOT NULL CHECK (unit <> ''),
    examined INTEGER NOT NULL CHECK (examined BETWEEN 1 AND 99999),
    found INTEGER NOT NULL CHECK (found BETWEEN 0 AND 99999),
    plan TEXT NOT NULL DEFAULT '',
    counted INTEGER CHECK (counted BETWEEN 0 AND 99999),
    grade INTEGER CHECK (grade BETWEEN 0 AND 5),
    beneficials INTEGER CHECK (beneficials BETWEEN 0 AND 99999),
    entries INTEGER CHECK (entries BETWEEN 0 AND 99999),
    stings INTEGER CHECK (stings BETWEEN 0 AND 99999),
    other_injury INTEGER CHECK (other_injury BETWEEN 0 AND 99999),
    trees INTEGER CHECK (trees BETWEEN 1 AND 99999),
    place TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    CHECK (found <= examined),
    CHECK (sample = 'fruit' OR (pest <> '' AND entries IS NULL AND stings IS NULL AND other_injury IS NULL)),
    CHECK (coalesce(stings, 0) + found <= examined),
    CHECK (beneficials IS NULL OR beneficials <= examined),
    CHECK (counted IS NULL OR counted >= found)
) STRICT;
CREATE TABLE treatments (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    block TEXT NOT NULL CHECK (block <> ''),
    species TEXT NOT NULL CHECK (species <> ''),
    treated_on TEXT NOT NULL CHECK (treated_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(treated_on) IS treated_on),
    words TEXT NOT NULL DEFAULT '',
    said_by TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE specimens (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    trap TEXT NOT NULL CHECK (trap <> ''),
    read_on TEXT NOT NULL CHECK (read_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(read_on) IS read_on),
    what TEXT NOT NULL CHECK (what <> ''),
    number INTEGER NOT NULL CHECK (number BETWEEN 0 AND 99999),
    vial TEXT NOT NULL DEFAULT '',
    in_count INTEGER NOT NULL DEFAULT 0 CHECK (in_count IN (0, 1)),
    identified_on TEXT CHECK (identified_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(identified_on) IS identified_on),
    identified_by TEXT NOT NULL DEFAULT '',
    sent_to TEXT NOT NULL DEFAULT '',
    sent_on TEXT CHECK (sent_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(sent_on) IS sent_on),
    confirmed_by TEXT NOT NULL DEFAULT '',
    kept_at TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE parts (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    label TEXT NOT NULL CHECK (label <> ''),
    part TEXT NOT NULL CHECK (part IN ('body', 'funnel', 'lid')),
    species TEXT NOT NULL CHECK (species <> ''),
    state TEXT NOT NULL CHECK (state IN ('new', 'stored', 'lost', 'discarded')),
    noted_on TEXT NOT NULL CHECK (noted_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(noted_on) IS noted_on),
    place TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE assemblies (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    trap TEXT NOT NULL CHECK (trap <> ''),
    species TEXT NOT NULL CHECK (species <> ''),
    assembled_on TEXT NOT NULL CHECK (assembled_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(assembled_on) IS assembled_on),
    body_label TEXT NOT NULL DEFAULT '',
    funnel_label TEXT NOT NULL DEFAULT '',
    lid_label TEXT NOT NULL DEFAULT '',
    lot TEXT NOT NULL DEFAULT '',
    override TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE stocks (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    lot TEXT NOT NULL CHECK (lot <> ''),
    stocked_on TEXT NOT NULL CHECK (stocked_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(stocked_on) IS stocked_on),
    event TEXT NOT NULL CHECK (event IN ('bought', 'counted')),
    number INTEGER NOT NULL CHECK (number BETWEEN 0 AND 99999),
    note TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE checks (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    trap TEXT NOT NULL CHECK (trap <> ''),
    checked_on TEXT NOT NULL CHECK (checked_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(checked_on) IS checked_on),
    result TEXT NOT NULL CHECK (result IN ('passed', 'wrong-place', 'label-gone', 'liner-full', 'lure-past', 'count-differs', 'not-visited', 'planted', 'other')),
    planted INTEGER CHECK (planted BETWEEN 1 AND 999),
    recovered INTEGER CHECK (recovered BETWEEN 0 AND 999),
    note TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE set_up_changes (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    file TEXT NOT NULL CHECK (file <> ''),
    change TEXT NOT NULL CHECK (change <> ''),
    done_on TEXT NOT NULL CHECK (done_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(done_on) IS done_on),
    row TEXT NOT NULL CHECK (json_valid(row)),
    was TEXT NOT NULL DEFAULT '' CHECK (was = '' OR json_valid(was)),
    becomes TEXT NOT NULL DEFAULT '' CHECK (becomes = '' OR json_valid(becomes)),
    after TEXT NOT NULL DEFAULT '',
    trap TEXT CHECK (trap <> ''),
    block TEXT CHECK (block <> ''),
    words TEXT NOT NULL DEFAULT '',
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE sheet_orders (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    route TEXT NOT NULL CHECK (route <> ''),
    traps TEXT NOT NULL CHECK (json_type(traps) = 'array'),
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE double_entries (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    route TEXT NOT NULL CHECK (route <> ''),
    sheet_on TEXT NOT NULL CHECK (sheet_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(sheet_on) IS sheet_on),
    trap TEXT NOT NULL CHECK (trap <> ''),
    read_on TEXT NOT NULL CHECK (read_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(read_on) IS read_on),
    said TEXT NOT NULL CHECK (said <> ''),
    keys INTEGER NOT NULL CHECK (keys BETWEEN 1 AND 99999),
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE settlements (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    route TEXT NOT NULL CHECK (route <> ''),
    sheet_on TEXT NOT NULL CHECK (sheet_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(sheet_on) IS sheet_on),
    trap TEXT NOT NULL CHECK (trap <> ''),
    read_on TEXT NOT NULL CHECK (read_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(read_on) IS read_on),
    kept TEXT NOT NULL CHECK (kept IN ('first', 'second', 'neither', 'none')),
    entry TEXT,
    second TEXT,
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE TABLE withdrawals (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    entry TEXT NOT NULL CHECK (length(entry) = 36),
    entry_kind TEXT NOT NULL CHECK (entry_kind <> ''),
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32),
    CHECK (reason <> ''),
    CHECK (replaces IS NULL)
) STRICT;
CREATE TABLE other_entries (
    id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL CHECK (scout <> ''),
    device TEXT NOT NULL,
    replaces TEXT,
    reason TEXT NOT NULL CHECK (replaces IS NULL OR reason <> ''),
    kind TEXT NOT NULL CHECK (kind <> ''),
    extra TEXT NOT NULL DEFAULT '' CHECK (extra = '' OR json_type(extra) = 'object'),
    lane INTEGER NOT NULL REFERENCES lanes(lane),
    no INTEGER NOT NULL CHECK (no >= 1),
    previous BLOB NOT NULL CHECK (length(previous) IN (0, 32)),
    form INTEGER NOT NULL CHECK (form >= 1),
    digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;

-- Indexes.
CREATE INDEX visits_day ON visits (read_on);
CREATE INDEX visits_trap ON visits (trap, read_on);
CREATE INDEX visits_lure ON visits (trap, read_on) WHERE lure IS NOT NULL;
CREATE INDEX visits_liner ON visits (trap, read_on) WHERE liner = 1;
CREATE INDEX visits_kill_strip ON visits (trap, read_on) WHERE kill_strip = 1;
CREATE INDEX visits_body ON visits (trap, read_on) WHERE body IS NOT NULL;
CREATE INDEX visits_lot ON visits (trap, read_on) WHERE lure IS NOT NULL AND lure <> 'yes' AND lure <> 'none';
CREATE INDEX visits_scent ON visits (trap, read_on)
    WHERE (lure IS NOT NULL OR lure_found IS NOT NULL OR body IS NOT NULL);
CREATE INDEX stages_day ON stages (seen_on);
CREATE INDEX notifications_round ON notifications (round_on);
CREATE INDEX biofixes_season ON biofixes (season, block, species);
CREATE INDEX biofixes_day ON biofixes (day);
CREATE INDEX temperatures_day ON temperatures (day);
CREATE INDEX temperatures_station ON temperatures (station, day);
CREATE INDEX questions_entry ON questions (entry);
CREATE INDEX questions_day ON questions (about_on);
CREATE INDEX withdrawals_entry ON withdrawals (entry);
CREATE INDEX sheet_orders_route ON sheet_orders (route);
CREATE INDEX double_entries_sheet ON double_entries (route, sheet_on);
CREATE INDEX settlements_sheet ON settlements (route, sheet_on);
CREATE INDEX samples_day ON samples (sampled_on);
CREATE INDEX samples_place ON samples (block, sampled_on);
CREATE INDEX treatments_day ON treatments (treated_on);
CREATE INDEX treatments_place ON treatments (block, treated_on);
CREATE INDEX specimens_day ON specimens (read_on);
CREATE INDEX specimens_place ON specimens (trap, read_on);
CREATE INDEX parts_day ON parts (noted_on);
CREATE INDEX parts_place ON parts (label, noted_on);
CREATE INDEX assemblies_day ON assemblies (assembled_on);
CREATE INDEX assemblies_place ON assemblies (trap, assembled_on);
CREATE INDEX stocks_day ON stocks (stocked_on);
CREATE INDEX stocks_place ON stocks (lot, stocked_on);
CREATE INDEX checks_day ON checks (checked_on);
CREATE INDEX checks_place ON checks (trap, checked_on);
CREATE INDEX set_up_changes_day ON set_up_changes (done_on);
CREATE INDEX set_up_changes_place ON set_up_changes (trap, done_on);
CREATE INDEX assemblies_override ON assemblies (trap, assembled_on) WHERE override <> '';
CREATE INDEX visits_replaces ON visits (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX stages_replaces ON stages (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX notifications_replaces ON notifications (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX biofixes_replaces ON biofixes (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX temperatures_replaces ON temperatures (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX questions_replaces ON questions (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX samples_replaces ON samples (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX treatments_replaces ON treatments (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX specimens_replaces ON specimens (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX parts_replaces ON parts (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX assemblies_replaces ON assemblies (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX stocks_replaces ON stocks (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX checks_replaces ON checks (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX set_up_changes_replaces ON set_up_changes (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX sheet_orders_replaces ON sheet_orders (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX double_entries_replaces ON double_entries (replaces) WHERE replaces IS NOT NULL;
CREATE INDEX settlements_replaces ON settlements (replaces) WHERE replaces IS NOT NULL;

-- What stands now: neither corrected nor withdrawn.
CREATE VIEW present_visits AS SELECT * FROM visits AS entry
WHERE NOT EXISTS (SELECT 1 FROM visits AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_stages AS SELECT * FROM stages AS entry
WHERE NOT EXISTS (SELECT 1 FROM stages AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_notifications AS SELECT * FROM notifications AS entry
WHERE NOT EXISTS (SELECT 1 FROM notifications AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_biofixes AS SELECT * FROM biofixes AS entry
WHERE NOT EXISTS (SELECT 1 FROM biofixes AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_temperatures AS SELECT * FROM temperatures AS entry
WHERE NOT EXISTS (SELECT 1 FROM temperatures AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_questions AS SELECT * FROM questions AS entry
WHERE NOT EXISTS (SELECT 1 FROM questions AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_samples AS SELECT * FROM samples AS entry
WHERE NOT EXISTS (SELECT 1 FROM samples AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_treatments AS SELECT * FROM treatments AS entry
WHERE NOT EXISTS (SELECT 1 FROM treatments AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_specimens AS SELECT * FROM specimens AS entry
WHERE NOT EXISTS (SELECT 1 FROM specimens AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_parts AS SELECT * FROM parts AS entry
WHERE NOT EXISTS (SELECT 1 FROM parts AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_assemblies AS SELECT * FROM assemblies AS entry
WHERE NOT EXISTS (SELECT 1 FROM assemblies AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_stocks AS SELECT * FROM stocks AS entry
WHERE NOT EXISTS (SELECT 1 FROM stocks AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_checks AS SELECT * FROM checks AS entry
WHERE NOT EXISTS (SELECT 1 FROM checks AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_set_up_changes AS SELECT * FROM set_up_changes AS entry
WHERE NOT EXISTS (SELECT 1 FROM set_up_changes AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_sheet_orders AS SELECT * FROM sheet_orders AS entry
WHERE NOT EXISTS (SELECT 1 FROM sheet_orders AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_double_entries AS SELECT * FROM double_entries AS entry
WHERE NOT EXISTS (SELECT 1 FROM double_entries AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);
CREATE VIEW present_settlements AS SELECT * FROM settlements AS entry
WHERE NOT EXISTS (SELECT 1 FROM settlements AS later WHERE later.replaces = entry.id)
AND NOT EXISTS (SELECT 1 FROM withdrawals WHERE withdrawals.entry = entry.id);

-- Weather, each day in versions under the import that brought it.
CREATE TABLE weather_imports (
    import INTEGER NOT NULL PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL, device TEXT NOT NULL,
    source TEXT NOT NULL CHECK (source <> ''),
    format TEXT NOT NULL CHECK (format <> '')
) STRICT;
CREATE TABLE weather_days (
    station TEXT NOT NULL REFERENCES stations(station),
    day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(day) IS day),
    import INTEGER NOT NULL REFERENCES weather_imports(import),
    tmin REAL NOT NULL, tmax REAL NOT NULL,
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    observed_at TEXT NOT NULL,
    PRIMARY KEY (station, day, import),
    CHECK (tmin <= tmax)
) STRICT, WITHOUT ROWID;
CREATE TABLE weather_hours (
    station TEXT NOT NULL REFERENCES stations(station),
    day TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(day) IS day),
    clock TEXT NOT NULL CHECK (clock IN ('UTC', 'station')),
    import INTEGER NOT NULL REFERENCES weather_imports(import),
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    readings TEXT NOT NULL CHECK (readings <> ''),
    PRIMARY KEY (station, day, clock, import)
) STRICT, WITHOUT ROWID;
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
    WHERE d.station = h.station AND d.day = h.day AND i.recorded_at > h.recorded_at);

-- Nothing is changed or erased.
CREATE TRIGGER visits_no_update BEFORE UPDATE ON visits
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER visits_no_delete BEFORE DELETE ON visits
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER stages_no_update BEFORE UPDATE ON stages
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER stages_no_delete BEFORE DELETE ON stages
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER notifications_no_update BEFORE UPDATE ON notifications
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER notifications_no_delete BEFORE DELETE ON notifications
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER biofixes_no_update BEFORE UPDATE ON biofixes
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER biofixes_no_delete BEFORE DELETE ON biofixes
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER temperatures_no_update BEFORE UPDATE ON temperatures
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER temperatures_no_delete BEFORE DELETE ON temperatures
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER questions_no_update BEFORE UPDATE ON questions
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER questions_no_delete BEFORE DELETE ON questions
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER samples_no_update BEFORE UPDATE ON samples
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER samples_no_delete BEFORE DELETE ON samples
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER treatments_no_update BEFORE UPDATE ON treatments
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER treatments_no_delete BEFORE DELETE ON treatments
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER specimens_no_update BEFORE UPDATE ON specimens
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER specimens_no_delete BEFORE DELETE ON specimens
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER parts_no_update BEFORE UPDATE ON parts
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER parts_no_delete BEFORE DELETE ON parts
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER assemblies_no_update BEFORE UPDATE ON assemblies
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER assemblies_no_delete BEFORE DELETE ON assemblies
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER stocks_no_update BEFORE UPDATE ON stocks
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER stocks_no_delete BEFORE DELETE ON stocks
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER checks_no_update BEFORE UPDATE ON checks
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER checks_no_delete BEFORE DELETE ON checks
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER set_up_changes_no_update BEFORE UPDATE ON set_up_changes
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER set_up_changes_no_delete BEFORE DELETE ON set_up_changes
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER sheet_orders_no_update BEFORE UPDATE ON sheet_orders
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER sheet_orders_no_delete BEFORE DELETE ON sheet_orders
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER double_entries_no_update BEFORE UPDATE ON double_entries
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER double_entries_no_delete BEFORE DELETE ON double_entries
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER settlements_no_update BEFORE UPDATE ON settlements
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER settlements_no_delete BEFORE DELETE ON settlements
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER withdrawals_no_update BEFORE UPDATE ON withdrawals
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER withdrawals_no_delete BEFORE DELETE ON withdrawals
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER other_entries_no_update BEFORE UPDATE ON other_entries
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER other_entries_no_delete BEFORE DELETE ON other_entries
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER weather_imports_no_update BEFORE UPDATE ON weather_imports
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER weather_imports_no_delete BEFORE DELETE ON weather_imports
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER weather_days_no_update BEFORE UPDATE ON weather_days
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER weather_days_no_delete BEFORE DELETE ON weather_days
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER weather_hours_no_update BEFORE UPDATE ON weather_hours
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;
CREATE TRIGGER weather_hours_no_delete BEFORE DELETE ON weather_hours
BEGIN SELECT RAISE(ABORT, 'entries are never changed or erased: add a correction'); END;

-- Traps whose lures or bodies may ever have been wrong, kept as entries come in: a summary looks at their whole past.
CREATE TABLE suspect_traps (trap TEXT NOT NULL PRIMARY KEY) STRICT, WITHOUT ROWID;
CREATE TABLE bodies (label TEXT NOT NULL, trap TEXT NOT NULL, PRIMARY KEY (label, trap)) STRICT, WITHOUT ROWID;
CREATE TRIGGER visits_lure_troubles AFTER INSERT ON visits
WHEN NEW.lure IS NOT NULL OR NEW.lure_found IS NOT NULL
BEGIN
    INSERT OR IGNORE INTO suspect_traps
    SELECT NEW.trap
    WHERE (NEW.lure = 'none' OR (NEW.lure <> 'yes'
    AND coalesce((SELECT species FROM lots WHERE lot = NEW.lure), NEW.lure) IS NOT (SELECT species FROM traps WHERE traps.trap = NEW.trap LIMIT 1)))
    OR (NEW.lure_found = 'none' OR (NEW.lure_found <> 'yes' AND coalesce((SELECT species FROM lots WHERE lot = NEW.lure_found), NEW.lure_found) IS NOT (SELECT species FROM traps WHERE traps.trap = NEW.trap LIMIT 1)));
END;
CREATE TRIGGER visits_body_troubles AFTER INSERT ON visits
WHEN NEW.body <> 'yes'
BEGIN
    INSERT OR IGNORE INTO bodies VALUES (NEW.body, NEW.trap);
    INSERT OR IGNORE INTO suspect_traps
    SELECT trap FROM bodies
    WHERE label = NEW.body
    AND (SELECT count(*) FROM bodies WHERE label = NEW.body) > 1;
END;
CREATE INDEX bodies_trap ON bodies (trap);
CREATE TRIGGER assemblies_lure_troubles AFTER INSERT ON assemblies
WHEN NEW.lot <> ''
BEGIN
    INSERT OR IGNORE INTO suspect_traps
    SELECT NEW.trap
    WHERE coalesce((SELECT species FROM lots WHERE lots.lot = NEW.lot), NEW.lot) IS NOT coalesce((SELECT species FROM traps WHERE traps.trap = NEW.trap LIMIT 1), NEW.species);
END;
CREATE TRIGGER assemblies_body_troubles AFTER INSERT ON assemblies
WHEN NEW.body_label <> ''
BEGIN
    INSERT OR IGNORE INTO bodies VALUES (NEW.body_label, NEW.trap);
    INSERT OR IGNORE INTO suspect_traps
    SELECT trap FROM bodies
    WHERE label = NEW.body_label
    AND (SELECT count(*) FROM bodies WHERE label = NEW.body_label) > 1;
END;
CREATE TRIGGER bodies_troubles AFTER INSERT ON bodies
BEGIN
    INSERT OR IGNORE INTO suspect_traps
    SELECT NEW.trap FROM parts
    WHERE parts.label = NEW.label
    AND (parts.part = 'body' AND parts.state <> 'new' AND parts.species IS NOT (SELECT species FROM traps WHERE traps.trap = NEW.trap LIMIT 1));
END;
CREATE TRIGGER parts_troubles AFTER INSERT ON parts
BEGIN
    INSERT OR IGNORE INTO suspect_traps
    SELECT bodies.trap FROM bodies
    WHERE bodies.label = NEW.label
    AND (NEW.part = 'body' AND NEW.state <> 'new' AND NEW.species IS NOT (SELECT species FROM traps WHERE traps.trap = bodies.trap LIMIT 1));
END;

-- What the rounds taught of each species, derived from the entries and let go where the set-up changes what they mean.
-- A hanging means something from its day on: the weeks before it stay, numbered from Monday, 1 January of the year 1.
CREATE TABLE rounds_read (species TEXT NOT NULL, week INTEGER NOT NULL, read TEXT NOT NULL, PRIMARY KEY (species, week)) STRICT, WITHOUT ROWID;
CREATE TABLE rounds_taught (since INTEGER NOT NULL, week INTEGER NOT NULL, species TEXT NOT NULL, state TEXT NOT NULL, counts TEXT NOT NULL, PRIMARY KEY (since, week, species)) STRICT, WITHOUT ROWID;
CREATE TRIGGER traps_added_taught AFTER INSERT ON traps
BEGIN
    UPDATE settings SET value = json_set(value, '$.until', min(
        json_extract(value, '$.until'), coalesce(CAST(julianday(NEW.hung_on) - 1721425.5 AS INTEGER) / 7, 0)
    )) WHERE key = 'learned';
END;
CREATE TRIGGER traps_gone_taught AFTER DELETE ON traps
BEGIN
    UPDATE settings SET value = json_set(value, '$.until', min(
        json_extract(value, '$.until'), coalesce(CAST(julianday(OLD.hung_on) - 1721425.5 AS INTEGER) / 7, 0)
    )) WHERE key = 'learned';
END;
CREATE TRIGGER traps_changed_taught AFTER UPDATE OF block, species, hung_on, edge ON traps
BEGIN
    UPDATE settings SET value = json_set(value, '$.until', min(
        json_extract(value, '$.until'), coalesce(CAST(julianday(min(OLD.hung_on, NEW.hung_on)) - 1721425.5 AS INTEGER) / 7, 0)
    )) WHERE key = 'learned';
END;
CREATE TRIGGER blocks_added_taught AFTER INSERT ON blocks
BEGIN DELETE FROM settings WHERE key = 'learned'; END;
CREATE TRIGGER blocks_gone_taught AFTER DELETE ON blocks
BEGIN DELETE FROM settings WHERE key = 'learned'; END;
CREATE TRIGGER lots_changed_taught AFTER UPDATE OF species ON lots
BEGIN DELETE FROM settings WHERE key = 'learned'; END;
CREATE TRIGGER blocks_changed_taught AFTER UPDATE OF disrupted ON blocks
BEGIN DELETE FROM settings WHERE key = 'learned'; END;
