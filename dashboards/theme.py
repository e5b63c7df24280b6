"""Colours of the pages and their charts.

Formats take the colour-blind-safe set of Okabe and Ito (Color Universal Design, 2008), in an order
that keeps neighbours far apart; shapes double them. Charts name their colours as CSS variables, so
that the page's light, dark and print schemes reach into a chart that is drawn already.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import altair as alt
import polars as pl

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from dashboards.results import Results

LIGHT: Mapping[str, str] = {
    "paper": "#fffefb",
    "ink": "#1c1b19",
    "muted": "#5c5952",
    "link": "#0b4f8a",
    "line": "#d8d3c7",
    "wash": "#f4f1e9",
    "focus": "#b34700",
}
DARK: Mapping[str, str] = {
    "paper": "#191816",
    "ink": "#ece9e2",
    "muted": "#b0aca2",
    "link": "#8fc1ef",
    "line": "#45423c",
    "wash": "#24221f",
    "focus": "#f0a35e",
}
TEXT_COLOURS = ("ink", "muted", "link")
GROUNDS = ("paper", "wash")

OKABE_ITO = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#F0E442")
SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down", "triangle-right")
FORECAST = OKABE_ITO[0]


def variable(name: str) -> str:
    """Return the CSS name of a colour of the scheme."""
    return f"var(--{name})"


def scheme_css() -> str:
    """Return both schemes as CSS variables: light, dark where the reader asks, light on paper."""

    def block(scheme: Mapping[str, str]) -> str:
        return "; ".join(f"--{name}: {colour}" for name, colour in scheme.items())

    return (
        f":root {{ color-scheme: light dark; {block(LIGHT)} }}\n"
        f"@media screen and (prefers-color-scheme: dark) {{ :root {{ {block(DARK)} }} }}\n"
    )


def format_colours(results: Results) -> dict[str, str]:
    """Return each format's colour, the same on every page.

    Formats are taken in the order of their first packaging day, so that a new format takes the
    next colour and none of the others changes its own.
    """
    first_lots = (
        results.lot_oxygen.group_by("format")
        .agg(first=pl.col("packaged_on").min())
        .sort("first", "format")["format"]
    )
    formats = dict.fromkeys([*first_lots, *results.dates["format"].unique().sort()])
    return {name: OKABE_ITO[i % len(OKABE_ITO)] for i, name in enumerate(formats)}


def format_shapes(colours: Mapping[str, str]) -> dict[str, str]:
    """Return each format's shape, which doubles its colour."""
    return {name: SHAPES[i % len(SHAPES)] for i, name in enumerate(colours)}


def finished(layers: Sequence[alt.Chart], height: int) -> dict[str, Any]:
    """Return the specification of layers, as wide as their place, in the page's type."""
    ink, muted, line = variable("ink"), variable("muted"), variable("line")
    face = "system-ui, sans-serif"
    text = alt.AxisConfig(
        labelColor=ink,
        titleColor=ink,
        labelFontSize=13,
        titleFontSize=13,
        titleFontWeight="normal",
        domainColor=muted,
        tickColor=muted,
        gridColor=line,
        labelLimit=150,
    )
    spec: dict[str, Any] = (
        alt.LayerChart(layer=list(layers))
        .properties(width="container", height=height, autosize=alt.AutoSizeParams(type="fit-x"))
        .configure(
            background="transparent",
            font=face,
            axis=text,
            legend=alt.LegendConfig(
                labelColor=ink,
                titleColor=ink,
                labelFontSize=13,
                titleFontSize=13,
                titleFontWeight="normal",
                orient="bottom",
                columns=4,
            ),
            view=alt.ViewConfig(stroke=None),
            text=alt.MarkConfig(color=ink, fontSize=13),
        )
        .to_dict()
    )
    return spec
