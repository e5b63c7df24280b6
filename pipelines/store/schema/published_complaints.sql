-- What the pages may read of complaints.

CREATE VIEW published.field_summary AS SELECT * FROM this_week.field_summary;
COMMENT ON VIEW published.field_summary IS 'What the trade told by the day of publishing.';

CREATE VIEW published.field_complaints AS
SELECT * FROM this_week.field_complaints ORDER BY received_on DESC, complaint;
COMMENT ON VIEW published.field_complaints IS 'Complaints of the last twelve months, the newest first.';

CREATE VIEW published.field_kinds AS
SELECT * FROM this_week.field_kinds ORDER BY safety, complaints DESC, category;
COMMENT ON VIEW published.field_kinds IS 'Complaints by category, those that touch safety last.';

CREATE VIEW published.field_rates AS
SELECT * FROM this_week.field_rates ORDER BY "grouping", name, format;
COMMENT ON VIEW published.field_rates IS 'Complaints about taste per million packages drunk, beside those expected.';

CREATE VIEW published.field_looks AS SELECT * FROM this_week.field_looks ORDER BY "grouping";
COMMENT ON VIEW published.field_looks IS 'How many groups were looked at, and what luck makes of so many.';

CREATE VIEW published.field_checks AS
SELECT * FROM this_week.field_checks ORDER BY "grouping", age_from NULLS FIRST, name;
COMMENT ON VIEW published.field_checks IS 'Complaints about taste by age, style and format beside those expected from the fit.';
