"""One year of a brewery, drawn from the stated truth: every input table, typed and without faults.

The frames have the shape in which the store hands rows to the analysis, so that the model can be
tried on many breweries without files; `make_demo` writes the same frames down as people would.
"""

from __future__ import annotations

import numpy as np
import polars as pl

from data_demo import (
    simulate_cellar,
    simulate_complaints,
    simulate_oxygen,
    simulate_panel,
    simulate_trade,
)
from pipelines.readers.contract import TABLES, Table

DEMO_SEED = 20261

_THIRD = 2  # of the lots of a style in a format

_DTYPES = {
    "number": pl.Float64(),
    "integer": pl.Int32(),
    "date": pl.Date(),
    "time": pl.Datetime("us"),
    "yes/no": pl.Boolean(),
}


def simulate(
    seed: int,
    *,
    lots_per_cell: int = 4,
    assessors: int = 12,
    attendance: float = 0.7,
    packages: tuple[int, int] = (3, 12),
    failed_seam: bool = False,
) -> dict[str, pl.DataFrame]:
    """Draw a brewery.

    Args:
        seed: of numpy's generator; the same seed gives the same brewery.
        lots_per_cell: lots of each style in each of its usual formats in the year.
        assessors: on the panel, at least three; the last but one drifts, the last guesses.
        attendance: chance that an assessor sits in a session, 0 to 1.
        packages: fewest and most packages a lot whose oxygen is measured.
        failed_seam: whether the bad head's seam failed on one lot of canned pale ale. Samples for
            tasting were taken from the other heads, so that the panel did not notice.

    Returns:
        One frame an input table, in the order in which tables refer to each other, with every
        column of the table and those that say where a row came from. Tastings carry the scores of
        `stale` and `hop_aroma` in `scores`, a JSON object.
    """
    rng = np.random.default_rng(seed)
    canned = (pl.col("style") == "pale ale") & (pl.col("format") == "can 440")
    fills = simulate_cellar.fill(rng, lots_per_cell).with_columns(
        seam_failed=canned & (pl.col("position") == _THIRD) & failed_seam
    )
    tasters = simulate_panel.draw_tasters(rng, assessors)
    cellar = simulate_cellar.cellar_tables(rng, fills)
    aged = simulate_panel.aged_samples(rng, fills)
    samples = pl.concat([aged, simulate_panel.fresh_controls(fills, aged)]).sort(
        "tasted_on", "sample"
    )
    shipped = simulate_trade.shipments(rng, cellar["lots"])
    tastings = simulate_panel.verdicts(rng, fills, samples, tasters, attendance)
    written = {
        **cellar,
        "oxygen": simulate_oxygen.readings(rng, fills, packages),
        "meter_checks": simulate_oxygen.meter_checks(rng),
        "assessors": simulate_panel.assessors_table(tasters),
        "samples": samples.drop("fill", "tasted_on"),
        "tastings": tastings.with_columns(scores=_scores("stale", "hop_aroma")),
        "difference_tests": simulate_panel.difference_tests(rng, samples),
        "complaints": simulate_complaints.complaints(np.random.default_rng(seed), fills, shipped),
        "temperature_log": simulate_trade.temperature_log(rng),
        "shipments": shipped,
    }
    return {name: _as_stored(written[name], table) for name, table in TABLES.items()}


def _scores(*attributes: str) -> pl.Expr:
    """Write the scores that a glass was given as a JSON object."""
    written = [pl.concat_str(pl.lit(f'"{name}": '), name) for name in attributes]
    inside = pl.concat_str(written, separator=", ", ignore_nulls=True)
    return pl.concat_str(pl.lit("{"), inside, pl.lit("}"))


def _as_stored(written: pl.DataFrame, table: Table) -> pl.DataFrame:
    """Type every column of the table, and say of each row that it came from no file."""
    columns: dict[str, pl.DataType] = {
        c.name: _DTYPES.get(c.kind, pl.String()) for c in table.columns
    }
    columns |= dict.fromkeys(table.derived, pl.String())
    return written.select(
        (pl.col(name) if name in written.columns else pl.lit(None)).cast(dtype).alias(name)
        for name, dtype in columns.items()
    ).with_columns(
        void=pl.lit(value=False),
        extra=pl.lit("{}"),
        file=pl.lit("simulated"),
        sheet=pl.lit(""),
        row_number=pl.int_range(2, pl.len() + 2, dtype=pl.Int32),
        row_key=pl.int_range(2, pl.len() + 2).cast(pl.String),
        load_id=pl.lit(1, dtype=pl.Int64),
    )
