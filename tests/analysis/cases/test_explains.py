"""The storage that would explain a complaint."""

from __future__ import annotations

import math
from dataclasses import replace

import polars as pl
import pytest

from analysis.cases.evidence import Oxygen
from analysis.cases.explains import explaining_storage
from analysis.dating.risk import at_risk
from analysis.kinetics.history import Stages
from tests.analysis.cases.example import complaint
from tests.analysis.cases.simulated_complaints import USUAL, staling_draws

READ = Oxygen("read", math.log(120.0), 1e-6)


@pytest.mark.parametrize("law", ["lognormal", "weibull", "loglogistic"])
def test_kept_at_that_temperature_that_share_rejects_it(law: str) -> None:
    """Identity: with one draw, the share rejected on that day after that storage is the share."""
    case = complaint(draws=staling_draws(1, 7, law), items=(READ,), age_days=110.0)
    found = explaining_storage(case)
    assert found["oxygen"].to_list() == ["usual", "usual", "this lot", "this lot"]
    for row in found.iter_rows(named=True):
        kept = Stages((14.0, 2.0, math.inf), (12.0, 20.0, row["temp_c"]))
        dose = pl.DataFrame({"dose_ppb": [row["total_oxygen_ppb"]]})
        risk = at_risk(case.draws, dose, kept, 110.0, 0.9)
        assert risk.share == pytest.approx(row["share_rejected"], abs=1e-6)
        assert row["reached"] == "in the trade"


def test_more_oxygen_asks_for_less_warmth() -> None:
    """A lot that took up more reaches the same share cooler, and a larger share asks for warmer."""
    found = explaining_storage(complaint(items=(READ,)))
    usual, lot = (
        found.filter(pl.col("oxygen") == oxygen)["temp_c"].to_list()
        for oxygen in ("usual", "this lot")
    )
    assert lot[0] < usual[0] < usual[1]
    assert lot[1] < usual[1]
    assert (found["lower_c"] < found["temp_c"]).all()
    assert (found["temp_c"] < found["upper_c"]).all()


def test_a_reading_is_drawn_to_its_line_and_a_bound_is_not() -> None:
    """A reading as unsure as the line counts half; a bound above the line counts as it stands."""
    mean, sd = USUAL
    half = replace(READ, log_se=sd)
    found = explaining_storage(complaint(items=(half,)))
    assert found["total_oxygen_ppb"][2] == pytest.approx(math.exp((mean + READ.log_ppb) / 2.0))
    found = explaining_storage(complaint(items=(replace(half, at_least=True),)))
    assert found["total_oxygen_ppb"][2] == pytest.approx(120.0)


def test_what_no_storage_explains_has_no_temperature() -> None:
    """A week in the trade explains nothing; after years on the way it needs no trade at all."""
    soon = explaining_storage(complaint(age_days=17.0))
    assert set(soon["reached"]) == {"not by age"}
    assert soon["temp_c"].null_count() == soon.height
    late = explaining_storage(
        complaint(stages=Stages((900.0, math.inf), (20.0, 8.0)), age_days=905.0)
    )
    assert set(late["reached"]) == {"on the way"}
    assert late["temp_c"].null_count() == late.height


def test_without_an_age_or_a_trade_there_is_nothing_to_explain() -> None:
    """No age, or one before the trade had it: no row."""
    assert explaining_storage(complaint(age_days=None)).is_empty()
    assert explaining_storage(complaint(age_days=10.0)).is_empty()
