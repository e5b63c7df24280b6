"""What the pages say."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


class Text(HTMLParser):
    """Gathers the text that a reader sees, with common spaces."""

    def __init__(self, html: str) -> None:
        """Read a page."""
        super().__init__()
        self.parts: list[str] = []
        self.hidden = False
        self.feed(html)

    def handle_starttag(self, tag: str, _attrs: list[tuple[str, str | None]]) -> None:
        """Scripts and styles are no text."""
        self.hidden = tag in {"script", "style"}

    def handle_endtag(self, tag: str) -> None:
        """After a script there is text again; cells and paragraphs stand apart."""
        self.hidden = False
        self.parts.append(" " if tag not in {"a", "strong", "span"} else "")

    def handle_data(self, data: str) -> None:
        """Keep what is seen."""
        self.parts.append("" if self.hidden else data)


def text(page: Path) -> str:
    """Return the text of a page with single common spaces."""
    joined = "".join(Text(page.read_text(encoding="utf-8")).parts)
    return re.sub(r"\s+", " ", joined).replace(" .", ".")


def lines(page: Path, section: str) -> list[str]:
    """Return the entries of the numbered list below a heading."""
    html = page.read_text(encoding="utf-8")
    below = html[html.index(f'id="{section}"') :]
    found = re.findall(r"<li>(.*?)</li>", below[: below.index("</section>")], re.DOTALL)
    return [re.sub(r"\s+", " ", re.sub("<.*?>", "", line)).strip() for line in found]


def test_what_needs_a_person_takes_five_lines_at_most(pages: Path) -> None:
    """Most days at stake first; oxygen and rows set aside are always told; the rest elsewhere."""
    said = lines(pages / "index.html", "needs")
    assert said == [
        (
            "Fennimore Pils, bottle: the date printed on the newest lot is 82 days longer than the "
            "data support, kept as &#39;ambient&#39; says (about 21 °C)."
        ),
        (
            "Loft Window, can: the date printed on the newest lot is 62 days longer than the data "
            "support, kept as &#39;ambient&#39; says (about 21 °C)."
        ),
        (
            "Canning, can: up by 28 ppb (16 to 42) since 9 Feb 2026, 8 lots; 90 ppb where 62 was "
            "usual."
        ),
        (
            "Fennimore Pils, can: the 133 days decided for home have been overtaken, the data "
            "support 14 days fewer than decided, and one other is overtaken too; see Decided dates."
        ),
        "3 rows of 2 files stand aside and wait to be mended.",
    ]
    assert "4 more on the data page: what needs a person, all of it." in text(pages / "index.html")
    assert len(lines(pages / "data.html", "needs")) == 7
    assert (
        "Session S-2026-12 (19 Mar 2026, 5 of 8): more of the panel rejected the blind fresh "
        "control than its false alarms explain; suspect the sample first."
    ) in lines(pages / "data.html", "needs")


def test_findings_alike_are_one_sentence(make_pages: Callable[..., Path], brewery: str) -> None:
    """Beers that are not fit for one route, and sessions to doubt, do not fill the list."""
    made = make_pages(
        brewery,
        "INSERT INTO results.attention VALUES (7, 7, 'not fit for route', 'Straw Hat', 'wheat', "
        "'bottle', 'export', NULL, NULL)",
        "INSERT INTO results.flagged_sessions VALUES (7, 'S-2026-13', '2026-03-26', 6, 2)",
    )
    said = " ".join(lines(made / "data.html", "needs"))
    assert "Loft Window, can; Straw Hat, bottle: not fit for the route" in said
    assert "Sessions S-2026-12 (19 Mar 2026, 5 of 8) and S-2026-13 (26 Mar 2026, 2 of 6): more" in (
        said
    )


def test_lots_without_their_beer_or_format_need_a_person(
    make_pages: Callable[..., Path], brewery: str
) -> None:
    """What was withdrawn is named, and what became of its lots."""
    made = make_pages(
        brewery,
        "INSERT INTO results.attention VALUES (7, 7, 'lots without beer or format', 'Straw Hat', "
        "NULL, 'stone jar', NULL, NULL, NULL)",
    )
    assert (
        "Straw Hat, stone jar: its lots name a beer or format that was withdrawn, so they are "
        "left out."
    ) in lines(made / "data.html", "needs")


def test_without_an_estimate_nothing_is_said_to_be_supported(
    make_pages: Callable[..., Path],
) -> None:
    """A run that could date nothing says why, and praises no printed date."""
    made = make_pages(
        "INSERT INTO results.runs VALUES (1, '2026-04-06', '2026-04-06', '0', 1, '{}', NULL, 'b', "
        "'q', 0.25, 0.9, 'day', 'not estimated', 'no verdicts yet', NULL, NULL, NULL, 0, 0, 0, 0)"
    )
    said = text(made / "index.html")
    assert "Nothing could be dated, because no verdicts yet." in said
    assert "every printed date is supported" not in said


def test_a_low_alcohol_style_without_estimate_says_its_safety_first(
    make_pages: Callable[..., Path], brewery: str
) -> None:
    """More tastings would not give it a date: its page begins with that."""
    made = make_pages(
        brewery, "UPDATE results.dates SET binding_cause = 'safety' WHERE style = 'wheat'"
    )
    begin = text(made / "style-wheat.html").partition("The question asked")[0]
    assert "No date: Safety of low- and no-alcohol beer must be validated separately" in begin


def test_the_words_on_method_are_those_of_the_fit(pages: Path) -> None:
    """Verdicts may be wrong: no page says that dates rest on brackets alone."""
    assert "Verdicts bracket an age, and any of them may be wrong." in text(pages / "method.html")
    assert "fitted to verdicts that may be wrong" in text(pages / "style-pale-lager.html")


def test_what_stands_aside_is_in_sight_beside_what_came_in(pages: Path) -> None:
    """On a phone too: why a row stands aside is told below it where columns are left out."""
    said = text(pages / "data.html")
    assert "File, sheet Table Read Set aside New Corrected Unchanged Withdrawn" in said
    assert "oxygen-2026-w14.xlsx, oxygen 40 measured_at \N{EN DASH} missing" in said
    assert "Missing. Expected: a time such as 2026-04-07T14:30." in said


def test_rows_that_come_in_by_themselves_hide_nothing_of_their_file(
    make_pages: Callable[..., Path], brewery: str
) -> None:
    """Counts and mentions are those of the file as it was last read, until it is read again."""
    later = (
        "INSERT INTO intake.loads VALUES (3, '2026-04-07', '2026-04-07', '0')",
        (
            "INSERT INTO intake.row_counts VALUES "
            "(3, 'oxygen-2026-w14.xlsx', 'oxygen', 'oxygen', 1, 1, 0, 0, 0, 0)"
        ),
    )
    counts = "oxygen-2026-w14.xlsx, oxygen oxygen"
    before = text(make_pages(brewery) / "data.html").partition(counts)[2][:40]
    waited = text(make_pages(brewery, *later) / "data.html")
    assert waited.partition(counts)[2][:40] == before
    assert "Tasters whom the table assessors does not know" in waited
    mended = "INSERT INTO intake.files VALUES (3, '{}', 'b', 1, 'loaded', NULL)"
    again = text(make_pages(brewery, *later, mended.format("tastings-2026-w14.csv")) / "data.html")
    assert "Tasters whom the table assessors does not know" not in again


def test_a_file_taken_back_and_one_that_waits_are_told_until_somebody_acts(
    make_pages: Callable[..., Path], brewery: str
) -> None:
    """Also when the newest load only took another one back, and with the words to type."""
    made = make_pages(
        brewery,
        "INSERT INTO intake.files VALUES (2, 'lots.csv', 'w', 9, 'waiting', 'changes 31 rows')",
        "INSERT INTO intake.loads VALUES (3, '2026-04-07', '2026-04-07', '0')",
        "INSERT INTO intake.forgotten VALUES (3, 'tastings-2026-w14.csv', 2)",
    )
    for said in (text(made / "data.html"), text(made / "index.html")):
        assert "changes 31 rows" in said
        assert (
            "by load 3; stalecurve load --confirm tastings-2026-w14.csv takes it in again" in said
        )
    assert "lots.csv waits for your word changes 31 rows" in text(made / "data.html")
    assert "tastings-2026-w14.csv tastings 1" not in text(made / "data.html")
    assert "Tasters whom the table assessors does not know" not in text(made / "data.html")
    assert "The newest load, 2 of 6 Apr 2026, took in 2 files" in text(made / "index.html")


def test_nothing_to_do_is_said_too(make_pages: Callable[..., Path]) -> None:
    """Without findings and rows set aside the page says that there are none."""
    quiet = make_pages(
        "INSERT INTO results.runs VALUES (1, '2026-04-06', '2026-04-06', '0', 1, '{}', NULL, 'b', "
        "'q', 0.25, 0.9, 'day', 'estimated', NULL, 'weibull', 75, 0.3, 9, 3, 1, 1)"
    )
    assert "Nothing: every printed date is supported, and no row stands aside." in text(
        quiet / "index.html"
    )


def test_the_first_page_has_a_row_for_each_beer_and_format(pages: Path) -> None:
    """Printed, supported, difference, route with its temperature, basis, and other routes."""
    said = text(pages / "index.html")
    assert (
        "Fennimore Pils, bottle 20 Sep 2026, 180 days 98 −82 ambient, ends at 21 °C own tastings "
        "Ambient, ends at 21 °C; own tastings. Cold chain, ends at 8 °C: 182 days; export, ends "
        "at 22 °C: 77 days."
    ) in said
    assert "slim can – 91 – ambient, ends at 21 °C lent by other formats" in said
    assert "Straw Hat, bottle 31 Jul 2026, 150 days – – ambient, ends at 21 °C no date" in said
    assert "No date: no verdicts on aged samples." in said


def test_the_first_page_has_no_chart(pages: Path) -> None:
    """The table is the picture."""
    assert "<figure" not in (pages / "index.html").read_text()


def test_the_first_page_tells_what_came_in_and_what_was_refused(pages: Path) -> None:
    """Counts of the newest load, then each refused file with its reason."""
    said = text(pages / "index.html")
    assert (
        "The newest load, 2 of 6 Apr 2026, took in 2 files: 305 new rows, 3 corrected, "
        "988 unchanged, 1 withdrawn and 3 set aside."
    ) in said
    assert "scan.xlsx: not readable: this is no workbook" in said


def test_the_question_stands_with_the_dates(pages: Path) -> None:
    """It is printed wherever a date is, and on the page of method."""
    for name in ("index", "style-pale-lager", "method"):
        assert "“Would this still be served as the beer it is meant to be, for its age?”" in text(
            pages / f"{name}.html"
        )


def test_a_style_begins_with_its_sentence(pages: Path) -> None:
    """Route, temperature, confidence, share, days, lots, verdicts, rejections, oldest tasted."""
    said = text(pages / "style-pale-lager.html")
    assert (
        "Kept as 'ambient' says (about 21 °C), we are 90 % sure that on this date no more than "
        "one glass in four would be rejected by our tasters for age: bottle at 98 days, can "
        "at 119 days and slim can at 91 days after packaging."
    ) in said
    assert (
        "From 12 lots, 622 verdicts by 9 tasters, 94 rejections; oldest tasted 183 days at 4 °C."
    ) in said
    assert (
        "This is the flavour date. Haze, infection, refermentation or loss of carbonation may end "
        "the beer sooner; the shortest counts."
    ) in said


def test_a_style_shows_three_shares_with_bounds_and_what_ended_the_life(pages: Path) -> None:
    """Days at 10, 25 and 50 %, bounds beside them, unbounded ones said as `or more`."""
    said = text(pages / "style-pale-lager.html")
    assert (
        "can cold chain, ends at 8 °C 182 oldest beer tasted 334 (236 or more) 471 (333 or more) "
        "688 (486 or more) own tastings"
    ) in said
    assert "keg on-trade keg, ends at 8 °C 182 haze 249 (170 to 355)" in said


def test_a_phone_shows_the_share_of_the_policy_and_tells_the_rest_below(pages: Path) -> None:
    """Where there is no room for a column, its words stand under the row."""
    html, said = (
        (pages / "style-pale-lager.html").read_text(),
        text(pages / "style-pale-lager.html"),
    )
    assert '<th scope="col" class="figures">25\N{NO-BREAK SPACE}% rejected, days</th>' in html
    assert '<th scope="col" class="figures wide">10\N{NO-BREAK SPACE}% rejected, days</th>' in html
    assert (
        "Ended by oldest beer tasted; 10 % rejected at 334 (236 or more) days; 50 % rejected at "
        "688 (486 or more) days; own tastings."
    ) in said


def test_cautions_alike_are_one_sentence(pages: Path) -> None:
    """A style's cautions stand before its table, gathered by kind."""
    lager, hazy = text(pages / "style-pale-lager.html"), text(pages / "style-hazy-ale.html")
    assert "Not tasted yet: slim can. The date is lent by other formats: treat it as a trial." in (
        lager
    )
    assert "bottle, 'cold chain' (8 °C), 183 days; can, 'cold chain' (8 °C), 183 days." in lager
    assert "First estimate, unchecked: do not change a label on this alone" in hazy
    assert "Few lots in can have been tasted" in hazy


def test_a_style_without_estimate_says_why_and_what_fills_it(pages: Path) -> None:
    """No number, no chart, the reason, and the tables that are missing."""
    html = (pages / "style-wheat.html").read_text()
    said = text(pages / "style-wheat.html")
    assert "Not estimated, because no verdicts on aged samples." in said
    assert "Verdicts on aged samples fill this: the tables samples and tastings." in said
    assert "vega.js" not in html
    assert "This is the flavour date." not in said


def test_statistics_are_folded_and_last(pages: Path) -> None:
    """Words of statistics stand behind the fold alone."""
    html = (pages / "style-pale-lager.html").read_text()
    before, _, after = html.partition('<details class="statistics">')
    assert "For the statistician" in after
    assert "activation energy" in after
    assert "it did not converge" in after.replace("It did", "it did")
    assert not re.search(r"\bsignifican|p-value|\bmodel\b", re.sub(r"<script.*", "", before))


def test_rows_set_aside_are_listed_with_their_place_and_a_remedy(pages: Path) -> None:
    """How to mend them, then file, sheet, row, column, value, reason, and what was expected."""
    said = text(pages / "data.html")
    assert (
        "oxygen-2026-w14.xlsx, oxygen 12 lot L0917 no such lot a lot of the table lots; did you "
        "mean L0971?"
    ) in said
    remedy = "Open the table's CSV in the folder of rows set aside"
    assert said.index(remedy) < said.index("oxygen-2026-w14.xlsx, oxygen 12 lot")
    assert "Tasters whom the table assessors does not know" in said


@pytest.mark.parametrize(
    "words",
    [
        "about quality, not safety",
        "Safety of low- and no-alcohol beer must be validated separately; this date does not do",
        "Warm, carbonated packages can burst.",
        "Tasting is drinking.",
        "go to the food-safety procedure at once",
        "Label rules are the local authority's to say.",
        "Packed beer is never re-dated.",
        "What a prior is",
        "What “90 % sure” means",
    ],
)
def test_limits_and_cautions_are_said(pages: Path, words: str) -> None:
    """The page of method holds each caution in plain language."""
    assert words in text(pages / "method.html")


def test_every_table_tells_its_run_and_downloads(pages: Path) -> None:
    """Below each table stand the run or load that it is from, and its CSV."""
    for page in pages.glob("*.html"):
        html = page.read_text(encoding="utf-8")
        sources = re.findall(r'<p class="source">(.*?)</p>', html, re.DOTALL)
        assert len(sources) == html.count("<table"), page.name
        for source in sources:
            assert "run 7" in source
            assert ">download CSV</a>" in source


def test_before_the_first_load_pages_say_what_to_bring(empty_pages: Path) -> None:
    """No run: the tables and the command that fill the page, and no number."""
    first = text(empty_pages / "index.html")
    assert "There is no run yet that could say." in first
    assert "Put the tables beers, formats, lots, samples, tastings, oxygen, routes" in first
    assert "Nothing came in yet" in text(empty_pages / "data.html")
    assert not list(empty_pages.glob("style-*.html"))
    assert (empty_pages / "data/best_before.csv").read_text().startswith("style,format,route,")


def test_without_routes_the_page_says_which_tables_fill_it(make_pages: Callable[..., Path]) -> None:
    """A run over lots that go no route has no date, for a date has a temperature."""
    made = make_pages(
        "INSERT INTO results.runs VALUES (1, '2026-04-06', '2026-04-06', '0', 1, '{}', NULL, 'b', "
        "'q', 0.25, 0.9, 'day', 'not estimated', 'no verdicts yet', NULL, NULL, NULL, 0, 0, 0, 0)"
    )
    assert (
        "No routes: a date without a storage temperature means nothing. The tables routes and "
        "route_stages fill this. The newest run says: No verdicts yet."
    ) in text(made / "index.html")
