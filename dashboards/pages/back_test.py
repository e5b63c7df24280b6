"""The page of the back-test: each lot predicted by a fit that had not seen it."""

from __future__ import annotations

from math import exp
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import charts, theme, words
from dashboards.page import Chart, Column, Key, Page, Row, Table, rows, run_source
from dashboards.pages import back_test_field

if TYPE_CHECKING:
    from dashboards.results import Results

SHELF = f"25{words.NBSP}°C"
EMPTY = (
    "No back-test yet: it needs an estimate from two lots at least. Verdicts on aged samples fill "
    "this: the tables samples and tastings."
)


def page(results: Results) -> Page:
    """Return the page of the back-test."""
    bands, lots, trade = _bands(results), _lots(results), back_test_field.table(results)
    return Page(
        file="back-test.html",
        title="Back-test",
        template="back_test.html",
        context={
            "lead": _lead(results.back_test),
            "beside_printed": _beside_printed(results.back_test),
            "chart": _chart(results.back_test_calibration),
            "bands": bands,
            "lots": lots,
            "trade_says": back_test_field.sentence(results),
            "trade": trade,
            "empty": EMPTY,
        },
        tables=(bands, lots, trade),
    )


def _lead(lots: pl.DataFrame) -> str:
    if lots.is_empty():
        return ""
    sums = lots.select(pl.col("expected", "rejected", "verdicts").sum()).row(0, named=True)
    return (
        f"Each lot predicted by a fit that had not seen it: {words.whole(sums['expected'])} "
        f"rejections expected, {words.whole(sums['rejected'])} seen, of "
        f"{words.count(sums['verdicts'], 'verdict')} on {words.count(lots.height, 'lot')}."
    )


def _beside_printed(lots: pl.DataFrame) -> str:
    """Compare the prediction with one that knows the printed date alone."""
    dated = lots.filter(pl.col("printed_verdicts") > 0).drop_nulls("baseline_log_score")
    if dated.is_empty():
        return (
            f"Nothing to compare with: no lot with a printed date was tasted at {SHELF} or below. "
            f"The column best_before of the table lots fills this."
        )
    ours, printed = (
        round(100 * exp(_mean(dated, name, "printed_verdicts")))
        for name in ("printed_log_score", "baseline_log_score")
    )
    verdicts = words.count(sum(dated["printed_verdicts"].to_list()), "verdict")
    how = "as often"
    if ours != printed:
        how = "less often" if printed < ours else "more often"
    return (
        f"A date that knew only the printed day would have been right {how}: what the tasters "
        f"answered had a chance of {ours}{words.NBSP}% by the prediction, and of "
        f"{printed}{words.NBSP}% if every beer kept to its printed date (average over {verdicts} "
        f"on beer kept at {SHELF} or below)."
    )


def _mean(lots: pl.DataFrame, score: str, weight: str) -> float:
    """Return a mean over verdicts from the means of their lots."""
    total: float = lots.select((pl.col(score) * pl.col(weight)).sum() / pl.col(weight).sum()).item()
    return total


def _said(band: dict[str, Any]) -> str:
    return (
        f"{words.percent(round(band['expected'], 2))} expected, "
        f"{words.percent(round(band['rejected'], 2))} of {words.whole(band['verdicts'])} rejected"
    )


def _chart(bands: pl.DataFrame) -> Chart | None:
    if bands.is_empty():
        return None
    return Chart(
        name="calibration",
        title="Rejected, by what was expected",
        summary=f"{'; '.join(_said(b) for b in bands.iter_rows(named=True))}.",
        caption=(
            "Verdicts are gathered by the chance of a rejection that was predicted for them; the "
            "number beside each point counts them. Above the line more was rejected than expected, "
            "below it less. A point of few verdicts may lie off by chance."
        ),
        key=(Key("point", "rejected"), Key("line", "as expected", theme.FORECAST)),
        spec=charts.calibration(bands),
    )


def _bands(results: Results) -> Table:
    return Table(
        name="back-test-bands",
        caption="Verdicts by the chance of a rejection that was predicted",
        columns=(
            Column("Predicted, %"),
            Column("Verdicts", figures=True),
            Column("Expected, %", figures=True),
            Column("Rejected, %", figures=True),
        ),
        rows=rows(
            (
                f"{words.whole(100 * b['expected_from'])} to {words.whole(100 * b['expected_to'])}",
                words.whole(b["verdicts"]),
                words.figure(100 * b["expected"], 1),
                words.figure(100 * b["rejected"], 1),
            )
            for b in results.back_test_calibration.rows(named=True)
        ),
        frame=results.back_test_calibration.drop("run_id"),
        source=run_source(results),
        empty=EMPTY,
    )


def _lots(results: Results) -> Table:
    lots = results.back_test.sort("style", "format", "lot")
    return Table(
        name="back-test-lots",
        caption="Each lot, predicted from all the others",
        columns=(
            Column("Lot"),
            Column("Style, format"),
            Column("Rejected", figures=True),
            Column("Expected", figures=True),
            Column("Chance of what was answered, %", figures=True, wide=True),
            Column("On dated beer, %", figures=True, wide=True),
            Column("By printed day, %", figures=True, wide=True),
        ),
        rows=tuple(_row(lot) for lot in lots.rows(named=True)),
        frame=lots.drop("run_id"),
        source=run_source(results),
        empty=EMPTY,
    )


def _row(lot: dict[str, Any]) -> Row:
    ours, dated, printed = (
        words.NOTHING if lot[name] is None else words.whole(100 * exp(lot[name]))
        for name in ("log_score", "printed_log_score", "baseline_log_score")
    )
    return Row(
        (
            lot["lot"],
            f"{lot['style']}, {lot['format'].replace(' ', words.NBSP)}",
            words.of(lot["rejected"], lot["verdicts"]),
            words.figure(lot["expected"], 1),
            ours,
            dated,
            printed,
        ),
        narrow=f"Chance of what was answered: {ours}{words.NBSP}%; on dated beer {dated}"
        f"{words.NBSP}%, by the printed day {printed}{words.NBSP}%.",
    )
