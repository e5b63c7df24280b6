-- What the pages may read of the panel. Assessors go by their codes: no view here has a name.

CREATE VIEW published.panel_attributes AS
SELECT * FROM results.panel_attributes WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY attribute;
COMMENT ON VIEW published.panel_attributes IS 'How the panel''s scores of an attribute scatter, and what it can tell apart.';

CREATE VIEW published.panel_resolution AS
SELECT * FROM results.panel_resolution WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY attribute, assessors;
COMMENT ON VIEW published.panel_resolution IS 'Difference of two samples that so many assessors find four times in five.';

CREATE VIEW published.panel_anova AS
SELECT * FROM results.panel_anova WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY attribute, place;
COMMENT ON VIEW published.panel_anova IS 'Analysis of variance of the panel''s scores.';

CREATE VIEW published.assessor_scores AS
SELECT c.code, s.* EXCLUDE (assessor)
FROM results.assessor_scores AS s
JOIN results.assessor_codes AS c ON c.assessor = s.assessor
WHERE s.run_id = (SELECT run_id FROM published.run)
ORDER BY s.attribute, c.code;
COMMENT ON VIEW published.assessor_scores IS 'Each assessor''s scores of an attribute beside the others''.';

CREATE VIEW published.panel_sessions AS
SELECT * FROM results.panel_sessions WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY tasted_on, session;
COMMENT ON VIEW published.panel_sessions IS 'Every session, and what bears on whether it can be believed.';

CREATE VIEW published.waited_samples AS
SELECT * FROM results.waited_samples WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY tasted_on, session, sample;
COMMENT ON VIEW published.waited_samples IS 'Samples that waited too long between pull and tasting.';

CREATE VIEW published.order_effects AS
SELECT * FROM results.order_effects WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY outcome <> 'rejected', outcome, effect;
COMMENT ON VIEW published.order_effects IS 'What the place of a glass, or the glass before it, does to verdicts and scores.';

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

CREATE VIEW published.assessors AS
SELECT c.code, a.* EXCLUDE (assessor)
FROM results.assessors AS a JOIN results.assessor_codes AS c ON c.assessor = a.assessor
WHERE a.run_id = (SELECT run_id FROM published.run)
ORDER BY c.code;
COMMENT ON VIEW published.assessors IS 'How good an instrument each taster is, by code.';

CREATE VIEW published.assessor_quarters AS
SELECT c.code, q.* EXCLUDE (assessor)
FROM results.assessor_quarters AS q JOIN results.assessor_codes AS c ON c.assessor = q.assessor
WHERE q.run_id = (SELECT run_id FROM published.run)
ORDER BY c.code, q.quarter;
COMMENT ON VIEW published.assessor_quarters IS 'How far each taster was from their own usual level, by quarter.';

CREATE VIEW published.alike_names AS
SELECT run_id, why, count(*) AS pairs FROM results.alike_names
WHERE run_id = (SELECT run_id FROM published.run)
GROUP BY run_id, why
ORDER BY why;
COMMENT ON VIEW published.alike_names IS 'How many pairs of names may be one taster written two ways.';
COMMENT ON COLUMN published.alike_names.pairs IS 'How many pairs.';

CREATE VIEW published.assessor_days AS
SELECT c.code, d.* EXCLUDE (assessor)
FROM results.assessor_days AS d JOIN results.assessor_codes AS c ON c.assessor = d.assessor
WHERE d.run_id = (SELECT run_id FROM published.run)
ORDER BY c.code, d.style, d.format, d.route;
COMMENT ON VIEW published.assessor_days IS 'Dates with all tasters, and without each of them.';
