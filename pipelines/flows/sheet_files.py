"""The files of what was recorded: each whole or not at all, with a PDF where one can be made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dashboards.errors import PdfError
from dashboards.record_sheet import SIZES_PT, pdf_of
from pipelines.errors import StoreError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path


def pdf_where_it_can_be(
    path: Path,
    sheet: str,
    what: str,
    say: Callable[[str], None],
    sizes_pt: Sequence[float] = SIZES_PT,
) -> dict[Path, bytes]:
    """Set a sheet as PDF, under its path; where none can be made that is said, and nothing given.

    Args:
        path: Where the PDF is to be.
        sheet: The sheet as HTML.
        what: What it is called: `the answer`, for instance.
        say: Takes the line.
        sizes_pt: Of the type, as `pdf_of` takes them.
    """
    try:
        return {path: pdf_of(sheet, sizes_pt)}
    except PdfError as error:
        say(f"{error}. {what.capitalize()} is there as HTML and JSON all the same")
        return {}


def write_files(contents: Mapping[Path, bytes], what: str, again: str) -> tuple[Path, ...]:
    """Write files whole, and return them.

    Args:
        contents: What goes into each.
        what: What is kept in the store and is written, for the message.
        again: What to run to write them again.

    Raises:
        StoreError: They cannot be written; what they hold is kept all the same.
    """
    try:
        for path, content in contents.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            half = path.with_name(f".{path.name}.new")
            half.write_bytes(content)
            half.replace(path)
    except OSError as error:
        message = (
            f"{what} is kept, but cannot be written to {path.parent}: {error.strerror}. "
            f"stalecurve {again} tries again"
        )
        raise StoreError(message) from error
    return tuple(contents)
