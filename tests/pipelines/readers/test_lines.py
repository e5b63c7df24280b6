"""The quick way through a text file gives what the careful one gives."""

from __future__ import annotations

from hypothesis import example, given
from hypothesis import strategies as st

from pipelines.readers.grids import Grid, _lines, _records, _stripped

CELLS = st.text(alphabet="aZ0 .#-'\u00b5\u2028", max_size=4)
ENDS = st.sampled_from(["\n", "\r\n"])


@given(
    rows=st.lists(st.lists(CELLS, min_size=1, max_size=4), min_size=1, max_size=8),
    ends=st.lists(ENDS, min_size=8, max_size=8),
    delimiter=st.sampled_from(",;\t"),
    last=st.sampled_from(["", "\n"]),
)
@example(rows=[["a", "b"], [""], ["1", "2"]], ends=["\n"] * 8, delimiter=",", last="\n")
@example(rows=[["a"], ["1", "2"]], ends=["\n"] * 8, delimiter=",", last="")
@example(rows=[[""], ["a", "b"]], ends=["\r\n"] * 8, delimiter=";", last="\n")
def test_lines_are_records(
    rows: list[list[str]], ends: list[str], delimiter: str, last: str
) -> None:
    """Cell by cell and row number by row number, wherever the quick way answers at all."""
    text = "".join(delimiter.join(row) + end for row, end in zip(rows, ends, strict=False))
    text = text.rstrip("\r\n") + last
    quick = _lines(text, delimiter)
    if quick is None:
        return
    careful = _records(text, delimiter, "file.csv")
    width = quick.width - 1
    assert careful.width - 1 == width
    names = [f"column {i}" for i in range(1, width + 1)]
    renamed = quick.rename(
        dict(zip([name for name in quick.columns if name != "row_number"], names, strict=True))
    )
    found = _stripped(Grid("", renamed.select(*names, "row_number"))).cells
    assert found.rows() == _stripped(Grid("", careful)).cells.rows()


def test_a_plain_table_goes_the_quick_way() -> None:
    """The quick way is taken where every row has as many cells, in quotation marks or without."""
    assert _lines("lot,beer\r\n001,Fen\r\n\r\n002,\r\n", ",") is not None
    assert _lines('lot,beer\n001,"Fen, ""old"""\n', ",") is not None
    assert _lines('lot,beer\n001,Fen 5"\n', ",") is None
    assert _lines("lot,beer\n001,Fen,more\n", ",") is None
