"""The colours of pages and charts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl
import pytest

from dashboards import theme
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path


def luminance(colour: str) -> float:
    """Return relative luminance as WCAG 2.2 defines it, 0 to 1."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_that_of_wcag() -> None:
    """Black on white is 21 to 1, and #767676 on white just passes 4.5 (reference: WCAG 2.2)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("scheme", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
@pytest.mark.parametrize("text", theme.TEXT_COLOURS)
@pytest.mark.parametrize("ground", theme.GROUNDS)
def test_text_can_be_read_in_both_schemes(
    scheme: Mapping[str, str], text: str, ground: str
) -> None:
    """Every text colour stands at least 4.5 to 1 against every ground."""
    assert contrast(scheme[text], scheme[ground]) >= 4.5


@pytest.mark.parametrize("scheme", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_the_line_of_the_curve_can_be_seen_in_both_schemes(scheme: Mapping[str, str]) -> None:
    """What is expected stands at least 3 to 1 against the paper, as does the focus ring."""
    assert contrast(theme.FORECAST, scheme["paper"]) >= 3
    assert contrast(scheme["focus"], scheme["paper"]) >= 3


def test_a_new_format_leaves_the_colours_of_others_alone(store: Path) -> None:
    """Formats take colours in the order of their first packaging day."""
    results = read_results(store)
    colours = theme.format_colours(results)
    assert list(colours) == ["bottle", "can", "keg", "slim can"]
    assert len(set(colours.values())) == 4
    first = results.lot_oxygen.head(1).with_columns(
        format=pl.lit("a new tin"), packaged_on=pl.col("packaged_on").dt.offset_by("9y")
    )
    later = theme.format_colours(
        type(results)(**{**vars(results), "lot_oxygen": results.lot_oxygen.vstack(first)})
    )
    assert {name: later[name] for name in colours} == colours
    assert list(later)[-1] == "a new tin"
