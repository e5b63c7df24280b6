-- The place of a glass in its assessor's order, and what each assessor does to the dates.

ALTER TABLE history.tastings ADD COLUMN position INTEGER;
COMMENT ON COLUMN history.tastings.position IS 'Place of the glass in its taster''s order, from 1.';

CREATE OR REPLACE VIEW core.tastings AS
SELECT session, tasted_on, assessor, sample, code, position, verdict, note, scores, extra, file,
       sheet, row_number, row_key, load_id
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY row_key ORDER BY said_in DESC, load_id DESC
    ) AS newness
    FROM history.tastings
    WHERE (file, said_in) NOT IN (SELECT file, said_in FROM intake.forgotten)
)
WHERE newness = 1 AND NOT void;
COMMENT ON VIEW core.tastings IS 'Tastings as they stand now.';

CREATE TABLE results.assessor_days (
    run_id BIGINT NOT NULL,
    assessor VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    days_with DOUBLE NOT NULL,
    days_without DOUBLE,
    difference_days DOUBLE,
    date_with INTEGER,
    date_without INTEGER
);
COMMENT ON TABLE results.assessor_days IS 'Shelf life and date with all tasters, and without one of them, the others as they came.';
COMMENT ON COLUMN results.assessor_days.run_id IS 'The run.';
COMMENT ON COLUMN results.assessor_days.assessor IS 'The taster left out.';
COMMENT ON COLUMN results.assessor_days.style IS 'Beer style.';
COMMENT ON COLUMN results.assessor_days.format IS 'Package format.';
COMMENT ON COLUMN results.assessor_days.route IS 'Route.';
COMMENT ON COLUMN results.assessor_days.days_with IS 'Shelf life at the policy''s share with all tasters, days from packaging.';
COMMENT ON COLUMN results.assessor_days.days_without IS 'The same without the taster; null where the others do not settle it.';
COMMENT ON COLUMN results.assessor_days.difference_days IS 'Without less with, days.';
COMMENT ON COLUMN results.assessor_days.date_with IS 'Best-before days with all tasters.';
COMMENT ON COLUMN results.assessor_days.date_without IS 'Best-before days without the taster.';
