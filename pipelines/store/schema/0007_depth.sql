-- What the staling model says beyond the dates: checks of itself, effects, and other routes to an age.

ALTER TABLE results.parameters ADD COLUMN narrowed DOUBLE;
COMMENT ON COLUMN results.parameters.narrowed IS 'Share of the prior''s standard deviation that the data took away, 0 to 1.';
ALTER TABLE results.laws ADD COLUMN weight DOUBLE;
COMMENT ON COLUMN results.laws.weight IS 'Share of the draws under this law, by its likelihood; 0 when it is not near the best.';

CREATE TABLE results.treatments (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    treatment VARCHAR NOT NULL,
    days DOUBLE,
    days_lower DOUBLE,
    days_upper DOUBLE,
    reason VARCHAR,
    PRIMARY KEY (run_id, style, treatment)
);
COMMENT ON TABLE results.treatments IS 'Four ways to read the same verdicts, compared in days.';
COMMENT ON COLUMN results.treatments.run_id IS 'The run.';
COMMENT ON COLUMN results.treatments.style IS 'Beer style.';
COMMENT ON COLUMN results.treatments.treatment IS 'wrong verdicts allowed (used for dates), widest brackets, first rejection, or every glass alone.';
COMMENT ON COLUMN results.treatments.days IS 'Days at 20 °C until a quarter is rejected, over the lots tasted; empty when it cannot be estimated.';
COMMENT ON COLUMN results.treatments.days_lower IS 'One-sided lower bound.';
COMMENT ON COLUMN results.treatments.days_upper IS 'One-sided upper bound.';
COMMENT ON COLUMN results.treatments.reason IS 'Why there is no estimate; empty when there is one.';

CREATE TABLE results.oxygen_effects (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    more VARCHAR NOT NULL,
    days_lost DOUBLE NOT NULL,
    days_lost_lower DOUBLE NOT NULL,
    days_lost_upper DOUBLE NOT NULL,
    source VARCHAR NOT NULL CHECK (source IN ('fitted', 'prior')),
    PRIMARY KEY (run_id, style, format, more)
);
COMMENT ON TABLE results.oxygen_effects IS 'What more package oxygen costs, in days at 20 °C.';
COMMENT ON COLUMN results.oxygen_effects.run_id IS 'The run.';
COMMENT ON COLUMN results.oxygen_effects.style IS 'Beer style.';
COMMENT ON COLUMN results.oxygen_effects.format IS 'Package format.';
COMMENT ON COLUMN results.oxygen_effects.more IS 'twice the dose, or 20 ppb more.';
COMMENT ON COLUMN results.oxygen_effects.days_lost IS 'Days lost of the age at which the share of the policy is rejected, median of what is not known.';
COMMENT ON COLUMN results.oxygen_effects.days_lost_lower IS 'One-sided lower bound.';
COMMENT ON COLUMN results.oxygen_effects.days_lost_upper IS 'One-sided upper bound.';
COMMENT ON COLUMN results.oxygen_effects.source IS 'prior until the data have halved what the priors leave open of the exponent.';

CREATE TABLE results.curvature (
    run_id BIGINT NOT NULL,
    statistic DOUBLE NOT NULL,
    p_value DOUBLE NOT NULL,
    ratio_cold DOUBLE NOT NULL,
    PRIMARY KEY (run_id)
);
COMMENT ON TABLE results.curvature IS 'Whether one activation energy serves all storage temperatures.';
COMMENT ON COLUMN results.curvature.run_id IS 'The run.';
COMMENT ON COLUMN results.curvature.statistic IS 'Likelihood ratio of a curved against a straight Arrhenius line, one degree of freedom.';
COMMENT ON COLUMN results.curvature.p_value IS 'How often chance alone makes it as large.';
COMMENT ON COLUMN results.curvature.ratio_cold IS 'Life at 8 °C by the curved line over that by the straight one.';

CREATE TABLE results.real_time (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    verdicts INTEGER NOT NULL,
    rejected INTEGER NOT NULL,
    expected DOUBLE NOT NULL,
    expected_lower DOUBLE NOT NULL,
    expected_upper DOUBLE NOT NULL,
    oldest_days DOUBLE NOT NULL,
    PRIMARY KEY (run_id, style)
);
COMMENT ON TABLE results.real_time IS 'Beer kept at the trade''s temperature against a fit that saw warmer storage only.';
COMMENT ON COLUMN results.real_time.run_id IS 'The run.';
COMMENT ON COLUMN results.real_time.style IS 'Beer style.';
COMMENT ON COLUMN results.real_time.verdicts IS 'Verdicts on beer kept at 15 to 25 °C.';
COMMENT ON COLUMN results.real_time.rejected IS 'Rejections among them.';
COMMENT ON COLUMN results.real_time.expected IS 'Rejections that the forced storage would have had one expect, median.';
COMMENT ON COLUMN results.real_time.expected_lower IS 'One-sided lower bound.';
COMMENT ON COLUMN results.real_time.expected_upper IS 'One-sided upper bound.';
COMMENT ON COLUMN results.real_time.oldest_days IS 'Oldest of that beer, days from packaging.';

CREATE TABLE results.turnbull_bands (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    age_days DOUBLE NOT NULL,
    share_lower DOUBLE NOT NULL,
    share_upper DOUBLE NOT NULL,
    PRIMARY KEY (run_id, style, age_days)
);
COMMENT ON TABLE results.turnbull_bands IS 'How far the share straight from the brackets can be trusted, point by point.';
COMMENT ON COLUMN results.turnbull_bands.run_id IS 'The run.';
COMMENT ON COLUMN results.turnbull_bands.style IS 'Beer style.';
COMMENT ON COLUMN results.turnbull_bands.age_days IS 'Days at 20 °C.';
COMMENT ON COLUMN results.turnbull_bands.share_lower IS 'One-sided lower bound of the share rejected, whole lots resampled.';
COMMENT ON COLUMN results.turnbull_bands.share_upper IS 'One-sided upper bound.';

CREATE TABLE results.gaps (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    age_from DOUBLE NOT NULL,
    age_to DOUBLE,
    share DOUBLE NOT NULL,
    PRIMARY KEY (run_id, style)
);
COMMENT ON TABLE results.gaps IS 'The interval in which most of a style''s rejections lie unseen.';
COMMENT ON COLUMN results.gaps.run_id IS 'The run.';
COMMENT ON COLUMN results.gaps.style IS 'Beer style.';
COMMENT ON COLUMN results.gaps.age_from IS 'Start, days at 20 °C.';
COMMENT ON COLUMN results.gaps.age_to IS 'End; empty when it never ends.';
COMMENT ON COLUMN results.gaps.share IS 'Share of glasses that turn somewhere inside it.';

CREATE TABLE results.score_crossings (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    attribute VARCHAR NOT NULL,
    course VARCHAR NOT NULL,
    pulls INTEGER NOT NULL,
    lots INTEGER NOT NULL,
    days DOUBLE,
    days_lower DOUBLE,
    days_upper DOUBLE,
    verdict_days DOUBLE,
    note VARCHAR,
    PRIMARY KEY (run_id, style, attribute)
);
COMMENT ON TABLE results.score_crossings IS 'The age at which a panel''s mean score crosses its cut-off.';
COMMENT ON COLUMN results.score_crossings.run_id IS 'The run.';
COMMENT ON COLUMN results.score_crossings.style IS 'Beer style.';
COMMENT ON COLUMN results.score_crossings.attribute IS 'Attribute.';
COMMENT ON COLUMN results.score_crossings.course IS 'zero order (a straight line) or first order (towards the end of the scale).';
COMMENT ON COLUMN results.score_crossings.pulls IS 'Pulls with a panel mean.';
COMMENT ON COLUMN results.score_crossings.lots IS 'Lots among them.';
COMMENT ON COLUMN results.score_crossings.days IS 'Days at 20 °C to the cut-off; empty when it is not crossed.';
COMMENT ON COLUMN results.score_crossings.days_lower IS 'Lower Fieller bound; empty when unbounded.';
COMMENT ON COLUMN results.score_crossings.days_upper IS 'Upper Fieller bound; empty when unbounded.';
COMMENT ON COLUMN results.score_crossings.verdict_days IS 'The same share by the verdicts, to set beside it.';
COMMENT ON COLUMN results.score_crossings.note IS 'What to know of it: cannot be decided, beyond the oldest beer tasted, or disagrees with the verdicts.';

CREATE TABLE results.scores_left_out (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    attribute VARCHAR NOT NULL,
    reason VARCHAR NOT NULL,
    PRIMARY KEY (run_id, style, attribute)
);
COMMENT ON TABLE results.scores_left_out IS 'Attributes for which no crossing is told, and why.';
COMMENT ON COLUMN results.scores_left_out.run_id IS 'The run.';
COMMENT ON COLUMN results.scores_left_out.style IS 'Beer style.';
COMMENT ON COLUMN results.scores_left_out.attribute IS 'Attribute.';
COMMENT ON COLUMN results.scores_left_out.reason IS 'Why it is left out.';

CREATE TABLE results.back_test (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    lot VARCHAR NOT NULL,
    verdicts INTEGER NOT NULL,
    rejected INTEGER NOT NULL,
    expected DOUBLE NOT NULL,
    log_score DOUBLE NOT NULL,
    printed_verdicts INTEGER NOT NULL,
    printed_log_score DOUBLE,
    baseline_log_score DOUBLE,
    PRIMARY KEY (run_id, lot, format)
);
COMMENT ON TABLE results.back_test IS 'Each lot predicted by a fit that did not see it.';
COMMENT ON COLUMN results.back_test.run_id IS 'The run.';
COMMENT ON COLUMN results.back_test.style IS 'Beer style.';
COMMENT ON COLUMN results.back_test.format IS 'Package format.';
COMMENT ON COLUMN results.back_test.lot IS 'Lot.';
COMMENT ON COLUMN results.back_test.verdicts IS 'Verdicts on its aged beer.';
COMMENT ON COLUMN results.back_test.rejected IS 'Rejections among them.';
COMMENT ON COLUMN results.back_test.expected IS 'Rejections predicted without it.';
COMMENT ON COLUMN results.back_test.log_score IS 'Mean log probability given to what was answered; 0 is perfect.';
COMMENT ON COLUMN results.back_test.printed_verdicts IS 'Verdicts on beer kept at 25 °C or below of lots with a printed date.';
COMMENT ON COLUMN results.back_test.printed_log_score IS 'Mean log score over those verdicts of the model.';
COMMENT ON COLUMN results.back_test.baseline_log_score IS 'The same if every beer kept to its printed date.';

CREATE TABLE results.back_test_calibration (
    run_id BIGINT NOT NULL,
    expected_from DOUBLE NOT NULL,
    expected_to DOUBLE NOT NULL,
    verdicts INTEGER NOT NULL,
    expected DOUBLE NOT NULL,
    rejected DOUBLE NOT NULL,
    PRIMARY KEY (run_id, expected_from)
);
COMMENT ON TABLE results.back_test_calibration IS 'Predicted shares of the back-test in bands, beside what was rejected.';
COMMENT ON COLUMN results.back_test_calibration.run_id IS 'The run.';
COMMENT ON COLUMN results.back_test_calibration.expected_from IS 'Lower end of the band of predicted probability.';
COMMENT ON COLUMN results.back_test_calibration.expected_to IS 'Upper end.';
COMMENT ON COLUMN results.back_test_calibration.verdicts IS 'Verdicts in the band.';
COMMENT ON COLUMN results.back_test_calibration.expected IS 'Mean predicted probability of rejection.';
COMMENT ON COLUMN results.back_test_calibration.rejected IS 'Share rejected.';

CREATE TABLE results.trial_effects (
    run_id BIGINT NOT NULL,
    trial VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    lots INTEGER NOT NULL,
    oxygen_held BOOLEAN NOT NULL,
    days_gained DOUBLE NOT NULL,
    days_gained_lower DOUBLE NOT NULL,
    days_gained_upper DOUBLE NOT NULL,
    PRIMARY KEY (run_id, trial, style, oxygen_held)
);
COMMENT ON TABLE results.trial_effects IS 'What a change being tried did to a beer''s life, in days at 20 °C.';
COMMENT ON COLUMN results.trial_effects.run_id IS 'The run.';
COMMENT ON COLUMN results.trial_effects.trial IS 'The change, as the lots table names it.';
COMMENT ON COLUMN results.trial_effects.style IS 'Beer style.';
COMMENT ON COLUMN results.trial_effects.lots IS 'Lots with the change that were tasted.';
COMMENT ON COLUMN results.trial_effects.oxygen_held IS 'Whether the oxygen dose is held equal, or moves with the change.';
COMMENT ON COLUMN results.trial_effects.days_gained IS 'Days gained of the age at which the share of the policy is rejected, median.';
COMMENT ON COLUMN results.trial_effects.days_gained_lower IS 'One-sided lower bound.';
COMMENT ON COLUMN results.trial_effects.days_gained_upper IS 'One-sided upper bound.';
