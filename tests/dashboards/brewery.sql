-- One load and one run of an invented brewery: three styles, of which one has no estimate, and a
-- format without tastings. The numbers are believable, not computed.

INSERT INTO intake.loads VALUES
    (1, '2026-03-02 06:00:00', '2026-03-02 06:00:04', '0.1.0'),
    (2, '2026-04-06 06:00:00', '2026-04-06 06:00:05', '0.1.0');
INSERT INTO intake.files VALUES
    (1, 'brewery.xlsx', 'a1', 48120, 'loaded', NULL),
    (2, 'tastings-2026-w14.csv', 'a2', 9120, 'loaded', NULL),
    (2, 'oxygen-2026-w14.xlsx', 'a3', 15880, 'loaded', NULL),
    (2, 'oxygen copy.xlsx', 'a3', 15880, 'duplicate', 'duplicate of oxygen-2026-w14.xlsx'),
    (2, 'scan.xlsx', 'a4', 880, 'not readable', 'this is no workbook');
INSERT INTO intake.row_counts VALUES
    (1, 'brewery.xlsx', 'lots', 'lots', 24, 24, 0, 0, 0, 0),
    (1, 'brewery.xlsx', 'routes', 'routes', 4, 4, 0, 0, 0, 0),
    (2, 'tastings-2026-w14.csv', '', 'tastings', 1204, 212, 3, 988, 0, 1),
    (2, 'oxygen-2026-w14.xlsx', 'oxygen', 'oxygen', 96, 93, 0, 0, 1, 2);
INSERT INTO intake.set_aside VALUES
    (2, 'tastings', 'tastings-2026-w14.csv', '', 118, 'verdict', 'hmm', 'not one of the words',
     'accept, reject or not sure', 'value', '{}', NULL, NULL,
     NULL, NULL, NULL, NULL, NULL, NULL),
    (2, 'oxygen', 'oxygen-2026-w14.xlsx', 'oxygen', 12, 'lot', 'L0917', 'no such lot',
     'a lot of the table lots; did you mean L0971?', 'reference', '{}', NULL, NULL,
     NULL, NULL, NULL, NULL, NULL, NULL),
    (2, 'oxygen', 'oxygen-2026-w14.xlsx', 'oxygen', 40, 'measured_at', NULL, 'missing',
     'a time such as 2026-04-07T14:30', 'missing', '{}', NULL, NULL,
     NULL, NULL, NULL, NULL, NULL, NULL);
INSERT INTO intake.mentions VALUES
    (2, 'tastings-2026-w14.csv', '', 'unknown assessor, taken in: Imke Vos'),
    (2, 'oxygen-2026-w14.xlsx', 'oxygen', 'the heading "Remark" is not known; its values are kept');

INSERT INTO history.routes BY NAME
SELECT *, false AS void, '{}' AS extra, 'brewery.xlsx' AS file, 'routes' AS sheet,
       1 AS row_number, route AS row_key, 1 AS load_id
FROM (VALUES
    ('cold chain', 'home', 'bottle;can', 0.2, 'Keep at 2 to 8 °C'),
    ('ambient', 'home', 'bottle;can', 0.7, 'Store cool and dark'),
    ('export', 'abroad', 'bottle;can', 0.1, NULL),
    ('on-trade keg', 'home', 'keg', 1.0, NULL)
) AS r(route, market, kinds, share, storage_text);
INSERT INTO history.route_stages BY NAME
SELECT *, false AS void, '{}' AS extra, 'brewery.xlsx' AS file, 'route_stages' AS sheet,
       1 AS row_number, route || stage_no AS row_key, 1 AS load_id
FROM (VALUES
    ('cold chain', 1, 'depot', 4.0, 20.0), ('cold chain', 2, 'shelf', 8.0, NULL),
    ('ambient', 1, 'depot', 12.0, 14.0), ('ambient', 2, 'lorry', 20.0, 2.0),
    ('ambient', 3, 'shelf', 21.0, NULL),
    ('export', 1, 'depot', 15.0, 30.0), ('export', 2, 'ship', 28.0, 40.0),
    ('export', 3, 'shelf', 22.0, NULL),
    ('on-trade keg', 1, 'depot', 6.0, 10.0), ('on-trade keg', 2, 'cellar', 8.0, NULL)
) AS s(route, stage_no, stage, temp_c, days);

INSERT INTO results.runs VALUES
    (1, '2026-03-02 06:01:00', '2026-03-02 06:01:09', '0.1.0', 1, '{}', 1, 'Quillmere Brewhouse',
     'Would this still be served as the beer it is meant to be, for its age?', 0.25, 0.9, 'week',
     'not estimated', 'nothing tasted yet', NULL, NULL, NULL, 0, 0, 0, 0),
    (7, '2026-04-06 06:01:00', '2026-04-06 06:01:09', '0.1.0', 1, '{}', 2, 'Quillmere Brewhouse',
     'Would this still be served as the beer it is meant to be, for its age?', 0.25, 0.9, 'week',
     'estimated', NULL, 'lognormal', 71.3, 0.31, 1012, 164, 14, 9);

CREATE TEMP TABLE cells AS FROM (VALUES
    ('pale lager', 'bottle', 'ambient', 128.4, 104.2, 156.0, 98, 'flavour', 'fitted', 4, 212, NULL),
    ('pale lager', 'bottle', 'cold chain', 402.0, 288.0, 530.5, 182, 'oldest tasted', 'fitted', 4, 212, NULL),
    ('pale lager', 'bottle', 'export', 97.7, 81.0, 118.2, 77, 'flavour', 'fitted', 4, 212, NULL),
    ('pale lager', 'can', 'ambient', 151.9, 120.6, 188.3, 119, 'flavour', 'fitted', 5, 260, NULL),
    ('pale lager', 'can', 'cold chain', 471.0, 333.1, NULL, 182, 'oldest tasted', 'fitted', 5, 260, NULL),
    ('pale lager', 'can', 'export', 112.0, 91.0, 139.0, 91, 'flavour', 'fitted', 5, 260, NULL),
    ('pale lager', 'slim can', 'ambient', 139.0, 93.2, 205.0, 91, 'flavour', 'borrowed', 1, 0, NULL),
    ('pale lager', 'keg', 'on-trade keg', 350.2, 240.8, 499.0, 182, 'haze', 'fitted', 3, 150, NULL),
    ('hazy ale', 'can', 'ambient', 44.0, 33.9, 58.0, 28, 'flavour', 'prior', 2, 120, NULL),
    ('hazy ale', 'can', 'cold chain', 96.0, 70.3, 131.0, 70, 'flavour', 'prior', 2, 120, NULL),
    ('hazy ale', 'can', 'export', 41.0, 31.0, 52.0, NULL, 'route', 'prior', 2, 120,
     'the distribution stages use the life up'),
    ('wheat', 'bottle', 'ambient', NULL, NULL, NULL, NULL, NULL, 'none', 0, 0,
     'no verdicts on aged samples')
) AS c(style, format, route, life, lower, upper, days, cause, basis, lots, verdicts, reason);

INSERT INTO results.dates
SELECT 7, style, format, route, 0.25, 0.9, life, lower, upper, days, cause, basis, 1, lots,
       verdicts, verdicts // 6, if(route = 'cold chain', 183, 120), 62.5, 71.3, 'lognormal',
       'measured', reason
FROM cells;
INSERT INTO results.shelf_lives
SELECT 7, style, format, route, share, 0.9, life * f, lower * f, upper * f, basis
FROM cells, (VALUES (0.1, 0.71), (0.25, 1.0), (0.5, 1.46)) AS s(share, f);

INSERT INTO results.beer_dates
SELECT 7, b.beer, b.style, b.format, c.route, c.route IN ('ambient', 'on-trade keg'), b.lot,
       b.packaged_on, b.packaged_on + b.printed, b.printed, c.days, c.days - b.printed, c.basis,
       c.cause, c.reason
FROM cells AS c
JOIN (VALUES
    ('Fennimore Pils', 'pale lager', 'bottle', 'L0971', DATE '2026-03-24', 180),
    ('Fennimore Pils', 'pale lager', 'can', 'L0971', DATE '2026-03-24', 112),
    ('Fennimore Pils', 'pale lager', 'slim can', 'L0972', DATE '2026-03-25', NULL),
    ('Fennimore Pils', 'pale lager', 'keg', 'L0971', DATE '2026-03-24', 180),
    ('Loft Window', 'hazy ale', 'can', 'L0968', DATE '2026-03-17', 90),
    ('Straw Hat', 'wheat', 'bottle', 'L0960', DATE '2026-03-03', 150)
) AS b(beer, style, format, lot, packaged_on, printed) ON b.style = c.style AND b.format = c.format;

INSERT INTO results.styles VALUES
    (7, 'pale lager', 1, 12, 9, 622, 94, 11, 88, 6, 71, 2, 183, 4, NULL),
    (7, 'hazy ale', 1, 2, 8, 120, 31, 4, 22, 1, 15, 1, 120, 20, NULL),
    (7, 'wheat', 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, NULL, NULL, 'no verdicts on aged samples');
CREATE TEMP TABLE lives AS FROM (VALUES ('pale lager', 190.0, 250), ('hazy ale', 70.0, 140))
    AS l(style, median, span);
INSERT INTO results.curves
SELECT 7, style, age, 1 / (1 + (median / age) ** 3.2), 1 / (1 + (median * 1.18 / age) ** 3.2),
       1 / (1 + (median / 1.18 / age) ** 3.2)
FROM lives, (SELECT unnest(range(1, 60)) / 59.0 AS part), LATERAL (SELECT part * span AS age);
INSERT INTO results.turnbull
SELECT 7, style, median * a, median * b, p, q
FROM lives, (VALUES (0.15, 0.3, 0.0, 0.02), (0.4, 0.55, 0.02, 0.11), (0.6, 0.75, 0.11, 0.3),
                    (0.9, 1.1, 0.3, 0.54), (1.25, NULL, 0.54, 1.0)) AS t(a, b, p, q);

CREATE TEMP TABLE stores AS FROM (VALUES
    (4.0, 0.2, [30, 60, 90, 120, 183]), (20.0, 1.0, [14, 28, 56, 84, 120]),
    (30.0, 2.6, [7, 14, 21, 28, 42]), (38.0, 5.2, [2, 4, 7, 10])) AS s(temp, speed, ages);
CREATE TEMP TABLE tasted AS FROM (VALUES
    ('pale lager', 'Fennimore Pils', 'bottle', 'L0871'), ('pale lager', 'Fennimore Pils', 'bottle', 'L0902'),
    ('pale lager', 'Fennimore Pils', 'can', 'L0871'), ('pale lager', 'Fennimore Pils', 'can', 'L0905'),
    ('pale lager', 'Fennimore Pils', 'keg', 'L0871'), ('hazy ale', 'Loft Window', 'can', 'L0880')
) AS t(style, beer, format, lot);
INSERT INTO results.pulls
SELECT 7, style, beer, format, lot, concat_ws('-', lot, format, temp, age), temp, age, age * speed,
       9, least(9, round(9 * p + hash(lot, format, temp, age) % 3 / 2)), hash(lot, age) % 2, 9 * p
FROM tasted JOIN lives USING (style), stores, LATERAL (SELECT unnest(ages) AS age),
     LATERAL (SELECT 1 / (1 + (median / (age * speed)) ** 3.2) AS p);
INSERT INTO results.arms
SELECT 7, style, storage_temp_c, count(*), sum(tasted), sum(rejected), sum(expected_rejected),
       max(age_days)
FROM results.pulls GROUP BY style, storage_temp_c;

INSERT INTO results.parameters VALUES
    (7, 1, 'style: hazy ale', 'log days', 4.112, 0.121, 4.787, 1.5, 'fitted', 0.919),
    (7, 2, 'style: pale lager', 'log days', 5.247, 0.083, 4.787, 1.5, 'fitted', 0.945),
    (7, 3, 'format: can', 'log days', 0.062, 0.071, 0, 0.15, 'fitted', 0.527),
    (7, 4, 'oxygen exponent', 'none', 0.31, 0.14, 0.3, 0.15, 'prior', 0.067),
    (7, 5, 'activation energy', 'kJ/mol', 71.3, 4.2, 75, 15, 'fitted', 0.72),
    (7, 6, 'log scale', 'log days', -0.94, 0.08, -0.92, 0.7, 'fitted', 0.886),
    (7, 7, 'spread of lot', 'log days', 0.12, 0.044, 0.16, 0.12, 'fitted', 0.631);
INSERT INTO results.laws VALUES
    (7, 'lognormal', -241.12, true, NULL, 0.69),
    (7, 'loglogistic', -241.9, false, NULL, 0.31),
    (7, 'weibull', NULL, false, 'it did not converge', NULL);

INSERT INTO results.lot_oxygen (
    run_id, lot, format, beer, style, packaged_on, packages, total_oxygen_ppb, ingress_ppb_per_day,
    dose_ppb, from_shaken, late, below_floor, unusable, assumed
)
SELECT 7, if(style = 'hazy ale', 'H0', 'L0') || (850 + 9 * n), format, beer, style, DATE '2025-06-03' + CAST(24 * n AS INTEGER),
       6, level * (0.8 + hash(n, format) % 100 / 180.0), ingress, level + 90 * ingress,
       n % 3, if(n = 4, 1, 0), 0, if(n = 2, 2, 0),
       if(n % 3 = 1, 'headspace from the table formats', NULL)
FROM (SELECT DISTINCT style, beer, format FROM tasted), range(1, 11) AS t(n),
     LATERAL (SELECT CASE format WHEN 'can' THEN 62 WHEN 'keg' THEN 35 ELSE 75 END AS level,
                     if(format = 'bottle', 1.5, 0) AS ingress);
INSERT INTO results.lot_oxygen (
    run_id, lot, format, beer, style, packaged_on, packages, total_oxygen_ppb, ingress_ppb_per_day,
    dose_ppb, from_shaken, late, below_floor, unusable, assumed
) VALUES
    (7, 'L0972', 'slim can', 'Fennimore Pils', 'pale lager', '2026-03-25', 0, NULL, 0, NULL, 0, 0, 0,
     3, NULL);

INSERT INTO results.flagged_sessions VALUES (7, 'S-2026-12', '2026-03-19', 8, 5);
INSERT INTO results.cautions VALUES
    (7, 'pale lager', 'slim can', NULL, 'lent by other formats', NULL),
    (7, 'pale lager', 'bottle', 'cold chain', 'beyond oldest tasted', 183),
    (7, 'pale lager', 'can', 'cold chain', 'beyond oldest tasted', 183),
    (7, 'hazy ale', NULL, NULL, 'first estimate', NULL),
    (7, 'hazy ale', NULL, NULL, 'two wordings', NULL),
    (7, 'hazy ale', NULL, NULL, 'assessors left out', 2),
    (7, 'hazy ale', 'can', 'cold chain', 'none at route temperature', NULL),
    (7, 'hazy ale', 'can', NULL, 'few lots', 2);
INSERT INTO results.attention VALUES
    (7, 1, 'printed too long', 'Fennimore Pils', 'pale lager', 'bottle', 'ambient', NULL, 82),
    (7, 2, 'printed too long', 'Loft Window', 'hazy ale', 'can', 'ambient', NULL, 62),
    (7, 3, 'not fit for route', 'Loft Window', 'hazy ale', 'can', 'export', NULL, NULL),
    (7, 4, 'no estimate', NULL, 'wheat', NULL, NULL, NULL, NULL),
    (7, 5, 'fresh control rejected', NULL, NULL, NULL, NULL, 'S-2026-12', NULL),
    (7, 6, 'lent date', NULL, 'pale lager', 'slim can', 'ambient', NULL, NULL);

-- What the run says beyond the dates. A hazy ale of one lot is told little of; a wheat nothing.
INSERT INTO results.treatments VALUES
    (7, 'pale lager', 'wrong verdicts allowed', 134.8, 114.2, 159.1, NULL),
    (7, 'pale lager', 'widest brackets', 97.6, 82.2, 115.8, NULL),
    (7, 'pale lager', 'first rejection', 68.1, 55.0, 83.9, NULL),
    (7, 'pale lager', 'every glass alone', NULL, NULL, NULL, 'it did not settle'),
    (7, 'hazy ale', 'wrong verdicts allowed', 49.7, 38.6, 65.9, NULL);
INSERT INTO results.oxygen_effects VALUES
    (7, 'pale lager', 'bottle', 'twice the dose', 32.8, 18.4, 47.8, 'fitted'),
    (7, 'pale lager', 'bottle', '20 ppb more', 5.5, 3.0, 8.3, 'fitted'),
    (7, 'pale lager', 'can', 'twice the dose', 44.2, 23.5, 67.3, 'fitted'),
    (7, 'pale lager', 'can', '20 ppb more', 18.8, 9.8, 29.2, 'fitted'),
    (7, 'hazy ale', 'can', 'twice the dose', 9.1, -0.4, 19.9, 'prior'),
    (7, 'hazy ale', 'can', '20 ppb more', 3.9, -0.2, 8.8, 'prior');
INSERT INTO results.curvature VALUES (7, 5.91, 0.015, 0.8);
INSERT INTO results.real_time VALUES
    (7, 'pale lager', 611, 79, 198.7, 144.3, 259.2, 183),
    (7, 'hazy ale', 45, 20, 21.4, 15.1, 28.8, 120);
INSERT INTO results.turnbull_bands
SELECT 7, style, age, if(style = 'hazy ale', 0, 1 / (1 + (median * 1.4 / age) ** 3.2)),
       if(style = 'hazy ale', 1, 1 / (1 + (median / 1.4 / age) ** 3.2))
FROM lives, (SELECT unnest(range(1, 31)) / 30.0 AS part), LATERAL (SELECT part * span AS age);
INSERT INTO results.gaps VALUES (7, 'pale lager', 171, 209, 0.34);
INSERT INTO results.score_crossings VALUES
    (7, 'pale lager', 'cardboard', 'first', 64, 5, 231.4, 204.0, 266.3, 134.8,
     'disagrees with the verdicts'),
    (7, 'pale lager', 'stale', 'zero', 64, 5, 161.0, 138.8, NULL, 134.8, NULL),
    (7, 'hazy ale', 'stale', 'zero', 12, 1, NULL, NULL, NULL, 49.7,
     'cannot be decided: the scores do not surely get worse with age');
INSERT INTO results.scores_left_out VALUES
    (7, 'pale lager', 'fruity', 'the scores get better with age, not worse');
INSERT INTO results.trial_effects VALUES
    (7, 'new lid, 2026-01-12', 'pale lager', 3, true, -2.1, -12.1, 8.2),
    (7, 'new lid, 2026-01-12', 'pale lager', 3, false, -15.3, -25.1, -5.9);
INSERT INTO results.back_test
SELECT 7, style, format, lot, sum(tasted), sum(rejected), sum(expected_rejected), -0.36,
       if(style = 'hazy ale', 0, sum(tasted)), if(style = 'hazy ale', NULL, -0.38),
       if(style = 'hazy ale', NULL, -0.92)
FROM results.pulls GROUP BY style, format, lot;
INSERT INTO results.back_test_calibration VALUES
    (7, 0.0, 0.1, 402, 0.06, 0.07), (7, 0.1, 0.2, 208, 0.15, 0.13), (7, 0.2, 0.3, 97, 0.25, 0.27),
    (7, 0.3, 0.4, 51, 0.35, 0.31), (7, 0.5, 0.6, 33, 0.56, 0.61), (7, 0.9, 1.0, 120, 0.95, 0.93);

-- The week of 6 April: the run of a week ago, and something on every list.
INSERT INTO results.runs BY NAME
SELECT 5 AS run_id, TIMESTAMP '2026-03-28 06:01:00' AS started_at,
       TIMESTAMP '2026-03-28 06:01:09' AS finished_at, * EXCLUDE (run_id, started_at, finished_at)
FROM results.runs WHERE run_id = 7;
INSERT INTO results.dates BY NAME
SELECT 5 AS run_id, * EXCLUDE (run_id) REPLACE (
    CASE route WHEN 'export' THEN 84 WHEN 'on-trade keg' THEN 154
               ELSE best_before_days END AS best_before_days,
    if(route = 'on-trade keg', 'flavour', binding_cause) AS binding_cause)
FROM results.dates WHERE run_id = 7 AND format <> 'slim can';
INSERT INTO this_week.summary VALUES
    (DATE '2026-04-06', DATE '2026-04-06', 64, 12, 3, 2, 4, 1, 1, 14, 7, 30, 60);
INSERT INTO this_week.pulls VALUES
    ('L0905', 'can', 'Fennimore Pils', 'pale lager', 20.0, 'room 20', 84, NULL, DATE '2026-04-01', 5,
     'overdue'),
    ('L0905', 'can', 'Fennimore Pils', 'pale lager', 30.0, 'warm cupboard', 42, 'S0812',
     DATE '2026-04-09', 0, 'due'),
    ('L0880', 'can', 'Loft Window', 'hazy ale', 4.0, NULL, 90, NULL, DATE '2026-04-12', 0, 'due');
INSERT INTO this_week.tastings VALUES
    ('S0799', 'L0902', 'bottle', 'Fennimore Pils', 'pale lager', 'aged', 20.0, 'room 20', 56,
     DATE '2026-03-20', DATE '2026-04-03', 3, 'overdue'),
    ('S0805', 'L0971', 'can', 'Fennimore Pils', 'pale lager', 'fresh', 4.0, 'cold room', 9,
     DATE '2026-04-02', DATE '2026-04-16', 0, 'later');
INSERT INTO this_week.meter_checks VALUES
    ('M3', NULL, DATE '2026-04-02', NULL, 0, 'never'),
    ('M1', DATE '2026-03-27', DATE '2026-04-03', DATE '2026-04-03', 3, 'overdue');
INSERT INTO this_week.retained VALUES
    ('L0702', 'bottle', 'Fennimore Pils', 8.0, 'cold room', DATE '2026-02-10', true, 55, 2,
     'S0640, S0641', DATE '2026-05-01'),
    ('H0711', 'can', 'Loft Window', 21.0, NULL, DATE '2026-03-01', false, 36, 1, 'S0655',
     DATE '2026-06-01');
INSERT INTO this_week.late_files VALUES
    ('fridge log*', 7, NULL, NULL, NULL, 0),
    ('oxygen', 7, 'oxygen-2026-w12.xlsx', DATE '2026-03-23', DATE '2026-03-30', 7);

-- Control charts: a line that rose after a change, one as it was, one with bounds, two too short.
CREATE TEMP TABLE charted AS FROM (VALUES
    ('canning', 'can', 'can', 12, 62.0, 42.0, 91.0, NULL, 100.0, false, 22, 70, 0.34),
    ('bottling', 'bottle', 'bottle', 12, 75.0, 50.0, 112.0, NULL, 100.0, true, 0, 66, 0.71),
    ('racking', 'keg', 'keg', 12, 35.0, 21.0, 58.0, NULL, 60.0, true, 5, 48, 0.62),
    ('canning', 'slim can', 'can', 2, NULL, NULL, NULL,
     'they take 8 lots with a value, and the period has 2', 100.0, false, 7, 7, NULL),
    (NULL, 'can', 'can', 1, NULL, NULL, NULL,
     'they take 8 lots with a value, and the period has 1', NULL, true, 0, 0, NULL)
) AS c(line, format, kind, lots, centre, lower, upper, reason, target, assumed, above, told, cpk);
INSERT INTO results.oxygen_charts BY NAME
SELECT 7 AS run_id, line, format, kind, lots, if(format = 'keg', 2, 0) AS bound_lots,
       6 * lots AS packages, 3 AS below_floor, 4 AS late, if(format = 'keg', 5, 0) AS part,
       1 AS unusable, 'beyond limit; eight on one side' AS rules,
       if(format = 'keg', 'stated', if(lots > 8, 'first lots', 'lots so far')) AS limits_basis,
       DATE '2026-01-12' AS limits_first_on, DATE '2026-02-02' AS limits_last_on,
       least(lots, 20) AS limits_lots, centre AS centre_ppb, lower AS limit_lower_ppb,
       upper AS limit_upper_ppb, ln(upper / centre) / 3 AS sd_log, 1.6 AS step_limit, reason,
       least(lots, 8) AS now_lots, coalesce(centre, 70.0) AS now_ppb,
       0.9 * centre AS now_lower_ppb, 1.1 * centre AS now_upper_ppb, target AS target_ppb,
       assumed AS target_assumed, lots AS recent_lots, told, above AS above_target, cpk,
       cpk - 0.2 AS cpk_lower, cpk + 0.2 AS cpk_upper, if(format = 'keg', 6, 0) AS split_lots,
       if(format = 'keg', 35.0, NULL) AS split_total_ppb,
       if(format = 'keg', 26.0, NULL) AS split_beer_ppb,
       if(format = 'keg', 9.0, NULL) AS split_closing_ppb,
       if(format = 'keg', 5.5, NULL) AS split_closing_lower_ppb,
       if(format = 'keg', 12.5, NULL) AS split_closing_upper_ppb
FROM charted;
INSERT INTO results.oxygen_charts BY NAME
SELECT * REPLACE (5 AS run_id, if(format = 'can', 88.0, limit_upper_ppb) AS limit_upper_ppb)
FROM results.oxygen_charts WHERE run_id = 7 AND line IS NOT NULL;
INSERT INTO results.chart_points BY NAME
SELECT 7 AS run_id, line, format, n AS position,
       coalesce(line[1], 'x') || '-' || format || '-' || lpad(n::VARCHAR, 2, '0') AS lot,
       DATE '2026-01-05' + CAST(7 * n AS INTEGER) AS packaged_on, 6 AS packages, n % 2 AS late,
       CASE WHEN format = 'keg' AND n IN (5, 9) THEN NULL
            ELSE coalesce(centre, 70.0) * (0.9 + n % 5 / 20.0)
                 * if(line = 'canning' AND format = 'can' AND n > 4, 1.45, 1.0) END AS ppb,
       if(format = 'keg' AND n = 5, 30.0, NULL) AS at_least_ppb,
       if(format = 'keg' AND n = 9, 28.0, NULL) AS at_most_ppb,
       if(format = 'keg', 26.0, NULL) AS beer_ppb, n <= 4 AS in_period,
       centre * if(line = 'canning', 1 + n / 40.0, 1.0) AS running_ppb,
       lower AS running_lower_ppb, upper AS running_upper_ppb
FROM charted, LATERAL (SELECT unnest(range(1, lots + 1)) AS n);
INSERT INTO results.oxygen_signals VALUES
    (7, 'canning', 'can', 'eight on one side', 'above', 'c-can-05', '2026-02-09', 'c-can-12',
     '2026-03-30', 'c-can-12', '2026-03-30', 8, true, false, 90.1, 28.1, 16.2, 41.8, 2.9),
    (7, 'canning', 'can', 'beyond limit', 'above', 'c-can-09', '2026-03-09', 'c-can-09',
     '2026-03-09', 'c-can-09', '2026-03-09', 1, false, false, 98.9, 36.9, 12.0, 70.4, 3.7),
    (7, 'racking', 'keg', 'beyond limit', 'above', 'r-keg-07', '2026-02-23', 'r-keg-07',
     '2026-02-23', 'r-keg-07', '2026-02-23', 1, false, true, 61.0, 26.0, 8.0, 51.0, 3.3),
    (7, 'bottling', 'bottle', 'beyond limit', 'below', 'b-bottle-02', '2026-01-19', 'b-bottle-02',
     '2026-01-19', 'b-bottle-02', '2026-01-19', 1, false, false, 48.0, -27.0, -38.0, -9.0, 3.3),
    (5, 'racking', 'keg', 'beyond limit', 'above', 'r-keg-07', '2026-02-23', 'r-keg-07',
     '2026-02-23', 'r-keg-07', '2026-02-23', 1, false, true, 61.0, 26.0, 8.0, 51.0, 3.3);
INSERT INTO results.entered_as_total VALUES
    (7, 'L0905', 'can', 5, 29.4, 66.0, 2.2, 140.0, 'line');
INSERT INTO history.changes BY NAME
SELECT *, false AS void, '{}' AS extra, 'brewery.xlsx' AS file, 'changes' AS sheet,
       1 AS row_number, what AS row_key, 1 AS load_id
FROM (VALUES
    (DATE '2026-02-06', 'seamer set anew after the rebuild', 'canning', NULL, NULL),
    (DATE '2026-03-20', 'new gas', NULL, NULL, NULL),
    (DATE '2025-11-03', 'new crowner', 'bottling', NULL, NULL)
) AS c(changed_on, what, line, beer, format);

INSERT INTO results.meter_checks
SELECT 7, meter, TIMESTAMP '2026-01-05 07:00' + INTERVAL (7 * n) DAY, standard, expected,
       expected + off, 'ppb', off, if(standard = 'zero', 2, 5), 'found',
       abs(off) <= if(standard = 'zero', 2, 5)
FROM range(12) AS t(n), (VALUES ('M1'), ('M2')) AS m(meter),
     (VALUES ('zero', 0), ('reference', 50)) AS s(standard, expected),
     LATERAL (SELECT CASE WHEN standard = 'zero' THEN n % 3 - 1
                          WHEN meter = 'M2' AND n BETWEEN 6 AND 7 THEN n
                          ELSE n % 4 - 1.5 END AS off);
INSERT INTO results.meter_bias VALUES
    (7, 'M1', 'reference', 'ppb', 12, 0.3, -0.2, 0.8, 0.1, -0.2, 0.4, NULL, NULL, NULL, NULL),
    (7, 'M1', 'zero', 'ppb', 4, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL),
    (7, 'M2', 'reference', 'ppb', 12, 1.4, 0.6, 2.2, 1.1, 0.5, 1.6, 0.4, 0.9, -0.4, 3.2);
INSERT INTO results.meter_readings VALUES
    (7, 'M1', 402, 0, '2026-04-01 10:00'), (7, 'M2', 131, 14, '2026-04-01 11:00'),
    (7, 'M3', 20, 0, '2026-03-30 09:00'), (7, NULL, 8, 0, '2025-11-02 09:00');
INSERT INTO results.meter_doubts VALUES
    (7, 1, 'M2', '2026-02-09 07:00', '2026-03-02 07:00', '2026-02-16 07:00', '2026-02-23 07:00', 2,
     'reference', 'ppb', 50, 7, 5, 14, 3);
INSERT INTO results.readings_in_doubt VALUES
    (7, 'L0931', 'can', 'canning', 'M2', 6), (7, 'L0931', 'keg', NULL, 'M2', 2),
    (7, 'L0940', 'can', 'canning', 'M2', 6);
INSERT INTO results.meter_pairs VALUES
    (7, 'M1', 'M2', 14, 1.02, 0.9, 1.14, 0.02, -0.4, 0.5, 1.09, 1.03, 1.15, 0.9, 1.32, NULL),
    (7, 'M1', 'M3', 2, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL,
     '2 pairs are too few to compare two meters: 5 are needed');
INSERT INTO results.doubt_effects
SELECT run_id, style, format, route, shelf_life_days, shelf_life_days + if(format = 'can', 9, 0.2),
       best_before_days, best_before_days + if(format = 'can', 7, 0), if(format = 'can', 9, 0.2)
FROM results.dates WHERE run_id = 7 AND shelf_life_days IS NOT NULL;

-- The panel: one attribute with second glasses, one without, one too seldom scored; three tasters, of
-- whom one would gain from practice and one has too few glasses.
INSERT INTO results.panel_attributes BY NAME
SELECT 7 AS run_id, 0 AS low, 10 AS high, *
FROM (VALUES
    ('stale', 1204, 164, 9, 62, DATE '2025-06-10', DATE '2026-04-01', 8, true, 0.6, 0.4, 1.1, 0.9,
     0.8, 1.0, 0.8, 0.7, 0.95, 17.083, 163, 980.4, 0.0, 1.52, 1.41, 1.66, NULL),
    ('honey', 96, 14, 8, 0, DATE '2026-01-10', DATE '2026-03-01', 7, false, 0.5, 0.2, 1.2, NULL, NULL,
     NULL, 1.2, 1.0, 1.4, 1.91, 13, 75, 0.0423, 1.62, 1.43, 1.9, NULL),
    ('cardboard', 4, 2, 2, 0, DATE '2026-03-01', DATE '2026-03-01', NULL, false, NULL, NULL, NULL,
     NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL,
     '4 glasses of 2 samples by 2 assessors are too few')
) AS a(attribute, glasses, samples, assessors, repeats, first_tasted, last_tasted, present, repeated,
       level_sd, level_sd_lower, level_sd_upper, disagreement_sd, disagreement_sd_lower,
       disagreement_sd_upper, repeat_sd, repeat_sd_lower, repeat_sd_upper, f, numerator, denominator,
       p, told_apart, told_apart_lower, told_apart_upper, reason);
INSERT INTO results.panel_resolution
SELECT 7, attribute, n, told_apart * sqrt(present / n), told_apart_lower * sqrt(present / n),
       told_apart_upper * sqrt(present / n), if(repeated, 0.9 * told_apart * sqrt(present / n), NULL)
FROM results.panel_attributes, range(2, 17) AS t(n)
WHERE reason IS NULL;
INSERT INTO results.panel_anova VALUES
    (7, 'stale', 0, 'samples', 410.2, 163, 2.517, 3.93, 0.0),
    (7, 'stale', 1, 'assessors', 60.1, 8, 7.51, 11.7, 0.0),
    (7, 'stale', 2, 'samples × assessors', 1290.4, 970, 1.33, 2.08, 0.0004),
    (7, 'stale', 3, 'repeats', 39.7, 62, 0.64, NULL, NULL);
INSERT INTO results.assessor_codes VALUES
    ('Tarn, P.', 'T31'), ('Ferris, O.', 'T32'), ('Brack, L.', 'T33');
INSERT INTO results.assessor_scores VALUES
    (7, 'stale', 'Brack, L.', 190, 180, 10, 8.03, 179, 10, 0.0002, 0.87, 0.71, 0.93, 0.8, 0.59, 1.27,
     0.83, 0.78, 0.86, -0.31, -0.46, -0.16, 0.97, 0.89, 1.05, false, false, 'as the others'),
    (7, 'stale', 'Ferris, O.', 170, 160, 10, 1.4, 159, 10, 0.3, 0.28, 0.0, 0.6, 1.9, 1.4, 3.0, 0.2,
     0.07, 0.32, 1.1, 0.8, 1.4, 0.3, 0.1, 0.5, true, true, 'narrower'),
    (7, 'stale', 'Tarn, P.', 4, 3, 0, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL,
     NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL),
    (7, 'honey', 'Brack, L.', 14, 14, 0, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL,
     0.6, 0.2, 0.83, 0.1, -0.4, 0.6, 1.9, 1.55, 2.25, false, NULL, 'wider');
-- One of them carries a week of the pale lager's date, one nothing; without the third there is no fit.
INSERT INTO results.assessor_days BY NAME
SELECT run_id, assessor, style, format, route, shelf_life_days AS days_with,
       shelf_life_days * f AS days_without, shelf_life_days * (f - 1) AS difference_days,
       best_before_days AS date_with, best_before_days + moved AS date_without
FROM results.dates,
     (VALUES ('Tarn, P.', NULL, NULL), ('Ferris, O.', 1.0, 0), ('Brack, L.', 1.08, 7))
     AS a(assessor, f, moved)
WHERE run_id = 7 AND shelf_life_days IS NOT NULL;

-- Formats apart: a sure gap, one that is not, and a format that nobody tasted.
INSERT INTO results.ingress VALUES
    (7, 'bottle', 'bottle', 'crown', 1.5, 0.000564, true, 10, 1, 2, 76.2, 70.1, 82.8, 50.8, 46.7,
     55.2, 8, 7, 8),
    (7, 'can', 'can', 'seamed end', 0, 0, true, 20, 0, 0, 61.5, 57.0, 66.4, NULL, NULL, NULL, NULL,
     NULL, NULL),
    (7, 'keg', 'keg', NULL, 0, 0, false, 10, 0, 0, 35.1, 31.9, 38.6, NULL, NULL, NULL, NULL, NULL,
     NULL),
    (7, 'slim can', 'plastic bottle', NULL, 0, 0, false, 0, 0, 0, NULL, NULL, NULL, NULL, NULL,
     NULL, NULL, NULL, NULL);
INSERT INTO results.format_ratios VALUES
    (7, 'bottle', 'bottling', 'can', 'canning', 12, 8, 1, 12, 13, 1.24, 1.09, 1.41),
    (7, 'bottle', 'bottling', 'keg', NULL, 9, 6, 0, 9, 9, 1.12, 0.95, 1.32),
    (7, 'can', 'canning', 'keg', NULL, 1, 0, 0, 1, 1, 1.7, NULL, NULL),
    (7, 'slim can', NULL, 'can', 'canning', 2, 2, 2, 2, 2, NULL, NULL, NULL);
INSERT INTO results.format_gaps BY NAME
SELECT 7 AS run_id, 62.5 AS total_oxygen_ppb, 75.1 AS other_total_oxygen_ppb,
       0 AS ingress_ppb_per_day, 1.5 AS other_ingress_ppb_per_day, 'prior' AS exponent_source, *
FROM (VALUES
    ('pale lager', 'can', 'bottle', 'ambient', 151.9, 128.4, 23.5, 5.2, 41.0, 4.1, 1.9, 7.2, 22.6,
     11.8, 35.0, -3.2, -15.0, 9.1, 62.5, 0.2, 19.9, 9.9, 31.2, 'fitted'),
    ('pale lager', 'can', 'bottle', 'export', 112.0, 97.7, 14.1, 2.2, 27.3, 2.9, 1.1, 5.0, 13.8, 7.0,
     22.0, -2.6, -12.0, 7.0, 62.5, 0.2, 12.0, 5.9, 19.4, 'fitted'),
    ('pale lager', 'can', 'slim can', 'ambient', 151.9, 139.0, 12.2, -38.5, 60.3, 0.2, -0.1, 0.6, 0,
     0, 0, 12.0, -39.0, 60.0, NULL, NULL, NULL, NULL, NULL, 'lent')
) AS g(style, format, other_format, route, shelf_life_days, other_shelf_life_days, gap_days,
       gap_days_lower, gap_days_upper, filling_days, filling_days_lower, filling_days_upper,
       ingress_days, ingress_days_lower, ingress_days_upper, rest_days, rest_days_lower,
       rest_days_upper, closed_total_oxygen_ppb, closed_ingress_ppb_per_day, closed_days,
       closed_days_lower, closed_days_upper, rest_source);
INSERT INTO results.levers VALUES
    (7, 'pale lager', 'bottle', 'ambient', '20 ppb less', 75.1, 55.1, 'ppb', 128.4, 5.5, 3.0, 8.3,
     'prior'),
    (7, 'pale lager', 'bottle', 'ambient', 'scavenging liner', 1.5, 0.2, 'ppb a day', 128.4, 16.9,
     8.9, 26.4, 'prior'),
    (7, 'pale lager', 'bottle', 'ambient', 'cold warehouse', 20, 4, '°C', 128.4, 4.8, 4.7, 4.9,
     'fitted'),
    (7, 'pale lager', 'can', 'ambient', '20 ppb less', 62.5, 42.5, 'ppb', 151.9, 18.8, 9.8, 29.2,
     'prior'),
    (7, 'pale lager', 'can', 'ambient', 'bad head mended', 62.5, 54.0, 'ppb', 151.9, 6.1, 3.1, 9.7,
     'prior'),
    (7, 'pale lager', 'keg', 'on-trade keg', '20 ppb less', 35.0, 15.0, 'ppb', 350.2, 12.0, -1.5,
     30.1, 'fitted'),
    (7, 'hazy ale', 'can', 'export', 'cold warehouse', 28, 4, '°C', 41.0, 48.2, 40.4, 55.1, 'prior');

-- Where oxygen comes from: one bad head, one suspected, a line without heads, one with too few.
INSERT INTO results.oxygen_lines VALUES
    (7, 'canning', 'can', 24, 164, 3, 5, 4, '2025-06-03', '2026-03-30', NULL),
    (7, 'bottling', 'bottle', 16, 110, 0, 1, 0, '2025-06-03', '2026-03-30', NULL),
    (7, 'racking', 'keg', 3, 3, 0, 0, 2, '2026-02-01', '2026-03-01',
     'too few clean packages of the same lots to take apart');
INSERT INTO results.oxygen_sources VALUES
    (7, 'canning', 'can', 'head', 0.11, 0.04, 0.9, 0.49, 0.24, 0.88),
    (7, 'canning', 'can', 'lot', 0.09, 0.06, 0.16, 0.40, 0.09, 0.63),
    (7, 'canning', 'can', 'rest', 0.015, 0.012, 0.019, 0.07, 0.02, 0.11),
    (7, 'canning', 'can', 'position', 0.01, 0.005, 0.015, 0.04, 0.01, 0.07),
    (7, 'bottling', 'bottle', 'rest', 0.05, 0.04, 0.07, 0.62, 0.41, 0.78),
    (7, 'bottling', 'bottle', 'lot', 0.03, 0.02, 0.09, 0.38, 0.22, 0.59);
INSERT INTO results.run_positions VALUES
    (7, 'canning', 'can', 'start', 9, 'middle', 2.01, 1.82, 2.22),
    (7, 'canning', 'can', 'middle', 120, 'middle', 1, 1, 1),
    (7, 'canning', 'can', 'end', 30, 'middle', 0.97, 0.92, 1.03),
    (7, 'canning', 'can', 'restart', 5, 'middle', NULL, NULL, NULL);
INSERT INTO results.head_findings VALUES
    (7, 'canning', NULL, 'named', '2026-01-05', '2026-03-30', 12, 82, 3, 1, 4, '3', 0.994, 0.005,
     1.83, 1.72, 1.95),
    (7, 'old filler', NULL, 'named', '2026-01-05', '2026-03-30', 12, 70, 0, 0, 11, '10', 0.62, 0.34,
     1.50, 1.24, 1.78),
    (7, 'racking', NULL, 'none', '2026-01-05', '2026-03-30', 12, 80, 0, 2, 2, '2', 0.06, 0.9, 1.04,
     0.97, 1.12),
    (7, NULL, 'slim can', 'too few', '2026-03-20', '2026-03-30', 2, 4, 0, 0, 2, '1', 0.2, 0.6, 1.1,
     0.8, 1.6),
    (7, 'bottling', NULL, 'not recorded', '2026-01-05', '2026-03-30', 12, 0, 70, 1, 0, NULL, NULL,
     NULL, NULL, NULL, NULL);
INSERT INTO results.heads
SELECT 7, 'canning', NULL, n::VARCHAR, 20 + n, if(n = 3, 1.83, 0.8), if(n = 3, 1.72, 0.75),
       if(n = 3, 1.95, 0.86), if(n = 3, 0.994, 0.0003), true
FROM range(1, 5) AS t(n);
INSERT INTO results.heads
SELECT 7, 'old filler', NULL, n::VARCHAR, 6, if(n = 10, 1.5, 0.96), if(n = 10, 1.24, 0.85),
       if(n = 10, 1.78, 1.08), if(n = 10, 0.62, 0.004), n <> 11
FROM range(1, 12) AS t(n);
INSERT INTO results.heads VALUES
    (7, 'racking', NULL, '1', 36, 0.96, 0.9, 1.03, 0.04, true),
    (7, 'racking', NULL, '2', 44, 1.04, 0.97, 1.12, 0.06, true),
    (7, NULL, 'slim can', '1', 2, 1.1, 0.8, 1.6, 0.2, false),
    (7, NULL, 'slim can', '2', 2, 0.9, 0.6, 1.2, 0.2, false);
INSERT INTO results.change_oxygen VALUES
    (7, '2026-03-01', 'seamer set anew', NULL, 'canning', 'can', 12, 4, '2025-11-03', '2026-03-28',
     80.4, 62.1, 0.772, 0.641, 0.930, -18.3, -28.9, -5.6, 0.106, true, NULL),
    (7, '2026-03-01', 'new gas', NULL, 'canning', 'can', 12, 4, '2025-11-03', '2026-03-28', 80.4,
     82.0, 1.02, 0.9, 1.156, 1.6, -8.0, 12.5, 0.07, true, NULL),
    (7, '2025-12-01', 'first crowns of another kind', NULL, 'bottling', 'bottle', 0, 5,
     '2025-12-08', '2026-02-20', NULL, 71.0, NULL, NULL, NULL, NULL, NULL, NULL, NULL, false,
     'no lots measured before it: 3 are needed');
INSERT INTO results.change_days VALUES
    (7, '2026-03-01', 'seamer set anew', NULL, 'canning', 'can', 'hazy ale', 'ambient', 4.2, 1.1,
     8.0, 'prior'),
    (7, '2026-03-01', 'seamer set anew', NULL, 'canning', 'can', 'pale lager', 'ambient', 14.4, 4.6,
     27.2, 'prior'),
    (7, '2026-03-01', 'new gas', NULL, 'canning', 'can', 'pale lager', 'ambient', -1.0, -8.0, 6.0,
     'fitted');

-- Lots as they are judged: one to shorten in two formats of which one is bounds alone, one asked about.
INSERT INTO this_week.lots BY NAME
SELECT * FROM (VALUES
    ('L0971', 'can', 'canning', 8, 8, 0, 3, '1, 2, 4', 211.4, 170.7, 262.1, NULL, 20, 60.0, 30.0,
     120.0, true, 112, 'ambient', 21.0, 119, 56, 'shorten', 56, 'cold chain', 8.0,
     'L0971, can: 211 ppb (170 to 263) from 8 packages. The printed 112 days do not hold.',
     'shorten to 56 days, best before 19 May 2026' || chr(10) || 'taste its retained sample S0812',
     'Measuring again tomorrow cannot clear this lot; a lower reading then is not better news.',
     NULL),
    ('L0971', 'keg', NULL, 0, 0, 7, 0, NULL, NULL, 35.0, NULL, 44.0, 0, NULL, NULL, NULL, NULL, 180,
     'on-trade keg', 8.0, 182, NULL, 'only bounds', NULL, NULL, NULL,
     'L0971, keg: at least 44 ppb (7 late).', 'taste a retained sample', '', NULL),
    ('H/9 b', 'can', 'canning', 9, 9, 0, 0, NULL, 58.2, 50.1, 67.6, NULL, 20, 60.0, 30.0, 120.0,
     false, 90, 'ambient', 21.0, 28, 90, 'holds', NULL, NULL, NULL,
     'H/9 b, can: 58 ppb (50 to 68) from 9 packages. The printed 90 days hold.', '', '',
     DATE '2026-04-05')
) AS l(lot, format, line, packages, clean, late, shaken, heads, total_ppb, lower_ppb, upper_ppb,
       at_least_ppb, line_lots, line_ppb, limit_lower_ppb, limit_upper_ppb, above_line, usual_days,
       route, temp_c, style_days, supported_days, verdict, shorten_days, cold_route, cold_temp_c,
       answer, advice, remark, asked_on),
     (SELECT 'Fennimore Pils' AS beer, 'pale lager' AS style, DATE '2026-03-24' AS packaged_on,
             0 AS part, 0 AS below_floor, 0 AS unusable, 62.5 AS reckoned_ppb,
             DATE '2026-07-14' AS printed_on, 0 AS samples, NULL AS sample, NULL AS sample_on,
             DATE '2026-04-06' AS judged_on);
INSERT INTO this_week.lot_packages
SELECT 'L0971', 'can', TIMESTAMP '2026-03-24 10:00' + INTERVAL (7 * n) MINUTE, 'R' || n,
       if(n = 6, NULL, CAST(n % 3 AS VARCHAR)), if(n = 0, 'start', 'middle'), 'M1',
       if(n = 7, 'none', 'shaken'), CASE n WHEN 5 THEN 0 WHEN 7 THEN NULL ELSE 180 + 9 * n END,
       CASE n WHEN 4 THEN NULL WHEN 5 THEN 12 WHEN 7 THEN NULL ELSE 180 + 9 * n END, n = 4, true,
       n = 5
FROM range(8) AS t(n);
INSERT INTO this_week.stock_summary VALUES (DATE '2026-04-06', 2, 31, 2);
INSERT INTO this_week.stock VALUES
    ('L0905', 'bottle', 'Fennimore Pils', 'in house', 'ambient', NULL, 21.0, 120,
     DATE '2025-12-01', NULL, DATE '2026-04-20', true, 14, 2, -6, -6, 0),
    ('L0971', 'can', 'Fennimore Pils', 'in house', 'ambient', NULL, 21.0, -40, DATE '2026-03-24',
     NULL, DATE '2026-07-14', true, 99, 99, 78, 78, 3),
    ('L0972', 'slim can', 'Fennimore Pils', 'in house', NULL, NULL, NULL, NULL, DATE '2026-03-25',
     NULL, DATE '2027-03-25', false, 353, NULL, NULL, 353, 0),
    ('L0971', 'can', 'Fennimore Pils', 'shipped', 'export', 'Harbour, Mill', 22.0, 800,
     DATE '2026-03-24', DATE '2026-03-30', DATE '2026-07-14', true, 99, 60, 41, 41, 0),
    ('L0971', 'keg', 'Fennimore Pils', 'shipped', 'on-trade keg', 'customer not given', 8.0, 40,
     DATE '2026-03-24', DATE '2026-03-30', DATE '2026-09-20', true, 167, 167, 167, 167, 0);
INSERT INTO this_week.stock_customers VALUES
    ('L0905', 'bottle', 'Fennimore Pils', 120, 'Mill', DATE '2026-02-19', -46),
    ('L0971', 'can', 'Fennimore Pils', -40, 'Mill', DATE '2026-05-15', 39),
    ('L0971', 'can', 'Fennimore Pils', -40, 'Harbour', DATE '2026-04-01', -5);
INSERT INTO results.trade_inquiries VALUES
    (TIMESTAMP '2026-04-02 09:30', 7, 'Fennimore Pils', 'bottle', 'ambient', 21.0, 180, 98, 3, 4200, 2),
    (TIMESTAMP '2026-03-01 09:30', NULL, 'Straw Hat', 'bottle', NULL, NULL, 150, NULL, 1, 0, 0);

-- Five tasters: one drifts, one does not follow the rest, one is new. Their names are on no page.
INSERT INTO results.assessor_codes VALUES
    ('Imke Vos', 'T07'), ('Anna Berg', 'T12'), ('Jo Marsh', 'T35'), ('Tove Lund', 'T55'),
    ('Zoltan Ek', 'T88');
INSERT INTO results.assessors BY NAME
SELECT 7 AS run_id, * FROM (VALUES
    ('Anna Berg', DATE '2025-10-28', DATE '2026-04-02', 61, 80, 310, 60, 5, 0.0833, 0.033, 0.167, 14, 2, 0.143, 0.026, 0.385, 'stale', 0.84, 0.79, 0.88, 0.81, true, 0.02, -0.15, 0.22, 'none shows'),
    ('Imke Vos', DATE '2025-10-28', DATE '2026-04-02', 70, 80, 350, 69, 16, 0.232, 0.15, 0.33, 15, 7, 0.467, 0.24, 0.70, 'stale', 0.31, 0.22, 0.40, 0.81, false, NULL, NULL, NULL, NULL),
    ('Jo Marsh', DATE '2025-10-28', DATE '2026-04-02', 58, 80, 290, 55, 4, 0.0727, 0.025, 0.16, 12, 0, 0.0, 0.0, 0.221, 'stale', 0.83, 0.78, 0.87, 0.81, true, 0.48, 0.21, 0.81, 'drifts'),
    ('Tove Lund', DATE '2025-10-28', DATE '2026-04-02', 66, 80, 330, 64, 6, 0.0938, 0.042, 0.178, 9, 1, NULL, NULL, NULL, 'stale', 0.80, 0.74, 0.85, 0.81, true, -0.24, -0.40, -0.04, 'may drift'),
    ('Zoltan Ek', DATE '2026-03-30', DATE '2026-04-02', 2, 3, 9, 2, 0, NULL, NULL, NULL, 0, 0, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL)
) AS a(assessor, first_session, last_session, sessions, sessions_held, glasses, fresh_tasted,
       fresh_rejected, false_alarms, false_alarms_lower, false_alarms_upper, aged_tasted,
       aged_accepted, misses, misses_lower, misses_upper, measure, agreement, agreement_lower,
       agreement_upper, rest_agreement, follows, drift_a_year, drift_a_year_lower,
       drift_a_year_upper, drift);
INSERT INTO results.assessor_quarters BY NAME
SELECT 7 AS run_id, * FROM (VALUES
    ('Jo Marsh', DATE '2025-10-01', 120, -0.19, -0.30, -0.07),
    ('Jo Marsh', DATE '2026-01-01', 150, 0.13, 0.02, 0.26),
    ('Tove Lund', DATE '2025-10-01', 140, 0.09, -0.03, 0.23),
    ('Tove Lund', DATE '2026-01-01', 170, -0.08, -0.18, 0.03)
) AS q(assessor, quarter, glasses, shift, shift_lower, shift_upper);
INSERT INTO results.alike_names VALUES (7, 'Anna Berg', 'A. Berg', 'initials');
INSERT INTO results.panel_sessions VALUES
    (7, 'S-2026-10', '2026-03-05', 8, 5, 6, 8, 1, 0.8, 0.57, 24, 4.0, 0, false, NULL, false, false,
     false),
    (7, 'S-2026-11', '2026-03-12', 3, 5, 7, 0, 0, NULL, NULL, NULL, NULL, NULL, false, NULL, true,
     true, true),
    (7, 'S-2026-12', '2026-03-19', 8, 6, 6, 8, 5, 0.8, 0.0003, 84, 4.0, 2, true, 'old', false,
     false, false);
INSERT INTO results.waited_samples VALUES
    (7, 'S-2026-10', '2026-03-05', 'P0311', 'aged', 'Fennimore Pils', 'can', 'L0905', 30.0,
     '2026-02-12', 21);
INSERT INTO results.order_effects VALUES
    (7, 'rejected', 'first', 640, 40, 0.08, 0.03, 0.13, NULL),
    (7, 'rejected', 'each place later', 500, 40, -0.004, -0.02, 0.012, NULL),
    (7, 'rejected', 'after a rejected', 320, 38, 0.01, -0.04, 0.06, NULL),
    (7, 'hop_aroma', 'first', 44, 6, NULL, NULL, NULL, 'too few to say (n = 44 glasses in 6 sessions)');

INSERT INTO results.difference_tests BY NAME
SELECT 7 AS run_id, t.*, 'F014' AS control, 'Fennimore Pils' AS sample_beer, 'L0905' AS sample_lot,
       20.0 AS sample_storage_temp_c, 'Fennimore Pils' AS control_beer, 'can' AS control_format,
       'L0971' AS control_lot, 4.0 AS control_storage_temp_c, 9 AS control_stored_days,
       1.47 AS d_prime, 0.0 AS d_prime_lower, NULL AS d_prime_upper, 40 AS first_size,
       42 AS always_size, share_upper AS share_at_most, false AS shown_similar,
       'For the statistician: exact binomial p ' || p AS statistics
FROM (VALUES
    ('D260324', DATE '2026-03-24', 'triangle', 'S0236', 'bottle', 84, 9, 8, 0.001, true, 0.83, 0.35,
     0.99, 6, 0.32, 'A difference was noticed: 8 of 9 were right.'),
    ('D260303', DATE '2026-03-03', 'triangle', 'S0200', 'bottle', 28, 8, 4, 0.259, false, 0.25, 0.0,
     0.71, 6, 0.19, 'No difference found by 8 tasters; a real one would be missed 4 times in 5.'),
    ('D260303', DATE '2026-03-03', 'duo-trio', 'S0200', 'bottle', 28, 3, 3, 0.125, false, 1.0, 0.0,
     1.0, NULL, 0.0, 'No difference found by 3 tasters.')
) AS t(session, tasted_on, method, sample, sample_format, sample_stored_days, assessments, correct,
       p, found, share, share_lower, share_upper, critical, power, answer);
INSERT INTO results.difference_pairs BY NAME
SELECT 7 AS run_id, 'triangle' AS method, 'Fennimore Pils' AS sample_beer, 'bottle' AS sample_format,
       20.0 AS sample_storage_temp_c, 4 AS sample_weeks, 'Fennimore Pils' AS control_beer,
       'can' AS control_format, 4.0 AS control_storage_temp_c, 0 AS control_weeks, 4 AS tests,
       36 AS assessments, 21 AS correct, 0.002 AS p, true AS found, 0.42 AS share,
       0.0 AS share_lower, 0.87 AS share_upper, 2.03 AS d_prime, 0.0 AS d_prime_lower,
       4.19 AS d_prime_upper, 0.15 AS added_lower, 0.59 AS added_upper, 0.45 AS overdispersion,
       0.0001 AS p_alike, '4 tests together: a difference was noticed.' AS answer;
INSERT INTO results.difference_sizes BY NAME
SELECT 7 AS run_id, m.*, s.*, 8 AS assessments
FROM (VALUES ('triangle'), ('duo-trio')) AS m(method),
     (VALUES (0.1, 0.08, 325, 349, 325), (0.3, 0.19, 40, 42, 39), (0.5, 0.47, 16, 16, 16))
     AS s(share, power, first_size, always_size, similar_size);
INSERT INTO results.comparisons BY NAME
SELECT 7 AS run_id, c.*, difference IS NULL AS one_session, 0.95 AS level, 2 AS looks,
       0.0 AS first_lower, 9.0 AS first_upper, 0.0 AS second_lower, 9.0 AS second_upper,
       96 AS first_glasses, 104 AS second_glasses, 8 AS assessors, 4 AS first_lots,
       5 AS second_lots, 12 AS sessions, '20 °C for 28 to 120 days' AS kept,
       '96 and 104 glasses, kept at 20 °C for 28 to 120 days.' AS compared,
       'second has something beside first.' AS answer
FROM (VALUES
    ('format', 'pale lager', NULL, 'bottle', 'can', 'cardboard', 3.1, 2.2, -0.9, -1.41, -0.39, NULL,
     true),
    ('format', 'pale lager', NULL, 'bottle', 'can', NULL, 0.31, 0.22, -0.09, -0.2, 0.02, NULL, false),
    ('format', 'pale lager', NULL, 'bottle', 'keg', 'cardboard', NULL, NULL, NULL, NULL, NULL,
     'too few to say (n = 2 and 1 lot)', false),
    ('trial', 'lot L0940 in can: new crown', NULL, 'its neighbours', 'lot L0940', NULL, 0.2, 0.25,
     0.05, -0.3, 0.4, NULL, false),
    ('change', 'new end supplier (canning)', DATE '2026-02-10', 'before', 'after', 'cardboard', 2.0,
     2.1, 0.1, -0.6, 0.8, NULL, false)
) AS c(kind, subject, changed_on, first, second, attribute, first_mean, second_mean, difference,
       difference_lower, difference_upper, reason, found);
INSERT INTO results.date_rules
SELECT 7, beer, style, format, route, if(route = 'export', 'abroad', 'home'), 0.25, 0.9, 'week', 365,
       true, 0, 0, CASE route WHEN 'ambient' THEN 21 WHEN 'export' THEN 22 ELSE 8 END,
       CASE route WHEN 'ambient' THEN 16 WHEN 'export' THEN 70 WHEN 'cold chain' THEN 20 ELSE 10 END,
       route IN ('cold chain', 'on-trade keg'),
       if(route IN ('cold chain', 'on-trade keg'), 84, NULL)
FROM (
    SELECT NULL AS beer, style, format, route FROM cells
    UNION ALL SELECT beer, style, format, route FROM results.beer_dates WHERE run_id = 7
);
INSERT INTO results.policy_choices
SELECT 7, style, format, route, choice, setting, in_force, days + more, days + more + worst, more, cause
FROM cells, (VALUES
    ('share', '0.1', false, -28, 0), ('share', '0.25', true, 0, 0), ('share', '0.5', false, 35, 0),
    ('confidence', '0.9', true, 0, 0), ('confidence', '0.95', false, -7, 0),
    ('rounding', 'week', true, 0, 0), ('rounding', 'month', false, 2, -30),
    ('cap', '365 days', true, 0, 0), ('cap', 'none', false, 0, 0),
    ('margin', '0 days', true, 0, 0), ('margin', '14 days', false, -14, 0)
) AS c(choice, setting, in_force, more, worst) WHERE days IS NOT NULL;
INSERT INTO this_week.labels
SELECT m.beer, m.format, m.market, DATE '2026-04-06' + CAST(n AS INTEGER), m.days,
       DATE '2026-04-06' + CAST(n AS INTEGER) + m.days,
       if(m.format = 'keg', NULL, DATE '2026-04-06' + CAST(n AS INTEGER) + m.days),
       if(m.format = 'keg', NULL, 'Best before'),
       if(m.format = 'keg', NULL, strftime(DATE '2026-04-06' + CAST(n AS INTEGER) + m.days, '%d.%m.%Y')),
       if(m.format = 'keg', 'the package would not say so: write it into routes, storage_text.', NULL),
       if(m.market = 'abroad', 'A lot mark is needed too.', NULL),
       if(m.market = 'abroad', 'usa', 'eu'),
       if(m.market = 'abroad', 'USA: no federal rule asks beer for a date', 'Regulation (EU) No 1169/2011, Annex X'),
       'day', m.rounding
FROM published.market_dates AS m, range(3) AS t(n) WHERE m.days IS NOT NULL;
INSERT INTO this_week.customer_minimums VALUES
    ('Loft Window', 'can', 'home', 'Mill', 28, 60, -32),
    ('Fennimore Pils', 'can', 'home', 'Harbour', 119, 60, 59);

INSERT INTO this_week.new_formats VALUES
    ('slim can 330', TIMESTAMP '2026-04-05 08:00', 'the lent days' || chr(10) || 'Treat as a trial.',
     'its oxygen', 'its closure', 'Most like it is can.', 'Fill 3 lots.', 63, 39, 103, 0);
INSERT INTO this_week.new_format_dates VALUES
    ('slim can 330', 'pale lager', 'ambient', 'home', 21, 0.25, 0.9, 99, 74, 128, 70, 'flavour',
     'borrowed', NULL),
    ('slim can 330', 'pale lager', 'export', 'abroad', 22, 0.25, 0.9, 60, 41, NULL, NULL, 'route',
     'borrowed', 'not fit for this route');
INSERT INTO this_week.new_format_likeness VALUES
    ('slim can 330', 'can', 'can', NULL, 440, 65, 0.7),
    ('slim can 330', 'bottle', 'bottle', 'crown', 500, NULL, 3.9);
INSERT INTO records.decisions
SELECT n, TIMESTAMP '2026-03-09 10:15' + to_days(CAST(n AS INTEGER)), 'Ada Quill', beer, style, format,
       market, NULL, days, because, 6, supported, route, temp,
       'life ends where one glass in four would be rejected for age, 90 % sure; cut at 365 days, and at the oldest beer tasted so; down to whole weeks',
       verdicts, '0.1.0', repeat('ab', 32), '{"decision": ' || n || '}' || chr(10),
       '<!DOCTYPE html><title>Decision ' || n || '</title>' || chr(10)
FROM (VALUES
    (1, 'Fennimore Pils', 'pale lager', 'bottle', NULL, 180, 'as printed so far', 77, 'export', 22, 150),
    (2, 'Fennimore Pils', 'pale lager', 'bottle', NULL, 77, NULL, 77, 'export', 22, 150),
    (3, 'Fennimore Pils', 'pale lager', 'can', 'home', 133, NULL, 133, 'ambient', 21, 180),
    (4, 'Loft Window', 'hazy ale', 'can', 'home', 42, 'the trade asks for six weeks', 28, 'ambient', 21, 120),
    (5, 'Fennimore Pils', 'pale lager', 'keg', NULL, 120, NULL, 126, 'on-trade keg', 8, 90)
) AS d(n, beer, style, format, market, days, because, supported, route, temp, verdicts);
-- The way: what stages take of two styles, a summer, a lorry and a container with loggers, two cupboards.
INSERT INTO results.route_use
SELECT 7, style, format, route, 'planned', stage_no, temp_c, days, worth,
       worth / sum(worth) OVER cell, worth / sum(worth) OVER cell - 0.02,
       worth / sum(worth) OVER cell + 0.02, worth / sum(worth) OVER cell / days,
       worth = max(worth) OVER cell, worth / days = max(worth / days) OVER cell
FROM (
    SELECT c.style, c.format, c.route, s.stage_no, s.temp_c,
           coalesce(s.days, greatest(c.life - 16, 5)) AS days,
           coalesce(s.days, greatest(c.life - 16, 5)) * 2 ** ((s.temp_c - 20) / 10) AS worth
    FROM cells AS c JOIN history.route_stages AS s ON s.route = c.route WHERE c.life IS NOT NULL
) WINDOW cell AS (PARTITION BY style, format, route);
INSERT INTO results.route_lives BY NAME
SELECT 7 AS run_id, c.style, c.format, c.route, v.variant, e.temp_c + v.warmer AS last_temp_c,
       71.3 AS energy_kj_mol, if(c.style = 'hazy ale', 'prior', 'fitted') AS energy_source,
       19.8 AS mean_kinetic_c, 19.8 AS planned_kinetic_c, 120 AS equivalent_days,
       120 AS planned_equivalent_days, c.life * v.part AS shelf_life_days,
       c.lower * v.part AS shelf_life_days_lower, coalesce(c.upper, 600) * v.part AS shelf_life_days_upper,
       c.life * (v.part - 1) AS difference_days, c.life * (v.part - 1) - 4 AS difference_days_lower,
       c.life * (v.part - 1) AS difference_days_upper,
       CAST(floor(c.days * v.part / 7) * 7 AS INTEGER) AS best_before_days,
       c.days AS planned_best_before_days
FROM cells AS c, (VALUES ('planned', 0, 1.0), ('summer', 4, 0.75)) AS v(variant, warmer, part),
     (VALUES ('ambient', 21), ('export', 22), ('cold chain', 8), ('on-trade keg', 8)) AS e(route, temp_c)
WHERE e.route = c.route AND c.life IS NOT NULL AND (v.variant = 'planned' OR e.temp_c > 15);
INSERT INTO results.route_lives VALUES
    (7, 'pale lager', 'can', 'export', 'logged', 'TL7', '2026-01-20 06:00', 'lot', 30, 35.0, 22,
     71.3, 'fitted', 30.4, 28.0, 84.1, 66.0, 96.2, 78.0, 120.4, -16.1, -19.0, -13.2, 77, 91,
     '2026-01-29 06:00', 7, 33.1, 28.0, 5.2, 4.4, 6.1),
    (7, 'hazy ale', 'can', 'export', 'logged', 'TL7', '2026-01-20 06:00', 'lot', 30, 35.0, 22, 68.0,
     'prior', 30.3, 28.0, 83.0, 65.0, 38.2, 30.1, 47.0, -2.8, -3.4, -2.2, NULL, NULL,
     '2026-01-29 06:00', 7, 33.0, 28.0, 2.8, 2.2, 3.4),
    (7, 'pale lager', 'can', 'ambient', 'logged', 'TL2', '2026-03-14 06:00', 'length', 14, 2.0, 21,
     71.3, 'fitted', 22.6, 20.0, 2.6, 2.0, 151.4, 120.1, 188.0, -0.5, -0.6, -0.4, 119, 119,
     '2026-03-14 06:00', 2, 22.6, 20.0, 0.5, 0.4, 0.6);
INSERT INTO results.route_trips
SELECT 7, 'export', 'TL7', '2026-01-20 06:00', 'lot', 30 + n, 30 + 3 * sin(n / 4), 28 + 3 * sin(n / 4),
       32 + 3 * sin(n / 4)
FROM range(35) AS t(n);
INSERT INTO results.place_temperatures VALUES
    (7, 'shelf 20', 20, 40, 52, '2025-04-01 07:00', '2026-03-31 07:00', 19.1, 20.9, 20.0, 20.1, 71.3, 100.9, false),
    (7, 'warm cupboard', 30, 64, 52, '2025-04-01 07:00', '2026-03-31 07:00', 30.2, 34.1, 32.0, 32.1, 71.3, 121.5, true),
    (7, 'yard', NULL, 0, 12, '2026-01-01 07:00', '2026-03-31 07:00', -2.0, 9.1, 4.0, 4.8, 71.3, NULL, false);
INSERT INTO results.moves
SELECT 7, 'pale lager', b.format, b.route, o, b.total + o, c.closure, coalesce(c.ingress, b.ingress), w,
       b.temp_c + w, s.share, p.sure, life, 0.8 * life * p.part, CAST(floor(0.8 * life * p.part / 7) * 7 AS INTEGER),
       'flavour', o = 0 AND c.closure = 'as it is' AND w = 0 AND s.share = 0.25 AND p.sure = 0.9
FROM (VALUES ('bottle', 'ambient', 76.0, 1.5, 21.0, 128.4), ('can', 'ambient', 62.5, 0.0, 21.0, 151.9),
             ('keg', 'on-trade keg', 35.0, 0.0, 8.0, 350.2)) AS b(format, route, total, ingress, temp_c, base),
     (VALUES (-40), (-20), (0), (20), (40)) AS x(o),
     (VALUES ('as it is', NULL), ('scavenging liner', 0.2), ('ordinary crown', 5.5)) AS c(closure, ingress),
     (VALUES (-9), (-6), (-3), (0), (3), (6)) AS y(w),
     (VALUES (0.1, 0.7), (0.25, 1.0), (0.5, 1.4)) AS s(share, f),
     (VALUES (0.8, 1.05), (0.9, 1.0), (0.95, 0.95)) AS p(sure, part),
     LATERAL (SELECT b.base * s.f * (1 - o / 300.0) * (1 - w / 20.0)
                     * (1 - (coalesce(c.ingress, b.ingress) - b.ingress) / 10) AS life)
WHERE (c.closure = 'as it is' OR b.ingress > 0) AND b.temp_c + w >= 0 AND (o >= 0 OR b.total + o >= 10);

-- Complaints: one lot that has more than luck explains, an outlet that nothing was shipped to, one
-- that touches safety, a lot that is not ours.
INSERT INTO this_week.field_summary VALUES
    (DATE '2025-04-01', DATE '2026-04-06', 12, 9, 1, 80400.4, 112.0, 58.6, 195.4, 8, 8, 0.62, 0.21, 0.93);
INSERT INTO this_week.field_complaints VALUES
    ('K12', DATE '2026-04-03', 'stale', false, true, NULL, false, 'L0905', 'bottle', 0.968,
     'Fennimore Pils', 123, 0.31, 'Harbour', 2, NULL),
    ('K11', DATE '2026-04-01', 'stale;flat', false, true, 'L0971', true, 'L0971', 'can', 1.0,
     'Fennimore Pils', 8, 0.01, 'Mill', 1, NULL),
    ('K10', DATE '2026-03-28', 'gushing', true, false, 'L0971', true, 'L0971', 'can', 1.0,
     'Fennimore Pils', 4, 0.01, 'Mill', NULL, DATE '2026-03-30'),
    ('K09', DATE '2026-03-20', 'other flavour', false, true, 'B-7', false, NULL, NULL, NULL, NULL,
     NULL, NULL, 'Kiosk', 1, NULL),
    ('K08', DATE '2026-03-02', 'leaker', false, false, NULL, false, NULL, NULL, NULL, 'Straw Hat',
     NULL, NULL, NULL, 1, NULL);
INSERT INTO this_week.field_kinds VALUES
    ('stale', false, 8, 11, 99.5, 49.5, 179.5), ('flat', false, 1, 1, 12.4, 0.6, 59.0),
    ('leaker', false, 1, NULL, 12.4, 0.6, 59.0), ('gushing', true, 1, NULL, 12.4, 0.6, 59.0);
INSERT INTO this_week.field_rates VALUES
    ('month', '2026-03', '', 61200.2, 2, 6.4, 3, 9, 32.7, 5.8, 102.9, 0.99, 1.0, 12, 'as expected'),
    ('month', '2026-04', '', 19200.2, 7, 2.6, 0, 5, 364.6, 171.1, 684.8, 0.02, 0.04, 7, 'more'),
    ('quarter', '2026-Q1', '', 61200.2, 2, 6.4, 3, 9, 32.7, 5.8, 102.9, 0.99, 1.0, 12, 'as expected'),
    ('lot', 'L0905', 'bottle', 4100.6, 5, 0.9, 0, 3, 1219.3, 480.4, 2563.7, 0.001, 0.012, 5, 'more'),
    ('lot', 'L0971', 'can', 8200.6, 2, 0.4, 0, 1, 243.9, 43.3, 767.8, 0.04, 0.4, 4, 'perhaps more'),
    ('lot', 'L0972', 'slim can', 9000.0, 0, 0.6, 0, 2, 0.0, 0.0, 332.9, 1.0, 1.0, 4, 'as expected'),
    ('lot', 'L0880', 'can', 0.0, 1, 0.0, 0, 0, NULL, NULL, NULL, NULL, NULL, 4, 'cannot say'),
    ('line', 'canning', '', 60400.1, 4, 5.2, 2, 8, 66.2, 22.6, 151.6, 0.8, 1.0, 9, 'as expected'),
    ('line', '', '', 20000.3, 4, 2.8, 1, 5, 200.0, 68.3, 457.7, 0.3, 0.9, 8, 'as expected'),
    ('outlet', 'Harbour', '', 50400.1, 1, 5.3, 2, 8, 19.8, 1.0, 94.1, 0.99, 1.0, 9, 'fewer'),
    ('outlet', 'Mill', '', 30000.3, 6, 1.7, 0, 4, 200.0, 87.1, 394.8, 0.06, 0.2, 7, 'as expected'),
    ('outlet', 'Kiosk', '', 0.0, 1, 0.0, 0, 0, NULL, NULL, NULL, NULL, NULL, 9, 'cannot say');
INSERT INTO this_week.field_looks VALUES
    ('month', 9, 2, 0.05, 1, 1), ('quarter', 2, 1, 0.0, 0, 0), ('lot', 7, 12, 0.3, 2, 1),
    ('line', 8, 2, 0.06, 0, 0), ('outlet', 7, 2, 0.06, 0, 0);
INSERT INTO this_week.field_checks VALUES
    ('age', '', NULL, 56, 41000.0, 1, 3.1, 0.24, 0.4, 'as expected'),
    ('age', '', 56, 84, 30000.0, 2, 2.6, 1.0, 1.0, 'as expected'),
    ('age', '', 84, NULL, 9400.4, 5, 2.3, 0.1, 0.3, 'as expected'),
    ('format', 'can', NULL, NULL, 60400.1, 4, 4.2, 1.0, 1.0, 'as expected'),
    ('style', 'pale lager', NULL, NULL, 80400.4, 8, 8.0, 1.0, 1.0, 'as expected');
-- Two quarters reviewed, the older one twice, and what was agreed on.
INSERT INTO records.reviews
SELECT n, quarter, made_at, until, 2, 5, entries, run, 3, '0.1.0', '{}',
       '{"quarter": "' || quarter || '"}' || chr(10),
       '<!DOCTYPE html><title>Review ' || n || '</title>' || chr(10)
FROM (VALUES
    (1, '2025-Q4', TIMESTAMP '2026-01-05 09:00', DATE '2026-01-05', 0, NULL),
    (2, '2025-Q4', TIMESTAMP '2026-01-13 06:15', DATE '2026-01-13', 0, 3),
    (3, '2026-Q1', TIMESTAMP '2026-04-06 07:00', DATE '2026-04-06', 3, NULL)
) AS r(n, quarter, made_at, until, entries, run);
INSERT INTO records.actions VALUES
    (1, 1, '2025-Q4', 'agreed', 'Mend head 3', 'line lead', DATE '2026-02-01', NULL, TIMESTAMP '2026-01-14 10:00', 'Ada Quill'),
    (2, 2, '2025-Q4', 'agreed', 'Taste the keg again', NULL, NULL, NULL, TIMESTAMP '2026-01-14 10:01', 'Ada Quill'),
    (3, 1, '2025-Q4', 'done', 'Mend head 3', 'line lead', DATE '2026-02-01', 'it leaked', TIMESTAMP '2026-01-30 16:00', 'B. Hale');
