"""How a session is laid out."""

from __future__ import annotations

import datetime as dt

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.panel.session_plan import (
    fresh_control,
    packages_to_open,
    plan_session,
    shared_out,
)

DAY = dt.date(2026, 4, 7)


@given(number=st.integers(1, 60), twice=st.booleans())
def test_samples_are_shared_out_evenly_over_few_sessions(number: int, *, twice: bool) -> None:
    """None is lost, all stay in their order, and with fresh and duplicate there are six at most."""
    samples = [f"S{i:02d}" for i in range(number)]
    parts = shared_out(samples, twice=twice)
    room = 4 if twice else 5
    assert [sample for part in parts for sample in part] == samples
    assert len(parts) == -(-number // room)
    sizes = [len(part) for part in parts]
    assert max(sizes) <= room
    assert max(sizes) - min(sizes) <= 1


@given(
    samples=st.integers(1, 4),
    tasters=st.integers(1, 15),
    fresh=st.booleans(),
    twice=st.booleans(),
)
def test_every_taster_has_every_glass_once(
    samples: int, tasters: int, *, fresh: bool, twice: bool
) -> None:
    """The control once, one sample twice under two codes, the others once."""
    names = [f"S{i}" for i in range(samples)]
    plan = plan_session("T", names, "F1" if fresh else None, tasters, twice=twice)
    assert len(plan.codes) == samples + fresh + twice
    assert len(plan.orders) == tasters
    assert all(sorted(order) == sorted(plan.codes) for order in plan.orders)
    counts = {name: len(plan.codes_of(name)) for name in ["F1", *names]}
    assert counts["F1"] == fresh
    assert sorted(counts[name] for name in names) == [1] * (samples - twice) + [2] * twice
    assert plan.twice in ([*names] if twice else [None])


def test_one_taster_more_changes_no_other_sheet() -> None:
    """Codes and orders that were printed hold when somebody joins at the end."""
    few, more = (plan_session("T", ["S1", "S2", "S3"], "F", n, twice=True) for n in (8, 9))
    assert more.codes == few.codes
    assert more.orders[:8] == few.orders


@pytest.mark.parametrize(
    ("glasses", "pour", "volume", "packages"),
    [
        (12, 60, 330, 3),  # four glasses of a can, a tenth stays in it
        (12, 60, 500, 2),
        (24, 100, 30_000, 1),
        (1, 100, 100, 2),  # a package that does not fill a glass
        (0, 60, 330, 0),
    ],
)
def test_packages_to_open_can_be_counted_by_hand(
    glasses: int, pour: float, volume: float, packages: int
) -> None:
    """A tenth of a package stays behind, and a glass comes from one package."""
    assert packages_to_open(glasses, pour, volume) == packages


def candidate(**other: object) -> dict[str, object]:
    """A released lot of twenty days, in the cold."""
    usual: dict[str, object] = {
        "sample": None,
        "lot": "026001",
        "format": "can 330",
        "style": "pale ale",
        "packaged_on": DAY - dt.timedelta(20),
        "storage_temp_c": 4.0,
        "pulled_on": None,
    }
    return usual | other


SCHEMA = {
    **dict.fromkeys(("sample", "lot", "format", "style"), pl.String),
    "packaged_on": pl.Date,
    "storage_temp_c": pl.Float64,
    "pulled_on": pl.Date,
}


def chosen(*candidates: dict[str, object]) -> object:
    """Give the lot of the control that is chosen among pale ales; None for none."""
    frame = pl.DataFrame(candidates, schema=SCHEMA)
    found = fresh_control(frame, ["pale ale"], DAY, within_days=14)
    return found and found["lot"]


@pytest.mark.parametrize(
    ("unfit", "fit"),
    [
        ({"packaged_on": DAY - dt.timedelta(61)}, {"packaged_on": DAY - dt.timedelta(60)}),
        ({"packaged_on": DAY + dt.timedelta(1)}, {"packaged_on": DAY}),
        ({"storage_temp_c": 12.0}, {"storage_temp_c": 8.0}),
        (
            {"sample": "F1", "pulled_on": DAY - dt.timedelta(15)},
            {"sample": "F1", "pulled_on": DAY - dt.timedelta(14)},
        ),
    ],
)
def test_a_control_is_young_cold_and_did_not_wait(
    unfit: dict[str, object], fit: dict[str, object]
) -> None:
    """At most 60 days from packaging, 8 °C and 14 days from its pull; else there is none."""
    assert chosen(candidate(**unfit)) is None
    assert chosen(candidate(**fit)) == "026001"


def test_a_pulled_sample_then_the_style_then_youth_decide() -> None:
    """Nobody need pull what stands ready, and a stout among pale ales is not blind."""
    young = {"packaged_on": DAY - dt.timedelta(5)}
    stout = candidate(lot="young stout", style="stout", **young)
    own, younger = candidate(lot="own"), candidate(lot="younger", **young)
    ready = candidate(
        lot="ready", style="stout", sample="F1", pulled_on=DAY, packaged_on=DAY - dt.timedelta(50)
    )
    assert chosen(stout, own) == "own"
    assert chosen(stout, own, younger) == "younger"
    assert chosen(stout, own, younger, ready) == "ready"
    assert chosen() is None
