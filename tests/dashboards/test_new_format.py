"""The page of a format that was never filled."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.pages.new_format import file_of

if TYPE_CHECKING:
    from pathlib import Path

NAME = "slim can 330"


def test_the_page_says_the_shortest_date_with_its_temperature_first(pages: Path) -> None:
    """Then that it is a trial, what it rests on, and why another route has no date."""
    html = (pages / file_of(NAME)).read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert (
        '<p class="lead">The shortest date lent to it is 70 days for pale lager, kept as '
        "&#39;ambient&#39; says (about 21 °C).</p>"
    ) in html
    parts = ("Treat as a trial.", "its oxygen", "its closure", "Most like it is can.", "Fill 3")
    places = [html.index(part) for part in parts]
    assert places == sorted(places)
    assert "No date: not fit for this route." in html


def test_the_page_of_formats_leads_to_it(pages: Path) -> None:
    """A reader finds it in one guess."""
    assert f'href="{file_of(NAME)}"' in (pages / "formats.html").read_text(encoding="utf-8")


def test_names_that_differ_in_signs_alone_have_pages_of_their_own() -> None:
    """Small letters and figures, and a digest."""
    assert file_of("can 330") != file_of("can-330")
    assert file_of("ü") == f"new-format-unnamed-{file_of('ü')[-13:]}"
