"""The page of method, limits and cautions: what a date means and what it does not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards import words
from dashboards.page import Page

if TYPE_CHECKING:
    from dashboards.results import Results


USUAL_CONFIDENCE = 0.9

_ROUNDED = {"day": "a whole day", "week": "a whole week", "month": "the end of a month"}


def page(results: Results) -> Page:
    """Return the page of method, limits and cautions."""
    run = results.newest_run
    return Page(
        file="method.html",
        title="Method, limits and cautions",
        template="method.html",
        context={
            "run": run,
            "share": words.glasses(run["share_rejected"]) if run else "",
            "confidence": words.percent(run["confidence"] if run else USUAL_CONFIDENCE),
            "sure": (
                f"The newest run asks to be {words.percent(run['confidence'])} sure of each date "
                f"and rounds it down to {_ROUNDED[run['rounding']]}, where [policy] has no other "
                "rule for a beer, a style, a format or a market."
                if run
                else ""
            ),
        },
    )
