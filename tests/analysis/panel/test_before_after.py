"""Before and after: which glasses are compared, and how their bounds are corrected."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analysis.panel.before_after import COMPARISONS, compare
from analysis.panel.questions import between, questions

DAY = date(2026, 1, 5)
PEOPLE = 8
PULLS = (0, 28, 56)


def tasted(
    rng: np.random.Generator, lots: pl.DataFrame, apart: dict[str, float], *, temp: float = 20.0
) -> pl.DataFrame:
    """Taste each lot at three ages, eight people each, in a session a lot and age.

    Args:
        rng: the randomness.
        lots: lot, format, beer, packaged_on, batch.
        apart: what a lot scores more.
        temp: of the storage, °C.
    """
    rows = [
        {
            "session": f"{lot['lot']}-{days}",
            "tasted_on": DAY,
            "assessor": f"A{person}",
            "sample": f"{lot['lot']}-{days}",
            "code": "347",
            "position": None,
            "verdict": "reject" if score > 5 else "accept",
            "rejected": score > 5,
            "scores": f'{{"stale": {score:.2f}}}',
            "role": "aged",
            "style": "pale ale",
            "beer": lot["beer"],
            "format": lot["format"],
            "lot": lot["lot"],
            "batch": lot["batch"],
            "storage_temp_c": temp,
            "placed_on": lot["packaged_on"],
            "pulled_on": lot["packaged_on"] + timedelta(days=days),
        }
        for lot in lots.iter_rows(named=True)
        for days in PULLS
        for person in range(PEOPLE)
        for score in [
            3 + days / 28 + 0.2 * person + apart.get(lot["lot"], 0.0) + rng.normal(0, 0.3)
        ]
    ]
    return pl.DataFrame(rows, schema_overrides={"position": pl.Int32})


def some_lots(**changes: object) -> pl.DataFrame:
    """Six lots of one beer, three in cans and three in bottles, a week apart."""
    lots = pl.DataFrame(
        {
            "lot": [f"C{n}" for n in range(3)] + [f"B{n}" for n in range(3)],
            "format": ["can"] * 3 + ["bottle"] * 3,
            "beer": "Fen Pale",
            "line": "one",
            "batch": [f"T{n}" for n in range(6)],
            "packaged_on": [DAY + timedelta(days=7 * n) for n in (0, 1, 2, 0, 1, 2)],
            "trial": pl.Series([None] * 6, dtype=pl.String),
        }
    )
    return lots.with_columns(**changes)


NO_CHANGES = pl.DataFrame(
    schema={
        "changed_on": pl.Date,
        "what": pl.String,
        "line": pl.String,
        "beer": pl.String,
        "format": pl.String,
    }
)


def test_formats_of_a_style_are_compared_by_themselves() -> None:
    """Cans score 1.5 more, and the bounds say so; both looks of the question share the error."""
    lots = some_lots()
    glasses = tasted(np.random.default_rng(1), lots, dict.fromkeys(("C0", "C1", "C2"), 1.5))
    found = compare(questions(glasses, lots, NO_CHANGES), ["stale"])
    assert found.schema == COMPARISONS
    assert found.select("kind", "subject", "first", "second", "attribute").rows() == [
        ("format", "pale ale", "bottle", "can", "stale"),
        ("format", "pale ale", "bottle", "can", None),
    ]
    stale = found.row(0, named=True)
    assert stale["difference_lower"] < 1.5 < stale["difference_upper"]
    assert stale["difference_lower"] > 0.5
    assert stale["difference"] == pytest.approx(stale["second_mean"] - stale["first_mean"])
    assert (stale["looks"], stale["level"]) == (2, pytest.approx(0.95))
    assert (stale["first_lots"], stale["second_lots"], stale["assessors"]) == (3, 3, PEOPLE)
    assert stale["kept"] == "20 °C for 0 to 56 days"


def test_only_like_storage_and_age_are_compared() -> None:
    """Warm cans beside cold bottles, or pulls weeks apart, say nothing of the formats."""
    lots = some_lots()
    rng = np.random.default_rng(2)
    cans = tasted(rng, lots.filter(pl.col("format") == "can"), {})
    bottles = tasted(rng, lots.filter(pl.col("format") == "bottle"), {}, temp=30.0)
    later = tasted(rng, lots.filter(pl.col("format") == "bottle"), {}).with_columns(
        pulled_on=pl.col("pulled_on") + pl.duration(days=13)
    )
    for other in (bottles, later):
        found = compare(questions(pl.concat([cans, other]), lots, NO_CHANGES), ["stale"])
        assert found["difference"].null_count() == found.height
        assert found["reason"].str.contains("n = 0 glasses of like storage and age").all()


def test_pulls_a_few_days_apart_go_together() -> None:
    """Three days at two months are about the same age."""
    lots = some_lots()
    glasses = tasted(np.random.default_rng(3), lots, {}).with_columns(
        pulled_on=pl.col("pulled_on")
        + pl.when(pl.col("format") == "can")
        .then(pl.duration(days=3))
        .otherwise(pl.duration(days=0))
    )
    found = compare(questions(glasses, lots, NO_CHANGES), ["stale"]).row(0, named=True)
    assert found["reason"] is None
    assert found["kept"] == "20 °C for 0 to 59 days"


def test_who_tasted_one_side_alone_is_left_out() -> None:
    """A person who never had the bottles counts for neither."""
    lots = some_lots()
    glasses = tasted(np.random.default_rng(4), lots, {}).filter(
        (pl.col("assessor") != "A0") | (pl.col("format") == "can")
    )
    found = compare(questions(glasses, lots, NO_CHANGES), ["stale"]).row(0, named=True)
    assert found["assessors"] == PEOPLE - 1
    assert found["first_glasses"] == found["second_glasses"] == 3 * 3 * (PEOPLE - 1)


def test_beer_sent_back_or_spiked_is_compared_with_nothing() -> None:
    """Only beer as it is sold counts."""
    lots = some_lots()
    glasses = tasted(np.random.default_rng(4), lots, {}).with_columns(role=pl.lit("returned"))
    assert compare(questions(glasses, lots, NO_CHANGES), ["stale"])["difference"].null_count() == 2


def test_a_trial_lot_is_held_against_its_neighbours() -> None:
    """It scores 2 more than two like lots; which are neither trials, nor other formats, nor old."""
    lots = some_lots(
        trial=pl.when(pl.col("lot") == "C1").then(pl.lit("new crown")), format=pl.lit("can")
    ).with_columns(
        packaged_on=pl.when(pl.col("lot") == "B2")
        .then(pl.lit(DAY - timedelta(days=90)))
        .otherwise("packaged_on")
    )
    glasses = tasted(np.random.default_rng(5), lots, {"C1": 2.0, "B2": 5.0})
    asked = [q for q in questions(glasses, lots, NO_CHANGES) if q.kind == "trial"]
    found = compare(asked, ["stale"]).row(0, named=True)
    assert found["subject"] == "lot C1 in can: new crown"
    assert (found["first"], found["second"]) == ("its neighbours", "lot C1")
    assert (found["first_lots"], found["second_lots"]) == (4, 1)
    assert found["difference_lower"] > 0.5


def test_a_change_is_seen_in_the_beer_before_and_after_it() -> None:
    """On its line, and not on another; the day is kept beside its words."""
    lots = some_lots(
        packaged_on=pl.Series([DAY + timedelta(days=10 * n) for n in range(6)]),
        format=pl.lit("can"),
    )
    after = dict.fromkeys(("B0", "B1", "B2"), -1.5)
    glasses = tasted(np.random.default_rng(6), lots, after)
    day = DAY + timedelta(days=25)
    changes = pl.DataFrame(
        {
            "changed_on": [day, day],
            "what": ["new filter", "new seamer"],
            "line": ["one", "two"],
            "beer": [None, None],
            "format": [None, None],
        },
        schema_overrides={"beer": pl.String, "format": pl.String},
    )
    found = compare(questions(glasses, lots, changes), ["stale"])
    filtered = found.row(0, named=True)
    assert (filtered["subject"], filtered["changed_on"]) == ("new filter (one)", day)
    assert filtered["difference_upper"] < -0.5
    assert found.filter(pl.col("subject") == "new seamer (two)")["difference"].null_count() == 2


def test_two_lots_of_one_session_rest_on_the_people_alone() -> None:
    """And it is marked, for another day would add something."""
    lots = some_lots().filter(pl.col("lot").is_in(["C0", "C1"]))
    glasses = tasted(np.random.default_rng(7), lots, {"C1": 1.0}).filter(
        pl.col("sample").str.ends_with("-28")
    )
    together = glasses.with_columns(session=pl.lit("P1"))
    found = compare([between("lot", "both", "C0", "C1", together)], ["stale"]).row(0, named=True)
    assert found["one_session"]
    assert found["difference_lower"] > 0.3
    apart = compare([between("lot", "both", "C0", "C1", glasses)], ["stale"]).row(0, named=True)
    assert apart["reason"] == "too few to say (n = 1 and 1 session)"


def test_beers_are_compared_format_by_format() -> None:
    """Another beer in cans alone is held against cans."""
    lots = some_lots(
        beer=pl.when(pl.col("lot").is_in(["C1", "C2"])).then(pl.lit("Straw Hat")).otherwise("beer")
    )
    more = pl.concat(
        [
            lots,
            lots.filter(pl.col("lot") == "C0").with_columns(lot=pl.lit("C9"), batch=pl.lit("T9")),
        ]
    )
    glasses = tasted(np.random.default_rng(8), more, {"C1": 1.0, "C2": 1.0, "B0": 9.0})
    asked = between("beer", "both", "Fen Pale", "Straw Hat", glasses)
    found = compare([asked], ["stale"]).row(0, named=True)
    assert (found["first_lots"], found["second_lots"]) == (2, 2)
    assert found["difference"] == pytest.approx(1.0, abs=0.4)


def test_without_tastings_there_is_nothing_to_compare() -> None:
    """No question, an empty frame with its columns; attributes may be none."""
    lots = some_lots()
    glasses = tasted(np.random.default_rng(9), lots, {})
    assert compare(questions(glasses.head(0), lots, NO_CHANGES), ["stale"]).is_empty()
    only = compare(questions(glasses, lots, NO_CHANGES), [])
    assert only["attribute"].to_list() == [None]
