-- What the policy makes of each date: whose rule it is, what each choice costs, and the labels.

-- Life ends at another share for some: the draws are kept for each share that is asked.
ALTER TABLE results.dose_lives ADD COLUMN share_rejected DOUBLE;
UPDATE results.dose_lives SET share_rejected = (
    SELECT r.share_rejected FROM results.runs AS r WHERE r.run_id = dose_lives.run_id
);
COMMENT ON COLUMN results.dose_lives.share_rejected IS 'Share of glasses rejected for age at which life ends, 0 to 1.';

CREATE TABLE results.date_rules (
    run_id BIGINT NOT NULL,
    beer VARCHAR,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    market VARCHAR NOT NULL,
    share_rejected DOUBLE NOT NULL,
    confidence DOUBLE NOT NULL,
    rounding VARCHAR NOT NULL,
    cap_days INTEGER NOT NULL,
    cap_at_oldest_tasted BOOLEAN NOT NULL,
    margin_days INTEGER NOT NULL,
    margin_share DOUBLE NOT NULL,
    temp_c DOUBLE NOT NULL,
    way_days DOUBLE NOT NULL,
    cold BOOLEAN NOT NULL,
    shelf_days INTEGER
);
COMMENT ON TABLE results.date_rules IS 'The rule behind each date of a style and of a beer in a format on a route.';
COMMENT ON COLUMN results.date_rules.run_id IS 'The run.';
COMMENT ON COLUMN results.date_rules.beer IS 'Beer; empty for the date of the style.';
COMMENT ON COLUMN results.date_rules.style IS 'Beer style.';
COMMENT ON COLUMN results.date_rules.format IS 'Package format.';
COMMENT ON COLUMN results.date_rules.route IS 'Route.';
COMMENT ON COLUMN results.date_rules.market IS 'Market that the route leads to; the route itself where it names none.';
COMMENT ON COLUMN results.date_rules.share_rejected IS 'Share of glasses rejected for age at which life ends, 0 to 1.';
COMMENT ON COLUMN results.date_rules.confidence IS 'One-sided confidence of the bounds, 0 to 1.';
COMMENT ON COLUMN results.date_rules.rounding IS 'What the date is rounded down to: day, week or month.';
COMMENT ON COLUMN results.date_rules.cap_days IS 'Longest date allowed, days from packaging.';
COMMENT ON COLUMN results.date_rules.cap_at_oldest_tasted IS 'Whether the oldest beer tasted caps the date.';
COMMENT ON COLUMN results.date_rules.margin_days IS 'Days kept back from what ends the life.';
COMMENT ON COLUMN results.date_rules.margin_share IS 'Share of it kept back, 0 to 1; the larger of the two counts.';
COMMENT ON COLUMN results.date_rules.temp_c IS 'Temperature at which the route ends, °C.';
COMMENT ON COLUMN results.date_rules.way_days IS 'Days from packaging to the last stage of the route.';
COMMENT ON COLUMN results.date_rules.cold IS 'Whether the route ends cold, so that the date needs its storage text.';
COMMENT ON COLUMN results.date_rules.shelf_days IS 'Days the date would have on a shelf at 21 °C from packaging on; only of cold routes.';

CREATE TABLE results.policy_choices (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    choice VARCHAR NOT NULL,
    setting VARCHAR NOT NULL,
    in_force BOOLEAN NOT NULL,
    best_before_days INTEGER,
    least_days INTEGER,
    difference_days INTEGER,
    binding_cause VARCHAR
);
COMMENT ON TABLE results.policy_choices IS 'The date under other choices of the policy, each changed alone.';
COMMENT ON COLUMN results.policy_choices.run_id IS 'The run.';
COMMENT ON COLUMN results.policy_choices.style IS 'Beer style.';
COMMENT ON COLUMN results.policy_choices.format IS 'Package format.';
COMMENT ON COLUMN results.policy_choices.route IS 'Route.';
COMMENT ON COLUMN results.policy_choices.choice IS 'What is chosen: share, confidence, rounding, cap, oldest tasted or margin.';
COMMENT ON COLUMN results.policy_choices.setting IS 'How it is chosen.';
COMMENT ON COLUMN results.policy_choices.in_force IS 'Whether it is chosen so now.';
COMMENT ON COLUMN results.policy_choices.best_before_days IS 'Best-before days then; empty where there would be no date.';
COMMENT ON COLUMN results.policy_choices.least_days IS 'The same on the worst packaging day: a month''s end takes up to 30 days.';
COMMENT ON COLUMN results.policy_choices.difference_days IS 'Days more than the date as it stands, or fewer where below 0.';
COMMENT ON COLUMN results.policy_choices.binding_cause IS 'What would end the life then.';

CREATE TABLE this_week.labels (
    beer VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    market VARCHAR NOT NULL,
    packaged_on DATE NOT NULL,
    days INTEGER NOT NULL,
    computed_on DATE NOT NULL,
    printed_on DATE,
    words VARCHAR,
    printed VARCHAR,
    reason VARCHAR,
    notes VARCHAR,
    rule VARCHAR NOT NULL,
    rule_name VARCHAR NOT NULL,
    form VARCHAR NOT NULL,
    rounding VARCHAR NOT NULL
);
COMMENT ON TABLE this_week.labels IS 'The date to print for each packaging day from today on.';
COMMENT ON COLUMN this_week.labels.beer IS 'Beer.';
COMMENT ON COLUMN this_week.labels.format IS 'Package format.';
COMMENT ON COLUMN this_week.labels.market IS 'Market.';
COMMENT ON COLUMN this_week.labels.packaged_on IS 'Packaging day.';
COMMENT ON COLUMN this_week.labels.days IS 'Best-before days, from packaging.';
COMMENT ON COLUMN this_week.labels.computed_on IS 'Packaging day and days.';
COMMENT ON COLUMN this_week.labels.printed_on IS 'The day that the print means; empty where nothing may be printed.';
COMMENT ON COLUMN this_week.labels.words IS 'What stands before the date.';
COMMENT ON COLUMN this_week.labels.printed IS 'The date as it is printed.';
COMMENT ON COLUMN this_week.labels.reason IS 'Why nothing may be printed.';
COMMENT ON COLUMN this_week.labels.notes IS 'What else the rule asks or says, a line each.';
COMMENT ON COLUMN this_week.labels.rule IS 'Rule: eu, uk, canada, usa or plain.';
COMMENT ON COLUMN this_week.labels.rule_name IS 'The rule''s name in full.';
COMMENT ON COLUMN this_week.labels.form IS 'How much of the date is printed: day, month or year.';
COMMENT ON COLUMN this_week.labels.rounding IS 'What the date is rounded down to: day, week or month.';

CREATE TABLE this_week.customer_minimums (
    beer VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    market VARCHAR NOT NULL,
    customer VARCHAR NOT NULL,
    days INTEGER NOT NULL,
    takes_days INTEGER NOT NULL,
    leaves_days INTEGER NOT NULL
);
COMMENT ON TABLE this_week.customer_minimums IS 'What each customer''s minimum takes of the printed life.';
COMMENT ON COLUMN this_week.customer_minimums.beer IS 'Beer.';
COMMENT ON COLUMN this_week.customer_minimums.format IS 'Package format.';
COMMENT ON COLUMN this_week.customer_minimums.market IS 'Market.';
COMMENT ON COLUMN this_week.customer_minimums.customer IS 'Customer.';
COMMENT ON COLUMN this_week.customer_minimums.days IS 'Best-before days, from packaging.';
COMMENT ON COLUMN this_week.customer_minimums.takes_days IS 'Days of it that the customer asks to be left.';
COMMENT ON COLUMN this_week.customer_minimums.leaves_days IS 'Days from packaging within which it is to be shipped; below 0: never.';
