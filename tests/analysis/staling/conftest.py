"""Small breweries for the tests of the staling model."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import polars as pl
import pytest

from analysis.dating.assessment import Assessment, Assumptions, assess
from analysis.dating.policy import Policy
from analysis.staling.evidence import Evidence, gather
from data_demo.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

PACKAGED_ON = date(2031, 3, 4)


@pytest.fixture(scope="session")
def brewery() -> Mapping[str, pl.DataFrame]:
    """Tables of one simulated brewery."""
    return simulate(3)


@pytest.fixture(scope="session")
def assessed(brewery: Mapping[str, pl.DataFrame]) -> Assessment:
    """Its assessment under the default policy."""
    return assess(brewery, Policy(), Assumptions())


@pytest.fixture
def evidence_of() -> Callable[..., Evidence]:
    """One style in one format, two lots, answers written as one letter a pull at 20 °C."""

    def make(answers: Mapping[str, str], *, days: int = 20, fresh: str = "") -> Evidence:
        lots = pl.DataFrame(
            {
                "lot": ["one", "two"],
                "format": "can",
                "beer": "beer",
                "packaged_on": PACKAGED_ON,
                "batch": pl.Series([None, None], dtype=pl.String),
                "best_before": pl.Series([None, None], dtype=pl.Date),
                "line": pl.Series([None, None], dtype=pl.String),
                "trial": pl.Series([None, None], dtype=pl.String),
            }
        )
        pulls = {
            f"{lot}-{place}": (lot, PACKAGED_ON + timedelta(days=days * place))
            for lot in ("one", "two")
            for place in range(1 + max(map(len, answers.values()), default=0))
        }
        samples = pl.DataFrame(
            {
                "sample": list(pulls),
                "lot": [lot for lot, _ in pulls.values()],
                "format": "can",
                "storage_temp_c": 20.0,
                "placed_on": PACKAGED_ON,
                "pulled_on": [day for _, day in pulls.values()],
                "before_placing_temp_c": pl.Series([None] * len(pulls), dtype=pl.Float64),
                "role": ["fresh" if name.endswith("-0") else "aged" for name in pulls],
            }
        )
        words = {"A": "accept", "R": "reject", "?": "not sure"}
        glasses = [
            (f"{who.split('/')[0]}-{place + 1}", who, words[answer])
            for who, series in answers.items()
            for place, answer in enumerate(series)
        ] + [("one-0", f"taster {n}", words[answer]) for n, answer in enumerate(fresh)]
        tastings = pl.DataFrame(
            {
                "session": "s",
                "tasted_on": PACKAGED_ON,
                "assessor": [who.rpartition("/")[2] for _, who, _ in glasses],
                "sample": [sample for sample, _, _ in glasses],
                "verdict": [verdict for _, _, verdict in glasses],
            },
            schema_overrides=dict.fromkeys(("assessor", "sample", "verdict"), pl.String),
        )
        oxygen = lots.select("lot", "format").with_columns(
            packages=6, total_oxygen_ppb=60.0, ingress_ppb_per_day=0.0, dose_ppb=60.0
        )
        beers = pl.DataFrame({"beer": ["beer"], "style": ["style"], "abv_pct": [5.0]})
        return gather(beers, lots, samples, tastings, oxygen, before_placing_c=4.0)

    return make
