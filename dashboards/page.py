"""What every page is made of: a frame, tables that download as CSV, and charts with their words.

Text from files (a lot, a beer, a note) is never trusted: HTML is escaped everywhere, a chart's
specification cannot end its script element, and a CSV cell cannot start a formula.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import jinja2
import polars as pl
from markupsafe import Markup

from dashboards import words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from dashboards.results import Results

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data:; connect-src 'none'"
)

# A spreadsheet takes a text that begins so for a formula and would run it.
FORMULA = r"^([=+\-@\t\r])"


@dataclass(frozen=True)
class Column:
    """A heading with its unit; figures stand right-aligned.

    A `wide` column is left out on a phone, where the row's `narrow` line says it instead.
    """

    heading: str
    figures: bool = False
    wide: bool = False


@dataclass(frozen=True)
class Row:
    """The cells of a row, its first one the row's heading, and perhaps lines below it."""

    cells: tuple[str, ...]
    note: str = ""
    narrow: str = ""


@dataclass(frozen=True)
class Table:
    """A table as it stands on a page, and the frame that downloads as `data/<name>.csv`.

    Attributes:
        name: File name of its CSV, without the ending; unique over all pages.
        caption: What it shows.
        columns: One for each cell of a row.
        rows: Cells as text, worded for a reader.
        frame: The same rows with every decimal.
        source: Where the numbers are from, for the line below.
        empty: What is missing and which file fills it, said where there are no rows.
    """

    name: str
    caption: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    frame: pl.DataFrame
    source: str
    empty: str

    @property
    def file(self) -> str:
        """Where its CSV stands, from the folder of the pages."""
        return f"data/{self.name}.csv"


@dataclass(frozen=True)
class Key:
    """One entry of a chart's key: a swatch drawn by the style sheet, and its words."""

    swatch: str
    words: str
    colour: str = ""


@dataclass(frozen=True)
class Chart:
    """A chart with its words.

    Attributes:
        name: Which of the page's charts it is.
        title: What it shows.
        summary: Its text alternative, for those who do not see it.
        caption: What to read from it, for all.
        key: What its marks mean.
        spec: Its specification.
    """

    name: str
    title: str
    summary: str
    caption: str
    key: tuple[Key, ...]
    spec: dict[str, Any]


@dataclass(frozen=True)
class Page:
    """One file of pages: its template, what fills it, and the tables it downloads."""

    file: str
    title: str
    template: str
    context: Mapping[str, Any]
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True)
class Frame:
    """What all pages share: whose they are, the run they show, and the list of pages.

    `data` and `method` are the pages of what came in and of the method; empty where there is none.
    """

    brewery: str
    run: str
    sheet: str
    question: str
    links: tuple[tuple[str, str], ...] = field(default=())
    data: str = "data.html"
    method: str = "method.html"


def style_files(results: Results) -> dict[str, str]:
    """Return the page of each style: `style-pale-ale.html`.

    Two styles whose names differ in signs alone are told apart by a number.
    """
    files: dict[str, str] = {}
    for style in sorted({*results.styles["style"], *results.dates["style"]}):
        slug = re.sub(r"[^a-z0-9]+", "-", style.lower()).strip("-") or "unnamed"
        alike = sum(
            re.fullmatch(rf"style-{slug}(-\d+)?\.html", f) is not None for f in files.values()
        )
        files[style] = f"style-{slug}{f'-{alike + 1}' if alike else ''}.html"
    return files


def frame(results: Results) -> Frame:
    """Return the frame of all pages of these results."""
    run = results.newest_run
    links = (
        ("index.html", "Dates"),
        ("this-week.html", "This week"),
        ("stock.html", "Stock"),
        ("complaints.html", "Complaints"),
        ("label.html", "For the packaging office"),
        ("decisions.html", "Decided dates"),
        ("reviews.html", "Quarterly reviews"),
        ("oxygen.html", "Package oxygen"),
        *((file, style.capitalize()) for style, file in style_files(results).items()),
        ("moves.html", "What moves the date"),
        ("routes.html", "On the way"),
        ("formats.html", "Formats apart"),
        ("heads.html", "Where oxygen comes from"),
        ("meters.html", "Meters"),
        ("panel.html", "Panel performance"),
        ("assessors.html", "Assessors"),
        ("difference-tests.html", "Difference tests"),
        ("before-after.html", "Before and after"),
        ("back-test.html", "Back-test"),
        ("data.html", "Data"),
        ("method.html", "Method"),
    )
    if run is None:
        return Frame("", "no run yet", "no run yet", "", links)
    label = f"run {run['run_id']} of {words.day(run['finished_at'])}"
    return Frame(run["brewery"], label, label.replace(words.NBSP, " "), run["question"], links)


def run_source(results: Results, counts: str = "") -> str:
    """Return where a run's numbers are from: its number, day, files' day and counts.

    Args:
        results: The results.
        counts: What the numbers rest on; verdicts where nothing is said.
    """
    run = results.newest_run
    if run is None:
        return "from no run yet"
    files = results.loads.filter(pl.col("load_id").eq_missing(run["load_id"]))[
        "finished_at"
    ].to_list()
    taken = f", files taken in by {words.day(files[0])}" if files else ""
    verdicts, lots = words.count(run["verdicts"], "verdict"), words.count(run["lots"], "lot")
    rests_on = counts or f"{verdicts} on {lots}"
    return f"from run {run['run_id']} of {words.day(run['finished_at'])}{taken}: {rests_on}"


def load_source(results: Results) -> str:
    """Return where an intake table is from: the newest load and its day."""
    load = results.newest_load
    if load is None:
        return "from no load yet"
    run = results.newest_run
    of_run = "no run yet" if run is None else f"run {run['run_id']}"
    return f"from load {load['load_id']} of {words.day(load['finished_at'])}; {of_run}"


def rows(cells: Iterable[Sequence[str]]) -> tuple[Row, ...]:
    """Return rows of plain cells."""
    return tuple(Row(tuple(c)) for c in cells)


def script_json(spec: Mapping[str, Any]) -> Markup:
    """Return JSON that can stand in a script element, whatever the texts within it."""
    text = json.dumps(spec, ensure_ascii=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return Markup(text)  # noqa: S704 - every sign that could end the element is escaped above


def environment() -> jinja2.Environment:
    """Return the templates, with escaping on and unknown names an error."""
    made = jinja2.Environment(
        loader=jinja2.PackageLoader("dashboards"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.globals["content_policy"] = POLICY
    made.filters["script_json"] = script_json
    return made


def write_csv(table: pl.DataFrame, path: Path) -> None:
    """Write a frame as CSV in which no text cell starts a formula; numbers stay as they are."""
    path.parent.mkdir(parents=True, exist_ok=True)
    table.with_columns(pl.col(pl.String).str.replace(FORMULA, "'${1}")).write_csv(path)
