DROP MATERIALIZED VIEW IF EXISTS hub.copy_of_{name} CASCADE;
DROP VIEW IF EXISTS hub.typed_{name} CASCADE;
CREATE VIEW hub.typed_{name} AS
{select};
CREATE MATERIALIZED VIEW hub.copy_of_{name} AS SELECT * FROM hub.typed_{name};
CREATE VIEW statistics.{name} WITH (security_barrier) AS
SELECT {columns} FROM hub.typed_{name} WHERE reach && (SELECT hub.reach());
CREATE VIEW statistics.{name}_copy WITH (security_barrier) AS
SELECT {columns} FROM hub.copy_of_{name} WHERE reach && (SELECT hub.reach());
GRANT SELECT ON statistics.{name}, statistics.{name}_copy TO hub_reader, hub_laptop;
