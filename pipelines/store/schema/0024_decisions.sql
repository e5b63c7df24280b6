-- What was decided about dates, by whom, on what evidence; and what the share at risk depends on.

-- Decisions of people; rows are added and never changed.
CREATE SCHEMA records;

CREATE TABLE records.decisions (
    decision_id BIGINT PRIMARY KEY,
    decided_at TIMESTAMP NOT NULL,
    decided_by VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    market VARCHAR,
    route VARCHAR,
    days INTEGER NOT NULL CHECK (days > 0),
    because VARCHAR,
    run_id BIGINT NOT NULL,
    supported_days INTEGER,
    supported_route VARCHAR,
    supported_temp_c DOUBLE,
    policy VARCHAR NOT NULL,
    verdicts INTEGER NOT NULL,
    code_version VARCHAR NOT NULL,
    inputs_sha256 VARCHAR NOT NULL,
    record VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL
);
COMMENT ON TABLE records.decisions IS 'What was decided about dates; a newer decision on the same takes the place of an older one, which stays.';
COMMENT ON COLUMN records.decisions.decision_id IS 'Number of the decision, counted from 1.';
COMMENT ON COLUMN records.decisions.decided_at IS 'When it was recorded, local time of the brewery.';
COMMENT ON COLUMN records.decisions.decided_by IS 'Who recorded it.';
COMMENT ON COLUMN records.decisions.beer IS 'Beer.';
COMMENT ON COLUMN records.decisions.style IS 'Its style then.';
COMMENT ON COLUMN records.decisions.format IS 'Package format.';
COMMENT ON COLUMN records.decisions.market IS 'Market that it holds for; empty: every market without a decision of its own.';
COMMENT ON COLUMN records.decisions.route IS 'Route that it holds for alone; empty: all routes to the market.';
COMMENT ON COLUMN records.decisions.days IS 'Best-before days decided, from packaging.';
COMMENT ON COLUMN records.decisions.because IS 'The reason that was given; empty where none was.';
COMMENT ON COLUMN records.decisions.run_id IS 'Run that it rests on.';
COMMENT ON COLUMN records.decisions.supported_days IS 'Days that the data supported then, the shortest of its routes; empty where none.';
COMMENT ON COLUMN records.decisions.supported_route IS 'The route that was shortest; empty where none had a date.';
COMMENT ON COLUMN records.decisions.supported_temp_c IS 'Temperature at which that route ended, °C.';
COMMENT ON COLUMN records.decisions.policy IS 'The rule on that route, in words.';
COMMENT ON COLUMN records.decisions.verdicts IS 'Verdicts on aged beer of its style in its format then.';
COMMENT ON COLUMN records.decisions.code_version IS 'Version of stalecurve that made the run.';
COMMENT ON COLUMN records.decisions.inputs_sha256 IS 'Checksum over the checksums of the files that the run rests on.';
COMMENT ON COLUMN records.decisions.record IS 'All that was known of it then, as JSON.';
COMMENT ON COLUMN records.decisions.sheet IS 'The record sheet, as HTML.';

CREATE TABLE results.risk_draws (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    draw INTEGER NOT NULL,
    distribution VARCHAR NOT NULL,
    location DOUBLE NOT NULL,
    oxygen_exponent DOUBLE NOT NULL,
    scale DOUBLE NOT NULL,
    between DOUBLE NOT NULL,
    activation_energy_kj_mol DOUBLE NOT NULL
);
COMMENT ON TABLE results.risk_draws IS 'What the share rejected by a day depends on, draw by draw, of the newest run alone.';
COMMENT ON COLUMN results.risk_draws.run_id IS 'The run.';
COMMENT ON COLUMN results.risk_draws.style IS 'Beer style.';
COMMENT ON COLUMN results.risk_draws.format IS 'Package format.';
COMMENT ON COLUMN results.risk_draws.draw IS 'Number of the draw, from 0.';
COMMENT ON COLUMN results.risk_draws.distribution IS 'Law of the draw: weibull, lognormal or loglogistic.';
COMMENT ON COLUMN results.risk_draws.location IS 'Location of log days at 20 °C and 60 ppb.';
COMMENT ON COLUMN results.risk_draws.oxygen_exponent IS 'The life goes with the dose to the power of minus this.';
COMMENT ON COLUMN results.risk_draws.scale IS 'Scale of log days within a lot and assessor.';
COMMENT ON COLUMN results.risk_draws.between IS 'SD of log days between lots and assessors.';
COMMENT ON COLUMN results.risk_draws.activation_energy_kj_mol IS 'Activation energy of the style, kJ/mol.';

CREATE TABLE results.risk_doses (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    dose_ppb DOUBLE NOT NULL
);
COMMENT ON TABLE results.risk_doses IS 'Oxygen dose of each lot that a date averages over, of the newest run alone.';
COMMENT ON COLUMN results.risk_doses.run_id IS 'The run.';
COMMENT ON COLUMN results.risk_doses.style IS 'Beer style.';
COMMENT ON COLUMN results.risk_doses.format IS 'Package format.';
COMMENT ON COLUMN results.risk_doses.dose_ppb IS 'Total at filling and ingress of 90 days, ppb.';
