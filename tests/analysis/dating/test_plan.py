"""What a simulated study makes of a date, beside fits to everything; what additions bring."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import polars as pl
import pytest

from analysis.dating.neighbours import Addition, Neighbour, additions, neighbours
from analysis.dating.plan import MOST_STUDIES, Outlook, Target, plan
from analysis.dating.policy import Policy
from analysis.dating.rounding import BestBefore
from analysis.dating.simulated import simulate_study
from analysis.dating.study import Arm, Study
from analysis.errors import InputError, NotConverged
from analysis.kinetics.history import day_at
from analysis.staling.foresight import Foresight, foresee
from analysis.staling.model import DRAWS, SEED, draw, fit_staling
from analysis.staling.predict import cells
from analysis.survival.laws import LOGNORMAL

if TYPE_CHECKING:
    from tests.analysis.dating.conftest import Fitted

STYLE, FORMAT = "stout", "bottle 750"
BRUTE = 4


@pytest.fixture(scope="module")
def fitted(fitted: Fitted) -> Fitted:
    """The simulated brewery with as many draws as a run has: bounds are read off their tails."""
    model = fitted.model
    drawn = draw(model.best, DRAWS, np.random.default_rng(SEED))
    return replace(fitted, model=replace(model, draws=(drawn,)))


@pytest.fixture(scope="module")
def target(fitted: Fitted) -> Target:
    """The date of a cell that nobody has tasted, on the shelf."""
    cell = next(c for c in fitted.cells if (c.style, c.format) == (STYLE, FORMAT))
    assert cell.verdicts == 0
    route = next(route for route in fitted.routes if route.name == "ambient")
    lots = fitted.model.evidence.lots.filter(
        (pl.col("style") == STYLE) & (pl.col("format") == FORMAT)
    )
    return Target(
        route=route,
        rule=Policy(cap_days=700),
        log_dose=lots["log_dose"].to_numpy(),
        life=cell.life(route, 0.25, 0.90),
        oldest_days=60.0,
        limits={},
    )


@pytest.fixture(scope="module")
def study(fitted: Fitted) -> Study:
    """Three lots, two storages, six tasters."""
    return Study(
        style=STYLE,
        format=FORMAT,
        arms=(Arm(20.0, (42, 84, 126)), Arm(30.0, (14, 28, 42))),
        lots=3,
        assessors=fitted.model.layout.assessors[:6],
        attendance=0.8,
        begins=date(2026, 12, 1),
        before_temp_c=4.0,
        volume_ml=750.0,
    )


@pytest.fixture(scope="module")
def foresight(fitted: Fitted) -> Foresight:
    """What is known before it, with two tasters to spare."""
    return foresee(fitted.model, STYLE, FORMAT, fitted.model.layout.assessors[:8])


@pytest.fixture(scope="module")
def outlook(study: Study, foresight: Foresight, target: Target) -> Outlook:
    """Sixty of it."""
    return plan(study, foresight, target, 60)


def test_the_expected_width_is_that_of_fits_to_everything(
    fitted: Fitted, study: Study, foresight: Foresight, target: Target, outlook: Outlook
) -> None:
    """Within a tenth, the lower bound too, where the spreads and all else are fitted anew."""
    evidence, truths = fitted.model.evidence, foresight.before()
    found: dict[int, np.ndarray] = {}
    for number in range(12):
        if len(found) == BRUTE:
            break
        series = simulate_study(study, foresight.layout, truths, target.log_dose, number)
        both = pl.concat([evidence.series, series], how="diagonal")
        try:
            model = fit_staling(replace(evidence, series=both), laws=(LOGNORMAL,))
        except NotConverged:  # the search for the spreads of so small a brewery sometimes gives up
            continue
        cell = cells(model, STYLE, [FORMAT] * len(target.log_dose), target.log_dose)
        days = day_at(target.route.stages, cell.age_at(0.25), cell.activation_energy)
        found[number] = np.quantile(days, (0.1, 0.5, 0.9))
    tried = list(found)
    lower, _, upper = np.array([found[number] for number in tried]).T
    assert len(tried) == BRUTE
    width = (upper - lower).mean()
    assert outlook.widths[tried].mean() == pytest.approx(width, rel=0.10)
    assert outlook.days[tried, 0].mean() == pytest.approx(lower.mean(), rel=0.05)
    # and the study does something, or the comparison would say nothing
    assert width < 0.9 * outlook.width_today


def test_today_is_what_the_fit_says(outlook: Outlook, target: Target) -> None:
    """The bounds before the study are those of the pages, not of a reckoning of their own."""
    assert target.life is not None
    assert outlook.today.tolist() == [target.life.lower, target.life.days, target.life.upper]


def test_a_study_that_nobody_comes_to_tells_nothing(
    study: Study, foresight: Foresight, target: Target
) -> None:
    """Every bound stays where it is today."""
    nobody = plan(replace(study, attendance=1e-12), foresight, target, 3)
    np.testing.assert_allclose(nobody.days, np.tile(nobody.today, (3, 1)))


def test_a_date_is_supported_less_often_the_longer_it_is(outlook: Outlook) -> None:
    """Never beyond the oldest beer that the study will have tasted, if that caps dates."""
    often = [outlook.supporting(days) for days in (1, 60, 90, 126, 127, 500)]
    assert often == sorted(often, reverse=True)
    assert often[0] == 60
    assert often[3] > 0
    assert often[4] == 0  # 126 days in storage and one before: 127, whole weeks from packaging
    assert any(found.binding_cause == "oldest tasted" for found in outlook.dates)


def test_the_order_of_the_parts_does_not_matter(
    study: Study, foresight: Foresight, target: Target, outlook: Outlook
) -> None:
    """Fewer studies are the first of more, and one after the other is as at once."""
    few = plan(study, foresight, target, 15)
    np.testing.assert_array_equal(few.days, outlook.days[:15])


def test_a_style_without_any_fit_is_planned_from_assumptions(study: Study, target: Target) -> None:
    """Far from sure before, and much surer after: the first study tells most."""
    known = foresee(None, STYLE, FORMAT, study.assessors)
    first = plan(study, known, replace(target, life=None), 20)
    assert first.today[2] > 10.0 * first.today[0]
    assert first.width < 0.5 * first.width_today
    assert np.median(first.widths) < 0.25 * first.width_today


def test_a_plan_simulates_a_sensible_number(
    study: Study, foresight: Foresight, target: Target
) -> None:
    """At least one, and no more than there are truths."""
    for studies in (0, MOST_STUDIES + 1):
        with pytest.raises(InputError, match="a plan simulates 1 to 1000 studies"):
            plan(study, foresight, target, studies)


def test_additions_are_one_thing_more(study: Study) -> None:
    """A lot, a pull between, a last pull, the storage nearest to the trade's, two tasters."""
    offered = {4.0: (60, 120), 38.0: (2, 4)}
    found = {added.what: added.study for added in additions(study, 21.0, offered, ("x", "y", "z"))}
    assert list(found) == [
        "a fourth lot",
        "a pull on day 105 at 20 °C",
        "a last pull on day 168 at 20 °C",
        "storage at 4 °C",
        "two tasters",
    ]
    assert found["a fourth lot"].lots == 4
    assert found["a pull on day 105 at 20 °C"].arms[0].pulls == (42, 84, 105, 126)
    assert found["a last pull on day 168 at 20 °C"].arms[0].pulls == (42, 84, 126, 168)
    assert found["storage at 4 °C"].arms[0] == Arm(4.0, (60, 120))
    assert found["two tasters"].assessors == (*study.assessors, "x", "y")
    unchanged = list(additions(study, 21.0, {}, ()))
    assert [added.what for added in unchanged] == list(found)[:3]


def test_more_of_everything_narrows_the_date(
    study: Study, foresight: Foresight, target: Target, outlook: Outlook
) -> None:
    """A large addition helps, and its packages and sittings are told."""
    people = foresight.layout.assessors
    larger = replace(study, lots=8, assessors=people)
    (found,) = neighbours(outlook, [Addition("five lots", larger)], foresight, target)
    assert found.helps
    assert found.narrower_days > 3.0
    assert found.packages == larger.packages - study.packages
    assert found.sittings == larger.sittings - study.sittings


def test_additions_are_ranked_by_what_a_package_brings() -> None:
    """Nine days for 24 packages come before ten for 40; a day that is scatter does not help."""
    lot, pull = Neighbour("a lot", 9.0, 1.0, 24, 0), Neighbour("a pull", 10.0, 1.0, 40, 1)
    assert lot.by_package > pull.by_package
    assert pull.by_sitting < lot.by_sitting
    assert lot.helps
    assert not replace(lot, error_days=5.0).helps
    assert not replace(lot, narrower_days=0.4, error_days=0.01).helps
    assert Neighbour("tasters", 2.0, 0.1, 0, 0).by_package == 2.0


def test_limits_hold_for_a_date_to_come_too(target: Target) -> None:
    """The shortest end counts, and a date that the way takes is none."""
    assert replace(target, limits={"haze": 70.0}).date(200.0) == BestBefore(
        56, "oldest tasted", None
    )
    uncapped = replace(target, rule=Policy(cap_at_oldest_tasted=False))
    assert replace(uncapped, limits={"haze": 70.0}).date(200.0).binding_cause == "haze"
    assert uncapped.date(10.0).days is None
