"""The page of the panel's performance: what its scores tell apart, and what they scatter by."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import panel_charts, words
from dashboards.page import Chart, Key, Page
from dashboards.pages import panel_sessions, panel_tables
from dashboards.pages.panel_tables import name_of

if TYPE_CHECKING:
    from dashboards.results import Results

Cells = dict[str, Any]

_UNSURE = 0.05  # chance of beers that look so different where all are alike
_SCALES = (
    ("narrower", "keeps to a narrower part of the scale", "keep to a narrower part of the scale"),
    ("wider", "uses more of the scale than the others", "use more of the scale than the others"),
)


def page(results: Results) -> Page:
    """Return the page of the panel's performance."""
    known = results.panel_attributes.filter(pl.col("reason").is_null())
    attributes = known["attribute"].to_list()
    tables = {
        "told_apart": panel_tables.told_apart(results),
        "scatter": panel_tables.scatter(results),
        "anova": panel_tables.anova(results),
    }
    tasters = tuple(panel_tables.tasters(results, a, n) for n, a in enumerate(attributes))
    return Page(
        file="panel.html",
        title="Panel performance",
        template="panel.html",
        context={
            "lead": _lead(results),
            "scattered": tuple(_scattered(a) for a in known.rows(named=True)),
            "charts": tuple(
                _told_apart(results, a, n) for n, a in enumerate(known.rows(named=True))
            ),
            "scatter_chart": _scatter(known),
            "tasters": tuple(
                (name_of(a), _beside(results, a), _agreement(results, a, n), table)
                for n, (a, table) in enumerate(zip(attributes, tasters, strict=True))
            ),
            "panel_sessions": panel_sessions.context(results),
            "change": _change(results),
            "tests": tuple(_test(a) for a in known.rows(named=True)),
            **tables,
        },
        tables=(*tables.values(), *tasters, *panel_sessions.tables(results)),
    )


def _lead(results: Results) -> str:
    if results.panel_attributes.is_empty():
        return panel_tables.NO_ATTRIBUTES
    known = results.panel_attributes.filter(pl.col("p") <= _UNSURE).rows(named=True)
    blind = results.panel_attributes.filter(pl.col("p") > _UNSURE)["attribute"]
    few = results.panel_attributes.filter(pl.col("reason").is_not_null()).rows(named=True)
    said = [_told(a, first=place == 0) for place, a in enumerate(known)]
    said += [f"The scores for {name_of(name)} do not tell the beers apart yet." for name in blind]
    said += [
        f"For {name_of(a['attribute'])} there are too few scores to say (n = {a['glasses']})."
        for a in few
    ]
    return " ".join(said)


def _told(a: Cells, *, first: bool) -> str:
    """Say what is told apart, rounded up so that it is not said to be better than it is."""
    points, name = words.figure(ceil(10 * a["told_apart"]) / 10, 1), name_of(a["attribute"])
    scale = f"on the scale from {words.plain(a['low'])} to {words.plain(a['high'])}"
    tasters = words.in_letters(a["present"])
    if not first:
        return f"For {name}, {scale}, it takes {points} points before {tasters} do."
    return (
        f"Two beers must lie {points} points of {name} apart, {scale}, before {tasters} tasters "
        "with a glass of each tell them apart four times in five."
    )


def _scattered(a: Cells) -> str:
    """Say what scores of one beer differ by."""
    parts = panel_tables.scatter_of(a)
    total = sum(a[column] ** 2 for *_, column in parts) ** 0.5
    shares = words.listed([f"{words.part(share)} is {said}" for said, share, _ in parts])
    return (
        f"Scores of one and the same beer for {name_of(a['attribute'])} usually lie "
        f"{words.figure(total, 1)} points from their middle. Of that scatter {shares}."
    )


def _told_apart(results: Results, a: Cells, place: int) -> Chart:
    part = results.panel_resolution.filter(pl.col("attribute") == a["attribute"])
    said = (
        f"{words.in_letters(a['present']).capitalize()} tasters tell differences of "
        f"{panel_tables.bounded(a, 'told_apart')} points; more tasters tell finer ones."
    )
    return Chart(
        name=f"told-apart-{place}",
        title=f"Points of {name_of(a['attribute'])} told apart, by number of tasters",
        summary=said,
        caption=said,
        key=(
            Key("line", "told apart four times in five", panel_charts.HUE),
            Key("band", "bounds", panel_charts.HUE),
        ),
        spec=panel_charts.told_apart(part, a["present"]),
    )


def _scatter(known: pl.DataFrame) -> Chart | None:
    lines = [
        {
            "row": f"{words.short(name_of(a['attribute']), 20)}\n{said}",
            "value": a[column],
            "lower": a[f"{column}_lower"],
            "upper": a[f"{column}_upper"],
        }
        for a in known.rows(named=True)
        for said, _, column in panel_tables.scatter_of(a)
    ]
    if not lines:
        return None
    said = "The longer the bar, the less is known of how much it is."
    return Chart(
        name="scatter",
        title="What scores of one beer scatter by",
        summary=said,
        caption=said,
        key=(Key("point", "usual size"), Key("band", "bounds", panel_charts.HUE)),
        spec=panel_charts.rows(pl.DataFrame(lines), "Usual size, points"),
    )


def _agreement(results: Results, attribute: str, place: int) -> Chart | None:
    part = results.assessor_scores.filter(
        pl.col("attribute") == attribute, pl.col("agreement").is_not_null()
    ).select(row="code", value="agreement", lower="agreement_lower", upper="agreement_upper")
    if part.is_empty():
        return None
    said = "At 1 a taster's scores go up and down with the others'; at 0 they do not."
    return Chart(
        name=f"agreement-{place}",
        title=f"How far each taster's scores of {name_of(attribute)} go with the others'",
        summary=said,
        caption=said,
        key=(Key("point", "estimate"), Key("band", "bounds", panel_charts.HUE)),
        spec=panel_charts.rows(part, "Goes with the others, −1 to 1", at=0.0),
    )


def _beside(results: Results, attribute: str) -> str:
    """Say by code who would gain from practice and who uses the scale otherwise."""
    own = results.assessor_scores.filter(pl.col("attribute") == attribute)
    apart = pl.col("agrees_less").fill_null(False) | pl.col("unsteady").fill_null(False)  # noqa: FBT003
    practice = own.filter(apart)["code"].to_list()
    said = (
        "A few sessions of blind fresh and aged beer side by side would help "
        f"{words.listed(practice)} to score with the others."
        if practice
        else "Nobody's scores stand far apart from the others'."
    )
    for scale, one, more in _SCALES:
        codes = own.filter(~apart, pl.col("scale_apart") == scale)["code"].to_list()
        if codes:
            said += f" {words.listed(codes)} {one if len(codes) == 1 else more}."
    return said


def _change(results: Results) -> str:
    """Say what more tasters, or second glasses, would tell apart."""
    said = []
    for a in results.panel_attributes.filter(pl.col("reason").is_null()).rows(named=True):
        part = {
            r["assessors"]: r
            for r in results.panel_resolution.filter(pl.col("attribute") == a["attribute"]).rows(
                named=True
            )
        }
        more = min(a["present"] + 4, max(part))
        line = (
            f"{name_of(a['attribute'])}: {words.in_letters(more)} tasters would tell "
            f"{words.figure(part[more]['told_apart'], 1)} points apart"
        )
        twice = part[a["present"]]["told_apart_twice"]
        if twice is not None:
            line += (
                f", the usual {words.in_letters(a['present'])} with two glasses of each beer "
                f"{words.figure(twice, 1)}"
            )
        said.append(f"{line}.")
    unrepeated = results.panel_attributes.filter(pl.col("glasses") > 0, ~pl.col("repeated")).height
    if unrepeated:
        said.append(
            "Pour one beer of each session twice under two codes: only that shows how far a taster "
            "repeats a score."
        )
    return " ".join(said)


def _test(a: Cells) -> str:
    """Return the F of the beers in a statistician's words."""
    return (
        f"{a['attribute']}: samples F {words.figure(a['f'], 3)} on {words.whole(a['numerator'])} "
        f"and {words.figure(a['denominator'], 1)} df, p {panel_tables.chance(a['p'])}; variances "
        f"assessor {_square(a, 'level_sd')}, assessor by sample {_square(a, 'disagreement_sd')}, "
        f"residual {_square(a, 'repeat_sd')}."
    )


def _square(a: Cells, name: str) -> str:
    return words.figure(None if a[name] is None else a[name] ** 2)
