-- What the policy makes of each date: whose rule it is, what each choice costs, and the labels.

-- Life ends at another share for some: the draws are kept for each share that is asked.
ALTER TABLE results.dose_lives ADD COLUMN share_rejected DOUBLE;
UPDATE results.dose_lives SET share_rejected = (
    SELECT r.share_rejected FROM results.runs AS r WHERE r.run_id = dose_lives.run_id
);
COMMENT ON COLUMN results.dose_lives.share_rejected IS 'Share of glasses rejected for age at which life ends, 0 to 1.';
