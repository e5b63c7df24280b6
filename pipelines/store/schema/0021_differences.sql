-- Difference tests, and before and after on one panel.

CREATE TABLE results.difference_tests (
    run_id BIGINT NOT NULL,
    session VARCHAR NOT NULL,
    tasted_on DATE NOT NULL,
    method VARCHAR NOT NULL,
    sample VARCHAR NOT NULL,
    control VARCHAR NOT NULL,
    sample_beer VARCHAR NOT NULL,
    sample_format VARCHAR NOT NULL,
    sample_lot VARCHAR NOT NULL,
    sample_storage_temp_c DOUBLE NOT NULL,
    sample_stored_days INTEGER NOT NULL,
    control_beer VARCHAR NOT NULL,
    control_format VARCHAR NOT NULL,
    control_lot VARCHAR NOT NULL,
    control_storage_temp_c DOUBLE NOT NULL,
    control_stored_days INTEGER NOT NULL,
    assessments INTEGER NOT NULL,
    correct INTEGER NOT NULL,
    p DOUBLE NOT NULL,
    found BOOLEAN NOT NULL,
    share DOUBLE NOT NULL,
    share_lower DOUBLE NOT NULL,
    share_upper DOUBLE NOT NULL,
    d_prime DOUBLE,
    d_prime_lower DOUBLE,
    d_prime_upper DOUBLE,
    critical INTEGER,
    power DOUBLE NOT NULL,
    first_size INTEGER NOT NULL,
    always_size INTEGER NOT NULL,
    share_at_most DOUBLE NOT NULL,
    shown_similar BOOLEAN NOT NULL,
    answer VARCHAR NOT NULL,
    statistics VARCHAR NOT NULL,
    PRIMARY KEY (run_id, session, method, sample, control)
);
COMMENT ON TABLE results.difference_tests IS 'What each difference test shows, and what it may have missed.';
COMMENT ON COLUMN results.difference_tests.run_id IS 'The run.';
COMMENT ON COLUMN results.difference_tests.session IS 'Tasting session.';
COMMENT ON COLUMN results.difference_tests.tasted_on IS 'Day of the test.';
COMMENT ON COLUMN results.difference_tests.method IS 'triangle, duo-trio, paired or tetrad.';
COMMENT ON COLUMN results.difference_tests.sample IS 'The sample.';
COMMENT ON COLUMN results.difference_tests.control IS 'The sample that it was compared with.';
COMMENT ON COLUMN results.difference_tests.sample_beer IS 'Beer of the sample.';
COMMENT ON COLUMN results.difference_tests.sample_format IS 'Package format of the sample.';
COMMENT ON COLUMN results.difference_tests.sample_lot IS 'Lot of the sample.';
COMMENT ON COLUMN results.difference_tests.sample_storage_temp_c IS 'Temperature of its storage, °C.';
COMMENT ON COLUMN results.difference_tests.sample_stored_days IS 'Days that it was stored so.';
COMMENT ON COLUMN results.difference_tests.control_beer IS 'Beer of the control.';
COMMENT ON COLUMN results.difference_tests.control_format IS 'Package format of the control.';
COMMENT ON COLUMN results.difference_tests.control_lot IS 'Lot of the control.';
COMMENT ON COLUMN results.difference_tests.control_storage_temp_c IS 'Temperature of its storage, °C.';
COMMENT ON COLUMN results.difference_tests.control_stored_days IS 'Days that it was stored so.';
COMMENT ON COLUMN results.difference_tests.assessments IS 'Answers given.';
COMMENT ON COLUMN results.difference_tests.correct IS 'Correct ones among them.';
COMMENT ON COLUMN results.difference_tests.p IS 'Chance of at least as many by luck, exact.';
COMMENT ON COLUMN results.difference_tests.found IS 'Whether a difference was found, at 0.05.';
COMMENT ON COLUMN results.difference_tests.share IS 'People who notice, 0 to 1.';
COMMENT ON COLUMN results.difference_tests.share_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.difference_tests.share_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.difference_tests.d_prime IS 'Difference in standard deviations of a taster''s sensation; empty where nothing bounds it.';
COMMENT ON COLUMN results.difference_tests.d_prime_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.difference_tests.d_prime_upper IS 'At most, 90 % two-sided; empty where nothing bounds it.';
COMMENT ON COLUMN results.difference_tests.critical IS 'Correct answers from which a difference is found; empty where no number is enough.';
COMMENT ON COLUMN results.difference_tests.power IS 'Chance of finding a difference that 30 % of people notice.';
COMMENT ON COLUMN results.difference_tests.first_size IS 'Fewest answers that find it with a chance of 80 %.';
COMMENT ON COLUMN results.difference_tests.always_size IS 'Answers from which on every number does.';
COMMENT ON COLUMN results.difference_tests.share_at_most IS 'People who notice at most, one-sided 95 %.';
COMMENT ON COLUMN results.difference_tests.shown_similar IS 'Whether that is below 30 %.';
COMMENT ON COLUMN results.difference_tests.answer IS 'What is said of it.';
COMMENT ON COLUMN results.difference_tests.statistics IS 'The numbers for a statistician.';

CREATE TABLE results.difference_pairs (
    run_id BIGINT NOT NULL,
    method VARCHAR NOT NULL,
    sample_beer VARCHAR NOT NULL,
    sample_format VARCHAR NOT NULL,
    sample_storage_temp_c DOUBLE NOT NULL,
    sample_weeks INTEGER NOT NULL,
    control_beer VARCHAR NOT NULL,
    control_format VARCHAR NOT NULL,
    control_storage_temp_c DOUBLE NOT NULL,
    control_weeks INTEGER NOT NULL,
    tests INTEGER NOT NULL,
    assessments INTEGER NOT NULL,
    correct INTEGER NOT NULL,
    p DOUBLE NOT NULL,
    found BOOLEAN NOT NULL,
    share DOUBLE NOT NULL,
    share_lower DOUBLE NOT NULL,
    share_upper DOUBLE NOT NULL,
    d_prime DOUBLE,
    d_prime_lower DOUBLE,
    d_prime_upper DOUBLE,
    added_lower DOUBLE NOT NULL,
    added_upper DOUBLE NOT NULL,
    overdispersion DOUBLE NOT NULL,
    p_alike DOUBLE NOT NULL,
    answer VARCHAR NOT NULL
);
COMMENT ON TABLE results.difference_pairs IS 'Tests of one pair together.';
COMMENT ON COLUMN results.difference_pairs.run_id IS 'The run.';
COMMENT ON COLUMN results.difference_pairs.method IS 'triangle, duo-trio, paired or tetrad.';
COMMENT ON COLUMN results.difference_pairs.sample_beer IS 'Beer of the sample.';
COMMENT ON COLUMN results.difference_pairs.sample_format IS 'Package format of the sample.';
COMMENT ON COLUMN results.difference_pairs.sample_storage_temp_c IS 'Temperature of its storage, °C.';
COMMENT ON COLUMN results.difference_pairs.sample_weeks IS 'Weeks that it was stored so, in steps of four.';
COMMENT ON COLUMN results.difference_pairs.control_beer IS 'Beer of the control.';
COMMENT ON COLUMN results.difference_pairs.control_format IS 'Package format of the control.';
COMMENT ON COLUMN results.difference_pairs.control_storage_temp_c IS 'Temperature of its storage, °C.';
COMMENT ON COLUMN results.difference_pairs.control_weeks IS 'Weeks that it was stored so, in steps of four.';
COMMENT ON COLUMN results.difference_pairs.tests IS 'Tests of the pair.';
COMMENT ON COLUMN results.difference_pairs.assessments IS 'Answers given.';
COMMENT ON COLUMN results.difference_pairs.correct IS 'Correct ones among them.';
COMMENT ON COLUMN results.difference_pairs.p IS 'Chance of at least as many by luck, all answers together.';
COMMENT ON COLUMN results.difference_pairs.found IS 'Whether a difference was found, at 0.05.';
COMMENT ON COLUMN results.difference_pairs.share IS 'People who notice, 0 to 1.';
COMMENT ON COLUMN results.difference_pairs.share_lower IS 'At least, 90 % two-sided, with what tests differ.';
COMMENT ON COLUMN results.difference_pairs.share_upper IS 'At most, likewise.';
COMMENT ON COLUMN results.difference_pairs.d_prime IS 'Difference in standard deviations of a taster''s sensation; empty where nothing bounds it.';
COMMENT ON COLUMN results.difference_pairs.d_prime_lower IS 'At least, likewise.';
COMMENT ON COLUMN results.difference_pairs.d_prime_upper IS 'At most, likewise; empty where nothing bounds it.';
COMMENT ON COLUMN results.difference_pairs.added_lower IS 'Share at least, were all tests alike, 90 % two-sided.';
COMMENT ON COLUMN results.difference_pairs.added_upper IS 'At most, likewise.';
COMMENT ON COLUMN results.difference_pairs.overdispersion IS 'Correlation of two answers of one test, 0 to 1.';
COMMENT ON COLUMN results.difference_pairs.p_alike IS 'Chance of tests as unlike, were they all alike.';
COMMENT ON COLUMN results.difference_pairs.answer IS 'What is said of it.';

CREATE TABLE results.difference_sizes (
    run_id BIGINT NOT NULL,
    method VARCHAR NOT NULL,
    assessments INTEGER,
    share DOUBLE NOT NULL,
    power DOUBLE,
    first_size INTEGER NOT NULL,
    always_size INTEGER NOT NULL,
    similar_size INTEGER NOT NULL,
    PRIMARY KEY (run_id, method, share)
);
COMMENT ON TABLE results.difference_sizes IS 'How many answers it takes to find a difference, by who notices it.';
COMMENT ON COLUMN results.difference_sizes.run_id IS 'The run.';
COMMENT ON COLUMN results.difference_sizes.method IS 'triangle, for tetrads too, or duo-trio, for pairs too.';
COMMENT ON COLUMN results.difference_sizes.assessments IS 'Answers that this panel usually gives, the median; empty without tests.';
COMMENT ON COLUMN results.difference_sizes.share IS 'People who notice, 0 to 1.';
COMMENT ON COLUMN results.difference_sizes.power IS 'Chance that so many answers find that; empty without tests.';
COMMENT ON COLUMN results.difference_sizes.first_size IS 'Fewest answers that find it with a chance of 80 %.';
COMMENT ON COLUMN results.difference_sizes.always_size IS 'Answers from which on every number does.';
COMMENT ON COLUMN results.difference_sizes.similar_size IS 'Fewest that show that fewer notice, with a chance of 80 % where nobody does.';

CREATE TABLE results.comparisons (
    run_id BIGINT NOT NULL,
    kind VARCHAR NOT NULL,
    subject VARCHAR NOT NULL,
    changed_on DATE,
    first VARCHAR NOT NULL,
    second VARCHAR NOT NULL,
    attribute VARCHAR,
    first_mean DOUBLE,
    first_lower DOUBLE,
    first_upper DOUBLE,
    second_mean DOUBLE,
    second_lower DOUBLE,
    second_upper DOUBLE,
    difference DOUBLE,
    difference_lower DOUBLE,
    difference_upper DOUBLE,
    level DOUBLE,
    looks INTEGER,
    first_glasses INTEGER NOT NULL,
    second_glasses INTEGER NOT NULL,
    assessors INTEGER NOT NULL,
    first_lots INTEGER NOT NULL,
    second_lots INTEGER NOT NULL,
    sessions INTEGER NOT NULL,
    kept VARCHAR NOT NULL,
    one_session BOOLEAN NOT NULL,
    reason VARCHAR,
    found BOOLEAN NOT NULL,
    answer VARCHAR NOT NULL,
    compared VARCHAR NOT NULL
);
COMMENT ON TABLE results.comparisons IS 'Two sides on one panel: before and after, formats, trials.';
COMMENT ON COLUMN results.comparisons.run_id IS 'The run.';
COMMENT ON COLUMN results.comparisons.kind IS 'format, trial or change.';
COMMENT ON COLUMN results.comparisons.subject IS 'What the question is about: a style, a lot, a change.';
COMMENT ON COLUMN results.comparisons.changed_on IS 'Day of a change; empty else.';
COMMENT ON COLUMN results.comparisons.first IS 'The first side.';
COMMENT ON COLUMN results.comparisons.second IS 'The second side.';
COMMENT ON COLUMN results.comparisons.attribute IS 'What was scored; empty for the share of glasses rejected.';
COMMENT ON COLUMN results.comparisons.first_mean IS 'Mean of the first side, on the scale of the attribute or as a share.';
COMMENT ON COLUMN results.comparisons.first_lower IS 'At least, at the level.';
COMMENT ON COLUMN results.comparisons.first_upper IS 'At most, at the level.';
COMMENT ON COLUMN results.comparisons.second_mean IS 'Mean of the second side.';
COMMENT ON COLUMN results.comparisons.second_lower IS 'At least, at the level.';
COMMENT ON COLUMN results.comparisons.second_upper IS 'At most, at the level.';
COMMENT ON COLUMN results.comparisons.difference IS 'The second less the first.';
COMMENT ON COLUMN results.comparisons.difference_lower IS 'At least, at the level.';
COMMENT ON COLUMN results.comparisons.difference_upper IS 'At most, at the level.';
COMMENT ON COLUMN results.comparisons.level IS 'Confidence of the bounds, two-sided: all of a question hold together in 90 %.';
COMMENT ON COLUMN results.comparisons.looks IS 'Attributes times pairs of the question.';
COMMENT ON COLUMN results.comparisons.first_glasses IS 'Glasses of the first side.';
COMMENT ON COLUMN results.comparisons.second_glasses IS 'Glasses of the second side.';
COMMENT ON COLUMN results.comparisons.assessors IS 'Who tasted both.';
COMMENT ON COLUMN results.comparisons.first_lots IS 'Lots of the first side.';
COMMENT ON COLUMN results.comparisons.second_lots IS 'Lots of the second side.';
COMMENT ON COLUMN results.comparisons.sessions IS 'Sessions in which they were tasted.';
COMMENT ON COLUMN results.comparisons.kept IS 'Storages and days of what was compared.';
COMMENT ON COLUMN results.comparisons.one_session IS 'Whether all was tasted in one session.';
COMMENT ON COLUMN results.comparisons.reason IS 'Why there are no numbers; empty where there are.';
COMMENT ON COLUMN results.comparisons.found IS 'Whether the sides differ, by the bounds rounded outwards to hundredths.';
COMMENT ON COLUMN results.comparisons.answer IS 'What is said of it.';
COMMENT ON COLUMN results.comparisons.compared IS 'What was compared, in words.';
