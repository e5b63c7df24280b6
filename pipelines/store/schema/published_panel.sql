-- What the pages may read of the panel. Assessors go by their codes: no view here has a name.

CREATE VIEW published.difference_tests AS
SELECT * FROM results.difference_tests WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY tasted_on DESC, session, method, sample, control;
COMMENT ON VIEW published.difference_tests IS 'What each difference test shows, and what it may have missed.';

CREATE VIEW published.difference_pairs AS
SELECT * FROM results.difference_pairs WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY tests DESC, method, sample_beer, sample_format, control_format, sample_weeks;
COMMENT ON VIEW published.difference_pairs IS 'Tests of one pair together.';

CREATE VIEW published.difference_sizes AS
SELECT * FROM results.difference_sizes WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY method DESC, share;
COMMENT ON VIEW published.difference_sizes IS 'How many answers it takes to find a difference, by who notices it.';

CREATE VIEW published.comparisons AS
SELECT * FROM results.comparisons WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY kind, changed_on, subject, first, second, attribute NULLS LAST;
COMMENT ON VIEW published.comparisons IS 'Two sides on one panel: before and after, formats, trials.';
