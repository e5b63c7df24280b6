"""Whose rule each date follows, and what each choice costs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest

from analysis.dating.choices import choices_table, rules_table
from analysis.dating.policy import Policy, Rule
from analysis.dating.printed import beer_dates
from analysis.dating.tables import dates_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from tests.analysis.dating.conftest import Fitted

PLACE = ["style", "format", "route"]
OWN = Policy(margin_share=0.05, markets={"shops": {"cap_days": 100}}, rounding="month")


def chosen(fitted: Fitted, policy: Policy) -> pl.DataFrame:
    """Tabulate the choices of the fitted brewery under a policy."""
    return choices_table(
        fitted.cells, fitted.routes, fitted.model.evidence, policy, fitted.tables["limits"]
    )


def dated(fitted: Fitted, policy: Policy) -> pl.DataFrame:
    """Date the fitted brewery under a policy."""
    return dates_table(
        fitted.cells, fitted.routes, fitted.model.evidence, policy, fitted.tables["limits"]
    )


@pytest.mark.parametrize("policy", [Policy(), OWN])
def test_each_choice_is_chosen_once_and_is_the_date(fitted: Fitted, policy: Policy) -> None:
    """Identity: what is in force has the days of the dates table, one setting a choice."""
    found = chosen(fitted, policy).filter("in_force")
    assert found.group_by(*PLACE, "choice").len()["len"].unique().to_list() == [1]
    both = found.join(dated(fitted, policy), on=PLACE, suffix="_dated")
    assert both.height == found.height
    assert both["best_before_days"].to_list() == both["best_before_days_dated"].to_list()
    assert both["binding_cause"].to_list() == both["binding_cause_dated"].to_list()


@pytest.mark.parametrize(
    ("choice", "setting", "changed"),
    [
        ("share", "0.1", {"share_rejected": 0.10}),
        ("share", "0.5", {"share_rejected": 0.50}),
        ("confidence", "0.95", {"confidence": 0.95}),
        ("rounding", "day", {"rounding": "day"}),
        ("oldest tasted", "goes beyond", {"cap_at_oldest_tasted": False}),
        ("margin", "14 days", {"margin_days": 14}),
    ],
)
def test_a_choice_is_worth_what_a_policy_with_it_gives(
    fitted: Fitted, choice: str, setting: str, changed: Mapping[str, object]
) -> None:
    """Identity: to the day, everywhere, as if the whole brewery had chosen so."""
    found = chosen(fitted, Policy()).filter(
        pl.col("choice") == choice, pl.col("setting") == setting
    )
    both = found.join(dated(fitted, replace(Policy(), **changed)), on=PLACE, suffix="_dated")
    assert both.height == found.height > 0
    assert both["best_before_days"].to_list() == both["best_before_days_dated"].to_list()


def test_a_months_end_takes_up_to_thirty_days(fitted: Fitted) -> None:
    """The most and the least days of the same choice."""
    months = chosen(fitted, Policy()).filter(pl.col("setting") == "month")
    took = (months["best_before_days"] - months["least_days"]).drop_nulls()
    assert took.unique().to_list() == [30]


def test_every_date_has_its_rule_and_cold_ones_their_days_on_a_shelf(fitted: Fitted) -> None:
    """By style and by beer; the shelf never keeps a beer longer than the cold does."""
    evidence, limits = fitted.model.evidence, fitted.tables["limits"]
    policy = Policy(markets={"shops": {"confidence": 0.95}})
    given = (fitted.cells, fitted.routes, evidence)
    printed = beer_dates(*given, fitted.tables["beers"], policy, limits)
    rules = rules_table(*given, policy, limits, printed)
    styles, beers = (rules.filter(pl.col("beer").is_null() == none) for none in (True, False))
    days = dated(fitted, policy)
    assert styles.height == days.height
    assert beers.height == printed.height
    assert (styles.filter(market="shops")["confidence"] == 0.95).all()
    assert (styles.filter(pl.col("market") != "shops")["confidence"] == Rule().confidence).all()
    assert rules.filter(~pl.col("cold"))["shelf_days"].is_null().all()
    cold = styles.filter("cold").join(days, on=PLACE).drop_nulls("shelf_days")
    flavour = cold.filter(pl.col("binding_cause") == "flavour")
    assert cold.height
    assert (flavour["shelf_days"] <= flavour["best_before_days"]).all()
