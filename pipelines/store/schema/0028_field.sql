-- What the trade tells, as of the day of publishing: complaints, their rates, and the fit beside them.

CREATE TABLE this_week.field_summary (
    since DATE NOT NULL,
    today DATE NOT NULL,
    complaints INTEGER NOT NULL,
    taste INTEGER NOT NULL,
    safety INTEGER NOT NULL,
    packages DOUBLE NOT NULL,
    per_million DOUBLE,
    lower DOUBLE,
    upper DOUBLE,
    lot_known INTEGER NOT NULL,
    compared INTEGER NOT NULL,
    with_age DOUBLE,
    with_age_lower DOUBLE,
    with_age_upper DOUBLE
);
COMMENT ON TABLE this_week.field_summary IS 'What the trade told by the day of publishing: one row, or none before the first publishing.';
COMMENT ON COLUMN this_week.field_summary.since IS 'First day that is looked at.';
COMMENT ON COLUMN this_week.field_summary.today IS 'The day that counts as today.';
COMMENT ON COLUMN this_week.field_summary.complaints IS 'Complaints received in that time.';
COMMENT ON COLUMN this_week.field_summary.taste IS 'Those about taste that the age of the beer could explain, without those that touch safety.';
COMMENT ON COLUMN this_week.field_summary.safety IS 'Those that touch safety.';
COMMENT ON COLUMN this_week.field_summary.packages IS 'Packages drunk in that time, reckoned from shipments at an assumed pace.';
COMMENT ON COLUMN this_week.field_summary.per_million IS 'Complaints about taste per million packages drunk; empty without packages.';
COMMENT ON COLUMN this_week.field_summary.lower IS 'Exact lower limit of that rate, 90 % two-sided.';
COMMENT ON COLUMN this_week.field_summary.upper IS 'Exact upper limit.';
COMMENT ON COLUMN this_week.field_summary.lot_known IS 'Complaints about taste whose lot is known, named or likely.';
COMMENT ON COLUMN this_week.field_summary.compared IS 'Those of them for whose beer a share rejected is expected.';
COMMENT ON COLUMN this_week.field_summary.with_age IS 'Part of those that goes with the age of the beer as the fit has it, 0 to 1; empty without any.';
COMMENT ON COLUMN this_week.field_summary.with_age_lower IS 'It is at least this, 90 % two-sided.';
COMMENT ON COLUMN this_week.field_summary.with_age_upper IS 'It is at most this.';

CREATE TABLE this_week.field_complaints (
    complaint VARCHAR NOT NULL,
    received_on DATE NOT NULL,
    category VARCHAR NOT NULL,
    safety BOOLEAN NOT NULL,
    taste BOOLEAN NOT NULL,
    named_lot VARCHAR,
    named BOOLEAN NOT NULL,
    lot VARCHAR,
    format VARCHAR,
    odds DOUBLE,
    beer VARCHAR,
    age_days INTEGER,
    share_rejected DOUBLE,
    outlet VARCHAR,
    packages INTEGER,
    closed_on DATE
);
COMMENT ON TABLE this_week.field_complaints IS 'Complaints of the last twelve months; no note and no finding, for they may hold names.';
COMMENT ON COLUMN this_week.field_complaints.complaint IS 'Number of the complaint.';
COMMENT ON COLUMN this_week.field_complaints.received_on IS 'Day it came in.';
COMMENT ON COLUMN this_week.field_complaints.category IS 'What it is about, joined by semicolons.';
COMMENT ON COLUMN this_week.field_complaints.safety IS 'Whether it touches safety.';
COMMENT ON COLUMN this_week.field_complaints.taste IS 'Whether it is about a taste that the age of the beer could explain.';
COMMENT ON COLUMN this_week.field_complaints.named_lot IS 'Lot as it was named.';
COMMENT ON COLUMN this_week.field_complaints.named IS 'Whether that is a lot of ours, so that nothing had to be guessed.';
COMMENT ON COLUMN this_week.field_complaints.lot IS 'Lot of ours that it counts for: named, or a candidate at odds of nine in ten; empty without one.';
COMMENT ON COLUMN this_week.field_complaints.format IS 'Its format.';
COMMENT ON COLUMN this_week.field_complaints.odds IS 'Odds of that lot; 1 where it is named.';
COMMENT ON COLUMN this_week.field_complaints.beer IS 'Beer.';
COMMENT ON COLUMN this_week.field_complaints.age_days IS 'Days from packaging to opening, else purchase, else the complaint.';
COMMENT ON COLUMN this_week.field_complaints.share_rejected IS 'Share of glasses of such beer that was expected to be rejected for age, 0 to 1; empty where not known.';
COMMENT ON COLUMN this_week.field_complaints.outlet IS 'Where it was bought.';
COMMENT ON COLUMN this_week.field_complaints.packages IS 'Packages concerned.';
COMMENT ON COLUMN this_week.field_complaints.closed_on IS 'Day it was closed; empty while it is open.';

CREATE TABLE this_week.field_kinds (
    category VARCHAR NOT NULL,
    safety BOOLEAN NOT NULL,
    complaints INTEGER NOT NULL,
    packages BIGINT,
    per_million DOUBLE,
    lower DOUBLE,
    upper DOUBLE
);
COMMENT ON TABLE this_week.field_kinds IS 'Complaints of the last twelve months by category; one with several counts in each.';
COMMENT ON COLUMN this_week.field_kinds.category IS 'Category.';
COMMENT ON COLUMN this_week.field_kinds.safety IS 'Whether they touch safety, by category or by words in the note.';
COMMENT ON COLUMN this_week.field_kinds.complaints IS 'Complaints.';
COMMENT ON COLUMN this_week.field_kinds.packages IS 'Packages concerned, where they say.';
COMMENT ON COLUMN this_week.field_kinds.per_million IS 'Complaints per million packages drunk; empty without packages.';
COMMENT ON COLUMN this_week.field_kinds.lower IS 'Exact lower limit, 90 % two-sided.';
COMMENT ON COLUMN this_week.field_kinds.upper IS 'Exact upper limit.';

CREATE TABLE this_week.field_rates (
    "grouping" VARCHAR NOT NULL CHECK (
        "grouping" IN ('quarter', 'month', 'lot', 'line', 'outlet')),
    name VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    packages DOUBLE NOT NULL,
    taste INTEGER NOT NULL,
    expected DOUBLE NOT NULL,
    luck_lower DOUBLE NOT NULL,
    luck_upper DOUBLE NOT NULL,
    per_million DOUBLE,
    lower DOUBLE,
    upper DOUBLE,
    chance DOUBLE,
    corrected DOUBLE,
    told_from INTEGER NOT NULL,
    verdict VARCHAR NOT NULL CHECK (
        verdict IN ('cannot say', 'more', 'perhaps more', 'fewer', 'as expected'))
);
COMMENT ON TABLE this_week.field_rates IS 'Complaints about taste per million packages drunk, beside those expected.';
COMMENT ON COLUMN this_week.field_rates."grouping" IS 'What is set side by side: quarter, month, lot, line or outlet.';
COMMENT ON COLUMN this_week.field_rates.name IS 'Which of them: 2026-Q3, 2026-07, a lot, a line, an outlet; empty text where none is given.';
COMMENT ON COLUMN this_week.field_rates.format IS 'Package format of a lot; empty text for others.';
COMMENT ON COLUMN this_week.field_rates.packages IS 'Packages drunk; 0 where no shipment names it.';
COMMENT ON COLUMN this_week.field_rates.taste IS 'Complaints about taste.';
COMMENT ON COLUMN this_week.field_rates.expected IS 'Those expected of it, of all that were made, at the brewery''s own rate and the age of its beer.';
COMMENT ON COLUMN this_week.field_rates.luck_lower IS 'Luck alone leaves nine such groups in ten between this count and `luck_upper`.';
COMMENT ON COLUMN this_week.field_rates.luck_upper IS 'and this one.';
COMMENT ON COLUMN this_week.field_rates.per_million IS 'Complaints per million packages drunk; empty without packages.';
COMMENT ON COLUMN this_week.field_rates.lower IS 'Exact lower limit, 90 % two-sided.';
COMMENT ON COLUMN this_week.field_rates.upper IS 'Exact upper limit.';
COMMENT ON COLUMN this_week.field_rates.chance IS 'How often luck alone brings so many or more, 0 to 1.';
COMMENT ON COLUMN this_week.field_rates.corrected IS 'The same, corrected for all groups that are looked at.';
COMMENT ON COLUMN this_week.field_rates.told_from IS 'Complaints from which it would be told of.';
COMMENT ON COLUMN this_week.field_rates.verdict IS 'more: more than luck explains; perhaps more: not among so many; fewer; as expected; or cannot say.';

CREATE TABLE this_week.field_looks (
    "grouping" VARCHAR NOT NULL,
    counted INTEGER NOT NULL,
    groups INTEGER NOT NULL,
    by_luck DOUBLE NOT NULL,
    alone INTEGER NOT NULL,
    told INTEGER NOT NULL
);
COMMENT ON TABLE this_week.field_looks IS 'How many groups were looked at, and what luck makes of so many.';
COMMENT ON COLUMN this_week.field_looks."grouping" IS 'quarter, month, lot, line or outlet.';
COMMENT ON COLUMN this_week.field_looks.counted IS 'Complaints about taste whose group is known and has packages.';
COMMENT ON COLUMN this_week.field_looks.groups IS 'Groups that have packages.';
COMMENT ON COLUMN this_week.field_looks.by_luck IS 'Groups that luck alone brings to a chance of 5 %.';
COMMENT ON COLUMN this_week.field_looks.alone IS 'Groups that have such a chance.';
COMMENT ON COLUMN this_week.field_looks.told IS 'Groups that have one after the correction for all of them.';

CREATE TABLE this_week.field_checks (
    "grouping" VARCHAR NOT NULL CHECK ("grouping" IN ('age', 'style', 'format')),
    name VARCHAR NOT NULL,
    age_from INTEGER,
    age_to INTEGER,
    packages DOUBLE NOT NULL,
    complaints INTEGER NOT NULL,
    expected DOUBLE NOT NULL,
    chance DOUBLE NOT NULL,
    corrected DOUBLE NOT NULL,
    verdict VARCHAR NOT NULL CHECK (verdict IN ('as expected', 'more', 'fewer'))
);
COMMENT ON TABLE this_week.field_checks IS 'Complaints about taste by age, style and format beside those expected from the fit.';
COMMENT ON COLUMN this_week.field_checks."grouping" IS 'age, style or format.';
COMMENT ON COLUMN this_week.field_checks.name IS 'Which style or format; empty text for an age.';
COMMENT ON COLUMN this_week.field_checks.age_from IS 'Older than this, days from packaging; empty for the youngest.';
COMMENT ON COLUMN this_week.field_checks.age_to IS 'Up to this age, days; empty for the oldest.';
COMMENT ON COLUMN this_week.field_checks.packages IS 'Packages drunk.';
COMMENT ON COLUMN this_week.field_checks.complaints IS 'Complaints about taste.';
COMMENT ON COLUMN this_week.field_checks.expected IS 'Those expected of it, of all that were made.';
COMMENT ON COLUMN this_week.field_checks.chance IS 'How often luck alone brings a count so far off on either side, 0 to 1.';
COMMENT ON COLUMN this_week.field_checks.corrected IS 'The same, corrected for all groups of its kind.';
COMMENT ON COLUMN this_week.field_checks.verdict IS 'as expected, or more or fewer than luck explains.';
