"""What is said of two sides that one panel tasted, one sentence an attribute."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping


def comparison_words(row: Mapping[str, Any]) -> str:
    """Say how far the second side is from the first in one attribute.

    What is found is judged by the bounds as they are said, rounded outwards.

    Args:
        row: a row of the comparisons.
    """
    share = row["attribute"] is None
    what = "share of glasses rejected" if share else row["attribute"]
    if row["reason"] is not None:
        return f"{what}: {row['reason']}."
    low, high = (
        _outwards(row["difference_lower"], share=share, of=floor),
        _outwards(row["difference_upper"], share=share, of=ceil),
    )
    first, second = row["first"], row["second"]
    if low <= 0.0 <= high:
        return (
            f"{what}: no difference found between {first} and {second}; {second} may have "
            f"{_span(low, high, share=share)}."
        )
    near, far = sorted((abs(low), abs(high)))
    way = "more" if low > 0.0 else "less"
    most = _amount(abs(row["difference"]), share=share)
    return (
        f"{what}: {second} has {most} {way} than {first} ({_amount(near, share=share)} to "
        f"{_amount(far, share=share)} {way})."
    )


def kept_words(row: Mapping[str, Any]) -> str:
    """Say what was compared: storages, glasses, people, lots and sessions."""
    glasses = f"{row['first_glasses']} and {row['second_glasses']} glasses"
    lots = f" of {row['first_lots']} and {row['second_lots']} lots" if row["kind"] != "lot" else ""
    session = "one session" if row["sessions"] == 1 else f"{row['sessions']} sessions"
    said = (
        f"{glasses}{lots}, tasted by the same {row['assessors']} people in {session}, kept at "
        f"{row['kept']}."
    )
    if row["one_session"]:
        said += " One session: what another day or another package would add is not in the bounds."
    return said


def _outwards(value: float, *, share: bool, of: Any) -> float:  # noqa: ANN401 - floor or ceil
    digits = 100 if share else 10
    return float(of(round(value * digits, 6))) / digits


def _amount(value: float, *, share: bool) -> str:
    return f"{100 * value:.0f} of 100 glasses" if share else f"{value:.1f}"


def _span(low: float, high: float, *, share: bool) -> str:
    if low == high == 0.0:
        return "neither more nor less"
    less, more = _amount(-low, share=share), _amount(high, share=share)
    if high == 0.0:
        return f"up to {less} less"
    if low == 0.0:
        return f"up to {more} more"
    return f"from {less} less to {more} more"
