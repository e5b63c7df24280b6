-- How good the panel's scores are: the panel by attribute, what it can tell apart, each assessor.

CREATE TABLE results.panel_attributes (
    run_id BIGINT NOT NULL,
    attribute VARCHAR NOT NULL,
    low DOUBLE NOT NULL,
    high DOUBLE NOT NULL,
    glasses INTEGER NOT NULL,
    samples INTEGER NOT NULL,
    assessors INTEGER NOT NULL,
    repeats INTEGER NOT NULL,
    first_tasted DATE,
    last_tasted DATE,
    present INTEGER,
    repeated BOOLEAN NOT NULL,
    level_sd DOUBLE,
    level_sd_lower DOUBLE,
    level_sd_upper DOUBLE,
    disagreement_sd DOUBLE,
    disagreement_sd_lower DOUBLE,
    disagreement_sd_upper DOUBLE,
    repeat_sd DOUBLE,
    repeat_sd_lower DOUBLE,
    repeat_sd_upper DOUBLE,
    f DOUBLE,
    numerator DOUBLE,
    denominator DOUBLE,
    p DOUBLE,
    told_apart DOUBLE,
    told_apart_lower DOUBLE,
    told_apart_upper DOUBLE,
    reason VARCHAR,
    PRIMARY KEY (run_id, attribute)
);
COMMENT ON TABLE results.panel_attributes IS 'How the scores of an attribute scatter, last year of tasting; a mixed model by restricted likelihood.';
COMMENT ON COLUMN results.panel_attributes.run_id IS 'The run.';
COMMENT ON COLUMN results.panel_attributes.attribute IS 'Scored attribute.';
COMMENT ON COLUMN results.panel_attributes.low IS 'Lowest score of its scale.';
COMMENT ON COLUMN results.panel_attributes.high IS 'Highest score of its scale.';
COMMENT ON COLUMN results.panel_attributes.glasses IS 'Glasses scored.';
COMMENT ON COLUMN results.panel_attributes.samples IS 'Samples, counted anew in each session.';
COMMENT ON COLUMN results.panel_attributes.assessors IS 'Assessors who scored it.';
COMMENT ON COLUMN results.panel_attributes.repeats IS 'Second and further glasses of a sample to one assessor in one session.';
COMMENT ON COLUMN results.panel_attributes.first_tasted IS 'First tasting that counts.';
COMMENT ON COLUMN results.panel_attributes.last_tasted IS 'Last tasting that counts.';
COMMENT ON COLUMN results.panel_attributes.present IS 'Assessors that a sample usually has, their median.';
COMMENT ON COLUMN results.panel_attributes.repeated IS 'Whether there are repeats enough to tell them from disagreement.';
COMMENT ON COLUMN results.panel_attributes.level_sd IS 'SD of the assessors'' levels, points.';
COMMENT ON COLUMN results.panel_attributes.level_sd_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.panel_attributes.level_sd_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.panel_attributes.disagreement_sd IS 'SD of assessor by sample, points; empty without repeats.';
COMMENT ON COLUMN results.panel_attributes.disagreement_sd_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.panel_attributes.disagreement_sd_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.panel_attributes.repeat_sd IS 'SD of one assessor''s glasses of one sample, points; without repeats it holds the disagreement too.';
COMMENT ON COLUMN results.panel_attributes.repeat_sd_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.panel_attributes.repeat_sd_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.panel_attributes.f IS 'F of the samples.';
COMMENT ON COLUMN results.panel_attributes.numerator IS 'Its degrees of freedom above.';
COMMENT ON COLUMN results.panel_attributes.denominator IS 'And below, by Satterthwaite.';
COMMENT ON COLUMN results.panel_attributes.p IS 'Chance of an F as large where no sample differs.';
COMMENT ON COLUMN results.panel_attributes.told_apart IS 'Difference of two samples that the usual number of assessors finds four times in five, points.';
COMMENT ON COLUMN results.panel_attributes.told_apart_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.panel_attributes.told_apart_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.panel_attributes.reason IS 'Why there is no estimate; empty when there is one.';

CREATE TABLE results.panel_resolution (
    run_id BIGINT NOT NULL,
    attribute VARCHAR NOT NULL,
    assessors INTEGER NOT NULL,
    told_apart DOUBLE,
    told_apart_lower DOUBLE,
    told_apart_upper DOUBLE,
    told_apart_twice DOUBLE,
    PRIMARY KEY (run_id, attribute, assessors)
);
COMMENT ON TABLE results.panel_resolution IS 'Difference of two samples that so many assessors find four times in five.';
COMMENT ON COLUMN results.panel_resolution.run_id IS 'The run.';
COMMENT ON COLUMN results.panel_resolution.attribute IS 'Scored attribute.';
COMMENT ON COLUMN results.panel_resolution.assessors IS 'Assessors who taste both samples.';
COMMENT ON COLUMN results.panel_resolution.told_apart IS 'The difference, one glass of each, points.';
COMMENT ON COLUMN results.panel_resolution.told_apart_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.panel_resolution.told_apart_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.panel_resolution.told_apart_twice IS 'The same with two glasses of each; empty without repeats.';

CREATE TABLE results.panel_anova (
    run_id BIGINT NOT NULL,
    attribute VARCHAR NOT NULL,
    place INTEGER NOT NULL,
    source VARCHAR NOT NULL,
    squares DOUBLE NOT NULL,
    freedom INTEGER NOT NULL,
    mean_square DOUBLE,
    f DOUBLE,
    p DOUBLE,
    PRIMARY KEY (run_id, attribute, place)
);
COMMENT ON TABLE results.panel_anova IS 'Analysis of variance of the same scores, samples and assessors fixed, each after the other.';
COMMENT ON COLUMN results.panel_anova.run_id IS 'The run.';
COMMENT ON COLUMN results.panel_anova.attribute IS 'Scored attribute.';
COMMENT ON COLUMN results.panel_anova.place IS 'Place of the row, from 0.';
COMMENT ON COLUMN results.panel_anova.source IS 'samples, assessors, samples × assessors, or repeats.';
COMMENT ON COLUMN results.panel_anova.squares IS 'Sum of squares.';
COMMENT ON COLUMN results.panel_anova.freedom IS 'Degrees of freedom.';
COMMENT ON COLUMN results.panel_anova.mean_square IS 'Squares by degree of freedom.';
COMMENT ON COLUMN results.panel_anova.f IS 'Mean square over that of the repeats.';
COMMENT ON COLUMN results.panel_anova.p IS 'Chance of an F as large where nothing differs.';

CREATE TABLE results.assessor_scores (
    run_id BIGINT NOT NULL,
    attribute VARCHAR NOT NULL,
    assessor VARCHAR NOT NULL,
    glasses INTEGER NOT NULL,
    shared_samples INTEGER NOT NULL,
    repeats INTEGER NOT NULL,
    f DOUBLE,
    numerator INTEGER,
    denominator INTEGER,
    p DOUBLE,
    discrimination DOUBLE,
    discrimination_lower DOUBLE,
    discrimination_upper DOUBLE,
    repeatability DOUBLE,
    repeatability_lower DOUBLE,
    repeatability_upper DOUBLE,
    agreement DOUBLE,
    agreement_lower DOUBLE,
    agreement_upper DOUBLE,
    bias DOUBLE,
    bias_lower DOUBLE,
    bias_upper DOUBLE,
    scale DOUBLE,
    scale_lower DOUBLE,
    scale_upper DOUBLE,
    agrees_less BOOLEAN,
    unsteady BOOLEAN,
    scale_apart VARCHAR,
    PRIMARY KEY (run_id, attribute, assessor)
);
COMMENT ON TABLE results.assessor_scores IS 'Each assessor''s scores of an attribute beside the others''; empty where there is too little to say.';
COMMENT ON COLUMN results.assessor_scores.run_id IS 'The run.';
COMMENT ON COLUMN results.assessor_scores.attribute IS 'Scored attribute.';
COMMENT ON COLUMN results.assessor_scores.assessor IS 'Assessor.';
COMMENT ON COLUMN results.assessor_scores.glasses IS 'Glasses scored.';
COMMENT ON COLUMN results.assessor_scores.shared_samples IS 'Samples that another assessor had in the same session.';
COMMENT ON COLUMN results.assessor_scores.repeats IS 'Second and further glasses of a sample in one session.';
COMMENT ON COLUMN results.assessor_scores.f IS 'F between samples over repeats.';
COMMENT ON COLUMN results.assessor_scores.numerator IS 'Its degrees of freedom above.';
COMMENT ON COLUMN results.assessor_scores.denominator IS 'And below.';
COMMENT ON COLUMN results.assessor_scores.p IS 'Chance of an F as large where no sample differs.';
COMMENT ON COLUMN results.assessor_scores.discrimination IS 'Share of the scatter of the scores that is samples, 0 to 1.';
COMMENT ON COLUMN results.assessor_scores.discrimination_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.discrimination_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.repeatability IS 'SD of repeats, points.';
COMMENT ON COLUMN results.assessor_scores.repeatability_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.repeatability_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.agreement IS 'Correlation with the level of the samples by the others.';
COMMENT ON COLUMN results.assessor_scores.agreement_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.agreement_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.bias IS 'Mean of the scores less the others'' level, points.';
COMMENT ON COLUMN results.assessor_scores.bias_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.bias_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.scale IS 'Slope on the others'' level: 1 uses the scale as they do.';
COMMENT ON COLUMN results.assessor_scores.scale_lower IS 'At least, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.scale_upper IS 'At most, 90 % two-sided.';
COMMENT ON COLUMN results.assessor_scores.agrees_less IS 'Whether the correlation is surely below 0.7 times the others'' middle one.';
COMMENT ON COLUMN results.assessor_scores.unsteady IS 'Whether repeats surely scatter one and a half times as much as the others''.';
COMMENT ON COLUMN results.assessor_scores.scale_apart IS 'narrower (surely below two thirds), wider (surely above one and a half), or as the others.';
