-- What the pages may read of decisions: each as it was recorded, and what stands beside it now.

-- A newer decision holds in the place of an older one for every route that it covers.
CREATE VIEW published.decisions AS
WITH covered AS (
    SELECT d.decision_id, r.route, r.temp_c, r.supported_days,
           row_number() OVER (
               PARTITION BY d.decision_id ORDER BY r.supported_days NULLS LAST, r.route
           ) AS place
    FROM records.decisions AS d
    JOIN published.route_dates AS r
      ON r.beer = d.beer AND r.format = d.format
     AND (d.market IS NULL OR d.market = r.market) AND (d.route IS NULL OR d.route = r.route)
    WHERE NOT EXISTS (
        FROM records.decisions AS n
        WHERE n.decision_id > d.decision_id AND n.beer = d.beer AND n.format = d.format
          AND (n.market IS NULL OR n.market = r.market) AND (n.route IS NULL OR n.route = r.route)
    )
)
SELECT d.*,
       (
           SELECT min(n.decision_id) FROM records.decisions AS n
           WHERE n.decision_id > d.decision_id AND n.beer = d.beer AND n.format = d.format
             AND (n.market IS NULL OR n.market = d.market)
             AND (n.route IS NULL OR n.route = d.route)
       ) AS superseded_by,
       c.supported_days AS supported_now, c.route AS route_now, c.temp_c AS temp_c_now,
       (
           SELECT any_value(p.printed_days) FROM published.beer_dates AS p
           WHERE p.beer = d.beer AND p.format = d.format
       ) AS printed_days,
       (
           SELECT any_value(v.verdicts) FROM published.dates AS v
           WHERE v.style = d.style AND v.format = d.format
       ) AS verdicts_now
FROM records.decisions AS d
LEFT JOIN covered AS c ON c.decision_id = d.decision_id AND c.place = 1
ORDER BY d.decision_id DESC;
COMMENT ON VIEW published.decisions IS 'Every decision about a date, the newest first, with what the newest run supports in its place.';
COMMENT ON COLUMN published.decisions.superseded_by IS 'The decision that took its place; empty while it holds.';
COMMENT ON COLUMN published.decisions.supported_now IS 'Days that the newest run supports on the routes that it still holds for; empty where none.';
COMMENT ON COLUMN published.decisions.route_now IS 'The route that is shortest now.';
COMMENT ON COLUMN published.decisions.temp_c_now IS 'Temperature at which that route ends, °C.';
COMMENT ON COLUMN published.decisions.verdicts_now IS 'Verdicts on aged beer of its style in its format now.';
