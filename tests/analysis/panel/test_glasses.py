"""The panel's one frame."""

from __future__ import annotations

from datetime import date

import polars as pl

from analysis.panel.glasses import attribute_scores, glasses

DAY = date(2026, 3, 2)
SAMPLES = pl.DataFrame(
    {
        "sample": ["S1", "F1"],
        "lot": ["026097", "026097"],
        "format": ["can", "can"],
        "storage_temp_c": [20.0, 4.0],
        "placed_on": [DAY, DAY],
        "pulled_on": [date(2026, 4, 1), date(2026, 4, 6)],
        "role": ["aged", "fresh"],
    }
)
LOTS = pl.DataFrame(
    {
        "lot": ["026097"],
        "format": ["can"],
        "beer": ["Fen Pale"],
        "batch": pl.Series([None], dtype=pl.String),
        "packaged_on": [date(2026, 3, 1)],
    }
)
BEERS = pl.DataFrame({"beer": ["Fen Pale"], "style": ["pale ale"]})
TASTINGS = pl.DataFrame(
    {
        "session": "P1",
        "tasted_on": date(2026, 4, 6),
        "assessor": ["B", "A", "A", "A"],
        "sample": ["S1", "S1", "F1", "unknown"],
        "code": ["347", "912", "450", "118"],
        "position": [None, 2, 1, 3],
        "verdict": ["not sure", "reject", "accept", "reject"],
        "scores": ['{"stale":4.5,"body":2.0}', '{"stale":6.0}', "{}", "{}"],
    }
)


def test_a_glass_knows_its_beer_its_age_and_how_long_it_waited() -> None:
    """Thirty-one days from packaging to the pull, five more to the tasting."""
    found = glasses(TASTINGS, SAMPLES, LOTS, BEERS)
    assert found.select("assessor", "sample", "age_days", "waited_days", "batch").rows() == [
        ("A", "F1", 36, 0, "026097"),
        ("A", "S1", 31, 5, "026097"),
        ("B", "S1", 31, 5, "026097"),
    ]


def test_only_a_clear_answer_counts_as_one() -> None:
    """Neither an open verdict nor none at all is an accept."""
    found = glasses(TASTINGS, SAMPLES, LOTS, BEERS)
    assert found["rejected"].to_list() == [False, True, None]


def test_the_order_of_the_rows_does_not_matter() -> None:
    """The same tables in another order give the same frame."""
    turned = [table.reverse() for table in (TASTINGS, SAMPLES, LOTS, BEERS)]
    assert glasses(*turned).equals(glasses(TASTINGS, SAMPLES, LOTS, BEERS))


def test_scores_are_laid_out_and_missing_ones_left_out() -> None:
    """Each score that was given is one row; an attribute that nobody asks for is none."""
    found = attribute_scores(glasses(TASTINGS, SAMPLES, LOTS, BEERS), ["stale"])
    assert found.select("assessor", "attribute", "score").rows() == [
        ("A", "stale", 6.0),
        ("B", "stale", 4.5),
    ]


def test_without_attributes_there_are_no_scores() -> None:
    """The frame keeps its columns, so that nothing after it needs to ask."""
    some, none = (
        attribute_scores(glasses(TASTINGS, SAMPLES, LOTS, BEERS), names)
        for names in (["stale"], [])
    )
    assert none.schema == some.schema
    assert none.is_empty()
