-- Which sessions can be believed, and what the order of the glasses does.

COMMENT ON TABLE results.flagged_sessions IS 'Sessions in which more of the panel rejected the blind fresh control than its false alarms explain: suspect the sample first.';

CREATE TABLE results.panel_sessions (
    run_id BIGINT NOT NULL,
    session VARCHAR NOT NULL,
    tasted_on DATE NOT NULL,
    assessors INTEGER NOT NULL,
    samples INTEGER NOT NULL,
    most_glasses INTEGER NOT NULL,
    fresh_tasted INTEGER NOT NULL,
    fresh_rejected INTEGER NOT NULL,
    fresh_expected DOUBLE,
    fresh_chance DOUBLE,
    fresh_age_days INTEGER,
    fresh_storage_temp_c DOUBLE,
    fresh_waited_days INTEGER,
    fresh_failed BOOLEAN NOT NULL,
    suspect VARCHAR,
    no_fresh BOOLEAN NOT NULL,
    few_assessors BOOLEAN NOT NULL,
    many_glasses BOOLEAN NOT NULL,
    PRIMARY KEY (run_id, session)
);
COMMENT ON TABLE results.panel_sessions IS 'Every session of aged or fresh beer, and what bears on whether it can be believed.';
COMMENT ON COLUMN results.panel_sessions.run_id IS 'The run.';
COMMENT ON COLUMN results.panel_sessions.session IS 'Session.';
COMMENT ON COLUMN results.panel_sessions.tasted_on IS 'Day of the tasting.';
COMMENT ON COLUMN results.panel_sessions.assessors IS 'Tasters who were there.';
COMMENT ON COLUMN results.panel_sessions.samples IS 'Samples on the table.';
COMMENT ON COLUMN results.panel_sessions.most_glasses IS 'Glasses of the taster who had most.';
COMMENT ON COLUMN results.panel_sessions.fresh_tasted IS 'Verdicts on the blind fresh control, not sure left out.';
COMMENT ON COLUMN results.panel_sessions.fresh_rejected IS 'How many of them were rejections.';
COMMENT ON COLUMN results.panel_sessions.fresh_expected IS 'How many rejections are usual for those who sat there.';
COMMENT ON COLUMN results.panel_sessions.fresh_chance IS 'Chance of so many rejections or more by their usual false alarms, 0 to 1.';
COMMENT ON COLUMN results.panel_sessions.fresh_age_days IS 'Oldest fresh control, days from packaging to the tasting.';
COMMENT ON COLUMN results.panel_sessions.fresh_storage_temp_c IS 'Warmest storage of a fresh control, °C.';
COMMENT ON COLUMN results.panel_sessions.fresh_waited_days IS 'Longest wait of a fresh control from its pull, days.';
COMMENT ON COLUMN results.panel_sessions.fresh_failed IS 'Whether more rejected the control than false alarms explain.';
COMMENT ON COLUMN results.panel_sessions.suspect IS 'Of a failed control, what to suspect first: kept warm, old, waited, or the panel that day.';
COMMENT ON COLUMN results.panel_sessions.no_fresh IS 'Whether there was no fresh control.';
COMMENT ON COLUMN results.panel_sessions.few_assessors IS 'Whether fewer than four tasters were there.';
COMMENT ON COLUMN results.panel_sessions.many_glasses IS 'Whether a taster had more than six glasses.';

CREATE TABLE results.waited_samples (
    run_id BIGINT NOT NULL,
    session VARCHAR NOT NULL,
    tasted_on DATE NOT NULL,
    sample VARCHAR NOT NULL,
    role VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    lot VARCHAR NOT NULL,
    storage_temp_c DOUBLE NOT NULL,
    pulled_on DATE NOT NULL,
    waited_days INTEGER NOT NULL
);
COMMENT ON TABLE results.waited_samples IS 'Samples that were tasted later after their pull than they should be.';
COMMENT ON COLUMN results.waited_samples.run_id IS 'The run.';
COMMENT ON COLUMN results.waited_samples.session IS 'Session.';
COMMENT ON COLUMN results.waited_samples.tasted_on IS 'Day of the tasting.';
COMMENT ON COLUMN results.waited_samples.sample IS 'Sample.';
COMMENT ON COLUMN results.waited_samples.role IS 'aged or fresh.';
COMMENT ON COLUMN results.waited_samples.beer IS 'Beer.';
COMMENT ON COLUMN results.waited_samples.format IS 'Package format.';
COMMENT ON COLUMN results.waited_samples.lot IS 'Lot.';
COMMENT ON COLUMN results.waited_samples.storage_temp_c IS 'Storage before the pull, °C.';
COMMENT ON COLUMN results.waited_samples.pulled_on IS 'Day of the pull.';
COMMENT ON COLUMN results.waited_samples.waited_days IS 'Days from the pull to the tasting.';

CREATE TABLE results.order_effects (
    run_id BIGINT NOT NULL,
    outcome VARCHAR NOT NULL,
    effect VARCHAR NOT NULL,
    glasses INTEGER NOT NULL,
    sessions INTEGER NOT NULL,
    estimate DOUBLE,
    lower DOUBLE,
    upper DOUBLE,
    reason VARCHAR,
    PRIMARY KEY (run_id, outcome, effect)
);
COMMENT ON TABLE results.order_effects IS 'What the place of a glass, or the glass before it, does to verdicts and scores.';
COMMENT ON COLUMN results.order_effects.run_id IS 'The run.';
COMMENT ON COLUMN results.order_effects.outcome IS 'rejected, or an attribute.';
COMMENT ON COLUMN results.order_effects.effect IS 'first (against any later place), each place later (from the second on), or after a rejected (against an accepted glass before it).';
COMMENT ON COLUMN results.order_effects.glasses IS 'Glasses that tell something.';
COMMENT ON COLUMN results.order_effects.sessions IS 'Their sessions.';
COMMENT ON COLUMN results.order_effects.estimate IS 'Share of glasses rejected more, 0 to 1, or points of the scale more.';
COMMENT ON COLUMN results.order_effects.lower IS 'Lower end of its 90 % interval.';
COMMENT ON COLUMN results.order_effects.upper IS 'Upper end of it.';
COMMENT ON COLUMN results.order_effects.reason IS 'Why there is no estimate.';
