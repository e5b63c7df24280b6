"""The page of before and after: two sides that one panel tasted, like with like."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import difference_charts, words
from dashboards.page import Chart, Column, Key, Page, Row, Table, run_source

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

NONE_YET = (
    "Nothing can be compared yet: tastings of two formats of one style at the same storage and "
    "age, lots marked trial, or rows of the table changes fill this."
)
KINDS = {
    "format": ("formats", "Formats of one style"),
    "trial": ("trials", "Lots on which something was tried"),
    "change": ("changes", "Before and after a change"),
}
REJECTED = "glasses rejected, of 100"
QUESTION = ["kind", "subject", "changed_on"]


def page(results: Results) -> Page:
    """Return the page of before and after."""
    sections = tuple(
        (anchor, title, _table(results, kind, anchor)) for kind, (anchor, title) in KINDS.items()
    )
    return Page(
        file="before-after.html",
        title="Before and after",
        template="before_after.html",
        context={
            "lead": _lead(results),
            "found": tuple(
                words.sentence(f"{_subject(row)}, {row['answer']}")
                for row in results.comparisons.filter("found").iter_rows(named=True)
            ),
            "luck": _luck(results),
            "sections": sections,
            "charts": _charts(results),
            "too_few": _too_few(results),
        },
        tables=tuple(table for _, _, table in sections),
    )


def _told(results: Results) -> pl.DataFrame:
    return results.comparisons.filter(pl.col("reason").is_null())


def _lead(results: Results) -> str:
    told = _told(results)
    if told.is_empty():
        return NONE_YET
    pairs = told.select(*QUESTION, "first", "second").n_unique()
    found = told.filter("found").select(*QUESTION, "first", "second").n_unique()
    compared = words.count(pairs, "pair")
    if not found:
        return (
            f"No difference found in any of {compared} that can be compared; the bounds say how "
            "large a one may be there all the same."
        )
    shows = "shows" if found == 1 else "show"
    return (
        f"Of {compared} that can be compared, {words.in_letters(found)} {shows} a difference; for "
        "the others the bounds say how large a one may be there all the same."
    )


def _luck(results: Results) -> str:
    asked = _told(results).select(QUESTION).n_unique()
    if not asked:
        return ""
    return (
        "The bounds of one question, such as all formats of a style in everything that is scored, "
        f"hold together in nine cases of ten. There are {words.count(asked, 'question')} on this "
        "page; of ten, one would show something by luck alone."
    )


def _subject(row: Mapping[str, Any]) -> str:
    if row["changed_on"] is None:
        return str(row["subject"])
    return f"{row['subject']}, {words.day(row['changed_on'])}"


def _what(row: Mapping[str, Any]) -> str:
    return REJECTED if row["attribute"] is None else row["attribute"]


def _value(row: Mapping[str, Any], name: str) -> str:
    if row["attribute"] is None:
        return words.whole(100 * row[name])
    return words.figure(row[name], 1)


def _difference(row: Mapping[str, Any]) -> str:
    value, low, high = (row[f"difference{end}"] for end in ("", "_lower", "_upper"))
    if row["attribute"] is None:
        return words.bounded(100 * value, 100 * low, 100 * high)
    # Outwards, as in the sentences, so that what is found is judged by what is shown.
    low, high = floor(round(100 * low, 6)) / 100, ceil(round(100 * high, 6)) / 100
    return f"{words.figure(value, 2)} ({words.figure(low, 2)} to {words.figure(high, 2)})"


def _table(results: Results, kind: str, anchor: str) -> Table:
    told = _told(results).filter(pl.col("kind") == kind)
    return Table(
        name=f"before-after-{anchor}",
        caption=KINDS[kind][1],
        columns=(
            Column("Question", wide=True),
            Column("First, second"),
            Column("What"),
            Column("First", figures=True, wide=True),
            Column("Second", figures=True, wide=True),
            Column("Second less first", figures=True),
            Column("Difference"),
        ),
        rows=tuple(
            Row(
                (
                    _subject(row),
                    f"{row['first']}, {row['second']}",
                    _what(row),
                    _value(row, "first_mean"),
                    _value(row, "second_mean"),
                    _difference(row),
                    "found" if row["found"] else "none found",
                ),
                # Said once a pair: what is scored elsewhere differs by a few glasses.
                note=row["compared"] if first else "",
                narrow=words.sentence(_subject(row)),
            )
            for first, row in zip(
                told.select(
                    pl.struct(*QUESTION, "first", "second").is_first_distinct()
                ).to_series(),
                told.iter_rows(named=True),
                strict=True,
            )
        ),
        frame=told.drop("answer"),
        source=run_source(results, words.count(told.height, "comparison")),
        empty={
            "format": "No two formats of a style were tasted by the same people at like storage "
            "and age: the tables samples and tastings fill this.",
            "trial": "No lot marked trial in the table lots was tasted beside its neighbours.",
            "change": "No change of the table changes has tasted beer before and after it.",
        }[kind],
    )


def _charts(results: Results) -> tuple[Chart, ...]:
    told = _told(results)
    charts = []
    names = told["attribute"].unique(maintain_order=True).to_list()
    for place, name in enumerate(sorted(names, key=lambda name: (name is None, name))):
        part = told.filter(pl.col("attribute").eq_missing(name))
        shown = part.select(
            row=difference_charts.apart(
                [
                    f"{words.short(_subject(row), 28)}\n{words.short(row['second'], 13)} "
                    f"less {words.short(row['first'], 13)}"
                    for row in part.iter_rows(named=True)
                ]
            ),
            value="difference",
            lower="difference_lower",
            upper="difference_upper",
            counts=pl.format("{} and {} glasses", "first_glasses", "second_glasses"),
        )
        what = "share of glasses rejected" if name is None else name
        clear = words.counted(int(part["found"].sum()), "bar", "keeps clear", "keep clear")
        said = f"{words.count(part.height, 'pair')}; {clear} of the dashed line."
        charts.append(
            Chart(
                name=f"differences-{place}",
                title=f"Second less first: {what}",
                summary=said,
                caption=said,
                key=(
                    Key("point", "difference"),
                    Key("band", "bounds", difference_charts.HUE),
                    Key("dashed", "both sides alike"),
                ),
                spec=difference_charts.intervals(
                    shown, f"Difference in {what}", 0.0, share=name is None
                ),
            )
        )
    return tuple(charts)


def _too_few(results: Results) -> tuple[str, ...]:
    """Name what was asked and cannot be told, with how much there is."""
    few = results.comparisons.filter(pl.col("reason").is_not_null())
    return tuple(
        f"{_subject(row)}, {row['first']} and {row['second']}, {_what(row)}: {row['reason']}."
        for row in few.iter_rows(named=True)
    )
