-- Control charts of package oxygen, one a line and format.

CREATE TABLE results.oxygen_charts (
    run_id BIGINT NOT NULL,
    line VARCHAR,
    format VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    lots INTEGER NOT NULL,
    bound_lots INTEGER NOT NULL,
    packages INTEGER NOT NULL,
    below_floor INTEGER NOT NULL,
    late INTEGER NOT NULL,
    part INTEGER NOT NULL,
    unusable INTEGER NOT NULL,
    rules VARCHAR NOT NULL,
    limits_basis VARCHAR NOT NULL CHECK (limits_basis IN ('stated', 'first lots', 'lots so far')),
    limits_first_on DATE,
    limits_last_on DATE,
    limits_lots INTEGER NOT NULL,
    centre_ppb DOUBLE,
    limit_lower_ppb DOUBLE,
    limit_upper_ppb DOUBLE,
    sd_log DOUBLE,
    step_limit DOUBLE,
    reason VARCHAR,
    now_lots INTEGER NOT NULL,
    now_ppb DOUBLE,
    now_lower_ppb DOUBLE,
    now_upper_ppb DOUBLE,
    target_ppb DOUBLE,
    target_assumed BOOLEAN NOT NULL,
    recent_lots INTEGER NOT NULL,
    told INTEGER NOT NULL,
    above_target INTEGER NOT NULL,
    cpk DOUBLE,
    cpk_lower DOUBLE,
    cpk_upper DOUBLE,
    split_lots INTEGER NOT NULL,
    split_total_ppb DOUBLE,
    split_beer_ppb DOUBLE,
    split_closing_ppb DOUBLE,
    split_closing_lower_ppb DOUBLE,
    split_closing_upper_ppb DOUBLE
);
COMMENT ON TABLE results.oxygen_charts IS 'One row for each line and format with an oxygen reading: its control chart in numbers.';
COMMENT ON COLUMN results.oxygen_charts.run_id IS 'The run.';
COMMENT ON COLUMN results.oxygen_charts.line IS 'Packaging line; empty where the lots name none.';
COMMENT ON COLUMN results.oxygen_charts.format IS 'Package format.';
COMMENT ON COLUMN results.oxygen_charts.kind IS 'Kind of package.';
COMMENT ON COLUMN results.oxygen_charts.lots IS 'Lots on the chart.';
COMMENT ON COLUMN results.oxygen_charts.bound_lots IS 'Of those, lots of which only a bound is known.';
COMMENT ON COLUMN results.oxygen_charts.packages IS 'Packages whose total is known, or is below a bound.';
COMMENT ON COLUMN results.oxygen_charts.below_floor IS 'Of those, packages that read below the meter''s floor: at most that much.';
COMMENT ON COLUMN results.oxygen_charts.late IS 'Packages read later after filling than the configuration allows: at least that much.';
COMMENT ON COLUMN results.oxygen_charts.part IS 'Packages of which the beer or the gas alone was read, or above the meter''s range: at least that much.';
COMMENT ON COLUMN results.oxygen_charts.unusable IS 'Packages that give no total: no headspace known, or too warm.';
COMMENT ON COLUMN results.oxygen_charts.rules IS 'Names of the rules in use, separated by semicolons.';
COMMENT ON COLUMN results.oxygen_charts.limits_basis IS 'stated (a period with an end), first lots (20 of them, and they stay), or lots so far (fewer than 20: the limits still move).';
COMMENT ON COLUMN results.oxygen_charts.limits_first_on IS 'Packaging day of the first lot that the limits come from.';
COMMENT ON COLUMN results.oxygen_charts.limits_last_on IS 'Packaging day of the last lot that they come from.';
COMMENT ON COLUMN results.oxygen_charts.limits_lots IS 'Lots with a value that they come from.';
COMMENT ON COLUMN results.oxygen_charts.centre_ppb IS 'Geometric mean of those lots, ppb; empty without limits.';
COMMENT ON COLUMN results.oxygen_charts.limit_lower_ppb IS 'Lower three-sigma limit, ppb.';
COMMENT ON COLUMN results.oxygen_charts.limit_upper_ppb IS 'Upper three-sigma limit, ppb.';
COMMENT ON COLUMN results.oxygen_charts.sd_log IS 'Sigma of log ppb, from the moving range.';
COMMENT ON COLUMN results.oxygen_charts.step_limit IS 'Upper limit of the moving range: a lot may differ from the one before by this factor.';
COMMENT ON COLUMN results.oxygen_charts.reason IS 'Why there are no limits; empty when there are.';
COMMENT ON COLUMN results.oxygen_charts.now_lots IS 'Newest lots that the oxygen now rests on.';
COMMENT ON COLUMN results.oxygen_charts.now_ppb IS 'Their geometric mean, bounds taken as bounds, ppb.';
COMMENT ON COLUMN results.oxygen_charts.now_lower_ppb IS 'It is at least this, 90 % two-sided, ppb; empty without limits.';
COMMENT ON COLUMN results.oxygen_charts.now_upper_ppb IS 'It is at most this, 90 % two-sided, ppb; empty without limits.';
COMMENT ON COLUMN results.oxygen_charts.target_ppb IS 'What no package should be above, ppb; empty without a target.';
COMMENT ON COLUMN results.oxygen_charts.target_assumed IS 'Whether the configuration leaves the target to what is usual.';
COMMENT ON COLUMN results.oxygen_charts.recent_lots IS 'Newest lots that are held against the target.';
COMMENT ON COLUMN results.oxygen_charts.told IS 'Packages of those lots that tell whether they are above it; late ones and parts left out.';
COMMENT ON COLUMN results.oxygen_charts.above_target IS 'How many of them are above it.';
COMMENT ON COLUMN results.oxygen_charts.cpk IS 'Capability against the target, packages on the log scale; empty below eight lots.';
COMMENT ON COLUMN results.oxygen_charts.cpk_lower IS 'Lower end of its interval, 90 % two-sided.';
COMMENT ON COLUMN results.oxygen_charts.cpk_upper IS 'Upper end of its interval, 90 % two-sided.';
COMMENT ON COLUMN results.oxygen_charts.split_lots IS 'Newest lots of which the total and the unshaken beer side are both known, 20 at most.';
COMMENT ON COLUMN results.oxygen_charts.split_total_ppb IS 'Mean total of those lots, ppb.';
COMMENT ON COLUMN results.oxygen_charts.split_beer_ppb IS 'Mean of their beer side, ppb.';
COMMENT ON COLUMN results.oxygen_charts.split_closing_ppb IS 'What closing added: total less beer side, ppb.';
COMMENT ON COLUMN results.oxygen_charts.split_closing_lower_ppb IS 'It is at least this, 90 % two-sided, ppb; empty for a single lot.';
COMMENT ON COLUMN results.oxygen_charts.split_closing_upper_ppb IS 'It is at most this, 90 % two-sided, ppb; empty for a single lot.';

CREATE TABLE results.chart_points (
    run_id BIGINT NOT NULL,
    line VARCHAR,
    format VARCHAR NOT NULL,
    position INTEGER NOT NULL,
    lot VARCHAR NOT NULL,
    packaged_on DATE NOT NULL,
    packages INTEGER NOT NULL,
    late INTEGER NOT NULL,
    ppb DOUBLE,
    at_least_ppb DOUBLE,
    at_most_ppb DOUBLE,
    beer_ppb DOUBLE,
    in_period BOOLEAN NOT NULL,
    running_ppb DOUBLE,
    running_lower_ppb DOUBLE,
    running_upper_ppb DOUBLE,
    PRIMARY KEY (run_id, lot, format)
);
COMMENT ON TABLE results.chart_points IS 'The points of the control charts: one a lot and format, in the order of filling.';
COMMENT ON COLUMN results.chart_points.run_id IS 'The run.';
COMMENT ON COLUMN results.chart_points.line IS 'Packaging line; empty where the lot names none.';
COMMENT ON COLUMN results.chart_points.format IS 'Package format.';
COMMENT ON COLUMN results.chart_points.position IS 'Order of filling on its chart, from 1.';
COMMENT ON COLUMN results.chart_points.lot IS 'Lot.';
COMMENT ON COLUMN results.chart_points.packaged_on IS 'Packaging day.';
COMMENT ON COLUMN results.chart_points.packages IS 'Packages of which anything is known.';
COMMENT ON COLUMN results.chart_points.late IS 'Of those, packages read late.';
COMMENT ON COLUMN results.chart_points.ppb IS 'Geometric mean of its packages, bounds taken as bounds, ppb; empty where only a bound is known.';
COMMENT ON COLUMN results.chart_points.at_least_ppb IS 'What it holds at least, where that is all that is known, ppb.';
COMMENT ON COLUMN results.chart_points.at_most_ppb IS 'What it holds at most, where that is all that is known, ppb.';
COMMENT ON COLUMN results.chart_points.beer_ppb IS 'Its beer side, read unshaken and in time, ppb; empty where not read.';
COMMENT ON COLUMN results.chart_points.in_period IS 'Whether the lot is of the period that the limits come from.';
COMMENT ON COLUMN results.chart_points.running_ppb IS 'Exponentially weighted mean up to this lot, weight 0.2, ppb.';
COMMENT ON COLUMN results.chart_points.running_lower_ppb IS 'Lower limit of that mean, ppb.';
COMMENT ON COLUMN results.chart_points.running_upper_ppb IS 'Upper limit of that mean, ppb.';

CREATE TABLE results.oxygen_signals (
    run_id BIGINT NOT NULL,
    line VARCHAR,
    format VARCHAR NOT NULL,
    rule VARCHAR NOT NULL,
    side VARCHAR NOT NULL CHECK (side IN ('above', 'below')),
    first_lot VARCHAR NOT NULL,
    first_on DATE NOT NULL,
    found_lot VARCHAR NOT NULL,
    found_on DATE NOT NULL,
    last_lot VARCHAR NOT NULL,
    last_on DATE NOT NULL,
    lots INTEGER NOT NULL,
    ongoing BOOLEAN NOT NULL,
    bound BOOLEAN NOT NULL,
    level_ppb DOUBLE NOT NULL,
    change_ppb DOUBLE NOT NULL,
    change_lower_ppb DOUBLE NOT NULL,
    change_upper_ppb DOUBLE NOT NULL,
    sigmas DOUBLE NOT NULL
);
COMMENT ON TABLE results.oxygen_signals IS 'What the rules of the control charts found, one row a signal.';
COMMENT ON COLUMN results.oxygen_signals.run_id IS 'The run.';
COMMENT ON COLUMN results.oxygen_signals.line IS 'Packaging line; empty where the lots name none.';
COMMENT ON COLUMN results.oxygen_signals.format IS 'Package format.';
COMMENT ON COLUMN results.oxygen_signals.rule IS 'Name of the rule.';
COMMENT ON COLUMN results.oxygen_signals.side IS 'above or below the centre; rising or falling is told so too.';
COMMENT ON COLUMN results.oxygen_signals.first_lot IS 'Lot with which it begins.';
COMMENT ON COLUMN results.oxygen_signals.first_on IS 'Packaging day of that lot.';
COMMENT ON COLUMN results.oxygen_signals.found_lot IS 'First lot that could tell.';
COMMENT ON COLUMN results.oxygen_signals.found_on IS 'Packaging day of that lot.';
COMMENT ON COLUMN results.oxygen_signals.last_lot IS 'Last lot of it.';
COMMENT ON COLUMN results.oxygen_signals.last_on IS 'Packaging day of that lot.';
COMMENT ON COLUMN results.oxygen_signals.lots IS 'Lots from the first to the last that tell.';
COMMENT ON COLUMN results.oxygen_signals.ongoing IS 'Whether no lot that tells came after the last.';
COMMENT ON COLUMN results.oxygen_signals.bound IS 'Whether only bounds are known of its lots.';
COMMENT ON COLUMN results.oxygen_signals.level_ppb IS 'Geometric mean of its lots, ppb; of their bounds where nothing else is known.';
COMMENT ON COLUMN results.oxygen_signals.change_ppb IS 'How far that is from the centre, ppb.';
COMMENT ON COLUMN results.oxygen_signals.change_lower_ppb IS 'Lower end of its interval, 90 % two-sided, ppb.';
COMMENT ON COLUMN results.oxygen_signals.change_upper_ppb IS 'Upper end of its interval, 90 % two-sided, ppb.';
COMMENT ON COLUMN results.oxygen_signals.sigmas IS 'How far it is from the centre on the log scale, in sigmas.';
