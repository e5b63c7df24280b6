-- What the pages may read of formats that are thought about.

CREATE VIEW published.new_formats AS SELECT * FROM this_week.new_formats ORDER BY format;
COMMENT ON VIEW published.new_formats IS 'What is said of each format that was asked about and is not filled yet.';

CREATE VIEW published.new_format_dates AS
SELECT * FROM this_week.new_format_dates ORDER BY format, style, route;
COMMENT ON VIEW published.new_format_dates IS 'The date lent to each style in a format that is not filled yet.';

CREATE VIEW published.new_format_likeness AS
SELECT * FROM this_week.new_format_likeness ORDER BY new_format, distance, format;
COMMENT ON VIEW published.new_format_likeness IS 'How like each format is to one that is not filled yet.';
