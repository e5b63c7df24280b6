"""What is said of a format that was never filled: its lent dates, and what they rest on."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.dating.new_format import UNREAD_SD
from analysis.dating.policy import LOW_ALCOHOL_REASON

if TYPE_CHECKING:
    from collections.abc import Mapping

    from analysis.dating.new_format import NewFormat, Oxygen
    from pipelines.config.records import Pulls

Cells = dict[str, Any]

STUDIED = 2
"""Styles that a study is told to begin with."""
LOTS = 3
"""Lots of each, from different weeks, so that a lot is not taken for the format."""

TRIAL = "Treat as a trial: nobody has tasted this beer aged in this package."
_INGRESS = {
    "closure": "as your formats with the same closure have it",
    "scavenging": "what a scavenging liner lets in, assumed",
    "kind": "as your other formats of its kind have it",
    "nothing": "nothing, because neither it nor its like is known",
}


def in_words(
    asked: NewFormat,
    oxygen: Oxygen,
    dates: pl.DataFrame,
    like: pl.DataFrame,
    pulls: Pulls,
    brewery: Mapping[str, Any],
) -> dict[str, str]:
    """Return answer, data, assumed, likeness and study, their sentences a line each.

    Args:
        asked: the format.
        oxygen: what is taken of its oxygen.
        dates: as `lent_dates` returns them.
        like: as `likeness` returns it.
        pulls: the brewery's plan of pulls.
        brewery: dates of the newest run, and unsafe_beers: beer, style.
    """
    answer = [_lent(asked.name, row) for row in dates.iter_rows(named=True)]
    unsafe = brewery["unsafe_beers"].filter(pl.col("style").is_in(dates["style"].to_list()))
    answer += [f"{beer}: none. {LOW_ALCOHOL_REASON}" for beer in unsafe["beer"].unique().sort()]
    said = {
        "answer": [*answer, TRIAL],
        "data": _data(asked, oxygen),
        "assumed": _assumed(asked, oxygen, dates),
        "likeness": [_likeness(asked, like)],
        "study": _study(asked, dates, like, pulls, brewery["dates"]),
    }
    return {name: "\n".join(lines) for name, lines in said.items()}


def _lent(name: str, row: Cells) -> str:
    place = f"{row['style']} in {name}, kept as '{row['route']}' says (about {row['temp_c']:g} °C)"
    if row["best_before_days"] is None:
        return f"{place}: no date: {(row['reason'] or 'nothing is estimated').rstrip('.')}."
    if row["shelf_life_days_upper"] is None:
        upper = "no end in sight"
    else:
        upper = f"{ceil(row['shelf_life_days_upper'])}"
    lived = f"{row['shelf_life_days']:.0f}" if row["shelf_life_days"] < float("inf") else "no end"
    lower = row["shelf_life_days_lower"]
    bounds = f"{floor(lower) if lower < float('inf') else 'no end'} to {upper}"
    return (
        f"{place}: {row['best_before_days']} days lent; flavour lasts {lived} days ({bounds}); "
        f"ended by {row['binding_cause']}."
    )


def _data(asked: NewFormat, oxygen: Oxygen) -> list[str]:
    said = ["How each style ages, by the tastings of your other formats and their oxygen."]
    if oxygen.like is None:
        lower, upper = oxygen.bounds
        few = len(asked.oxygen)
        said.append(
            f"Its oxygen: {few} reading{'' if few == 1 else 's'}, taken as packages of one lot: "
            f"{oxygen.total_ppb:.0f} ppb; its typical lot may hold {floor(lower)} to {ceil(upper)}."
        )
    if oxygen.ingress_from == "given":
        said.append(f"What its closure lets in, as you say: {oxygen.ingress:g} ppb a day.")
    return said


def _assumed(asked: NewFormat, oxygen: Oxygen, dates: pl.DataFrame) -> list[str]:
    package = (
        "What the package itself does to the beer, oxygen apart: nothing on average, give or take "
        "15 % for every style and what styles differ by in your other formats."
    )
    said = [package]
    if asked.oxygen == ():
        lower, upper = oxygen.bounds
        whose = f"that of {oxygen.like}" if oxygen.like else "a usual one"
        said.append(
            f"Its oxygen, for none was read: {whose}, {oxygen.total_ppb:.0f} ppb, and it may be "
            f"{floor(lower)} to {ceil(upper)} (SD {UNREAD_SD:g} in logs)."
        )
    if oxygen.ingress_from != "given":
        said.append(
            f"What its closure lets in: {oxygen.ingress:g} ppb a day, "
            f"{_INGRESS[oxygen.ingress_from]}."
        )
    if thin := dates.filter(pl.col("basis") == "prior")["style"].unique().sort().to_list():
        said.append(f"Much of how {', '.join(thin)} ages: your data say little of it so far.")
    return said


def _likeness(asked: NewFormat, like: pl.DataFrame) -> str:
    nearest = next(like.iter_rows(named=True), None)
    if nearest is None:
        return "No format of yours to hold it against."
    kind = "the same kind" if nearest["kind"] == asked.kind else f"{nearest['kind']}, another kind"
    closures = (nearest["closure"], asked.closure)
    if None in closures:
        closure = "closure not named by both"
    else:
        alike = nearest["closure"].lower() == (asked.closure or "").lower()
        closure = "the same closure" if alike else f"another closure ({nearest['closure']})"
    dose = f"; dose {nearest['dose_ppb']:.0f} ppb" if nearest["dose_ppb"] is not None else ""
    return (
        f"Most like it is {nearest['format']}, distance {nearest['distance']:.1f}: {kind}; "
        f"{nearest['volume_ml']:g} against {asked.volume_ml:g} mL; {closure}{dose}."
    )


def _study(
    asked: NewFormat, dates: pl.DataFrame, like: pl.DataFrame, pulls: Pulls, known: pl.DataFrame
) -> list[str]:
    """Name the styles most tasted, for what they lend is known best, and the pulls planned."""
    lent = dates.filter(pl.col("basis") != "none")["style"].unique()
    styles = (
        known.filter(pl.col("style").is_in(lent.to_list()))
        .select("style", "format", "verdicts")
        .unique()
        .group_by("style")
        .agg(pl.col("verdicts").sum())
        .sort("verdicts", "style", descending=[True, False])["style"]
        .head(STUDIED)
        .to_list()
    )
    beside = f", and beside them {like['format'][0]} of the same batches" if like.height else ""
    said = [f"Fill {LOTS} lots each of {' and '.join(styles)} into {asked.name}{beside}."]
    for style in styles:
        plan = {**pulls.plan, **pulls.styles.get(style, {})}
        kept = "; ".join(
            f"at {temp:g} °C pull after {', '.join(str(day) for day in days)} days"
            for temp, days in sorted(plan.items())
            if days
        )
        said.append(f"{style}: {kept}." if kept else f"{style}: [pulls] plans none yet.")
    read = "Read the total oxygen of six packages of each lot within two hours of filling."
    return [*said, read, "To plan it by what it would teach: stalecurve plan."]
