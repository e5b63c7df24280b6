-- What the pages may read of the packaging line: its oxygen, heads, meters, and formats apart.

CREATE VIEW published.entered_as_total AS
SELECT * FROM results.entered_as_total WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY lot, format;
COMMENT ON VIEW published.entered_as_total IS 'Lots whose totals are likely shaken readings, entered as totals.';

CREATE VIEW published.meter_checks AS
SELECT * FROM results.meter_checks WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY meter, standard, checked_at;
COMMENT ON VIEW published.meter_checks IS 'Each check of a meter and whether it passed.';

CREATE VIEW published.meter_bias AS
SELECT * FROM results.meter_bias WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY meter, standard;
COMMENT ON VIEW published.meter_bias IS 'How far a meter reads off now.';

CREATE VIEW published.meter_readings AS
SELECT * FROM results.meter_readings WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY meter NULLS LAST;
COMMENT ON VIEW published.meter_readings IS 'What each meter has read, and how much of it is in doubt.';

CREATE VIEW published.meter_doubts AS
SELECT * FROM results.meter_doubts WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY episode;
COMMENT ON VIEW published.meter_doubts IS 'Spans in which a meter''s readings are in doubt.';

CREATE VIEW published.readings_in_doubt AS
SELECT * FROM results.readings_in_doubt WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY lot, format, meter;
COMMENT ON VIEW published.readings_in_doubt IS 'Rows of the oxygen table in doubt, by lot.';

CREATE VIEW published.doubt_by_format AS
SELECT run_id, line, format, count(DISTINCT lot) AS lots, sum(readings)::BIGINT AS readings
FROM published.readings_in_doubt
GROUP BY run_id, line, format
ORDER BY line NULLS LAST, format;
COMMENT ON VIEW published.doubt_by_format IS 'Rows of the oxygen table in doubt, by line and format.';
COMMENT ON COLUMN published.doubt_by_format.lots IS 'Lots with readings in doubt.';
COMMENT ON COLUMN published.doubt_by_format.readings IS 'How many rows.';

CREATE VIEW published.meter_pairs AS
SELECT * FROM results.meter_pairs WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY first_meter, second_meter;
COMMENT ON VIEW published.meter_pairs IS 'Two meters on the lots that both have read.';

CREATE VIEW published.doubt_effects AS
SELECT * FROM results.doubt_effects WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY abs(difference_days) DESC NULLS LAST, style, format, route;
COMMENT ON VIEW published.doubt_effects IS 'Dates with the readings in doubt and without them.';

CREATE VIEW published.ingress AS
SELECT * FROM results.ingress WHERE run_id = (SELECT run_id FROM published.run) ORDER BY format;
COMMENT ON VIEW published.ingress IS 'What the closure of each format lets in, and when that overtakes the filling.';

CREATE VIEW published.format_ratios AS
SELECT * FROM results.format_ratios WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY format, line, other_format, other_line;
COMMENT ON VIEW published.format_ratios IS 'Oxygen at filling of one format over another''s, same beer and weeks.';

CREATE VIEW published.format_gaps AS
SELECT * FROM results.format_gaps WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, other_format, route;
COMMENT ON VIEW published.format_gaps IS 'How many days longer a style keeps in one format than in another, taken apart.';

CREATE VIEW published.levers AS
SELECT * FROM results.levers WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, route, lever;
COMMENT ON VIEW published.levers IS 'Days that a change would add to the shelf life.';

CREATE VIEW published.oxygen_lines AS
SELECT * FROM results.oxygen_lines WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY line NULLS LAST, format;
COMMENT ON VIEW published.oxygen_lines IS 'What was taken apart by source, by line and format.';

CREATE VIEW published.oxygen_sources AS
SELECT * FROM results.oxygen_sources WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY line NULLS LAST, format, share DESC, source;
COMMENT ON VIEW published.oxygen_sources IS 'How much each source makes packages of a line and format differ, the largest first.';

CREATE VIEW published.run_positions AS
SELECT * FROM results.run_positions WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY line NULLS LAST, format, ratio DESC NULLS LAST, run_position;
COMMENT ON VIEW published.run_positions IS 'What packages hold by their position in the run.';

CREATE VIEW published.head_findings AS
SELECT * FROM results.head_findings WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY finding <> 'named', chance DESC NULLS LAST, line NULLS LAST, format;
COMMENT ON VIEW published.head_findings IS 'Whether one head of a line reads more than the rest, those named first.';

CREATE VIEW published.heads AS
SELECT * FROM results.heads WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY line NULLS LAST, format, try_cast(head AS BIGINT) NULLS LAST, head;
COMMENT ON VIEW published.heads IS 'The heads of a line side by side.';

CREATE VIEW published.change_oxygen AS
SELECT * FROM results.change_oxygen WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY changed_on DESC, what, beer NULLS FIRST, line NULLS LAST, format;
COMMENT ON VIEW published.change_oxygen IS 'Package oxygen before and after each change, newest first.';

CREATE VIEW published.change_days AS
SELECT * FROM results.change_days WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY changed_on DESC, what, beer NULLS FIRST, line NULLS LAST, format, style;
COMMENT ON VIEW published.change_days IS 'What the change in package oxygen is worth in days.';

CREATE VIEW published.oxygen_charts AS
SELECT * FROM results.oxygen_charts WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY line NULLS LAST, format;
COMMENT ON VIEW published.oxygen_charts IS 'The control chart of each line and format in numbers.';

CREATE VIEW published.chart_points AS
SELECT * FROM results.chart_points WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY line NULLS LAST, format, position;
COMMENT ON VIEW published.chart_points IS 'The points of the control charts, in the order of filling.';

CREATE VIEW published.chart_changes AS
SELECT c.line, c.format, h.changed_on, h.what
FROM published.oxygen_charts AS c
JOIN core.changes AS h
  ON (h.line IS NULL OR h.line = c.line) AND (h.format IS NULL OR h.format = c.format)
WHERE h.beer IS NULL OR h.line IS NOT NULL OR h.format IS NOT NULL
ORDER BY c.line NULLS LAST, c.format, h.changed_on, h.what;
COMMENT ON VIEW published.chart_changes IS 'Changes of the plant that concern a line and format; those of a beer alone are left out.';

CREATE VIEW published.oxygen_signals AS
SELECT * FROM results.oxygen_signals WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY found_on DESC, sigmas DESC, line NULLS LAST, format, rule, first_on, first_lot;
COMMENT ON VIEW published.oxygen_signals IS 'What the rules of the control charts found, the newest first.';

-- An alert is the newest signal upwards of a line and format, found on a lot of the last 90 days of
-- filling and not in the run that stood a week ago; the three newest, the worse one first.
CREATE VIEW published.oxygen_alerts AS
SELECT * FROM (
    SELECT * FROM published.oxygen_signals AS s
    WHERE s.side = 'above'
      AND s.found_on > (SELECT max(packaged_on) FROM published.chart_points) - 90
      AND NOT EXISTS (
          FROM results.oxygen_signals AS o
          WHERE o.run_id = (SELECT run_id FROM published.week_ago)
            AND o.line IS NOT DISTINCT FROM s.line AND o.format = s.format
            AND o.rule = s.rule AND o.side = s.side AND o.found_lot = s.found_lot
      )
    QUALIFY row_number() OVER (
        PARTITION BY line, format ORDER BY found_on DESC, sigmas DESC, rule
    ) = 1
)
ORDER BY found_on DESC, sigmas DESC, line NULLS LAST, format LIMIT 3;
COMMENT ON VIEW published.oxygen_alerts IS 'New signals for a person to look at, three at most.';

CREATE VIEW published.limit_changes AS
SELECT * FROM (
    SELECT c.run_id, r.finished_at, c.line, c.format, c.limits_basis,
           c.limits_first_on, c.limits_last_on, c.limits_lots, c.limit_lower_ppb, c.limit_upper_ppb,
           lag(c.run_id) OVER chart AS run_before,
           lag(c.limit_lower_ppb) OVER chart AS lower_before_ppb,
           lag(c.limit_upper_ppb) OVER chart AS upper_before_ppb
    FROM results.oxygen_charts AS c
    JOIN results.runs AS r ON r.run_id = c.run_id
    WINDOW chart AS (PARTITION BY c.line, c.format ORDER BY c.run_id)
)
WHERE run_before IS NOT NULL
  AND (round(limit_lower_ppb, 6) IS DISTINCT FROM round(lower_before_ppb, 6)
       OR round(limit_upper_ppb, 6) IS DISTINCT FROM round(upper_before_ppb, 6))
ORDER BY run_id DESC, line NULLS LAST, format;
COMMENT ON VIEW published.limit_changes IS 'Runs in which the limits of a chart moved, the newest first.';
COMMENT ON COLUMN published.limit_changes.run_before IS 'The run before with that chart.';
COMMENT ON COLUMN published.limit_changes.lower_before_ppb IS 'Lower limit until then, ppb.';
COMMENT ON COLUMN published.limit_changes.upper_before_ppb IS 'Upper limit until then, ppb.';
