-- The assessors as instruments: errors, agreement, drift, attendance; and the codes they go by.

CREATE TABLE results.assessor_codes (
    assessor VARCHAR PRIMARY KEY,
    code VARCHAR NOT NULL UNIQUE
);
COMMENT ON TABLE results.assessor_codes IS 'The code that a taster goes by on the pages, lasting from run to run.';
COMMENT ON COLUMN results.assessor_codes.assessor IS 'Name of the taster; on no page.';
COMMENT ON COLUMN results.assessor_codes.code IS 'Code, from which neither name nor seniority can be told.';

CREATE TABLE results.assessors (
    run_id BIGINT NOT NULL,
    assessor VARCHAR NOT NULL,
    first_session DATE NOT NULL,
    last_session DATE NOT NULL,
    sessions INTEGER NOT NULL,
    sessions_held INTEGER NOT NULL,
    glasses INTEGER NOT NULL,
    fresh_tasted INTEGER NOT NULL,
    fresh_rejected INTEGER NOT NULL,
    false_alarms DOUBLE,
    false_alarms_lower DOUBLE,
    false_alarms_upper DOUBLE,
    aged_tasted INTEGER NOT NULL,
    aged_accepted INTEGER NOT NULL,
    misses DOUBLE,
    misses_lower DOUBLE,
    misses_upper DOUBLE,
    measure VARCHAR,
    agreement DOUBLE,
    agreement_lower DOUBLE,
    agreement_upper DOUBLE,
    rest_agreement DOUBLE,
    follows BOOLEAN,
    drift_a_year DOUBLE,
    drift_a_year_lower DOUBLE,
    drift_a_year_upper DOUBLE,
    drift VARCHAR,
    PRIMARY KEY (run_id, assessor)
);
COMMENT ON TABLE results.assessors IS 'How good an instrument each taster is.';
COMMENT ON COLUMN results.assessors.run_id IS 'The run.';
COMMENT ON COLUMN results.assessors.assessor IS 'Name of the taster.';
COMMENT ON COLUMN results.assessors.first_session IS 'Day of the first session.';
COMMENT ON COLUMN results.assessors.last_session IS 'Day of the last session.';
COMMENT ON COLUMN results.assessors.sessions IS 'Sessions that the taster came to.';
COMMENT ON COLUMN results.assessors.sessions_held IS 'Sessions held while the taster was on the panel.';
COMMENT ON COLUMN results.assessors.glasses IS 'Glasses tasted.';
COMMENT ON COLUMN results.assessors.fresh_tasted IS 'Verdicts on blind fresh beer that most of the others accepted.';
COMMENT ON COLUMN results.assessors.fresh_rejected IS 'Rejections among them: false alarms.';
COMMENT ON COLUMN results.assessors.false_alarms IS 'Their share, 0 to 1; empty with fewer than ten glasses.';
COMMENT ON COLUMN results.assessors.false_alarms_lower IS 'At least, 90 % two-sided, exact.';
COMMENT ON COLUMN results.assessors.false_alarms_upper IS 'At most, 90 % two-sided, exact.';
COMMENT ON COLUMN results.assessors.aged_tasted IS 'Verdicts on beer known to be aged.';
COMMENT ON COLUMN results.assessors.aged_accepted IS 'Acceptances among them: misses.';
COMMENT ON COLUMN results.assessors.misses IS 'Their share, 0 to 1; empty with fewer than ten glasses.';
COMMENT ON COLUMN results.assessors.misses_lower IS 'At least, 90 % two-sided, exact.';
COMMENT ON COLUMN results.assessors.misses_upper IS 'At most, 90 % two-sided, exact.';
COMMENT ON COLUMN results.assessors.measure IS 'What agreement and drift are told from: verdict, or the attribute scored; empty with too few glasses.';
COMMENT ON COLUMN results.assessors.agreement IS 'Correlation with what the rest found in the same samples.';
COMMENT ON COLUMN results.assessors.agreement_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.assessors.agreement_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.assessors.rest_agreement IS 'The same correlation of the middle taster.';
COMMENT ON COLUMN results.assessors.follows IS 'Whether the answers follow what the rest find; empty with too few glasses.';
COMMENT ON COLUMN results.assessors.drift_a_year IS 'Movement against the rest in a year: of scores a share of the usual level, of verdicts a share of glasses; above 0 is stricter.';
COMMENT ON COLUMN results.assessors.drift_a_year_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.assessors.drift_a_year_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.assessors.drift IS 'drifts, may drift, or none shows; empty with too few glasses.';

CREATE TABLE results.assessor_quarters (
    run_id BIGINT NOT NULL,
    assessor VARCHAR NOT NULL,
    quarter DATE NOT NULL,
    glasses INTEGER NOT NULL,
    shift DOUBLE NOT NULL,
    shift_lower DOUBLE NOT NULL,
    shift_upper DOUBLE NOT NULL,
    PRIMARY KEY (run_id, assessor, quarter)
);
COMMENT ON TABLE results.assessor_quarters IS 'How far each taster was from their own usual level, beside the rest, by quarter.';
COMMENT ON COLUMN results.assessor_quarters.run_id IS 'The run.';
COMMENT ON COLUMN results.assessor_quarters.assessor IS 'Name of the taster.';
COMMENT ON COLUMN results.assessor_quarters.quarter IS 'First day of the quarter.';
COMMENT ON COLUMN results.assessor_quarters.glasses IS 'Glasses compared.';
COMMENT ON COLUMN results.assessor_quarters.shift IS 'Of scores a share of the usual level, of verdicts a share of glasses; above 0 is stricter.';
COMMENT ON COLUMN results.assessor_quarters.shift_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_quarters.shift_upper IS 'At most, 90 % two-sided.';

CREATE TABLE results.alike_names (
    run_id BIGINT NOT NULL,
    assessor VARCHAR NOT NULL,
    other VARCHAR NOT NULL,
    why VARCHAR NOT NULL,
    PRIMARY KEY (run_id, assessor, other)
);
COMMENT ON TABLE results.alike_names IS 'Names that may be one taster written two ways, which also_written does not settle.';
COMMENT ON COLUMN results.alike_names.run_id IS 'The run.';
COMMENT ON COLUMN results.alike_names.assessor IS 'A name; that of the table assessors, if one is.';
COMMENT ON COLUMN results.alike_names.other IS 'The name like it.';
COMMENT ON COLUMN results.alike_names.why IS 'What they differ in alone: case (with spaces and signs), order, initials, spelling.';
