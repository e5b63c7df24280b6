-- What came in and when. The tables of the brewery follow in later files: `history` keeps every
-- version of every row, `core` shows the newest one. DuckDB takes no comments on schemas, so a
-- schema's stands above it.

-- What came in: loads, their files, and what could not be stored.
CREATE SCHEMA intake;
-- Every version of every row; rows are added and never changed.
CREATE SCHEMA history;
-- The rows as they stand now: the newest version of each, unless that one withdraws it.
CREATE SCHEMA core;

CREATE TABLE intake.migrations (
    name VARCHAR PRIMARY KEY,
    checksum VARCHAR NOT NULL,
    applied_at TIMESTAMP NOT NULL
);
COMMENT ON TABLE intake.migrations IS 'The schema files that this store was made with.';
COMMENT ON COLUMN intake.migrations.name IS 'Name of the file, its number first.';
COMMENT ON COLUMN intake.migrations.checksum IS 'SHA-256 of its text.';
COMMENT ON COLUMN intake.migrations.applied_at IS 'When it was applied, local time.';

CREATE TABLE intake.loads (
    load_id BIGINT PRIMARY KEY,
    started_at TIMESTAMP NOT NULL,
    finished_at TIMESTAMP NOT NULL,
    code_version VARCHAR NOT NULL
);
COMMENT ON TABLE intake.loads IS 'Each time the inbox was taken in, all of it or nothing.';
COMMENT ON COLUMN intake.loads.load_id IS 'Number of the load, counted from 1.';
COMMENT ON COLUMN intake.loads.started_at IS 'When reading began, local time of the brewery.';
COMMENT ON COLUMN intake.loads.finished_at IS 'When reading ended, local time of the brewery.';
COMMENT ON COLUMN intake.loads.code_version IS 'Version of stalecurve that read the files.';

CREATE TABLE intake.files (
    load_id BIGINT NOT NULL,
    file VARCHAR NOT NULL,
    sha256 VARCHAR,
    size_bytes BIGINT,
    outcome VARCHAR NOT NULL
        CHECK (outcome IN ('loaded', 'duplicate', 'not recognised', 'not readable')),
    reason VARCHAR,
    PRIMARY KEY (load_id, file)
);
COMMENT ON TABLE intake.files IS 'The files that a load found and what became of them.';
COMMENT ON COLUMN intake.files.load_id IS 'The load.';
COMMENT ON COLUMN intake.files.file IS 'Path relative to the inbox.';
COMMENT ON COLUMN intake.files.sha256 IS 'SHA-256 of its bytes; empty when they could not be read.';
COMMENT ON COLUMN intake.files.size_bytes IS 'Its size, bytes.';
COMMENT ON COLUMN intake.files.outcome IS 'loaded, duplicate, not recognised or not readable.';
COMMENT ON COLUMN intake.files.reason IS 'Why it was not loaded; empty when it was.';

CREATE TABLE intake.row_counts (
    load_id BIGINT NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    table_name VARCHAR NOT NULL,
    rows_read INTEGER NOT NULL,
    rows_new INTEGER NOT NULL,
    rows_corrected INTEGER NOT NULL,
    rows_unchanged INTEGER NOT NULL,
    rows_withdrawn INTEGER NOT NULL,
    rows_set_aside INTEGER NOT NULL,
    PRIMARY KEY (load_id, file, sheet, table_name)
);
COMMENT ON TABLE intake.row_counts IS 'What became of the rows of each file and sheet, counted as a person counts rows.';
COMMENT ON COLUMN intake.row_counts.load_id IS 'The load.';
COMMENT ON COLUMN intake.row_counts.file IS 'Path relative to the inbox.';
COMMENT ON COLUMN intake.row_counts.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN intake.row_counts.table_name IS 'Table that the rows belong to.';
COMMENT ON COLUMN intake.row_counts.rows_read IS 'Rows read: the sum of the other five.';
COMMENT ON COLUMN intake.row_counts.rows_new IS 'Rows not known before, or withdrawn before and back again.';
COMMENT ON COLUMN intake.row_counts.rows_corrected IS 'Rows that replaced an older version.';
COMMENT ON COLUMN intake.row_counts.rows_unchanged IS 'Rows that said what was known already.';
COMMENT ON COLUMN intake.row_counts.rows_withdrawn IS 'Rows marked void that withdrew one.';
COMMENT ON COLUMN intake.row_counts.rows_set_aside IS 'Rows with a fault, not stored.';

CREATE TABLE intake.set_aside (
    load_id BIGINT NOT NULL,
    table_name VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    column_name VARCHAR,
    value VARCHAR,
    reason VARCHAR NOT NULL,
    expected VARCHAR,
    kind VARCHAR NOT NULL CHECK (kind IN ('value', 'missing', 'reference', 'conflict')),
    cells VARCHAR NOT NULL,
    settled_in BIGINT,
    settled_how VARCHAR,
    CHECK ((settled_in IS NULL) = (settled_how IS NULL))
);
COMMENT ON TABLE intake.set_aside IS 'Rows that could not be stored, one row for each fault.';
COMMENT ON COLUMN intake.set_aside.load_id IS 'The load that set it aside.';
COMMENT ON COLUMN intake.set_aside.table_name IS 'Table that the row belongs to.';
COMMENT ON COLUMN intake.set_aside.file IS 'Path relative to the inbox.';
COMMENT ON COLUMN intake.set_aside.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN intake.set_aside.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN intake.set_aside.column_name IS 'Column with the fault; empty when it concerns the whole row.';
COMMENT ON COLUMN intake.set_aside.value IS 'What stands there.';
COMMENT ON COLUMN intake.set_aside.reason IS 'Why it could not be taken in.';
COMMENT ON COLUMN intake.set_aside.expected IS 'What was expected instead.';
COMMENT ON COLUMN intake.set_aside.kind IS 'value, missing, reference (may come in by itself once its partner does) or conflict.';
COMMENT ON COLUMN intake.set_aside.cells IS 'The whole row as a JSON object from heading to text.';
COMMENT ON COLUMN intake.set_aside.settled_in IS 'The load that settled it; empty while it is outstanding.';
COMMENT ON COLUMN intake.set_aside.settled_how IS 'How it was settled; empty while it is outstanding.';

CREATE TABLE intake.mentions (
    load_id BIGINT NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    mention VARCHAR NOT NULL
);
COMMENT ON TABLE intake.mentions IS 'What a load noticed and took in all the same.';
COMMENT ON COLUMN intake.mentions.load_id IS 'The load.';
COMMENT ON COLUMN intake.mentions.file IS 'Path relative to the inbox.';
COMMENT ON COLUMN intake.mentions.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN intake.mentions.mention IS 'The sentence.';
