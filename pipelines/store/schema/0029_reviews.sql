-- Quarterly reviews as they were made, and the actions that were agreed on in them. Rows are added
-- and never changed.

CREATE TABLE records.reviews (
    review_id BIGINT PRIMARY KEY,
    quarter VARCHAR NOT NULL,
    made_at TIMESTAMP NOT NULL,
    data_until DATE NOT NULL,
    load_id BIGINT NOT NULL,
    decision_id BIGINT NOT NULL,
    entry_id BIGINT NOT NULL,
    run_id BIGINT,
    rows_aside BIGINT NOT NULL,
    code_version VARCHAR NOT NULL,
    settings VARCHAR NOT NULL,
    record VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL
);
COMMENT ON TABLE records.reviews IS 'Every quarterly review as it was made; the newest of a quarter is shown.';
COMMENT ON COLUMN records.reviews.review_id IS 'Number of the review, counted from 1.';
COMMENT ON COLUMN records.reviews.quarter IS 'The quarter, such as 2026-Q3.';
COMMENT ON COLUMN records.reviews.made_at IS 'When it was made, local time of the brewery.';
COMMENT ON COLUMN records.reviews.data_until IS 'Newest day whose rows it knows: working day 8 of the next quarter, or the day it was made.';
COMMENT ON COLUMN records.reviews.load_id IS 'Newest load that it knows.';
COMMENT ON COLUMN records.reviews.decision_id IS 'Newest decision about a date that it knows; 0 where there was none.';
COMMENT ON COLUMN records.reviews.entry_id IS 'Newest entry about an action that it knows; 0 where there was none.';
COMMENT ON COLUMN records.reviews.run_id IS 'Run that stood for exactly these data; empty: they were fitted for the review.';
COMMENT ON COLUMN records.reviews.rows_aside IS 'Rows of files that stood aside then.';
COMMENT ON COLUMN records.reviews.code_version IS 'Version of stalecurve that made it.';
COMMENT ON COLUMN records.reviews.settings IS 'The configuration that bears on it, as JSON.';
COMMENT ON COLUMN records.reviews.record IS 'All that it says in numbers, as JSON.';
COMMENT ON COLUMN records.reviews.sheet IS 'The report, as HTML.';

CREATE TABLE records.actions (
    entry_id BIGINT PRIMARY KEY,
    action_id BIGINT NOT NULL,
    quarter VARCHAR NOT NULL,
    state VARCHAR NOT NULL CHECK (state IN ('agreed', 'done', 'dropped')),
    what VARCHAR NOT NULL,
    who VARCHAR,
    due_on DATE,
    because VARCHAR,
    recorded_at TIMESTAMP NOT NULL,
    recorded_by VARCHAR NOT NULL
);
COMMENT ON TABLE records.actions IS 'What was agreed on in reviews and what became of it: an entry for each word about an action.';
COMMENT ON COLUMN records.actions.entry_id IS 'Number of the entry, counted from 1.';
COMMENT ON COLUMN records.actions.action_id IS 'Number of the action, counted from 1; its later entries have it too.';
COMMENT ON COLUMN records.actions.quarter IS 'The quarter in whose review it was agreed on, such as 2026-Q3.';
COMMENT ON COLUMN records.actions.state IS 'agreed, done or dropped.';
COMMENT ON COLUMN records.actions.what IS 'What is to be done.';
COMMENT ON COLUMN records.actions.who IS 'Who is to do it; empty where nobody was named.';
COMMENT ON COLUMN records.actions.due_on IS 'By when; empty where no day was named.';
COMMENT ON COLUMN records.actions.because IS 'What was found, or why it was dropped; empty where nothing was said.';
COMMENT ON COLUMN records.actions.recorded_at IS 'When the entry was made, local time of the brewery.';
COMMENT ON COLUMN records.actions.recorded_by IS 'Who made it.';
