-- Lots as they are judged by their oxygen, the stock, and questions about what is in the trade.

CREATE TABLE results.dose_lives (
    run_id BIGINT NOT NULL,
    style VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    draw INTEGER NOT NULL,
    age_days DOUBLE NOT NULL,
    oxygen_exponent DOUBLE NOT NULL,
    activation_energy_kj_mol DOUBLE NOT NULL
);
COMMENT ON TABLE results.dose_lives IS 'What the life of a single lot depends on, draw by draw, of the newest run alone.';
COMMENT ON COLUMN results.dose_lives.run_id IS 'The run.';
COMMENT ON COLUMN results.dose_lives.style IS 'Beer style.';
COMMENT ON COLUMN results.dose_lives.format IS 'Package format.';
COMMENT ON COLUMN results.dose_lives.draw IS 'Number of the draw, from 0.';
COMMENT ON COLUMN results.dose_lives.age_days IS 'Days at 20 °C by which the policy''s share of a lot with a dose of 60 ppb is rejected for age.';
COMMENT ON COLUMN results.dose_lives.oxygen_exponent IS 'The life goes with the dose to the power of minus this.';
COMMENT ON COLUMN results.dose_lives.activation_energy_kj_mol IS 'Activation energy of the style, kJ/mol.';

CREATE TABLE this_week.lots (
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    style VARCHAR NOT NULL,
    line VARCHAR,
    packaged_on DATE NOT NULL,
    packages INTEGER NOT NULL,
    clean INTEGER NOT NULL,
    late INTEGER NOT NULL,
    shaken INTEGER NOT NULL,
    part INTEGER NOT NULL,
    below_floor INTEGER NOT NULL,
    unusable INTEGER NOT NULL,
    heads VARCHAR,
    total_ppb DOUBLE,
    lower_ppb DOUBLE,
    upper_ppb DOUBLE,
    at_least_ppb DOUBLE,
    line_lots INTEGER NOT NULL,
    line_ppb DOUBLE,
    limit_lower_ppb DOUBLE,
    limit_upper_ppb DOUBLE,
    above_line BOOLEAN,
    reckoned_ppb DOUBLE,
    printed_on DATE,
    usual_days INTEGER,
    route VARCHAR,
    temp_c DOUBLE,
    style_days INTEGER,
    supported_days INTEGER,
    verdict VARCHAR NOT NULL CHECK (verdict IN (
        'holds', 'as usual', 'shorten', 'date too long', 'too few', 'only bounds', 'no readings',
        'no estimate', 'no route', 'no date', 'no validation')),
    shorten_days INTEGER,
    cold_route VARCHAR,
    cold_temp_c DOUBLE,
    samples INTEGER NOT NULL,
    sample VARCHAR,
    sample_on DATE,
    answer VARCHAR NOT NULL,
    advice VARCHAR NOT NULL,
    remark VARCHAR NOT NULL,
    judged_on DATE NOT NULL,
    asked_on DATE
);
COMMENT ON TABLE this_week.lots IS 'Lots judged by their oxygen: those that need a look, and those that somebody asked about.';
COMMENT ON COLUMN this_week.lots.lot IS 'Lot.';
COMMENT ON COLUMN this_week.lots.format IS 'Package format.';
COMMENT ON COLUMN this_week.lots.beer IS 'Beer.';
COMMENT ON COLUMN this_week.lots.style IS 'Beer style.';
COMMENT ON COLUMN this_week.lots.line IS 'Packaging line; empty where the lot names none.';
COMMENT ON COLUMN this_week.lots.packaged_on IS 'Packaging day.';
COMMENT ON COLUMN this_week.lots.packages IS 'Packages whose total is known, or is below a bound.';
COMMENT ON COLUMN this_week.lots.clean IS 'Of those, packages whose total is known as a value.';
COMMENT ON COLUMN this_week.lots.late IS 'Packages read later after filling than the configuration allows: at least that much.';
COMMENT ON COLUMN this_week.lots.shaken IS 'Packages whose total comes from a shaken reading.';
COMMENT ON COLUMN this_week.lots.part IS 'Packages of which the beer or the gas alone was read, or above the meter''s range: at least that much.';
COMMENT ON COLUMN this_week.lots.below_floor IS 'Packages that read below the meter''s floor: at most that much.';
COMMENT ON COLUMN this_week.lots.unusable IS 'Packages that give no total: no headspace known, or too warm.';
COMMENT ON COLUMN this_week.lots.heads IS 'Heads that were read; empty where none is written down.';
COMMENT ON COLUMN this_week.lots.total_ppb IS 'Total package oxygen at filling, geometric mean, bounds taken as bounds, ppb.';
COMMENT ON COLUMN this_week.lots.lower_ppb IS 'It is at least this, 90 % two-sided, ppb.';
COMMENT ON COLUMN this_week.lots.upper_ppb IS 'It is at most this, 90 % two-sided, ppb; empty where only lower bounds are known.';
COMMENT ON COLUMN this_week.lots.at_least_ppb IS 'Geometric mean of what its packages hold at least, where nothing else is known, ppb.';
COMMENT ON COLUMN this_week.lots.line_lots IS 'Lots that the limits of its line and format come from.';
COMMENT ON COLUMN this_week.lots.line_ppb IS 'Their geometric mean, ppb; empty without limits.';
COMMENT ON COLUMN this_week.lots.limit_lower_ppb IS 'Lower limit of the chart of its line and format, ppb.';
COMMENT ON COLUMN this_week.lots.limit_upper_ppb IS 'Upper limit of that chart, ppb.';
COMMENT ON COLUMN this_week.lots.above_line IS 'Whether it is above the upper limit; empty where that cannot be told.';
COMMENT ON COLUMN this_week.lots.reckoned_ppb IS 'Total of the middle lot of its style and format, which the usual date reckons with, ppb.';
COMMENT ON COLUMN this_week.lots.printed_on IS 'Printed date; empty where none is known.';
COMMENT ON COLUMN this_week.lots.usual_days IS 'Days from packaging to the printed date, else those of the style and format; empty without.';
COMMENT ON COLUMN this_week.lots.route IS 'Route that takes most of the volume; empty where none carries this kind.';
COMMENT ON COLUMN this_week.lots.temp_c IS 'Temperature at which that route ends, °C.';
COMMENT ON COLUMN this_week.lots.style_days IS 'Days that the data support for a usual lot on that route; empty without a date.';
COMMENT ON COLUMN this_week.lots.supported_days IS 'Days that its own oxygen supports there, the usual days at most; empty where nothing can be said or no date fits.';
COMMENT ON COLUMN this_week.lots.verdict IS 'Whether the usual date holds: holds, as usual, shorten, date too long, or why it cannot be said.';
COMMENT ON COLUMN this_week.lots.shorten_days IS 'Days to shorten to; empty where there is nothing to shorten or no date fits.';
COMMENT ON COLUMN this_week.lots.cold_route IS 'Colder route on which the usual days hold; empty where there is none or none is asked for.';
COMMENT ON COLUMN this_week.lots.cold_temp_c IS 'Temperature at which it ends, °C.';
COMMENT ON COLUMN this_week.lots.samples IS 'Samples of it whose pull lies ahead.';
COMMENT ON COLUMN this_week.lots.sample IS 'The next of them.';
COMMENT ON COLUMN this_week.lots.sample_on IS 'Day of its pull.';
COMMENT ON COLUMN this_week.lots.answer IS 'What was read and whether the usual date holds, in words.';
COMMENT ON COLUMN this_week.lots.advice IS 'What to do, best first, one a line; empty where the usual date stands.';
COMMENT ON COLUMN this_week.lots.remark IS 'A warning; empty without one.';
COMMENT ON COLUMN this_week.lots.judged_on IS 'The day that counts as today.';
COMMENT ON COLUMN this_week.lots.asked_on IS 'Day on which somebody last asked; empty where nobody did.';

CREATE TABLE this_week.lot_packages (
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    measured_at TIMESTAMP NOT NULL,
    reading VARCHAR,
    head VARCHAR,
    run_position VARCHAR,
    meter VARCHAR,
    basis VARCHAR NOT NULL,
    lower_ppb DOUBLE,
    upper_ppb DOUBLE,
    late BOOLEAN NOT NULL,
    shaken BOOLEAN NOT NULL,
    below BOOLEAN NOT NULL
);
COMMENT ON TABLE this_week.lot_packages IS 'The packages of those lots whose oxygen was read.';
COMMENT ON COLUMN this_week.lot_packages.lot IS 'Lot.';
COMMENT ON COLUMN this_week.lot_packages.format IS 'Package format.';
COMMENT ON COLUMN this_week.lot_packages.measured_at IS 'When it was read.';
COMMENT ON COLUMN this_week.lot_packages.reading IS 'Name of the reading.';
COMMENT ON COLUMN this_week.lot_packages.head IS 'Filler or seamer head.';
COMMENT ON COLUMN this_week.lot_packages.run_position IS 'start, middle, end or restart.';
COMMENT ON COLUMN this_week.lot_packages.meter IS 'Meter.';
COMMENT ON COLUMN this_week.lot_packages.basis IS 'What its total is made of: total, shaken, sum, partial or none.';
COMMENT ON COLUMN this_week.lot_packages.lower_ppb IS 'Its total at filling is at least this, ppb.';
COMMENT ON COLUMN this_week.lot_packages.upper_ppb IS 'Its total at filling is at most this, ppb; equal to the lower one where it is known.';
COMMENT ON COLUMN this_week.lot_packages.late IS 'Whether it was read too late after filling.';
COMMENT ON COLUMN this_week.lot_packages.shaken IS 'Whether its total comes from a shaken reading.';
COMMENT ON COLUMN this_week.lot_packages.below IS 'Whether it read below the meter''s floor.';

CREATE TABLE this_week.stock_summary (
    today DATE NOT NULL,
    past_lots INTEGER NOT NULL,
    shipments INTEGER NOT NULL,
    customers INTEGER NOT NULL
);
COMMENT ON TABLE this_week.stock_summary IS 'The day that the stock was worked out for: one row, or none before the first publishing.';
COMMENT ON COLUMN this_week.stock_summary.today IS 'The day that counts as today.';
COMMENT ON COLUMN this_week.stock_summary.past_lots IS 'Lots past their date with packages that no shipment accounts for.';
COMMENT ON COLUMN this_week.stock_summary.shipments IS 'Shipments known.';
COMMENT ON COLUMN this_week.stock_summary.customers IS 'Customers whose minimum the configuration states.';

CREATE TABLE this_week.stock (
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    place VARCHAR NOT NULL CHECK (place IN ('in house', 'shipped')),
    route VARCHAR,
    customers VARCHAR,
    temp_c DOUBLE,
    packages BIGINT,
    packaged_on DATE NOT NULL,
    shipped_on DATE,
    printed_on DATE NOT NULL,
    printed BOOLEAN NOT NULL,
    printed_days INTEGER NOT NULL,
    middle_days INTEGER,
    flavour_days INTEGER,
    days_left INTEGER NOT NULL,
    logged_days INTEGER NOT NULL
);
COMMENT ON TABLE this_week.stock IS 'What is left of the life of each lot in house, and of what was shipped of it.';
COMMENT ON COLUMN this_week.stock.lot IS 'Lot.';
COMMENT ON COLUMN this_week.stock.format IS 'Package format.';
COMMENT ON COLUMN this_week.stock.beer IS 'Beer.';
COMMENT ON COLUMN this_week.stock.place IS 'in house or shipped.';
COMMENT ON COLUMN this_week.stock.route IS 'Route it went; in house, the one that takes most of the volume.';
COMMENT ON COLUMN this_week.stock.customers IS 'Customers of the shipment; empty in house.';
COMMENT ON COLUMN this_week.stock.temp_c IS 'Temperature at which the route ends, °C; empty where it is not known.';
COMMENT ON COLUMN this_week.stock.packages IS 'Packages shipped; in house those packed less those shipped, empty where not known.';
COMMENT ON COLUMN this_week.stock.packaged_on IS 'Packaging day.';
COMMENT ON COLUMN this_week.stock.shipped_on IS 'Day of shipping; empty in house.';
COMMENT ON COLUMN this_week.stock.printed_on IS 'Printed date, or the longest date of the style where none is printed.';
COMMENT ON COLUMN this_week.stock.printed IS 'Whether it is printed.';
COMMENT ON COLUMN this_week.stock.printed_days IS 'Days to that date.';
COMMENT ON COLUMN this_week.stock.middle_days IS 'Days of flavour left, median, no more than to that date; empty where not known, negative where used up.';
COMMENT ON COLUMN this_week.stock.flavour_days IS 'The same at the lower bound of the policy''s confidence.';
COMMENT ON COLUMN this_week.stock.days_left IS 'Days left: to the lower bound of the flavour or to the printed date, whichever comes first.';
COMMENT ON COLUMN this_week.stock.logged_days IS 'Days whose temperature loggers tell.';

CREATE TABLE this_week.stock_customers (
    lot VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    beer VARCHAR NOT NULL,
    packages BIGINT,
    customer VARCHAR NOT NULL,
    last_on DATE NOT NULL,
    days INTEGER NOT NULL
);
COMMENT ON TABLE this_week.stock_customers IS 'Until when what is in house can be shipped to customers who ask for a minimum of the printed life.';
COMMENT ON COLUMN this_week.stock_customers.lot IS 'Lot.';
COMMENT ON COLUMN this_week.stock_customers.format IS 'Package format.';
COMMENT ON COLUMN this_week.stock_customers.beer IS 'Beer.';
COMMENT ON COLUMN this_week.stock_customers.packages IS 'Packages in house; empty where not known.';
COMMENT ON COLUMN this_week.stock_customers.customer IS 'Customer.';
COMMENT ON COLUMN this_week.stock_customers.last_on IS 'Last day to ship.';
COMMENT ON COLUMN this_week.stock_customers.days IS 'Days until then; negative where it has passed.';

CREATE TABLE results.trade_inquiries (
    asked_at TIMESTAMP NOT NULL,
    run_id BIGINT,
    beer VARCHAR NOT NULL,
    format VARCHAR NOT NULL,
    route VARCHAR,
    temp_c DOUBLE,
    printed_days INTEGER,
    supported_days INTEGER,
    lots INTEGER NOT NULL,
    packages BIGINT NOT NULL,
    customers INTEGER NOT NULL
);
COMMENT ON TABLE results.trade_inquiries IS 'Each time somebody asked what is in the trade of a beer whose printed date proved too long.';
COMMENT ON COLUMN results.trade_inquiries.asked_at IS 'When, local time of the brewery.';
COMMENT ON COLUMN results.trade_inquiries.run_id IS 'The run that the supported days are from; empty before the first.';
COMMENT ON COLUMN results.trade_inquiries.beer IS 'Beer.';
COMMENT ON COLUMN results.trade_inquiries.format IS 'Package format.';
COMMENT ON COLUMN results.trade_inquiries.route IS 'Route that takes most of the volume; empty where none carries this kind.';
COMMENT ON COLUMN results.trade_inquiries.temp_c IS 'Temperature at which it ends, °C.';
COMMENT ON COLUMN results.trade_inquiries.printed_days IS 'Days printed on the newest lot; empty where none are.';
COMMENT ON COLUMN results.trade_inquiries.supported_days IS 'Days that the data support on that route; empty where there is no date.';
COMMENT ON COLUMN results.trade_inquiries.lots IS 'Lots in the trade and not past their printed date.';
COMMENT ON COLUMN results.trade_inquiries.packages IS 'Packages shipped of them.';
COMMENT ON COLUMN results.trade_inquiries.customers IS 'Customers who got some.';
