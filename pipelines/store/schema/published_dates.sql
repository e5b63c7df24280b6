-- What the pages may read of how dates are set: by whose rule, for which market, on which label.

CREATE VIEW published.policy_choices AS
SELECT * FROM results.policy_choices WHERE run_id = (SELECT run_id FROM published.run)
ORDER BY style, format, route;
COMMENT ON VIEW published.policy_choices IS 'The date under other choices of the policy, each changed alone.';

CREATE VIEW published.date_rules AS
SELECT d.* FROM results.date_rules AS d WHERE d.run_id = (SELECT run_id FROM published.run)
ORDER BY d.style, d.format, d.beer, d.route;
COMMENT ON VIEW published.date_rules IS 'The rule behind each date of a style and of a beer in a format on a route.';

CREATE VIEW published.route_dates AS
SELECT d.beer, d.style, d.format, r.market, d.route, r.temp_c, r.way_days, r.cold,
       (SELECT any_value(w.storage_text) FROM core.routes AS w WHERE w.route = d.route)
           AS storage_text,
       d.supported_days, d.binding_cause, d.basis, d.reason, r.rounding, r.shelf_days,
       (SELECT any_value(b.abv_pct) FROM core.beers AS b WHERE b.beer = d.beer) AS abv_pct
FROM published.beer_dates AS d
JOIN published.date_rules AS r ON r.beer = d.beer AND r.format = d.format AND r.route = d.route
ORDER BY d.beer, d.format, r.market, d.route;
COMMENT ON VIEW published.route_dates IS 'The date of each beer in a format on each route, with the market it leads to.';

-- One label holds on every way to its market, so that the shortest date counts.
CREATE VIEW published.market_dates AS
SELECT r.beer, r.style, r.format, r.market, r.supported_days AS days, r.route, r.temp_c, r.way_days,
       r.cold, r.storage_text, r.binding_cause, r.basis, r.reason, r.rounding, r.shelf_days,
       r.abv_pct, u.unfit
FROM (
    SELECT *, row_number() OVER (
        PARTITION BY beer, format, market ORDER BY supported_days NULLS LAST, route
    ) AS place
    FROM published.route_dates
) AS r
LEFT JOIN (
    SELECT beer, format, market, string_agg(route, ', ' ORDER BY route) AS unfit
    FROM published.route_dates WHERE supported_days IS NULL GROUP BY ALL
) AS u USING (beer, format, market)
WHERE r.place = 1
ORDER BY r.beer, r.format, r.market;
COMMENT ON VIEW published.market_dates IS 'The date of each beer in a format for each market: the shortest of the routes that lead there.';
COMMENT ON COLUMN published.market_dates.days IS 'Best-before days, from packaging; empty where no route there has a date.';
COMMENT ON COLUMN published.market_dates.unfit IS 'Routes to the market that have no date.';

CREATE VIEW published.labels AS
SELECT * FROM this_week.labels ORDER BY beer, format, market, packaged_on;
COMMENT ON VIEW published.labels IS 'The date to print for each packaging day from today on.';

CREATE VIEW published.customer_minimums AS
SELECT * FROM this_week.customer_minimums ORDER BY leaves_days, customer, beer, format, market;
COMMENT ON VIEW published.customer_minimums IS 'What each customer''s minimum takes of the printed life, the least left first.';
