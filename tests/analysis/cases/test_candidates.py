"""Lots that a complaint may be about."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.cases.candidates import Told, candidates

MARCH = date(2026, 3, 1)


def at(day: date, hour: int) -> datetime:
    """Return an hour of a day."""
    return datetime.combine(day, time(hour))


LOTS = pl.DataFrame(
    {
        "lot": ["26010-01", "26010-01", "26024-02", "26038-03", "26060-04"],
        "format": ["can", "keg", "can", "can", "can"],
        "kind": ["can", "keg", "can", "can", "can"],
        "beer": ["Pale", "Pale", "Stout", "Pale", "Pale"],
        "packaged_on": [date(2026, 1, d) for d in (10, 10, 24)] + [date(2026, 2, 7), MARCH],
        "best_before": [date(2026, m, d) for m, d in ((6, 8), (3, 30), (6, 30), (8, 6), (9, 1))],
        "printed_code": ["L26010-01", "L26010-01", "L26024-02", None, None],
        "started_at": [at(date(2026, 1, 10), 8), None, at(date(2026, 1, 24), 14), None, None],
        "ended_at": [at(date(2026, 1, 10), 12), None, at(date(2026, 1, 24), 18), None, None],
        "packages": [3000, 100, 3000, 3000, 3000],
        "status": ["released", None, "released", "released", "released"],
    },
)
SHIPMENTS = pl.DataFrame(
    {
        "lot": ["26010-01", "26010-01", "26024-02", "26038-03"],
        "format": ["can", "keg", "can", "can"],
        "shipped_on": [date(2026, 2, 1)] * 4,
        "packages": [3000, 100, 3000, 3000],
        "customer": ["Harbour", "Taproom", "Corner shop", None],
        "best_before": [None] * 4,
    },
    schema_overrides={"best_before": pl.Date},
)
TOLD = Told(MARCH)
CUSTOMERS = ["Harbour", "Taproom", "Corner shop"]


def odds(told: Told, lots: pl.DataFrame = LOTS, shipments: pl.DataFrame = SHIPMENTS) -> dict:
    """Return the odds by lot and format."""
    found = candidates(told, lots, shipments)
    return {(lot, form): share for lot, form, share in found.select("lot", "format", "odds").rows()}


def test_without_any_hint_packages_in_the_trade_decide() -> None:
    """What was packaged that very day cannot be drunk yet; thirty times fewer kegs count fewer."""
    found = odds(TOLD)
    assert sum(found.values()) == pytest.approx(1.0)
    assert found[("26010-01", "can")] == pytest.approx(found[("26038-03", "can")])
    assert found[("26010-01", "keg")] < 0.1 * found[("26010-01", "can")]
    assert found[("26060-04", "can")] < 0.01


@pytest.mark.parametrize(
    ("told", "likeliest", "how"),
    [
        ({"printed_date": date(2026, 6, 30)}, "26024-02", "yes"),
        ({"printed_date": date(2026, 8, 6)}, "26038-03", "yes"),
        ({"printed_date": date(2026, 6, 8), "beer": "stout"}, "26024-02", "month"),
        (
            {"printed_date": date(2026, 8, 6), "lot": "26010-01", "format": "can"},
            "26010-01",
            "swapped",
        ),
    ],
)
def test_a_printed_date_finds_its_lot(told: dict, likeliest: str, how: str) -> None:
    """The day itself, day and month swapped, or its month."""
    if how == "swapped":
        lots = LOTS.with_columns(best_before=pl.lit(date(2026, 6, 8)))
        found = candidates(replace(TOLD, **told), lots, SHIPMENTS)
    else:
        found = candidates(replace(TOLD, **told), LOTS, SHIPMENTS)
    assert (found["lot"][0], found["date_fits"][0]) == (likeliest, how)
    assert found["odds"][0] > 0.9


@pytest.mark.parametrize("code", ["09:12", "L 0912", "9.12 h", "LINE2 8h59", "12:03"])
def test_a_time_of_filling_speaks_for_the_run_that_it_lies_in(code: str) -> None:
    """However the printer writes it; five minutes more are allowed."""
    found = candidates(replace(TOLD, code_time=code, format="can"), LOTS, SHIPMENTS)
    by_lot = dict(found.select("lot", "time_fits").rows())
    assert by_lot == {
        "26010-01": "yes",
        "26024-02": "no",
        "26038-03": "unknown",
        "26060-04": "unknown",
    }
    assert found["lot"][0] == "26010-01"


def test_a_run_past_midnight_holds_both_its_ends() -> None:
    """Ten in the evening to two in the morning."""
    lots = LOTS.with_columns(
        started_at=pl.lit(at(date(2026, 1, 10), 22)), ended_at=pl.lit(at(date(2026, 1, 11), 2))
    )
    fits = [
        candidates(replace(TOLD, code_time=code), lots, SHIPMENTS)["time_fits"][0]
        for code in ("23:10", "01:30", "03:00")
    ]
    assert fits == ["yes", "yes", "no"]


@pytest.mark.parametrize("lot", ["26010-01", "L26010 01", "26010/01 ", "l26010-01"])
def test_a_lot_of_ours_leaves_its_own_formats_alone(lot: str) -> None:
    """Signs and case do not matter; the code as printed is the lot too."""
    assert odds(replace(TOLD, lot=lot)).keys() == {("26010-01", "can"), ("26010-01", "keg")}


def test_a_lot_that_is_nearly_ours_is_likely_meant() -> None:
    """One wrong figure: that lot first, the others still there."""
    found = odds(replace(TOLD, lot="26024-03", format="can"))
    assert next(iter(found)) == ("26024-02", "can")
    assert len(found) == 4


def test_a_code_read_off_whole_holds_the_lot() -> None:
    """Code and time in one line."""
    found = candidates(replace(TOLD, code_time="L26024-02 16:01"), LOTS, SHIPMENTS)
    assert found.row(0, named=True) | {"odds": 0} == found.row(0, named=True) | {
        "odds": 0,
        "lot": "26024-02",
        "time_fits": "yes",
        "code_fits": "yes",
    }


def test_an_outlet_that_is_a_customer_points_to_what_it_got() -> None:
    """Written in its own way; what went elsewhere counts a twentieth, an outlet unknown nothing."""
    found = candidates(replace(TOLD, outlet="CORNER-SHOP", format="can"), LOTS, SHIPMENTS)
    assert found["lot"][0] == "26024-02"
    assert found["odds"][0] > 0.85
    assert found["at_outlet"].to_list()[0] > 0
    stranger = candidates(replace(TOLD, outlet="Somewhere", format="can"), LOTS, SHIPMENTS)
    assert stranger["at_outlet"].null_count() == stranger.height
    assert odds(replace(TOLD, outlet="Somewhere")) == pytest.approx(odds(TOLD))


def test_what_never_left_or_came_later_is_no_candidate() -> None:
    """Held lots without a shipment, lots of a later day; a lot without packages counts as usual."""
    lots = LOTS.with_columns(status=pl.lit("held"), packages=pl.lit(None, pl.Int64))
    assert set(odds(TOLD, lots)) == set(SHIPMENTS.select("lot", "format").rows())
    assert odds(replace(TOLD, day=date(2026, 1, 1))) == {}
    assert odds(TOLD, lots.with_columns(status=None))[("26060-04", "can")] > 0.0


def test_without_shipments_packages_packed_count() -> None:
    """A brewery that writes no shipments down."""
    found = odds(replace(TOLD, printed_date=date(2026, 6, 8)), shipments=SHIPMENTS.clear())
    assert found[("26010-01", "can")] > 0.9


def test_beer_past_its_date_is_seldom_drunk() -> None:
    """0.15 times as often."""
    told = replace(TOLD, lot="26010-01", format="can", day=date(2026, 6, 8))
    before, past = (
        candidates(replace(told, day=told.day + timedelta(days=d)), LOTS, SHIPMENTS)["packages"][0]
        for d in (0, 1)
    )
    assert past == pytest.approx(0.15 * before, rel=0.06)


@given(
    outlet=st.sampled_from([None, "Harbour", "Taproom", "nowhere"]) | st.text(max_size=8),
    code=st.none() | st.text(max_size=12) | st.from_regex(r"[0-2]?\d[:.h]?[0-5]\d", fullmatch=True),
    lot=st.none() | st.text(max_size=12) | st.sampled_from(LOTS["lot"].to_list()),
    printed=st.none() | st.dates(date(2026, 1, 1), date(2026, 12, 31)),
    day=st.dates(date(2025, 12, 1), date(2027, 12, 31)),
    order=st.permutations(range(5)),
)
def test_odds_add_up_whatever_is_told(
    outlet: str | None,
    code: str | None,
    lot: str | None,
    printed: date | None,
    day: date,
    order: list[int],
) -> None:
    """They are shares that add to 1, or there is no candidate; the rows' order does not matter."""
    told = Told(day, lot=lot, printed_date=printed, code_time=code, outlet=outlet)
    found = candidates(told, LOTS, SHIPMENTS)
    assert found.is_empty() or found["odds"].sum() == pytest.approx(1.0)
    assert found["odds"].is_sorted(descending=True)
    assert (found["odds"] > 0.0).all()
    assert found.equals(candidates(told, LOTS[order], SHIPMENTS[::-1]), null_equal=True)


def test_stated_odds_are_true_ones() -> None:
    """Of packages drawn one by one, told of as is assumed, the true lot has its odds that often.

    In each bin of a hundred or more, within 2.5 standard errors.
    """
    rng = np.random.default_rng(8)
    lots, sent = _many(rng)
    shares = (sent["packages"] / sent["packages"].sum()).to_numpy()
    stated, true = [], []
    for row in rng.choice(sent.height, size=600, p=shares):
        one = sent.row(int(row), named=True)
        of_lot = lots.row(by_predicate=pl.col("lot") == one["lot"], named=True)
        begun = 60 * of_lot["started_at"].hour if rng.uniform() < 0.9 else int(rng.integers(1440))
        minute = (begun + int(rng.integers(120))) % 1440
        told = Told(
            one["shipped_on"] + timedelta(days=int(rng.gamma(2.0, 17.5))),
            beer=of_lot["beer"],
            code_time=f"{minute // 60:02}:{minute % 60:02}" if rng.uniform() < 0.5 else None,
            outlet=None if rng.uniform() < 0.3 else _sold_by(rng, one["customer"]),
        )
        found = candidates(told, lots, sent)
        stated += found["odds"].to_list()
        true += (found["lot"] == one["lot"]).to_list()
    said, held = np.array(stated), np.array(true, dtype=float)
    for lower, upper in ((0.02, 0.1), (0.1, 0.2), (0.2, 0.4), (0.4, 0.7), (0.7, 1.0)):
        inside = (said > lower) & (said <= upper)
        assert inside.sum() >= 100, (lower, inside.sum())
        error = np.sqrt((said[inside] * (1.0 - said[inside])).sum())
        assert abs(held[inside].sum() - said[inside].sum()) < 2.5 * error + 1e-9, lower


def _sold_by(rng: np.random.Generator, customer: str) -> str:
    """Name the customer, or one of the two others, who has it second-hand in 1 of 21 cases each."""
    others = [name for name in CUSTOMERS if name != customer]
    weights = np.array([1.0, *(0.05 for _ in others)])
    return str(rng.choice([customer, *others], p=weights / weights.sum()))


def _many(rng: np.random.Generator) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Forty lots of two beers, each shipped in two loads to three customers; all is shipped."""
    n = 40
    packaged = [date(2026, 1, 1) + timedelta(days=9 * i) for i in range(n)]
    starts = [at(d, 8 if i % 3 else 10) for i, d in enumerate(packaged)]
    packages = rng.integers(500, 4000, n) * 2
    lots = pl.DataFrame(
        {
            "lot": [f"{i:03}" for i in range(n)],
            "format": "can",
            "kind": "can",
            "beer": [("Pale", "Stout")[i % 2] for i in range(n)],
            "packaged_on": packaged,
            "best_before": None,
            "printed_code": None,
            "started_at": starts,
            "ended_at": [s + timedelta(hours=2) for s in starts],
            "packages": packages,
            "status": None,
        },
        schema_overrides={"best_before": pl.Date, "printed_code": pl.String, "status": pl.String},
    )
    sent = pl.concat(
        lots.select(
            "lot",
            "format",
            shipped_on=pl.col("packaged_on") + timedelta(days=days),
            packages=pl.col("packages") // 2,
            customer=pl.Series(rng.choice(CUSTOMERS, n)),
            best_before=pl.lit(None, pl.Date),
        )
        for days in (3, 20)
    )
    return lots, sent
