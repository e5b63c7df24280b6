-- What the pages may read of the panel. Assessors go by their codes: no view here has a name.

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
