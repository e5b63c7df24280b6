-- What the pages may read of quarterly reviews and of the actions agreed on in them.

CREATE VIEW published.reviews AS
SELECT * FROM records.reviews
QUALIFY row_number() OVER (PARTITION BY quarter ORDER BY review_id DESC) = 1
ORDER BY quarter DESC;
COMMENT ON VIEW published.reviews IS 'The newest review of each quarter, the newest quarter first.';

CREATE VIEW published.actions AS
SELECT a.action_id, a.quarter, n.state, a.what, a.who, a.due_on, a.recorded_at AS agreed_at,
       a.recorded_by AS agreed_by, n.because, n.recorded_at, n.recorded_by
FROM records.actions AS a
JOIN (
    SELECT * FROM records.actions
    QUALIFY row_number() OVER (PARTITION BY action_id ORDER BY entry_id DESC) = 1
) AS n ON n.action_id = a.action_id
WHERE a.state = 'agreed'
ORDER BY a.quarter DESC, a.action_id;
COMMENT ON VIEW published.actions IS 'Every action agreed on in a review, with what was last said of it.';
COMMENT ON COLUMN published.actions.agreed_at IS 'When it was agreed on, local time of the brewery.';
COMMENT ON COLUMN published.actions.agreed_by IS 'Who recorded it then.';
