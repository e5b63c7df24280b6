"""Verdicts to brackets: the widest-uncertainty rule."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.intervals import widest_brackets


def _verdicts(answers: str) -> pl.DataFrame:
    """One glass every ten days, A accepted, R rejected."""
    return pl.DataFrame(
        {
            "series": "one",
            "age": [10.0 * (place + 1) for place in range(len(answers))],
            "rejected": [answer == "R" for answer in answers],
        }
    )


@pytest.mark.parametrize(
    ("answers", "lower", "upper"),
    [
        ("AAARR", 30.0, 40.0),
        ("AAAA", 40.0, None),
        ("RRR", 0.0, 10.0),
        ("ARAR", 10.0, 40.0),  # back and forth widens
        ("AARA", 20.0, None),
        ("RAAR", 0.0, 40.0),
        ("RAA", 0.0, None),  # says nothing
    ],
)
def test_widest_uncertainty(answers: str, lower: float, upper: float | None) -> None:
    """Lower is the last age all accept up to, upper the first age all reject from."""
    bracket = widest_brackets(_verdicts(answers), ["series"], "age").row(0, named=True)
    assert (bracket["lower"], bracket["upper"]) == (lower, upper)
    assert (bracket["glasses"], bracket["rejections"]) == (len(answers), answers.count("R"))


def test_two_glasses_of_one_age_that_disagree_widen() -> None:
    """Accepted and rejected on one day is neither the last acceptance nor the first rejection."""
    twice = pl.concat([_verdicts("AR"), _verdicts("AA")]).with_columns(series=pl.lit("one"))
    later = pl.DataFrame({"series": ["one"], "age": [30.0], "rejected": [True]})
    bracket = widest_brackets(pl.concat([twice, later]), ["series"], "age").row(0, named=True)
    assert (bracket["lower"], bracket["upper"]) == (10.0, 30.0)


@given(st.text("AR", min_size=1, max_size=12), st.randoms())
def test_order_of_rows_does_not_matter(answers: str, rng: object) -> None:
    """A bracket is about ages, not about the order in which the rows came."""
    verdicts = _verdicts(answers)
    mixed = verdicts.sample(fraction=1.0, shuffle=True, seed=rng.randrange(2**31))  # type: ignore[attr-defined]
    by = ["series"]
    assert widest_brackets(mixed, by, "age").equals(widest_brackets(verdicts, by, "age"))


@given(st.text("AR", min_size=1, max_size=12))
def test_a_bracket_is_never_empty(answers: str) -> None:
    """Lower lies below upper, whatever was answered."""
    bracket = widest_brackets(_verdicts(answers), ["series"], "age").row(0, named=True)
    assert bracket["upper"] is None or bracket["lower"] < bracket["upper"]


@pytest.mark.parametrize("age", [0.0, None])
def test_an_age_of_zero_is_no_bracket(age: float | None) -> None:
    """Fresh servings tell false alarms, not ages; the caller must have kept them out."""
    verdicts = pl.DataFrame(
        {"series": ["one"], "age": [age], "rejected": [False]},
        schema_overrides={"age": pl.Float64},
    )
    with pytest.raises(InputError, match="no age above 0"):
        widest_brackets(verdicts, ["series"], "age")
