-- Assessors go by codes on every page.

CREATE TABLE results.assessor_codes (
    assessor VARCHAR PRIMARY KEY,
    code VARCHAR NOT NULL UNIQUE
);
COMMENT ON TABLE results.assessor_codes IS 'The code of each assessor, the same from run to run.';
COMMENT ON COLUMN results.assessor_codes.assessor IS 'Assessor.';
COMMENT ON COLUMN results.assessor_codes.code IS 'What the pages call them.';
