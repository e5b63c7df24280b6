"""A PDF made in a process of its own: its library loads while the answer is worked out."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context
from typing import TYPE_CHECKING

from dashboards.errors import PdfError
from dashboards.record_sheet import SIZES_PT, pdf_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

_LARGEST = SIZES_PT[:1]


@contextmanager
def pdf_beside() -> Iterator[Callable[[str], bytes]]:
    """Give what makes a PDF of a page, as many sheets as it takes.

    It raises PdfError where none can be made.
    """
    with ProcessPoolExecutor(1, get_context("spawn")) as beside:
        beside.submit(pdf_of, "", _LARGEST)

        def made(html: str) -> bytes:
            try:
                return beside.submit(pdf_of, html, _LARGEST).result()
            except BrokenProcessPool as error:
                message = "no PDF: the process that makes it ended, for want of memory perhaps"
                raise PdfError(message) from error

        yield made
