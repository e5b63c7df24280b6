-- The way from packaging to the glass: what stages take, what loggers say, and what moves the date.

CREATE TABLE results.route_use (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    variant VARCHAR NOT NULL,
    stage_no INTEGER NOT NULL,
    temp_c DOUBLE NOT NULL,
    days DOUBLE NOT NULL,
    equivalent_days DOUBLE NOT NULL,
    life_share DOUBLE NOT NULL,
    life_share_lower DOUBLE NOT NULL,
    life_share_upper DOUBLE NOT NULL,
    share_per_day DOUBLE,
    most_in_all BOOLEAN NOT NULL,
    most_per_day BOOLEAN NOT NULL
);
COMMENT ON TABLE results.route_use IS 'What each stage of a route takes of the life of a style in a format.';
COMMENT ON COLUMN results.route_use.run_id IS 'The run.';
COMMENT ON COLUMN results.route_use.style IS 'Beer style.';
COMMENT ON COLUMN results.route_use.format IS 'Package format.';
COMMENT ON COLUMN results.route_use.route IS 'Route.';
COMMENT ON COLUMN results.route_use.variant IS 'planned, or summer: its last stage warmer, as is assumed.';
COMMENT ON COLUMN results.route_use.stage_no IS 'Place of the stage on the route, counted from 1.';
COMMENT ON COLUMN results.route_use.temp_c IS 'Its temperature, °C.';
COMMENT ON COLUMN results.route_use.days IS 'Days of the life spent in it, mean over the draws.';
COMMENT ON COLUMN results.route_use.equivalent_days IS 'What they are worth in days at 20 °C, mean over the draws.';
COMMENT ON COLUMN results.route_use.life_share IS 'Share of the life that it takes, 0 to 1, mean over the draws; all stages add up to 1.';
COMMENT ON COLUMN results.route_use.life_share_lower IS 'Its one-sided lower bound.';
COMMENT ON COLUMN results.route_use.life_share_upper IS 'Its one-sided upper bound.';
COMMENT ON COLUMN results.route_use.share_per_day IS 'Share of the life that one day there takes; empty where the beer never gets there.';
COMMENT ON COLUMN results.route_use.most_in_all IS 'Whether no other stage takes more.';
COMMENT ON COLUMN results.route_use.most_per_day IS 'Whether no other stage takes more a day.';

CREATE TABLE results.route_lives (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    variant VARCHAR NOT NULL,
    logger VARCHAR,
    begins_at TIMESTAMP,
    placed_by VARCHAR,
    from_day DOUBLE,
    logged_days DOUBLE,
    last_temp_c DOUBLE NOT NULL,
    energy_kj_mol DOUBLE NOT NULL,
    energy_source VARCHAR NOT NULL,
    mean_kinetic_c DOUBLE NOT NULL,
    planned_kinetic_c DOUBLE NOT NULL,
    equivalent_days DOUBLE NOT NULL,
    planned_equivalent_days DOUBLE NOT NULL,
    shelf_life_days DOUBLE NOT NULL,
    shelf_life_days_lower DOUBLE NOT NULL,
    shelf_life_days_upper DOUBLE NOT NULL,
    difference_days DOUBLE NOT NULL,
    difference_days_lower DOUBLE NOT NULL,
    difference_days_upper DOUBLE NOT NULL,
    best_before_days INTEGER,
    planned_best_before_days INTEGER,
    hottest_from TIMESTAMP,
    hottest_days DOUBLE,
    hottest_c DOUBLE,
    hottest_planned_c DOUBLE,
    hottest_cost_days DOUBLE,
    hottest_cost_days_lower DOUBLE,
    hottest_cost_days_upper DOUBLE
);
COMMENT ON TABLE results.route_lives IS 'Lives and dates on a route as planned, in an assumed summer, and as loggers read.';
COMMENT ON COLUMN results.route_lives.run_id IS 'The run.';
COMMENT ON COLUMN results.route_lives.style IS 'Beer style.';
COMMENT ON COLUMN results.route_lives.format IS 'Package format.';
COMMENT ON COLUMN results.route_lives.route IS 'Route.';
COMMENT ON COLUMN results.route_lives.variant IS 'planned, summer or logged.';
COMMENT ON COLUMN results.route_lives.logger IS 'Logger, where logged.';
COMMENT ON COLUMN results.route_lives.begins_at IS 'Its first reading of this trip.';
COMMENT ON COLUMN results.route_lives.placed_by IS 'Where on the route the trip stands: by its lot, or by the length of a stage, which is assumed.';
COMMENT ON COLUMN results.route_lives.from_day IS 'Days from packaging at which the trip begins.';
COMMENT ON COLUMN results.route_lives.logged_days IS 'Days that it lasted.';
COMMENT ON COLUMN results.route_lives.last_temp_c IS 'Temperature at which the route ends, °C.';
COMMENT ON COLUMN results.route_lives.energy_kj_mol IS 'Activation energy of the style, kJ/mol.';
COMMENT ON COLUMN results.route_lives.energy_source IS 'fitted, or prior where data have not halved what is assumed of it.';
COMMENT ON COLUMN results.route_lives.mean_kinetic_c IS 'Mean kinetic temperature with that energy, °C: to the end of the life, of the trip where logged.';
COMMENT ON COLUMN results.route_lives.planned_kinetic_c IS 'That of the plan over the same days, °C.';
COMMENT ON COLUMN results.route_lives.equivalent_days IS 'What these days are worth in days at 20 °C.';
COMMENT ON COLUMN results.route_lives.planned_equivalent_days IS 'What they are worth as planned.';
COMMENT ON COLUMN results.route_lives.shelf_life_days IS 'Shelf life at the policy''s share, days from packaging.';
COMMENT ON COLUMN results.route_lives.shelf_life_days_lower IS 'Its one-sided lower bound.';
COMMENT ON COLUMN results.route_lives.shelf_life_days_upper IS 'Its one-sided upper bound.';
COMMENT ON COLUMN results.route_lives.difference_days IS 'Days longer than as planned; below 0: shorter.';
COMMENT ON COLUMN results.route_lives.difference_days_lower IS 'Its one-sided lower bound.';
COMMENT ON COLUMN results.route_lives.difference_days_upper IS 'Its one-sided upper bound.';
COMMENT ON COLUMN results.route_lives.best_before_days IS 'Best-before days so; empty where there would be no date.';
COMMENT ON COLUMN results.route_lives.planned_best_before_days IS 'Best-before days as planned.';
COMMENT ON COLUMN results.route_lives.hottest_from IS 'When the hottest week of the trip begins.';
COMMENT ON COLUMN results.route_lives.hottest_days IS 'Its days: fewer than seven where the trip is shorter.';
COMMENT ON COLUMN results.route_lives.hottest_c IS 'Its mean kinetic temperature, °C.';
COMMENT ON COLUMN results.route_lives.hottest_planned_c IS 'That of the same days as planned, °C.';
COMMENT ON COLUMN results.route_lives.hottest_cost_days IS 'Days of life that it cost against the same days as planned; below 0: gained.';
COMMENT ON COLUMN results.route_lives.hottest_cost_days_lower IS 'Its one-sided lower bound.';
COMMENT ON COLUMN results.route_lives.hottest_cost_days_upper IS 'Its one-sided upper bound.';

CREATE TABLE results.route_trips (
    run_id BIGINT NOT NULL,
    route VARCHAR NOT NULL,
    logger VARCHAR NOT NULL,
    begins_at TIMESTAMP NOT NULL,
    placed_by VARCHAR NOT NULL,
    day DOUBLE NOT NULL,
    temp_c DOUBLE NOT NULL,
    lowest_c DOUBLE NOT NULL,
    highest_c DOUBLE NOT NULL
);
COMMENT ON TABLE results.route_trips IS 'Loggers'' trips on a route, thinned for a chart, of the newest run alone.';
COMMENT ON COLUMN results.route_trips.run_id IS 'The run.';
COMMENT ON COLUMN results.route_trips.route IS 'Route.';
COMMENT ON COLUMN results.route_trips.logger IS 'Logger.';
COMMENT ON COLUMN results.route_trips.begins_at IS 'First reading of the trip.';
COMMENT ON COLUMN results.route_trips.placed_by IS 'lot or length.';
COMMENT ON COLUMN results.route_trips.day IS 'Days from packaging.';
COMMENT ON COLUMN results.route_trips.temp_c IS 'Mean of the readings from then on, °C.';
COMMENT ON COLUMN results.route_trips.lowest_c IS 'Lowest of them, °C.';
COMMENT ON COLUMN results.route_trips.highest_c IS 'Highest of them, °C.';

CREATE TABLE results.place_temperatures (
    run_id BIGINT NOT NULL,
    place VARCHAR NOT NULL,
    storage_temp_c DOUBLE,
    samples INTEGER NOT NULL,
    readings INTEGER NOT NULL,
    first_at TIMESTAMP NOT NULL,
    last_at TIMESTAMP NOT NULL,
    lowest_c DOUBLE NOT NULL,
    highest_c DOUBLE NOT NULL,
    mean_c DOUBLE NOT NULL,
    mean_kinetic_c DOUBLE NOT NULL,
    energy_kj_mol DOUBLE NOT NULL,
    worth_days DOUBLE,
    off BOOLEAN NOT NULL
);
COMMENT ON TABLE results.place_temperatures IS 'What loggers read in cupboards and rooms beside what the samples there say.';
COMMENT ON COLUMN results.place_temperatures.run_id IS 'The run.';
COMMENT ON COLUMN results.place_temperatures.place IS 'Cupboard or room.';
COMMENT ON COLUMN results.place_temperatures.storage_temp_c IS 'Temperature that its samples say, °C; empty where no sample names it.';
COMMENT ON COLUMN results.place_temperatures.samples IS 'Samples that say so.';
COMMENT ON COLUMN results.place_temperatures.readings IS 'Readings of loggers there.';
COMMENT ON COLUMN results.place_temperatures.first_at IS 'The first of them.';
COMMENT ON COLUMN results.place_temperatures.last_at IS 'When the last ceases to hold.';
COMMENT ON COLUMN results.place_temperatures.lowest_c IS 'Lowest reading, °C.';
COMMENT ON COLUMN results.place_temperatures.highest_c IS 'Highest reading, °C.';
COMMENT ON COLUMN results.place_temperatures.mean_c IS 'Mean over time, °C.';
COMMENT ON COLUMN results.place_temperatures.mean_kinetic_c IS 'Mean kinetic temperature, °C.';
COMMENT ON COLUMN results.place_temperatures.energy_kj_mol IS 'Activation energy that it takes: that of all styles together, kJ/mol.';
COMMENT ON COLUMN results.place_temperatures.worth_days IS 'What 100 days there were worth, in days at the temperature that the samples say.';
COMMENT ON COLUMN results.place_temperatures.off IS 'Whether it is further than 1 °C from that.';

CREATE TABLE results.moves (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR NOT NULL,
    oxygen_change_ppb DOUBLE NOT NULL,
    oxygen_ppb DOUBLE NOT NULL,
    closure VARCHAR NOT NULL,
    ingress_ppb_per_day DOUBLE NOT NULL,
    warmer_c DOUBLE NOT NULL,
    temp_c DOUBLE NOT NULL,
    share_rejected DOUBLE NOT NULL,
    confidence DOUBLE NOT NULL,
    shelf_life_days DOUBLE NOT NULL,
    shelf_life_days_lower DOUBLE NOT NULL,
    best_before_days INTEGER,
    binding_cause VARCHAR NOT NULL,
    in_force BOOLEAN NOT NULL
);
COMMENT ON TABLE results.moves IS 'The date of each style and format on its main route over a grid of what moves it, of the newest run alone.';
COMMENT ON COLUMN results.moves.run_id IS 'The run.';
COMMENT ON COLUMN results.moves.style IS 'Beer style.';
COMMENT ON COLUMN results.moves.format IS 'Package format.';
COMMENT ON COLUMN results.moves.route IS 'Route.';
COMMENT ON COLUMN results.moves.oxygen_change_ppb IS 'Oxygen at filling, more than now, ppb; below 0: less.';
COMMENT ON COLUMN results.moves.oxygen_ppb IS 'Total package oxygen that the middle lot then holds at filling, ppb.';
COMMENT ON COLUMN results.moves.closure IS 'as it is, scavenging liner or ordinary crown.';
COMMENT ON COLUMN results.moves.ingress_ppb_per_day IS 'What it lets in at 20 °C, ppb a day; of the two others assumed.';
COMMENT ON COLUMN results.moves.warmer_c IS 'The last stage warmer than planned, °C; below 0: colder.';
COMMENT ON COLUMN results.moves.temp_c IS 'Temperature at which the route then ends, °C.';
COMMENT ON COLUMN results.moves.share_rejected IS 'Share of glasses rejected for age at which life ends, 0 to 1.';
COMMENT ON COLUMN results.moves.confidence IS 'One-sided confidence of the bound, 0 to 1.';
COMMENT ON COLUMN results.moves.shelf_life_days IS 'Shelf life, days from packaging.';
COMMENT ON COLUMN results.moves.shelf_life_days_lower IS 'Its one-sided lower bound.';
COMMENT ON COLUMN results.moves.best_before_days IS 'Best-before days; empty where there would be no date.';
COMMENT ON COLUMN results.moves.binding_cause IS 'What would end the life.';
COMMENT ON COLUMN results.moves.in_force IS 'Whether nothing is changed: this is the date of the run.';
