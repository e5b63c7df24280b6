"""The page of formats apart, and what moves the date on a style's page."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from dashboards.pages import formats, style_levers
from dashboards.results import Results, read_results
from tests.dashboards.test_this_week import text

if TYPE_CHECKING:
    from pathlib import Path

    from dashboards.page import Page, Table


def lead(page: Page) -> list[str]:
    """Return the first sentences of a page with common spaces."""
    return [said.replace("\N{NO-BREAK SPACE}", " ") for said in page.context["lead"]]


def table(page: Page, name: str) -> Table:
    """Return one table of a page."""
    return next(t for t in page.tables if t.name == name)


def cells(found: Table) -> list[tuple[str, ...]]:
    """Return the cells of a table with common spaces."""
    return [tuple(c.replace("\N{NO-BREAK SPACE}", " ") for c in row.cells) for row in found.rows]


def test_the_gap_that_matters_is_said_first_with_what_it_is_made_of(store: Path) -> None:
    """Days with bounds, on its route with its temperature; parts by size; what would close it."""
    assert lead(formats.page(read_results(store))) == [
        (
            "A pale lager keeps 24 days (5 to 41) longer in can than in bottle, kept as 'ambient' "
            "says (about 21 °C). What the closures let in accounts for 23 days and the oxygen at "
            "filling for 4 days; what oxygen does not explain takes 3 days away."
        ),
        (
            "To close it, bring bottle from 75 to 62 ppb at filling and from 1.5 to 0.2 ppb a day "
            "through the closure: that would gain 20 days (9 to 32)."
        ),
    ]


def test_where_no_gap_is_sure_it_says_so(store: Path) -> None:
    """The widest is named with its bounds, nothing is to be closed, and no gap is praised."""
    results = read_results(store)
    unsure = results.format_gaps.filter(pl.col("gap_days_lower") < 0)
    page = formats.page(replace(results, format_gaps=unsure))
    (said,) = lead(page)
    assert said.startswith("Too few to say that any style keeps longer in one format")
    assert "pale lager, 12 days (−39 to 61) longer in can than in slim can" in said
    assert "about 21 °C" in said
    assert table(page, "formats-closing").rows == ()


def test_gaps_stand_on_the_main_route_and_the_others_are_folded(store: Path) -> None:
    """Parts with their bounds; a format that nobody tasted is said to be lent."""
    page = formats.page(read_results(store))
    main = table(page, "formats-gaps")
    assert cells(main)[0] == (
        "pale lager: can over bottle",
        "ambient, ends at 21 °C",
        "24 (5 to 41)",
        "4 (1 to 8)",
        "23 (11 to 35)",
        "−3 (−15 to 10)",
    )
    assert "not tasted" in main.rows[1].note
    others = table(page, "formats-gaps-other-routes")
    assert [row[1] for row in cells(others)] == ["export, ends at 22 °C"]


def test_only_formats_that_were_both_tasted_are_drawn(store: Path) -> None:
    """One chart, whose words hold its numbers and which names the longer format first."""
    (chart,) = formats.page(read_results(store)).context["charts"]
    assert "can and bottle" in chart.title
    assert "about 21" in chart.title
    assert "24 longer in can, of it filling 4, ingress 23, the rest −3" in chart.summary
    assert [key.words for key in chart.key][:2] == ["in favour of can", "in favour of bottle"]


def test_oxygen_is_compared_in_words_where_pairs_are_enough(pages: Path) -> None:
    """How many times, how sure, from how many pairs; too few stay in the table."""
    said = text(pages / "formats.html")
    assert (
        "Bottle from the line bottling holds 1.24 times the oxygen of can from the line canning "
        "(1.09 to 1.41, 12 pairs)."
    ) in said
    assert "of keg (0.95 to 1.32, 9 pairs): too few to say that they differ." in said
    assert "1.70 (too few)" in said


def test_the_week_in_which_ingress_overtakes_is_said(store: Path) -> None:
    """From week 8 on; never for what is tight; not known where the table does not say."""
    rows = {
        row[0]: row for row in cells(table(formats.page(read_results(store)), "formats-ingress"))
    }
    assert rows["bottle"][-1] == "from week 8 on (week 7 to 8)"
    assert rows["can"][-1] == "never: a can lets nothing in"
    assert rows["keg"][-1] == "never: a keg lets nothing in"
    assert rows["slim can"][-1].startswith("not known: the table formats does not say")
    assert rows["bottle"][4] == "76 (70 to 83)"


def test_what_is_mostly_assumed_is_said_above_the_fold(pages: Path) -> None:
    """The exponent's prior, in a brewer's words."""
    said = text(pages / "formats.html").split("For the statistician")[0]
    assert "How strongly pale lager reacts to oxygen is mostly assumed" in said
    assert "mostly assumed" in said.split("What would close it")[1]
    for word in ("significant", "p-value", "model"):
        assert word not in said


def test_without_anything_the_page_says_which_files_fill_it(store: Path) -> None:
    """Empty tables name what is missing; no chart, no closing."""
    results = read_results(store)
    names = ("ingress", "format_ratios", "format_gaps", "levers")
    page = formats.page(replace(results, **{n: getattr(results, n).clear() for n in names}))
    assert lead(page) == [formats.NO_GAP]
    assert page.context["charts"] == ()
    assert all(not found.rows and found.empty for found in page.tables)


def said_of(results: Results, style: str) -> list[str]:
    """Return what moves a style's date, with common spaces."""
    found = style_levers.said(results, style)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in found]


def test_what_moves_the_date_most_is_said_by_format(store: Path) -> None:
    """On each main route, from what to what; the keg's gain may be none and is not praised."""
    assert said_of(read_results(store), "pale lager") == [
        (
            "Most is gained in bottle, kept as 'ambient' says (about 21 °C), by a scavenging liner "
            "(1.5 to 0.2 ppb a day): 17 days (8 to 27)."
        ),
        (
            "Most is gained in can, kept as 'ambient' says (about 21 °C), by 20 ppb less at "
            "filling (62 to 42 ppb): 19 days (9 to 30)."
        ),
        (
            "Partly assumed: how strongly this style reacts to oxygen. Lots of unlike oxygen, "
            "measured and tasted, would tell."
        ),
    ]


def test_each_format_and_route_has_its_days_by_change(store: Path) -> None:
    """A column a change, only those that can be made; a gain that may be none is too few."""
    found = style_levers.table(read_results(store), "pale lager", "style-pale-lager")
    rows = {row[0]: row for row in cells(found)}
    assert [column.heading for column in found.columns][3:] == [
        "20 ppb less at filling, days",
        "Scavenging liner, days",
        "Bad head mended, days",
        "Cold on the way, days",
    ]
    assert rows["bottle"][2:] == (
        "partly assumed",
        "+6 (+3 to +9)",
        "+17 (+8 to +27)",
        "–",
        "+5 (+4 to +5)",
    )
    assert rows["keg"][2:4] == ("own tastings", "too few to say (−2 to +31)")


def test_a_cold_way_that_is_assumed_says_what_would_tell(store: Path) -> None:
    """The energy's prior asks for two temperatures, not for oxygen; no main route, no sentence."""
    assert said_of(read_results(store), "hazy ale") == [
        (
            "Partly assumed: how much the cold slows this style. Samples kept at two temperatures "
            "or more would tell."
        )
    ]


def test_a_style_without_an_estimate_says_what_fills_this(pages: Path) -> None:
    """The wheat has no lever, and says which tables would give it one."""
    assert "Nothing to weigh yet" in text(pages / "style-wheat.html")
