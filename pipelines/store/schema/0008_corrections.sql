-- Corrections: every saying in its order, loads taken back, files that wait, rows that were mended.

-- A file may wait for a person's word. A check cannot be altered, so the table is made anew.
CREATE TABLE intake.files_anew (
    load_id BIGINT NOT NULL,
    file VARCHAR NOT NULL,
    sha256 VARCHAR,
    size_bytes BIGINT,
    outcome VARCHAR NOT NULL
        CHECK (outcome IN ('loaded', 'duplicate', 'not recognised', 'not readable', 'waiting')),
    reason VARCHAR,
    PRIMARY KEY (load_id, file)
);
INSERT INTO intake.files_anew BY NAME SELECT * FROM intake.files;
DROP TABLE intake.files;
ALTER TABLE intake.files_anew RENAME TO files;
COMMENT ON TABLE intake.files IS 'The files that a load found and what became of them.';
COMMENT ON COLUMN intake.files.load_id IS 'The load.';
COMMENT ON COLUMN intake.files.file IS 'Path relative to the inbox.';
COMMENT ON COLUMN intake.files.sha256 IS 'SHA-256 of its bytes; empty when they could not be read.';
COMMENT ON COLUMN intake.files.size_bytes IS 'Its size, bytes.';
COMMENT ON COLUMN intake.files.outcome IS 'loaded, duplicate, not recognised, not readable, or waiting for a person''s word.';
COMMENT ON COLUMN intake.files.reason IS 'Why it was not loaded; empty when it was.';

CREATE TABLE intake.forgotten (
    load_id BIGINT NOT NULL,
    file VARCHAR NOT NULL,
    said_in BIGINT NOT NULL,
    PRIMARY KEY (load_id, file)
);
COMMENT ON TABLE intake.forgotten IS 'Loads of single files that were taken back; nothing of them is deleted.';
COMMENT ON COLUMN intake.forgotten.load_id IS 'The load that took it back.';
COMMENT ON COLUMN intake.forgotten.file IS 'Path relative to the inbox.';
COMMENT ON COLUMN intake.forgotten.said_in IS 'The load of that file that no longer counts.';

CREATE TABLE intake.written_files (
    file VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    PRIMARY KEY (file, sha256)
);
COMMENT ON TABLE intake.written_files IS 'What was written for people to mend: a file with another content is their work.';
COMMENT ON COLUMN intake.written_files.file IS 'Name in the folder of rows set aside.';
COMMENT ON COLUMN intake.written_files.sha256 IS 'SHA-256 of its bytes.';

ALTER TABLE intake.set_aside ADD COLUMN mended_file VARCHAR;
ALTER TABLE intake.set_aside ADD COLUMN mended_sheet VARCHAR;
ALTER TABLE intake.set_aside ADD COLUMN mended_row INTEGER;
COMMENT ON COLUMN intake.set_aside.mended_file IS 'File with the mended row, whether that settled it or it is faulty still; else empty.';
COMMENT ON COLUMN intake.set_aside.mended_sheet IS 'Sheet of the mended row.';
COMMENT ON COLUMN intake.set_aside.mended_row IS 'Row number of the mended row.';

-- A row that had to wait is as old as the load that read it. History holds every saying of every
-- file, also where another file has said the same: one taken back leaves the others standing.
ALTER TABLE history.beers ADD COLUMN said_in BIGINT;
UPDATE history.beers SET said_in = load_id;
COMMENT ON COLUMN history.beers.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.formats ADD COLUMN said_in BIGINT;
UPDATE history.formats SET said_in = load_id;
COMMENT ON COLUMN history.formats.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.lots ADD COLUMN said_in BIGINT;
UPDATE history.lots SET said_in = load_id;
COMMENT ON COLUMN history.lots.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.lot_results ADD COLUMN said_in BIGINT;
UPDATE history.lot_results SET said_in = load_id;
COMMENT ON COLUMN history.lot_results.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.oxygen ADD COLUMN said_in BIGINT;
UPDATE history.oxygen SET said_in = load_id;
COMMENT ON COLUMN history.oxygen.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.meter_checks ADD COLUMN said_in BIGINT;
UPDATE history.meter_checks SET said_in = load_id;
COMMENT ON COLUMN history.meter_checks.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.changes ADD COLUMN said_in BIGINT;
UPDATE history.changes SET said_in = load_id;
COMMENT ON COLUMN history.changes.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.assessors ADD COLUMN said_in BIGINT;
UPDATE history.assessors SET said_in = load_id;
COMMENT ON COLUMN history.assessors.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.samples ADD COLUMN said_in BIGINT;
UPDATE history.samples SET said_in = load_id;
COMMENT ON COLUMN history.samples.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.tastings ADD COLUMN said_in BIGINT;
UPDATE history.tastings SET said_in = load_id;
COMMENT ON COLUMN history.tastings.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.difference_tests ADD COLUMN said_in BIGINT;
UPDATE history.difference_tests SET said_in = load_id;
COMMENT ON COLUMN history.difference_tests.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.complaints ADD COLUMN said_in BIGINT;
UPDATE history.complaints SET said_in = load_id;
COMMENT ON COLUMN history.complaints.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.routes ADD COLUMN said_in BIGINT;
UPDATE history.routes SET said_in = load_id;
COMMENT ON COLUMN history.routes.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.route_stages ADD COLUMN said_in BIGINT;
UPDATE history.route_stages SET said_in = load_id;
COMMENT ON COLUMN history.route_stages.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.temperature_log ADD COLUMN said_in BIGINT;
UPDATE history.temperature_log SET said_in = load_id;
COMMENT ON COLUMN history.temperature_log.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.shipments ADD COLUMN said_in BIGINT;
UPDATE history.shipments SET said_in = load_id;
COMMENT ON COLUMN history.shipments.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';
ALTER TABLE history.limits ADD COLUMN said_in BIGINT;
UPDATE history.limits SET said_in = load_id;
COMMENT ON COLUMN history.limits.said_in IS 'The load that read this version; the one that stored it, unless the row had to wait.';

-- What stands is what was said last, of what was not taken back.

CREATE OR REPLACE VIEW core.beers AS
SELECT beer, style, abv_pct, owner, pasteurised, live_yeast_or_sugar, extra, file, sheet,
       row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.beers
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.beers IS 'Beers as they stand now.';

CREATE OR REPLACE VIEW core.formats AS
SELECT format, kind, volume_ml, headspace_ml, ingress_ppb_per_day, ingress_ml_o2_per_day,
       closure, light, pressure_limit_bar, extra, file, sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.formats
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.formats IS 'Formats as they stand now.';

CREATE OR REPLACE VIEW core.lots AS
SELECT lot, format, beer, packaged_on, batch, line, packaged_by, started_at, ended_at, closure,
       best_before, printed_code, packages, co2_volumes, co2_g_per_l, status, trial, extra,
       file, sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.lots
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.lots IS 'Lots as they stand now, one row for each format.';

CREATE OR REPLACE VIEW core.lot_results AS
SELECT lot, format, quantity, value, result, unit, measured_at, extra, file, sheet, row_number,
       row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.lot_results
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.lot_results IS 'Laboratory results as they stand now.';

CREATE OR REPLACE VIEW core.oxygen AS
SELECT lot, format, measured_at, unit, quantity, value, bound, reading, filled_at,
       minutes_after_fill, temperature_c, headspace_ml, head, run_position, meter, extra, file,
       sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.oxygen
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.oxygen IS 'Oxygen readings as they stand now.';

CREATE OR REPLACE VIEW core.meter_checks AS
SELECT meter, checked_at, standard, expected, observed, unit, tolerance, state, extra, file,
       sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.meter_checks
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.meter_checks IS 'Meter checks as they stand now.';

CREATE OR REPLACE VIEW core.changes AS
SELECT changed_on, what, line, beer, format, extra, file, sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.changes
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.changes IS 'Changes as they stand now.';

CREATE OR REPLACE VIEW core.assessors AS
SELECT assessor, also_written, trained_on, shelf_life_panel, left_on, extra, file, sheet,
       row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.assessors
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.assessors IS 'Tasters as they stand now.';

CREATE OR REPLACE VIEW core.samples AS
SELECT sample, lot, format, storage_temp_c, placed_on, pulled_on, place, before_placing_temp_c,
       role, extra, file, sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.samples
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.samples IS 'Samples as they stand now.';

CREATE OR REPLACE VIEW core.tastings AS
SELECT session, tasted_on, assessor, sample, code, verdict, note, scores, extra, file, sheet,
       row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.tastings
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.tastings IS 'Tastings as they stand now.';

CREATE OR REPLACE VIEW core.difference_tests AS
SELECT session, tasted_on, method, sample, control, assessments, correct, extra, file, sheet,
       row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.difference_tests
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.difference_tests IS 'Difference tests as they stand now.';

CREATE OR REPLACE VIEW core.complaints AS
SELECT complaint, received_on, category, lot, beer, format, printed_date, code_time, packages,
       outlet, market, bought_on, opened_on, storage_temp_c, storage_days, returned, closed_on,
       finding, note, extra, file, sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.complaints
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.complaints IS 'Complaints as they stand now.';

CREATE OR REPLACE VIEW core.routes AS
SELECT route, market, kinds, share, storage_text, extra, file, sheet, row_number, row_key,
       load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.routes
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.routes IS 'Routes as they stand now.';

CREATE OR REPLACE VIEW core.route_stages AS
SELECT route, stage_no, stage, temp_c, days, extra, file, sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.route_stages
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.route_stages IS 'Stages of the routes as they stand now.';

CREATE OR REPLACE VIEW core.temperature_log AS
SELECT logger, read_at, temp_c, route, lot, place, extra, file, sheet, row_number, row_key,
       load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.temperature_log
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.temperature_log IS 'Logger readings as they stand now.';

CREATE OR REPLACE VIEW core.shipments AS
SELECT shipment, lot, format, shipped_on, packages, route, customer, best_before, extra, file,
       sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.shipments
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.shipments IS 'Shipments as they stand now.';

CREATE OR REPLACE VIEW core.limits AS
SELECT beer, style, format, cause, days, source, extra, file, sheet, row_number, row_key,
       load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.limits
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.limits IS 'Limits as they stand now.';
