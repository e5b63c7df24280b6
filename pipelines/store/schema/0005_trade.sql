-- What is out in the trade: complaints, routes, temperatures, shipments, and other limits of life.

CREATE TABLE history.complaints (
    complaint VARCHAR,
    received_on DATE,
    category VARCHAR,
    lot VARCHAR,
    beer VARCHAR,
    format VARCHAR,
    printed_date DATE,
    code_time VARCHAR,
    packages INTEGER,
    outlet VARCHAR,
    market VARCHAR,
    bought_on DATE,
    opened_on DATE,
    storage_temp_c DOUBLE,
    storage_days DOUBLE,
    returned VARCHAR,
    closed_on DATE,
    finding VARCHAR,
    note VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.complaints IS 'Complaints from the trade and from drinkers.';
COMMENT ON COLUMN history.complaints.complaint IS 'Number of the complaint; key.';
COMMENT ON COLUMN history.complaints.received_on IS 'Day it came in; required.';
COMMENT ON COLUMN history.complaints.category IS 'What it is about, one or more of the list joined by semicolons; required.';
COMMENT ON COLUMN history.complaints.lot IS 'Lot as named; it need not be one of ours.';
COMMENT ON COLUMN history.complaints.beer IS 'Beer as named.';
COMMENT ON COLUMN history.complaints.format IS 'Package format as named.';
COMMENT ON COLUMN history.complaints.printed_date IS 'Date printed on the package.';
COMMENT ON COLUMN history.complaints.code_time IS 'Time of filling printed on the package.';
COMMENT ON COLUMN history.complaints.packages IS 'Packages concerned.';
COMMENT ON COLUMN history.complaints.outlet IS 'Where it was bought.';
COMMENT ON COLUMN history.complaints.market IS 'Market.';
COMMENT ON COLUMN history.complaints.bought_on IS 'Day of the purchase.';
COMMENT ON COLUMN history.complaints.opened_on IS 'Day it was opened.';
COMMENT ON COLUMN history.complaints.storage_temp_c IS 'Temperature at which it was kept, as told, °C.';
COMMENT ON COLUMN history.complaints.storage_days IS 'How long it was kept, as told, days.';
COMMENT ON COLUMN history.complaints.returned IS 'What came back: unopened, opened or none.';
COMMENT ON COLUMN history.complaints.closed_on IS 'Day the complaint was closed.';
COMMENT ON COLUMN history.complaints.finding IS 'What was found.';
COMMENT ON COLUMN history.complaints.note IS 'What the person wrote.';
COMMENT ON COLUMN history.complaints.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.complaints.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.complaints.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.complaints.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.complaints.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.complaints.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.complaints.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.complaints.load_id IS 'The load that brought this version.';
CREATE VIEW core.complaints AS
SELECT complaint, received_on, category, lot, beer, format, printed_date, code_time, packages,
       outlet, market, bought_on, opened_on, storage_temp_c, storage_days, returned, closed_on,
       finding, note, extra, file, sheet, row_number, row_key, load_id
FROM history.complaints
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.complaints GROUP BY row_key);
COMMENT ON VIEW core.complaints IS 'Complaints as they stand now.';

CREATE TABLE history.routes (
    route VARCHAR,
    market VARCHAR,
    kinds VARCHAR,
    share DOUBLE,
    storage_text VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.routes IS 'The ways on which beer travels and is kept.';
COMMENT ON COLUMN history.routes.route IS 'Name of the route; key.';
COMMENT ON COLUMN history.routes.market IS 'Market that it serves.';
COMMENT ON COLUMN history.routes.kinds IS 'Kinds of package that go this way, joined by semicolons; empty: all.';
COMMENT ON COLUMN history.routes.share IS 'Share of the volume of that market, 0 to 1.';
COMMENT ON COLUMN history.routes.storage_text IS 'Storage instruction printed on the package.';
COMMENT ON COLUMN history.routes.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.routes.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.routes.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.routes.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.routes.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.routes.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.routes.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.routes.load_id IS 'The load that brought this version.';
CREATE VIEW core.routes AS
SELECT route, market, kinds, share, storage_text, extra, file, sheet, row_number, row_key,
       load_id
FROM history.routes
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.routes GROUP BY row_key);
COMMENT ON VIEW core.routes IS 'Routes as they stand now.';

CREATE TABLE history.route_stages (
    route VARCHAR,
    stage_no INTEGER,
    stage VARCHAR,
    temp_c DOUBLE,
    days DOUBLE,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.route_stages IS 'The stages of a route in their order.';
COMMENT ON COLUMN history.route_stages.route IS 'Route; key.';
COMMENT ON COLUMN history.route_stages.stage_no IS 'Order of the stage, from 1; key.';
COMMENT ON COLUMN history.route_stages.stage IS 'Name of the stage; required.';
COMMENT ON COLUMN history.route_stages.temp_c IS 'Temperature of the stage, °C; required.';
COMMENT ON COLUMN history.route_stages.days IS 'Length of the stage, days; empty on the last one: it lasts until the beer is drunk.';
COMMENT ON COLUMN history.route_stages.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.route_stages.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.route_stages.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.route_stages.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.route_stages.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.route_stages.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.route_stages.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.route_stages.load_id IS 'The load that brought this version.';
CREATE VIEW core.route_stages AS
SELECT route, stage_no, stage, temp_c, days, extra, file, sheet, row_number, row_key, load_id
FROM history.route_stages
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.route_stages GROUP BY row_key);
COMMENT ON VIEW core.route_stages IS 'Stages of the routes as they stand now.';

CREATE TABLE history.temperature_log (
    logger VARCHAR,
    read_at TIMESTAMP,
    temp_c DOUBLE,
    route VARCHAR,
    lot VARCHAR,
    place VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.temperature_log IS 'Readings of temperature loggers.';
COMMENT ON COLUMN history.temperature_log.logger IS 'Logger; key.';
COMMENT ON COLUMN history.temperature_log.read_at IS 'When it was read, local time; key.';
COMMENT ON COLUMN history.temperature_log.temp_c IS 'Temperature, °C; required.';
COMMENT ON COLUMN history.temperature_log.route IS 'Route it travelled on, where it did.';
COMMENT ON COLUMN history.temperature_log.lot IS 'Lot it lay with, where it did.';
COMMENT ON COLUMN history.temperature_log.place IS 'Cupboard or room it stood in, where it did.';
COMMENT ON COLUMN history.temperature_log.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.temperature_log.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.temperature_log.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.temperature_log.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.temperature_log.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.temperature_log.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.temperature_log.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.temperature_log.load_id IS 'The load that brought this version.';
CREATE VIEW core.temperature_log AS
SELECT logger, read_at, temp_c, route, lot, place, extra, file, sheet, row_number, row_key,
       load_id
FROM history.temperature_log
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.temperature_log GROUP BY row_key);
COMMENT ON VIEW core.temperature_log IS 'Logger readings as they stand now.';

CREATE TABLE history.shipments (
    shipment VARCHAR,
    lot VARCHAR,
    format VARCHAR,
    shipped_on DATE,
    packages INTEGER,
    route VARCHAR,
    customer VARCHAR,
    best_before DATE,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.shipments IS 'Lots that left the brewery.';
COMMENT ON COLUMN history.shipments.shipment IS 'Number of the shipment; key.';
COMMENT ON COLUMN history.shipments.lot IS 'Lot; required.';
COMMENT ON COLUMN history.shipments.format IS 'Package format.';
COMMENT ON COLUMN history.shipments.shipped_on IS 'Day it left; required.';
COMMENT ON COLUMN history.shipments.packages IS 'Packages shipped; required.';
COMMENT ON COLUMN history.shipments.route IS 'Route.';
COMMENT ON COLUMN history.shipments.customer IS 'Customer.';
COMMENT ON COLUMN history.shipments.best_before IS 'Best-before date on the packages.';
COMMENT ON COLUMN history.shipments.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.shipments.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.shipments.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.shipments.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.shipments.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.shipments.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.shipments.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.shipments.load_id IS 'The load that brought this version.';
CREATE VIEW core.shipments AS
SELECT shipment, lot, format, shipped_on, packages, route, customer, best_before, extra, file,
       sheet, row_number, row_key, load_id
FROM history.shipments
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.shipments GROUP BY row_key);
COMMENT ON VIEW core.shipments IS 'Shipments as they stand now.';

CREATE TABLE history.limits (
    beer VARCHAR,
    style VARCHAR,
    format VARCHAR,
    cause VARCHAR,
    days DOUBLE,
    source VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.limits IS 'What else than flavour may end the life of a beer: the shortest counts.';
COMMENT ON COLUMN history.limits.beer IS 'Beer that it holds for; empty when it holds for a style.';
COMMENT ON COLUMN history.limits.style IS 'Style that it holds for; empty when it holds for a beer.';
COMMENT ON COLUMN history.limits.format IS 'Package format; empty: all.';
COMMENT ON COLUMN history.limits.cause IS 'haze, infection, refermentation, CO2, light, customer or law; required.';
COMMENT ON COLUMN history.limits.days IS 'Days from packaging; required.';
COMMENT ON COLUMN history.limits.source IS 'Where the number is from.';
COMMENT ON COLUMN history.limits.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.limits.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.limits.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.limits.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.limits.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.limits.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.limits.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.limits.load_id IS 'The load that brought this version.';
CREATE VIEW core.limits AS
SELECT beer, style, format, cause, days, source, extra, file, sheet, row_number, row_key,
       load_id
FROM history.limits
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.limits GROUP BY row_key);
COMMENT ON VIEW core.limits IS 'Limits as they stand now.';
