-- What was answered to complaints: rows are added and never changed.
CREATE TABLE records.answers (
    answer_id BIGINT PRIMARY KEY,
    answered_at TIMESTAMP NOT NULL,
    name VARCHAR NOT NULL,
    complaint VARCHAR,
    received_on DATE NOT NULL,
    category VARCHAR NOT NULL,
    lot VARCHAR,
    format VARCHAR,
    safety BOOLEAN NOT NULL,
    decided VARCHAR,
    answer VARCHAR NOT NULL,
    shows_note BOOLEAN NOT NULL,
    run_id BIGINT,
    load_id BIGINT,
    code_version VARCHAR NOT NULL,
    record VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL
);
COMMENT ON TABLE records.answers IS 'What was answered to complaints; a newer answer to the same takes the place of an older one, which stays.';
COMMENT ON COLUMN records.answers.answer_id IS 'Number of the answer, counted from 1.';
COMMENT ON COLUMN records.answers.answered_at IS 'When, local time of the brewery.';
COMMENT ON COLUMN records.answers.name IS 'Name of its page, without the ending; the same for every answer to one complaint.';
COMMENT ON COLUMN records.answers.complaint IS 'The complaint, as the table complaints has it; empty for one that was typed in.';
COMMENT ON COLUMN records.answers.received_on IS 'Day on which the complaint was received.';
COMMENT ON COLUMN records.answers.category IS 'What it is about, separated by ;.';
COMMENT ON COLUMN records.answers.lot IS 'The lot that it names, ours or not; empty where it names none.';
COMMENT ON COLUMN records.answers.format IS 'The format of the package; empty where it is not known.';
COMMENT ON COLUMN records.answers.safety IS 'Whether it touches safety, so that it went to the food-safety procedure and was not analysed.';
COMMENT ON COLUMN records.answers.decided IS 'The cause that the evidence decided for; empty where it cannot be decided or was not asked.';
COMMENT ON COLUMN records.answers.answer IS 'The answer in its first sentence.';
COMMENT ON COLUMN records.answers.shows_note IS 'Whether the note, which may hold names, stands on the page, as the configuration allowed then.';
COMMENT ON COLUMN records.answers.run_id IS 'The run that it rests on; empty before the first.';
COMMENT ON COLUMN records.answers.load_id IS 'The newest load then; empty where nothing was loaded.';
COMMENT ON COLUMN records.answers.code_version IS 'Version of stalecurve that answered.';
COMMENT ON COLUMN records.answers.record IS 'All that was known then, as JSON.';
COMMENT ON COLUMN records.answers.sheet IS 'The page, as HTML.';

CREATE TABLE this_week.notes (
    shown BOOLEAN NOT NULL
);
COMMENT ON TABLE this_week.notes IS 'Whether notes of complaints may stand on pages, as the configuration says now.';
COMMENT ON COLUMN this_week.notes.shown IS 'Whether they may.';
