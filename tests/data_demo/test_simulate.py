"""The simulated brewery has the shape of stored tables and keeps to the practice of panels."""

from __future__ import annotations

import datetime as dt

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from data_demo import truth
from data_demo.simulate import DEMO_SEED, simulate
from data_demo.simulate_trade import SUNNY_OUTLET
from pipelines.readers.contract import CATEGORIES, TABLES

PROVENANCE = {"void", "extra", "file", "sheet", "row_number", "row_key", "load_id"}


@pytest.fixture(scope="module")
def demo() -> dict[str, pl.DataFrame]:
    """Give the brewery that the demo's files are written from."""
    return simulate(DEMO_SEED, failed_seam=True)


def test_one_seed_is_one_brewery(demo: dict[str, pl.DataFrame]) -> None:
    """The same seed draws the same tables, another seed other verdicts."""
    again, other = simulate(DEMO_SEED, failed_seam=True), simulate(DEMO_SEED + 1)
    for name, table in demo.items():
        assert_frame_equal(table, again[name])
    assert not demo["tastings"].equals(other["tastings"])


@pytest.mark.parametrize("name", list(TABLES))
def test_tables_have_the_columns_of_the_contract(name: str, demo: dict[str, pl.DataFrame]) -> None:
    """Every table is there, not empty, with every stored column, and required cells filled."""
    table = demo[name]
    assert set(table.columns) == {*TABLES[name].stored, *PROVENANCE}
    assert len(table) > 0
    required = [c.name for c in TABLES[name].columns if c.required]
    assert sum(table.select(required).null_count().row(0)) == 0


@pytest.mark.parametrize("name", list(TABLES))
def test_cells_are_what_the_contract_allows(name: str, demo: dict[str, pl.DataFrame]) -> None:
    """Words come from the closed lists, and keys identify rows."""
    table = demo[name]
    for column in TABLES[name].columns:
        if column.choices:
            words = table[column.name].drop_nulls().str.split(";").explode().unique()
            assert set(words) <= set(column.choices)
    if TABLES[name].key:
        assert not table.select(TABLES[name].key).is_duplicated().any()


def test_references_hold(demo: dict[str, pl.DataFrame]) -> None:
    """Lots name known beers and formats; samples, oxygen and shipments known lots."""
    lots = demo["lots"]
    assert lots.join(demo["beers"], on="beer", how="anti").is_empty()
    assert lots.join(demo["formats"], on="format", how="anti").is_empty()
    for name in ("samples", "oxygen", "shipments", "lot_results"):
        assert demo[name].join(lots, on=["lot", "format"], how="anti").is_empty()
    assert demo["tastings"].join(demo["samples"], on="sample", how="anti").is_empty()
    assert demo["tastings"].join(demo["assessors"], on="assessor", how="anti").is_empty()


def test_sessions_are_small_and_have_a_fresh_control(demo: dict[str, pl.DataFrame]) -> None:
    """A session pours six samples at most, one of them fresh, young and kept cold."""
    poured = (demo["tastings"].select("session", "tasted_on", "sample").unique()).join(
        demo["samples"], on="sample"
    )
    sessions = poured.group_by("session").agg(
        samples=pl.len(), fresh=(pl.col("role") == "fresh").sum()
    )
    assert sessions["samples"].max() == 6
    assert (sessions["fresh"] == 1).mean() > 0.95
    fresh = poured.filter(pl.col("role") == "fresh").join(
        demo["lots"].select("lot", "format", "packaged_on"), on=["lot", "format"]
    )
    assert (fresh["pulled_on"] - fresh["packaged_on"]).dt.total_days().is_between(2, 60).all()
    waited = (poured["tasted_on"] - poured["pulled_on"]).dt.total_days()
    assert waited.is_between(0, 14).all()


def test_free_seats_are_used_for_blind_duplicates(demo: dict[str, pl.DataFrame]) -> None:
    """A second glass of one aged sample has its own code; nobody has over six glasses."""
    tastings = demo["tastings"]
    glasses = tastings.group_by("session", "assessor").agg(
        pl.len(), samples=pl.col("sample").n_unique(), places=pl.col("position").sort()
    )
    assert glasses["len"].max() == 6
    twice = glasses.filter(pl.col("len") > pl.col("samples"))
    assert (twice["len"] - twice["samples"] == 1).all()
    assert 0.2 < len(twice) / len(glasses) < 0.5
    assert glasses["places"].to_list() == [list(range(1, n + 1)) for n in glasses["len"]]
    assert (
        tastings.group_by("session", "code").agg(pl.col("sample").n_unique())["sample"].max() == 1
    )


def test_one_fresh_control_failed(demo: dict[str, pl.DataFrame]) -> None:
    """Nearly everybody rejected it, once in the year."""
    fresh = demo["tastings"].join(
        demo["samples"].filter(pl.col("role") == "fresh"), on="sample", how="semi"
    )
    share = fresh.group_by("session").agg((pl.col("verdict") == "reject").mean())["verdict"]
    assert (share > 0.6).sum() == 1


def test_the_year_ends_before_november_2026(demo: dict[str, pl.DataFrame]) -> None:
    """Nothing was done in the future."""
    done = {
        "lots": "packaged_on",
        "samples": "pulled_on",
        "tastings": "tasted_on",
        "complaints": "received_on",
        "shipments": "shipped_on",
    }
    for name, column in done.items():
        assert max(demo[name][column].to_list()) < dt.date(2026, 11, 1)


def test_there_is_a_complaint_of_each_kind(demo: dict[str, pl.DataFrame]) -> None:
    """Every category came in, one only says in its note what makes it a matter of safety."""
    complaints = demo["complaints"]
    said = complaints["category"].str.split(";").explode().unique()
    assert set(said) == set(CATEGORIES)
    by_note = complaints.filter(pl.col("note").str.contains("felt sick"))
    assert by_note["category"].to_list() == ["other flavour"]


def test_complaints_have_a_lot_that_was_on_its_way(demo: dict[str, pl.DataFrame]) -> None:
    """But for one of another brewery, and those that name none."""
    named = demo["complaints"].drop_nulls("lot")
    sent = named.join(
        demo["shipments"],
        left_on=["lot", "format", "outlet"],
        right_on=["lot", "format", "customer"],
    ).filter(pl.col("shipped_on") < pl.col("received_on"))
    assert named.join(sent, on="complaint", how="anti")["category"].to_list() == ["other"]
    assert demo["complaints"]["lot"].null_count() >= 8


def test_complaints_for_age_have_their_causes(demo: dict[str, pl.DataFrame]) -> None:
    """Of as many packages, the outlet in the sun and the lot with the failed seam have several."""
    stale = demo["complaints"].filter(category="stale")
    sent = demo["shipments"].filter(pl.col("route") == "ambient")
    sunny = pl.col("customer") == SUNNY_OUTLET
    here = stale.filter(outlet=SUNNY_OUTLET).height / sent.filter(sunny)["packages"].sum()
    assert here > 2.0 * (stale.height - 4) / sent.filter(~sunny)["packages"].sum()
    canned = demo["lots"].filter(beer="Pale No. 2", format="can 440").sort("packaged_on")
    printed = stale.filter(beer="Pale No. 2", format="can 440")["printed_date"].to_list()
    assert printed.count(canned["best_before"][2]) >= 3


def test_one_tank_fills_three_formats_under_one_code(demo: dict[str, pl.DataFrame]) -> None:
    """Some lot codes stand for three filled formats of one tank."""
    filled = (
        demo["lots"]
        .group_by("lot")
        .agg(formats=pl.col("format").n_unique(), tanks=pl.col("batch").n_unique())
    )
    assert (filled["formats"] == 3).sum() >= 4
    assert filled["tanks"].max() == 1


def test_the_new_format_has_not_been_tasted(demo: dict[str, pl.DataFrame]) -> None:
    """Two or three lots of the new format have oxygen readings and no samples."""
    new = pl.col("format") == truth.NEW_FORMAT
    assert demo["lots"].filter(new).height == 3
    assert demo["oxygen"].filter(new).height >= 3
    assert demo["samples"].filter(new).is_empty()


def test_kegs_stay_out_of_the_warm_cupboard(demo: dict[str, pl.DataFrame]) -> None:
    """Kegs are kept at 4 and 20 °C only."""
    kegs = demo["samples"].filter(pl.col("format") == "keg 30")
    assert set(kegs["storage_temp_c"]) == {4.0, 20.0}


def test_readings_are_as_mixed_as_real_ones(demo: dict[str, pl.DataFrame]) -> None:
    """Shaken, total, late and temperature-less readings all occur, 3 to 12 a lot."""
    oxygen = demo["oxygen"]
    assert set(oxygen["quantity"]) == {"total", "shaken", "dissolved"}
    assert (oxygen["minutes_after_fill"] > 120).any()
    shaken = oxygen.filter(pl.col("quantity") == "shaken")
    assert 0 < shaken["temperature_c"].null_count() < len(shaken)
    assert oxygen.group_by("lot", "format").len()["len"].max() <= 12


def test_sizes_follow_the_knobs() -> None:
    """Fewer lots, assessors and packages make a smaller brewery."""
    small = simulate(3, lots_per_cell=2, assessors=6, attendance=1.0, packages=(3, 4))
    assert small["assessors"].height == 6
    assert small["lots"].height < 40
    assert (small["tastings"].group_by("sample", "code").len()["len"] == 6).all()
