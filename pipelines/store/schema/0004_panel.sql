-- What is tasted: assessors, samples and their verdicts.

CREATE TABLE history.assessors (
    assessor VARCHAR,
    also_written VARCHAR,
    trained_on DATE,
    shelf_life_panel BOOLEAN,
    left_on DATE,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.assessors IS 'The tasters.';
COMMENT ON COLUMN history.assessors.assessor IS 'Name or number of the taster; key.';
COMMENT ON COLUMN history.assessors.also_written IS 'Other ways in which the name is written.';
COMMENT ON COLUMN history.assessors.trained_on IS 'Day of the last training.';
COMMENT ON COLUMN history.assessors.shelf_life_panel IS 'Whether the taster belongs to the panel for shelf life.';
COMMENT ON COLUMN history.assessors.left_on IS 'Day on which the taster left the panel.';
COMMENT ON COLUMN history.assessors.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.assessors.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.assessors.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.assessors.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.assessors.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.assessors.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.assessors.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.assessors.load_id IS 'The load that brought this version.';
CREATE VIEW core.assessors AS
SELECT assessor, also_written, trained_on, shelf_life_panel, left_on, extra, file, sheet,
       row_number, row_key, load_id
FROM history.assessors
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.assessors GROUP BY row_key);
COMMENT ON VIEW core.assessors IS 'Tasters as they stand now.';

CREATE TABLE history.samples (
    sample VARCHAR,
    lot VARCHAR,
    format VARCHAR,
    storage_temp_c DOUBLE,
    placed_on DATE,
    pulled_on DATE,
    place VARCHAR,
    before_placing_temp_c DOUBLE,
    role VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.samples IS 'Beer put into a storage and pulled from it for a tasting.';
COMMENT ON COLUMN history.samples.sample IS 'Number of the sample; key.';
COMMENT ON COLUMN history.samples.lot IS 'Lot it was taken from; required.';
COMMENT ON COLUMN history.samples.format IS 'Package format.';
COMMENT ON COLUMN history.samples.storage_temp_c IS 'Temperature of the storage, °C; required.';
COMMENT ON COLUMN history.samples.placed_on IS 'Day it was put into that storage; required.';
COMMENT ON COLUMN history.samples.pulled_on IS 'Day it was taken out; required.';
COMMENT ON COLUMN history.samples.place IS 'The cupboard or room.';
COMMENT ON COLUMN history.samples.before_placing_temp_c IS 'Temperature at which it was kept from packaging until it was placed, °C.';
COMMENT ON COLUMN history.samples.role IS 'aged, fresh, reference, spiked, returned or release; only aged beer is fitted.';
COMMENT ON COLUMN history.samples.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.samples.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.samples.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.samples.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.samples.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.samples.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.samples.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.samples.load_id IS 'The load that brought this version.';
CREATE VIEW core.samples AS
SELECT sample, lot, format, storage_temp_c, placed_on, pulled_on, place, before_placing_temp_c,
       role, extra, file, sheet, row_number, row_key, load_id
FROM history.samples
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.samples GROUP BY row_key);
COMMENT ON VIEW core.samples IS 'Samples as they stand now.';

CREATE TABLE history.tastings (
    session VARCHAR,
    tasted_on DATE,
    assessor VARCHAR,
    sample VARCHAR,
    code VARCHAR,
    verdict VARCHAR,
    note VARCHAR,
    scores VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.tastings IS 'One row for each glass that an assessor tasted.';
COMMENT ON COLUMN history.tastings.session IS 'Tasting session; key.';
COMMENT ON COLUMN history.tastings.tasted_on IS 'Day of the tasting; required.';
COMMENT ON COLUMN history.tastings.assessor IS 'Taster; key.';
COMMENT ON COLUMN history.tastings.sample IS 'Sample; key.';
COMMENT ON COLUMN history.tastings.code IS 'Blind code of the glass; key: two glasses of one sample are a duplicate.';
COMMENT ON COLUMN history.tastings.verdict IS 'accept, reject or not sure: the answer to the question of the panel.';
COMMENT ON COLUMN history.tastings.note IS 'What the taster wrote.';
COMMENT ON COLUMN history.tastings.scores IS 'Scores of the attributes that the configuration declares, as a JSON object from attribute to number.';
COMMENT ON COLUMN history.tastings.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.tastings.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.tastings.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.tastings.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.tastings.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.tastings.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.tastings.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.tastings.load_id IS 'The load that brought this version.';
CREATE VIEW core.tastings AS
SELECT session, tasted_on, assessor, sample, code, verdict, note, scores, extra, file, sheet,
       row_number, row_key, load_id
FROM history.tastings
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.tastings GROUP BY row_key);
COMMENT ON VIEW core.tastings IS 'Tastings as they stand now.';

CREATE TABLE history.difference_tests (
    session VARCHAR,
    tasted_on DATE,
    method VARCHAR,
    sample VARCHAR,
    control VARCHAR,
    assessments INTEGER,
    correct INTEGER,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.difference_tests IS 'Difference tests between a sample and a control.';
COMMENT ON COLUMN history.difference_tests.session IS 'Tasting session; key.';
COMMENT ON COLUMN history.difference_tests.tasted_on IS 'Day of the test; required.';
COMMENT ON COLUMN history.difference_tests.method IS 'triangle, duo-trio, paired or tetrad; key.';
COMMENT ON COLUMN history.difference_tests.sample IS 'Sample; key.';
COMMENT ON COLUMN history.difference_tests.control IS 'Sample that it was compared with; key.';
COMMENT ON COLUMN history.difference_tests.assessments IS 'Answers given; required.';
COMMENT ON COLUMN history.difference_tests.correct IS 'Correct answers among them; required.';
COMMENT ON COLUMN history.difference_tests.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.difference_tests.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.difference_tests.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.difference_tests.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.difference_tests.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.difference_tests.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.difference_tests.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.difference_tests.load_id IS 'The load that brought this version.';
CREATE VIEW core.difference_tests AS
SELECT session, tasted_on, method, sample, control, assessments, correct, extra, file, sheet,
       row_number, row_key, load_id
FROM history.difference_tests
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.difference_tests GROUP BY row_key);
COMMENT ON VIEW core.difference_tests IS 'Difference tests as they stand now.';
