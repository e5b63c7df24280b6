"""A complaint to change one thing of."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from analysis.cases.case import Case
from analysis.cases.evidence import OtherComplaints, Oxygen, Tasted, told
from tests.analysis.cases.simulated_complaints import AMBIENT, CUPBOARD, USUAL, ages, staling_draws

if TYPE_CHECKING:
    from analysis.cases.odds import Weighed

DRAWS = staling_draws(64, 3)
OXYGEN = Oxygen("oxygen", math.log(110.0), 0.15)
RETAINED = Tasted("retained", 90.0, 12, 6, CUPBOARD)
NEIGHBOUR = Tasted("neighbour", 80.0, 10, 2, CUPBOARD, alike=0.6)
RETURNED = Tasted("come back", 110.0, 8, 6, None)
TOLD = told("told", 6.0, 40.0, 70.0)
OF_THE_LOT = OtherComplaints("of the lot", 2, 0.6)
AT_THE_OUTLET = OtherComplaints("at the outlet", 0, 0.9, at_outlet=True)
EVERYTHING = (OXYGEN, RETAINED, NEIGHBOUR, RETURNED, TOLD, OF_THE_LOT, AT_THE_OUTLET)

_CASE = Case(
    draws=DRAWS,
    usual_log_ppb=USUAL,
    stages=AMBIENT,
    ages_drunk=ages(),
    kind="bottle",
    categories=("stale",),
    age_days=95.0,
    printed_days=150.0,
)


def complaint(**changes: Any) -> Case:  # noqa: ANN401 - fields of a case
    """Return a bottle called stale at 95 days, inside its date, with what is to be otherwise."""
    return replace(_CASE, **changes)


def shares(weighed: Weighed, column: str = "posterior") -> dict[str, float]:
    """Return a column of the odds by account."""
    return dict(weighed.odds.select("account", column).iter_rows())


def factors(weighed: Weighed, item: str) -> dict[str, float]:
    """Return an item's factor by account."""
    rows = weighed.items.select("item", "account", "factor").iter_rows()
    return {account: factor for name, account, factor in rows if name == item}
