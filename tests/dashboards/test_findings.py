"""What a style's page says beyond its dates."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

import polars as pl
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

LAGER, HAZY, WHEAT = (f"style-{name}.html" for name in ("pale-lager", "hazy-ale", "wheat"))


def section(page: Path, name: str) -> str:
    """Return the text below a heading of a page, with single common spaces."""
    below = page.read_text(encoding="utf-8").partition(f'<section aria-labelledby="{name}">')[2]
    seen = re.sub(r"<script.*?</script>", "", below.partition("</section>")[0], flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", seen))).strip()


def test_the_steps_have_a_band_of_their_own_where_it_says_something(pages: Path) -> None:
    """It is named in the key; a band from nothing to all is not drawn, and that is said."""
    lager, hazy = section(pages / LAGER, "tasted"), section(pages / HAZY, "tasted")
    assert "other lots, these tasters; each side 90 % sure" in lager
    assert "other lots, these tasters" not in hazy
    assert "Too few lots to say what other lots would give." in hazy


def test_a_gap_is_told_with_what_closes_it(pages: Path) -> None:
    """Where most glasses turn unseen, and nothing where there is no such gap."""
    assert (
        "About a third of the glasses turn between 171 and 209 days at 20 °C, where nobody tasted: "
        "a pull in between would tell."
    ) in section(pages / LAGER, "tasted")
    assert "a pull in between would tell" not in section(pages / HAZY, "tasted")


@pytest.mark.parametrize(
    ("rejected", "verdict"),
    [
        (79, "this beer ages more slowly on the shelf than the cupboard says"),
        (144, "the cupboard and the shelf agree"),
        (260, "the cupboard and the shelf agree"),
        (261, "this beer ages faster on the shelf than the cupboard says"),
    ],
)
def test_the_cupboard_is_set_beside_the_shelf(
    make_pages: Callable[..., Path], brewery: str, rejected: int, verdict: str
) -> None:
    """Rejections seen within the bounds, as they are shown, agree with those expected."""
    made = make_pages(
        brewery, f"UPDATE results.real_time SET rejected = {rejected} WHERE style = 'pale lager'"
    )
    assert (
        "Warmer storage alone would have had us expect 199 rejections (144 to 260) of 611 glasses "
        f"kept at 15 to 25 °C, up to 183 days old; {rejected} were seen: {verdict}."
    ) in section(made / LAGER, "temperatures")


@pytest.mark.parametrize(
    ("p_value", "ratio", "said"),
    [
        (0.015, 0.8, "do not lie on one line; the line gives 25 % too much at 8 °C."),
        (0.015, 1.25, "do not lie on one line; the line gives 20 % too little at 8 °C."),
        (0.5, 0.8, "lie on one line, as far as tastings can tell."),
    ],
)
def test_a_bent_line_is_told_in_words(
    make_pages: Callable[..., Path], brewery: str, p_value: float, ratio: float, said: str
) -> None:
    """How far the line is off in the cold, where chance alone would rarely bend it so."""
    made = make_pages(
        brewery, f"UPDATE results.curvature SET p_value = {p_value}, ratio_cold = {ratio}"
    )
    assert f"Over all beers, warm and cold storage {said}" in section(made / LAGER, "temperatures")


def test_the_cost_of_oxygen_is_told_by_format(pages: Path) -> None:
    """Days lost with bounds rounded outwards, and whether they are mostly assumed."""
    lager, hazy = section(pages / LAGER, "oxygen-costs"), section(pages / HAZY, "oxygen-costs")
    assert (
        "Twice the oxygen dose would cost, in days at 20 °C until one glass in four is rejected: "
        "33 (18 to 48) in bottle and 44 (23 to 68) in can."
    ) in lager
    assert "can 44 (23 to 68) 19 (9 to 30) own tastings" in lager
    assert "Mostly assumed: lots of unlike oxygen" in hazy
    assert "can 9 (−1 to 20) 4 (−1 to 9) mostly assumed" in hazy


def test_a_change_tells_its_days_or_that_there_is_too_little(pages: Path) -> None:
    """With its oxygen and without; bounds on both sides of 0 say nothing."""
    said = section(pages / LAGER, "trials")
    assert (
        "“new lid, 12 Jan 2026”, on 3 lots: with the oxygen that came with it, 15 days lost "
        "(5 to 26); with the oxygen held equal, too few to say (from −13 to +9 days)."
    ) in said
    assert "new lid, 12 Jan 2026 3 −15 (−26 to −5) too few to say (−13 to +9)" in said


def test_scores_stand_beside_verdicts(pages: Path) -> None:
    """Crossings with bounds, open ones too, disagreement, and attributes left out by name."""
    lager, hazy = section(pages / LAGER, "scores"), section(pages / HAZY, "scores")
    assert (
        "The panel's mean score for “cardboard” crosses its cut-off at 231 (204 to 267) days at "
        "20 °C; the verdicts say 135 days. The two disagree"
    ) in lager
    assert "stale 161 (138 or more) 135 64 5 straight line" in lager
    assert "fruity The scores get better with age, not worse." in lager
    assert "score for “stale” does not reach its cut-off; the verdicts say 50 days." in hazy
    assert "Attributes left out" not in hazy


def test_the_same_verdicts_are_read_in_other_ways(pages: Path) -> None:
    """What the dates rest on comes first; a way without an estimate says why."""
    said = section(pages / LAGER, "readings")
    assert (
        "Where any verdict may be wrong, one glass in four is rejected at 135 days at 20 °C, and "
        "the dates rest on that. Ways that take every verdict as right say 68 to 98 days."
    ) in said
    assert said.index("wrong verdicts allowed 135") < said.index("first rejection 68 (55 to 84)")
    assert "every glass alone –" in said
    assert "No estimate: it did not settle." in said


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("temperatures", "The cupboard cannot be checked yet"),
        ("oxygen-costs", "the tables oxygen, samples and tastings fill this."),
        ("trials", "the column trial of the table lots, or the table changes, fills this."),
        ("scores", "name an attribute in the configuration, under attributes"),
        ("readings", "verdicts on aged samples fill this, the tables samples and tastings."),
    ],
)
def test_what_is_missing_is_named_with_what_fills_it(pages: Path, name: str, said: str) -> None:
    """A style without an estimate shows no empty table."""
    found = section(pages / WHEAT, name)
    assert said in found
    assert "days lost" not in found


def test_new_cautions_name_nobody(pages: Path) -> None:
    """Two wordings of the question, and tasters left out by their number alone."""
    said = section(pages / HAZY, "cautions")
    assert "Some verdicts on this style answer an earlier wording of the question" in said
    assert "The verdicts of 2 tasters are left out of the whole run" in said


def test_samples_left_out_are_told_with_their_number(
    make_pages: Callable[..., Path], brewery: str
) -> None:
    """Days that cannot be are named with the tables that mend them."""
    made = make_pages(
        brewery,
        "INSERT INTO results.cautions VALUES "
        "(7, 'hazy ale', NULL, NULL, 'samples left out', 3), "
        "(7, 'pale lager', NULL, NULL, 'samples left out', 1)",
    )
    for page, samples in ((HAZY, "3 samples"), (LAGER, "1 sample")):
        assert (
            f"{samples} left out of the whole run: placed before the lot was packaged, or pulled "
            "before being placed; mend the days in the tables lots and samples."
        ) in section(made / page, "cautions")


def test_statistics_tell_how_far_the_data_moved_them(pages: Path) -> None:
    """Parameters and spreads with the part of the prior taken away, laws with their weight."""
    after = (pages / LAGER).read_text(encoding="utf-8").partition('class="statistics"')[2]
    said = re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", after)))
    assert "spread of lot log days 0.120 0.044 0.160 0.120 63 fitted" in said
    assert "Unit: log days. Prior: mean 0.160, SD 0.120." in said
    assert "loglogistic −241.90 31 no" in said
    assert "likelihood ratio 5.91, 1 degree of freedom, p = 0.015" in said


def test_the_csv_of_an_effect_keeps_every_decimal(pages: Path) -> None:
    """What a cell rounds, or is too little to say, stands in the file."""
    trials = pl.read_csv(pages / "data/style-pale-lager-trials.csv")
    assert trials["days_gained"].to_list() == [-15.3, -2.1]
    costs = pl.read_csv(pages / "data/style-pale-lager-oxygen-costs.csv")
    assert costs["source"].unique().to_list() == ["fitted"]
