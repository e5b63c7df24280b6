"""A small fit for the tests of gaps and levers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import pytest

from analysis.dating.assessment import drawn_to_line
from analysis.dating.policy import Policy
from analysis.dating.routes import Route, routes_of
from analysis.dating.shelf_life import Cell, cells_of
from analysis.oxygen.dose import lot_oxygen
from analysis.oxygen.packages import package_oxygen
from analysis.staling.evidence import gather
from analysis.staling.model import StalingModel, fit_staling
from analysis.survival.laws import LOGNORMAL
from data_demo.simulate import simulate

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    import numpy as np
    import polars as pl


@dataclass(frozen=True)
class Fitted:
    """A simulated brewery, a model of it, and its cells under that model."""

    tables: Mapping[str, pl.DataFrame]
    model: StalingModel
    routes: tuple[Route, ...]

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Its styles and formats under the model."""
        beers, formats = self.tables["beers"], self.tables["formats"]
        return cells_of(self.model.evidence, self.model, beers, formats, Policy())

    def with_exponents(self, change: Callable[[np.ndarray], np.ndarray]) -> Fitted:
        """Return the same with other oxygen exponents in every draw; styles do not deviate."""
        layout = self.model.layout
        own = slice(layout.exponent + 1, layout.exponent + 1 + len(layout.styles))
        draws = []
        for part in self.model.draws:
            params = part.params.copy()
            params[:, layout.exponent] = change(params[:, layout.exponent])
            params[:, own] = 0.0
            draws.append(replace(part, params=params))
        return replace(self, model=replace(self.model, draws=tuple(draws)))


@pytest.fixture(scope="session")
def fit_brewery() -> Callable[[int], Fitted]:
    """Fit the lognormal law to a simulated brewery of three lots a cell; 400 draws."""

    def fit(seed: int) -> Fitted:
        tables = simulate(seed, lots_per_cell=3)
        lots, formats = tables["lots"], tables["formats"]
        packages = package_oxygen(
            tables["oxygen"], lots, formats, shaken_temperature_c=20.0, late_after_minutes=120.0
        )
        oxygen = lot_oxygen(packages, lots, formats, shaken_temperature_c=20.0)
        evidence = gather(
            tables["beers"],
            lots,
            tables["samples"],
            tables["tastings"],
            drawn_to_line(oxygen),
            before_placing_c=4.0,
        )
        model = fit_staling(evidence, draws=400, laws=(LOGNORMAL,))
        return Fitted(tables, model, routes_of(tables["routes"], tables["route_stages"]))

    return fit


@pytest.fixture(scope="session")
def fitted(fit_brewery: Callable[[int], Fitted]) -> Fitted:
    """One simulated brewery."""
    return fit_brewery(3)
