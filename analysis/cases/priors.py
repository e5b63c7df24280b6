"""How likely each account is taken to be before looking.

    prior(account) = share(account) · light(package) / sum over the accounts that can be

A share is that of all taste complaints, assumed. Light counts for bottles alone, once for brown,
three times for green and five times for clear glass (assumed).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from analysis.cases.accounts import (
    ACCOUNTS,
    DATE_TOO_LONG,
    DISPENSE,
    DRAUGHT,
    LIGHT,
    PAST_ITS_DATE,
    PRIORS,
)
from analysis.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.cases.case import Case

_LETS_LIGHT_IN = {"dark": 0.0, "brown": 1.0, "green": 3.0, "clear": 5.0}


def prior_odds(case: Case, priors: Mapping[str, float]) -> pl.DataFrame:
    """Return what each account is taken to be before looking.

    Args:
        case: the complaint.
        priors: share of taste complaints by account, in any unit, 0 or above; an account that is
            not named counts as in `PRIORS`.

    Returns:
        One row an account, in their order: account, prior (0 to 1, adding to 1), reason (why it
        cannot be; null where it can).

    Raises:
        InputError: a share is below 0 or of no account, or every account that can be has none.
    """
    unknown = set(priors) - set(ACCOUNTS)
    if unknown or any(share < 0.0 for share in priors.values()):
        message = "the share of an account must be 0 or above, and its name one of: "
        raise InputError(message + ", ".join(ACCOUNTS))
    rows = [(account, *_share(account, case, priors)) for account in ACCOUNTS]
    total = sum(share for _, share, _ in rows)
    if not total > 0.0:
        message = "every account that can be has a share of 0: give one of them more"
        raise InputError(message)
    return pl.DataFrame(
        [(account, share / total, reason) for account, share, reason in rows],
        schema={"account": pl.String, "prior": pl.Float64, "reason": pl.String},
        orient="row",
    )


def _share(account: str, case: Case, priors: Mapping[str, float]) -> tuple[float, str | None]:
    share = priors.get(account, PRIORS[account])
    reason = None
    if account == LIGHT:
        lets_in = _light(case)
        share *= lets_in
        reason = "no light gets to the beer" if lets_in == 0.0 else None
    elif account == DISPENSE and case.kind not in DRAUGHT:
        reason = "it is not draught"
    elif account == PAST_ITS_DATE:
        reason = _cannot_be_past(case)
    elif account == DATE_TOO_LONG and case.opened_after_its_date:
        reason = "it was opened after its date"
    if reason is None and share == 0.0:
        reason = "its share of complaints is set to 0"
    return (0.0 if reason else share), reason


def _light(case: Case) -> float:
    if "bottle" not in case.kind:
        return 0.0
    return _LETS_LIGHT_IN.get(case.light or "brown", 1.0)


def _cannot_be_past(case: Case) -> str | None:
    if case.printed_days is None:
        return "no printed date is known"
    if case.age_sd == 0.0 and case.age_days is not None and not case.opened_after_its_date:
        return "it was opened inside its date"
    if not case.ages_drunk.after(case.printed_days) > 0.0:
        return "none of it is drunk after its date"
    return None
