"""What the store publishes, read once into frames; the pages' whole input.

Nothing is computed here. A frame has the columns of its `published` view, in the view's order.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

import duckdb

from dashboards.errors import ResultsError

if TYPE_CHECKING:
    from pathlib import Path

    import polars as pl


@dataclass(frozen=True)
class Results:
    """One frame for each `published` view, named as the view.

    `run` has one row, or none before the first run; all others may be empty too. Ages and shelf
    lives are days, oxygen is ppb, temperatures are °C, shares run from 0 to 1.
    """

    run: pl.DataFrame
    best_before: pl.DataFrame
    dates: pl.DataFrame
    shelf_life: pl.DataFrame
    beer_dates: pl.DataFrame
    styles: pl.DataFrame
    curves: pl.DataFrame
    turnbull: pl.DataFrame
    pulls: pl.DataFrame
    arms: pl.DataFrame
    parameters: pl.DataFrame
    laws: pl.DataFrame
    lot_oxygen: pl.DataFrame
    entered_as_total: pl.DataFrame
    format_oxygen: pl.DataFrame
    flagged_sessions: pl.DataFrame
    cautions: pl.DataFrame
    attention: pl.DataFrame
    treatments: pl.DataFrame
    oxygen_effects: pl.DataFrame
    curvature: pl.DataFrame
    real_time: pl.DataFrame
    turnbull_bands: pl.DataFrame
    gaps: pl.DataFrame
    score_crossings: pl.DataFrame
    scores_left_out: pl.DataFrame
    back_test: pl.DataFrame
    back_test_calibration: pl.DataFrame
    trial_effects: pl.DataFrame
    oxygen_lines: pl.DataFrame
    oxygen_sources: pl.DataFrame
    run_positions: pl.DataFrame
    head_findings: pl.DataFrame
    heads: pl.DataFrame
    change_oxygen: pl.DataFrame
    change_days: pl.DataFrame
    meter_checks: pl.DataFrame
    meter_bias: pl.DataFrame
    meter_readings: pl.DataFrame
    meter_doubts: pl.DataFrame
    readings_in_doubt: pl.DataFrame
    doubt_by_format: pl.DataFrame
    meter_pairs: pl.DataFrame
    doubt_effects: pl.DataFrame
    panel_attributes: pl.DataFrame
    panel_resolution: pl.DataFrame
    panel_anova: pl.DataFrame
    assessor_scores: pl.DataFrame
    difference_tests: pl.DataFrame
    difference_pairs: pl.DataFrame
    difference_sizes: pl.DataFrame
    comparisons: pl.DataFrame
    ingress: pl.DataFrame
    format_ratios: pl.DataFrame
    format_gaps: pl.DataFrame
    levers: pl.DataFrame
    route_use: pl.DataFrame
    route_lives: pl.DataFrame
    route_trips: pl.DataFrame
    place_temperatures: pl.DataFrame
    moves: pl.DataFrame
    routes: pl.DataFrame
    loads: pl.DataFrame
    files: pl.DataFrame
    files_out: pl.DataFrame
    row_counts: pl.DataFrame
    set_aside: pl.DataFrame
    mentions: pl.DataFrame
    this_week: pl.DataFrame
    week_pulls: pl.DataFrame
    week_tastings: pl.DataFrame
    week_meter_checks: pl.DataFrame
    week_retained: pl.DataFrame
    week_late_files: pl.DataFrame
    week_ago: pl.DataFrame
    date_changes: pl.DataFrame
    lots: pl.DataFrame
    lot_packages: pl.DataFrame
    stock_summary: pl.DataFrame
    stock: pl.DataFrame
    stock_customers: pl.DataFrame
    trade_inquiries: pl.DataFrame
    date_rules: pl.DataFrame
    route_dates: pl.DataFrame
    market_dates: pl.DataFrame
    policy_choices: pl.DataFrame
    labels: pl.DataFrame
    customer_minimums: pl.DataFrame
    decisions: pl.DataFrame
    answers: pl.DataFrame
    reviews: pl.DataFrame
    actions: pl.DataFrame
    oxygen_charts: pl.DataFrame
    chart_points: pl.DataFrame
    chart_changes: pl.DataFrame
    oxygen_signals: pl.DataFrame
    oxygen_alerts: pl.DataFrame
    limit_changes: pl.DataFrame
    panel_sessions: pl.DataFrame
    waited_samples: pl.DataFrame
    order_effects: pl.DataFrame
    assessors: pl.DataFrame
    assessor_quarters: pl.DataFrame
    assessor_days: pl.DataFrame
    alike_names: pl.DataFrame
    new_formats: pl.DataFrame
    new_format_dates: pl.DataFrame
    new_format_likeness: pl.DataFrame
    field_summary: pl.DataFrame
    field_complaints: pl.DataFrame
    field_kinds: pl.DataFrame
    field_rates: pl.DataFrame
    field_looks: pl.DataFrame
    field_checks: pl.DataFrame

    @property
    def newest_run(self) -> dict[str, Any] | None:
        """The newest run by column name, or None before the first one."""
        return next(self.run.iter_rows(named=True), None)

    @property
    def newest_load(self) -> dict[str, Any] | None:
        """The newest load by column name, or None before the first one."""
        return next(self.loads.sort("load_id", descending=True).iter_rows(named=True), None)


def read_results(database: Path) -> Results:
    """Read every `published` view of a store that is opened read-only.

    Raises:
        ResultsError: The file is missing, another process writes to it, or it is no store of ours.
    """
    if not database.exists():
        message = f"there is no database {database.name} yet"
        raise ResultsError(message)
    try:
        with duckdb.connect(str(database), read_only=True) as con:
            return Results(
                **{
                    f.name: con.sql(f"SELECT * FROM published.{f.name}").pl()
                    for f in fields(Results)
                }
            )
    except duckdb.Error as error:
        message = f"the results in {database.name} cannot be read: {error}"
        raise ResultsError(message) from error
