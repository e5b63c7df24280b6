-- What the pages may read of answers to complaints.

-- An answer whose page shows the note is left out once the configuration no longer allows that.
CREATE VIEW published.answers AS
SELECT a.*
FROM records.answers AS a
WHERE NOT a.shows_note OR EXISTS (FROM this_week.notes AS n WHERE n.shown)
QUALIFY row_number() OVER (PARTITION BY a.name ORDER BY a.answer_id DESC) = 1
ORDER BY a.answer_id DESC;
COMMENT ON VIEW published.answers IS 'The newest answer to each complaint that may be shown, the newest first.';
