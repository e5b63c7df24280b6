"""The oxygen of one format beside another's: same beer, same batch or weeks."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest

from analysis.line.formats import format_ratios

DAY = date(2031, 3, 3)
LOT = {
    **dict.fromkeys(("lot", "format", "beer", "batch", "line"), pl.String),
    "packaged_on": pl.Date,
    **dict.fromkeys(("total_oxygen_ppb", "at_least_ppb"), pl.Float64),
}


def lot(format_: str, total: float | None, **own: object) -> dict[str, Any]:
    """Make a lot of pale ale, filled on one line on one day."""
    usual = {"beer": "pale", "line": "one", "packaged_on": DAY, "total_oxygen_ppb": total}
    return {"format": format_} | usual | own


def ratios(*lots: dict[str, Any]) -> pl.DataFrame:
    """Compare the formats of these lots."""
    made = [{"lot": f"L{place:03}"} | row for place, row in enumerate(lots)]
    frame = pl.DataFrame(made, schema=LOT)
    oxygen = frame.select("lot", "format", "total_oxygen_ppb", "at_least_ppb")
    return format_ratios(oxygen, frame.drop("total_oxygen_ppb", "at_least_ppb"))


def test_formats_of_one_batch_are_a_pair() -> None:
    """Three batches at 1.5, 2 and 3 times: the geometric mean, with a t interval of two df."""
    found = ratios(
        *(
            lot(format_, total * times, batch=f"B{place}", packaged_on=DAY + timedelta(99 * place))
            for place, (total, times) in enumerate([(40.0, 1.5), (60.0, 2.0), (80.0, 3.0)])
            for format_, times in (("can", 1.0), ("bottle", times))
        )
    ).row(0, named=True)
    assert (found["format"], found["other_format"]) == ("bottle", "can")
    assert found["ratio"] == pytest.approx(9.0 ** (1 / 3))
    assert found["ratio_lower"] < found["ratio"] < found["ratio_upper"]
    assert (found["pairs"], found["pairs_by_batch"], found["lots"]) == (3, 3, 3)


def test_lots_that_no_batch_pairs_are_paired_by_beer_and_weeks() -> None:
    """Same beer in the same four weeks is a pair; another beer, or months apart, is none."""
    start = date.fromordinal(date(1970, 1, 1).toordinal() + 28 * 800)
    found = ratios(
        lot("bottle", 90.0, packaged_on=start),
        lot("bottle", 110.0, batch="B1", packaged_on=start + timedelta(20)),
        lot("can", 50.0, batch="B2", packaged_on=start + timedelta(27)),
        lot("can", 500.0, packaged_on=start + timedelta(28)),
        lot("can", 500.0, beer="stout", packaged_on=start),
    ).row(0, named=True)
    assert (found["pairs"], found["pairs_by_batch"]) == (1, 0)
    assert (found["lots"], found["other_lots"]) == (2, 1)
    assert found["ratio"] == pytest.approx((90.0 * 110.0) ** 0.5 / 50.0)
    assert found["ratio_lower"] is None


def test_a_lot_counts_in_one_pair_only() -> None:
    """What a batch has paired is not paired once more by its weeks."""
    found = ratios(
        lot("bottle", 60.0, batch="B1"), lot("can", 60.0, batch="B1"), lot("can", 30.0)
    ).row(0, named=True)
    assert (found["pairs"], found["pairs_by_batch"], found["ratio"]) == (1, 1, 1.0)


def test_a_lot_known_as_a_bound_makes_its_pair_a_bound() -> None:
    """At least 200 beside 50 says more than four times: above the mean as if it were clean."""
    clean = [
        lot(format_, total, batch=f"B{place}")
        for place, times in enumerate((1.5, 2.0, 3.0))
        for format_, total in (("can", 50.0), ("bottle", 50.0 * times))
    ]
    late = [lot("can", 50.0, batch="B9"), lot("bottle", None, batch="B9", at_least_ppb=200.0)]
    found = ratios(*clean, *late).row(0, named=True)
    as_if_clean = ratios(*clean, late[0], lot("bottle", 200.0, batch="B9")).row(0, named=True)
    assert (found["pairs"], found["pairs_bounds"]) == (4, 1)
    assert found["ratio"] > as_if_clean["ratio"]
    alone = ratios(*late).row(0, named=True)
    assert (alone["pairs_bounds"], alone["ratio"]) == (1, None)


def test_each_line_is_compared_for_itself() -> None:
    """A can of the mobile line beside the bottle is another comparison than our own can."""
    found = ratios(
        lot("bottle", 60.0, batch="B1"),
        lot("can", 60.0, batch="B1"),
        lot("can", 120.0, batch="B1", line="mobile"),
    )
    assert dict(found.select("line", "ratio").iter_rows()) == {"one": 1.0, "mobile": 2.0}


def test_nothing_to_compare_is_no_row() -> None:
    """One format, or none, or two that share neither batch nor weeks."""
    assert ratios().is_empty()
    assert ratios(lot("can", 50.0), lot("can", 60.0)).is_empty()
    assert ratios(lot("can", 50.0), lot("bottle", 60.0, beer="stout")).is_empty()


def test_the_interval_holds_a_planted_ratio_nine_times_in_ten() -> None:
    """Of 120 breweries with eight batches, 1.3 times as much, 98 to 117 hold it."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(120):
        shared, own = rng.normal(0.0, 0.3, 8), rng.normal(0.0, 0.25, (8, 2))
        totals = np.exp(np.log(60.0) + shared[:, None] + own) * [1.0, 1.3]
        (found,) = ratios(
            *(
                lot(format_, totals[batch, side], batch=f"B{batch}")
                for batch in range(8)
                for side, format_ in enumerate(("can", "bottle"))
            )
        ).rows(named=True)
        bounds = (found["ratio_lower"], found["ratio_upper"])
        true = 1.3 if found["format"] == "bottle" else 1.0 / 1.3
        held += bounds[0] <= true <= bounds[1]
    assert 98 <= held <= 117
