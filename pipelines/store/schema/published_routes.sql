-- What the pages may read of routes, of the loggers on them, and of what moves the date.

CREATE VIEW published.route_use AS
SELECT * FROM results.route_use WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, route, variant, stage_no;
COMMENT ON VIEW published.route_use IS 'What each stage of a route takes of the life of a style in a format.';

CREATE VIEW published.route_lives AS
SELECT * FROM results.route_lives WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, route, variant, begins_at, logger;
COMMENT ON VIEW published.route_lives IS 'Lives and dates on a route as planned, in an assumed summer, and as loggers read.';

CREATE VIEW published.route_trips AS
SELECT * FROM results.route_trips WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY route, begins_at, logger, day;
COMMENT ON VIEW published.route_trips IS 'Loggers'' trips on a route, thinned for a chart, of the newest run alone.';

CREATE VIEW published.place_temperatures AS
SELECT * FROM results.place_temperatures WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY place, storage_temp_c;
COMMENT ON VIEW published.place_temperatures IS 'What loggers read in cupboards and rooms beside what the samples there say.';

CREATE VIEW published.moves AS
SELECT * FROM results.moves WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, oxygen_change_ppb, closure, warmer_c, share_rejected, confidence;
COMMENT ON VIEW published.moves IS 'The date of each style and format on its main route over a grid of what moves it, of the newest run alone.';
