"""What a site does otherwise than the contract: headings, words, attributes, layouts of files."""

from __future__ import annotations

from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


@dataclass(frozen=True)
class Attribute:
    """A scored descriptor of ageing.

    Attributes:
        low: The lowest score of its scale.
        high: The highest score of its scale.
        worse: Which end of the scale is the worse one, "high" or "low".
        cut_off: The score at which the beer's life ends.
    """

    low: float
    high: float
    worse: str
    cut_off: float


@dataclass(frozen=True)
class Layout:
    """How the tables of some files, or of some of their sheets, are laid out.

    Attributes:
        files: A pattern such as `Panel*.xlsx`, of a file's name or of its path in the inbox.
        sheet: A pattern of the sheet's name; a file without sheets has the name "".
        table: The table that they hold; "" where their own names say it.
        first_row: The row of the headings as a person counts.
        across: The column whose values are the headings that name no column; "" for none.
        value: The column, or attribute, that the cells under those headings belong to.
        aside: Headings that are nonetheless no value of `across`; their cells are kept aside.
        fill: What stands in every row where the file says nothing: column to text.
        day_first: Whether 07/04/2026 is in April; None where the site as a whole says it.
    """

    files: str
    sheet: str = "*"
    table: str = ""
    first_row: int = 1
    across: str = ""
    value: str = ""
    aside: Sequence[str] = ()
    fill: Mapping[str, str] = field(default_factory=dict)
    day_first: bool | None = None

    def is_of(self, file: str) -> bool:
        """Whether it speaks of a file, given by its path in the inbox; case does not matter."""
        path = file.lower()
        names = (path, path.rpartition("/")[2])
        return any(fnmatchcase(name, self.files.lower()) for name in names)

    def holds_for(self, file: str, sheet: str) -> bool:
        """Whether it speaks of a sheet of a file."""
        return self.is_of(file) and fnmatchcase(sheet.lower(), self.sheet.lower())


@dataclass(frozen=True)
class Limits:
    """How large a file may be before it is refused as a slip.

    Attributes:
        largest_file_mb: Size of the file, MB; a workbook may unpack to ten times as much.
        most_cells: Rows times columns of one of its sheets.
    """

    largest_file_mb: float = 100.0
    most_cells: int = 25_000_000


@dataclass(frozen=True)
class Site:
    """How one brewery writes its tables.

    Attributes:
        columns: For each table, the site's heading to the contract's column.
        words: For each word of a closed list (yes and no too), the site's own words.
        attributes: The scored attributes that `tastings` has columns for.
        layouts: Files that are laid out otherwise; the first that speaks of a sheet counts.
        day_first: Whether 07/04/2026 is in April; None where nobody said, so that it is a fault.
        limits: How large a file may be.
    """

    columns: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    words: Mapping[str, Sequence[str]] = field(default_factory=dict)
    attributes: Mapping[str, Attribute] = field(default_factory=dict)
    layouts: Sequence[Layout] = ()
    day_first: bool | None = None
    limits: Limits = field(default_factory=Limits)

    def layout_of(self, file: str, sheet: str) -> Layout:
        """How a sheet is laid out: as usual where nothing is said of it."""
        said = (layout for layout in self.layouts if layout.holds_for(file, sheet))
        return next(said, Layout(file))

    def day_comes_first(self, file: str, sheet: str) -> bool | None:
        """Whether a sheet's dates begin with the day; None where nobody said."""
        own = self.layout_of(file, sheet).day_first
        return self.day_first if own is None else own
