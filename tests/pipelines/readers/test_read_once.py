"""A text is read the same however often it stands in its column, and times as the standard has."""

from __future__ import annotations

from datetime import datetime

import polars as pl
from hypothesis import given
from hypothesis import strategies as st

from pipelines.readers.contract import TABLES
from pipelines.readers.convert import DAY_FIRST, WRITTEN_FOR, WRITTEN_IN, convert
from pipelines.readers.site import Site

CHECKS = TABLES["meter_checks"]
WORDS = st.sampled_from(
    [
        "",
        "1",
        "1,5",
        "1.234",
        "-2",
        "<3",
        "ppb",
        "PPM",
        "zero",
        "air",
        "2026-04-07",
        "#N/A",
        "x",
        "2026-04-07T10:00",
        "2026-04-07 10:00:59",
        "2026-02-30",
        "2026-04-07 10:00:59.25",
        "nan",
    ]
)


def _text(columns: dict[str, list[str]]) -> pl.DataFrame:
    rows = len(next(iter(columns.values())))
    every = [column.name for column in CHECKS.columns] + ["void"]
    return pl.DataFrame({name: columns.get(name, [""] * rows) for name in every}).with_columns(
        pl.col(pl.String).replace("", None),
        pl.int_range(rows).alias("row"),
        pl.lit(None, dtype=pl.Boolean).alias(DAY_FIRST),
        pl.lit(None, dtype=pl.String).alias(WRITTEN_FOR),
        pl.lit(None, dtype=pl.String).alias(WRITTEN_IN),
    )


@given(st.lists(st.tuples(WORDS, WORDS, WORDS, WORDS, WORDS), min_size=1, max_size=4))
def test_a_text_is_read_alike_once_and_often(rows: list[tuple[str, ...]]) -> None:
    """Values and faults of a column are those of its rows alone, nine times over."""
    names = ("checked_at", "standard", "expected", "unit", "meter")
    once = _text({name: list(cells) for name, *cells in zip(names, *rows, strict=True)})
    often = pl.concat([once] * 9).with_columns(row=pl.int_range(once.height * 9))
    value, faults = convert(CHECKS, once, Site())
    values, all_of_them = convert(CHECKS, often, Site())
    assert values.drop("row").equals(pl.concat([value.drop("row")] * 9), null_equal=True)
    told = all_of_them.with_columns(pl.col("row") % once.height).unique().sort(pl.all())
    assert told.equals(faults.unique().sort(pl.all()))


@given(
    at=st.datetimes(datetime(1980, 1, 1), datetime(2100, 12, 31)),  # noqa: DTZ001 - local
    sep=st.sampled_from(["T", " "]),
    to=st.sampled_from(["minutes", "seconds", "milliseconds", "microseconds"]),
)
def test_times_are_read_as_the_standard_has_them(at: datetime, sep: str, to: str) -> None:
    """ISO 8601 as the standard library writes it, to whatever part of a second."""
    written = at.isoformat(sep, timespec=to)
    typed, faults = convert(CHECKS, _text({"checked_at": [written]}), Site())
    assert typed["checked_at"].item() == datetime.fromisoformat(written)
    assert "checked_at" not in faults["column_name"]


def test_a_time_is_not_read_from_something_like_it() -> None:
    """What is no day or time of day gives no value, each with its fault."""
    odd = ["2026-4-7", "2026-04-07 24:00", "2026-02-30", "2026-04-07 1:02", "2026-04-07 10:11.5"]
    typed, faults = convert(CHECKS, _text({"checked_at": odd}), Site())
    assert typed["checked_at"].null_count() == len(odd)
    assert faults.filter(column_name="checked_at").height == len(odd)
