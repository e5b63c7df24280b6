"""What is gathered before anything is fitted: ages, doses, and what is left out."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest

from analysis.staling.evidence import Evidence, gather

PACKAGED_ON = date(2031, 3, 4)
BEFORE_C = 4.0


def _day(number: int) -> date:
    return PACKAGED_ON + timedelta(days=number)


def _gathered(
    samples: list[tuple[str, float, int, int, str | None]],
    tastings: list[tuple[str, str, str]],
    *,
    lots: tuple[tuple[str, str], ...] = (("one", "can"),),
    oxygen: dict[tuple[str, str], tuple[int, float | None]] | None = None,
) -> Evidence:
    """Gather samples (name, °C, days placed and pulled, role) of lot one and tastings of them.

    A tasting is an assessor, a sample and a verdict; oxygen is packages read and ppb, by lot.
    """
    given = oxygen or {}
    named = pl.DataFrame(list(lots), schema=["lot", "format"], orient="row")
    return gather(
        pl.DataFrame({"beer": ["Fen Pale"], "style": ["pale ale"]}),
        named.with_columns(
            beer=pl.lit("Fen Pale"),
            packaged_on=pl.lit(PACKAGED_ON),
            best_before=pl.lit(None, pl.Date),
            packages=pl.lit(5_000),
            **dict.fromkeys(("batch", "line", "trial"), pl.lit(None, pl.String)),
        ),
        pl.DataFrame(
            [
                (name, "one", "can", temp_c, _day(placed), _day(pulled), None, role)
                for name, temp_c, placed, pulled, role in samples
            ],
            schema={
                **dict.fromkeys(("sample", "lot", "format"), pl.String),
                "storage_temp_c": pl.Float64,
                **dict.fromkeys(("placed_on", "pulled_on"), pl.Date),
                "before_placing_temp_c": pl.Float64,
                "role": pl.String,
            },
            orient="row",
        ),
        pl.DataFrame(
            [("S", PACKAGED_ON, *tasting) for tasting in tastings],
            schema={
                "session": pl.String,
                "tasted_on": pl.Date,
                **dict.fromkeys(("assessor", "sample", "verdict"), pl.String),
            },
            orient="row",
        ),
        pl.DataFrame(
            [(*lot, *given.get(lot, (0, None)), 0.5, None) for lot in lots],
            schema={
                **dict.fromkeys(("lot", "format"), pl.String),
                "packages": pl.Int32,
                **dict.fromkeys(
                    ("total_oxygen_ppb", "ingress_ppb_per_day", "dose_ppb"), pl.Float64
                ),
            },
            orient="row",
        ),
        before_placing_c=BEFORE_C,
    )


def test_beer_pulled_on_the_day_it_was_placed_has_aged_where_it_stood_before() -> None:
    """A fortnight at 4 °C and none in the cupboard: all its days are days at 4 °C."""
    found = _gathered([("warm", 30.0, 14, 42, None), ("at once", 30.0, 14, 14, None)], [])
    stood = ["storage_temp_c", "stored_days", "before_days", "age_days", "aged"]
    by_sample = {row[0]: row[1:] for row in found.samples.select("sample", *stood).iter_rows()}
    assert by_sample == {
        "warm": (30.0, 28.0, 14.0, 42.0, True),
        "at once": (BEFORE_C, 14.0, 0.0, 14.0, True),
    }


@pytest.mark.parametrize(("role", "pulled"), [("fresh", 14), ("aged", 0)])
def test_fresh_beer_has_not_aged(role: str, pulled: int) -> None:
    """Neither a blind fresh control, whatever its days, nor a sample pulled at packaging."""
    assert _gathered([("control", 4.0, pulled, pulled, role)], []).samples["aged"].to_list() == [
        False
    ]


def test_samples_of_impossible_days_are_left_out_and_counted() -> None:
    """Placed before packaging, or pulled before it was placed: neither it nor its verdicts count.

    A lot's day may be corrected after its samples came in, so no check of a load can tell.
    """
    found = _gathered(
        [
            ("sound", 20.0, 0, 30, None),
            ("early", 20.0, -1, 30, None),
            ("early at once", 20.0, -1, -1, None),
            ("backwards", 20.0, 20, 10, None),
        ],
        [("A", name, "reject") for name in ("sound", "early", "early at once", "backwards")],
    )
    assert found.impossible == 3
    assert found.samples["sample"].to_list() == ["sound"]
    assert found.servings["sample"].to_list() == ["sound"]
    assert found.series.height == found.brackets.height == 1


@pytest.mark.parametrize(("rejecting", "left_out"), [(1, 1), (2, 2), (3, 0), (4, 0)])
def test_at_most_half_of_those_who_had_fresh_beer_are_left_out(
    rejecting: int, left_out: int
) -> None:
    """Where more reject it the beer is suspect; who had none of it has no say in that."""
    fresh = [(f"fresh {n}", 4.0, 0, 0, "fresh") for n in range(6)]
    tastings = [
        (f"taster {who}", sample, "reject" if who < rejecting else "accept")
        for who in range(4)
        for sample, *_ in fresh
    ] + [(f"absent {n}", "old", "accept") for n in range(8)]
    found = _gathered([*fresh, ("old", 20.0, 0, 30, None)], tastings)
    assert found.astray == left_out
    assert found.servings["assessor"].n_unique() == 12 - left_out


def test_only_a_reading_makes_oxygen_measured() -> None:
    """A mean lent to a lot without readings is none of its own; nor are the packages filled."""
    lots = (("one", "can"), ("two", "can"), ("three", "keg"))
    read = {("one", "can"): (3, 50.0), ("two", "can"): (0, 50.0)}
    found = _gathered([], [], lots=lots, oxygen=read).lots
    assert dict(found.select("lot", "oxygen_from").iter_rows()) == {
        "one": "measured",
        "two": "cell",
        "three": "assumed",
    }
    unread = {("one", "can"): (0, 50.0), ("two", "can"): (0, 50.0)}
    found = _gathered([], [], lots=lots, oxygen=unread).lots
    assert set(found["oxygen_from"]) == {"assumed"}
