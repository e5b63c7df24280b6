-- What is filled: beers, formats, lots, their measurements, and changes to the lines.

CREATE TABLE history.beers (
    beer VARCHAR,
    style VARCHAR,
    abv_pct DOUBLE,
    owner VARCHAR,
    pasteurised BOOLEAN,
    live_yeast_or_sugar BOOLEAN,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.beers IS 'The beers and what of them bears on their life.';
COMMENT ON COLUMN history.beers.beer IS 'Name of the beer; key.';
COMMENT ON COLUMN history.beers.style IS 'Style, under which beers are fitted together; required.';
COMMENT ON COLUMN history.beers.abv_pct IS 'Alcohol, % by volume; required.';
COMMENT ON COLUMN history.beers.owner IS 'Partner for whom it is brewed; empty for the house.';
COMMENT ON COLUMN history.beers.pasteurised IS 'Whether it is pasteurised.';
COMMENT ON COLUMN history.beers.live_yeast_or_sugar IS 'Whether it could ferment again in the package.';
COMMENT ON COLUMN history.beers.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.beers.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.beers.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.beers.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.beers.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.beers.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.beers.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.beers.load_id IS 'The load that brought this version.';
CREATE VIEW core.beers AS
SELECT beer, style, abv_pct, owner, pasteurised, live_yeast_or_sugar, extra, file, sheet,
       row_number, row_key, load_id
FROM history.beers
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.beers GROUP BY row_key);
COMMENT ON VIEW core.beers IS 'Beers as they stand now.';

CREATE TABLE history.formats (
    format VARCHAR,
    kind VARCHAR,
    volume_ml DOUBLE,
    headspace_ml DOUBLE,
    ingress_ppb_per_day DOUBLE,
    ingress_ml_o2_per_day DOUBLE,
    closure VARCHAR,
    light VARCHAR,
    pressure_limit_bar DOUBLE,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.formats IS 'The packages that beer is filled into.';
COMMENT ON COLUMN history.formats.format IS 'Name of the format; key.';
COMMENT ON COLUMN history.formats.kind IS 'bottle, can, plastic bottle, keg, plastic keg or cask; required.';
COMMENT ON COLUMN history.formats.volume_ml IS 'Beer in one package, mL; required.';
COMMENT ON COLUMN history.formats.headspace_ml IS 'Gas above the beer, mL.';
COMMENT ON COLUMN history.formats.ingress_ppb_per_day IS 'Oxygen let in by the closure at 20 °C, ppb of the beer a day.';
COMMENT ON COLUMN history.formats.ingress_ml_o2_per_day IS 'The same as mL of oxygen gas a day for one package.';
COMMENT ON COLUMN history.formats.closure IS 'Crown, end, cap or fitting.';
COMMENT ON COLUMN history.formats.light IS 'Colour of the glass: dark, brown, green or clear.';
COMMENT ON COLUMN history.formats.pressure_limit_bar IS 'Pressure that the package may not pass, bar.';
COMMENT ON COLUMN history.formats.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.formats.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.formats.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.formats.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.formats.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.formats.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.formats.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.formats.load_id IS 'The load that brought this version.';
CREATE VIEW core.formats AS
SELECT format, kind, volume_ml, headspace_ml, ingress_ppb_per_day, ingress_ml_o2_per_day,
       closure, light, pressure_limit_bar, extra, file, sheet, row_number, row_key, load_id
FROM history.formats
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.formats GROUP BY row_key);
COMMENT ON VIEW core.formats IS 'Formats as they stand now.';

CREATE TABLE history.lots (
    lot VARCHAR,
    format VARCHAR,
    beer VARCHAR,
    packaged_on DATE,
    batch VARCHAR,
    line VARCHAR,
    packaged_by VARCHAR,
    started_at TIMESTAMP,
    ended_at TIMESTAMP,
    closure VARCHAR,
    best_before DATE,
    printed_code VARCHAR,
    packages INTEGER,
    co2_volumes DOUBLE,
    co2_g_per_l DOUBLE,
    status VARCHAR,
    trial VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.lots IS 'One row for each lot and format: a lot filled into three formats is three rows.';
COMMENT ON COLUMN history.lots.lot IS 'Lot code; key together with the format.';
COMMENT ON COLUMN history.lots.format IS 'Package format; key together with the lot.';
COMMENT ON COLUMN history.lots.beer IS 'Beer; required.';
COMMENT ON COLUMN history.lots.packaged_on IS 'Packaging day, from which age is counted; required.';
COMMENT ON COLUMN history.lots.batch IS 'Tank or blend: formats filled from one tank share it.';
COMMENT ON COLUMN history.lots.line IS 'Packaging line.';
COMMENT ON COLUMN history.lots.packaged_by IS 'Who packaged it, where that is not the house.';
COMMENT ON COLUMN history.lots.started_at IS 'Start of the run, local time.';
COMMENT ON COLUMN history.lots.ended_at IS 'End of the run, local time.';
COMMENT ON COLUMN history.lots.closure IS 'Closure of this lot, where it differs from the one of the format.';
COMMENT ON COLUMN history.lots.best_before IS 'Best-before date printed on the package.';
COMMENT ON COLUMN history.lots.printed_code IS 'Code printed on the package.';
COMMENT ON COLUMN history.lots.packages IS 'Packages filled.';
COMMENT ON COLUMN history.lots.co2_volumes IS 'Carbonation, volumes of CO2 per volume of beer.';
COMMENT ON COLUMN history.lots.co2_g_per_l IS 'Carbonation, g of CO2 per litre.';
COMMENT ON COLUMN history.lots.status IS 'released, held or scrapped.';
COMMENT ON COLUMN history.lots.trial IS 'Change that is being tried on this lot.';
COMMENT ON COLUMN history.lots.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.lots.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.lots.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.lots.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.lots.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.lots.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.lots.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.lots.load_id IS 'The load that brought this version.';
CREATE VIEW core.lots AS
SELECT lot, format, beer, packaged_on, batch, line, packaged_by, started_at, ended_at, closure,
       best_before, printed_code, packages, co2_volumes, co2_g_per_l, status, trial, extra,
       file, sheet, row_number, row_key, load_id
FROM history.lots
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.lots GROUP BY row_key);
COMMENT ON VIEW core.lots IS 'Lots as they stand now, one row for each format.';

CREATE TABLE history.lot_results (
    lot VARCHAR,
    format VARCHAR,
    quantity VARCHAR,
    value DOUBLE,
    result VARCHAR,
    unit VARCHAR,
    measured_at TIMESTAMP,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.lot_results IS 'Laboratory results of a lot other than oxygen.';
COMMENT ON COLUMN history.lot_results.lot IS 'Lot; required.';
COMMENT ON COLUMN history.lot_results.format IS 'Package format.';
COMMENT ON COLUMN history.lot_results.quantity IS 'What was measured: pH, haze, SO2, infection and others; required.';
COMMENT ON COLUMN history.lot_results.value IS 'Result as a number.';
COMMENT ON COLUMN history.lot_results.result IS 'Result in words, where it is no number.';
COMMENT ON COLUMN history.lot_results.unit IS 'Unit of the number.';
COMMENT ON COLUMN history.lot_results.measured_at IS 'When it was measured, local time.';
COMMENT ON COLUMN history.lot_results.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.lot_results.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.lot_results.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.lot_results.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.lot_results.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.lot_results.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.lot_results.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.lot_results.load_id IS 'The load that brought this version.';
CREATE VIEW core.lot_results AS
SELECT lot, format, quantity, value, result, unit, measured_at, extra, file, sheet, row_number,
       row_key, load_id
FROM history.lot_results
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.lot_results GROUP BY row_key);
COMMENT ON VIEW core.lot_results IS 'Laboratory results as they stand now.';

CREATE TABLE history.oxygen (
    lot VARCHAR,
    format VARCHAR,
    measured_at TIMESTAMP,
    unit VARCHAR,
    quantity VARCHAR,
    value DOUBLE,
    bound VARCHAR,
    reading VARCHAR,
    filled_at TIMESTAMP,
    minutes_after_fill DOUBLE,
    temperature_c DOUBLE,
    headspace_ml DOUBLE,
    head VARCHAR,
    run_position VARCHAR,
    meter VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.oxygen IS 'Oxygen readings, one row for each quantity read on a package.';
COMMENT ON COLUMN history.oxygen.lot IS 'Lot; required.';
COMMENT ON COLUMN history.oxygen.format IS 'Package format.';
COMMENT ON COLUMN history.oxygen.measured_at IS 'When it was measured, local time; required.';
COMMENT ON COLUMN history.oxygen.unit IS 'Unit of the value: ppb, ug/L, ppm or mg/L; required.';
COMMENT ON COLUMN history.oxygen.quantity IS 'total, shaken, dissolved or headspace; required.';
COMMENT ON COLUMN history.oxygen.value IS 'The reading in its unit; at a bound, the bound itself; required.';
COMMENT ON COLUMN history.oxygen.bound IS 'below or above when the meter gave only a bound; empty text for a plain number.';
COMMENT ON COLUMN history.oxygen.reading IS 'Number of the reading; key together with the quantity where it is given.';
COMMENT ON COLUMN history.oxygen.filled_at IS 'When the package was filled, local time.';
COMMENT ON COLUMN history.oxygen.minutes_after_fill IS 'Minutes from filling to measuring.';
COMMENT ON COLUMN history.oxygen.temperature_c IS 'Temperature of the package when it was read, °C.';
COMMENT ON COLUMN history.oxygen.headspace_ml IS 'Gas above the beer in this package, mL.';
COMMENT ON COLUMN history.oxygen.head IS 'Filler or seamer head.';
COMMENT ON COLUMN history.oxygen.run_position IS 'start, middle, end or restart of the run.';
COMMENT ON COLUMN history.oxygen.meter IS 'Meter that was used.';
COMMENT ON COLUMN history.oxygen.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.oxygen.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.oxygen.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.oxygen.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.oxygen.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.oxygen.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.oxygen.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.oxygen.load_id IS 'The load that brought this version.';
CREATE VIEW core.oxygen AS
SELECT lot, format, measured_at, unit, quantity, value, bound, reading, filled_at,
       minutes_after_fill, temperature_c, headspace_ml, head, run_position, meter, extra, file,
       sheet, row_number, row_key, load_id
FROM history.oxygen
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.oxygen GROUP BY row_key);
COMMENT ON VIEW core.oxygen IS 'Oxygen readings as they stand now.';

CREATE TABLE history.meter_checks (
    meter VARCHAR,
    checked_at TIMESTAMP,
    standard VARCHAR,
    expected DOUBLE,
    observed DOUBLE,
    unit VARCHAR,
    tolerance DOUBLE,
    state VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.meter_checks IS 'Checks of the oxygen meters against a standard.';
COMMENT ON COLUMN history.meter_checks.meter IS 'Meter; key.';
COMMENT ON COLUMN history.meter_checks.checked_at IS 'When it was checked, local time; key.';
COMMENT ON COLUMN history.meter_checks.standard IS 'zero, air or reference; key.';
COMMENT ON COLUMN history.meter_checks.expected IS 'What it should have read, in the unit given; required.';
COMMENT ON COLUMN history.meter_checks.observed IS 'What it did read; required.';
COMMENT ON COLUMN history.meter_checks.unit IS 'Unit of both, % saturation among them; required.';
COMMENT ON COLUMN history.meter_checks.tolerance IS 'Largest difference that passes, in the unit given.';
COMMENT ON COLUMN history.meter_checks.state IS 'found (before adjusting) or left (after it).';
COMMENT ON COLUMN history.meter_checks.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.meter_checks.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.meter_checks.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.meter_checks.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.meter_checks.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.meter_checks.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.meter_checks.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.meter_checks.load_id IS 'The load that brought this version.';
CREATE VIEW core.meter_checks AS
SELECT meter, checked_at, standard, expected, observed, unit, tolerance, state, extra, file,
       sheet, row_number, row_key, load_id
FROM history.meter_checks
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.meter_checks GROUP BY row_key);
COMMENT ON VIEW core.meter_checks IS 'Meter checks as they stand now.';

CREATE TABLE history.changes (
    changed_on DATE,
    what VARCHAR,
    line VARCHAR,
    beer VARCHAR,
    format VARCHAR,
    void BOOLEAN NOT NULL,
    extra VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sheet VARCHAR NOT NULL,
    row_number INTEGER NOT NULL,
    row_key VARCHAR NOT NULL,
    values_hash VARCHAR NOT NULL,
    load_id BIGINT NOT NULL
);
COMMENT ON TABLE history.changes IS 'What was changed on a line or a beer, and when.';
COMMENT ON COLUMN history.changes.changed_on IS 'Day of the change; required.';
COMMENT ON COLUMN history.changes.what IS 'What was changed: a new crown, a seamer reset, a filter; required.';
COMMENT ON COLUMN history.changes.line IS 'Packaging line, where it concerns one.';
COMMENT ON COLUMN history.changes.beer IS 'Beer, where it concerns one.';
COMMENT ON COLUMN history.changes.format IS 'Package format, where it concerns one.';
COMMENT ON COLUMN history.changes.void IS 'Whether this version withdraws the row.';
COMMENT ON COLUMN history.changes.extra IS 'Cells under headings that the table does not know, as a JSON object.';
COMMENT ON COLUMN history.changes.file IS 'File it came in with, relative to the inbox.';
COMMENT ON COLUMN history.changes.sheet IS 'Sheet of a workbook; empty text for other files.';
COMMENT ON COLUMN history.changes.row_number IS 'Row of the file as a person sees it: the heading is row 1.';
COMMENT ON COLUMN history.changes.row_key IS 'What identifies the row, as a JSON array; equal keys are versions of one row.';
COMMENT ON COLUMN history.changes.values_hash IS 'MD5 of the values and the extra cells: equal hashes mean that nothing changed.';
COMMENT ON COLUMN history.changes.load_id IS 'The load that brought this version.';
CREATE VIEW core.changes AS
SELECT changed_on, what, line, beer, format, extra, file, sheet, row_number, row_key, load_id
FROM history.changes
WHERE NOT void
  AND (row_key, load_id) IN (SELECT row_key, max(load_id) FROM history.changes GROUP BY row_key);
COMMENT ON VIEW core.changes IS 'Changes as they stand now.';
