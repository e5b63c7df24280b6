"""The headings of a sheet: which column each names, and what to say of those that name none."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from pipelines.readers.across import headings_across
from pipelines.readers.names import did_you_mean, fold, listed

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pipelines.readers.columns import Table
    from pipelines.readers.site import Layout, Site

PLACE = ("file", "sheet", "row")  # headings that name the row set aside which a row mends
REASON = "reason"  # beside them, for the eye alone


@dataclass
class Headings:
    """What the headings of a sheet say.

    Attributes:
        names: For each column of the grid that is kept, the contract's name where its heading is
            known and the heading itself elsewhere.
        doubled: Names that more than one heading means.
        mentions: What is odd about them.
    """

    names: dict[str, str] = field(default_factory=dict)
    doubled: list[str] = field(default_factory=list)
    mentions: list[str] = field(default_factory=list)

    def add(self, column: str, name: str) -> bool:
        """Name a column; where the name is taken, or is none, by the column's own name too."""
        pattern = name == "*" or (name.startswith("^") and name.endswith("$"))  # of several columns
        free = name != "row_number" and name not in self.names.values() and not pattern
        self.names[column] = name if free else f"{name} ({column})"
        return free


def read_headings(
    headings: Mapping[str, str | None], table: Table, site: Site, layout: Layout
) -> Headings:
    """Tell what each heading of a sheet names.

    Args:
        headings: For each column of the grid its heading, None where it has none.
        table: The contract.
        site: The site's own headings and attributes.
        layout: How the sheet is laid out.

    Returns:
        What they say.
    """
    known = known_headings(table, site)
    beside = place_headings(headings.values()).values()
    found = Headings()
    values: list[str] = []
    for column, heading in headings.items():
        target = known.get(fold(heading)) if heading and heading not in beside else None
        written = heading or column
        free = found.add(
            column, target if target and target not in found.names.values() else written
        )
        if target:
            # A column that the sheet spreads over its headings cannot stand there as well.
            spread = layout.across and target in {layout.across, layout.value}
            found.doubled += [] if target == found.names[column] and not spread else [target]
        elif not heading:
            found.mentions.append(f"{column} has no heading (cells kept aside)")
        elif heading in beside:
            continue
        elif layout.across and headings_across([written], table, site, layout):
            values.append(written)
            found.doubled += [] if free else [written]
        else:
            hint = did_you_mean(heading, known.values())
            found.mentions.append(f"the heading {heading} is not known{hint} (cells kept aside)")
    if layout.across:
        found.mentions.append(f"{layout.across} from the headings: {listed(values, len(values))}")
    return found


def place_headings(headings: Iterable[str | None]) -> dict[str, str]:
    """Give the headings that name the row set aside which a row mends, and why it stood aside.

    They do so whatever else the site has taught them to mean.

    Args:
        headings: The headings of a sheet.

    Returns:
        From `file`, `sheet`, `row` and `reason` to the headings as they are written; empty where
        one of the first three is not there.
    """
    places = {
        fold(heading): heading
        for heading in reversed(list(headings))
        if heading and names_a_place(heading)
    }
    return places if places.keys() >= set(PLACE) else {}


def names_a_place(heading: str) -> bool:
    """Whether a heading is one of those that stand beside the columns of rows to mend."""
    return fold(heading) in {*PLACE, REASON}


def known_headings(table: Table, site: Site) -> dict[str, str]:
    """Every folded heading that a table's file may have, with the name it stands for."""
    attributes = site.attributes if "scores" in table.derived else ()
    own = site.columns.get(table.name, {})
    plain = {fold(name): name for name in (*attributes, *table.headings)}
    return plain | {fold(heading): name for heading, name in own.items()}
