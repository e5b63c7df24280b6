"""Lay out tasting sessions: for each a workbook to fill in, and sheets to print."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from analysis.panel.session_plan import (
    SessionPlan,
    fresh_control,
    packages_to_open,
    plan_session,
    shared_out,
)
from analysis.panel.sessions import FEWEST_ASSESSORS, OLDEST_FRESH_DAYS
from dashboards.session_sheets import Ballot, Poured, Scale, SessionSheets, page_of
from pipelines.flows.progress import from_here
from pipelines.flows.sheets_choice import choose, refuse_names
from pipelines.flows.template import column_notes, put_new
from pipelines.flows.week import day_of_brewery
from pipelines.readers.contract import TABLES
from pipelines.readers.template import Form, write_forms
from pipelines.store.connect import need_store, open_store
from pipelines.store.migrate import refuse_other_shapes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from datetime import date

    from pipelines.config import Config
    from pipelines.flows.sheets_choice import Wanted

Cells = dict[str, Any]

_NO_NAME = re.compile(r"[^\w.() -]+")  # signs that no name of a file may have

_FILL_IN = "fill in verdicts; delete the rows of glasses that nobody tasted"
_PULL_IT = "the fresh control to be pulled; if you take another lot, write it here"
_READ_ME = """
For the leader of the session alone: the sheet tastings says which code is which sample.

Copy the ballots into it, a row a glass: tasters and codes stand in the order of the ballots. Where
the taster's cell is empty, write the name in every row of that ballot. A row needs a verdict or a
score. Delete the rows of glasses that nobody tasted.

Rows that begin with # are never loaded. Save the workbook in the inbox when it is filled in.
"""


def make_sheets(
    config: Config, wanted: Wanted, folder: Path, say: Callable[[str], None]
) -> tuple[Path, ...]:
    """Write a workbook and a page to print for each session that the samples take.

    Args:
        config: The configuration.
        wanted: What the leader asks for.
        folder: Where the files go.
        say: Takes each line for the leader.

    Returns:
        The files: of each session the workbook, then the page.

    Raises:
        StoreError: There is no store, or a sample, taster or session cannot be had; the message
            says what to do.
        ReadError: A file is there already, or cannot be written; none is written then.
    """
    need_store(config.paths.database)
    on = wanted.on or config.as_of or day_of_brewery(config)
    with open_store(config.paths.database, read_only=True) as connection:
        refuse_other_shapes(connection)
        choice = choose(connection, wanted, on, config, say)
        parts = shared_out(choice.aged["sample"].to_list(), twice=wanted.twice)
        name = wanted.session or f"{on}"
        names = [f"{name}-{n}" for n in range(1, len(parts) + 1)] if len(parts) > 1 else [name]
        refuse_names(connection, names)
    told = []
    if len(parts) > 1:
        told.append(
            f"{choice.aged.height} samples are too many for one session, which has six glasses at "
            f"most: they are shared out over {len(parts)}"
        )
    known: dict[str, Cells] = {row["sample"]: row for row in choice.aged.iter_rows(named=True)}
    fresh, files = choice.fresh, dict[Path, bytes]()
    for session, samples in zip(names, parts, strict=True):
        control = fresh_control(
            fresh,
            [known[sample]["style"] for sample in samples],
            on,
            within_days=config.panel.taste_within_days,
        )
        to_pull = None
        if control is not None and control["sample"] is None:
            control = to_pull = _to_pull(control, session, on)
        if control is not None:
            known[control["sample"]] = control
            fresh = fresh.filter(pl.col("sample").ne_missing(control["sample"]))
        named = None if control is None else str(control["sample"])
        plan = plan_session(session, samples, named, len(choice.tasters), twice=wanted.twice)
        book = folder / f"tasting {_NO_NAME.sub('-', session)}.xlsx"
        page = book.with_suffix(".html")
        sheets = _sheets(plan, known, choice.tasters, wanted.pour_ml, on, book.name, config)
        files[book] = _workbook(plan, sheets, to_pull, config)
        files[page] = page_of(sheets).encode()
        told += _told(sheets, book, page, config.paths.inbox)
    put_new(files)
    for line in told:
        say(line)
    return tuple(files)


def _to_pull(lot: Cells, session: str, on: date) -> Cells:
    """Return the row of samples of a fresh control that the leader is to pull, kept as always."""
    kept = {"placed_on": lot["packaged_on"], "pulled_on": on, "to_pull": True}
    return {**lot, "sample": f"fresh {session}", **kept}


def _sheets(
    plan: SessionPlan,
    known: Mapping[str, Cells],
    tasters: Sequence[str],
    pour_ml: float,
    on: date,
    book: str,
    config: Config,
) -> SessionSheets:
    within = config.panel.taste_within_days
    return SessionSheets(
        brewery=config.brewery.name,
        session=plan.session,
        on=on,
        question=config.panel.question,
        pour_ml=pour_ml,
        poured=[
            _poured(known[sample], plan.codes_of(sample), len(tasters), pour_ml, on, within)
            for sample in dict.fromkeys(plan.codes.values())
        ],
        ballots=[Ballot(*of_one) for of_one in zip(tasters, plan.orders, strict=True)],
        scales=[
            Scale(name, scale.low, scale.high, scale.worse)
            for name, scale in config.site.attributes.items()
        ],
        workbook=book,
        inbox=config.paths.inbox.name,
        remarks=_remarks(plan, len(tasters)),
    )


def _poured(
    sample: Cells, codes: tuple[str, ...], tasters: int, pour_ml: float, on: date, within: int
) -> Poured:
    glasses, waited = len(codes) * tasters, (on - sample["pulled_on"]).days
    notes = []
    if waited > within:
        notes.append(f"{sample['sample']} was pulled {waited} days ago; {within} at most is usual.")
    if sample["status"] in {"held", "scrapped"}:
        notes.append(
            f"Lot {sample['lot']} is {sample['status']}: ask why before anybody tastes it."
        )
    if sample["role"] == "returned":
        notes.append(
            f"{sample['sample']} came back from the trade: nobody tastes it before the food-safety "
            "lead has released it."
        )
    if sample.get("to_pull"):
        notes.append(
            f"Pull lot {sample['lot']} ({sample['beer']}, {sample['format']}) from the cold store "
            "for this session. The workbook's sheet samples has it already: if you take another "
            "lot, write that there."
        )
    return Poured(
        sample=sample["sample"],
        codes=codes,
        beer=sample["beer"],
        format=sample["format"],
        lot=sample["lot"],
        role=sample["role"],
        storage_temp_c=sample["storage_temp_c"],
        stored_days=(sample["pulled_on"] - sample["placed_on"]).days,
        place=sample["place"] or "",
        glasses=glasses,
        packages=packages_to_open(glasses, pour_ml, sample["volume_ml"]),
        volume_ml=sample["volume_ml"],
        notes=tuple(notes),
    )


def _remarks(plan: SessionPlan, tasters: int) -> tuple[str, ...]:
    remarks = []
    if plan.control is None:
        remarks.append(
            f"No fresh control: no released lot of at most {OLDEST_FRESH_DAYS} days that was kept "
            "cold is known. Without one, beer that is stale and a panel that is strict look alike."
        )
    if tasters < FEWEST_ASSESSORS:
        remarks.append(
            f"Fewer than {FEWEST_ASSESSORS} tasters say little: ask more of them to the table."
        )
    return tuple(remarks)


def _workbook(
    plan: SessionPlan, sheets: SessionSheets, to_pull: Cells | None, config: Config
) -> bytes:
    """Make the workbook: an empty row for each glass, taster by taster as the ballots have them."""
    session, rows = sheets.session, list[Cells]()
    for number, ballot in enumerate(sheets.ballots, start=1):
        rows.append({"session": f"# {ballot.taster or f'sheet {number}'}"})
        rows += [
            {
                "session": session,
                "tasted_on": sheets.on,
                "assessor": ballot.taster or None,
                "sample": plan.codes[code],
                "code": code,
                "position": place,
            }
            for place, code in enumerate(ballot.codes, start=1)
        ]
    forms = [Form(TABLES["tastings"], {"session": _FILL_IN}, rows)]
    if to_pull is not None:
        forms.append(Form(TABLES["samples"], {"sample": _PULL_IT}, [{**to_pull, "role": "fresh"}]))
    book = BytesIO()
    write_forms(book, forms, config.site, column_notes(), _READ_ME)
    return book.getvalue()


def _told(sheets: SessionSheets, book: Path, page: Path, inbox: Path) -> Iterator[str]:
    glasses = sum(len(poured.codes) for poured in sheets.poured)
    tasters = len(sheets.ballots)
    fresh = [poured.sample for poured in sheets.poured if poured.role == "fresh"]
    twice = [poured.sample for poured in sheets.poured if len(poured.codes) > 1]
    held = [
        *(f"{sample} as the blind fresh control" for sample in fresh),
        *(f"{sample} twice" for sample in twice),
    ]
    yield (
        f"session {sheets.session}: {glasses} glass{'' if glasses == 1 else 'es'} for each of "
        f"{tasters} taster{'' if tasters == 1 else 's'}{', with ' if held else ''}"
        f"{' and '.join(held)}"
    )
    for remark in (*sheets.remarks, *(note for poured in sheets.poured for note in poured.notes)):
        yield f"  {remark}"
    yield f"  to print: {from_here(page)}, the leader's plan first"
    yield f"  to fill in: {from_here(book)}; save it in {from_here(inbox)} then"
