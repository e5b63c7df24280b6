-- A digest of a row's values was stored with every version. It is worked out where it is needed.

ALTER TABLE history.beers DROP COLUMN values_hash;
ALTER TABLE history.formats DROP COLUMN values_hash;
ALTER TABLE history.lots DROP COLUMN values_hash;
ALTER TABLE history.lot_results DROP COLUMN values_hash;
ALTER TABLE history.oxygen DROP COLUMN values_hash;
ALTER TABLE history.meter_checks DROP COLUMN values_hash;
ALTER TABLE history.assessors DROP COLUMN values_hash;
ALTER TABLE history.samples DROP COLUMN values_hash;
ALTER TABLE history.tastings DROP COLUMN values_hash;
ALTER TABLE history.difference_tests DROP COLUMN values_hash;
ALTER TABLE history.complaints DROP COLUMN values_hash;
ALTER TABLE history.routes DROP COLUMN values_hash;
ALTER TABLE history.route_stages DROP COLUMN values_hash;
ALTER TABLE history.temperature_log DROP COLUMN values_hash;
ALTER TABLE history.shipments DROP COLUMN values_hash;
ALTER TABLE history.limits DROP COLUMN values_hash;
ALTER TABLE history.changes DROP COLUMN values_hash;
