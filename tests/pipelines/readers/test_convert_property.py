"""Cells read as values, held against what Python itself makes of them."""

from __future__ import annotations

import math
import re
from datetime import datetime

import polars as pl
from hypothesis import example, given, settings
from hypothesis import strategies as st

from pipelines.readers.contract import TABLES
from pipelines.readers.convert import DAY_FIRST, WRITTEN_FOR, WRITTEN_IN, convert
from pipelines.readers.site import Site

OXYGEN = TABLES["oxygen"]
DAY = r"(19|20|21)[0-9]{2}-[0-3][0-9]-[0-3][0-9]"
TIMES = st.from_regex(rf"\A{DAY}([T ][0-2][0-9]:[0-6][0-9](:[0-5][0-9](\.[0-9]{{1,6}})?)?)?\Z")
SLIPS = st.from_regex(r"\A[0-9]{2,5}-[0-9 ]{1,2}-[0-9]{1,2}([T ]{1,2}[0-9:.]{0,8})?Z?\Z")
NUMBERS = st.from_regex(r"\A[<>]?[ +-]?[0-9]{0,4}[.,]?[0-9]{0,4}([eE][+-]?[0-9]{1,3})?\Z")
WORDS = st.sampled_from(["inf", "nan", "-Infinity", "1_000", "0x10", "1e999", "one", "१२", "1 2"])


def read(column: str, texts: list[str]) -> list[object]:
    """Read texts as a column of oxygen readings."""
    names = [*(column.name for column in OXYGEN.columns), "void", WRITTEN_IN, WRITTEN_FOR]
    blank = pl.DataFrame({"row": range(len(texts))}).with_columns(
        pl.lit(None, dtype=pl.String).alias(name) for name in names
    )
    text = blank.with_columns(
        pl.Series(column, texts, dtype=pl.String), pl.lit(None, dtype=pl.Boolean).alias(DAY_FIRST)
    )
    typed, _ = convert(OXYGEN, text, Site())
    return typed[column].to_list()


def as_time(text: str) -> datetime | None:
    """A day or a local time in ISO's long form, of the years 1980 to 2100."""
    if not re.fullmatch(r"\d{4}-\d\d-\d\d([T ]\d\d:\d\d(:\d\d)?(\.\d+)?)?", text, re.ASCII):
        return None
    try:
        time = datetime.fromisoformat(text)
    except ValueError:
        return None
    return time if 1980 <= time.year <= 2100 else None


def as_number(text: str) -> float | None:
    """A decimal number; 1,234 could mean two things and means none."""
    text = re.sub(r"^[<>]\s*", "", text)
    if re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", text, re.ASCII):
        return None
    text = re.sub(r"^([+-]?\d+),(\d+)$", r"\1.\2", text, flags=re.ASCII)
    if not re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", text, re.ASCII):
        return None
    return float(text) if math.isfinite(float(text)) else None


@settings(deadline=None)  # a busy machine is no fault
@given(st.lists(TIMES | SLIPS, min_size=1, max_size=20))
@example(["2026-02-30", "2026-01-05 24:00", "1979-12-31 23:59:59", "2100-12-31T23:59"])
def test_a_time_is_what_iso_says(texts: list[str]) -> None:
    """However much of it is written, and nothing else is a time."""
    assert read("measured_at", texts) == [as_time(text) for text in texts]


@settings(deadline=None)  # a busy machine is no fault
@given(st.lists(NUMBERS | WORDS, min_size=1, max_size=20))
def test_a_number_is_what_it_looks_like(texts: list[str]) -> None:
    """Decimal commas and points, signs and powers; never words, and never a guess."""
    assert read("value", texts) == [as_number(text) for text in texts]
