-- What a run wants a person to look at.

CREATE TABLE results.flagged_sessions (
    run_id BIGINT NOT NULL,
    session VARCHAR NOT NULL,
    tasted_on DATE NOT NULL,
    fresh_tasted INTEGER NOT NULL,
    fresh_rejected INTEGER NOT NULL,
    PRIMARY KEY (run_id, session)
);
COMMENT ON TABLE results.flagged_sessions IS 'Sessions in which a third of the panel rejected the blind fresh control: suspect the sample first.';
COMMENT ON COLUMN results.flagged_sessions.run_id IS 'The run.';
COMMENT ON COLUMN results.flagged_sessions.session IS 'Session.';
COMMENT ON COLUMN results.flagged_sessions.tasted_on IS 'Day of the tasting.';
COMMENT ON COLUMN results.flagged_sessions.fresh_tasted IS 'Verdicts on the fresh control.';
COMMENT ON COLUMN results.flagged_sessions.fresh_rejected IS 'How many of them were rejections.';

CREATE TABLE results.cautions (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR,
    route VARCHAR,
    caution VARCHAR NOT NULL,
    days DOUBLE
);
COMMENT ON TABLE results.cautions IS 'What a reader must know before using a date.';
COMMENT ON COLUMN results.cautions.run_id IS 'The run.';
COMMENT ON COLUMN results.cautions.style IS 'Beer style.';
COMMENT ON COLUMN results.cautions.format IS 'Package format; empty when it holds for all.';
COMMENT ON COLUMN results.cautions.route IS 'Storage route; empty when it holds for all.';
COMMENT ON COLUMN results.cautions.caution IS 'one temperature, above 40, lent by other formats, first estimate, none at route temperature, beyond oldest tasted, few lots, two wordings, assessors left out, or oxygen assumed.';
COMMENT ON COLUMN results.cautions.days IS 'The number of days it speaks of, where it speaks of one.';

CREATE TABLE results.attention (
    run_id BIGINT NOT NULL,
    rank INTEGER NOT NULL,
    what VARCHAR NOT NULL,
    beer VARCHAR,
    style VARCHAR,
    format VARCHAR,
    route VARCHAR,
    session VARCHAR,
    days INTEGER,
    PRIMARY KEY (run_id, rank)
);
COMMENT ON TABLE results.attention IS 'What needs a person, most days at stake first.';
COMMENT ON COLUMN results.attention.run_id IS 'The run.';
COMMENT ON COLUMN results.attention.rank IS 'Order, from 1.';
COMMENT ON COLUMN results.attention.what IS 'printed too long, not fit for route, no safety validation, route incomplete, no estimate, fresh control rejected, or lent date.';
COMMENT ON COLUMN results.attention.beer IS 'Beer, where it concerns one.';
COMMENT ON COLUMN results.attention.style IS 'Style, where it concerns one.';
COMMENT ON COLUMN results.attention.format IS 'Format, where it concerns one.';
COMMENT ON COLUMN results.attention.route IS 'Route, where it concerns one.';
COMMENT ON COLUMN results.attention.session IS 'Tasting session, where it concerns one.';
COMMENT ON COLUMN results.attention.days IS 'Days at stake, where it can be said.';
