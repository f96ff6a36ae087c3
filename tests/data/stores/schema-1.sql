BEGIN TRANSACTION;
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
INSERT INTO "assemblies" VALUES('019e4638-fb40-7257-9869-0f92c813a8b0','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','A1','CM','2026-05-20','D1','','','','','',1,26,X'A09B068A3F79E3C6029DC0320B93066214077D5E20174EA6632A403CBDA9D399',1,X'3CD580E7F21961D412139B93D44AC96849B2D0DBBBD73D91CF19A2A06FF18A78');
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
INSERT INTO "biofixes" VALUES('019e4638-fb40-7257-9869-0f92c80fad61','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','N','CM',2026,1,'2026-05-20','2026-05-20','our-cm','',1,19,X'3275F2CB8E27D687C1E59C9C3055FFD994F7556B697DA7194C964CFCCFD79288',1,X'608BAEE1E08FF8C8992AFD85C9F5C74E33B140E3B2F55C10F82168329C9C1F5C');
CREATE TABLE blocks (
    block TEXT NOT NULL PRIMARY KEY CHECK (block <> ''),
    farm TEXT NOT NULL REFERENCES farms(farm),
    name TEXT NOT NULL, crop TEXT NOT NULL, variety TEXT NOT NULL, area_ha TEXT,
    disrupted INTEGER NOT NULL CHECK (disrupted IN (0, 1)),
    station TEXT REFERENCES stations(station),
    no_entry_before TEXT CHECK (no_entry_before GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(no_entry_before) IS no_entry_before),
    unit_no TEXT NOT NULL DEFAULT '', markets TEXT NOT NULL DEFAULT ''
) STRICT;
INSERT INTO "blocks" VALUES('N','HF','North','apple','',NULL,0,NULL,NULL,'','');
INSERT INTO "blocks" VALUES('S','HF','South','apple','',NULL,0,NULL,NULL,'','');
CREATE TABLE bodies (label TEXT NOT NULL, trap TEXT NOT NULL, PRIMARY KEY (label, trap)) STRICT, WITHOUT ROWID;
INSERT INTO "bodies" VALUES('D1','A1');
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
INSERT INTO "checks" VALUES('019e4638-fb40-7257-9869-0f92c813fb95','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','A1','2026-05-20','planted',10,8,'','',1,28,X'BD8B08073BF761ED11138101DFAE755D4737B8FF9AC443B86555BCA7090CD290',1,X'FD68784904B1F75F933333F295125789B69E3209DED28DADDABCF19EBEBBD22E');
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
CREATE TABLE farms (
    farm TEXT NOT NULL PRIMARY KEY CHECK (farm <> ''),
    name TEXT NOT NULL, grower TEXT NOT NULL, email TEXT NOT NULL, phone TEXT NOT NULL,
    visit_last INTEGER NOT NULL CHECK (visit_last IN (0, 1)),
    property_no TEXT NOT NULL DEFAULT '', "group" TEXT NOT NULL DEFAULT ''
) STRICT;
INSERT INTO "farms" VALUES('HF','Hollow Farm','Ada Birch','','555-0101',0,'','');
CREATE TABLE files (
    name TEXT NOT NULL PRIMARY KEY, mtime_ns INTEGER NOT NULL, size INTEGER NOT NULL, digest TEXT NOT NULL,
    loaded_at TEXT NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO "files" VALUES('blocks.csv',1796036399785615516,55,'c9aea4f4cde1e281ec540c0b588b2ada','2026-05-20T16:30:00.000000Z');
INSERT INTO "files" VALUES('farms.csv',1796036399784686423,57,'f57c2dd091f568da9dd85b68926c81a5','2026-05-20T16:30:00.000000Z');
INSERT INTO "files" VALUES('lures.csv',1796036399786593310,46,'b13b6eb4a0c1d3c33bdc58d03590a03c','2026-05-20T16:30:00.000000Z');
INSERT INTO "files" VALUES('routes.csv',1796036399788837089,60,'f264ea5b75ca0dea4c897710e8d2a368','2026-05-20T16:30:00.000000Z');
INSERT INTO "files" VALUES('stations.csv',1796036399789872692,20,'3c8f606a85e071a95a6d78b1b74eba38','2026-05-20T16:30:00.000000Z');
INSERT INTO "files" VALUES('thresholds.toml',1796036399790816422,23,'ad499b42d98e07e4f3105e5a52e0b1bc78baeaa768b133aba4ccea3d12b1e392','2026-05-20T16:30:00.000000Z');
INSERT INTO "files" VALUES('traps.csv',1796036399787766972,134,'be4cfecf1c59a1e8029931bd33aea673','2026-05-20T16:30:00.000000Z');
CREATE TABLE lanes (
    lane INTEGER NOT NULL PRIMARY KEY,
    name TEXT NOT NULL UNIQUE CHECK (name <> ''),
    label TEXT NOT NULL DEFAULT '',
    last_no INTEGER NOT NULL DEFAULT 0,
    last_digest BLOB NOT NULL DEFAULT x'' CHECK (length(last_digest) IN (0, 32))
) STRICT;
INSERT INTO "lanes" VALUES(1,'c513b939851b.70f93ec81305.1','truck',30,X'9305680A33183F1B05EED57FF92F7AA0FB177193EE20B1C1BDA2A70D7F96B430');
INSERT INTO "lanes" VALUES(2,'0123456789ab.ba9876543210.1','newer',2,X'A7B1308E2D1F6519702986B73B9CA18D949B64BE24EEC3C7B45327CFB2AB5513');
CREATE TABLE loaded (
    file TEXT NOT NULL, key TEXT NOT NULL, digest TEXT NOT NULL, version TEXT NOT NULL DEFAULT '', PRIMARY KEY (file, key)
) STRICT, WITHOUT ROWID;
INSERT INTO "loaded" VALUES('blocks.csv','["N"]','bf67ea2801015a7e7ad3c3d009ba384955341b66f83c449669313cd1f151c20f','fc34b0411eab0a9d07995afd541db6ed');
INSERT INTO "loaded" VALUES('blocks.csv','["S"]','ccad5c5904cb201af4ce494022c082f7e990af70733b4c2039cde58037a57cc1','2f8a306b6112528d69777bce248a3d6f');
INSERT INTO "loaded" VALUES('farms.csv','["HF"]','8f7984b4f3a0c7eab756f5d2d0d91421045c10acae8cfd218a460d55f31ae5f2','86249c1d9c2e0cda82f156ec4aedb390');
INSERT INTO "loaded" VALUES('lures.csv','["CM26"]','595fd6e8ff378a3fdad80ea491a8f051fb21dc21202fa40936efc9c5279a39bc','e95f4c1b62d16732496f9318a8c599ef');
INSERT INTO "loaded" VALUES('lures.csv','["OFM26"]','9450c06f375ef626085b75cd15aa92565855b9e4ad680d696da5fe96212f0ef9','0e00e0525eb778e83b164d1c9d4cde8a');
INSERT INTO "loaded" VALUES('routes.csv','["home","A1"]','a2e3ca12aa09654b737b1d247919bb57c41464020b4f89fb2b50ced0f7aa822a','6a29fb738722754489d0ab3d3d10e464');
INSERT INTO "loaded" VALUES('routes.csv','["home","A2"]','915e6923739f2f479c9eb88e1f581bac99a456bc654ef9856dcc188699bab8c3','3cb3d4901a6a6c081a37a825f33748f0');
INSERT INTO "loaded" VALUES('routes.csv','["home","A3"]','20b9d20b05d08e2db55b45e114ed561b60509f4ed724cdd5d340afa16b0d28c1','1280add419e3040b3017ca3e4a76a47b');
INSERT INTO "loaded" VALUES('routes.csv','["home","A4"]','17397810a53b2cbb876cf048f4c6153d36302c4360aee6017ae3972b3e0b6e09','02b7ab75ce634441135b8e62db0a11b2');
INSERT INTO "loaded" VALUES('stations.csv','["V"]','5dd4e6cf9736e25fdceb986c2cae078c29ed853fee099aa8df9bc97757730798','4276413cae321a4d37cdc441c3800a18');
INSERT INTO "loaded" VALUES('thresholds.toml','["thresholds.toml"]','ad499b42d98e07e4f3105e5a52e0b1bc78baeaa768b133aba4ccea3d12b1e392','98f7fcb969dba062ffc8b04b0aa26131');
INSERT INTO "loaded" VALUES('traps.csv','["A1","2026-04-20"]','37d3988767992220d430f1c8450e1025e5a9bc997224f186bb9833bcbdd086c1','36e24cd87fbc0c69871557069bacaba4');
INSERT INTO "loaded" VALUES('traps.csv','["A2","2026-04-20"]','7d2858d93409073db0e42040fa1e784a2262733da543525c5755cf6cc4aaa4f5','b043a05213ce332e32082770f6c1486c');
INSERT INTO "loaded" VALUES('traps.csv','["A3","2026-04-20"]','039f4751fdb1083c492ed2247e86bd33a4fd1fc78a9d1edbd188f5523b112f61','698c091cd123c539f82ccca7bd172361');
INSERT INTO "loaded" VALUES('traps.csv','["A4","2026-04-20"]','d15e129b8a80f884dea258105207b42715307c5656548c4d4ad7a2fbd5fd114e','2c7396eddc642d91d68d40621242a1e7');
CREATE TABLE lots (
    lot TEXT NOT NULL PRIMARY KEY CHECK (lot <> ''),
    species TEXT NOT NULL, load_mg TEXT, life_days INTEGER, note TEXT NOT NULL,
    bought_on TEXT CHECK (bought_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(bought_on) IS bought_on),
    expires_on TEXT CHECK (expires_on GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]' AND date(expires_on) IS expires_on),
    kind TEXT NOT NULL DEFAULT '', substrate TEXT NOT NULL DEFAULT ''
) STRICT;
INSERT INTO "lots" VALUES('CM26','CM',NULL,42,'',NULL,NULL,'','');
INSERT INTO "lots" VALUES('OFM26','OFM',NULL,42,'',NULL,NULL,'','');
CREATE TABLE normals (
    station TEXT NOT NULL REFERENCES stations(station),
    month_day TEXT NOT NULL CHECK (date('2000-' || month_day) IS '2000-' || month_day),
    tmin REAL NOT NULL, tmax REAL NOT NULL,
    unit TEXT NOT NULL CHECK (unit IN ('F', 'C')),
    PRIMARY KEY (station, month_day),
    CHECK (tmin <= tmax)
) STRICT, WITHOUT ROWID;
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
INSERT INTO "notifications" VALUES('019e4638-fb40-7257-9869-0f92c80f6894','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','N','CM','2026-05-20','over','2026-05-20','Bo','phone','',1,18,X'83806998672214CF7B18691A2166AF5DA77330308EF8A49D82F2D3DC50CFDC56',1,X'3275F2CB8E27D687C1E59C9C3055FFD994F7556B697DA7194C964CFCCFD79288');
CREATE TABLE office_files (name TEXT NOT NULL PRIMARY KEY CHECK (name <> ''), text TEXT NOT NULL) STRICT, WITHOUT ROWID;
INSERT INTO "office_files" VALUES('thresholds.toml','# None of our own yet.
');
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
INSERT INTO "other_entries" VALUES('019e5000-0000-7000-8000-000000000002','2026-05-21T08:00:00.000000Z','Cy','newer',NULL,'','frost','{"block":"S","browned":3,"seen_on":"2026-05-20"}',2,2,X'1EA6F49FD726F06AF523C4A57583D46049F834B7BAC22BAB8C28DAFE3CBD1F47',1,X'A7B1308E2D1F6519702986B73B9CA18D949B64BE24EEC3C7B45327CFB2AB5513');
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
INSERT INTO "parts" VALUES('019e4638-fb40-7257-9869-0f92c812e5d5','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','D1','body','CM','stored','2026-05-20','','','',1,25,X'57373227181F9C37492882D78F645F8955B05D5005E2112B751177000D2F0BFA',1,X'A09B068A3F79E3C6029DC0320B93066214077D5E20174EA6632A403CBDA9D399');
CREATE TABLE people (
    person TEXT NOT NULL PRIMARY KEY CHECK (person <> ''),
    may_identify TEXT NOT NULL, trained_on TEXT, trained_by TEXT NOT NULL, valid_until TEXT, licence TEXT NOT NULL
) STRICT, WITHOUT ROWID;
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
INSERT INTO "questions" VALUES('019e4638-fb40-7257-9869-0f92c8106c76','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','eeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeeee','asked','2026-05-20','40 or 4?','A1',NULL,'',1,21,X'B267DB4946949C64E36985A9EA39FD359A0FBAB60F4D6BBB60FC511EA1F8E362',1,X'7C8C9282B1E9C334E2681B889FFC6F294859E9D6E2B7F7A9E5E2395EA8444EF3');
CREATE TABLE rounds_read (species TEXT NOT NULL, week INTEGER NOT NULL, read TEXT NOT NULL, PRIMARY KEY (species, week)) STRICT, WITHOUT ROWID;
CREATE TABLE rounds_taught (since INTEGER NOT NULL, week INTEGER NOT NULL, species TEXT NOT NULL, state TEXT NOT NULL, counts TEXT NOT NULL, PRIMARY KEY (since, week, species)) STRICT, WITHOUT ROWID;
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
INSERT INTO "samples" VALUES('019e4638-fb40-7257-9869-0f92c810823d','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','N','2026-05-20','leaf','OBLR','shoot',60,1,'',NULL,NULL,NULL,NULL,NULL,NULL,NULL,'','','',1,22,X'7C8C9282B1E9C334E2681B889FFC6F294859E9D6E2B7F7A9E5E2395EA8444EF3',1,X'A63BF0811DAB7817A4AF47D2FC08F0D1689DA2C134DA677DB6A2851CF6E331D7');
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
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80770f7','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','stations.csv','loaded','2026-05-20','["V"]','','{"name": "Vale", "station": "V"}','',NULL,NULL,'','',1,1,X'',1,X'BEB0F566D60543204694C3302DB42A74F61490A7E04474CB12C8BF3B2720382F');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80840f7','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','farms.csv','loaded','2026-05-20','["HF"]','','{"farm": "HF", "grower": "Ada Birch", "name": "Hollow Farm", "phone": "555-0101"}','',NULL,NULL,'','',1,2,X'BEB0F566D60543204694C3302DB42A74F61490A7E04474CB12C8BF3B2720382F',1,X'8D4B1A89A1093B54CE54E6CCF3DF0CB40515E8CA099FC5C5A5A3B2464FE931D5');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c808ef7a','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','blocks.csv','loaded','2026-05-20','["N"]','','{"block": "N", "crop": "apple", "farm": "HF", "name": "North"}','',NULL,'N','','',1,3,X'8D4B1A89A1093B54CE54E6CCF3DF0CB40515E8CA099FC5C5A5A3B2464FE931D5',1,X'A5A30A33D6D778E8C542EA555805C51D8158546CF1CA35313AAB9D372F189C36');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80979ad','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','blocks.csv','loaded','2026-05-20','["S"]','','{"block": "S", "crop": "apple", "farm": "HF", "name": "South"}','',NULL,'S','','',1,4,X'A5A30A33D6D778E8C542EA555805C51D8158546CF1CA35313AAB9D372F189C36',1,X'475DC19BD67E5A8463DBD6D28771AA95C61ED96B2C82DF7ECAD56792893F122B');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c809a4be','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','lures.csv','loaded','2026-05-20','["CM26"]','','{"life_days": 42, "lot": "CM26", "species": "CM"}','',NULL,NULL,'','',1,5,X'475DC19BD67E5A8463DBD6D28771AA95C61ED96B2C82DF7ECAD56792893F122B',1,X'F5A507C7BBE44CE8B5115732ACE67594A87F1FFE6D71D559A03AEB1520670C06');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c809ff6d','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','lures.csv','loaded','2026-05-20','["OFM26"]','','{"life_days": 42, "lot": "OFM26", "species": "OFM"}','',NULL,NULL,'','',1,6,X'F5A507C7BBE44CE8B5115732ACE67594A87F1FFE6D71D559A03AEB1520670C06',1,X'AB55D97E8E16BED94B1D2BAA88C181D75B23D840CE23B7381BFBE9D779844E43');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80a03f4','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','traps.csv','loaded','2026-05-20','["A1","2026-04-20"]','','{"block": "N", "hung_on": "2026-04-20", "species": "CM", "style": "delta", "trap": "A1"}','','A1','N','','',1,7,X'AB55D97E8E16BED94B1D2BAA88C181D75B23D840CE23B7381BFBE9D779844E43',1,X'260EC689B94C8426E7CE061929957E48681396D1D635246FF57C8707B7B096C9');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80a0b5f','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','traps.csv','loaded','2026-05-20','["A2","2026-04-20"]','','{"block": "N", "hung_on": "2026-04-20", "species": "CM", "style": "delta", "trap": "A2"}','','A2','N','','',1,8,X'260EC689B94C8426E7CE061929957E48681396D1D635246FF57C8707B7B096C9',1,X'D661316A52F9E27CFCCD17FCE0F2EA9A74B8D097A307EC42A24DB2696B413F7A');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80a3755','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','traps.csv','loaded','2026-05-20','["A3","2026-04-20"]','','{"block": "N", "hung_on": "2026-04-20", "species": "CM", "style": "delta", "trap": "A3"}','','A3','N','','',1,9,X'D661316A52F9E27CFCCD17FCE0F2EA9A74B8D097A307EC42A24DB2696B413F7A',1,X'A201CC67D51D8C7031FB47A836E27F404F73D341DE9D6B24B54ADFA9E57E9456');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80ab69b','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','traps.csv','loaded','2026-05-20','["A4","2026-04-20"]','','{"block": "S", "hung_on": "2026-04-20", "species": "OFM", "style": "delta", "trap": "A4"}','','A4','S','','',1,10,X'A201CC67D51D8C7031FB47A836E27F404F73D341DE9D6B24B54ADFA9E57E9456',1,X'81B4A193EFAD049AA4D9B262F737C474756325451841979F2987E524245DC0E3');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80adc62','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','routes.csv','loaded','2026-05-20','["home","A1"]','','{"position": 1, "route": "home", "trap": "A1"}','','A1',NULL,'','',1,11,X'81B4A193EFAD049AA4D9B262F737C474756325451841979F2987E524245DC0E3',1,X'9141E5E2489E7FF3F88FDAB9770028B7D3DF05930DFE52D91D0A6ED1BE9A17D9');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80b8071','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','routes.csv','loaded','2026-05-20','["home","A2"]','','{"position": 2, "route": "home", "trap": "A2"}','','A2',NULL,'','',1,12,X'9141E5E2489E7FF3F88FDAB9770028B7D3DF05930DFE52D91D0A6ED1BE9A17D9',1,X'A6A45B72DA3CAF85B42CD49809D07D9F257AA8259E358288543E790362B36ACC');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80c0544','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','routes.csv','loaded','2026-05-20','["home","A3"]','','{"position": 3, "route": "home", "trap": "A3"}','','A3',NULL,'','',1,13,X'A6A45B72DA3CAF85B42CD49809D07D9F257AA8259E358288543E790362B36ACC',1,X'93F4462666C0977A046E7F5759C71A377A7A5D00BCE6867196D9DD9C8FD16D93');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80c8c69','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','routes.csv','loaded','2026-05-20','["home","A4"]','','{"position": 4, "route": "home", "trap": "A4"}','','A4',NULL,'','',1,14,X'93F4462666C0977A046E7F5759C71A377A7A5D00BCE6867196D9DD9C8FD16D93',1,X'0B62E0FDC76D9F8BE703BCC1C8BBA9D52BFD4B9B5C5AB50188FE26B86FB17D56');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c80d07dd','2026-05-20T16:30:00.000000Z','set-up files','vm',NULL,'','thresholds.toml','loaded','2026-05-20','["thresholds.toml"]','','{"name": "thresholds.toml", "text": "# None of our own yet.\n"}','',NULL,NULL,'','',1,15,X'0B62E0FDC76D9F8BE703BCC1C8BBA9D52BFD4B9B5C5AB50188FE26B86FB17D56',1,X'C771EA9196E35D065DC28BBF6DC8D67F30EEAD85148830495CABD8D48DCEA659');
INSERT INTO "set_up_changes" VALUES('019e4638-fb40-7257-9869-0f92c8149082','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','traps.csv','edited','2026-05-20','["A1",""]','{"row": "3"}','{"row": "4"}','','A1',NULL,'','',1,29,X'FD68784904B1F75F933333F295125789B69E3209DED28DADDABCF19EBEBBD22E',1,X'C286B24E63905B3FF134F4375779DA44AC2B78285DD4A7AF3BF9A7FCBBDBAA33');
CREATE TABLE set_up_order (
    version TEXT NOT NULL, before TEXT NOT NULL CHECK (before <> version), PRIMARY KEY (version, before)
) STRICT, WITHOUT ROWID;
CREATE TABLE set_up_rows (
    file TEXT NOT NULL, row TEXT NOT NULL, key TEXT NOT NULL, version TEXT NOT NULL, PRIMARY KEY (file, row)
) STRICT, WITHOUT ROWID;
INSERT INTO "set_up_rows" VALUES('blocks.csv','["N"]','["N"]','fc34b0411eab0a9d07995afd541db6ed');
INSERT INTO "set_up_rows" VALUES('blocks.csv','["S"]','["S"]','2f8a306b6112528d69777bce248a3d6f');
INSERT INTO "set_up_rows" VALUES('farms.csv','["HF"]','["HF"]','86249c1d9c2e0cda82f156ec4aedb390');
INSERT INTO "set_up_rows" VALUES('lures.csv','["CM26"]','["CM26"]','e95f4c1b62d16732496f9318a8c599ef');
INSERT INTO "set_up_rows" VALUES('lures.csv','["OFM26"]','["OFM26"]','0e00e0525eb778e83b164d1c9d4cde8a');
INSERT INTO "set_up_rows" VALUES('routes.csv','["home","A1"]','["home","A1"]','6a29fb738722754489d0ab3d3d10e464');
INSERT INTO "set_up_rows" VALUES('routes.csv','["home","A2"]','["home","A2"]','3cb3d4901a6a6c081a37a825f33748f0');
INSERT INTO "set_up_rows" VALUES('routes.csv','["home","A3"]','["home","A3"]','1280add419e3040b3017ca3e4a76a47b');
INSERT INTO "set_up_rows" VALUES('routes.csv','["home","A4"]','["home","A4"]','02b7ab75ce634441135b8e62db0a11b2');
INSERT INTO "set_up_rows" VALUES('stations.csv','["V"]','["V"]','4276413cae321a4d37cdc441c3800a18');
INSERT INTO "set_up_rows" VALUES('thresholds.toml','["thresholds.toml"]','["thresholds.toml"]','98f7fcb969dba062ffc8b04b0aa26131');
INSERT INTO "set_up_rows" VALUES('traps.csv','["A1","2026-04-20"]','["A1","2026-04-20"]','36e24cd87fbc0c69871557069bacaba4');
INSERT INTO "set_up_rows" VALUES('traps.csv','["A2","2026-04-20"]','["A2","2026-04-20"]','b043a05213ce332e32082770f6c1486c');
INSERT INTO "set_up_rows" VALUES('traps.csv','["A3","2026-04-20"]','["A3","2026-04-20"]','698c091cd123c539f82ccca7bd172361');
INSERT INTO "set_up_rows" VALUES('traps.csv','["A4","2026-04-20"]','["A4","2026-04-20"]','2c7396eddc642d91d68d40621242a1e7');
CREATE TABLE set_up_versions (
    version TEXT NOT NULL PRIMARY KEY, file TEXT NOT NULL, row TEXT NOT NULL,
    entry TEXT NOT NULL CHECK (length(entry) = 36)
) STRICT, WITHOUT ROWID;
INSERT INTO "set_up_versions" VALUES('02b7ab75ce634441135b8e62db0a11b2','routes.csv','["home","A4"]','019e4638-fb40-7257-9869-0f92c80c8c69');
INSERT INTO "set_up_versions" VALUES('0e00e0525eb778e83b164d1c9d4cde8a','lures.csv','["OFM26"]','019e4638-fb40-7257-9869-0f92c809ff6d');
INSERT INTO "set_up_versions" VALUES('1280add419e3040b3017ca3e4a76a47b','routes.csv','["home","A3"]','019e4638-fb40-7257-9869-0f92c80c0544');
INSERT INTO "set_up_versions" VALUES('2c7396eddc642d91d68d40621242a1e7','traps.csv','["A4","2026-04-20"]','019e4638-fb40-7257-9869-0f92c80ab69b');
INSERT INTO "set_up_versions" VALUES('2f8a306b6112528d69777bce248a3d6f','blocks.csv','["S"]','019e4638-fb40-7257-9869-0f92c80979ad');
INSERT INTO "set_up_versions" VALUES('36e24cd87fbc0c69871557069bacaba4','traps.csv','["A1","2026-04-20"]','019e4638-fb40-7257-9869-0f92c80a03f4');
INSERT INTO "set_up_versions" VALUES('3cb3d4901a6a6c081a37a825f33748f0','routes.csv','["home","A2"]','019e4638-fb40-7257-9869-0f92c80b8071');
INSERT INTO "set_up_versions" VALUES('4276413cae321a4d37cdc441c3800a18','stations.csv','["V"]','019e4638-fb40-7257-9869-0f92c80770f7');
INSERT INTO "set_up_versions" VALUES('698c091cd123c539f82ccca7bd172361','traps.csv','["A3","2026-04-20"]','019e4638-fb40-7257-9869-0f92c80a3755');
INSERT INTO "set_up_versions" VALUES('6a29fb738722754489d0ab3d3d10e464','routes.csv','["home","A1"]','019e4638-fb40-7257-9869-0f92c80adc62');
INSERT INTO "set_up_versions" VALUES('86249c1d9c2e0cda82f156ec4aedb390','farms.csv','["HF"]','019e4638-fb40-7257-9869-0f92c80840f7');
INSERT INTO "set_up_versions" VALUES('98f7fcb969dba062ffc8b04b0aa26131','thresholds.toml','["thresholds.toml"]','019e4638-fb40-7257-9869-0f92c80d07dd');
INSERT INTO "set_up_versions" VALUES('b043a05213ce332e32082770f6c1486c','traps.csv','["A2","2026-04-20"]','019e4638-fb40-7257-9869-0f92c80a0b5f');
INSERT INTO "set_up_versions" VALUES('e95f4c1b62d16732496f9318a8c599ef','lures.csv','["CM26"]','019e4638-fb40-7257-9869-0f92c809a4be');
INSERT INTO "set_up_versions" VALUES('fc34b0411eab0a9d07995afd541db6ed','blocks.csv','["N"]','019e4638-fb40-7257-9869-0f92c808ef7a');
CREATE TABLE settings (key TEXT NOT NULL PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
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
CREATE TABLE species (
    species TEXT NOT NULL PRIMARY KEY CHECK (species <> ''),
    name TEXT NOT NULL, latin TEXT NOT NULL, synonyms TEXT NOT NULL, lure_days INTEGER
) STRICT, WITHOUT ROWID;
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
INSERT INTO "specimens" VALUES('019e4638-fb40-7257-9869-0f92c8124e57','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','A1','2026-05-20','unknown',2,'V-7',1,NULL,'','',NULL,'','','','',1,24,X'0D2BEB703D603159274D816C49710798AF3395355146A7A1B9AA5AA088EBBD3B',1,X'57373227181F9C37492882D78F645F8955B05D5005E2112B751177000D2F0BFA');
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
INSERT INTO "stages" VALUES('019e4638-fb40-7257-9869-0f92c80ed376','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','N','2026-05-20','65',0,'',1,17,X'339CAB02ADCD39DA0BF553AC59511FDABBAD5F817E484BF8E5066651757DD009',1,X'83806998672214CF7B18691A2166AF5DA77330308EF8A49D82F2D3DC50CFDC56');
CREATE TABLE stations (
    station TEXT NOT NULL PRIMARY KEY CHECK (station <> ''),
    name TEXT NOT NULL, lat REAL, lon REAL, elevation_m REAL, timezone TEXT NOT NULL
) STRICT;
INSERT INTO "stations" VALUES('V','Vale',NULL,NULL,NULL,'');
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
INSERT INTO "stocks" VALUES('019e4638-fb40-7257-9869-0f92c813cc8d','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','CM26','2026-05-20','counted',12,'','',1,27,X'3CD580E7F21961D412139B93D44AC96849B2D0DBBBD73D91CF19A2A06FF18A78',1,X'BD8B08073BF761ED11138101DFAE755D4737B8FF9AC443B86555BCA7090CD290');
CREATE TABLE stops (
    route TEXT NOT NULL CHECK (route <> ''), trap TEXT NOT NULL, position INTEGER NOT NULL,
    PRIMARY KEY (route, trap)
) STRICT, WITHOUT ROWID;
INSERT INTO "stops" VALUES('home','A1',1);
INSERT INTO "stops" VALUES('home','A2',2);
INSERT INTO "stops" VALUES('home','A3',3);
INSERT INTO "stops" VALUES('home','A4',4);
CREATE TABLE suspect_traps (trap TEXT NOT NULL PRIMARY KEY) STRICT, WITHOUT ROWID;
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
INSERT INTO "temperatures" VALUES('019e4638-fb40-7257-9869-0f92c81067d4','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','V','2026-05-20','41.5','66','F','','porch','',1,20,X'608BAEE1E08FF8C8992AFD85C9F5C74E33B140E3B2F55C10F82168329C9C1F5C',1,X'B267DB4946949C64E36985A9EA39FD359A0FBAB60F4D6BBB60FC511EA1F8E362');
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
INSERT INTO "traps" VALUES('A1','2026-04-20','N','CM','delta','','',NULL,0,'',NULL,NULL,NULL,NULL,'','','');
INSERT INTO "traps" VALUES('A2','2026-04-20','N','CM','delta','','',NULL,0,'',NULL,NULL,NULL,NULL,'','','');
INSERT INTO "traps" VALUES('A3','2026-04-20','N','CM','delta','','',NULL,0,'',NULL,NULL,NULL,NULL,'','','');
INSERT INTO "traps" VALUES('A4','2026-04-20','S','OFM','delta','','',NULL,0,'',NULL,NULL,NULL,NULL,'','','');
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
INSERT INTO "treatments" VALUES('019e4638-fb40-7257-9869-0f92c81180d6','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','N','CM','2026-05-20','cover spray','','',1,23,X'A63BF0811DAB7817A4AF47D2FC08F0D1689DA2C134DA677DB6A2851CF6E331D7',1,X'0D2BEB703D603159274D816C49710798AF3395355146A7A1B9AA5AA088EBBD3B');
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
INSERT INTO "visits" VALUES('019e4638-fb40-7257-9869-0f92c80de1d5','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'','A1','2026-05-20',4,NULL,0,1,0,NULL,0,NULL,NULL,NULL,NULL,NULL,'','','half under leaves "[/]" ‮',0,'',1,16,X'C771EA9196E35D065DC28BBF6DC8D67F30EEAD85148830495CABD8D48DCEA659',1,X'339CAB02ADCD39DA0BF553AC59511FDABBAD5F817E484BF8E5066651757DD009');
INSERT INTO "visits" VALUES('019e5000-0000-7000-8000-000000000001','2026-05-21T08:00:00.000000Z','Cy','newer',NULL,'','A3','2026-05-20',2,NULL,0,1,0,NULL,0,NULL,NULL,NULL,NULL,NULL,'','','',0,'{"moonlit":true}',2,1,X'',1,X'1EA6F49FD726F06AF523C4A57583D46049F834B7BAC22BAB8C28DAFE3CBD1F47');
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
CREATE TABLE weather_imports (
    import INTEGER NOT NULL PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    recorded_at TEXT NOT NULL CHECK (recorded_at GLOB '????-??-??T??:??:??.??????Z'),
    scout TEXT NOT NULL, device TEXT NOT NULL,
    source TEXT NOT NULL CHECK (source <> ''),
    format TEXT NOT NULL CHECK (format <> '')
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
INSERT INTO "withdrawals" VALUES('019e4638-fb40-7257-9869-0f92c8151ff2','2026-05-20T16:30:00.000000Z','Ada','truck',NULL,'wrong sheet','019e4638-fb40-7257-9869-0f92c80de1d5','visit','',1,30,X'C286B24E63905B3FF134F4375779DA44AC2B78285DD4A7AF3BF9A7FCBBDBAA33',1,X'9305680A33183F1B05EED57FF92F7AA0FB177193EE20B1C1BDA2A70D7F96B430');
CREATE INDEX set_up_versions_row ON set_up_versions (file, row);
CREATE INDEX set_up_order_before ON set_up_order (before);
CREATE INDEX set_up_rows_key ON set_up_rows (file, key);
CREATE INDEX set_up_rows_version ON set_up_rows (version);
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
COMMIT;
PRAGMA application_id = 1919907121;
PRAGMA user_version = 1;
