"""Text files to grids: a file that can be read quickly comes out as any other does."""

from __future__ import annotations

import csv
import io
import tempfile
from itertools import chain
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from pipelines.errors import ReadError
from pipelines.readers.grids import read_grids
from pipelines.readers.site import Site

Rows = list[tuple[int, list[str | None]]]

# What a text is made of: rows as programs write them, and as they look after an accident.
CELLS = st.sampled_from(["a", "", " b ", "Ä1", "12,5", 'x "y" z', "'", "#", "over\nlines"])
ENDS = st.sampled_from(["\n", "\r\n"])


@st.composite
def written(draw: st.DrawFn) -> str:
    """A table as a program writes it: all cells in quotation marks, or those that need them."""
    quoting = draw(st.sampled_from([csv.QUOTE_ALL, csv.QUOTE_MINIMAL]))
    text = io.StringIO()
    writer = csv.writer(text, quoting=quoting, lineterminator=draw(ENDS))
    width = draw(st.integers(1, 3))
    writer.writerows(draw(st.lists(st.lists(CELLS, min_size=width, max_size=width), max_size=6)))
    return text.getvalue()


PIECES = st.sampled_from(
    ["a", '"', '""', ",", " ", "#1", "\n", "\r\n", "\r", ",,", '","', "é", "\x1f"]
)
BODIES = written() | st.lists(PIECES, max_size=20).map("".join)


def expected(text: str) -> Rows | None:
    """The filled rows as Python's own reader has them; None where it gives up."""
    reader = csv.reader(io.StringIO(text, newline=""), skipinitialspace=True, strict=True)
    found: Rows = []
    line = 1
    try:
        for row in reader:
            cells = [cell.strip(" \r\n") or None for cell in row]
            found.append((line, cells))
            line = reader.line_num + 1
    except csv.Error:
        return None
    width = max((len(cells) for _, cells in found), default=0)
    return [
        (number, cells + [None] * (width - len(cells)))
        for number, cells in found
        if any(cells) and not (cells[0] or "").startswith("#")
    ]


@settings(deadline=None, max_examples=400)  # a busy machine is no fault
@given(BODIES)
@example("\n1,2\n")
@example('1,"2, 3"\n"4 ""x""",\n')
@example("1\n1,2,3\n")
@example('1,2"\n')
@example('1, "2, 3"\n')
def test_every_text_is_read_as_the_standard_reader_reads_it(body: str) -> None:
    """The same cells under the same row numbers, or the same refusal."""
    text = f"what,line\n{body}"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "changes.csv")
        path.write_bytes(text.encode())
        try:
            (grid,) = read_grids(path, path.name, Site()) or ()
        except ReadError:
            assert expected(text) is None
            return
    names = [name for name in grid.cells.columns if name != "row_number"]
    rows = zip(grid.cells["row_number"], grid.cells.select(names).iter_rows(), strict=True)
    assert [(number, list(cells)) for number, cells in rows] == expected(text)


def test_a_cell_too_long_for_the_standard_reader_is_refused_by_both_ways(tmp_path: Path) -> None:
    """A cell of more than 131,072 characters is an accident, with quotation marks or without."""
    path = tmp_path / "changes.csv"
    refused = []
    for cell in chain(("x" * 200_000,), ('"' + "x" * 200_000 + '"',)):
        path.write_text(f"what,line\n{cell},1\n", encoding="utf-8")
        try:
            read_grids(path, path.name, Site())
        except ReadError as error:
            refused.append("from row 2 on" in str(error))
    assert refused == [True, True]


def test_a_long_text_with_a_stray_quotation_mark_is_read_to_its_end(tmp_path: Path) -> None:
    """Every row has its number and its cells, also where only a late one is longer."""
    path = tmp_path / "changes.csv"
    rows = [*(f"{n},crown" for n in range(120_000)), '5" keg,crown,more']
    path.write_text("what,line\n" + "\n".join(rows), encoding="utf-8")
    (grid,) = read_grids(path, path.name, Site()) or ()
    assert grid.cells["row_number"].to_list() == list(range(1, 120_003))
    assert grid.cells.row(1) == ("0", "crown", None, 2)
    assert grid.cells.row(-1) == ('5" keg', "crown", "more", 120_002)
