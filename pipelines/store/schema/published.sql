-- What the pages may read, and all they may read. Made anew at every migration: views hold no data.

-- The columns carry the comments of the tables behind them; pipelines/store/migrate.py sees to it.

DROP SCHEMA IF EXISTS published CASCADE;
-- The whole contract of the pages: views of the newest run and of what came in.
CREATE SCHEMA published;

CREATE VIEW published.run AS
SELECT * FROM results.runs WHERE run_id = (SELECT max(run_id) FROM results.runs);
COMMENT ON VIEW published.run IS 'The newest run.';

CREATE VIEW published.best_before AS
SELECT style, format, route, share_rejected, confidence,
       shelf_life_days, shelf_life_days_lower, shelf_life_days_upper,
       best_before_days, binding_cause, basis, beers, lots, verdicts,
       oldest_tasted_days, total_oxygen_ppb, activation_energy_kj_mol, distribution
FROM results.dates
WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, route;
COMMENT ON VIEW published.best_before IS 'The dates, with the columns of best_before.csv.';

CREATE VIEW published.dates AS
SELECT * FROM results.dates WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, route;
COMMENT ON VIEW published.dates IS 'The dates with all that is known of them.';

CREATE VIEW published.shelf_life AS
SELECT style, format, route, share_rejected, confidence,
       shelf_life_days, shelf_life_days_lower, shelf_life_days_upper, basis
FROM results.shelf_lives
WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, route, share_rejected;
COMMENT ON VIEW published.shelf_life IS 'Shelf life at 10, 25 and 50 % rejected, with the columns of shelf_life.csv.';

CREATE VIEW published.beer_dates AS
SELECT * FROM results.beer_dates WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY beer, format, main_route DESC, route;
COMMENT ON VIEW published.beer_dates IS 'The newest lot of each beer and format: what is printed beside what the data support.';

CREATE VIEW published.styles AS
SELECT * FROM results.styles WHERE run_id = (SELECT run_id FROM published.run) ORDER BY style;
COMMENT ON VIEW published.styles IS 'The evidence behind each style, counted.';

CREATE VIEW published.curves AS
SELECT * FROM results.curves WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, age_days;
COMMENT ON VIEW published.curves IS 'Share rejected for age by days at 20 °C.';

CREATE VIEW published.turnbull AS
SELECT * FROM results.turnbull WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, age_from;
COMMENT ON VIEW published.turnbull IS 'Share rejected straight from the brackets, no law assumed.';

CREATE VIEW published.pulls AS
SELECT * FROM results.pulls WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, lot, storage_temp_c, age_days, sample;
COMMENT ON VIEW published.pulls IS 'Every aged sample tasted, with its counts.';

CREATE VIEW published.arms AS
SELECT * FROM results.arms WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, storage_temp_c;
COMMENT ON VIEW published.arms IS 'Each storage temperature of a style: rejections seen beside rejections expected.';

CREATE VIEW published.parameters AS
SELECT * FROM results.parameters WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY position;
COMMENT ON VIEW published.parameters IS 'Parameters of the chosen law with their priors.';

CREATE VIEW published.laws AS
SELECT * FROM results.laws WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY distribution;
COMMENT ON VIEW published.laws IS 'The laws compared.';

CREATE VIEW published.lot_oxygen AS
SELECT * FROM results.lot_oxygen WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, packaged_on, lot;
COMMENT ON VIEW published.lot_oxygen IS 'Package oxygen of each lot and what was done with its readings.';

CREATE VIEW published.format_oxygen AS
SELECT run_id, format, count(*) AS lots, sum(packages)::BIGINT AS packages,
       quantile_cont(total_oxygen_ppb, 0.5) AS median_ppb,
       quantile_cont(total_oxygen_ppb, 0.25) AS lower_quartile_ppb,
       quantile_cont(total_oxygen_ppb, 0.75) AS upper_quartile_ppb
FROM published.lot_oxygen
WHERE total_oxygen_ppb IS NOT NULL
GROUP BY run_id, format
ORDER BY format;
COMMENT ON VIEW published.format_oxygen IS 'Package oxygen of each format, over its lots.';
COMMENT ON COLUMN published.format_oxygen.lots IS 'Lots with a usable reading.';
COMMENT ON COLUMN published.format_oxygen.median_ppb IS 'Median of the lots'' total package oxygen at filling, ppb.';
COMMENT ON COLUMN published.format_oxygen.lower_quartile_ppb IS 'A quarter of the lots lie below, ppb.';
COMMENT ON COLUMN published.format_oxygen.upper_quartile_ppb IS 'A quarter of the lots lie above, ppb.';

CREATE VIEW published.flagged_sessions AS
SELECT * FROM results.flagged_sessions WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY tasted_on, session;
COMMENT ON VIEW published.flagged_sessions IS 'Sessions in which more of the panel rejected the blind fresh control than false alarms explain.';

CREATE VIEW published.cautions AS
SELECT * FROM results.cautions WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, route, caution;
COMMENT ON VIEW published.cautions IS 'What a reader must know before using a date.';

CREATE VIEW published.attention AS
SELECT * FROM results.attention WHERE run_id = (SELECT run_id FROM published.run) ORDER BY rank;
COMMENT ON VIEW published.attention IS 'What needs a person, in the order of its rank.';

CREATE VIEW published.treatments AS
SELECT * FROM results.treatments WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, treatment;
COMMENT ON VIEW published.treatments IS 'Four ways to read the same verdicts, compared in days.';

CREATE VIEW published.oxygen_effects AS
SELECT * FROM results.oxygen_effects WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, more;
COMMENT ON VIEW published.oxygen_effects IS 'What more package oxygen costs, in days at 20 °C.';

CREATE VIEW published.curvature AS
SELECT * FROM results.curvature WHERE run_id = (SELECT run_id FROM published.run);
COMMENT ON VIEW published.curvature IS 'Whether one activation energy serves all storage temperatures.';

CREATE VIEW published.real_time AS
SELECT * FROM results.real_time WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style;
COMMENT ON VIEW published.real_time IS 'Beer kept at the trade''s temperature against a fit that saw warmer storage only.';

CREATE VIEW published.turnbull_bands AS
SELECT * FROM results.turnbull_bands WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, age_days;
COMMENT ON VIEW published.turnbull_bands IS 'How far the share straight from the brackets can be trusted, point by point.';

CREATE VIEW published.gaps AS
SELECT * FROM results.gaps WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style;
COMMENT ON VIEW published.gaps IS 'The interval in which most of a style''s rejections lie unseen.';

CREATE VIEW published.score_crossings AS
SELECT * FROM results.score_crossings WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, attribute;
COMMENT ON VIEW published.score_crossings IS 'The age at which a panel''s mean score crosses its cut-off.';

CREATE VIEW published.scores_left_out AS
SELECT * FROM results.scores_left_out WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, attribute;
COMMENT ON VIEW published.scores_left_out IS 'Attributes for which no crossing is told, and why.';

CREATE VIEW published.back_test AS
SELECT * FROM results.back_test WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY lot, format;
COMMENT ON VIEW published.back_test IS 'Each lot predicted by a fit that did not see it.';

CREATE VIEW published.back_test_calibration AS
SELECT * FROM results.back_test_calibration WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY expected_from;
COMMENT ON VIEW published.back_test_calibration IS 'Predicted shares of the back-test in bands, beside what was rejected.';

CREATE VIEW published.trial_effects AS
SELECT * FROM results.trial_effects WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY trial, style, oxygen_held;
COMMENT ON VIEW published.trial_effects IS 'What a change being tried did to a beer''s life, in days at 20 °C.';

CREATE VIEW published.routes AS
SELECT r.route, r.market, r.kinds, r.share, r.storage_text, s.stage_no, s.stage, s.temp_c, s.days
FROM core.routes AS r
JOIN core.route_stages AS s ON s.route = r.route
ORDER BY r.route, s.stage_no;
COMMENT ON VIEW published.routes IS 'The routes with their stages, one row for each stage.';

CREATE VIEW published.loads AS
SELECT load_id, started_at, finished_at, code_version FROM intake.loads ORDER BY load_id;
COMMENT ON VIEW published.loads IS 'Each time the inbox was taken in.';

CREATE VIEW published.files AS
SELECT f.load_id, f.file, f.size_bytes,
       CASE WHEN g.file IS NULL THEN f.outcome ELSE 'taken back' END AS outcome,
       CASE WHEN g.file IS NULL THEN f.reason
            ELSE 'by load ' || g.load_id || '; stalecurve load --confirm '
                 || CASE WHEN contains(f.file, ' ') THEN '"' || f.file || '"' ELSE f.file END
                 || ' takes it in again' END AS reason
FROM intake.files AS f
LEFT JOIN intake.forgotten AS g ON g.file = f.file AND g.said_in = f.load_id
ORDER BY f.load_id, f.file;
COMMENT ON VIEW published.files IS 'The files that each load found and what became of them.';

-- Every load that looks through the inbox records anew what it cannot take in; one that takes
-- another back looks at no file.
CREATE VIEW published.files_out AS
SELECT load_id, file, outcome, reason FROM published.files
QUALIFY row_number() OVER (PARTITION BY file ORDER BY load_id DESC) = 1
    AND (outcome = 'taken back' OR outcome <> 'loaded' AND load_id = (
        SELECT max(load_id) FROM intake.loads
        WHERE load_id NOT IN (SELECT load_id FROM intake.forgotten)
    ))
ORDER BY file;
COMMENT ON VIEW published.files_out IS 'Files that the inbox held and that are not taken in, or were taken back.';

CREATE VIEW published.row_counts AS
SELECT load_id, file, sheet, table_name, rows_read, rows_new, rows_corrected, rows_unchanged,
       rows_withdrawn, rows_set_aside
FROM intake.row_counts ORDER BY load_id, file, sheet;
COMMENT ON VIEW published.row_counts IS 'What became of the rows of each file and sheet.';

-- Who tastes is said at the terminal and in the folder of rows set aside, and on no page.
CREATE VIEW published.set_aside AS
WITH names AS (
    SELECT assessor FROM core.assessors
    UNION SELECT assessor FROM results.assessor_codes
    UNION SELECT trim(unnest(string_split(also_written, ';'))) FROM core.assessors
)
SELECT load_id, table_name, file, sheet, row_number,
       CASE WHEN table_name = 'tastings' AND column_name IN (FROM names) THEN 'a taster''s'
            ELSE column_name END AS column_name,
       CASE WHEN table_name IN ('assessors', 'tastings') AND value IS NOT NULL
                 AND (kind = 'conflict' OR value IN (FROM names)
                      OR column_name IN ('assessor', 'also_written', 'note'))
            THEN 'see that row' ELSE value END AS value,
       reason, expected
FROM intake.set_aside
WHERE settled_in IS NULL
ORDER BY file, sheet, row_number, column_name;
COMMENT ON VIEW published.set_aside IS 'Rows that could not be stored and are outstanding still, one row for each fault.';

CREATE VIEW published.mentions AS
SELECT load_id, file, sheet,
       regexp_replace(mention, '^unknown assessor, taken in: .*',
                      'tasters whom the table assessors does not know, taken in: '
                      || 'stalecurve assessors names them', 's') AS mention
FROM intake.mentions ORDER BY ALL;
COMMENT ON VIEW published.mentions IS 'What each load noticed and took in all the same.';

CREATE VIEW published.this_week AS SELECT * FROM this_week.summary;
COMMENT ON VIEW published.this_week IS 'The day that the lists of this week were made for.';

CREATE VIEW published.week_pulls AS
SELECT * FROM this_week.pulls ORDER BY due_on, lot, format, storage_temp_c, age_days, sample;
COMMENT ON VIEW published.week_pulls IS 'Samples to pull, the longest overdue first.';

CREATE VIEW published.week_tastings AS SELECT * FROM this_week.tastings ORDER BY due_on, sample;
COMMENT ON VIEW published.week_tastings IS 'Samples pulled and not tasted, the longest overdue first.';

CREATE VIEW published.week_meter_checks AS
SELECT * FROM this_week.meter_checks ORDER BY due_on NULLS FIRST, meter;
COMMENT ON VIEW published.week_meter_checks IS 'Oxygen meters to check, those never checked first.';

CREATE VIEW published.week_retained AS
SELECT * FROM this_week.retained ORDER BY ended_on, lot, format, storage_temp_c, place;
COMMENT ON VIEW published.week_retained IS 'Samples in storage that may go, the longest past its date first.';

CREATE VIEW published.week_late_files AS
SELECT * FROM this_week.late_files ORDER BY due_on NULLS FIRST, expected;
COMMENT ON VIEW published.week_late_files IS 'Files that come regularly and did not come.';

-- The run that stood a week before today: the newest that had ended by then.
CREATE VIEW published.week_ago AS
SELECT run_id, finished_at FROM results.runs
WHERE run_id = (
    SELECT max(r.run_id) FROM results.runs AS r, this_week.summary AS d
    WHERE CAST(r.finished_at AS DATE) <= d.today - 7
);
COMMENT ON VIEW published.week_ago IS 'The run that stood a week ago, if there was one.';

CREATE VIEW published.date_changes AS
SELECT style, format, route, old.best_before_days AS old_days, new.best_before_days AS new_days,
       new.best_before_days - old.best_before_days AS difference_days,
       old.binding_cause AS old_cause, new.binding_cause, new.basis, new.reason,
       CASE WHEN old.best_before_days IS NULL THEN 'new'
            WHEN new.best_before_days IS NULL THEN 'lost'
            WHEN new.best_before_days < old.best_before_days THEN 'shorter'
            ELSE 'longer' END AS change
FROM (SELECT * FROM results.dates WHERE run_id = (SELECT run_id FROM published.week_ago)) AS old
FULL JOIN published.dates AS new USING (style, format, route)
WHERE EXISTS (FROM published.week_ago)
  AND old.best_before_days IS DISTINCT FROM new.best_before_days
ORDER BY difference_days NULLS FIRST, style, format, route;
COMMENT ON VIEW published.date_changes IS 'Dates of the newest run that are others than a week ago, the most shortened first.';
COMMENT ON COLUMN published.date_changes.old_days IS 'Best-before days a week ago; empty when there was no date.';
COMMENT ON COLUMN published.date_changes.new_days IS 'Best-before days now; empty when there is no date.';
COMMENT ON COLUMN published.date_changes.difference_days IS 'Days by which the date grew; empty unless there are both.';
COMMENT ON COLUMN published.date_changes.old_cause IS 'What ended the life a week ago.';
COMMENT ON COLUMN published.date_changes.change IS 'new, lost, shorter or longer.';

CREATE VIEW published.lots AS
SELECT * FROM this_week.lots ORDER BY packaged_on DESC, lot, format;
COMMENT ON VIEW published.lots IS 'Lots judged by their oxygen, the newest first.';

CREATE VIEW published.lot_packages AS
SELECT * FROM this_week.lot_packages ORDER BY lot, format, measured_at, reading, head;
COMMENT ON VIEW published.lot_packages IS 'The packages of those lots whose oxygen was read.';

CREATE VIEW published.stock_summary AS SELECT * FROM this_week.stock_summary;
COMMENT ON VIEW published.stock_summary IS 'The day that the stock was worked out for.';

CREATE VIEW published.stock AS
SELECT * FROM this_week.stock ORDER BY days_left, lot, format, place, route, shipped_on;
COMMENT ON VIEW published.stock IS 'What is left of the life of each lot, the least first.';

CREATE VIEW published.stock_customers AS
SELECT * FROM this_week.stock_customers ORDER BY last_on, lot, format, customer;
COMMENT ON VIEW published.stock_customers IS 'Last days to ship under a customer''s minimum, the first first.';

CREATE VIEW published.trade_inquiries AS
SELECT * FROM results.trade_inquiries ORDER BY asked_at DESC, beer, format;
COMMENT ON VIEW published.trade_inquiries IS 'Questions about what is in the trade, the newest first.';
