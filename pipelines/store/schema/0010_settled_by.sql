-- What settled a row that stands aside is told apart from where the row itself was mended: each can
-- be taken back without the other.
ALTER TABLE intake.set_aside ADD COLUMN settled_file VARCHAR;
ALTER TABLE intake.set_aside ADD COLUMN settled_sheet VARCHAR;
ALTER TABLE intake.set_aside ADD COLUMN settled_row INTEGER;
UPDATE intake.set_aside
SET settled_file = mended_file, settled_sheet = mended_sheet, settled_row = mended_row,
    mended_file = NULL, mended_sheet = NULL, mended_row = NULL
WHERE settled_how IN ('mended', 'withdrawn');
COMMENT ON COLUMN intake.set_aside.load_id IS 'The load that read the row.';
COMMENT ON COLUMN intake.set_aside.mended_file IS 'File that the row was read from, where it is a mended one that is faulty still; else empty.';
COMMENT ON COLUMN intake.set_aside.settled_file IS 'File with the row that mended or withdrew it; else empty.';
COMMENT ON COLUMN intake.set_aside.settled_sheet IS 'Sheet of that row.';
COMMENT ON COLUMN intake.set_aside.settled_row IS 'Row number of that row.';

-- Words that say more than those of the migrations that made the columns.
COMMENT ON COLUMN results.dates.oxygen_from IS 'measured (a lot of this style and format), format (other styles in it), or assumed.';
COMMENT ON COLUMN results.pulls.expected_rejected IS 'Rejections that the fit expects, mistaken ones with them.';
COMMENT ON COLUMN results.arms.expected_rejected IS 'Rejections that the fit expects, mistaken ones with them.';
COMMENT ON COLUMN results.cautions.caution IS 'one temperature, above 40, lent by other formats, first estimate, none at route temperature, beyond oldest tasted, few lots, two wordings, assessors left out, samples left out, or oxygen assumed.';
COMMENT ON COLUMN results.attention.what IS 'printed too long, not fit for route, no safety validation, route incomplete, lots without beer or format, no estimate, fresh control rejected, or lent date.';
