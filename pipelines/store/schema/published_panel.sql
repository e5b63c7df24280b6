-- What the pages may read of the panel. Assessors go by their codes: no view here has a name.

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
