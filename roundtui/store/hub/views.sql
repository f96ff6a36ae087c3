CREATE SCHEMA IF NOT EXISTS statistics;
GRANT USAGE ON SCHEMA statistics TO hub_reader, hub_laptop;
CREATE OR REPLACE FUNCTION hub.as_day(said text) RETURNS date
LANGUAGE plpgsql IMMUTABLE SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    RETURN said::date;
EXCEPTION WHEN OTHERS THEN RETURN NULL;
END $$;
REVOKE ALL ON FUNCTION hub.as_day FROM PUBLIC;
GRANT EXECUTE ON FUNCTION hub.as_day TO hub_reader, hub_laptop;
DROP VIEW IF EXISTS hub.gone CASCADE;
CREATE VIEW hub.gone AS
SELECT (said::json ->> 'replaces')::uuid AS id FROM hub.entries WHERE strpos(said, '"replaces":"') > 0
UNION ALL SELECT (said::json ->> 'entry')::uuid FROM hub.entries WHERE kind = 'withdrawal';
