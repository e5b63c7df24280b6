-- Formats that are thought about: what a lent date depends on, what was asked, and the answer.

CREATE TABLE results.style_lives (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    draw INTEGER NOT NULL,
    distribution VARCHAR NOT NULL,
    location DOUBLE NOT NULL,
    scale DOUBLE NOT NULL,
    "between" DOUBLE NOT NULL,
    oxygen_exponent DOUBLE NOT NULL,
    activation_energy_kj_mol DOUBLE NOT NULL
);
COMMENT ON TABLE results.style_lives IS 'What the life of a style in a format that was never filled depends on, draw by draw, of the newest run alone.';
COMMENT ON COLUMN results.style_lives.run_id IS 'The run.';
COMMENT ON COLUMN results.style_lives.style IS 'Beer style.';
COMMENT ON COLUMN results.style_lives.draw IS 'Number of the draw, from 0.';
COMMENT ON COLUMN results.style_lives.distribution IS 'Distribution of the age at which an assessor begins to reject.';
COMMENT ON COLUMN results.style_lives.location IS 'Its location, log days at 20 °C and a dose of 60 ppb.';
COMMENT ON COLUMN results.style_lives.scale IS 'Its scale, log days.';
COMMENT ON COLUMN results.style_lives."between" IS 'SD between a future lot and an assessor, log days.';
COMMENT ON COLUMN results.style_lives.oxygen_exponent IS 'The life goes with the dose to the power of minus this.';
COMMENT ON COLUMN results.style_lives.activation_energy_kj_mol IS 'Activation energy of the style, kJ/mol.';

CREATE TABLE results.new_format_questions (
    asked_at TIMESTAMP NOT NULL,
    format VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    volume_ml DOUBLE NOT NULL,
    headspace_ml DOUBLE,
    closure VARCHAR,
    ingress_ppb_per_day DOUBLE,
    oxygen_ppb VARCHAR NOT NULL,
    styles VARCHAR NOT NULL
);
COMMENT ON TABLE results.new_format_questions IS 'Each time somebody asked for the date of a format that was never filled.';
COMMENT ON COLUMN results.new_format_questions.asked_at IS 'When, local time of the brewery.';
COMMENT ON COLUMN results.new_format_questions.format IS 'What it would be called.';
COMMENT ON COLUMN results.new_format_questions.kind IS 'Kind of package.';
COMMENT ON COLUMN results.new_format_questions.volume_ml IS 'Volume of the beer, mL.';
COMMENT ON COLUMN results.new_format_questions.headspace_ml IS 'Volume of the headspace, mL.';
COMMENT ON COLUMN results.new_format_questions.closure IS 'Closure.';
COMMENT ON COLUMN results.new_format_questions.ingress_ppb_per_day IS 'What it lets in at 20 °C, ppb a day; empty where not said.';
COMMENT ON COLUMN results.new_format_questions.oxygen_ppb IS 'Total package oxygen of the packages read, ppb, a line each.';
COMMENT ON COLUMN results.new_format_questions.styles IS 'Styles asked about, a line each; empty for all.';

CREATE TABLE this_week.new_formats (
    format VARCHAR NOT NULL,
    asked_at TIMESTAMP NOT NULL,
    answer VARCHAR NOT NULL,
    data VARCHAR NOT NULL,
    assumed VARCHAR NOT NULL,
    likeness VARCHAR NOT NULL,
    study VARCHAR NOT NULL,
    total_oxygen_ppb DOUBLE NOT NULL,
    total_oxygen_ppb_lower DOUBLE NOT NULL,
    total_oxygen_ppb_upper DOUBLE NOT NULL,
    ingress_ppb_per_day DOUBLE NOT NULL
);
COMMENT ON TABLE this_week.new_formats IS 'What is said of each format that was asked about and is not filled yet.';
COMMENT ON COLUMN this_week.new_formats.format IS 'What it would be called.';
COMMENT ON COLUMN this_week.new_formats.asked_at IS 'When somebody asked last, local time of the brewery.';
COMMENT ON COLUMN this_week.new_formats.answer IS 'The sentences that matter, a line each.';
COMMENT ON COLUMN this_week.new_formats.data IS 'What of it is data, a line each.';
COMMENT ON COLUMN this_week.new_formats.assumed IS 'What of it is assumed, a line each.';
COMMENT ON COLUMN this_week.new_formats.likeness IS 'Which format is most like it, and why.';
COMMENT ON COLUMN this_week.new_formats.study IS 'What would replace the assumption, a line each.';
COMMENT ON COLUMN this_week.new_formats.total_oxygen_ppb IS 'Total package oxygen taken of its typical lot, ppb.';
COMMENT ON COLUMN this_week.new_formats.total_oxygen_ppb_lower IS 'Lower bound of 90 %, two-sided.';
COMMENT ON COLUMN this_week.new_formats.total_oxygen_ppb_upper IS 'Upper bound of 90 %, two-sided.';
COMMENT ON COLUMN this_week.new_formats.ingress_ppb_per_day IS 'What its closure is taken to let in at 20 °C, ppb a day.';

CREATE TABLE this_week.new_format_dates (
    format VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    market VARCHAR NOT NULL,
    temp_c DOUBLE NOT NULL,
    share_rejected DOUBLE NOT NULL,
    confidence DOUBLE NOT NULL,
    shelf_life_days DOUBLE,
    shelf_life_days_lower DOUBLE,
    shelf_life_days_upper DOUBLE,
    best_before_days INTEGER,
    binding_cause VARCHAR NOT NULL,
    basis VARCHAR NOT NULL,
    reason VARCHAR
);
COMMENT ON TABLE this_week.new_format_dates IS 'The date lent to each style in a format that is not filled yet.';
COMMENT ON COLUMN this_week.new_format_dates.format IS 'What it would be called.';
COMMENT ON COLUMN this_week.new_format_dates.style IS 'Beer style.';
COMMENT ON COLUMN this_week.new_format_dates.route IS 'Route.';
COMMENT ON COLUMN this_week.new_format_dates.market IS 'Market that the route leads to.';
COMMENT ON COLUMN this_week.new_format_dates.temp_c IS 'Temperature at which the route ends, °C.';
COMMENT ON COLUMN this_week.new_format_dates.share_rejected IS 'Share of glasses rejected for age at which life ends, 0 to 1.';
COMMENT ON COLUMN this_week.new_format_dates.confidence IS 'One-sided confidence of the bounds, 0 to 1.';
COMMENT ON COLUMN this_week.new_format_dates.shelf_life_days IS 'Median shelf life, days from packaging.';
COMMENT ON COLUMN this_week.new_format_dates.shelf_life_days_lower IS 'Its lower bound.';
COMMENT ON COLUMN this_week.new_format_dates.shelf_life_days_upper IS 'Its upper bound; empty where there is none.';
COMMENT ON COLUMN this_week.new_format_dates.best_before_days IS 'Best-before days, from packaging; empty where there is no date.';
COMMENT ON COLUMN this_week.new_format_dates.binding_cause IS 'What ends the life.';
COMMENT ON COLUMN this_week.new_format_dates.basis IS 'borrowed, prior or none.';
COMMENT ON COLUMN this_week.new_format_dates.reason IS 'Why there is no date.';

CREATE TABLE this_week.new_format_likeness (
    new_format VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    closure VARCHAR,
    volume_ml DOUBLE NOT NULL,
    dose_ppb DOUBLE,
    distance DOUBLE NOT NULL
);
COMMENT ON TABLE this_week.new_format_likeness IS 'How like each format is to one that is not filled yet.';
COMMENT ON COLUMN this_week.new_format_likeness.new_format IS 'What it would be called.';
COMMENT ON COLUMN this_week.new_format_likeness.format IS 'A format of the brewery.';
COMMENT ON COLUMN this_week.new_format_likeness.kind IS 'Kind of package.';
COMMENT ON COLUMN this_week.new_format_likeness.closure IS 'Closure.';
COMMENT ON COLUMN this_week.new_format_likeness.volume_ml IS 'Volume of the beer, mL.';
COMMENT ON COLUMN this_week.new_format_likeness.dose_ppb IS 'Typical oxygen dose: total at filling and 90 days of ingress, ppb.';
COMMENT ON COLUMN this_week.new_format_likeness.distance IS 'Sum over kind, closure, doublings of volume and of dose; 0 is alike.';
