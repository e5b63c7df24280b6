"""From a brewery's tables to its dates: policy, limits, safety, and what needs a person."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest

from analysis.dating.assessment import Assessment, Assumptions, assess
from analysis.dating.policy import LOW_ALCOHOL_REASON, Policy
from data_demo.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Mapping

PLACE = ["style", "format", "route"]


@pytest.fixture(scope="module")
def brewery() -> Mapping[str, pl.DataFrame]:
    """Tables of one simulated brewery."""
    return simulate(3)


@pytest.fixture(scope="module")
def assessed(brewery: Mapping[str, pl.DataFrame]) -> Assessment:
    """Its assessment under the default policy."""
    return assess(brewery, Policy(), Assumptions())


def _dates(
    brewery: Mapping[str, pl.DataFrame], policy: Policy, **tables: pl.DataFrame
) -> pl.DataFrame:
    return assess({**brewery, **tables}, policy, Assumptions()).frames["dates"]


def test_one_row_for_each_style_and_format_on_each_route_it_goes(
    brewery: Mapping[str, pl.DataFrame], assessed: Assessment
) -> None:
    """Every style and format with a lot is there once a route that carries its kind."""
    lots = (
        brewery["lots"]
        .join(brewery["beers"].select("beer", "style"), on="beer")
        .join(brewery["formats"].select("format", "kind"), on="format")
    )
    kinds = dict(brewery["routes"].select("route", "kinds").iter_rows())
    expected = {
        (style, format_, route)
        for style, format_, kind in lots.select("style", "format", "kind").unique().iter_rows()
        for route, carried in kinds.items()
        if not carried or kind in carried.replace(",", ";").split(";")
    }
    dates = assessed.frames["dates"]
    assert set(dates.select(PLACE).iter_rows()) == expected
    assert dates.height == len(expected)


def test_bounds_stand_in_order_and_dates_below_them(assessed: Assessment) -> None:
    """Lower, middle and upper ascend; a date is whole weeks and never above its bound or cap."""
    dates = assessed.frames["dates"].filter(pl.col("best_before_days").is_not_null())
    assert dates.height
    assert dates.select(
        (pl.col("shelf_life_days_lower") < pl.col("shelf_life_days")).all()
        & (pl.col("shelf_life_days") < pl.col("shelf_life_days_upper")).all()
        & (pl.col("best_before_days") <= pl.col("shelf_life_days_lower")).all()
        & (pl.col("best_before_days") % 7 == 0).all()
        & (pl.col("best_before_days") <= 365).all()
    ).item()


def test_shelf_life_lengthens_with_the_share_allowed(assessed: Assessment) -> None:
    """10, 25 and 50 % rejected come at ascending ages everywhere."""
    lives = assessed.frames["shelf_lives"].drop_nulls("shelf_life_days")
    wide = lives.pivot("share_rejected", index=PLACE, values="shelf_life_days")
    assert (wide["0.1"] < wide["0.25"]).all()
    assert (wide["0.25"] < wide["0.5"]).all()


def test_the_quarter_row_of_both_tables_is_the_same(assessed: Assessment) -> None:
    """Identity: the policy's share in the dates is the 25 % of the shelf lives."""
    both = assessed.frames["dates"].join(
        assessed.frames["shelf_lives"], on=[*PLACE, "share_rejected"], suffix="_again"
    )
    for name in ("shelf_life_days", "shelf_life_days_lower", "basis"):
        assert both[name].equals(both[f"{name}_again"], null_equal=True) or (
            both[name].to_list() == both[f"{name}_again"].to_list()
        )


def test_more_confidence_gives_an_earlier_date(brewery: Mapping[str, pl.DataFrame]) -> None:
    """Being surer costs days, and the middle does not move."""
    usual, surer = (_dates(brewery, Policy(confidence=share)) for share in (0.80, 0.95))
    assert (surer["shelf_life_days_lower"] <= usual["shelf_life_days_lower"]).all()
    assert surer["shelf_life_days"].to_list() == usual["shelf_life_days"].to_list()


def test_the_same_tables_give_the_same_dates(
    brewery: Mapping[str, pl.DataFrame], assessed: Assessment
) -> None:
    """Draws are seeded: to the last digit, whenever it is run."""
    assert _dates(brewery, Policy()).equals(assessed.frames["dates"])


def test_the_shortest_cause_ends_the_life_and_is_named(
    brewery: Mapping[str, pl.DataFrame],
) -> None:
    """A limit shorter than the flavour date takes its place; a cap does likewise."""
    limits = pl.DataFrame(
        {
            "beer": [None],
            "style": ["stout"],
            "format": ["can 440"],
            "cause": ["infection"],
            "days": [30.0],
        },
        schema_overrides={"beer": pl.String},
    )
    dates = _dates(brewery, replace(Policy(), cap_days=50), limits=limits)
    stout = dates.filter((pl.col("style") == "stout") & (pl.col("format") == "can 440"))
    shelf = stout.filter(pl.col("route") == "ambient").row(0, named=True)
    assert (shelf["best_before_days"], shelf["binding_cause"]) == (28, "infection")
    others = dates.filter((pl.col("style") == "kettle sour") & (pl.col("route") == "ambient"))
    assert set(others["binding_cause"]) == {"cap"}
    assert set(others["best_before_days"]) == {49}


def test_a_style_may_have_a_cap_of_its_own(brewery: Mapping[str, pl.DataFrame]) -> None:
    """A style's cap holds for it alone."""
    policy = Policy(cap_days=50, styles={"stout": {"cap_days": 200}})
    dates = _dates(brewery, policy).filter(pl.col("route") == "ambient")
    by_style = dates.group_by("style").agg(pl.col("best_before_days").max())
    longest = dict(by_style.iter_rows())
    assert longest["stout"] > 50 >= longest["kettle sour"]


def test_low_alcohol_has_no_date_without_a_recorded_validation(
    brewery: Mapping[str, pl.DataFrame], assessed: Assessment
) -> None:
    """Below 2.5 % vol the rule holds for the beer, whatever its style may have."""
    small = brewery["beers"].filter(pl.col("abv_pct") < 2.5)["beer"].item()
    printed = assessed.frames["beer_dates"].filter(pl.col("beer") == small)
    assert printed["supported_days"].is_null().all()
    assert set(printed["reason"]) == {LOW_ALCOHOL_REASON}
    assert set(printed["basis"]) == {"none"}
    first = assessed.frames["attention"].row(0, named=True)
    assert (first["what"], first["beer"]) == ("no safety validation", small)

    validated = assess(brewery, Policy(validated=frozenset({small})), Assumptions())
    again = validated.frames["beer_dates"].filter(pl.col("beer") == small)
    assert again["supported_days"].is_not_null().any()


def test_a_style_of_low_alcohol_alone_has_no_estimate_in_the_file(
    brewery: Mapping[str, pl.DataFrame],
) -> None:
    """Alcohol-free stout: the number columns are empty, the basis is none, the reason stands."""
    weak = brewery["beers"].with_columns(
        abv_pct=pl.when(pl.col("style") == "stout").then(0.4).otherwise("abv_pct")
    )
    stout = _dates(brewery, Policy(), beers=weak).filter(pl.col("style") == "stout")
    assert set(stout["basis"]) == {"none"}
    assert set(stout["reason"]) == {LOW_ALCOHOL_REASON}
    numbers = ["shelf_life_days", "shelf_life_days_lower", "best_before_days", "total_oxygen_ppb"]
    assert stout.select(pl.col(numbers).is_null().all()).row(0) == (True,) * 4


def test_a_format_without_tastings_borrows(assessed: Assessment) -> None:
    """The new bottle has lots and no verdicts: its date is lent, and wider than its neighbours'."""
    dates = assessed.frames["dates"].filter(pl.col("route") == "ambient")
    width = pl.col("shelf_life_days_upper") / pl.col("shelf_life_days_lower")
    new = dates.filter(pl.col("format") == "bottle 750")
    assert set(new["basis"]) == {"borrowed"}
    assert set(new["verdicts"]) == {0}
    beside = dates.filter(pl.col("style").is_in(new["style"]) & (pl.col("format") != "bottle 750"))
    assert new.select(width.min()).item() > beside.select(width.median()).item()
    lent = assessed.frames["cautions"].filter(pl.col("caution") == "lent by other formats")
    assert set(lent["format"]) == {"bottle 750"}


def test_a_first_estimate_is_told_by_style_and_format(brewery: Mapping[str, pl.DataFrame]) -> None:
    """A can tasted at its printed date takes the caution from cans alone; warm storage does not."""
    printed = pl.col("packaged_on") + pl.duration(days=60)
    never = pl.lit(None, dtype=pl.Date)
    dated = pl.when(pl.col("format") == "can 440").then(printed).otherwise(never)

    def first(**changes: pl.DataFrame) -> set[str]:
        lots = brewery["lots"].with_columns(best_before=dated)
        frames = assess({**brewery, "lots": lots, **changes}, Policy(), Assumptions()).frames
        said = frames["cautions"].filter(pl.col("caution") == "first estimate")
        return set(said.filter(pl.col("style") == "stout")["format"])

    formats = set(brewery["lots"]["format"])
    assert first() == formats - {"can 440"}
    warm = brewery["samples"].filter(pl.col("storage_temp_c") > 25)
    tasted = brewery["tastings"].filter(pl.col("sample").is_in(warm["sample"].to_list()))
    assert first(samples=warm, tastings=tasted) == formats


def test_a_style_nobody_tasted_has_no_estimate_and_says_why(
    brewery: Mapping[str, pl.DataFrame],
) -> None:
    """Its rows are there, empty, with the file that would fill them."""
    stout = brewery["lots"].join(brewery["beers"], on="beer").filter(pl.col("style") == "stout")
    samples = brewery["samples"].join(stout, on=["lot", "format"], how="anti")
    tastings = brewery["tastings"].filter(pl.col("sample").is_in(samples["sample"].to_list()))
    dates = _dates(brewery, Policy(), samples=samples, tastings=tastings)
    untasted = dates.filter(pl.col("style") == "stout")
    assert set(untasted["basis"]) == {"none"}
    assert "samples and tastings" in untasted["reason"][0]


@pytest.mark.parametrize(
    "table", ["beers", "formats", "tastings", "oxygen", "limits", "routes", "lots"]
)
def test_an_empty_table_is_no_crash(table: str, brewery: Mapping[str, pl.DataFrame]) -> None:
    """A brewery that has not begun with something gets an answer, or a reason."""
    bare = assess({**brewery, table: brewery[table].clear()}, Policy(), Assumptions())
    if table in {"beers", "formats", "tastings", "lots"}:
        assert bare.model is None
        assert "no aged beer has a verdict" in (bare.reason or "")
    if table == "tastings":
        assert set(bare.frames["dates"]["basis"]) == {"none"}
    if table == "oxygen":
        assert set(bare.frames["dates"]["oxygen_from"]) == {"assumed"}
        cautioned = bare.frames["cautions"].filter(pl.col("caution") == "oxygen assumed")
        places = bare.frames["dates"].select("style", "format").unique()
        assert cautioned.select("style", "format").sort(pl.all()).equals(places.sort(pl.all()))


def test_all_accepted_is_a_reason(brewery: Mapping[str, pl.DataFrame]) -> None:
    """Nothing was ever rejected: no date, and what to do about it."""
    accepted = brewery["tastings"].with_columns(verdict=pl.lit("accept"))
    bare = assess({**brewery, "tastings": accepted}, Policy(), Assumptions())
    assert "older or warmer samples" in (bare.reason or "")


def test_what_needs_a_person_is_ranked_by_days(assessed: Assessment) -> None:
    """Among dates that are too long the longest excess comes first."""
    lines = assessed.frames["attention"]
    assert lines["rank"].to_list() == list(range(1, lines.height + 1))
    excess = lines.filter(pl.col("what") == "printed too long")["days"]
    assert excess.to_list() == sorted(excess, reverse=True)
    assert (excess > 0).all()


def test_a_route_with_a_hole_is_left_out_and_said(brewery: Mapping[str, pl.DataFrame]) -> None:
    """A stage set aside must not shorten the history in silence."""
    holed = brewery["route_stages"].filter(
        ~((pl.col("route") == "ambient") & (pl.col("stage_no") == 1))
    )
    frames = assess({**brewery, "route_stages": holed}, Policy(), Assumptions()).frames
    assert "ambient" not in set(frames["dates"]["route"])
    said = frames["attention"].filter(pl.col("what") == "route incomplete")
    assert said["route"].to_list() == ["ambient"]


@pytest.fixture(scope="module")
def small() -> Mapping[str, pl.DataFrame]:
    """Tables of a small brewery, for what does not depend on how much was tasted."""
    return simulate(5, lots_per_cell=2, assessors=6)


@pytest.mark.parametrize(("table", "name"), [("formats", "keg 30"), ("beers", "Stout No. 6")])
def test_lots_of_what_was_withdrawn_are_left_out_and_said(
    table: str, name: str, small: Mapping[str, pl.DataFrame]
) -> None:
    """A format or beer struck off leaves its lots behind: one line for each beer and format."""
    one = table.removesuffix("s")
    kept = small[table].filter(pl.col(one) != name)
    frames = assess({**small, table: kept}, Policy(), Assumptions()).frames
    assert frames["dates"].height
    assert name not in set(frames["beer_dates"][one])
    said = frames["attention"].filter(pl.col("what") == "lots without beer or format")
    gone = small["lots"].filter(pl.col(one) == name).select("beer", "format").unique()
    assert said.select("beer", "format").sort(pl.all()).equals(gone.sort(pl.all()))


def test_impossible_samples_are_a_caution_with_their_number(
    small: Mapping[str, pl.DataFrame],
) -> None:
    """Samples placed before their lot was packaged are counted where the dates are read."""
    early = small["samples"]["sample"].head(3).to_list()
    samples = small["samples"].with_columns(
        placed_on=pl.when(pl.col("sample").is_in(early))
        .then(pl.col("placed_on").dt.offset_by("-1y"))
        .otherwise("placed_on")
    )
    for table, counts in ((samples, {3.0}), (small["samples"], set())):
        frames = assess({**small, "samples": table}, Policy(), Assumptions()).frames
        said = frames["cautions"].filter(pl.col("caution") == "samples left out")
        assert set(said["days"]) == counts


def test_no_beer_at_a_route_s_temperature_matters_where_the_beer_goes(
    small: Mapping[str, pl.DataFrame],
) -> None:
    """A desert that only casks go to says nothing of bottles, cans and kegs."""
    routes = pl.DataFrame(
        {
            "route": ["desert", "caravan"],
            "market": "far",
            "kinds": ["cask", None],
            "share": 0.1,
            "storage_text": None,
        }
    )
    stages = pl.DataFrame(
        {"route": ["desert", "caravan"], "stage_no": 1, "temp_c": 55.0, "days": None}
    )
    added = {
        name: pl.concat([small[name].select(more.columns), more], how="vertical_relaxed")
        for name, more in (("routes", routes), ("route_stages", stages))
    }
    frames = assess({**small, **added}, Policy(), Assumptions()).frames
    said = frames["cautions"].filter(pl.col("caution") == "none at route temperature")
    far = said.filter(pl.col("route").is_in(routes["route"].implode()))
    estimated = frames["dates"].filter(pl.col("basis") != "none")["style"].unique()
    assert set(far.select("style", "route").iter_rows()) == {
        (style, "caravan") for style in estimated
    }
