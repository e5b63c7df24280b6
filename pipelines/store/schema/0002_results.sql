-- What a run worked out. Every table carries the run, nothing is overwritten.

-- What each run worked out; a row is never changed after its run.
CREATE SCHEMA results;

CREATE TABLE results.runs (
    run_id BIGINT PRIMARY KEY,
    started_at TIMESTAMP NOT NULL,
    finished_at TIMESTAMP NOT NULL,
    code_version VARCHAR NOT NULL,
    seed INTEGER NOT NULL,
    settings VARCHAR NOT NULL,
    load_id BIGINT,
    brewery VARCHAR NOT NULL,
    question VARCHAR NOT NULL,
    share_rejected DOUBLE NOT NULL,
    confidence DOUBLE NOT NULL,
    rounding VARCHAR NOT NULL,
    outcome VARCHAR NOT NULL CHECK (outcome IN ('estimated', 'not estimated')),
    reason VARCHAR,
    distribution VARCHAR,
    activation_energy_kj_mol DOUBLE,
    oxygen_exponent DOUBLE,
    verdicts INTEGER NOT NULL,
    rejected INTEGER NOT NULL,
    lots INTEGER NOT NULL,
    assessors INTEGER NOT NULL
);
COMMENT ON TABLE results.runs IS 'One fit: when, with which code, settings and data, and whether it gave an estimate.';
COMMENT ON COLUMN results.runs.run_id IS 'Number of the run, counted from 1.';
COMMENT ON COLUMN results.runs.started_at IS 'When the run began, local time of the brewery.';
COMMENT ON COLUMN results.runs.finished_at IS 'When the run ended, local time of the brewery.';
COMMENT ON COLUMN results.runs.code_version IS 'Version of stalecurve that ran.';
COMMENT ON COLUMN results.runs.seed IS 'Seed of the random draws.';
COMMENT ON COLUMN results.runs.settings IS 'The configuration in force, as JSON.';
COMMENT ON COLUMN results.runs.load_id IS 'Newest load that the run saw; empty when nothing was ever loaded.';
COMMENT ON COLUMN results.runs.brewery IS 'Name of the brewery.';
COMMENT ON COLUMN results.runs.question IS 'The question that every verdict answers.';
COMMENT ON COLUMN results.runs.share_rejected IS 'Share of glasses rejected for age at which shelf life ends, 0 to 1.';
COMMENT ON COLUMN results.runs.confidence IS 'One-sided confidence of the bounds, 0 to 1.';
COMMENT ON COLUMN results.runs.rounding IS 'What a date is rounded down to: day or week.';
COMMENT ON COLUMN results.runs.outcome IS 'estimated, or not estimated.';
COMMENT ON COLUMN results.runs.reason IS 'Why there is no estimate; empty when there is one.';
COMMENT ON COLUMN results.runs.distribution IS 'Law chosen by likelihood: weibull, lognormal or loglogistic.';
COMMENT ON COLUMN results.runs.activation_energy_kj_mol IS 'Activation energy used, kJ/mol.';
COMMENT ON COLUMN results.runs.oxygen_exponent IS 'Oxygen exponent used: life goes with dose to the minus this power.';
COMMENT ON COLUMN results.runs.verdicts IS 'Accept and reject verdicts on aged beer that the run used.';
COMMENT ON COLUMN results.runs.rejected IS 'How many of them were rejections.';
COMMENT ON COLUMN results.runs.lots IS 'Lots (of one format each) with verdicts.';
COMMENT ON COLUMN results.runs.assessors IS 'Assessors with verdicts.';

CREATE TABLE results.dates (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    share_rejected DOUBLE NOT NULL,
    confidence DOUBLE NOT NULL,
    shelf_life_days DOUBLE,
    shelf_life_days_lower DOUBLE,
    shelf_life_days_upper DOUBLE,
    best_before_days INTEGER,
    binding_cause VARCHAR,
    basis VARCHAR NOT NULL CHECK (basis IN ('none', 'prior', 'borrowed', 'fitted')),
    beers INTEGER NOT NULL,
    lots INTEGER NOT NULL,
    verdicts INTEGER NOT NULL,
    rejected INTEGER NOT NULL,
    oldest_tasted_days DOUBLE,
    total_oxygen_ppb DOUBLE,
    activation_energy_kj_mol DOUBLE,
    distribution VARCHAR,
    oxygen_from VARCHAR,
    reason VARCHAR,
    PRIMARY KEY (run_id, style, format, route)
);
COMMENT ON TABLE results.dates IS 'One row for each style and format with a lot, on each route its kind uses.';
COMMENT ON COLUMN results.dates.run_id IS 'The run.';
COMMENT ON COLUMN results.dates.style IS 'Beer style.';
COMMENT ON COLUMN results.dates.format IS 'Package format.';
COMMENT ON COLUMN results.dates.route IS 'Storage route that the date holds for.';
COMMENT ON COLUMN results.dates.share_rejected IS 'Share of glasses rejected for age at the end of shelf life, 0 to 1.';
COMMENT ON COLUMN results.dates.confidence IS 'One-sided confidence of the bounds, 0 to 1.';
COMMENT ON COLUMN results.dates.shelf_life_days IS 'Days from packaging to that share, median of what is not known.';
COMMENT ON COLUMN results.dates.shelf_life_days_lower IS 'One-sided lower bound, days.';
COMMENT ON COLUMN results.dates.shelf_life_days_upper IS 'One-sided upper bound, days; empty when unbounded.';
COMMENT ON COLUMN results.dates.best_before_days IS 'Days from packaging that the data support, after policy; empty when there is no date.';
COMMENT ON COLUMN results.dates.binding_cause IS 'What ended it: flavour, cap, oldest tasted, route, safety, or a cause from the limits table.';
COMMENT ON COLUMN results.dates.basis IS 'none, prior, borrowed or fitted: the first that holds.';
COMMENT ON COLUMN results.dates.beers IS 'Beers of the style filled into the format.';
COMMENT ON COLUMN results.dates.lots IS 'Lots of the style filled into the format, tasted or not.';
COMMENT ON COLUMN results.dates.verdicts IS 'Verdicts on aged beer of this style in this format.';
COMMENT ON COLUMN results.dates.rejected IS 'How many of them were rejections.';
COMMENT ON COLUMN results.dates.oldest_tasted_days IS 'Oldest beer of the style tasted at about the temperature where the route ends, days from packaging.';
COMMENT ON COLUMN results.dates.total_oxygen_ppb IS 'Median total package oxygen at filling that was used, ppb.';
COMMENT ON COLUMN results.dates.activation_energy_kj_mol IS 'Activation energy used, kJ/mol.';
COMMENT ON COLUMN results.dates.distribution IS 'Law used.';
COMMENT ON COLUMN results.dates.oxygen_from IS 'measured (this style and format), format (other styles in it), or assumed.';
COMMENT ON COLUMN results.dates.reason IS 'Why there is no estimate or no date; empty when there is one.';

CREATE TABLE results.beer_dates (
    run_id BIGINT NOT NULL,
    beer VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    main_route BOOLEAN NOT NULL,
    lot VARCHAR NOT NULL,
    packaged_on DATE NOT NULL,
    printed_on DATE,
    printed_days INTEGER,
    supported_days INTEGER,
    difference_days INTEGER,
    basis VARCHAR NOT NULL,
    binding_cause VARCHAR,
    reason VARCHAR,
    PRIMARY KEY (run_id, beer, format, route)
);
COMMENT ON TABLE results.beer_dates IS 'The newest lot of each beer and format: what is printed beside what the data support.';
COMMENT ON COLUMN results.beer_dates.run_id IS 'The run.';
COMMENT ON COLUMN results.beer_dates.beer IS 'Beer.';
COMMENT ON COLUMN results.beer_dates.style IS 'Its style.';
COMMENT ON COLUMN results.beer_dates.format IS 'Package format.';
COMMENT ON COLUMN results.beer_dates.route IS 'Storage route.';
COMMENT ON COLUMN results.beer_dates.main_route IS 'Whether this route carries most of the volume of this format.';
COMMENT ON COLUMN results.beer_dates.lot IS 'Newest lot of this beer in this format.';
COMMENT ON COLUMN results.beer_dates.packaged_on IS 'Its packaging day.';
COMMENT ON COLUMN results.beer_dates.printed_on IS 'The date printed on it; empty when the lots table does not say.';
COMMENT ON COLUMN results.beer_dates.printed_days IS 'Days from packaging to the printed date.';
COMMENT ON COLUMN results.beer_dates.supported_days IS 'Days from packaging that the data support; empty when there is no date.';
COMMENT ON COLUMN results.beer_dates.difference_days IS 'Supported minus printed days: negative when the printed date is too long.';
COMMENT ON COLUMN results.beer_dates.basis IS 'none, prior, borrowed or fitted.';
COMMENT ON COLUMN results.beer_dates.binding_cause IS 'What ended it.';
COMMENT ON COLUMN results.beer_dates.reason IS 'Why there is no date; empty when there is one.';

CREATE TABLE results.shelf_lives (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    share_rejected DOUBLE NOT NULL,
    confidence DOUBLE NOT NULL,
    shelf_life_days DOUBLE,
    shelf_life_days_lower DOUBLE,
    shelf_life_days_upper DOUBLE,
    basis VARCHAR NOT NULL,
    PRIMARY KEY (run_id, style, format, route, share_rejected)
);
COMMENT ON TABLE results.shelf_lives IS 'Shelf life at 10, 25 and 50 % rejected, before caps and limits.';
COMMENT ON COLUMN results.shelf_lives.run_id IS 'The run.';
COMMENT ON COLUMN results.shelf_lives.style IS 'Beer style.';
COMMENT ON COLUMN results.shelf_lives.format IS 'Package format.';
COMMENT ON COLUMN results.shelf_lives.route IS 'Storage route.';
COMMENT ON COLUMN results.shelf_lives.share_rejected IS 'Share of glasses rejected for age, 0 to 1.';
COMMENT ON COLUMN results.shelf_lives.confidence IS 'One-sided confidence of the bounds, 0 to 1.';
COMMENT ON COLUMN results.shelf_lives.shelf_life_days IS 'Days from packaging, median of what is not known.';
COMMENT ON COLUMN results.shelf_lives.shelf_life_days_lower IS 'One-sided lower bound, days.';
COMMENT ON COLUMN results.shelf_lives.shelf_life_days_upper IS 'One-sided upper bound, days; empty when unbounded.';
COMMENT ON COLUMN results.shelf_lives.basis IS 'none, prior, borrowed or fitted.';

CREATE TABLE results.styles (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    beers INTEGER NOT NULL,
    lots INTEGER NOT NULL,
    assessors INTEGER NOT NULL,
    verdicts INTEGER NOT NULL,
    rejected INTEGER NOT NULL,
    not_sure INTEGER NOT NULL,
    fresh_verdicts INTEGER NOT NULL,
    fresh_rejected INTEGER NOT NULL,
    brackets INTEGER NOT NULL,
    uninformative INTEGER NOT NULL,
    oldest_tasted_days DOUBLE,
    oldest_tasted_temp_c DOUBLE,
    reason VARCHAR,
    PRIMARY KEY (run_id, style)
);
COMMENT ON TABLE results.styles IS 'The evidence behind a style, counted.';
COMMENT ON COLUMN results.styles.run_id IS 'The run.';
COMMENT ON COLUMN results.styles.style IS 'Beer style.';
COMMENT ON COLUMN results.styles.beers IS 'Beers of the style with a lot.';
COMMENT ON COLUMN results.styles.lots IS 'Lots (of one format each) with verdicts.';
COMMENT ON COLUMN results.styles.assessors IS 'Assessors with verdicts.';
COMMENT ON COLUMN results.styles.verdicts IS 'Accept and reject verdicts on aged beer.';
COMMENT ON COLUMN results.styles.rejected IS 'How many of them were rejections.';
COMMENT ON COLUMN results.styles.not_sure IS 'Verdicts "not sure", left out.';
COMMENT ON COLUMN results.styles.fresh_verdicts IS 'Verdicts on blind fresh controls.';
COMMENT ON COLUMN results.styles.fresh_rejected IS 'How many of them were rejections: false alarms.';
COMMENT ON COLUMN results.styles.brackets IS 'Series of verdicts (one assessor, lot and storage) that bracket an age.';
COMMENT ON COLUMN results.styles.uninformative IS 'Series that say nothing: rejected first, accepted last.';
COMMENT ON COLUMN results.styles.oldest_tasted_days IS 'Age of the oldest beer tasted, days from packaging.';
COMMENT ON COLUMN results.styles.oldest_tasted_temp_c IS 'Its storage temperature, °C.';
COMMENT ON COLUMN results.styles.reason IS 'Why there is no estimate; empty when there is one.';

CREATE TABLE results.curves (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    age_days DOUBLE NOT NULL,
    share_rejected DOUBLE NOT NULL,
    share_rejected_lower DOUBLE NOT NULL,
    share_rejected_upper DOUBLE NOT NULL,
    PRIMARY KEY (run_id, style, age_days)
);
COMMENT ON TABLE results.curves IS 'Share rejected for age by days at 20 °C, over the lots tasted of a style.';
COMMENT ON COLUMN results.curves.run_id IS 'The run.';
COMMENT ON COLUMN results.curves.style IS 'Beer style.';
COMMENT ON COLUMN results.curves.age_days IS 'Days at 20 °C, or their equivalent.';
COMMENT ON COLUMN results.curves.share_rejected IS 'Share of glasses rejected for age, 0 to 1.';
COMMENT ON COLUMN results.curves.share_rejected_lower IS 'One-sided lower bound at the confidence of the run.';
COMMENT ON COLUMN results.curves.share_rejected_upper IS 'One-sided upper bound at the confidence of the run.';

CREATE TABLE results.turnbull (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    age_from DOUBLE NOT NULL,
    age_to DOUBLE,
    share_before DOUBLE NOT NULL,
    share_after DOUBLE NOT NULL,
    PRIMARY KEY (run_id, style, age_from)
);
COMMENT ON TABLE results.turnbull IS 'Share rejected straight from the brackets, no law assumed: it rises somewhere within each interval.';
COMMENT ON COLUMN results.turnbull.run_id IS 'The run.';
COMMENT ON COLUMN results.turnbull.style IS 'Beer style.';
COMMENT ON COLUMN results.turnbull.age_from IS 'Start of the interval (open), days at 20 °C.';
COMMENT ON COLUMN results.turnbull.age_to IS 'End of the interval (closed), days at 20 °C; empty when it never ends.';
COMMENT ON COLUMN results.turnbull.share_before IS 'Share rejected at its start, 0 to 1.';
COMMENT ON COLUMN results.turnbull.share_after IS 'Share rejected at its end, 0 to 1.';

CREATE TABLE results.pulls (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    lot VARCHAR NOT NULL,
    sample VARCHAR NOT NULL,
    storage_temp_c DOUBLE NOT NULL,
    age_days DOUBLE NOT NULL,
    equivalent_days DOUBLE,
    tasted INTEGER NOT NULL,
    rejected INTEGER NOT NULL,
    not_sure INTEGER NOT NULL,
    expected_rejected DOUBLE,
    PRIMARY KEY (run_id, sample)
);
COMMENT ON TABLE results.pulls IS 'Every aged sample tasted, with its counts.';
COMMENT ON COLUMN results.pulls.run_id IS 'The run.';
COMMENT ON COLUMN results.pulls.style IS 'Beer style.';
COMMENT ON COLUMN results.pulls.beer IS 'Beer.';
COMMENT ON COLUMN results.pulls.format IS 'Package format.';
COMMENT ON COLUMN results.pulls.lot IS 'Lot.';
COMMENT ON COLUMN results.pulls.sample IS 'Sample.';
COMMENT ON COLUMN results.pulls.storage_temp_c IS 'Storage temperature, °C.';
COMMENT ON COLUMN results.pulls.age_days IS 'Age at the pull, days from packaging.';
COMMENT ON COLUMN results.pulls.equivalent_days IS 'The same age as days at 20 °C, by the activation energy used.';
COMMENT ON COLUMN results.pulls.tasted IS 'Accept and reject verdicts.';
COMMENT ON COLUMN results.pulls.rejected IS 'Rejections.';
COMMENT ON COLUMN results.pulls.not_sure IS 'Verdicts "not sure", left out.';
COMMENT ON COLUMN results.pulls.expected_rejected IS 'Rejections for age that the fit expects.';

CREATE TABLE results.arms (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    storage_temp_c DOUBLE NOT NULL,
    pulls INTEGER NOT NULL,
    verdicts INTEGER NOT NULL,
    rejected INTEGER NOT NULL,
    expected_rejected DOUBLE,
    oldest_days DOUBLE NOT NULL,
    PRIMARY KEY (run_id, style, storage_temp_c)
);
COMMENT ON TABLE results.arms IS 'Each storage temperature of a style: rejections seen beside rejections expected.';
COMMENT ON COLUMN results.arms.run_id IS 'The run.';
COMMENT ON COLUMN results.arms.style IS 'Beer style.';
COMMENT ON COLUMN results.arms.storage_temp_c IS 'Storage temperature, °C.';
COMMENT ON COLUMN results.arms.pulls IS 'Samples pulled and tasted.';
COMMENT ON COLUMN results.arms.verdicts IS 'Accept and reject verdicts.';
COMMENT ON COLUMN results.arms.rejected IS 'Rejections.';
COMMENT ON COLUMN results.arms.expected_rejected IS 'Rejections for age that the fit expects.';
COMMENT ON COLUMN results.arms.oldest_days IS 'Oldest beer tasted from this storage, days from packaging.';

CREATE TABLE results.parameters (
    run_id BIGINT NOT NULL,
    position INTEGER NOT NULL,
    name VARCHAR NOT NULL,
    unit VARCHAR NOT NULL,
    estimate DOUBLE NOT NULL,
    standard_error DOUBLE NOT NULL,
    prior_mean DOUBLE,
    prior_sd DOUBLE,
    source VARCHAR NOT NULL CHECK (source IN ('fitted', 'prior')),
    PRIMARY KEY (run_id, position)
);
COMMENT ON TABLE results.parameters IS 'Parameters of the chosen law with their priors.';
COMMENT ON COLUMN results.parameters.run_id IS 'The run.';
COMMENT ON COLUMN results.parameters.position IS 'Order in the model.';
COMMENT ON COLUMN results.parameters.name IS 'Name of the parameter.';
COMMENT ON COLUMN results.parameters.unit IS 'Its unit.';
COMMENT ON COLUMN results.parameters.estimate IS 'Estimate.';
COMMENT ON COLUMN results.parameters.standard_error IS 'Standard error, clustered by lot and assessor.';
COMMENT ON COLUMN results.parameters.prior_mean IS 'Mean of its prior; empty when it has none.';
COMMENT ON COLUMN results.parameters.prior_sd IS 'Standard deviation of its prior; empty when it has none.';
COMMENT ON COLUMN results.parameters.source IS 'prior unless the data at least halved its standard deviation.';

CREATE TABLE results.laws (
    run_id BIGINT NOT NULL,
    distribution VARCHAR NOT NULL,
    log_likelihood DOUBLE,
    chosen BOOLEAN NOT NULL,
    reason VARCHAR,
    PRIMARY KEY (run_id, distribution)
);
COMMENT ON TABLE results.laws IS 'The laws compared.';
COMMENT ON COLUMN results.laws.run_id IS 'The run.';
COMMENT ON COLUMN results.laws.distribution IS 'weibull, lognormal or loglogistic.';
COMMENT ON COLUMN results.laws.log_likelihood IS 'Marginal log-likelihood of the verdicts, priors included.';
COMMENT ON COLUMN results.laws.chosen IS 'Whether this law was used.';
COMMENT ON COLUMN results.laws.reason IS 'Why it could not be fitted; empty when it could.';

CREATE TABLE results.lot_oxygen (
    run_id BIGINT NOT NULL,
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    packaged_on DATE NOT NULL,
    packages INTEGER NOT NULL,
    total_oxygen_ppb DOUBLE,
    ingress_ppb_per_day DOUBLE NOT NULL,
    dose_ppb DOUBLE,
    from_shaken INTEGER NOT NULL,
    late INTEGER NOT NULL,
    below_floor INTEGER NOT NULL,
    unusable INTEGER NOT NULL,
    assumed VARCHAR,
    PRIMARY KEY (run_id, lot, format)
);
COMMENT ON TABLE results.lot_oxygen IS 'Package oxygen of each lot and what was done with its readings.';
COMMENT ON COLUMN results.lot_oxygen.run_id IS 'The run.';
COMMENT ON COLUMN results.lot_oxygen.lot IS 'Lot.';
COMMENT ON COLUMN results.lot_oxygen.format IS 'Package format.';
COMMENT ON COLUMN results.lot_oxygen.beer IS 'Beer.';
COMMENT ON COLUMN results.lot_oxygen.style IS 'Its style.';
COMMENT ON COLUMN results.lot_oxygen.packaged_on IS 'Packaging day.';
COMMENT ON COLUMN results.lot_oxygen.packages IS 'Packages whose readings were used.';
COMMENT ON COLUMN results.lot_oxygen.total_oxygen_ppb IS 'Geometric mean total package oxygen at filling, ppb; empty when none was usable.';
COMMENT ON COLUMN results.lot_oxygen.ingress_ppb_per_day IS 'Oxygen let in by the closure at 20 °C, ppb a day.';
COMMENT ON COLUMN results.lot_oxygen.dose_ppb IS 'Total package oxygen plus 90 days of ingress, ppb.';
COMMENT ON COLUMN results.lot_oxygen.from_shaken IS 'Readings converted from shaken to total.';
COMMENT ON COLUMN results.lot_oxygen.late IS 'Readings later after filling than the configuration allows: lower bounds, not averaged.';
COMMENT ON COLUMN results.lot_oxygen.below_floor IS 'Readings below the meter''s floor, taken at the floor.';
COMMENT ON COLUMN results.lot_oxygen.unusable IS 'Readings that give no total: unshaken, or no headspace known.';
COMMENT ON COLUMN results.lot_oxygen.assumed IS 'What was assumed for the conversion; empty when nothing was.';
