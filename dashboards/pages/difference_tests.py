"""The page of difference tests: what each shows, and what a panel of this size can prove."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import polars as pl

from dashboards import difference_charts, words
from dashboards.page import Chart, Column, Key, Page, Row, Table, rows, run_source

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dashboards.results import Results

NO_TESTS = (
    "No difference test yet: the table difference_tests fills this; until then stalecurve "
    "difference answers for one that is typed in."
)
MATTERS = 0.3  # of people who notice, as the run asked
IN_WORDS = 8  # of the newest tests; the others stand folded
CHARTED = 25
METHODS = {"triangle": "triangle or tetrad", "duo-trio": "duo-trio or paired"}


def page(results: Results) -> Page:
    """Return the page of difference tests."""
    tables = {"tests": _tests(results), "pairs": _pairs(results), "sizes": _sizes(results)}
    said = [_said(test) for test in results.difference_tests.iter_rows(named=True)]
    return Page(
        file="difference-tests.html",
        title="Difference tests",
        template="difference_tests.html",
        context={
            "lead": _lead(results),
            "newest": said[:IN_WORDS],
            "older": said[IN_WORDS:],
            "charts": _charts(results),
            "proves": _proves(results),
            "together": tuple(
                f"{_pair(pair)}: {pair['answer']}"
                for pair in results.difference_pairs.iter_rows(named=True)
            ),
            "statistics": tuple(
                (_title(test), test["statistics"])
                for test in results.difference_tests.iter_rows(named=True)
            ),
            **tables,
        },
        tables=tuple(tables.values()),
    )


def _lead(results: Results) -> str:
    tests = results.difference_tests
    if tests.is_empty():
        return NO_TESTS
    found = int(tests["found"].sum())
    noticed = words.counted(found, "test", "found a difference", "found a difference")
    said = f"Of {words.count(tests.height, 'difference test')}, {noticed}."
    if tests.height == 1:
        said = "One difference test: " + ("a difference was found." if found else "none was found.")
    missed = tests.filter(~pl.col("found")).select((1.0 - pl.col("power")).mean()).item()
    if missed is not None and found < tests.height:
        others = "the others" if found else "them"
        said += (
            f" That does not mean that there is none in {others}: one that {_people()} notice "
            f"would have been missed {round(100 * missed)} times in 100."
        )
    return said


def _people() -> str:
    return f"{round(10 * MATTERS)} in 10 people"


def _said(test: Mapping[str, Any]) -> tuple[str, str]:
    """Return a test's title and what is said of it."""
    return _title(test), test["answer"]


def _title(test: Mapping[str, Any]) -> str:
    return (
        f"{words.day(test['tasted_on'])}, {test['method']}: {_beer(test, 'sample')}, against "
        f"{_beer(test, 'control')}"
    )


def _beer(test: Mapping[str, Any], side: str) -> str:
    beer, package = test[f"{side}_beer"], test[f"{side}_format"]
    return f"{beer} in {package}, {_kept(test, side)}"


def _kept(test: Mapping[str, Any], side: str) -> str:
    lot, temp, days = (test[f"{side}_{name}"] for name in ("lot", "storage_temp_c", "stored_days"))
    return f"lot {lot}, {words.days(days)} at {words.temperature(temp)}"


def _pair(pair: Mapping[str, Any]) -> str:
    sides = []
    for side in ("sample", "control"):
        weeks = pair[f"{side}_weeks"]
        sides.append(
            f"{pair[f'{side}_beer']} in {pair[f'{side}_format']}, {weeks} to {weeks + 4} weeks at "
            f"{words.temperature(pair[f'{side}_storage_temp_c'])}"
        )
    return f"{pair['method'].capitalize()}, {sides[0]}, against {sides[1]}"


def _notice(row: Mapping[str, Any]) -> str:
    return words.bounded(100 * row["share"], 100 * row["share_lower"], 100 * row["share_upper"])


def _tests(results: Results) -> Table:
    tests = results.difference_tests
    return Table(
        name="difference-tests",
        caption="Difference tests, the newest first",
        columns=(
            Column("Tasted"),
            Column("Sample"),
            Column("Method", wide=True),
            Column("Right", figures=True),
            Column("Difference"),
            Column("People who notice, of 100", figures=True, wide=True),
        ),
        rows=tuple(
            Row(
                (
                    words.day(test["tasted_on"]),
                    f"{test['sample_beer']} in {test['sample_format']}",
                    test["method"],
                    words.of(test["correct"], test["assessments"]),
                    "found" if test["found"] else "none found",
                    _notice(test),
                ),
                note=words.sentence(f"{_kept(test, 'sample')}, against {_beer(test, 'control')}"),
                narrow=f"People who notice, of 100: {_notice(test)}.",
            )
            for test in tests.iter_rows(named=True)
        ),
        frame=tests.drop("answer", "statistics"),
        source=run_source(results, words.count(tests.height, "difference test")),
        empty=NO_TESTS,
    )


def _pairs(results: Results) -> Table:
    pairs = results.difference_pairs
    return Table(
        name="difference-pairs",
        caption="Tests of the same pair together",
        columns=(
            Column("Pair"),
            Column("Tests", figures=True),
            Column("Right", figures=True),
            Column("Difference"),
            Column("People who notice, of 100", figures=True),
            Column("As if all tests were alike", figures=True, wide=True),
        ),
        rows=rows(
            (
                _pair(pair),
                words.whole(pair["tests"]),
                words.of(pair["correct"], pair["assessments"]),
                "found" if pair["found"] else "none found",
                _notice(pair),
                words.bounds(100 * pair["added_lower"], 100 * pair["added_upper"]),
            )
            for pair in pairs.iter_rows(named=True)
        ),
        frame=pairs.drop("answer"),
        source=run_source(results, words.count(pairs.height, "pair")),
        empty=(
            "No pair was tested twice: the same beer, format, storage and age again in "
            "difference_tests fills this."
        ),
    )


def _sizes(results: Results) -> Table:
    usual = results.difference_sizes["assessments"].drop_nulls().to_list()
    number = f"Found by {usual[0]}, times in 100" if usual else "Found, times in 100"
    return Table(
        name="difference-sizes",
        caption="How many answers it takes",
        columns=(
            Column("Noticed by"),
            Column("Method"),
            Column(number, figures=True),
            Column("Answers to find it 4 times in 5", figures=True),
            Column("For good from", figures=True, wide=True),
            Column("Answers to show that fewer notice", figures=True, wide=True),
        ),
        rows=rows(
            (
                f"{round(10 * size['share'])} in 10 people",
                METHODS[size["method"]],
                words.NOTHING if size["power"] is None else words.whole(100 * size["power"]),
                words.whole(size["first_size"]),
                words.whole(size["always_size"]),
                words.whole(size["similar_size"]),
            )
            for size in results.difference_sizes.iter_rows(named=True)
        ),
        frame=results.difference_sizes,
        source=run_source(results, "exact, from counts alone"),
        empty="The next stalecurve run fills this.",
    )


def _proves(results: Results) -> str:
    """Say what the panel's usual number of answers finds and misses."""
    triangle = results.difference_sizes.filter(pl.col("method") == "triangle").drop_nulls("power")
    at = triangle.filter((pl.col("share") - MATTERS).abs() < 0.01)  # noqa: PLR2004 - a rounding
    if at.is_empty():
        return ""
    size = at.row(0, named=True)
    return (
        f"A triangle of {words.count(size['assessments'], 'answer')}, the usual number here, finds "
        f"a difference that {_people()} notice {round(100 * size['power'])} times in 100. It takes "
        f"{size['first_size']} answers to find it 80 times in 100, and as many to say that fewer "
        "notice. A small panel can show that beers differ; it can hardly show that they are alike."
    )


def _charts(results: Results) -> tuple[Chart, ...]:
    tests = results.difference_tests.head(CHARTED)
    if tests.is_empty():
        return ()
    shown = tests.select(
        row=difference_charts.apart(
            [
                f"{words.day(test['tasted_on'])}\n{words.short(test['sample_beer'], 22)}, "
                f"{words.short(test['sample_format'], 12)}"
                for test in tests.iter_rows(named=True)
            ]
        ),
        value="share",
        lower="share_lower",
        upper="share_upper",
        counts=pl.format("{} of {}", "correct", "assessments"),
    )
    clear = words.counted(int(tests["found"].sum()), "bar", "keeps clear", "keep clear")
    said = f"The newest {words.count(tests.height, 'test')}: {clear} of nobody."
    return (
        Chart(
            name="shares",
            title="People who notice a difference",
            summary=said,
            caption=f"{said} A wide bar is a small panel.",
            key=(
                Key("point", "likeliest share"),
                Key("band", "bounds", difference_charts.HUE),
                Key("dashed", f"{_people()}: from there it matters (assumed)"),
            ),
            spec=difference_charts.intervals(
                shown, "People who notice", MATTERS, share=True, domain=(0.0, 1.0)
            ),
        ),
    )
