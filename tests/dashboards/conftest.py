"""A store in a few states, the pages made from each, and one browser for all tests."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from selenium import webdriver

from dashboards.build import build
from pipelines.store.connect import open_store
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

BREWERY = Path(__file__).with_name("brewery.sql").read_text(encoding="utf-8")

# Names that a file may bring: a page must show them, and a spreadsheet must not run them.
MARKUP = "<img src=x onerror=alert(1)>"
FORMULA = "=1+1"
HOSTILE = f"""
    UPDATE results.beer_dates SET beer = '{MARKUP}', lot = '{FORMULA}' WHERE style = 'pale lager';
    UPDATE results.pulls SET lot = '{MARKUP}' WHERE style = 'pale lager';
    UPDATE results.pulls SET lot = '{FORMULA}' WHERE style = 'hazy ale';
    UPDATE results.lot_oxygen SET beer = '{FORMULA}', assumed = '{MARKUP}';
    UPDATE results.attention SET beer = '{MARKUP}' WHERE rank = 1;
    UPDATE results.runs SET brewery = '{MARKUP}</title><script>alert(2)</script>';
    UPDATE results.runs SET question = '{MARKUP}</script>';
    UPDATE history.routes SET storage_text = '{MARKUP}</script>';
    UPDATE intake.set_aside SET value = '{FORMULA}', reason = '{MARKUP}', expected = '@SUM(A1)';
    UPDATE intake.mentions SET mention = '{MARKUP}';
    UPDATE results.treatments SET reason = '{MARKUP}' WHERE reason IS NOT NULL;
    UPDATE results.score_crossings SET attribute = '{FORMULA}' WHERE attribute = 'cardboard';
    UPDATE results.score_crossings SET note = '{MARKUP}';
    UPDATE results.scores_left_out SET attribute = '{FORMULA}', reason = '{MARKUP}';
    UPDATE results.trial_effects SET trial = '{MARKUP}</script>';
    UPDATE results.back_test SET lot = '{MARKUP}' WHERE lot = 'L0871';
    UPDATE results.back_test SET lot = '{FORMULA}' WHERE lot = 'L0902';
    UPDATE this_week.lots SET lot = '{MARKUP}', answer = '{MARKUP}', advice = '{MARKUP}',
        line = '{MARKUP}', remark = '{MARKUP}</script>' WHERE lot = 'L0971';
    UPDATE this_week.lots SET lot = '{FORMULA}', answer = '{MARKUP}' WHERE lot = 'H/9 b';
    UPDATE this_week.lot_packages SET lot = '{MARKUP}', head = '{MARKUP}', meter = '{FORMULA}',
        reading = '{FORMULA}', run_position = '{MARKUP}';
    UPDATE this_week.stock SET lot = '{FORMULA}', beer = '{MARKUP}', customers = '{MARKUP}';
    UPDATE this_week.stock_customers SET lot = '{MARKUP}', customer = '{FORMULA}';
    UPDATE results.trade_inquiries SET beer = '{MARKUP}', format = '{FORMULA}', route = '{MARKUP}';
    UPDATE this_week.pulls SET lot = '{MARKUP}', beer = '{FORMULA}', place = '{MARKUP}</script>';
    UPDATE this_week.tastings SET sample = '{MARKUP}', lot = '{FORMULA}', beer = '{MARKUP}';
    UPDATE this_week.meter_checks SET meter = '{MARKUP}' WHERE meter = 'M3';
    UPDATE this_week.meter_checks SET meter = '{FORMULA}' WHERE meter = 'M1';
    UPDATE results.meter_checks SET meter = '{MARKUP}' WHERE meter = 'M1';
    UPDATE results.meter_doubts SET meter = '{MARKUP}</script>';
    UPDATE results.readings_in_doubt SET lot = '{FORMULA}' WHERE format = 'keg';
    UPDATE results.meter_pairs SET first_meter = '{MARKUP}', reason = '{MARKUP}';
    UPDATE results.assessors SET measure = '{MARKUP}</script>' WHERE measure IS NOT NULL;
    UPDATE results.panel_attributes SET attribute = '{MARKUP}</script>' WHERE attribute = 'stale';
    UPDATE results.panel_resolution SET attribute = '{MARKUP}</script>' WHERE attribute = 'stale';
    UPDATE results.assessor_scores SET attribute = '{MARKUP}</script>' WHERE attribute = 'stale';
    UPDATE results.panel_attributes SET attribute = '{FORMULA}' WHERE attribute = 'cardboard';
    UPDATE results.panel_anova SET attribute = '{FORMULA}';
    UPDATE results.ingress SET closure = '{MARKUP}' WHERE format = 'bottle';
    UPDATE results.format_ratios SET line = '{FORMULA}', other_line = '{MARKUP}</script>';
    UPDATE results.format_gaps SET style = '{MARKUP}</script>' WHERE other_format = 'slim can';
    UPDATE results.format_gaps SET style = '{FORMULA}' WHERE route = 'export';
    UPDATE results.head_findings SET line = '{MARKUP}</script>' WHERE head = '3';
    UPDATE results.head_findings SET head = '{FORMULA}' WHERE head = '3';
    UPDATE results.heads SET line = '{MARKUP}</script>', head = '{FORMULA}' WHERE head = '3';
    UPDATE results.oxygen_lines SET line = '{MARKUP}' WHERE line = 'canning';
    UPDATE results.oxygen_sources SET line = '{MARKUP}' WHERE line = 'canning';
    UPDATE results.run_positions SET line = '{FORMULA}';
    UPDATE results.change_oxygen SET what = '{MARKUP}', reason = '{MARKUP}';
    UPDATE results.change_days SET what = '{MARKUP}', style = '{FORMULA}';
    UPDATE this_week.retained SET lot = '{FORMULA}', names = '{MARKUP}', place = '{FORMULA}';
    UPDATE results.oxygen_charts SET line = '{MARKUP}' WHERE line = 'canning';
    UPDATE results.chart_points SET line = '{MARKUP}' WHERE line = 'canning';
    UPDATE results.oxygen_signals SET line = '{MARKUP}' WHERE line = 'canning';
    UPDATE results.oxygen_charts SET reason = '{MARKUP}</script>' WHERE reason IS NOT NULL;
    UPDATE results.chart_points SET lot = '{FORMULA}' WHERE lot = 'b-bottle-02';
    UPDATE results.oxygen_signals SET first_lot = '{FORMULA}', found_lot = '{FORMULA}'
    WHERE first_lot = 'b-bottle-02';
    UPDATE results.entered_as_total SET lot = '{FORMULA}';
    UPDATE results.difference_tests SET sample_beer = '{MARKUP}</script>', sample_lot = '{FORMULA}',
        control_lot = '{MARKUP}', answer = '{MARKUP}', statistics = '{MARKUP}';
    UPDATE results.difference_pairs SET sample_beer = '{FORMULA}', answer = '{MARKUP}';
    UPDATE results.comparisons SET subject = '{MARKUP}</script>', first = '{FORMULA}',
        attribute = '{MARKUP}' WHERE attribute IS NOT NULL;
    UPDATE results.comparisons SET answer = '{MARKUP}', compared = '{MARKUP}';
    UPDATE history.changes SET what = '{MARKUP}</script>', line = NULL;
    UPDATE results.panel_sessions SET session = '{MARKUP}' WHERE fresh_failed;
    UPDATE results.waited_samples SET sample = '{FORMULA}', beer = '{MARKUP}';
    UPDATE results.order_effects SET outcome = '{MARKUP}' WHERE outcome = 'hop_aroma';
    UPDATE this_week.new_formats SET data = '{MARKUP}', likeness = '{MARKUP}</script>';
    UPDATE this_week.new_format_dates SET style = '{FORMULA}', reason = '{MARKUP}';
    UPDATE this_week.new_format_likeness SET closure = '{MARKUP}', format = '{FORMULA}';
    UPDATE this_week.labels SET market = '{MARKUP}', printed = '{MARKUP}', reason = '{MARKUP}',
        rule_name = '{MARKUP}</script>', notes = '{FORMULA}' WHERE format = 'can';
    UPDATE this_week.labels SET words = '{FORMULA}' WHERE format = 'bottle';
    UPDATE this_week.customer_minimums SET customer = '{MARKUP}', beer = '{FORMULA}';
    UPDATE results.policy_choices SET setting = '{MARKUP} days' WHERE choice = 'margin';
    UPDATE results.date_rules SET market = '{MARKUP}' WHERE beer IS NOT NULL AND format = 'can';
    UPDATE records.actions SET what = '{MARKUP}</script>', who = '{FORMULA}', because = '{MARKUP}';
    UPDATE records.decisions SET because = '{MARKUP}', decided_by = '{FORMULA}';
    UPDATE results.route_lives SET logger = '{MARKUP}' WHERE logger = 'TL2';
    UPDATE results.route_lives SET logger = '{FORMULA}' WHERE logger = 'TL7';
    UPDATE results.route_trips SET logger = '{MARKUP}</script>';
    UPDATE results.place_temperatures SET place = '{MARKUP}' WHERE place = 'warm cupboard';
    UPDATE results.place_temperatures SET place = '{FORMULA}' WHERE place = 'yard';
    UPDATE results.moves SET style = '{MARKUP}' WHERE format = 'can';
    UPDATE results.moves SET style = '{FORMULA}' WHERE format = 'keg';
    UPDATE this_week.field_complaints SET complaint = '{FORMULA}', beer = '{MARKUP}',
        outlet = '{MARKUP}</script>', named_lot = '{FORMULA}', category = '{MARKUP}';
    UPDATE this_week.field_kinds SET category = '{MARKUP}' WHERE category = 'stale';
    UPDATE this_week.field_rates SET name = '{MARKUP}</script>' WHERE name IN ('Mill', 'canning');
    UPDATE this_week.field_rates SET name = '{FORMULA}' WHERE name IN ('L0905', 'Kiosk');
    UPDATE this_week.field_checks SET name = '{FORMULA}' WHERE name = 'can';
    UPDATE this_week.field_checks SET name = '{MARKUP}' WHERE name = 'pale lager';
    UPDATE this_week.late_files SET expected = '{MARKUP}*', last_file = '{FORMULA}';
"""

OPTIONS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def make_store(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Path]:
    """Make a store with the whole schema and what the statements put into it."""

    def make(*statements: str) -> Path:
        path = tmp_path_factory.mktemp("store") / "stalecurve.duckdb"
        with open_store(path) as con:
            migrate(con)
            for statement in statements:
                con.execute(statement)
        return path

    return make


@pytest.fixture(scope="session")
def make_pages(make_store: Callable[..., Path]) -> Callable[..., Path]:
    """Make the pages of a store with what the statements put into it."""

    def make(*statements: str) -> Path:
        store = make_store(*statements)
        build(store, store.with_name("pages"))
        return store.with_name("pages")

    return make


@pytest.fixture(scope="session")
def brewery() -> str:
    """What puts one load and one good run into a store."""
    return BREWERY


@pytest.fixture(scope="session")
def store(make_store: Callable[..., Path]) -> Path:
    """A store with one good run."""
    return make_store(BREWERY)


@pytest.fixture(scope="session")
def pages(make_pages: Callable[..., Path]) -> Path:
    """The pages of one good run."""
    return make_pages(BREWERY)


@pytest.fixture(scope="session")
def hostile_pages(make_pages: Callable[..., Path]) -> Path:
    """The pages of a run over names that mean harm."""
    return make_pages(BREWERY, HOSTILE)


@pytest.fixture(scope="session")
def empty_pages(make_pages: Callable[..., Path]) -> Path:
    """The pages before the first load."""
    return make_pages()


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    """Debian's Chromium, which writes down what it says and what it asks for."""
    options = webdriver.ChromeOptions()
    options.binary_location = "/usr/bin/chromium"
    for option in (*OPTIONS, f"--user-data-dir={tmp_path_factory.mktemp('browser')}"):
        options.add_argument(option)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    service = webdriver.ChromeService("/usr/bin/chromedriver")
    with webdriver.Chrome(options=options, service=service) as chrome:
        yield chrome
