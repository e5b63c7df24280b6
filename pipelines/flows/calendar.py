"""The pulls of a study as a workbook that fills the table samples."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO
from string import ascii_uppercase
from typing import TYPE_CHECKING

from pipelines.errors import ReadError
from pipelines.flows.template import column_notes, put_new
from pipelines.readers.contract import TABLES
from pipelines.readers.template import Form, write_forms

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    import polars as pl

    from analysis.dating.study import Study
    from pipelines.config import Config

_REMARK = "fill in the lots that are packed; rows without one are set aside and wait"
_READ_ME = """
The pulls of a study of {style} in {format}, from {begins} to {ends}: {samples} samples, {packages}
packages, {sittings} sittings of at most six glasses.

Samples are numbered by lot, A first. Where a lot is not packed yet, fill in its code under lot when
it is, and the days if it comes later; the sheet may be saved in the inbox as it fills.

Serve one blind glass of fresh beer of the style at every sitting, and write it down as a sample
with the role fresh: it shows the false alarms. Its packages are in the number above.

Open and pour packages cold. Warm, carbonated packages can burst: guards, gloves, eye protection,
the maker's limits, local rules.
"""


def refuse_taken(to: Path) -> None:
    """Refuse a name that no calendar can be written under, before anything is worked out.

    Raises:
        ReadError: It is no name of a workbook, or there is such a file already.
    """
    if to.suffix.lower() != ".xlsx":
        message = f"{to} is no name of a workbook: let it end in .xlsx"
        raise ReadError(message)
    if to.exists():
        message = f"{to} is there already and was left as it is: name another file"
        raise ReadError(message)


def write_calendar(
    to: Path,
    study: Study,
    lots: Sequence[str],
    known: pl.DataFrame,
    config: Config,
    say: Callable[[str], None],
) -> None:
    """Write a row for each sample of a study.

    Args:
        to: The workbook.
        study: The study.
        lots: Those of its lots that are packed; the rest is left to fill.
        known: The samples that there are.
        config: The configuration.
        say: Takes a line.

    Raises:
        ReadError: There is such a file already, or it cannot be written.
    """
    named = [*lots, *[None] * (study.lots - len(lots))]
    first = _first_part(study, known)
    counted = [0] * study.lots
    rows = []
    for day, temp_c, lot in study.pulls():
        counted[lot] += 1
        rows.append(
            {
                "sample": f"{first}-{ascii_uppercase[lot]}{counted[lot]:02}",
                "lot": named[lot],
                "format": study.format,
                "storage_temp_c": temp_c,
                "placed_on": study.begins,
                "pulled_on": study.begins + timedelta(days=day),
                "before_placing_temp_c": study.before_temp_c,
                "role": "aged",
            }
        )
    words = _READ_ME.format(
        style=study.style,
        format=study.format,
        begins=study.begins,
        ends=study.ends,
        samples=study.samples,
        packages=study.packages,
        sittings=study.sittings,
    )
    book = BytesIO()
    form = Form(TABLES["samples"], {"sample": _REMARK}, rows)
    write_forms(book, [form], config.site, column_notes(), words)
    put_new({to: book.getvalue()})
    left = study.lots - len(lots)
    fill = f"; fill in {'the lot' if left == 1 else f'the {left} lots'}" if left else ""
    say(f"{to}: {len(rows)} samples to pull{fill}; save it in {config.paths.inbox} then")


def _first_part(study: Study, known: pl.DataFrame) -> str:
    """What the numbers of the new samples begin with, and no known one does."""
    day, taken = f"{study.begins:%y%m%d}", known["sample"].to_list()
    parts = [day, *(f"{day}.{n}" for n in range(2, len(taken) + 3))]
    return next(part for part in parts if not any(s.startswith(f"{part}-") for s in taken))
