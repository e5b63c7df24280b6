-- Where package oxygen comes from: variance by source, run positions, heads, and what changes did.

CREATE TABLE results.oxygen_lines (
    run_id BIGINT NOT NULL,
    line VARCHAR,
    format VARCHAR NOT NULL,
    lots INTEGER NOT NULL,
    packages INTEGER NOT NULL,
    without_head INTEGER NOT NULL,
    bounds INTEGER NOT NULL,
    heads INTEGER NOT NULL,
    first_on DATE NOT NULL,
    last_on DATE NOT NULL,
    reason VARCHAR
);
COMMENT ON TABLE results.oxygen_lines IS 'One row for each line and format with an oxygen reading: what was taken apart by source.';
COMMENT ON COLUMN results.oxygen_lines.run_id IS 'The run.';
COMMENT ON COLUMN results.oxygen_lines.line IS 'Packaging line; empty where the lots name none.';
COMMENT ON COLUMN results.oxygen_lines.format IS 'Package format.';
COMMENT ON COLUMN results.oxygen_lines.lots IS 'Lots taken apart.';
COMMENT ON COLUMN results.oxygen_lines.packages IS 'Packages taken apart: their total is known as a value.';
COMMENT ON COLUMN results.oxygen_lines.without_head IS 'Such packages left out, because they name no head and most do.';
COMMENT ON COLUMN results.oxygen_lines.bounds IS 'Packages left out, because only a bound of their total is known.';
COMMENT ON COLUMN results.oxygen_lines.heads IS 'Heads told apart; 0 where most packages name none.';
COMMENT ON COLUMN results.oxygen_lines.first_on IS 'Packaging day of the first lot.';
COMMENT ON COLUMN results.oxygen_lines.last_on IS 'Packaging day of the last lot.';
COMMENT ON COLUMN results.oxygen_lines.reason IS 'Why nothing is taken apart; empty where it is.';

CREATE TABLE results.oxygen_sources (
    run_id BIGINT NOT NULL,
    line VARCHAR,
    format VARCHAR NOT NULL,
    source VARCHAR NOT NULL CHECK (source IN ('lot', 'position', 'head', 'rest')),
    variance DOUBLE NOT NULL,
    variance_lower DOUBLE NOT NULL,
    variance_upper DOUBLE NOT NULL,
    share DOUBLE NOT NULL,
    share_lower DOUBLE NOT NULL,
    share_upper DOUBLE NOT NULL
);
COMMENT ON TABLE results.oxygen_sources IS 'How much each source makes packages of a line and format differ.';
COMMENT ON COLUMN results.oxygen_sources.run_id IS 'The run.';
COMMENT ON COLUMN results.oxygen_sources.line IS 'Packaging line; empty where the lots name none.';
COMMENT ON COLUMN results.oxygen_sources.format IS 'Package format.';
COMMENT ON COLUMN results.oxygen_sources.source IS 'lot (from day to day), position (in the run), head, or rest (package to package, and the meter).';
COMMENT ON COLUMN results.oxygen_sources.variance IS 'Variance of log ppb; may be below 0.';
COMMENT ON COLUMN results.oxygen_sources.variance_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.oxygen_sources.variance_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.oxygen_sources.share IS 'Share of all variance, 0 to 1.';
COMMENT ON COLUMN results.oxygen_sources.share_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.oxygen_sources.share_upper IS 'At most, 90 % two-sided.';

CREATE TABLE results.run_positions (
    run_id BIGINT NOT NULL,
    line VARCHAR,
    format VARCHAR NOT NULL,
    run_position VARCHAR NOT NULL,
    packages INTEGER NOT NULL,
    beside VARCHAR NOT NULL,
    ratio DOUBLE,
    ratio_lower DOUBLE,
    ratio_upper DOUBLE
);
COMMENT ON TABLE results.run_positions IS 'What packages hold by their position in the run, lots and heads held equal.';
COMMENT ON COLUMN results.run_positions.run_id IS 'The run.';
COMMENT ON COLUMN results.run_positions.line IS 'Packaging line; empty where the lots name none.';
COMMENT ON COLUMN results.run_positions.format IS 'Package format.';
COMMENT ON COLUMN results.run_positions.run_position IS 'Position in the run.';
COMMENT ON COLUMN results.run_positions.packages IS 'Packages from it.';
COMMENT ON COLUMN results.run_positions.beside IS 'The position it is set beside: the middle, or the commonest.';
COMMENT ON COLUMN results.run_positions.ratio IS 'What it holds over what that one holds; empty where no lots tell.';
COMMENT ON COLUMN results.run_positions.ratio_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.run_positions.ratio_upper IS 'At most, 90 % two-sided.';

CREATE TABLE results.head_findings (
    run_id BIGINT NOT NULL,
    line VARCHAR,
    format VARCHAR,
    finding VARCHAR NOT NULL CHECK (finding IN ('named', 'none', 'too few', 'not recorded')),
    first_on DATE NOT NULL,
    last_on DATE NOT NULL,
    lots INTEGER NOT NULL,
    packages INTEGER NOT NULL,
    without_head INTEGER NOT NULL,
    bounds INTEGER NOT NULL,
    heads INTEGER NOT NULL,
    head VARCHAR,
    chance DOUBLE,
    chance_none DOUBLE,
    ratio DOUBLE,
    ratio_lower DOUBLE,
    ratio_upper DOUBLE
);
COMMENT ON TABLE results.head_findings IS 'Whether one head of a line reads more than the rest.';
COMMENT ON COLUMN results.head_findings.run_id IS 'The run.';
COMMENT ON COLUMN results.head_findings.line IS 'Packaging line; empty where the lots name none.';
COMMENT ON COLUMN results.head_findings.format IS 'Package format, where the lots name no line; else empty: formats of a line share its heads.';
COMMENT ON COLUMN results.head_findings.finding IS 'named (likelier than not the one bad head), none, too few (packages to tell), or not recorded.';
COMMENT ON COLUMN results.head_findings.first_on IS 'Packaging day of the first lot that counts.';
COMMENT ON COLUMN results.head_findings.last_on IS 'Packaging day of the last lot that counts.';
COMMENT ON COLUMN results.head_findings.lots IS 'Lots that count: of 90 days, or twelve, and none from before a change to the line.';
COMMENT ON COLUMN results.head_findings.packages IS 'Their packages that name a head and whose total is known as a value.';
COMMENT ON COLUMN results.head_findings.without_head IS 'Packages left out, because they name no head.';
COMMENT ON COLUMN results.head_findings.bounds IS 'Packages left out, because only a bound of their total is known.';
COMMENT ON COLUMN results.head_findings.heads IS 'Heads named by them.';
COMMENT ON COLUMN results.head_findings.head IS 'The likeliest head; empty without a comparison.';
COMMENT ON COLUMN results.head_findings.chance IS 'Chance that it is the one bad head, 0 to 1.';
COMMENT ON COLUMN results.head_findings.chance_none IS 'Chance that no head is bad, 0 to 1.';
COMMENT ON COLUMN results.head_findings.ratio IS 'What it reads over the mean of the line''s other heads.';
COMMENT ON COLUMN results.head_findings.ratio_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.head_findings.ratio_upper IS 'At most, 90 % two-sided.';

CREATE TABLE results.heads (
    run_id BIGINT NOT NULL,
    line VARCHAR,
    format VARCHAR,
    head VARCHAR NOT NULL,
    packages INTEGER NOT NULL,
    ratio DOUBLE NOT NULL,
    ratio_lower DOUBLE NOT NULL,
    ratio_upper DOUBLE NOT NULL,
    chance DOUBLE NOT NULL,
    told BOOLEAN NOT NULL
);
COMMENT ON TABLE results.heads IS 'The heads of a line side by side.';
COMMENT ON COLUMN results.heads.run_id IS 'The run.';
COMMENT ON COLUMN results.heads.line IS 'Packaging line; empty where the lots name none.';
COMMENT ON COLUMN results.heads.format IS 'Package format, where the lots name no line; else empty.';
COMMENT ON COLUMN results.heads.head IS 'Filler or seamer head.';
COMMENT ON COLUMN results.heads.packages IS 'Packages of it that count.';
COMMENT ON COLUMN results.heads.ratio IS 'What it reads over the mean of the line''s other heads, drawn to 1 as far as it is uncertain.';
COMMENT ON COLUMN results.heads.ratio_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.heads.ratio_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.heads.chance IS 'Chance that it is the one bad head, 0 to 1.';
COMMENT ON COLUMN results.heads.told IS 'Whether there are enough packages to name it if it reads 1.8 times the rest.';

CREATE TABLE results.change_oxygen (
    run_id BIGINT NOT NULL,
    changed_on DATE NOT NULL,
    what VARCHAR NOT NULL,
    beer VARCHAR,
    line VARCHAR,
    format VARCHAR NOT NULL,
    lots_before INTEGER NOT NULL,
    lots_after INTEGER NOT NULL,
    first_on DATE NOT NULL,
    last_on DATE NOT NULL,
    before_ppb DOUBLE,
    after_ppb DOUBLE,
    ratio DOUBLE,
    ratio_lower DOUBLE,
    ratio_upper DOUBLE,
    difference_ppb DOUBLE,
    difference_ppb_lower DOUBLE,
    difference_ppb_upper DOUBLE,
    standard_error DOUBLE,
    same_day BOOLEAN NOT NULL,
    reason VARCHAR
);
COMMENT ON TABLE results.change_oxygen IS 'Package oxygen before and after each entry of changes, by line and format.';
COMMENT ON COLUMN results.change_oxygen.run_id IS 'The run.';
COMMENT ON COLUMN results.change_oxygen.changed_on IS 'Day of the change.';
COMMENT ON COLUMN results.change_oxygen.what IS 'What was changed.';
COMMENT ON COLUMN results.change_oxygen.beer IS 'Beer, where the change concerns one.';
COMMENT ON COLUMN results.change_oxygen.line IS 'Packaging line of the lots; empty where they name none.';
COMMENT ON COLUMN results.change_oxygen.format IS 'Package format of the lots.';
COMMENT ON COLUMN results.change_oxygen.lots_before IS 'Lots before it: at most 20 or 120 days, none from before another change.';
COMMENT ON COLUMN results.change_oxygen.lots_after IS 'Lots after it, likewise.';
COMMENT ON COLUMN results.change_oxygen.first_on IS 'Packaging day of the first of these lots.';
COMMENT ON COLUMN results.change_oxygen.last_on IS 'Packaging day of the last of these lots.';
COMMENT ON COLUMN results.change_oxygen.before_ppb IS 'Geometric mean of the lots before, ppb.';
COMMENT ON COLUMN results.change_oxygen.after_ppb IS 'Geometric mean of the lots after, ppb.';
COMMENT ON COLUMN results.change_oxygen.ratio IS 'After over before; empty with too few lots.';
COMMENT ON COLUMN results.change_oxygen.ratio_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.change_oxygen.ratio_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.change_oxygen.difference_ppb IS 'After less before, ppb.';
COMMENT ON COLUMN results.change_oxygen.difference_ppb_lower IS 'At least, 90 % two-sided, the mean before taken as it is.';
COMMENT ON COLUMN results.change_oxygen.difference_ppb_upper IS 'At most, likewise.';
COMMENT ON COLUMN results.change_oxygen.standard_error IS 'Standard error of the logarithm of the ratio.';
COMMENT ON COLUMN results.change_oxygen.same_day IS 'Whether another change concerns these lots on the same day: the two cannot be told apart.';
COMMENT ON COLUMN results.change_oxygen.reason IS 'Why there is no comparison; empty when there is one.';

CREATE TABLE results.change_days (
    run_id BIGINT NOT NULL,
    changed_on DATE NOT NULL,
    what VARCHAR NOT NULL,
    beer VARCHAR,
    line VARCHAR,
    format VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    days_gained DOUBLE NOT NULL,
    days_gained_lower DOUBLE NOT NULL,
    days_gained_upper DOUBLE NOT NULL,
    source VARCHAR NOT NULL CHECK (source IN ('fitted', 'prior'))
);
COMMENT ON TABLE results.change_days IS 'What the change in package oxygen is worth in days, on each style''s main route.';
COMMENT ON COLUMN results.change_days.run_id IS 'The run.';
COMMENT ON COLUMN results.change_days.changed_on IS 'Day of the change.';
COMMENT ON COLUMN results.change_days.what IS 'What was changed.';
COMMENT ON COLUMN results.change_days.beer IS 'Beer, where the change concerns one.';
COMMENT ON COLUMN results.change_days.line IS 'Packaging line of the lots; empty where they name none.';
COMMENT ON COLUMN results.change_days.format IS 'Package format of the lots.';
COMMENT ON COLUMN results.change_days.style IS 'Beer style.';
COMMENT ON COLUMN results.change_days.route IS 'The route that most of such packages go.';
COMMENT ON COLUMN results.change_days.days_gained IS 'Days until the policy''s share is rejected, after less before; below 0: lost.';
COMMENT ON COLUMN results.change_days.days_gained_lower IS 'One-sided lower bound.';
COMMENT ON COLUMN results.change_days.days_gained_upper IS 'One-sided upper bound.';
COMMENT ON COLUMN results.change_days.source IS 'prior until the data have halved what is assumed of the style''s oxygen exponent.';
