-- Oxygen meters: their checks, what is in doubt, and what that does to the dates.

CREATE TABLE results.meter_checks (
    run_id BIGINT NOT NULL,
    meter VARCHAR NOT NULL,
    checked_at TIMESTAMP NOT NULL,
    standard VARCHAR NOT NULL,
    expected DOUBLE NOT NULL,
    observed DOUBLE NOT NULL,
    unit VARCHAR NOT NULL,
    error DOUBLE NOT NULL,
    tolerance DOUBLE NOT NULL,
    state VARCHAR NOT NULL,
    passed BOOLEAN NOT NULL,
    PRIMARY KEY (run_id, meter, checked_at, standard)
);
COMMENT ON TABLE results.meter_checks IS 'Each check of a meter and whether it passed.';
COMMENT ON COLUMN results.meter_checks.run_id IS 'The run.';
COMMENT ON COLUMN results.meter_checks.meter IS 'Oxygen meter.';
COMMENT ON COLUMN results.meter_checks.checked_at IS 'When it was checked.';
COMMENT ON COLUMN results.meter_checks.standard IS 'Against which standard.';
COMMENT ON COLUMN results.meter_checks.expected IS 'What the standard holds, in unit.';
COMMENT ON COLUMN results.meter_checks.observed IS 'What the meter read, in unit.';
COMMENT ON COLUMN results.meter_checks.unit IS 'ppb or % saturation.';
COMMENT ON COLUMN results.meter_checks.error IS 'Observed less expected, in unit.';
COMMENT ON COLUMN results.meter_checks.tolerance IS 'How far off it may be, in unit.';
COMMENT ON COLUMN results.meter_checks.state IS 'found, or left after an adjustment.';
COMMENT ON COLUMN results.meter_checks.passed IS 'Whether it was within the tolerance.';

CREATE TABLE results.meter_bias (
    run_id BIGINT NOT NULL,
    meter VARCHAR NOT NULL,
    standard VARCHAR NOT NULL,
    unit VARCHAR NOT NULL,
    checks INTEGER NOT NULL,
    bias DOUBLE,
    bias_lower DOUBLE,
    bias_upper DOUBLE,
    drift DOUBLE,
    drift_lower DOUBLE,
    drift_upper DOUBLE,
    short_term_sd DOUBLE,
    between_sd DOUBLE,
    limit_lower DOUBLE,
    limit_upper DOUBLE,
    PRIMARY KEY (run_id, meter, standard, unit)
);
COMMENT ON TABLE results.meter_bias IS 'How far a meter reads off now, by its checks of 180 days since it was last adjusted.';
COMMENT ON COLUMN results.meter_bias.run_id IS 'The run.';
COMMENT ON COLUMN results.meter_bias.meter IS 'Oxygen meter.';
COMMENT ON COLUMN results.meter_bias.standard IS 'Against which standard.';
COMMENT ON COLUMN results.meter_bias.unit IS 'ppb or % saturation.';
COMMENT ON COLUMN results.meter_bias.checks IS 'Checks that count.';
COMMENT ON COLUMN results.meter_bias.bias IS 'Mean of observed less expected, in unit; empty with fewer than five checks.';
COMMENT ON COLUMN results.meter_bias.bias_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.meter_bias.bias_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.meter_bias.drift IS 'Change of the error in 30 days, in unit.';
COMMENT ON COLUMN results.meter_bias.drift_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.meter_bias.drift_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.meter_bias.short_term_sd IS 'SD of repeats of one day, in unit; empty where none repeat on three days.';
COMMENT ON COLUMN results.meter_bias.between_sd IS 'SD of the days'' means, in unit; empty likewise.';
COMMENT ON COLUMN results.meter_bias.limit_lower IS 'Mean of the days'' means of the error less two of their SD, in unit; empty likewise.';
COMMENT ON COLUMN results.meter_bias.limit_upper IS 'The same mean and two of their SD, in unit; empty likewise.';

CREATE TABLE results.meter_readings (
    run_id BIGINT NOT NULL,
    meter VARCHAR,
    readings INTEGER NOT NULL,
    in_doubt INTEGER NOT NULL,
    last_read TIMESTAMP NOT NULL,
    UNIQUE (run_id, meter)
);
COMMENT ON TABLE results.meter_readings IS 'What each meter has read.';
COMMENT ON COLUMN results.meter_readings.run_id IS 'The run.';
COMMENT ON COLUMN results.meter_readings.meter IS 'Oxygen meter; empty for readings that name none.';
COMMENT ON COLUMN results.meter_readings.readings IS 'Rows of the oxygen table.';
COMMENT ON COLUMN results.meter_readings.in_doubt IS 'How many of them are in doubt.';
COMMENT ON COLUMN results.meter_readings.last_read IS 'When it last read.';

CREATE TABLE results.meter_doubts (
    run_id BIGINT NOT NULL,
    episode INTEGER NOT NULL,
    meter VARCHAR NOT NULL,
    after TIMESTAMP,
    until TIMESTAMP,
    first_failed TIMESTAMP NOT NULL,
    last_failed TIMESTAMP NOT NULL,
    failed INTEGER NOT NULL,
    standard VARCHAR NOT NULL,
    unit VARCHAR NOT NULL,
    expected DOUBLE NOT NULL,
    error DOUBLE NOT NULL,
    tolerance DOUBLE NOT NULL,
    readings INTEGER NOT NULL,
    lots INTEGER NOT NULL,
    PRIMARY KEY (run_id, episode)
);
COMMENT ON TABLE results.meter_doubts IS 'Spans in which a meter''s readings are in doubt.';
COMMENT ON COLUMN results.meter_doubts.run_id IS 'The run.';
COMMENT ON COLUMN results.meter_doubts.episode IS 'Number of the span, counted from 1.';
COMMENT ON COLUMN results.meter_doubts.meter IS 'Oxygen meter.';
COMMENT ON COLUMN results.meter_doubts.after IS 'The last good check on that standard before; empty when there was none.';
COMMENT ON COLUMN results.meter_doubts.until IS 'The next good check on it; empty when there was none since.';
COMMENT ON COLUMN results.meter_doubts.first_failed IS 'The first check that failed.';
COMMENT ON COLUMN results.meter_doubts.last_failed IS 'The last check that failed.';
COMMENT ON COLUMN results.meter_doubts.failed IS 'How many checks failed.';
COMMENT ON COLUMN results.meter_doubts.standard IS 'Against which standard.';
COMMENT ON COLUMN results.meter_doubts.unit IS 'Unit of the check that was furthest off, in tolerances.';
COMMENT ON COLUMN results.meter_doubts.expected IS 'What the standard held.';
COMMENT ON COLUMN results.meter_doubts.error IS 'Observed less expected of that check.';
COMMENT ON COLUMN results.meter_doubts.tolerance IS 'How far off it may have been.';
COMMENT ON COLUMN results.meter_doubts.readings IS 'Rows of the oxygen table that it read in the span.';
COMMENT ON COLUMN results.meter_doubts.lots IS 'Lots in a format that these are of.';

CREATE TABLE results.readings_in_doubt (
    run_id BIGINT NOT NULL,
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    line VARCHAR,
    meter VARCHAR NOT NULL,
    readings INTEGER NOT NULL,
    PRIMARY KEY (run_id, lot, format, meter)
);
COMMENT ON TABLE results.readings_in_doubt IS 'Rows of the oxygen table in doubt, by lot.';
COMMENT ON COLUMN results.readings_in_doubt.run_id IS 'The run.';
COMMENT ON COLUMN results.readings_in_doubt.lot IS 'Lot.';
COMMENT ON COLUMN results.readings_in_doubt.format IS 'Package format.';
COMMENT ON COLUMN results.readings_in_doubt.line IS 'Packaging line of the lot, where it is known.';
COMMENT ON COLUMN results.readings_in_doubt.meter IS 'Oxygen meter.';
COMMENT ON COLUMN results.readings_in_doubt.readings IS 'How many rows.';

CREATE TABLE results.meter_pairs (
    run_id BIGINT NOT NULL,
    first_meter VARCHAR NOT NULL,
    second_meter VARCHAR NOT NULL,
    lots INTEGER NOT NULL,
    slope DOUBLE,
    slope_lower DOUBLE,
    slope_upper DOUBLE,
    intercept DOUBLE,
    intercept_lower DOUBLE,
    intercept_upper DOUBLE,
    ratio DOUBLE,
    ratio_lower DOUBLE,
    ratio_upper DOUBLE,
    agreement_lower DOUBLE,
    agreement_upper DOUBLE,
    reason VARCHAR,
    PRIMARY KEY (run_id, first_meter, second_meter)
);
COMMENT ON TABLE results.meter_pairs IS 'Two meters on the lots that both have read.';
COMMENT ON COLUMN results.meter_pairs.run_id IS 'The run.';
COMMENT ON COLUMN results.meter_pairs.first_meter IS 'One meter.';
COMMENT ON COLUMN results.meter_pairs.second_meter IS 'The other.';
COMMENT ON COLUMN results.meter_pairs.lots IS 'Lots of which both read three clean packages or more.';
COMMENT ON COLUMN results.meter_pairs.slope IS 'Deming slope of log ppb, second on first.';
COMMENT ON COLUMN results.meter_pairs.slope_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.meter_pairs.slope_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.meter_pairs.intercept IS 'Deming intercept, log ppb.';
COMMENT ON COLUMN results.meter_pairs.intercept_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.meter_pairs.intercept_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.meter_pairs.ratio IS 'Geometric mean of second over first.';
COMMENT ON COLUMN results.meter_pairs.ratio_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.meter_pairs.ratio_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.meter_pairs.agreement_lower IS 'Lower limit of agreement, as a ratio: 95 % of lots lie above.';
COMMENT ON COLUMN results.meter_pairs.agreement_upper IS 'Upper limit of agreement, as a ratio: 95 % of lots lie below.';
COMMENT ON COLUMN results.meter_pairs.reason IS 'Why there is no comparison; empty when there is one.';

CREATE TABLE results.doubt_effects (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    days_with DOUBLE,
    days_without DOUBLE,
    date_with INTEGER,
    date_without INTEGER,
    difference_days DOUBLE,
    PRIMARY KEY (run_id, style, format, route)
);
COMMENT ON TABLE results.doubt_effects IS 'Dates with the readings in doubt and without them.';
COMMENT ON COLUMN results.doubt_effects.run_id IS 'The run.';
COMMENT ON COLUMN results.doubt_effects.style IS 'Beer style.';
COMMENT ON COLUMN results.doubt_effects.format IS 'Package format.';
COMMENT ON COLUMN results.doubt_effects.route IS 'Storage route.';
COMMENT ON COLUMN results.doubt_effects.days_with IS 'Shelf life with every reading, days; empty without an estimate.';
COMMENT ON COLUMN results.doubt_effects.days_without IS 'Shelf life without the readings in doubt, days.';
COMMENT ON COLUMN results.doubt_effects.date_with IS 'Best-before days with every reading.';
COMMENT ON COLUMN results.doubt_effects.date_without IS 'Best-before days without the readings in doubt.';
COMMENT ON COLUMN results.doubt_effects.difference_days IS 'Shelf life without less shelf life with, days.';
