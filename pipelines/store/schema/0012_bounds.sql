-- Oxygen readings that are bounds count as bounds.

ALTER TABLE results.lot_oxygen ADD COLUMN total_oxygen_lower_ppb DOUBLE;
ALTER TABLE results.lot_oxygen ADD COLUMN total_oxygen_upper_ppb DOUBLE;
ALTER TABLE results.lot_oxygen ADD COLUMN at_least_ppb DOUBLE;
ALTER TABLE results.lot_oxygen ADD COLUMN line_oxygen_ppb DOUBLE;
ALTER TABLE results.lot_oxygen ADD COLUMN part INTEGER DEFAULT 0;
COMMENT ON COLUMN results.lot_oxygen.packages IS 'Packages whose total is known, or is below a bound.';
COMMENT ON COLUMN results.lot_oxygen.total_oxygen_lower_ppb IS 'The lot holds at least this, 90 % two-sided, ppb.';
COMMENT ON COLUMN results.lot_oxygen.total_oxygen_upper_ppb IS 'The lot holds at most this, 90 % two-sided, ppb.';
COMMENT ON COLUMN results.lot_oxygen.at_least_ppb IS 'Geometric mean of what its packages hold at least, where nothing else is known, ppb.';
COMMENT ON COLUMN results.lot_oxygen.line_oxygen_ppb IS 'The total drawn towards its line''s, as the dates use it, ppb.';
COMMENT ON COLUMN results.lot_oxygen.late IS 'Packages read later after filling than the configuration allows: at least that much.';
COMMENT ON COLUMN results.lot_oxygen.below_floor IS 'Packages that read below the meter''s floor: at most that much.';
COMMENT ON COLUMN results.lot_oxygen.part IS 'Packages of which the beer or the gas alone was read, or above the meter''s range: at least that much.';
COMMENT ON COLUMN results.lot_oxygen.unusable IS 'Packages that give no total: no headspace known, or too warm.';

CREATE TABLE results.entered_as_total (
    run_id BIGINT NOT NULL,
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    packages INTEGER NOT NULL,
    entered_ppb DOUBLE NOT NULL,
    usual_ppb DOUBLE NOT NULL,
    multiplier DOUBLE NOT NULL,
    odds DOUBLE NOT NULL,
    beside VARCHAR NOT NULL,
    PRIMARY KEY (run_id, lot, format)
);
COMMENT ON TABLE results.entered_as_total IS 'Lots whose totals are likely shaken readings, entered as totals.';
COMMENT ON COLUMN results.entered_as_total.run_id IS 'The run.';
COMMENT ON COLUMN results.entered_as_total.lot IS 'Lot.';
COMMENT ON COLUMN results.entered_as_total.format IS 'Package format.';
COMMENT ON COLUMN results.entered_as_total.packages IS 'Packages entered as totals.';
COMMENT ON COLUMN results.entered_as_total.entered_ppb IS 'Their geometric mean, ppb.';
COMMENT ON COLUMN results.entered_as_total.usual_ppb IS 'That of what stands beside them, ppb.';
COMMENT ON COLUMN results.entered_as_total.multiplier IS 'What a shaken reading of this format is multiplied by.';
COMMENT ON COLUMN results.entered_as_total.odds IS 'Odds that they are shaken readings, prior included.';
COMMENT ON COLUMN results.entered_as_total.beside IS 'What they are compared with: shaken (packages of the same lot) or line (its other lots).';
