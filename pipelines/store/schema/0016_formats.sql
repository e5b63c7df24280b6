-- Formats apart: what closures let in, oxygen and days of one format beside another's, and what moves
-- the date.

CREATE TABLE results.ingress (
    run_id BIGINT NOT NULL,
    format VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    closure VARCHAR,
    ingress_ppb_per_day DOUBLE NOT NULL,
    ingress_ml_o2_per_day DOUBLE NOT NULL,
    ingress_given BOOLEAN NOT NULL,
    lots INTEGER NOT NULL,
    lots_bounds INTEGER NOT NULL,
    lots_other_closure INTEGER NOT NULL,
    total_oxygen_ppb DOUBLE,
    total_oxygen_ppb_lower DOUBLE,
    total_oxygen_ppb_upper DOUBLE,
    overtakes_days DOUBLE,
    overtakes_days_lower DOUBLE,
    overtakes_days_upper DOUBLE,
    overtakes_week INTEGER,
    overtakes_week_lower INTEGER,
    overtakes_week_upper INTEGER,
    PRIMARY KEY (run_id, format)
);
COMMENT ON TABLE results.ingress IS 'What the closure of each format lets in, and when that overtakes the filling.';
COMMENT ON COLUMN results.ingress.run_id IS 'The run.';
COMMENT ON COLUMN results.ingress.format IS 'Package format.';
COMMENT ON COLUMN results.ingress.kind IS 'Of the package.';
COMMENT ON COLUMN results.ingress.closure IS 'The format''s closure; empty where it is not said.';
COMMENT ON COLUMN results.ingress.ingress_ppb_per_day IS 'What it lets in at 20 °C, ppb a day.';
COMMENT ON COLUMN results.ingress.ingress_ml_o2_per_day IS 'The same in mL of O2 (20 °C, 1 atm) a day.';
COMMENT ON COLUMN results.ingress.ingress_given IS 'Whether the table formats says it; false: taken as nothing.';
COMMENT ON COLUMN results.ingress.lots IS 'Lots of whose total package oxygen anything is known.';
COMMENT ON COLUMN results.ingress.lots_bounds IS 'Lots among them known as lower bounds alone.';
COMMENT ON COLUMN results.ingress.lots_other_closure IS 'Lots with another closure than the format''s; they take its ingress all the same.';
COMMENT ON COLUMN results.ingress.total_oxygen_ppb IS 'Geometric mean of the lots'' totals at filling, ppb; empty without a measured lot.';
COMMENT ON COLUMN results.ingress.total_oxygen_ppb_lower IS 'At least, 90 % two-sided; empty with fewer than two measured lots.';
COMMENT ON COLUMN results.ingress.total_oxygen_ppb_upper IS 'At most, 90 % two-sided; likewise.';
COMMENT ON COLUMN results.ingress.overtakes_days IS 'Days at 20 °C until as much has come in as was filled in; empty where nothing comes in.';
COMMENT ON COLUMN results.ingress.overtakes_days_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.ingress.overtakes_days_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.ingress.overtakes_week IS 'The week of that day, counted from 1.';
COMMENT ON COLUMN results.ingress.overtakes_week_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.ingress.overtakes_week_upper IS 'At most, 90 % two-sided.';

CREATE TABLE results.format_ratios (
    run_id BIGINT NOT NULL,
    format VARCHAR NOT NULL,
    line VARCHAR,
    other_format VARCHAR NOT NULL,
    other_line VARCHAR,
    pairs INTEGER NOT NULL,
    pairs_by_batch INTEGER NOT NULL,
    pairs_bounds INTEGER NOT NULL,
    lots INTEGER NOT NULL,
    other_lots INTEGER NOT NULL,
    ratio DOUBLE,
    ratio_lower DOUBLE,
    ratio_upper DOUBLE
);
COMMENT ON TABLE results.format_ratios IS 'Oxygen at filling of one format over another''s, same beer and same batch or weeks.';
COMMENT ON COLUMN results.format_ratios.run_id IS 'The run.';
COMMENT ON COLUMN results.format_ratios.format IS 'The format with more, where it is known which.';
COMMENT ON COLUMN results.format_ratios.line IS 'Its packaging line; empty where it is not recorded.';
COMMENT ON COLUMN results.format_ratios.other_format IS 'The other format.';
COMMENT ON COLUMN results.format_ratios.other_line IS 'Its packaging line; likewise.';
COMMENT ON COLUMN results.format_ratios.pairs IS 'Batches, or beers and four weeks, in which both were filled and measured.';
COMMENT ON COLUMN results.format_ratios.pairs_by_batch IS 'Pairs among them from one batch.';
COMMENT ON COLUMN results.format_ratios.pairs_bounds IS 'Pairs among them of which only a bound is known.';
COMMENT ON COLUMN results.format_ratios.lots IS 'Lots of the format in the pairs.';
COMMENT ON COLUMN results.format_ratios.other_lots IS 'Lots of the other format in them.';
COMMENT ON COLUMN results.format_ratios.ratio IS 'Total package oxygen over the other''s; empty where all pairs are bounds.';
COMMENT ON COLUMN results.format_ratios.ratio_lower IS 'At least, 90 % two-sided; empty with fewer than two pairs measured.';
COMMENT ON COLUMN results.format_ratios.ratio_upper IS 'At most, 90 % two-sided; likewise.';

CREATE TABLE results.format_gaps (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    other_format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    shelf_life_days DOUBLE NOT NULL,
    other_shelf_life_days DOUBLE NOT NULL,
    gap_days DOUBLE NOT NULL,
    gap_days_lower DOUBLE NOT NULL,
    gap_days_upper DOUBLE NOT NULL,
    filling_days DOUBLE NOT NULL,
    filling_days_lower DOUBLE NOT NULL,
    filling_days_upper DOUBLE NOT NULL,
    ingress_days DOUBLE NOT NULL,
    ingress_days_lower DOUBLE NOT NULL,
    ingress_days_upper DOUBLE NOT NULL,
    rest_days DOUBLE NOT NULL,
    rest_days_lower DOUBLE NOT NULL,
    rest_days_upper DOUBLE NOT NULL,
    closed_total_oxygen_ppb DOUBLE,
    closed_ingress_ppb_per_day DOUBLE,
    closed_days DOUBLE,
    closed_days_lower DOUBLE,
    closed_days_upper DOUBLE,
    total_oxygen_ppb DOUBLE NOT NULL,
    other_total_oxygen_ppb DOUBLE NOT NULL,
    ingress_ppb_per_day DOUBLE NOT NULL,
    other_ingress_ppb_per_day DOUBLE NOT NULL,
    exponent_source VARCHAR NOT NULL,
    rest_source VARCHAR NOT NULL,
    PRIMARY KEY (run_id, style, format, other_format, route)
);
COMMENT ON TABLE results.format_gaps IS 'How many days longer a style keeps in one format than in another on a route, taken apart.';
COMMENT ON COLUMN results.format_gaps.run_id IS 'The run.';
COMMENT ON COLUMN results.format_gaps.style IS 'Style of the beer.';
COMMENT ON COLUMN results.format_gaps.format IS 'The format in which it keeps longer.';
COMMENT ON COLUMN results.format_gaps.other_format IS 'The other format.';
COMMENT ON COLUMN results.format_gaps.route IS 'Storage route that carries both.';
COMMENT ON COLUMN results.format_gaps.shelf_life_days IS 'Of the format, days from packaging, at the policy''s share.';
COMMENT ON COLUMN results.format_gaps.other_shelf_life_days IS 'Of the other format.';
COMMENT ON COLUMN results.format_gaps.gap_days IS 'Days between them; the sum of the three parts.';
COMMENT ON COLUMN results.format_gaps.gap_days_lower IS 'At least, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.gap_days_upper IS 'At most, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.filling_days IS 'Days of it from the oxygen at filling.';
COMMENT ON COLUMN results.format_gaps.filling_days_lower IS 'At least, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.filling_days_upper IS 'At most, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.ingress_days IS 'Days of it from what the closures let in.';
COMMENT ON COLUMN results.format_gaps.ingress_days_lower IS 'At least, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.ingress_days_upper IS 'At most, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.rest_days IS 'Days of it from all that oxygen does not explain.';
COMMENT ON COLUMN results.format_gaps.rest_days_lower IS 'At least, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.rest_days_upper IS 'At most, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.closed_total_oxygen_ppb IS 'What the other format''s middle lot would be filled with to close the gap, ppb; empty where it holds no more already.';
COMMENT ON COLUMN results.format_gaps.closed_ingress_ppb_per_day IS 'What its closure would let in, ppb a day, no less than a scavenging liner does; empty where it lets in no more already.';
COMMENT ON COLUMN results.format_gaps.closed_days IS 'Days that it would gain by both; empty where there is neither.';
COMMENT ON COLUMN results.format_gaps.closed_days_lower IS 'At least, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.closed_days_upper IS 'At most, at the run''s confidence.';
COMMENT ON COLUMN results.format_gaps.total_oxygen_ppb IS 'Total package oxygen of the format''s middle lot at filling, ppb.';
COMMENT ON COLUMN results.format_gaps.other_total_oxygen_ppb IS 'Of the other format''s, ppb.';
COMMENT ON COLUMN results.format_gaps.ingress_ppb_per_day IS 'What the format''s closure lets in at 20 °C, ppb a day.';
COMMENT ON COLUMN results.format_gaps.other_ingress_ppb_per_day IS 'What the other''s lets in, ppb a day.';
COMMENT ON COLUMN results.format_gaps.exponent_source IS 'fitted, or prior until data have halved what is assumed of the style''s oxygen exponent.';
COMMENT ON COLUMN results.format_gaps.rest_source IS 'fitted where both formats have verdicts of the style, else lent.';

CREATE TABLE results.levers (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    lever VARCHAR NOT NULL,
    value_now DOUBLE NOT NULL,
    value_then DOUBLE NOT NULL,
    unit VARCHAR NOT NULL,
    shelf_life_days DOUBLE NOT NULL,
    days_gained DOUBLE NOT NULL,
    days_gained_lower DOUBLE NOT NULL,
    days_gained_upper DOUBLE NOT NULL,
    source VARCHAR NOT NULL,
    PRIMARY KEY (run_id, style, format, route, lever)
);
COMMENT ON TABLE results.levers IS 'Days that a change would add to the shelf life, before caps and limits.';
COMMENT ON COLUMN results.levers.run_id IS 'The run.';
COMMENT ON COLUMN results.levers.style IS 'Style of the beer.';
COMMENT ON COLUMN results.levers.format IS 'Package format.';
COMMENT ON COLUMN results.levers.route IS 'Storage route.';
COMMENT ON COLUMN results.levers.lever IS '20 ppb less, scavenging liner, bad head mended, or cold warehouse.';
COMMENT ON COLUMN results.levers.value_now IS 'What it is now, in unit: of the middle lot, of the closure, or of the warmest stage before the last.';
COMMENT ON COLUMN results.levers.value_then IS 'What it would be.';
COMMENT ON COLUMN results.levers.unit IS 'ppb, ppb a day, or °C.';
COMMENT ON COLUMN results.levers.shelf_life_days IS 'Days from packaging as it is, at the policy''s share.';
COMMENT ON COLUMN results.levers.days_gained IS 'Days it would gain.';
COMMENT ON COLUMN results.levers.days_gained_lower IS 'At least, at the run''s confidence.';
COMMENT ON COLUMN results.levers.days_gained_upper IS 'At most, at the run''s confidence.';
COMMENT ON COLUMN results.levers.source IS 'fitted, or prior until data have halved what is assumed of what it rests on: the oxygen exponent, or the activation energy for a cold warehouse.';
