-- How far lots differ, apart from how far assessors do: what a complaint about one lot asks.

ALTER TABLE results.risk_draws ADD COLUMN between_lots DOUBLE;
COMMENT ON COLUMN results.risk_draws.between_lots IS 'SD of log days between lots alone; empty in a run made before it was kept.';
