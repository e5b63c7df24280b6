-- What is due, as seen from the day of the newest pages. It is worked out anew at each publishing and
-- takes the place of what stood here, so that it does not grow.

-- What this week asks for: replaced whole at each publishing.
CREATE SCHEMA this_week;

CREATE TABLE this_week.summary (
    today DATE NOT NULL,
    written_on DATE NOT NULL,
    samples INTEGER NOT NULL,
    planned INTEGER NOT NULL,
    meters INTEGER NOT NULL,
    expected INTEGER NOT NULL,
    pulls_missed INTEGER NOT NULL,
    tastings_missed INTEGER NOT NULL,
    meters_at_rest INTEGER NOT NULL,
    taste_within_days INTEGER NOT NULL,
    check_every_days INTEGER NOT NULL,
    keep_days_past_date INTEGER NOT NULL,
    missed_after_days INTEGER NOT NULL
);
COMMENT ON TABLE this_week.summary IS 'The day that the lists of this week were made for: one row, or none before the first publishing.';
COMMENT ON COLUMN this_week.summary.today IS 'The day that counts as today.';
COMMENT ON COLUMN this_week.summary.written_on IS 'The day on which the lists were made, by the clock of the brewery.';
COMMENT ON COLUMN this_week.summary.samples IS 'Samples known.';
COMMENT ON COLUMN this_week.summary.planned IS 'Pulls that the plan of the configuration names for the styles known.';
COMMENT ON COLUMN this_week.summary.meters IS 'Meters known from checks or readings.';
COMMENT ON COLUMN this_week.summary.expected IS 'Files that the configuration expects regularly.';
COMMENT ON COLUMN this_week.summary.pulls_missed IS 'Planned pulls that were not made and whose time has gone.';
COMMENT ON COLUMN this_week.summary.tastings_missed IS 'Samples pulled and never tasted whose time has gone.';
COMMENT ON COLUMN this_week.summary.meters_at_rest IS 'Meters without a check or a reading for long.';
COMMENT ON COLUMN this_week.summary.taste_within_days IS 'Days within which a pulled sample is to be tasted.';
COMMENT ON COLUMN this_week.summary.check_every_days IS 'Days from one meter check to the next.';
COMMENT ON COLUMN this_week.summary.keep_days_past_date IS 'Days that retained samples are kept after the date of their lot.';
COMMENT ON COLUMN this_week.summary.missed_after_days IS 'Days overdue after which an item is counted and no longer listed.';

CREATE TABLE this_week.pulls (
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    storage_temp_c DOUBLE NOT NULL,
    place VARCHAR,
    age_days INTEGER NOT NULL,
    sample VARCHAR,
    due_on DATE NOT NULL,
    days_late INTEGER NOT NULL,
    status VARCHAR NOT NULL
);
COMMENT ON TABLE this_week.pulls IS 'Samples to pull, overdue or within the week.';
COMMENT ON COLUMN this_week.pulls.lot IS 'Lot.';
COMMENT ON COLUMN this_week.pulls.format IS 'Package format.';
COMMENT ON COLUMN this_week.pulls.beer IS 'Beer.';
COMMENT ON COLUMN this_week.pulls.style IS 'Beer style.';
COMMENT ON COLUMN this_week.pulls.storage_temp_c IS 'Temperature of the storage, °C.';
COMMENT ON COLUMN this_week.pulls.place IS 'The cupboard or room.';
COMMENT ON COLUMN this_week.pulls.age_days IS 'Days in that storage at which to pull.';
COMMENT ON COLUMN this_week.pulls.sample IS 'Number of the sample, where its row of samples names the day.';
COMMENT ON COLUMN this_week.pulls.due_on IS 'Day of the pull.';
COMMENT ON COLUMN this_week.pulls.days_late IS 'Days overdue; 0 when it is not.';
COMMENT ON COLUMN this_week.pulls.status IS 'overdue or due.';

CREATE TABLE this_week.tastings (
    sample VARCHAR NOT NULL,
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    role VARCHAR NOT NULL,
    storage_temp_c DOUBLE NOT NULL,
    place VARCHAR,
    age_days INTEGER NOT NULL,
    pulled_on DATE NOT NULL,
    due_on DATE NOT NULL,
    days_late INTEGER NOT NULL,
    status VARCHAR NOT NULL
);
COMMENT ON TABLE this_week.tastings IS 'Samples pulled and not tasted.';
COMMENT ON COLUMN this_week.tastings.sample IS 'Number of the sample.';
COMMENT ON COLUMN this_week.tastings.lot IS 'Lot.';
COMMENT ON COLUMN this_week.tastings.format IS 'Package format.';
COMMENT ON COLUMN this_week.tastings.beer IS 'Beer.';
COMMENT ON COLUMN this_week.tastings.style IS 'Beer style.';
COMMENT ON COLUMN this_week.tastings.role IS 'aged or fresh.';
COMMENT ON COLUMN this_week.tastings.storage_temp_c IS 'Temperature of the storage, °C.';
COMMENT ON COLUMN this_week.tastings.place IS 'The cupboard or room.';
COMMENT ON COLUMN this_week.tastings.age_days IS 'Days it was in that storage.';
COMMENT ON COLUMN this_week.tastings.pulled_on IS 'Day it was pulled.';
COMMENT ON COLUMN this_week.tastings.due_on IS 'Last day on which to taste it.';
COMMENT ON COLUMN this_week.tastings.days_late IS 'Days overdue; 0 when it is not.';
COMMENT ON COLUMN this_week.tastings.status IS 'overdue, due or later.';

CREATE TABLE this_week.meter_checks (
    meter VARCHAR NOT NULL,
    checked_on DATE,
    read_on DATE,
    due_on DATE,
    days_late INTEGER NOT NULL,
    status VARCHAR NOT NULL
);
COMMENT ON TABLE this_week.meter_checks IS 'Oxygen meters to check.';
COMMENT ON COLUMN this_week.meter_checks.meter IS 'Meter.';
COMMENT ON COLUMN this_week.meter_checks.checked_on IS 'Day of its last check; empty when it was never checked.';
COMMENT ON COLUMN this_week.meter_checks.read_on IS 'Day of its last reading; empty when it has none.';
COMMENT ON COLUMN this_week.meter_checks.due_on IS 'Day of the next check; empty when it was never checked.';
COMMENT ON COLUMN this_week.meter_checks.days_late IS 'Days overdue; 0 when it is not.';
COMMENT ON COLUMN this_week.meter_checks.status IS 'overdue, due or never (checked).';

CREATE TABLE this_week.retained (
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    storage_temp_c DOUBLE NOT NULL,
    place VARCHAR,
    ended_on DATE NOT NULL,
    printed BOOLEAN NOT NULL,
    days_past INTEGER NOT NULL,
    samples INTEGER NOT NULL,
    names VARCHAR NOT NULL,
    pull_on DATE NOT NULL
);
COMMENT ON TABLE this_week.retained IS 'Samples in storage that may go, by lot, format and storage.';
COMMENT ON COLUMN this_week.retained.lot IS 'Lot.';
COMMENT ON COLUMN this_week.retained.format IS 'Package format.';
COMMENT ON COLUMN this_week.retained.beer IS 'Beer.';
COMMENT ON COLUMN this_week.retained.storage_temp_c IS 'Temperature of the storage, °C.';
COMMENT ON COLUMN this_week.retained.place IS 'The cupboard or room.';
COMMENT ON COLUMN this_week.retained.ended_on IS 'Date of the lot.';
COMMENT ON COLUMN this_week.retained.printed IS 'Whether it is printed, or else the longest date of the style.';
COMMENT ON COLUMN this_week.retained.days_past IS 'Days since that date.';
COMMENT ON COLUMN this_week.retained.samples IS 'How many samples.';
COMMENT ON COLUMN this_week.retained.names IS 'Their numbers.';
COMMENT ON COLUMN this_week.retained.pull_on IS 'The first pull written down for one of them.';

CREATE TABLE this_week.late_files (
    expected VARCHAR NOT NULL,
    every_days INTEGER NOT NULL,
    last_file VARCHAR,
    last_on DATE,
    due_on DATE,
    days_late INTEGER NOT NULL
);
COMMENT ON TABLE this_week.late_files IS 'Files that come regularly and did not come.';
COMMENT ON COLUMN this_week.late_files.expected IS 'Name, pattern or table, as the configuration has it.';
COMMENT ON COLUMN this_week.late_files.every_days IS 'Days from one to the next at most.';
COMMENT ON COLUMN this_week.late_files.last_file IS 'The last one that came; empty when none ever did.';
COMMENT ON COLUMN this_week.late_files.last_on IS 'Day it was taken in.';
COMMENT ON COLUMN this_week.late_files.due_on IS 'Day on which the next one should have come.';
COMMENT ON COLUMN this_week.late_files.days_late IS 'Days since then; 0 when none ever came.';
