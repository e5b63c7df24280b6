-- Lots as they are judged by their oxygen, the stock, and questions about what is in the trade.

CREATE TABLE results.dose_lives (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    draw INTEGER NOT NULL,
    age_days DOUBLE NOT NULL,
    oxygen_exponent DOUBLE NOT NULL,
    activation_energy_kj_mol DOUBLE NOT NULL
);
COMMENT ON TABLE results.dose_lives IS 'What the life of a single lot depends on, draw by draw, of the newest run alone.';
COMMENT ON COLUMN results.dose_lives.run_id IS 'The run.';
COMMENT ON COLUMN results.dose_lives.style IS 'Beer style.';
COMMENT ON COLUMN results.dose_lives.format IS 'Package format.';
COMMENT ON COLUMN results.dose_lives.draw IS 'Number of the draw, from 0.';
COMMENT ON COLUMN results.dose_lives.age_days IS 'Days at 20 °C by which the policy''s share of a lot with a dose of 60 ppb is rejected for age.';
COMMENT ON COLUMN results.dose_lives.oxygen_exponent IS 'The life goes with the dose to the power of minus this.';
COMMENT ON COLUMN results.dose_lives.activation_energy_kj_mol IS 'Activation energy of the style, kJ/mol.';
