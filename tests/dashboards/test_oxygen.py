"""The page of package oxygen."""

from __future__ import annotations

import csv
import html
import json
import re
from typing import TYPE_CHECKING, Any

import pytest

from dashboards import signals, words
from dashboards.pages import oxygen
from dashboards.results import read_results

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from dashboards.page import Page


def text(page: Path) -> str:
    """Return the text of a page with single common spaces, what stands in scripts left out."""
    seen = re.sub("<script.*?</script>", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub("<.*?>", " ", seen))).replace(" .", ".")


def page_of(store: Path) -> Page:
    """Return the page of a store, not yet written."""
    return oxygen.page(read_results(store))


@pytest.fixture(scope="module")
def said(pages: Path) -> str:
    """The text of the page with a line that rose."""
    return text(pages / "oxygen.html")


def test_the_sentence_says_which_line_changed_by_how_much_since_when(said: str) -> None:
    """It comes first, with its bounds rounded outwards, and what was usual."""
    assert (
        "Package oxygen Canning, can: up by 28 ppb (16 to 42) since 9 Feb 2026, 8 lots; 90 ppb "
        "where 62 was usual. Too few lots to say for canning, slim can (2 lots); can, line not "
        "recorded (1 lot): limits take eight."
    ) in said


def plain(said: str) -> str:
    """Return a sentence with common spaces."""
    return said.replace(words.NBSP, " ")


def test_where_nothing_changed_the_page_says_so(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """It names the lines and formats that it can say it of."""
    page = page_of(make_store(brewery, "DELETE FROM results.oxygen_signals"))
    assert [plain(line) for line in page.context["lead"]] == [
        (
            "Package oxygen is as it was: nothing changed on bottling, bottle; canning, can; "
            "racking, keg."
        )
    ]
    assert page.context["alerts"] == []
    assert page.context["listed"].rows == ()


def test_a_new_signal_that_is_over_is_told_of_too(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """Nothing lasts, but one lot is for a person to look at."""
    page = page_of(make_store(brewery, "DELETE FROM results.oxygen_signals WHERE ongoing"))
    assert plain(page.context["lead"][1]) == "One new signal is for a person to look at."
    assert [plain(line) for line in page.context["alerts"]] == [
        "Canning, can: lot c-can-09 of 9 Mar 2026 held 99 ppb, above the upper limit of 91."
    ]


def test_a_line_that_falls_is_told_of_as_falling(
    make_store: Callable[..., Path], brewery: str
) -> None:
    """Six in a row that fall may still lie above the middle: no level is told."""
    falling = (
        "UPDATE results.oxygen_signals SET rule = 'six rising or falling', side = 'below' "
        "WHERE ongoing"
    )
    page = page_of(make_store(brewery, falling))
    assert [plain(line) for line in page.context["lead"]] == [
        "Canning, can: falling from lot to lot since 9 Feb 2026, 8 lots."
    ]


def test_each_line_has_its_level_limits_target_and_share(said: str) -> None:
    """An assumed target says so; a chart without limits or target has dashes."""
    for row in (
        "bottling, bottle 75 (67 to 83) 50 to 112 0 of 66 100, assumed 12 72",
        "canning, can 62 (55 to 69) 42 to 91 22 of 70 100 12 72",
        "canning, slim can 70 – 7 of 7 100 2 12",
        "can, line not recorded 70 – – – 1 6",
    ):
        assert row in said
    for share in (
        (
            "Canning, can: about one package in three (22 of 70 packages) of the newest 12 lots "
            "held more than 100 ppb."
        ),
        "Bottling, bottle: none of 66 packages of the newest 12 lots held more than 100 ppb.",
        "Canning, slim can: each of 7 packages of the newest 2 lots held more than 100 ppb.",
    ):
        assert share in said


def test_signals_stand_newest_first_with_bounds_as_bounds(said: str) -> None:
    """What still lasts says so; a lot known to a bound has its sign."""
    listed = [
        "canning, can 9 Feb 2026, lot c-can-05 8 90 +28 still eight in a row",
        "canning, can 9 Mar 2026, lot c-can-09 1 99 +37 9 Mar 2026 beyond a limit, above",
        "racking, keg 23 Feb 2026, lot r-keg-07 1 ≥61 +26 23 Feb 2026 beyond a limit, above",
        "bottling, bottle 19 Jan 2026, lot b-bottle-02 1 48 −27 19 Jan 2026 beyond a limit, below",
    ]
    places = [said.index(row) for row in listed]
    assert places == sorted(places)


def test_alerts_are_new_upwards_and_one_a_chart(store: Path) -> None:
    """The keg's signal stood in the run of a week ago, the bottle's is downwards."""
    (alert,) = signals.alerts(read_results(store))
    assert alert.startswith("Canning, can: up by 28")


def test_never_more_than_three_alerts(make_store: Callable[..., Path], brewery: str) -> None:
    """Five lines with a new signal each give three alerts, the newest and worst first."""
    more = "".join(
        f"""
        INSERT INTO results.oxygen_charts BY NAME
        SELECT * REPLACE ('line {n}' AS line) FROM results.oxygen_charts
        WHERE run_id = 7 AND line = 'canning' AND format = 'can';
        INSERT INTO results.oxygen_signals BY NAME
        SELECT * REPLACE ('line {n}' AS line, {n} AS sigmas) FROM results.oxygen_signals
        WHERE line = 'canning';
        """
        for n in range(4, 8)
    )
    results = read_results(make_store(brewery, more))
    assert results.oxygen_alerts["line"].to_list() == ["line 7", "line 6", "line 5"]


def test_alerts_stand_on_the_first_page_and_the_data_page(pages: Path) -> None:
    """They keep their line among what needs a person, and so do rows set aside."""
    for name in ("index.html", "data.html"):
        page = text(pages / name)
        assert "Canning, can: up by 28 ppb (16 to 42) since 9 Feb 2026" in page, name
    assert "stand aside and wait to be mended" in text(pages / "index.html")


def chart_of(pages: Path, number: int) -> tuple[str, dict[str, Any]]:
    """The whole figure of a chart, and its specification."""
    page = (pages / "oxygen.html").read_text(encoding="utf-8")
    figure = page.split(f'data-chart="chart-{number}"')[1].split("</figure>")[0]
    spec = re.search('<script type="application/json">(.*?)</script>', figure, flags=re.DOTALL)
    assert spec
    return figure, json.loads(spec[1])


def values(spec: dict[str, Any], field: str) -> list[Any]:
    """Every value of a field in the data of a chart's layers."""
    held = [*spec["datasets"].values()] if "datasets" in spec else []
    held += [
        layer["data"]["values"] for layer in spec["layer"] if "values" in layer.get("data", {})
    ]
    return [row[field] for rows in held for row in rows if field in row]


def test_a_chart_draws_limits_changes_and_signals(pages: Path) -> None:
    """Its words stand in it, its axis is logarithmic and says so, and its caption names changes."""
    figure, spec = chart_of(pages, 2)
    assert {"limit 91", "middle 62", "limit 42", "target 100"} <= set(values(spec, "text"))
    assert {"seamer set anew after t…", "new gas"} == set(values(spec, "what"))
    assert '"type":"log"' in figure.replace(" ", "")
    assert "Package oxygen, ppb (log scale)" in figure
    assert "from 20 to 40 is as far as from 50 to 100" in text(pages / "oxygen.html")
    caption = re.sub(r"\s+", " ", html.unescape(figure.split("<figcaption>")[1]))
    assert "Limits from the first 12 lots, 12 Jan 2026 to 2 Feb 2026; they stay" in caption
    assert (
        "Upright: “seamer set anew after the rebuild”, 6 Feb 2026 and “new gas”, 20 Mar 2026."
        in caption
    )
    assert "part of a signal" in figure


def test_bounds_are_arrows_and_no_points(pages: Path) -> None:
    """A lot that is at least, and one that is at most, so much are marked apart and keyed."""
    figure, spec = chart_of(pages, 4)
    arrows = [m["mark"] for m in spec["layer"] if m["mark"].get("shape") == "arrow"]
    assert [mark.get("angle", 0) for mark in arrows] == [0, 180]
    assert {"at least 30", "at most 28"} <= set(values(spec, "said"))
    assert "only a bound is known" in figure


def test_beer_side_and_closing_are_told_apart(said: str) -> None:
    """The sentence with its numbers, and the row."""
    assert (
        "Racking, keg: of 35 ppb, 26 came with the beer and 9 (5 to 13) with closing (6 lots)."
    ) in said
    assert "racking, keg 35 26 9 (5 to 13) 6" in said


def test_what_readings_are_is_counted(said: str) -> None:
    """Read, below the floor, late, part, not usable, lots with bounds only."""
    assert "racking, keg 72 3 4 5 1 2" in said


def test_totals_that_may_be_shaken_are_shown_with_the_evidence(said: str) -> None:
    """What was entered, what it would be, what is usual."""
    assert "L0905, can 29 65 66 140 5 the line's other lots" in said


def test_moved_limits_are_listed(said: str) -> None:
    """The run, before and then, in the part for the statistician; so is capability."""
    before, folded = said.split("For the statistician")
    assert "canning, can 7, 6 Apr 2026 42 to 88 42 to 91" in folded
    assert "canning, can 0.34 0.14 to 0.54" in folded
    assert "Cpk" not in before


def test_every_lot_is_in_the_csv(pages: Path) -> None:
    """All points with their bounds, whatever the page draws."""
    with (pages / "data/oxygen-lots.csv").open(newline="", encoding="utf-8") as file:
        lots = list(csv.DictReader(file))
    assert len(lots) == 39
    bounds = [lot["at_least_ppb"] for lot in lots if lot["at_least_ppb"]]
    assert bounds == ["30.0"]


def test_a_long_chart_draws_the_newest_lots(make_store: Callable[..., Path], brewery: str) -> None:
    """Sixty of them, and the caption says of how many."""
    more = """
        INSERT INTO results.chart_points BY NAME
        SELECT p.* REPLACE (p.position + 12 * t.n AS position, p.lot || '-' || t.n AS lot)
        FROM results.chart_points AS p, range(1, 11) AS t(n)
        WHERE p.line = 'bottling';
    """
    bottling = page_of(make_store(brewery, more)).context["charts"][0]
    assert "The newest 60 of 132 lots; the CSV has all." in plain(bottling.caption)
    assert "60 lots in the order of filling" in plain(bottling.summary)


def test_without_readings_the_page_says_which_files_fill_it(empty_pages: Path) -> None:
    """No sentence, no charts, no statistics."""
    said = text(empty_pages / "oxygen.html")
    assert "the tables oxygen, lots and formats fill this" in said
    assert "For the statistician" not in said
