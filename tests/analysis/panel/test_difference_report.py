"""The table of difference tests, judged."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl

from analysis.panel.difference_report import PAIRS, SIZES, TESTS, difference_report, sizes

DAY = date(2026, 3, 2)
LOTS = pl.DataFrame({"lot": ["A", "B", "C"], "format": "can", "beer": "Fen Pale"})
SAMPLES = pl.DataFrame(
    {
        "sample": ["A28", "B30", "C90", "F1", "F2"],
        "lot": ["A", "B", "C", "B", "C"],
        "format": "can",
        "storage_temp_c": [20.0, 20.0, 20.0, 4.0, 4.0],
        "placed_on": DAY,
        "pulled_on": [DAY + timedelta(days=days) for days in (28, 30, 90, 3, 5)],
    }
)


def made(*rows: tuple[str, str, str, int, int], method: str = "triangle") -> pl.DataFrame:
    """Return the table difference_tests: session, sample, control, answers, correct ones."""
    columns = ["session", "sample", "control", "assessments", "correct"]
    return pl.DataFrame(rows, schema=columns, orient="row").with_columns(
        tasted_on=pl.lit(DAY), method=pl.lit(method)
    )


def test_each_test_is_judged_and_knows_its_beers() -> None:
    """Eight of nine is a difference; both sides with lot, storage and days."""
    tests, judged, pairs, together = difference_report(
        made(("D1", "A28", "F1", 9, 8)), SAMPLES, LOTS
    )
    assert tests.schema == TESTS
    row = tests.row(0, named=True)
    assert (row["found"], row["critical"], row["first_size"], row["always_size"]) == (
        True,
        6,
        40,
        42,
    )
    assert (row["sample_lot"], row["sample_storage_temp_c"], row["sample_stored_days"]) == (
        "A",
        20.0,
        28,
    )
    assert (row["control_lot"], row["control_stored_days"]) == ("B", 3)
    assert judged[0][0].correct == 8
    assert (pairs.height, together) == (0, [])


def test_tests_of_one_pair_are_taken_together_whatever_the_lot() -> None:
    """28 and 30 days at 20 °C against young beer twice; 90 days stand alone."""
    table = made(("D1", "A28", "F1", 9, 5), ("D2", "B30", "F2", 8, 4), ("D3", "C90", "F1", 9, 9))
    _, _, pairs, together = difference_report(table, SAMPLES, LOTS)
    assert pairs.schema == PAIRS
    pair = pairs.row(0, named=True)
    assert pairs.height == 1
    assert (pair["tests"], pair["assessments"], pair["correct"]) == (2, 17, 9)
    assert (pair["sample_weeks"], pair["control_weeks"]) == (4, 0)
    assert together[0].added.assessments == 17


def test_a_difference_without_bound_is_null() -> None:
    """All correct: no d' is too large."""
    tests, *_ = difference_report(made(("D1", "A28", "F1", 9, 9), method="paired"), SAMPLES, LOTS)
    assert tests.select("d_prime", "d_prime_upper").row(0) == (None, None)
    assert tests["d_prime_lower"].item() > 0


def test_sizes_are_told_for_the_usual_number_of_answers() -> None:
    """The median of the tests; without tests what many take is told all the same."""
    told = sizes(
        made(("D1", "A28", "F1", 7, 5), ("D2", "B30", "F2", 8, 4), ("D3", "C90", "F1", 9, 9))
    )
    assert told.schema == SIZES
    assert set(told["assessments"]) == {8}
    row = told.filter(pl.col("method") == "triangle", pl.col("share") == 0.3).row(0, named=True)
    assert (round(row["power"], 2), row["first_size"], row["always_size"]) == (0.19, 40, 42)
    none = sizes(made().cast({"assessments": pl.Int32}))
    assert none["power"].null_count() == none.height == 10


def test_without_tests_all_is_empty_with_its_columns() -> None:
    """And nothing is judged."""
    table = made(("D1", "A28", "F1", 9, 8)).head(0)
    tests, judged, pairs, together = difference_report(table, SAMPLES, LOTS)
    assert (tests.schema, pairs.schema) == (TESTS, PAIRS)
    assert (tests.height, judged, pairs.height, together) == (0, [], 0, [])
